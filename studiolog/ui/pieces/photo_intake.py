"""Photos of a piece: taken into the store off the window's thread, then tied to the piece."""

import hashlib
from collections.abc import Sequence
from datetime import datetime
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage

from studiolog.desktop.handed_over import named_png
from studiolog.desktop.jobs import Progress
from studiolog.journal.photos import draft_picture
from studiolog.journal.piece_changes import add_pictures
from studiolog.journal.piece_page import PiecePage
from studiolog.photos import Intake, PhotoStore, propose_moment, take_in
from studiolog.problems import PhotoRefused, UserProblem
from studiolog.ui.pieces.page_edits import PageEdits

Source = Path | tuple[str, bytes]


class PhotoIntake(QObject):
    """Takes dropped, pasted or picked pictures in, and puts missing originals back."""

    put_back = Signal(str)
    busy = Signal(bool)

    def __init__(self, edits: PageEdits, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._edits = edits

    @property
    def _folder(self) -> Path:
        return self._edits.desk.journal.photo_folder

    def take_files(self, paths: Sequence[str]) -> None:
        """Take in these files, in order."""
        self._take([Path(path) for path in paths])

    def take_image(self, image: QImage) -> None:
        """Take in a picture from the clipboard."""
        pasted = named_png(image)
        if pasted is None:
            self._edits.desk.notices.warn("The clipboard holds no picture that can be read.")
            return
        self._take([pasted])

    def _take(self, sources: Sequence[Source]) -> None:
        page = self._edits.page
        if page is None or not sources:
            return
        self.busy.emit(True)
        self._edits.desk.jobs.start(
            f"photos of piece {page.piece_id}",
            partial(_take_in, tuple(sources), self._folder),
            partial(self._keep, page),
            self._fail,
        )

    def _keep(self, page: PiecePage, intake: Intake) -> None:
        self.busy.emit(False)
        history = [(line.at, line.stage) for line in page.stages]
        if not history:
            history = [(datetime.min, page.stage)]
        drafts = [
            draft_picture(facts, propose_moment(facts.taken_at, history)) for facts in intake.kept
        ]
        desk = self._edits.desk
        if drafts:
            many = f"{len(drafts)} photos" if len(drafts) > 1 else "a photo"
            # The page may show another piece by now; the photos belong to the one they were
            # dropped on.
            number = f"piece {page.number}" if page.number is not None else "piece"
            desk.edits.try_run(
                f"Add {many} to {number}",
                lambda session: add_pictures(session, page.piece_id, drafts),
            )
        for refusal in (*intake.refused, *intake.unshown):
            desk.notices.warn(refusal.sentence)

    def _fail(self, problem: Exception) -> None:
        self.busy.emit(False)
        if not isinstance(problem, UserProblem):
            raise problem
        self._edits.desk.notices.warn(problem.sentence)

    def find_missing(self, sha256: str, suffix: str, path: str) -> None:
        """Put an original back from a file that holds the same bytes."""
        self.busy.emit(True)
        self._edits.desk.jobs.start(
            f"find {sha256}",
            partial(_put_back, Path(path), sha256, suffix, self._folder),
            self._found,
            self._fail,
        )

    def _found(self, sha256: str) -> None:
        self.busy.emit(False)
        self._edits.desk.pictures.forget_problems()
        self.put_back.emit(sha256)
        self._edits.desk.notices.say("The photo is back in the journal's folder.")


def _take_in(sources: Sequence[Source], folder: Path, progress: Progress) -> Intake:
    return take_in(sources, PhotoStore(folder), progress.step, progress.cancelled)


def _put_back(path: Path, sha256: str, suffix: str, folder: Path, _progress: Progress) -> str:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise PhotoRefused(
            f"{path.name} can't be read ({error.strerror or error}): choose another file."
        ) from error
    if hashlib.sha256(data).hexdigest() != sha256:
        raise PhotoRefused(
            f"{path.name} is another picture than the one that is missing: "
            "its content differs. Choose the original."
        )
    return PhotoStore(folder).keep(data, suffix)
