"""Where the desk keeps its own things: no home, a home that may not be written, a bare system."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings

from studiolog import app
from studiolog.__main__ import main
from studiolog.desktop.drafts import Drafts
from studiolog.desktop.settings import Settings
from studiolog.journal.opening import Journal, open_journal
from studiolog.problems import UserProblem
from tests.flows.ground import fingerprint, ordinary_user, place_of_an_ordinary_user
from tests.journal.conftest import enter_studio


@pytest.fixture
def place() -> Iterator[Path]:
    with place_of_an_ordinary_user() as folder:
        yield folder


def _run(words: list[str], **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "studiolog", *words],
        capture_output=True,
        check=False,
        env={"PATH": os.environ["PATH"], **environment},
    )


@pytest.fixture(scope="module")
def studio_once(tmp_path_factory: pytest.TempPathFactory, _empty_journal: Path) -> Path:
    """A studio's journal, closed, to be copied."""
    folder = tmp_path_factory.mktemp("home") / "journal"
    journal = open_journal(shutil.copytree(_empty_journal, folder))
    enter_studio(journal)
    journal.close()
    return folder


@pytest.mark.parametrize(
    "bare",
    [
        {},  # no HOME, no language
        {"LANG": "C", "LC_ALL": "C"},
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
        {"STUDIOLOG_HOME": "/proc/nowhere"},
    ],
)
def test_a_job_is_done_in_the_barest_surroundings(
    bare: dict[str, str], tmp_path: Path, studio_once: Path
) -> None:
    folder = Path(shutil.copytree(studio_once, tmp_path / "Töpferei 🏺"))
    done = _run(["--journal", str(folder), "check"], **bare)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.endswith(b"0 photos: 0 to look at.\n")
    nowhere = _run(["--journal", str(tmp_path / "keine Töpferei"), "check"], **bare)
    assert nowhere.returncode == 2
    assert nowhere.stderr.count(b"\n") == 1
    assert b"There is no journal in" in nowhere.stderr


def test_a_system_that_names_no_home_is_told(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("STUDIOLOG_HOME", raising=False)
    monkeypatch.chdir(tmp_path)
    # What the system answers for a user it does not know, without HOME.
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_a, **_k: Path("~/.local/share/x"))
    with pytest.raises(UserProblem, match="name one with STUDIOLOG_HOME"):
        app.home_folder()
    assert main(["--demo", "rates"]) == 2
    assert "STUDIOLOG_HOME" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="permissions as POSIX has them")
def test_a_home_that_may_not_be_written_costs_settings_and_no_work(
    place: Path, journal: Journal
) -> None:
    home = place / "home"
    home.mkdir()
    (home / "settings.ini").write_text("[General]\ntheme=dark\ntext_scale=huge\n")
    home.chmod(0o555)
    (home / "settings.ini").chmod(0o444)
    before = fingerprint(home)
    with ordinary_user(place):
        store = QSettings(str(home / "settings.ini"), QSettings.Format.IniFormat)
        settings = Settings(store)
        assert (settings.theme, settings.text_scale) == ("dark", 100)
        settings.theme = "light"
        store.sync()
        drafts = Drafts(home / "drafts", journal.where)
        with pytest.raises(UserProblem, match="save it before you close it"):
            drafts.keep("quick log", {"number": 412})
        assert drafts.read("quick log") is None
    assert fingerprint(home) == before
    enter_studio(journal)
