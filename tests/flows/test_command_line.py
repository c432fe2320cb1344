"""The front doors without a screen, as another program would use them."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from studiolog.__main__ import main
from studiolog.journal.inspections import FaultDraft
from studiolog.journal.opening import open_journal
from tests.journal.conftest import enter_studio

LOGS = Path(__file__).resolve().parents[1] / "transfer" / "logs"


def studiolog(*words: str, home: Path) -> subprocess.CompletedProcess[str]:
    without_display = {k: v for k, v in os.environ.items() if "DISPLAY" not in k}
    return subprocess.run(
        [sys.executable, "-m", "studiolog", *words],
        capture_output=True,
        text=True,
        check=False,
        env={**without_display, "STUDIOLOG_HOME": str(home), "QT_QPA_PLATFORM": "offscreen"},
    )


@pytest.fixture
def crazed(tmp_path: Path, crazed_once: Path) -> Path:
    """A copy for each test."""
    return Path(shutil.copytree(crazed_once, tmp_path / "journal"))


@pytest.fixture(scope="module")
def crazed_once(tmp_path_factory: pytest.TempPathFactory, _empty_journal: Path) -> Path:
    """Six tumblers with Chalk over Kelp on the red clay: five crazed, one did not."""
    from datetime import date

    from studiolog.journal.inspections import InspectionDraft
    from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece

    folder = tmp_path_factory.mktemp("crazed") / "journal"
    journal = open_journal(shutil.copytree(_empty_journal, folder))
    studio = enter_studio(journal)
    for number in range(1, 8):
        looked = InspectionDraft(
            looked_on=date(2026, 10, 4), faults=(FaultDraft("crazing", int(number < 6)),)
        )
        draft = PieceDraft(
            number=number,
            clay_id=studio.red,
            layers=(
                LayerDraft(zone="outside", glaze_id=studio.kelp),
                LayerDraft(zone="outside", glaze_id=studio.chalk),
            ),
            placements=(PlacementDraft(firing_id=studio.firing, level_id=studio.bottom),),
            # The seventh was never looked at: it is not sound, it is unknown.
            inspections=(looked,) if number < 7 else (),
        )
        journal.edit("Log", lambda session, draft=draft: log_piece(session, draft))
    journal.close()
    return folder


def test_rates_come_as_json_with_their_evidence(crazed: Path, tmp_path: Path) -> None:
    done = studiolog("--journal", str(crazed), "rates", "--json", home=tmp_path)
    assert done.returncode == 0, done.stderr
    (row,) = json.loads(done.stdout)
    assert row["clay"] == "Iron-red stoneware"
    assert row["layers"] == ["Kelp", "Chalk"]
    assert (row["zone"], row["fault"]) == ("outside", "crazing")
    assert (row["inspected"], row["seen"]) == (6, 5)
    assert row["pieces"] == [1, 2, 3, 4, 5, 6]
    assert row["low"] < row["rate"] < row["high"]
    assert (row["cone_low"], row["cone_high"]) == (5.5, 6.0)


def test_a_question_narrows_the_rates(crazed: Path, tmp_path: Path) -> None:
    done = studiolog("--journal", str(crazed), "rates", "running", home=tmp_path)
    assert "Nothing was inspected" in done.stdout
    done = studiolog("--journal", str(crazed), "rates", "crazing on buff", home=tmp_path)
    assert "Nothing was inspected" in done.stdout
    done = studiolog("--journal", str(crazed), "rates", "wobbling", home=tmp_path)
    assert done.returncode == 2
    assert "wobbling" in done.stderr


def test_a_question_on_chemistry_says_which_glazes_have_no_formula(
    crazed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from studiolog.journal.glazes import RecipePart, list_glazes, set_recipe

    recipe = (RecipePart("Nepheline syenite", 60), RecipePart("Silica", 20), RecipePart("Talc", 20))
    journal = open_journal(crazed)
    kelp = next(one for one in journal.read(list_glazes) if one.name == "Kelp").glaze_id
    journal.edit("Recipe", lambda session: set_recipe(session, kelp, recipe))
    journal.close()
    asked = ["--journal", str(crazed), "rates", "--json", "crazing, expansion above 1"]
    assert main(asked) == 1, "Chalk has no recipe"
    told = capsys.readouterr()
    assert told.err == (
        "Left out, for their formula is not known: Chalk. Give them recipes and analyses.\n"
    )
    (row,) = json.loads(told.out)
    assert row["layers"] == ["Kelp", "Chalk"]
    assert main(["--journal", str(crazed), "rates", "crazing"]) == 0
    assert capsys.readouterr().err == ""


def test_a_log_file_is_described_without_guessing(tmp_path: Path) -> None:
    done = studiolog("curve", str(LOGS / "07_logger_restart.csv"), "--json", home=tmp_path)
    report = json.loads(done.stdout)
    assert report["rows_kept"] == 158
    assert report["peak_c"] == pytest.approx(1221.8)
    assert report["cone"] == pytest.approx(6.78, abs=0.05)
    assert report["questions"], "the off-time of a restart is asked, not guessed"
    assert done.returncode == 1


def test_a_file_that_is_not_there_is_told_in_a_sentence(tmp_path: Path) -> None:
    done = studiolog("curve", str(tmp_path / "gone.csv"), "--json", home=tmp_path)
    assert done.returncode == 2
    assert "gone.csv" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_folder_without_a_journal_is_told_in_a_sentence(tmp_path: Path) -> None:
    done = studiolog("--journal", str(tmp_path / "nowhere"), "rates", home=tmp_path)
    assert done.returncode == 2
    assert "There is no journal" in done.stderr
    assert not (tmp_path / "nowhere").exists()


def test_check_backup_and_export(crazed: Path, tmp_path: Path) -> None:
    checked = studiolog("--journal", str(crazed), "check", home=tmp_path)
    assert checked.returncode == 0, checked.stdout
    backed = studiolog("--journal", str(crazed), "backup", str(tmp_path / "stick"), home=tmp_path)
    assert backed.returncode == 0
    assert len(list((tmp_path / "stick").iterdir())) == 1
    out = studiolog("--journal", str(crazed), "export", str(tmp_path / "j.zip"), home=tmp_path)
    assert out.returncode == 0
    assert (tmp_path / "j.zip").is_file()
