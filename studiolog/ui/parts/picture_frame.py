"""One picture, whole, in a frame that says what is wanting where there is none."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QDragEnterEvent, QDropEvent, QImage, QMouseEvent, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop.handed_over import local_paths
from studiolog.desktop.tokens import RADIUS_CARD, SECONDARY
from studiolog.ui.parts.drawing import Drawing, colour, pen, wrapped, write

_HIGH, _EMPTY = 300, 120  # in units of a drawing


class PictureFrame(Drawing):
    """``files_dropped`` carries paths, ``opened`` fires on a double click on a picture."""

    files_dropped = Signal(list)
    opened = Signal()

    def __init__(self, name: str, nothing: str, parent: QWidget | None = None) -> None:
        super().__init__(name, parent)
        self.setAcceptDrops(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._nothing = nothing
        self._image: QImage | None = None
        self._words = nothing
        self._shows = False
        self.tell()

    def show_picture(self, image: QImage | None, caption: str, missing: bool = False) -> None:
        """Show a picture under its caption; None while it is read, or because it is missing."""
        self._shows = True
        self._image = image if image is not None and not image.isNull() else None
        self._words = f"{caption}: its file is missing" if missing else caption
        if self._image is None and not missing:
            self._words = f"{caption}: being read"
        self.tell()

    def show_nothing(self) -> None:
        """There is no picture."""
        self._image, self._words, self._shows = None, self._nothing, False
        self.tell()

    def sentence(self) -> str:
        return self._words

    def sizeHint(self) -> QSize:
        return self.asked(360, _HIGH if self._shows else _EMPTY)

    def minimumSizeHint(self) -> QSize:
        return self.asked(160, _HIGH if self._shows else _EMPTY)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if self._image is not None:
            self.opened.emit()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        paths = local_paths(event.mimeData())
        if paths:
            event.acceptProposedAction()
            self.files_dropped.emit(paths)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        room = self.frame().adjusted(0.5, 0.5, -0.5, -0.5)
        if self._image is not None:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QBrush(colour("sunk")))
            painter.drawRoundedRect(room, RADIUS_CARD, RADIUS_CARD)
            grow = min(room.width() / self._image.width(), room.height() / self._image.height())
            box = QRectF(0, 0, self._image.width() * grow, self._image.height() * grow)
            box.moveCenter(room.center())
            painter.setRenderHint(painter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(box, self._image)
        else:
            painter.setPen(pen("line2", 1.5, (5, 4)))
            painter.setBrush(QBrush(colour("sheet")))
            painter.drawRoundedRect(room.adjusted(1, 1, -1, -1), RADIUS_CARD, RADIUS_CARD)
            lines = wrapped(self._words, SECONDARY, room.width() - 48)
            y = room.center().y() - 9 * (len(lines) - 1)
            for line in lines:
                write(
                    painter, QPointF(room.center().x(), y), line, "ink2", SECONDARY, 400, "centre"
                )
                y += 18
        painter.end()
