"""Photos of a firing: dropped, pasted or picked, kept whole before they are named."""

from functools import partial
from pathlib import Path

from PySide6.QtGui import QImage
from PySide6.QtWidgets import QFileDialog, QWidget

from studiolog.desktop.desk import Desk
from studiolog.desktop.handed_over import PICTURE_FILES, named_png
from studiolog.desktop.jobs import Progress
from studiolog.journal.firing_page import FiringPage
from studiolog.journal.photos import add_picture, change_picture, draft_picture, remove_picture
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.parts.photo_strip import PhotoStrip, StripPhoto
from studiolog.ui.parts.section import Section

_LONGEST = 240


class PhotosSection(Section):
    """The strip of a firing's photos."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Photos", parent=parent)
        self._desk = desk
        self._page: FiringPage | None = None
        self.strip = PhotoStrip()
        self.add(self.strip)
        self.strip.add_asked.connect(self._pick)
        self.strip.files_dropped.connect(lambda paths: self.take_in([Path(path) for path in paths]))
        self.strip.image_pasted.connect(self._paste)
        self.strip.moment_chosen.connect(self._set_moment)
        self.strip.remove_asked.connect(self._remove)
        self.strip.photo_opened.connect(self._open)
        desk.pictures.ready.connect(lambda sha, longest: self._show())
        desk.pictures.missing.connect(lambda sha, longest, why: self._show())

    def show_page(self, page: FiringPage) -> None:
        """Show the photos; those still being read come when they are ready."""
        self._page = page
        self._show()

    def take_in(self, sources: list[Path | tuple[str, bytes]]) -> None:
        """Keep pictures in the journal's folder off this thread, then tie them to the firing."""
        page = self._page
        if page is None:
            return
        folder = self._desk.journal.photo_folder

        def work(progress: Progress) -> object:
            from studiolog.photos.intake import take_in
            from studiolog.photos.store import PhotoStore

            return take_in(sources, PhotoStore(folder), progress.step, progress.cancelled)

        self.set_quiet("reading the photos …")
        self._desk.jobs.start(
            f"photos of firing {page.firing_id}",
            work,
            partial(self._keep, page.firing_id, page.number),
            self._fail,
        )

    def _keep(self, firing_id: int, number: int, intake: object) -> None:
        from studiolog.photos.intake import Intake

        assert isinstance(intake, Intake)
        self.set_quiet("")
        for refusal in (*intake.refused, *intake.unshown):
            self._desk.notices.warn(refusal.sentence)
        if not intake.kept:
            return
        drafts = [draft_picture(facts, "fired") for facts in intake.kept]

        def add_all(session: Session) -> None:
            for draft in drafts:
                add_picture(session, draft, firing_id=firing_id)

        words = "photo" if len(drafts) == 1 else f"{len(drafts)} photos"
        self._desk.edits.try_run(f"Add {words} to firing {number}", add_all)

    def _fail(self, problem: Exception) -> None:
        self.set_quiet("")
        if not isinstance(problem, UserProblem):
            raise problem
        self._desk.notices.warn(problem.sentence)

    def _show(self) -> None:
        page = self._page
        if page is None:
            return
        photos = []
        for line in page.pictures:
            image = self._desk.pictures.picture(line.sha256, line.suffix, _LONGEST)
            missing = self._desk.pictures.problem(line.sha256, _LONGEST) is not None
            photos.append(
                StripPhoto(line.picture_id, line.caption or line.name, line.moment, image, missing)
            )
        self.strip.show_photos(photos)

    def _pick(self) -> None:
        paths, _kind = QFileDialog.getOpenFileNames(
            self, "Add photos of the firing", "", PICTURE_FILES
        )
        if paths:
            self.take_in([Path(path) for path in paths])

    def _paste(self, image: QImage) -> None:
        pasted = named_png(image)
        if pasted is None:
            self._desk.notices.warn("What was pasted holds no picture that can be read.")
            return
        self.take_in([pasted])

    def _set_moment(self, picture_id: int, moment: str) -> None:
        self._desk.edits.try_run(
            "Say what a photo shows",
            partial(change_picture, picture_id=picture_id, moment=moment),
        )

    def _remove(self, picture_id: int) -> None:
        self._desk.edits.try_run(
            "Take a photo off the firing",
            partial(remove_picture, picture_id=picture_id),
        )

    def _open(self, picture_id: int) -> None:
        page = self._page
        line = (
            next((p for p in page.pictures if p.picture_id == picture_id), None) if page else None
        )
        if line is None:
            return
        from PySide6.QtCore import QUrl
        from PySide6.QtGui import QDesktopServices

        from studiolog.photos.store import PhotoStore

        path = PhotoStore(self._desk.journal.photo_folder).path(line.sha256, line.suffix)
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(path)))
