"""The services of the desk: edits, jobs, drafts, settings, pictures."""

import threading
from datetime import datetime
from functools import partial
from pathlib import Path

import pytest
from photo_files import phone_jpeg
from PySide6.QtCore import QObject, QSettings
from pytestqt.qtbot import QtBot
from shiboken6 import delete

from studiolog.desktop.desk import Desk
from studiolog.desktop.drafts import Drafts
from studiolog.desktop.jobs import Jobs, Progress
from studiolog.desktop.settings import Settings
from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.photos import PhotoStore, take_in
from studiolog.problems import UserProblem


def test_an_edit_is_told_once_with_what_it_touched(desk: Desk, qtbot: QtBot) -> None:
    with qtbot.waitSignal(desk.edits.edited) as told:
        desk.edits.run("Add Buff", partial(add_clay, draft=ClayDraft(name="Buff")))
    (touched,) = told.args
    assert touched.kinds == {"clay"}
    assert desk.edits.undo_label() == "Add Buff"


def test_a_refused_edit_is_said_and_told_to_no_screen(desk: Desk, qtbot: QtBot) -> None:
    heard: list[object] = []
    desk.notices.said.connect(heard.append)
    with qtbot.assertNotEmitted(desk.edits.edited):
        assert not desk.edits.try_run("Add", partial(add_clay, draft=ClayDraft(name=" ")))
    assert [notice.problem for notice in heard] == [True]


def test_a_job_runs_off_the_windows_thread_and_reports_on_it(qtbot: QtBot) -> None:
    jobs = Jobs()
    threads: list[int] = []
    steps: list[tuple[object, ...]] = []
    jobs.progressed.connect(lambda *step: steps.append(step))

    def work(progress: Progress) -> str:
        threads.append(threading.get_ident())
        progress.step(1, 2, "cup.jpg")
        return "two pictures"

    values: list[str] = []
    jobs.start("intake", work, values.append, lambda problem: pytest.fail(str(problem)))
    qtbot.waitUntil(lambda: values == ["two pictures"])
    assert threads != [threading.get_ident()]
    assert steps == [("intake", 1, 2, "cup.jpg")]
    assert jobs.wait()


def test_a_stale_result_is_dropped(qtbot: QtBot) -> None:
    jobs = Jobs()
    values: list[str] = []
    hold = threading.Event()

    def slow(progress: Progress) -> str:
        hold.wait(5)
        return "old"

    jobs.start("read", slow, values.append, lambda _: None)
    jobs.start("read", lambda _progress: "new", values.append, lambda _: None)
    hold.set()
    qtbot.waitUntil(lambda: bool(values))
    assert jobs.wait()
    qtbot.wait(20)
    assert values == ["new"]


def test_what_a_screen_asked_for_before_it_was_closed_for_good_is_dropped(qtbot: QtBot) -> None:
    heard: list[str] = []

    class Asker(QObject):
        def hear(self, value: str) -> None:
            heard.append(f"{self.objectName()}{value}")

    jobs, gone, here = Jobs(), Asker(), Asker()
    jobs.start("gone", lambda _progress: "read", gone.hear, lambda _: None)
    jobs.start("here", lambda _progress: "read", here.hear, lambda _: None)
    delete(gone)
    qtbot.waitUntil(lambda: not (jobs.is_running("gone") or jobs.is_running("here")))
    assert heard == ["read"]
    assert jobs.wait()


def test_a_job_that_fails_says_why(qtbot: QtBot) -> None:
    jobs = Jobs()
    problems: list[Exception] = []

    def work(progress: Progress) -> None:
        raise UserProblem("The file is gone.")

    jobs.start("read", work, lambda _: None, problems.append)
    qtbot.waitUntil(lambda: bool(problems))
    assert str(problems[0]) == "The file is gone."
    assert jobs.wait()


def test_a_half_filled_sheet_survives_and_is_kept_per_journal(tmp_path: Path) -> None:
    Drafts(tmp_path, "/pots").keep("quick_log", {"layers": "kelp 4s, chalk"})
    assert Drafts(tmp_path, "/pots").read("quick_log") == {"layers": "kelp 4s, chalk"}
    assert Drafts(tmp_path, "/other").read("quick_log") is None
    Drafts(tmp_path, "/pots").drop("quick_log")
    assert Drafts(tmp_path, "/pots").read("quick_log") is None


def test_a_draft_cut_short_by_a_crash_is_no_draft(tmp_path: Path) -> None:
    drafts = Drafts(tmp_path, "/pots")
    drafts.keep("quick_log", {"clay": 1})
    (file,) = tmp_path.rglob("*.json")
    file.write_text('{"clay": 1, "lay')
    assert drafts.read("quick_log") is None


def test_a_draft_that_cannot_be_kept_is_told(tmp_path: Path) -> None:
    (tmp_path / "full").write_text("a file where the folder should be")
    with pytest.raises(UserProblem, match="save it before you close it"):
        Drafts(tmp_path / "full", "/pots").keep("quick_log", {"clay": 1})


def test_settings_are_kept_and_told(tmp_path: Path, qtbot: QtBot) -> None:
    where = str(tmp_path / "desk.ini")
    settings = Settings(QSettings(where, QSettings.Format.IniFormat))
    with qtbot.waitSignal(settings.changed):
        settings.temperature_unit = "F"
    settings.text_scale = 150
    settings.window_geometry = b"somewhere"
    again = Settings(QSettings(where, QSettings.Format.IniFormat))
    assert (again.temperature_unit, again.text_scale, again.theme) == ("F", 150, "system")


def test_a_picture_comes_in_the_background_and_a_lost_one_says_so(desk: Desk, qtbot: QtBot) -> None:
    store = PhotoStore(desk.journal.photo_folder)
    taken = datetime(2026, 10, 4, 9, 30)
    (facts,) = take_in([("cup.jpg", phone_jpeg(400, 300, taken))], store).kept
    with qtbot.waitSignal(desk.pictures.ready):
        assert desk.pictures.picture(facts.sha256, facts.suffix, 160) is None
    image = desk.pictures.picture(facts.sha256, facts.suffix, 160)
    assert image is not None
    assert (image.width(), image.height()) == (160, 120)
    with qtbot.waitSignal(desk.pictures.missing) as told:
        desk.pictures.picture("0" * 64, ".jpg", 160)
    assert told.args[0] == "0" * 64
    assert desk.pictures.problem("0" * 64, 160)


def test_many_large_pictures_are_not_all_kept(
    desk: Desk, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("studiolog.desktop.pictures._KEPT_BYTES", 100_000)
    monkeypatch.setattr(
        "studiolog.desktop.pictures._fetch", lambda *_asked: (100, 100, bytes(30_000))
    )
    pictures = desk.pictures
    for name in "abcde":
        with qtbot.waitSignal(pictures.ready):
            assert pictures.picture(name, ".jpg", 1600) is None
    assert pictures.picture("e", ".jpg", 1600) is not None
    assert pictures.picture("c", ".jpg", 1600) is not None
    pictures.let_go([("e", 1600)])
    with qtbot.waitSignal(pictures.ready):
        assert pictures.picture("e", ".jpg", 1600) is None
    with qtbot.waitSignal(pictures.ready):
        assert pictures.picture("a", ".jpg", 1600) is None
