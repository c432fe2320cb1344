"""Pictures of a thing under a rule: dropped, pasted or picked, kept whole before they are named."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QUrl, Signal
from PySide6.QtGui import QDesktopServices, QImage
from PySide6.QtWidgets import QFileDialog, QWidget

from studiolog.desktop.desk import Desk
from studiolog.desktop.handed_over import PICTURE_FILES, named_png
from studiolog.desktop.jobs import Progress
from studiolog.journal.photos import PictureDraft, draft_picture
from studiolog.journal.session import Session
from studiolog.photos import Intake, PhotoStore, take_in
from studiolog.problems import UserProblem
from studiolog.ui.parts.photo_strip import PhotoStrip, StripPhoto
from studiolog.ui.parts.picture_frame import PictureFrame
from studiolog.ui.parts.section import Section

_SMALL, _LARGE = 240, 1200
Source = Path | tuple[str, bytes]


@dataclass(frozen=True)
class KeptPicture:
    """A picture as the strip shows it."""

    picture_id: int
    sha256: str
    suffix: str
    caption: str
    moment: str = "making"


@dataclass(frozen=True)
class PictureEdits:
    """What the pictures of a noun are kept by; each gives an edit of the journal."""

    add: Callable[[Session, int, Sequence[PictureDraft]], Any]
    remove: Callable[[Session, int], Any]
    set_moment: Callable[[Session, int, str], Any] | None = None


class KeptPictures(Section):
    """The chosen picture large, all of them in a strip under it.

    ``read`` fires when a picture was read and may be drawn elsewhere too.
    """

    read = Signal()

    def __init__(
        self,
        desk: Desk,
        title: str,
        whose: str,
        edits: PictureEdits,
        nothing: str,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(title, parent=parent)
        self._desk, self._whose, self._edits = desk, whose, edits
        self._ident, self._called = 0, ""
        self._pictures: tuple[KeptPicture, ...] = ()
        self.frame = PictureFrame(f"Picture of the {whose}", nothing)
        self.strip = PhotoStrip(whose=whose, moments=edits.set_moment is not None)
        self.add(self.frame)
        self.add(self.strip)
        self.frame.files_dropped.connect(self._take_paths)
        self.frame.opened.connect(lambda: self._open(self.strip.chosen() or 0))
        self.strip.files_dropped.connect(self._take_paths)
        self.strip.image_pasted.connect(self._paste)
        self.strip.add_asked.connect(self.pick_files)
        self.strip.photo_chosen.connect(lambda _ident: self._show_chosen())
        self.strip.photo_opened.connect(self._open)
        self.strip.remove_asked.connect(self._remove)
        self.strip.moment_chosen.connect(self._set_moment)
        desk.pictures.ready.connect(lambda sha, _longest: self._hear(sha))
        desk.pictures.missing.connect(lambda sha, _longest, _why: self._hear(sha))

    def show_pictures(self, ident: int, called: str, pictures: Sequence[KeptPicture]) -> None:
        """Show the pictures of one thing, ``called`` so in the history."""
        self._ident, self._called = ident, called
        self._pictures = tuple(pictures)
        self._show()

    def paste(self) -> None:
        """Take a picture, or files, from the clipboard."""
        self.strip.paste()

    def take_in(self, sources: Sequence[Source]) -> None:
        """Keep pictures in the journal's folder off this thread, then tie them to the thing."""
        if not self._ident or not sources:
            return
        self.set_quiet("reading the pictures …")
        self._desk.jobs.start(
            f"pictures of {self._whose} {self._ident}",
            partial(_take_in, tuple(sources), self._desk.journal.photo_folder),
            partial(self._keep, self._ident, self._called),
            self._fail,
        )

    def pick_files(self) -> None:
        """Ask for picture files."""
        paths, _kind = QFileDialog.getOpenFileNames(
            self, f"Add pictures of the {self._whose}", "", PICTURE_FILES
        )
        self._take_paths(paths)

    def _take_paths(self, paths: Sequence[str]) -> None:
        self.take_in([Path(path) for path in paths])

    def _paste(self, image: QImage) -> None:
        pasted = named_png(image)
        if pasted is None:
            self._desk.notices.warn("What was pasted holds no picture that can be read.")
            return
        self.take_in([pasted])

    def _keep(self, ident: int, called: str, intake: Intake) -> None:
        # Another thing may be shown by now; the pictures belong to what they were dropped on.
        self.set_quiet("")
        for refusal in (*intake.refused, *intake.unshown):
            self._desk.notices.warn(refusal.sentence)
        drafts = [draft_picture(facts, "making") for facts in intake.kept]
        if drafts:
            many = "a picture" if len(drafts) == 1 else f"{len(drafts)} pictures"
            self._desk.edits.try_run(
                f"Add {many} to {called}", lambda session: self._edits.add(session, ident, drafts)
            )

    def _fail(self, problem: Exception) -> None:
        self.set_quiet("")
        if not isinstance(problem, UserProblem):
            raise problem
        self._desk.notices.warn(problem.sentence)

    def _hear(self, sha256: str) -> None:
        if any(one.sha256 == sha256 for one in self._pictures):
            self._show()
            self.read.emit()

    def _show(self) -> None:
        pictures = self._desk.pictures
        self.strip.show_photos(
            [
                StripPhoto(
                    one.picture_id,
                    one.caption,
                    one.moment,
                    pictures.picture(one.sha256, one.suffix, _SMALL),
                    pictures.problem(one.sha256, _SMALL) is not None,
                )
                for one in self._pictures
            ]
        )
        self._show_chosen()

    def _show_chosen(self) -> None:
        chosen = self._line(self.strip.chosen() or 0) or next(iter(self._pictures), None)
        if chosen is None:
            self.frame.show_nothing()
            return
        pictures = self._desk.pictures
        large = pictures.picture(chosen.sha256, chosen.suffix, _LARGE)
        shown = large or pictures.picture(chosen.sha256, chosen.suffix, _SMALL)
        missing = pictures.problem(chosen.sha256, _LARGE) is not None
        self.frame.show_picture(shown, chosen.caption, missing)

    def _line(self, picture_id: int) -> KeptPicture | None:
        return next((one for one in self._pictures if one.picture_id == picture_id), None)

    def _remove(self, picture_id: int) -> None:
        if self._desk.edits.try_run(
            f"Take a picture off {self._called}",
            lambda session: self._edits.remove(session, picture_id),
        ):
            self._desk.notices.say("The picture is taken off.", "Undo", self._desk.edits.undo)

    def _set_moment(self, picture_id: int, moment: str) -> None:
        set_moment = self._edits.set_moment
        if set_moment is not None:
            self._desk.edits.try_run(
                "Say what a picture shows", lambda session: set_moment(session, picture_id, moment)
            )

    def _open(self, picture_id: int) -> None:
        line = self._line(picture_id)
        if line is not None:
            path = PhotoStore(self._desk.journal.photo_folder).path(line.sha256, line.suffix)
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(path)))


def _take_in(sources: Sequence[Source], folder: Path, progress: Progress) -> Intake:
    return take_in(sources, PhotoStore(folder), progress.step, progress.cancelled)
