"""Photos of tiles: many at once, one a tile from where one stands on, in the order they were taken.

They are taken into the store off the window's thread and tied to the pieces in one edit.
"""

import re
from collections.abc import Sequence
from datetime import datetime
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from studiolog.desktop.desk import Desk
from studiolog.desktop.jobs import Progress
from studiolog.journal.photos import PictureDraft, add_picture, draft_picture
from studiolog.journal.plan_page import PlanTileLine
from studiolog.journal.session import Session
from studiolog.photos import Intake, PhotoStore, propose_moment, take_in
from studiolog.problems import UserProblem


class TilePhotos(QObject):
    """``busy`` tells that photos are being taken in, and that they are in."""

    busy = Signal(bool)

    def __init__(self, desk: Desk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk

    def take(self, paths: Sequence[str], code: str, tiles: Sequence[PlanTileLine]) -> None:
        """Take these files in for the tiles, one each in order; ``code`` is that of the plan."""
        made = tuple(tile for tile in tiles if tile.piece_id is not None)
        if not paths:
            return
        if not made:
            self._desk.notices.warn("These tiles are not made yet: make the pieces first.")
            return
        self.busy.emit(True)
        self._desk.jobs.start(
            f"photos of plan {code}",
            partial(_take_in, sort_files(paths), self._desk.journal.photo_folder),
            partial(self._keep, code, made),
            self._fail,
        )

    def _keep(self, code: str, tiles: tuple[PlanTileLine, ...], intake: Intake) -> None:
        self.busy.emit(False)
        facts = list(intake.kept)
        if all(one.taken_at is not None for one in facts):
            facts.sort(key=lambda one: one.taken_at or datetime.min)
        drafts: list[tuple[int, PictureDraft]] = []
        for tile, one in zip(tiles, facts, strict=False):
            assert tile.piece_id is not None
            moment = propose_moment(None, [(datetime.min, tile.stage)])
            drafts.append((tile.piece_id, draft_picture(one, moment)))
        if drafts:
            many = f"{len(drafts)} photos" if len(drafts) > 1 else "a photo"

            def add(session: Session) -> None:
                for piece_id, draft in drafts:
                    add_picture(session, draft, piece_id=piece_id)

            span = tiles[0].code if len(drafts) == 1 else (
                f"{tiles[0].code} to {tiles[len(drafts) - 1].code}")  # fmt: skip
            if self._desk.edits.try_run(f"Add {many} to plan {code}", add):
                self._desk.notices.say(f"Added {many}: {span}.", "Undo", self._desk.edits.undo)
        over = len(facts) - len(drafts)
        if over > 0:
            left = "1 photo was" if over == 1 else f"{over} photos were"
            self._desk.notices.warn(f"{left} left out: no tile comes after {tiles[-1].code}.")
        for refusal in (*intake.refused, *intake.unshown):
            self._desk.notices.warn(refusal.sentence)

    def _fail(self, problem: Exception) -> None:
        self.busy.emit(False)
        if not isinstance(problem, UserProblem):
            raise problem
        self._desk.notices.warn(problem.sentence)


def sort_files(paths: Sequence[str]) -> tuple[Path, ...]:
    """Files by name, figures as numbers: a camera counts its pictures, a drop has any order."""

    def key(path: Path) -> list[tuple[int, str]]:
        parts = re.split(r"(\d+)", path.name.casefold())
        return [(int(part), "") if part.isdigit() else (-1, part) for part in parts]

    return tuple(sorted((Path(path) for path in paths), key=key))


def _take_in(sources: Sequence[Path], folder: Path, progress: Progress) -> Intake:
    return take_in(sources, PhotoStore(folder), progress.step, progress.cancelled)
