"""Pictures on their way into the store: a job each, so that they appear one by one."""

from collections.abc import Sequence
from functools import partial
from itertools import count
from pathlib import Path

import shiboken6
from PySide6.QtCore import QObject, Signal

from studiolog.desktop.desk import Desk
from studiolog.desktop.jobs import Progress
from studiolog.photos.intake import Intake, PhotoFacts, Refusal, Source, take_in
from studiolog.photos.store import PhotoStore
from studiolog.problems import UserProblem

_NUMBERS = count(1)


class PhotoIntake(QObject):
    """Takes pictures in in the background. ``arrived`` carries `PhotoFacts`, ``refused`` a
    sentence naming the file; ``settled`` fires when none is on its way any more."""

    arrived = Signal(object)
    refused = Signal(str)
    moved = Signal()
    settled = Signal()

    def __init__(self, desk: Desk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._waiting: dict[str, Source] = {}

    def add(self, sources: Sequence[Source]) -> None:
        """Take these in: files, or bytes that were pasted under a name."""
        for source in sources:
            key = f"quick log photo {next(_NUMBERS)}"
            self._waiting[key] = source
            self._desk.jobs.start(
                key,
                partial(_take_one, self._desk.journal.photo_folder, source),
                partial(_hand_on, self, key),
                partial(_hand_on_problem, self, key),
            )
        self.moved.emit()

    def waiting(self) -> int:
        """How many are on their way."""
        return len(self._waiting)

    def pending_paths(self) -> tuple[str, ...]:
        """The files on their way, to be asked for again after a crash."""
        return tuple(str(source) for source in self._waiting.values() if isinstance(source, Path))

    def drop_all(self) -> None:
        """Want none of them any more."""
        for key in list(self._waiting):
            self._desk.jobs.cancel(key)
        self._waiting.clear()
        self.moved.emit()

    def end(self, key: str, kept: Sequence[PhotoFacts], refused: Sequence[Refusal]) -> None:
        """One job has ended."""
        if self._waiting.pop(key, None) is None:
            return
        for facts in kept:
            self.arrived.emit(facts)
        for refusal in refused:
            self.refused.emit(refusal.sentence)
        self.moved.emit()
        if not self._waiting:
            self.settled.emit()


def _take_one(folder: Path, source: Source, progress: Progress) -> Intake:
    return take_in([source], PhotoStore(folder), cancelled=progress.cancelled, threads=1)


def _hand_on(intake: PhotoIntake, key: str, taken: Intake) -> None:
    # The sheet may have been closed meanwhile; the picture is in the store all the same.
    if shiboken6.isValid(intake):
        intake.end(key, taken.kept, taken.refused)


def _hand_on_problem(intake: PhotoIntake, key: str, problem: Exception) -> None:
    if not shiboken6.isValid(intake):
        return
    if not isinstance(problem, UserProblem):
        intake.end(key, (), (Refusal("", f"A picture could not be taken in: {problem}."),))
        raise problem
    intake.end(key, (), (Refusal("", problem.sentence),))
