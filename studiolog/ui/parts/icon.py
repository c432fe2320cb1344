"""Line icons of our own drawing, coloured by a token and sharp at any pixel ratio."""

from functools import lru_cache

from PySide6.QtCore import QByteArray, QObject, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPaintEvent, QPixmap
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QAbstractButton, QToolButton, QWidget

from studiolog.desktop import theme
from studiolog.shipped import resource

FAULT_ICONS = (
    "crazing",
    "crawling",
    "pinhole",
    "running",
    "blister",
    "shivering",
    "dunting",
    "bloating",
    "warping",
    "crack",
    "dry",
    "speck",
    "colour_off",
)


@lru_cache(maxsize=256)
def _renderer(name: str, colour: str) -> QSvgRenderer:
    drawn = resource("icons", f"{name}.svg").read_text(encoding="utf-8")
    return QSvgRenderer(QByteArray(drawn.replace("currentColor", colour).encode()))


def paint_icon(painter: QPainter, rect: QRectF, name: str, colour: QColor | str) -> None:
    """Draw an icon into a rectangle, for delegates and custom paint."""
    _renderer(name, QColor(colour).name()).render(painter, rect)


@lru_cache(maxsize=512)
def _pixmap(name: str, colour: str, size: int, ratio: float) -> QPixmap:
    pixmap = QPixmap(round(size * ratio), round(size * ratio))
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _renderer(name, colour).render(painter)
    painter.end()
    pixmap.setDevicePixelRatio(ratio)
    return pixmap


def icon_pixmap(name: str, color_token: str = "ink", size: int = 20, ratio: float = 1) -> QPixmap:
    """The icon as a pixmap of ``size`` logical pixels in the token's present colour."""
    return _pixmap(name, theme.current().color(color_token).name(), size, ratio)


def icon(name: str, color_token: str = "ink", size: int = 20) -> QIcon:
    """The icon for buttons and menus, drawn once plain and once for dense screens."""
    drawn = QIcon()
    for ratio in (1.0, 2.0):
        drawn.addPixmap(icon_pixmap(name, color_token, size, ratio))
    return drawn


def window_icon() -> QIcon:
    """The cup in half section, for the window and the task bar."""
    drawn = QIcon()
    for size in (16, 24, 32, 48, 64, 128):
        drawn.addPixmap(icon_pixmap("logo", "ink", size))
    return drawn


class IconLabel(QWidget):
    """An icon that stands beside text; it follows the theme and takes no focus."""

    def __init__(
        self,
        name: str,
        color_token: str = "ink",
        size: int = 16,
        says: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._name, self._token, self._size = name, color_token, size
        self._grow()
        self.setAccessibleName(says)
        if says:
            self.setToolTip(says)
        theme.current().changed.connect(self._grow)

    def _grow(self) -> None:
        """As large as the text beside it; in the theme's present colour."""
        size = theme.current().px(self._size)
        self.setFixedSize(size, size)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_icon(painter, QRectF(self.rect()), self._name, theme.current().color(self._token))


class _IconKeeper(QObject):
    """Lives as long as its button and gives it its icon anew when the theme changes."""

    def __init__(self, button: QAbstractButton, name: str, color_token: str, size: int) -> None:
        super().__init__(button)
        self._button, self._name = button, name
        self._token, self._size = color_token, size
        self._redraw()
        theme.current().changed.connect(self._redraw)

    def _redraw(self) -> None:
        """As large as the text beside it; in the theme's present colour."""
        size = theme.current().px(self._size)
        self._button.setIconSize(QSize(size, size))
        self._button.setIcon(icon(self._name, self._token, size))


def give_icon(button: QAbstractButton, name: str, color_token: str = "ink", size: int = 16) -> None:
    """Give a button an icon that follows the theme and grows with the text."""
    _IconKeeper(button, name, color_token, size)


class IconButton(QToolButton):
    """A button with only an icon; ``says`` is its accessible name and tool-tip."""

    def __init__(
        self, name: str, says: str, color_token: str = "ink2", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setAccessibleName(says)
        self.setToolTip(says)
        give_icon(self, name, color_token)
