"""Before and after in one frame, and the strip of all photos of the piece."""

from dataclasses import dataclass, replace
from functools import partial

from PySide6.QtCore import QDir, QRect, Qt, QTimer
from PySide6.QtGui import QImage, QPainter, QResizeEvent
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.words import MOMENTS
from studiolog.desktop import theme
from studiolog.desktop.handed_over import PICTURE_FILES
from studiolog.journal.photos import PictureLine, change_picture, remove_picture
from studiolog.journal.piece_page import PiecePage
from studiolog.photos import PhotoStore
from studiolog.ui.parts.before_after import BeforeAfter, Picture, PictureState
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import EditableText
from studiolog.ui.parts.photo_strip import PhotoStrip, StripPhoto
from studiolog.ui.parts.section import Caption, link_button
from studiolog.ui.pieces.looks import LARGE_PX, SMALL_PX, shape_of_form, short_day
from studiolog.ui.pieces.page_edits import PageEdits
from studiolog.ui.pieces.photo_intake import PhotoIntake

_BEFORE = ("making", "bone_dry", "bisque", "glazed")
# The stage whose size the piece has at each moment, nearest first.
_SIZED_AT = {
    "making": ("wet", "leather_hard"),
    "bone_dry": ("bone_dry", "bisque", "leather_hard", "wet"),
    "bisque": ("bisque", "bone_dry"),
    "glazed": ("bisque", "bone_dry"),
    "fired": ("fired",),
    "later": ("fired",),
}


@dataclass
class _Side:
    """Which picture a side of the frame shows, and which the potter chose for it."""

    line: PictureLine | None = None
    chosen_id: int | None = None


class PhotosPanel(QWidget):
    """The frame, the strip, and what the chosen photo shows."""

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._edits = edits
        self._sides = {"before": _Side(), "after": _Side()}
        self._shown_piece: int | None = None
        self._mats: dict[tuple[str, float], QImage] = {}
        self._resized = QTimer(self)
        self._resized.setSingleShot(True)
        self._resized.setInterval(60)
        self.intake = PhotoIntake(edits, self)
        self._build()
        self._connect()

    def _build(self) -> None:
        self.frame = BeforeAfter()
        self.strip = PhotoStrip()
        self.strip.setObjectName("photos")
        self.caption = EditableText("Caption", "", "Add a caption", "secondary")
        self.moment = PickOne("What the photo shows")
        self.moment.set_choices([Choice(key, words) for key, words in MOMENTS.items()])
        self.moment.setMinimumWidth(theme.current().px(128))
        self.off = link_button("Take off")
        self.off.setToolTip("Take the photo off this piece; the original stays in the journal")
        self.name = Caption("")
        self._busy = Caption("Taking photos in…", "cobalt")
        self._busy.hide()
        self._of_photo = QWidget()
        row = QHBoxLayout(self._of_photo)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        row.addWidget(self.caption, 1)
        row.addWidget(self.moment)
        row.addWidget(self.off)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        rows.addWidget(self.frame, 1)
        rows.addWidget(self.strip)
        rows.addWidget(self._busy)
        rows.addWidget(self._of_photo)
        # A line of its own: the names phones give are long, and the column is not.
        rows.addWidget(self.name)

    def _connect(self) -> None:
        self.frame.files_dropped.connect(self.intake.take_files)
        self.strip.files_dropped.connect(self.intake.take_files)
        self.strip.image_pasted.connect(self.intake.take_image)
        self.strip.add_asked.connect(self.pick_files)
        self.strip.photo_chosen.connect(lambda _id: self._show_chosen())
        self.strip.photo_opened.connect(self.lay_in_frame)
        self.strip.remove_asked.connect(self.take_off)
        self.strip.moment_chosen.connect(self._say_moment)
        self.frame.find_asked.connect(self._find)
        self.caption.edited.connect(self._say_caption)
        self.moment.picked.connect(self._pick_moment)
        self.off.clicked.connect(self._take_off_chosen)
        self._resized.timeout.connect(self._fit_frame)
        self.intake.busy.connect(self._busy.setVisible)
        self.intake.put_back.connect(lambda _sha: self._fill())
        pictures = self._edits.desk.pictures
        pictures.ready.connect(self._arrive)
        pictures.missing.connect(lambda sha, longest, _why: self._arrive(sha, longest))

    # What is shown

    def show_page(self, page: PiecePage) -> None:
        """Show the pictures of a piece; a pair chosen by the potter stays while it is shown."""
        if page.piece_id != self._shown_piece:
            self._shown_piece = page.piece_id
            self._sides = {"before": _Side(), "after": _Side()}
        by_id = {line.picture_id: line for line in page.pictures}
        for name, proposed in (("before", page.before), ("after", page.after)):
            side = self._sides[name]
            line = by_id.get(side.chosen_id or 0)
            if line is None or (line.moment in _BEFORE) != (name == "before"):
                side.chosen_id = None
                line = proposed
            side.line = line
        self._fill()

    def _page(self) -> PiecePage:
        assert self._edits.page is not None
        return self._edits.page

    def _fill(self) -> None:
        page = self._edits.page
        if page is None:
            return
        self.frame.show_pictures(
            self._picture(page, "before"),
            self._picture(page, "after"),
            self._outline(page),
            shape_of_form(page.form),
        )
        self.strip.show_photos([self._strip_photo(line) for line in page.pictures])
        self._show_chosen()

    def _fit_frame(self) -> None:
        """The frame has another shape: lay the pictures into it anew, the view as it was."""
        if self._edits.page is not None:
            share = self.frame.divider()
            self._fill()
            self.frame.set_divider(share)

    def _strip_photo(self, line: PictureLine) -> StripPhoto:
        pictures = self._edits.desk.pictures
        words = line.caption or MOMENTS[line.moment].capitalize()
        if not line.caption and line.taken_at is not None:
            words = f"{words}, {short_day(line.taken_at)}"
        return StripPhoto(
            line.picture_id,
            words,
            line.moment,
            pictures.picture(line.sha256, line.suffix, SMALL_PX),
            pictures.problem(line.sha256, SMALL_PX) is not None,
        )

    def _picture(self, page: PiecePage, name: str) -> Picture:
        line = self._sides[name].line
        if line is None:
            return Picture("raw glaze" if name == "before" else "fired")
        pictures = self._edits.desk.pictures
        image = pictures.picture(line.sha256, line.suffix, LARGE_PX)
        # Beside a half that has no picture, the other is shown whole in its own half.
        lone = any(
            side.line is None or pictures.problem(side.line.sha256, LARGE_PX) is not None
            for side in self._sides.values()
        )
        store = PhotoStore(self._edits.desk.journal.photo_folder)
        shown = Picture(
            MOMENTS[line.moment],
            short_day(line.taken_at) if line.taken_at is not None else "",
            PictureState.LOADING,
            height_mm=self._height_at(page, line.moment),
            last_path=str(store.path(line.sha256, line.suffix)),
        )
        if image is None:
            if pictures.problem(line.sha256, LARGE_PX) is not None:
                return replace(shown, state=PictureState.MISSING)
            return shown
        mm_per_px, foot = _mm_per_px(line, image), _foot(line)
        if not lone:
            image, foot = self._matted(line, image, foot)
        return replace(shown, state=PictureState.SHOWN, image=image, mm_per_px=mm_per_px, foot=foot)

    def _matted(
        self, line: PictureLine, image: QImage, foot: tuple[float, float]
    ) -> tuple[QImage, tuple[float, float]]:
        """A picture taller than the frame, widened so that rim and foot are both seen."""
        aspect = self.frame.width() / max(self.frame.height(), 1)
        key = (line.sha256, round(aspect, 2))
        wide = round(image.height() * aspect)
        if image.width() >= wide:
            return image, foot
        if key not in self._mats:
            if len(self._mats) > 3:
                self._mats.clear()
            self._mats[key] = widened(image, wide)
        left = (wide - image.width()) / 2
        return self._mats[key], ((left + foot[0] * image.width()) / wide, foot[1])

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._resized.start()

    @staticmethod
    def _height_at(page: PiecePage, moment: str) -> float | None:
        for stage in _SIZED_AT[moment]:
            height = page.size(stage).height_mm
            if height is not None:
                return height
        return None

    def _outline(self, page: PiecePage) -> list[tuple[float, float]]:
        """The form's profile at the size the piece had before firing."""
        line = self._sides["before"].line
        if line is None or page.form is None or page.form.profile is None:
            return []
        outside = page.form.profile.outside
        tall = max((height for _, height in outside), default=0.0)
        wide = 2 * max((radius for radius, _ in outside), default=0.0)
        if tall <= 0 or wide <= 0:
            return []
        height, across = None, None
        for stage in _SIZED_AT[line.moment]:
            size = page.size(stage)
            height = height or size.height_mm
            across = across or size.across_mm
        fired = page.size("fired")
        if height is None:
            return []
        up = height / tall
        # The widest place is not always the rim: what shrank the rim shrank the whole.
        out = (
            up
            if across is None or not fired.across_mm
            else (across / fired.across_mm * (fired.height_mm or tall) / tall)
        )
        half = [(radius * out, level * up) for radius, level in outside]
        return [(-radius, level) for radius, level in half] + half[::-1]

    def _arrive(self, sha256: str, longest: int) -> None:
        page = self._edits.page
        if page is None or sha256 not in {line.sha256 for line in page.pictures}:
            return
        if longest == SMALL_PX:
            self.strip.show_photos([self._strip_photo(line) for line in page.pictures])
        elif longest == LARGE_PX and any(
            side.line is not None and side.line.sha256 == sha256 for side in self._sides.values()
        ):
            self._fill()

    def chosen(self) -> PictureLine | None:
        """The photo chosen in the strip."""
        page, ident = self._edits.page, self.strip.chosen()
        if page is None:
            return None
        return next((line for line in page.pictures if line.picture_id == ident), None)

    def _show_chosen(self) -> None:
        line = self.chosen()
        self._of_photo.setVisible(line is not None)
        if line is None:
            return
        self.caption.set_text(line.caption)
        self.moment.choose(line.moment)
        self.name.setText(
            line.name if len(line.name) <= 24 else f"{line.name[:10]}…{line.name[-10:]}"
        )
        self.name.setToolTip(line.name)

    def lay_in_frame(self, picture_id: int) -> None:
        """Show a photo large: on the side its moment belongs to."""
        page = self._page()
        line = next((one for one in page.pictures if one.picture_id == picture_id), None)
        if line is None:
            return
        side = self._sides["before" if line.moment in _BEFORE else "after"]
        side.line, side.chosen_id = line, line.picture_id
        self._fill()
        self.frame.set_divider(0.85 if line.moment in _BEFORE else 0.15)

    # What is changed

    def pick_files(self) -> None:
        """Choose picture files to add."""
        paths, _ = QFileDialog.getOpenFileNames(self, "Add photos", "", PICTURE_FILES)
        self.intake.take_files(paths)

    def _find(self, name: str) -> None:
        line = self._sides[name].line
        if line is None:
            self.pick_files()
            return
        path, _ = QFileDialog.getOpenFileName(
            self, f"Find {line.name}", QDir.home().filePath(line.name), PICTURE_FILES
        )
        if path:
            self.intake.find_missing(line.sha256, line.suffix, path)

    def _change(self, what: str, line: PictureLine, **fields: object) -> bool:
        return self._edits.run(
            what, lambda session: change_picture(session, line.picture_id, line.version, **fields)
        )

    def _say_caption(self, words: str) -> None:
        line = self.chosen()
        if line is not None and not self._change("Caption a photo of", line, caption=words):
            self._show_chosen()

    def _pick_moment(self, moment: object) -> None:
        line = self.chosen()
        if (
            line is not None
            and moment != line.moment
            and not self._change("Date a photo of", line, moment=moment)
        ):
            self._show_chosen()

    def _say_moment(self, picture_id: int, moment: str) -> None:
        line = next((one for one in self._page().pictures if one.picture_id == picture_id), None)
        if line is not None and line.moment != moment:
            self._change("Date a photo of", line, moment=moment)

    def _take_off_chosen(self) -> None:
        line = self.chosen()
        if line is not None:
            self.take_off(line.picture_id)

    def take_off(self, picture_id: int) -> None:
        """Take a photo off the piece; undo puts it back."""
        if self._edits.run("Take a photo off", partial(_remove, picture_id)):
            self._edits.desk.notices.say(
                "The photo is off this piece; its original stays.",
                "Undo",
                self._edits.desk.edits.undo,
            )
            self.strip.setFocus(Qt.FocusReason.OtherFocusReason)


def _remove(picture_id: int, session: object) -> None:
    remove_picture(session, picture_id)  # type: ignore[arg-type]


def widened(image: QImage, wide: int) -> QImage:
    """The image in the middle of a wider one; its edges run out into soft mats at both sides."""
    mat = QImage(wide, image.height(), QImage.Format.Format_RGB32)
    left = (wide - image.width()) // 2
    painter = QPainter(mat)
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    for at, edge in ((0, 0), (left + image.width() - 1, image.width() - 8)):
        strip = image.copy(edge, 0, 8, image.height())
        soft = strip.scaled(
            1, 12, Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation
        )
        painter.drawImage(QRect(at, 0, left + 2, image.height()), soft)
    painter.drawImage(left, 0, image)
    painter.end()
    return mat


def _mm_per_px(line: PictureLine, image: QImage) -> float | None:
    """Millimetres per pixel of the picture as shown, which is smaller than the original."""
    if not line.px_per_mm or image.width() <= 0:
        return None
    return line.width / image.width() / line.px_per_mm


def _foot(line: PictureLine) -> tuple[float, float]:
    if line.foot_x is None or line.foot_y is None:
        return (0.5, 0.9)
    return (line.foot_x / line.width, line.foot_y / line.height)
