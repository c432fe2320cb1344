"""The loggers' folders: a file that is still written waits, a grown one is no second firing."""

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.desktop.log_intake import LogIntake, Told
from studiolog.desktop.logger_watch import LoggerWatch
from studiolog.desktop.notices import Notice
from studiolog.desktop.watched_folder import STILL_S, FolderLook, Listing, WatchedFolders
from studiolog.journal.waiting import list_waiting
from studiolog.problems import UserProblem
from tests.journal.test_waiting import PHOTOS, csv_of


def test_a_file_counts_once_it_has_been_still() -> None:
    look = FolderLook()
    assert look.look({"a.csv": (10, 1)}, 0.0) == []
    assert look.look({"a.csv": (20, 2)}, 2.0) == [], "it grew: the logger still writes"
    assert look.waits
    assert look.look({"a.csv": (20, 2)}, STILL_S + 1) == []
    assert look.look({"a.csv": (20, 2)}, STILL_S + 2) == ["a.csv"]
    assert look.look({"a.csv": (20, 2)}, 9 * STILL_S) == [], "told once"
    assert not look.waits


def test_a_logger_that_writes_a_row_a_minute_is_not_taken_in_at_every_row() -> None:
    look = FolderLook()
    told = []
    for minute in range(600):
        for second in range(0, 60, 10):
            state = (100 + 20 * minute, minute)
            told += look.look({"kiln.csv": state}, 60.0 * minute + second)
    assert len(told) == 1, "its first rows, before anybody could know that more would come"
    assert look.look({"kiln.csv": (100 + 20 * 599, 599)}, 60.0 * 602 + 30) == ["kiln.csv"]


def test_an_empty_file_and_one_that_is_moved_away_are_left() -> None:
    look = FolderLook()
    look.look({"a.csv": (0, 1), "b.csv": (9, 1)}, 0.0)
    look.look({}, 1.0)
    assert look.look({"a.csv": (0, 1), "b.csv": (9, 1)}, 99.0) == []


def test_a_folder_that_is_away_forgets_nothing() -> None:
    look = FolderLook({"old.csv": (5, 1)})
    assert look.look(None, 0.0) == []
    assert look.gone
    files = {"old.csv": (5, 1), "b10.csv": (5, 1), "b9.csv": (5, 1)}
    assert look.look(files, 100.0) == []
    assert not look.gone
    assert look.look(files, 100.0 + STILL_S) == ["b9.csv", "b10.csv"]


class Yard:
    """A watch with a clock and a folder of the test's own: nothing of it waits in real time."""

    def __init__(self, desk: Desk, qtbot: QtBot, folder: Path) -> None:
        self.desk, self.qtbot, self.folder = desk, qtbot, folder
        self.now = 0.0
        self.away = False
        self.arrived: list[Told] = []
        self.unread: list[Told] = []
        self.moves: list[str] = []
        self.watch = self.begin()

    def begin(self) -> WatchedFolders:
        intake = LogIntake(self.desk, "take in")
        watch = WatchedFolders(
            self.desk.jobs, intake, self.desk.drafts, None, lambda: self.now, self._list
        )
        intake.setParent(watch)
        watch.arrived.connect(self.arrived.extend)
        watch.unread.connect(self.unread.extend)
        watch.went.connect(lambda _folder: self.moves.append("went"))
        watch.back.connect(lambda _folder: self.moves.append("back"))
        with self.qtbot.waitSignal(watch.looked, timeout=8000):
            watch.watch((str(self.folder),))
        return watch

    def _list(self, folder: str) -> Listing | None:
        if self.away:
            return None
        return {
            str(path): (path.stat().st_size, path.stat().st_mtime_ns)
            for path in Path(folder).iterdir()
        }

    def look(self, after_s: float = STILL_S) -> None:
        self.settle()  # a look that is under way may not have seen what was written since
        self.now += after_s
        self.watch.look()
        self.settle()

    def settle(self) -> None:
        def running() -> bool:
            return not any(self.desk.jobs.is_running(key) for key in ("look for logs", "take in"))

        self.qtbot.waitUntil(running, timeout=8000)


@pytest.fixture
def yard(desk: Desk, qtbot: QtBot, tmp_path: Path) -> Iterator[Yard]:
    (tmp_path / "kiln").mkdir()
    made = Yard(desk, qtbot, tmp_path / "kiln")
    made.settle()
    yield made
    made.watch.stop()
    desk.jobs.wait()


def test_a_log_appears_by_itself_grows_and_stays_one(yard: Yard) -> None:
    whole = csv_of(datetime(2026, 9, 1, 8))
    lines = whole.splitlines(keepends=True)
    file = yard.folder / "log.csv"
    file.write_bytes(b"".join(lines[:60]))
    yard.look()
    assert yard.arrived == [], "seen for the first time: it may still be written"
    yard.look()
    assert [one.outcome for one in yard.arrived] == ["waits"]

    file.write_bytes(whole)
    yard.look(after_s=3600.0)
    yard.look()
    assert [one.outcome for one in yard.arrived] == ["waits", "grown"]
    (line,) = yard.desk.read(list_waiting)
    assert line.readings == 120

    # After a restart nothing is told again; a copy of it is no second firing.
    yard.watch.stop()
    (yard.folder / "copy.csv").write_bytes(whole)
    yard.watch = yard.begin()
    yard.settle()
    yard.look()
    yard.look()
    assert len(yard.arrived) == 2
    assert len(yard.desk.read(list_waiting)) == 1
    # Undone, it is not brought back by the next look either.
    yard.desk.edits.undo()
    yard.desk.edits.undo()
    yard.look()
    yard.look()
    assert yard.desk.read(list_waiting) == ()


def test_what_the_journal_could_not_keep_comes_in_after_the_next_start(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_args: object, **_more: object) -> None:
        raise UserProblem("The disk is full.")

    (yard.folder / "log.csv").write_bytes(csv_of(datetime(2026, 9, 1, 8)))
    with monkeypatch.context() as full:
        full.setattr(yard.desk.edits, "run", refuse)
        yard.look()
        yard.look()
    assert [one.words for one in yard.unread] == ["The disk is full."]
    yard.watch.stop()
    yard.watch = yard.begin()
    yard.look()
    yard.look()
    assert [one.path.name for one in yard.arrived] == ["log.csv"]


def test_what_cant_be_read_is_told_once_and_pictures_never(yard: Yard) -> None:
    (yard.folder / "photos.csv").write_bytes(PHOTOS)
    (yard.folder / "bowl.jpg").write_bytes(b"\xff\xd8\xff\xe0")
    for _ in range(4):
        yard.look()
    assert [one.path.name for one in yard.unread] == ["photos.csv"]


def test_a_network_folder_goes_and_comes_back(yard: Yard) -> None:
    yard.away = True
    yard.look()
    yard.look()
    assert yard.moves == ["went"], "told once, not at each look"
    (yard.folder / "log.csv").write_bytes(csv_of(datetime(2026, 9, 1, 8)))
    yard.away = False
    yard.look()
    yard.look()
    assert yard.moves == ["went", "back"]
    assert [one.path.name for one in yard.arrived] == ["log.csv"]


def test_the_desk_says_what_came_in_with_the_way_to_it(desk: Desk, tmp_path: Path) -> None:
    said: list[Notice] = []
    asked: list[tuple[str, int, object]] = []
    desk.notices.said.connect(said.append)
    desk.asked_for.connect(lambda *what: asked.append(what))
    watch = LoggerWatch(desk)
    desk.settings.set_logger_folders(desk.journal.where, {0: str(tmp_path), 3: ""})
    assert watch.folders.folders == (str(tmp_path),)
    watch.folders.arrived.emit((Told(tmp_path / "a.csv", "waits", "", waiting_id=7),))
    assert "a.csv" in said[-1].sentence
    assert said[-1].action is not None
    said[-1].action()
    assert asked == [("firings", 7, "describe waiting")]
    watch.folders.arrived.emit(tuple(Told(tmp_path / f"{n}.csv", "asks", "") for n in range(3)))
    assert said[-1].sentence.startswith("3 logs")
    watch.folders.unread.emit((Told(tmp_path / "x.csv", "unread", "It is empty."),))
    assert said[-1].problem
    desk.settings.set_logger_folders(desk.journal.where, {})
    assert watch.folders.folders == ()
    watch.stop()
