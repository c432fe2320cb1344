"""The photos of the sheet, large, in the order they were taken, and the place to drop more."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QDragEnterEvent,
    QDropEvent,
    QFocusEvent,
    QFontMetricsF,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop.desk import Desk
from studiolog.desktop.handed_over import local_paths
from studiolog.desktop.tokens import CAPTION, RADIUS_CARD, RADIUS_CHIP, SECONDARY
from studiolog.ui.parts.drawing import (
    Drawing,
    colour,
    elided,
    font,
    paper_patch,
    pen,
    wrapped,
    write,
)
from studiolog.ui.parts.half_section import FormShape, paint_half_section

_GAP, _DROP_HIGH = 8.0, 60.0
_LEAST_HIGH = 84.0
"""A photo is never squeezed lower than this: of very many, those around the chosen are shown."""
_LONGEST = 480


@dataclass(frozen=True)
class ColumnPhoto:
    """A photo as it is shown: what it shows and when, and whether it is new on this sheet."""

    sha256: str
    suffix: str
    name: str
    words: str
    day: str
    new: bool


class PhotoColumn(Drawing):
    """Up and Down choose, M says what it shows, Delete takes a new one off, P picks files.

    ``moment_turned`` and ``removed`` carry the hash; ``pick_asked`` wants the file dialog;
    ``files_dropped`` carries paths.
    """

    moment_turned = Signal(str)
    removed = Signal(str)
    pick_asked = Signal()
    files_dropped = Signal(list)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Photos", parent)
        self._desk = desk
        self._photos: tuple[ColumnPhoto, ...] = ()
        self._on_their_way = 0
        self._shape = FormShape()
        self._at = 0
        self.setAcceptDrops(True)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        desk.pictures.ready.connect(self._hear_picture)
        desk.pictures.missing.connect(self._hear_picture)
        self.tell()

    def show_photos(
        self,
        photos: Sequence[ColumnPhoto],
        on_their_way: int,
        shape: FormShape | None = None,
    ) -> None:
        """Show these, and how many are being taken in; ``shape`` stands there while none is."""
        self._shape = shape or FormShape()
        self._photos = tuple(photos)
        self._on_their_way = on_their_way
        self._at = min(self._at, max(len(self._photos) - 1, 0))
        self.tell()

    def photos(self) -> tuple[ColumnPhoto, ...]:
        """The photos shown."""
        return self._photos

    def sentence(self) -> str:
        words = [
            f"{p.name} ({p.words.lower()}{', ' + p.day if p.day else ''})" for p in self._photos
        ]
        said = f"{len(words)} photo{'' if len(words) == 1 else 's'}: {', '.join(words)}."
        if not words:
            said = "No photo yet. Drop or paste photos, or pick them with P."
        if self._on_their_way:
            said += f" {self._on_their_way} more being taken in."
        return said

    def _hear_picture(self, sha256: str, *_: object) -> None:
        if any(photo.sha256 == sha256 for photo in self._photos):
            self.update()

    # Places

    def sizeHint(self) -> QSize:
        return self.asked(288, 440)

    def minimumSizeHint(self) -> QSize:
        return self.asked(220, 240)

    def _room(self) -> QRectF:
        return QRectF(1, 1, self.wide() - 2, self.tall() - 2 - _DROP_HIGH - _GAP)

    def _in_sight(self) -> range:
        """Which photos have room: all, or a screenful with the chosen one in it."""
        count = len(self._photos)
        most = max(2, 2 * int((self._room().height() + _GAP) // (_LEAST_HIGH + _GAP)))
        most -= 1 if self._on_their_way else 0
        if count <= most:
            return range(count)
        first = min(max(self._at - most // 2, 0), count - most)
        return range(first, first + most)

    def _boxes(self) -> list[QRectF]:
        """Where the photos in sight are, and after them the place of those on their way."""
        count = len(self._in_sight()) + (1 if self._on_their_way else 0)
        room = self._room()
        if not count:
            return []
        columns = 1 if count <= 2 else 2
        rows = max(-(-count // columns), 2 if count == 1 else 1)
        wide = (room.width() - _GAP * (columns - 1)) / columns
        high = (room.height() - _GAP * (rows - 1)) / rows
        return [
            QRectF(
                room.left() + (place % columns) * (wide + _GAP),
                room.top() + (place // columns) * (high + _GAP),
                wide,
                high,
            )
            for place in range(count)
        ]

    def _drop_box(self) -> QRectF:
        boxes = self._boxes()
        top = boxes[-1].bottom() + _GAP if boxes else 1.0
        return QRectF(1, top, self.wide() - 2, max(_DROP_HIGH, self.tall() - 1 - top))

    # Input

    def keyPressEvent(self, event: QKeyEvent) -> None:
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        chosen = self._photos[self._at] if self._photos else None
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Left: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_Right: 1}
        if plain and event.key() in step and self._photos:
            last = len(self._photos) - 1
            self._at = max(0, min(last, self._at + step[Qt.Key(event.key())]))
            self.tell()
        elif plain and event.key() == Qt.Key.Key_M and chosen is not None and chosen.new:
            self.moment_turned.emit(chosen.sha256)
        elif plain and event.key() == Qt.Key.Key_Delete and chosen is not None and chosen.new:
            self.removed.emit(chosen.sha256)
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        at = self.spot(event.position())
        for place, box in zip(self._in_sight(), self._boxes(), strict=False):
            if box.contains(at):
                self._at = place
                self.tell()
                return
        if self._drop_box().contains(at):
            self.pick_asked.emit()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        paths = local_paths(event.mimeData())
        if paths:
            event.acceptProposedAction()
            self.files_dropped.emit(paths)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    # Paint

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        boxes = self._boxes()
        seen = self._in_sight()
        for photo, box in zip(self._photos[seen.start : seen.stop], boxes, strict=False):
            self._paint_photo(painter, box, photo)
        if len(seen) < len(self._photos):
            words = f"{seen.start + 1}–{seen.stop} of {len(self._photos)} photos"
            chip = QRectF(boxes[0].left() + 8, boxes[0].top() + 8, 0, 22)
            chip.setWidth(QFontMetricsF(font(CAPTION)).horizontalAdvance(words) + 16)
            paper_patch(painter, chip, "sheet", RADIUS_CHIP)
            write(painter, chip.center(), words, "ink2", CAPTION, 400, "centre")
        if self._on_their_way and boxes:
            paper_patch(painter, boxes[-1], "sunk", RADIUS_CARD)
            count = self._on_their_way
            words = f"taking in {count} photo{'' if count == 1 else 's'}"
            write(painter, boxes[-1].center(), words, "ink2", SECONDARY, 400, "centre")
        self._paint_drop(painter, self._drop_box())
        if self.hasFocus():
            box = boxes[self._at - seen.start] if self._photos else self._drop_box()
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen("cobalt", 2))
            painter.drawRoundedRect(box.adjusted(1, 1, -1, -1), RADIUS_CARD, RADIUS_CARD)
        painter.end()

    def _paint_photo(self, painter: QPainter, box: QRectF, photo: ColumnPhoto) -> None:
        frame = QPainterPath()
        frame.addRoundedRect(box, RADIUS_CARD, RADIUS_CARD)
        painter.fillPath(frame, colour("sunk"))
        image = self._desk.pictures.picture(photo.sha256, photo.suffix, _LONGEST)
        problem = self._desk.pictures.problem(photo.sha256, _LONGEST)
        if image is not None:
            painter.save()
            painter.setClipPath(frame)
            painter.drawImage(box, image, _middle_of(image, box))
            painter.restore()
        elif problem:
            lines = wrapped(problem, SECONDARY, box.width() - 32)[:4]
            for index, line in enumerate(lines):
                at = QPointF(box.left() + 16, box.top() + 24 + 16 * index)
                write(painter, at, line, "rust", SECONDARY)
        painter.setPen(pen("line2", 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(frame)
        face = QFontMetricsF(font(CAPTION, 600))
        words = elided(photo.words, CAPTION, box.width() - 40, 600)
        wide = face.horizontalAdvance(words) + 16
        day_wide = QFontMetricsF(font(CAPTION)).horizontalAdvance(photo.day) + 8
        with_day = bool(photo.day) and wide + day_wide + 16 < box.width()
        chip = QRectF(box.left() + 8, box.bottom() - 30, wide + (day_wide if with_day else 0), 22)
        paper_patch(painter, chip, "sheet", RADIUS_CHIP)
        middle = chip.center().y()
        write(painter, QPointF(chip.left() + 8, middle), words, "ink", CAPTION, 600)
        if with_day:
            write(painter, QPointF(chip.left() + wide, middle), photo.day, "ink2", CAPTION)

    def _paint_drop(self, painter: QPainter, box: QRectF) -> None:
        painter.setPen(pen("line2", 1.25, (4, 3)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), RADIUS_CARD, RADIUS_CARD)
        middle = box.center().y()
        if not self._photos and box.height() > 200:
            middle = box.bottom() - 44
            form = QRectF(box.center().x() - 55, box.top() + 56, 110, box.height() - 200)
            paint_half_section(painter, form, self._shape, "line2")
            at = QPointF(box.center().x(), form.bottom() + 24)
            write(painter, at, "No photo yet", "ink3", SECONDARY, 400, "centre")
        painter.setPen(pen("ink2", 1.5))
        painter.drawLine(QPointF(box.left() + 16, middle), QPointF(box.left() + 28, middle))
        painter.drawLine(QPointF(box.left() + 22, middle - 6), QPointF(box.left() + 22, middle + 6))
        say = "Drop or paste photos" if not self._photos else "Drop or paste more"
        lines = wrapped(f"{say}, or pick them. Sorted by time taken.", CAPTION, box.width() - 104)
        top = middle - 8 * (len(lines) - 1)
        for index, line in enumerate(lines):
            write(painter, QPointF(box.left() + 40, top + 16 * index), line, "ink2", CAPTION)
        cap = QRectF(box.right() - 50, middle - 9, 38, 18)
        painter.setPen(pen("line2", 1))
        painter.drawRoundedRect(cap, RADIUS_CHIP, RADIUS_CHIP)
        write(painter, cap.center(), "Alt P", "ink2", CAPTION, 400, "centre")


def _middle_of(image: QImage, box: QRectF) -> QRectF:
    """The part of a picture that fills a box without stretching it."""
    scale = min(image.width() / box.width(), image.height() / box.height())
    wide, high = box.width() * scale, box.height() * scale
    return QRectF((image.width() - wide) / 2, (image.height() - high) / 2, wide, high)
