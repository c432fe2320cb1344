"""A journal checked, backed up and exported."""

import csv
import io
import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest
from photo_files import phone_jpeg
from sqlalchemy import delete

from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze
from studiolog.journal.inspections import FaultDraft
from studiolog.journal.opening import open_journal
from studiolog.journal.photos import PictureDraft, add_picture
from studiolog.journal.safekeeping import back_up, check_journal, export, mend_facts
from studiolog.photos import PhotoStore, take_in
from studiolog.problems import UserProblem
from studiolog.records.facts import pair_fact
from tests.journal.conftest import Studio, snapshot


@pytest.fixture
def photographed(studio: Studio, log_tumbler: Callable[..., int]) -> Studio:
    """One tumbler with one photo and one inspection."""
    piece_id = log_tumbler(FaultDraft("crazing", 1))
    store = PhotoStore(studio.journal.photo_folder)
    taken = datetime(2026, 10, 4, 9, 30)
    (facts,) = take_in([("cup.jpg", phone_jpeg(80, 60, taken))], store).kept
    draft = PictureDraft(
        sha256=facts.sha256,
        suffix=facts.suffix,
        name=facts.name,
        width=facts.width,
        height=facts.height,
        byte_count=facts.byte_count,
        taken_at=facts.taken_at,
        moment="fired",
    )
    studio.journal.edit("Add photo", lambda s: add_picture(s, draft, piece_id=piece_id))
    return studio


def test_a_sound_journal_has_nothing_to_look_at(photographed: Studio) -> None:
    report = check_journal(photographed.journal)
    assert report.problems == ()
    assert report.photos == 1
    assert report.rows > 20


def test_a_lost_original_is_named(photographed: Studio) -> None:
    store = PhotoStore(photographed.journal.photo_folder)
    (original,) = [v.path for v in store.verify()]
    original.parent.chmod(0o755)
    original.unlink()
    (problem,) = check_journal(photographed.journal).problems
    assert "cup.jpg" in problem


def test_an_original_that_rotted_is_named(photographed: Studio) -> None:
    store = PhotoStore(photographed.journal.photo_folder)
    (original,) = [v.path for v in store.verify()]
    original.chmod(0o644)
    original.write_bytes(original.read_bytes()[:-1] + b"\x00")
    assert len(check_journal(photographed.journal).problems) == 1


def test_facts_that_differ_are_found_and_mended(photographed: Studio) -> None:
    journal = photographed.journal
    whole = snapshot(journal)
    with journal.engine.begin() as connection:
        connection.execute(delete(pair_fact))
    broken = snapshot(journal)
    (problem,) = check_journal(journal).problems
    assert "pair_fact" in problem
    assert snapshot(journal) == broken, "a check changes nothing"
    mend_facts(journal)
    assert snapshot(journal) == whole


def test_a_backup_opens_as_the_same_journal(photographed: Studio, tmp_path: Path) -> None:
    made = back_up(photographed.journal, tmp_path / "stick")
    copy = open_journal(made, create=False)
    assert snapshot(copy, with_history=True) == snapshot(photographed.journal, with_history=True)
    assert check_journal(copy).problems == ()
    copy.close()


def test_a_backup_that_cannot_be_written_says_so(photographed: Studio, tmp_path: Path) -> None:
    (tmp_path / "stick").write_text("not a folder")
    with pytest.raises(UserProblem, match="not complete"):
        back_up(photographed.journal, tmp_path / "stick")


def test_an_export_holds_every_record_and_photo(photographed: Studio, tmp_path: Path) -> None:
    recipe = (RecipePart("Whiting", 20), RecipePart("Kaolin", 80))
    draft = GlazeDraft(name="Ash white", recipe=recipe)
    photographed.journal.edit("Glaze", lambda session: add_glaze(session, draft))
    file = export(photographed.journal, tmp_path / "out" / "journal.zip")
    with zipfile.ZipFile(file) as archive:
        names = archive.namelist()
        pages = {
            name: list(csv.DictReader(io.StringIO(archive.read(name).decode())))
            for name in names
            if name.endswith(".csv")
        }
        (photo,) = [name for name in names if name.startswith("photos/")]
        assert archive.read(photo)[:2] == b"\xff\xd8"
    assert [row["name"] for row in pages["glaze.csv"]] == ["Kelp", "Chalk", "Oat", "Ash white"]
    assert len(pages["layer.csv"]) == 3
    # The shelf that came with the recipe, and every table of the glaze bench, full or empty.
    assert [row["name"] for row in pages["material.csv"]] == ["Whiting", "Kaolin"]
    lots = [row["id"] for row in pages["material_lot.csv"]]
    assert [row["lot_id"] for row in pages["recipe_line.csv"]] == lots
    bench = ("lot_oxide", "stock_change", "bucket_line", "bucket_change", "surface_reading")
    plans = ("test_plan", "plan_corner", "plan_tile", "plan_layer")
    assert {f"{name}.csv" for name in (*bench, *plans)} <= pages.keys()
    assert pages["photo.csv"][0]["sha256"] in photo
