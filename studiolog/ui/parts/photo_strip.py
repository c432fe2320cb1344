"""A strip of a piece's photos: small pictures with captions, and a place to add more."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QContextMenuEvent,
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QImage,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QMenu, QSizePolicy, QWidget

from studiolog.desktop.handed_over import local_paths
from studiolog.desktop.tokens import CAPTION, FOCUS_LINE, RADIUS_CHIP
from studiolog.ui.parts.drawing import Drawing, colour, elided, pen, write

MOMENTS = {
    "making": "making",
    "bone_dry": "bone dry",
    "bisque": "bisque",
    "glazed": "glazed",
    "fired": "fired",
    "later": "later",
}
"""Moment key to the words for it."""

_TILE_W, _CAPTION_H, _GAP = 88, 20, 10
_HIGH = 0.58  # of a tile's width
_MOST_ROWS = 4
"""More rows than this are scrolled through, so that hundreds of photos don't push the page away."""


@dataclass(frozen=True)
class StripPhoto:
    """One photo. ``image`` None means it is still being read, or ``missing`` from its folder."""

    ident: int
    caption: str
    moment: str = "fired"
    image: QImage | None = None
    missing: bool = False


class PhotoStrip(Drawing):
    """Thumbnails by keyboard: arrows choose, Enter opens, Delete asks to remove.

    Files dropped or pasted are handed on; the menu (right click or Menu key) says what moment a
    photo shows. With ``can_add`` the last tile adds photos.
    """

    photo_chosen = Signal(int)
    photo_opened = Signal(int)
    remove_asked = Signal(int)
    moment_chosen = Signal(int, str)
    add_asked = Signal()
    files_dropped = Signal(list)
    image_pasted = Signal(QImage)

    def __init__(
        self,
        can_add: bool = True,
        parent: QWidget | None = None,
        *,
        whose: str = "piece",
        moments: bool = True,
    ) -> None:
        """``moments`` False is for pictures that show none: the sketches of an idea."""
        super().__init__("Photos", parent)
        self._whose, self._with_moments = whose, moments
        self.setAcceptDrops(True)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self._can_add = can_add
        self._photos: tuple[StripPhoto, ...] = ()
        self._at = 0
        self._first_row = 0
        self.tell()

    def show_photos(self, photos: Sequence[StripPhoto]) -> None:
        """Show these photos in order; the chosen one stays chosen if it is still there."""
        kept = self.chosen()
        self._photos = tuple(photos)
        idents = [photo.ident for photo in self._photos]
        self._at = idents.index(kept) if kept in idents else 0
        self._scroll_to(self._first_row)
        self.tell()

    def show_image(self, ident: int, image: QImage) -> None:
        """One thumbnail has been read; the others stay as they are."""
        self._photos = tuple(
            StripPhoto(p.ident, p.caption, p.moment, image, image.isNull())
            if p.ident == ident
            else p
            for p in self._photos
        )
        self.tell()

    def chosen(self) -> int | None:
        """Which photo is chosen; None on the add tile or when there are none."""
        return self._photos[self._at].ident if self._at < len(self._photos) else None

    def sentence(self) -> str:
        """``3 photos: Rim (fired), Foot (fired), Inside (later). Chosen: Rim.``"""
        if not self._photos:
            return "No photo yet. Drop or paste photos here." if self._can_add else "No photo yet."
        named = ", ".join(self._words(photo) for photo in self._photos)
        count = len(self._photos)
        words = f"{count} photo{'' if count == 1 else 's'}: {named}."
        if self._at < count:
            words += f" Chosen: {self._photos[self._at].caption}."
        elif self._can_add:
            words += " Chosen: add photos."
        return words

    def _words(self, photo: StripPhoto) -> str:
        told = [MOMENTS.get(photo.moment, photo.moment)] if self._with_moments else []
        told += ["file missing"] if photo.missing else []
        return f"{photo.caption} ({', '.join(told)})" if told else photo.caption

    # Places

    def _count(self) -> int:
        return len(self._photos) + (1 if self._can_add else 0)

    def _columns(self, width: float) -> int:
        return max(1, int((width - 2 + _GAP) // (_TILE_W + _GAP)))

    def _tile_size(self, width: float) -> tuple[float, float]:
        """Tiles fill the width, so that the strip ends where the picture over it ends."""
        columns = self._columns(width)
        wide = (width - 2 - _GAP * (columns - 1)) / columns
        return wide, wide * _HIGH

    def tile(self, place: int) -> QRectF:
        """Where a thumbnail is; the add tile comes last."""
        row, column = divmod(place, self._columns(self.wide()))
        row -= self._first_row
        wide, high = self._tile_size(self.wide())
        return QRectF(1 + column * (wide + _GAP), 1 + row * (high + _CAPTION_H + 6), wide, high)

    def _rows(self, width: float) -> int:
        return -(-max(self._count(), 1) // self._columns(width))

    def _in_sight(self) -> range:
        """The places whose rows are shown."""
        columns = self._columns(self.wide())
        first = self._first_row * columns
        return range(first, min(self._count(), first + _MOST_ROWS * columns))

    def _scroll_to(self, row: int) -> bool:
        """Show the rows from this one on; False if they are shown already."""
        row = max(0, min(row, self._rows(self.wide()) - _MOST_ROWS))
        moved, self._first_row = row != self._first_row, row
        self.update()
        return moved

    def _show_chosen_row(self) -> None:
        row = self._at // self._columns(self.wide())
        self._scroll_to(min(max(self._first_row, row - _MOST_ROWS + 1), row))

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Qt: the wheel goes through the rows, and at their end through the page."""
        step = -1 if event.angleDelta().y() > 0 else 1
        if event.angleDelta().y() and self._scroll_to(self._first_row + step):
            event.accept()
        else:
            event.ignore()

    def _place_at(self, at: QPointF) -> int | None:
        for place in self._in_sight():
            if self.tile(place).adjusted(0, 0, 0, _CAPTION_H).contains(at):
                return place
        return None

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        wide = width / self.grown()
        rows = self._rows(wide)
        more = _CAPTION_H if rows > _MOST_ROWS else 0
        row_high = self._tile_size(wide)[1] + _CAPTION_H + 6
        return round((min(rows, _MOST_ROWS) * row_high + more + 2) * self.grown())

    def sizeHint(self) -> QSize:
        wide = self.asked(5 * (_TILE_W + _GAP), 0).width()
        return QSize(wide, self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        narrow = self.asked(_TILE_W + 2, 0).width()
        return QSize(narrow, self.heightForWidth(max(self.width(), narrow)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._show_chosen_row()
        self.updateGeometry()

    # Input

    def _choose(self, place: int) -> None:
        place = min(max(place, 0), max(self._count() - 1, 0))
        if place == self._at:
            return
        self._at = place
        self._show_chosen_row()
        self.tell()
        chosen = self.chosen()
        if chosen is not None:
            self.photo_chosen.emit(chosen)

    def _open(self) -> None:
        chosen = self.chosen()
        if chosen is not None:
            self.photo_opened.emit(chosen)
        elif self._can_add:
            self.add_asked.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Paste) and self._can_add:
            self.paste()
            return
        columns = self._columns(self.wide())
        match event.key():
            case Qt.Key.Key_Left:
                self._choose(self._at - 1)
            case Qt.Key.Key_Right:
                self._choose(self._at + 1)
            case Qt.Key.Key_Up if self._at >= columns:
                self._choose(self._at - columns)
            case Qt.Key.Key_Down if self._at + columns < self._count():
                self._choose(self._at + columns)
            case Qt.Key.Key_Home:
                self._choose(0)
            case Qt.Key.Key_End:
                self._choose(self._count() - 1)
            case Qt.Key.Key_Return | Qt.Key.Key_Enter | Qt.Key.Key_Space:
                self._open()
            case Qt.Key.Key_Delete if self.chosen() is not None:
                self.remove_asked.emit(self.chosen())
            case _:
                super().keyPressEvent(event)

    def paste(self) -> None:
        """Take files or a picture from the clipboard."""
        held = QGuiApplication.clipboard().mimeData()
        paths = local_paths(held)
        if paths:
            self.files_dropped.emit(paths)
        elif held.hasImage():
            self.image_pasted.emit(QGuiApplication.clipboard().image())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        place = self._place_at(self.spot(event.position()))
        if place is None:
            super().mousePressEvent(event)
            return
        self._choose(place)
        if place >= len(self._photos) and event.button() == Qt.MouseButton.LeftButton:
            self.add_asked.emit()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        place = self._place_at(self.spot(event.position()))
        if place is not None and place < len(self._photos):
            self._open()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        if event.reason() == QContextMenuEvent.Reason.Keyboard:
            place: int | None = self._at
            at = self.mapToGlobal((self.tile(self._at).center() * self.grown()).toPoint())
        else:
            place = self._place_at(self.spot(QPointF(event.pos())))
            at = event.globalPos()
        if place is not None and place < len(self._photos):
            self._choose(place)
            self._ask_moment(at)

    def moment_menu(self) -> QMenu:
        """What the chosen photo shows, and removing it."""
        menu = QMenu(self)
        menu.setAccessibleName("What the photo shows")
        chosen = self._photos[self._at]
        for key, words in MOMENTS.items() if self._with_moments else ():
            action = menu.addAction(f"Shows: {words}")
            action.setCheckable(True)
            action.setChecked(key == chosen.moment)
            action.triggered.connect(
                lambda _checked=False, key=key: self.moment_chosen.emit(chosen.ident, key)
            )
        if self._with_moments:
            menu.addSeparator()
        menu.addAction("Open").triggered.connect(lambda: self.photo_opened.emit(chosen.ident))
        menu.addAction(f"Remove from this {self._whose}").triggered.connect(
            lambda: self.remove_asked.emit(chosen.ident)
        )
        return menu

    def _ask_moment(self, at: QPoint) -> None:
        menu = self.moment_menu()
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(at)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if self._can_add and event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        paths = local_paths(event.mimeData())
        if paths:
            event.acceptProposedAction()
            self.files_dropped.emit(paths)

    # Paint

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        seen = QRectF(
            self.spot(QPointF(event.rect().topLeft())),
            self.spot(QPointF(event.rect().bottomRight())),
        )
        shown = self._in_sight()
        if len(shown) < self._count():
            last = min(shown.stop, len(self._photos))
            words = f"{shown.start + 1} to {last} of {len(self._photos)}: arrows or the wheel go on"
            at = QPointF(1, self.tall() - _CAPTION_H / 2 - 2)
            write(painter, at, elided(words, CAPTION, self.wide()), "ink3", CAPTION)
        for place in range(shown.start, min(shown.stop, len(self._photos))):
            photo, tile = self._photos[place], self.tile(place)
            if tile.adjusted(0, 0, 0, _CAPTION_H).intersects(seen):  # there may be hundreds
                self._paint_photo(painter, tile, photo)
        if self._can_add and len(self._photos) in shown:
            self._paint_add(painter, self.tile(len(self._photos)))
        if self.hasFocus() and self._at in shown:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen("cobalt", FOCUS_LINE))
            painter.drawRoundedRect(self.tile(self._at), RADIUS_CHIP, RADIUS_CHIP)
        painter.end()

    def _paint_photo(self, painter: QPainter, box: QRectF, photo: StripPhoto) -> None:
        frame = QPainterPath()
        frame.addRoundedRect(box, RADIUS_CHIP, RADIUS_CHIP)
        painter.fillPath(frame, QBrush(colour("sunk")))
        if photo.image is not None and not photo.image.isNull():
            painter.save()
            painter.setClipPath(frame)
            ratio = self.ratio()
            fitted = photo.image.scaled(
                QSize(round(box.width() * ratio), round(box.height() * ratio)),
                Qt.AspectRatioMode.KeepAspectRatioByExpanding,
                Qt.TransformationMode.SmoothTransformation,
            )
            left = (fitted.width() - box.width() * ratio) / 2
            top = (fitted.height() - box.height() * ratio) / 2
            part = QRectF(left, top, box.width() * ratio, box.height() * ratio)
            painter.drawImage(box, fitted, part)
            painter.restore()
        elif photo.missing:
            painter.setPen(pen("rust", 1.25, (4, 3)))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(box.adjusted(1, 1, -1, -1), RADIUS_CHIP, RADIUS_CHIP)
            write(painter, box.center(), "file missing", "rust", CAPTION, 400, "centre")
        painter.setPen(pen("line2", 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(frame)
        caption = elided(photo.caption, CAPTION, box.width())
        write(painter, QPointF(box.left(), box.bottom() + 11), caption, "ink2", CAPTION)

    def _paint_add(self, painter: QPainter, box: QRectF) -> None:
        painter.setPen(pen("line2", 1.25, (4, 3)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), RADIUS_CHIP, RADIUS_CHIP)
        painter.setPen(pen("ink2", 1.5))
        middle = box.center()
        painter.drawLine(middle - QPointF(7, 0), middle + QPointF(7, 0))
        painter.drawLine(middle - QPointF(0, 7), middle + QPointF(0, 7))
        write(painter, QPointF(box.left(), box.bottom() + 11), "Drop or paste", "ink3", CAPTION)
