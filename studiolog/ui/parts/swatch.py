"""Swatches of glazes and clays, and of a glaze combination: the cut wall flattened to strips."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QIcon, QPainter, QPaintEvent, QPen, QPixmap
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION, RADIUS_CHIP
from studiolog.ui.parts.pattern import clay_brush, glaze_brush


@dataclass(frozen=True)
class GlazeLook:
    """How a glaze is shown: its name, the potter's ``#RRGGBB``, and its pattern."""

    name: str
    colour: str
    pattern: str | int = 0


@dataclass(frozen=True)
class ClayLook:
    """How a clay is shown: its name, the potter's ``#RRGGBB``, and its specks."""

    name: str
    colour: str
    specks: str = "none"


def _fill(painter: QPainter, box: QRectF, brush: QBrush, radius: float) -> None:
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setBrushOrigin(box.topLeft())
    painter.setBrush(brush)
    painter.setPen(QPen(theme.current().color("ink"), 1))
    painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), radius, radius)
    painter.restore()


def paint_glaze_swatch(
    painter: QPainter, rect: QRectF, glaze: GlazeLook, order: int | None = None
) -> None:
    """A glaze's swatch, with its place in the layer order on a plain round patch if given."""
    ratio = painter.device().devicePixelRatioF()
    _fill(painter, rect, glaze_brush(glaze.colour, glaze.pattern, ratio), RADIUS_CHIP)
    if order is None:
        return
    look = theme.current()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    radius = min(rect.height() / 2 - 1.5, look.px(8))
    painter.setPen(QPen(look.color("ink"), 1))
    painter.setBrush(look.color("sheet"))
    painter.drawEllipse(rect.center(), radius, radius)
    painter.setPen(look.color("ink"))
    painter.setFont(look.font(CAPTION, 600))
    painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, str(order))
    painter.restore()


def paint_clay_swatch(painter: QPainter, rect: QRectF, clay: ClayLook) -> None:
    ratio = painter.device().devicePixelRatioF()
    _fill(painter, rect, clay_brush(clay.colour, clay.specks, ratio), RADIUS_CHIP)


def paint_combination(
    painter: QPainter, rect: QRectF, layers: Sequence[GlazeLook], clay: ClayLook | None = None
) -> None:
    """The cut wall laid flat: clay at the bottom, layers upward in the order they went on.

    ``layers`` counts from the clay outward. Without a clay the lowest strip is plain earth. One
    layer leaves the top strip empty, so that heights compare from row to row.
    """
    look = theme.current()
    strips = max(3, len(layers) + 1)
    high = (rect.height() - 1) / strips
    ratio = painter.device().devicePixelRatioF()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(QPen(look.color("ink"), 1))

    def strip(place: int, brush: QBrush) -> None:
        # Neighbours share their line; the lowest stays inside the rectangle.
        floor = rect.bottom() - 1
        top = round(max(rect.top(), floor - high * (place + 1)))
        bottom = round(floor - high * place)
        box = QRectF(rect.left(), top, rect.width() - 1, bottom - top)
        painter.setBrushOrigin(box.topLeft())
        painter.setBrush(brush)
        painter.drawRect(box)

    earth = QBrush(look.color("line2"))
    strip(0, clay_brush(clay.colour, clay.specks, ratio) if clay else earth)
    for place, glaze in enumerate(layers, start=1):
        strip(place, glaze_brush(glaze.colour, glaze.pattern, ratio))
    painter.restore()


def describe_combination(layers: Sequence[GlazeLook], clay: ClayLook | None = None) -> str:
    """The sentence that goes with a combination, outermost first."""
    said = " over ".join(glaze.name for glaze in reversed(layers)) or "No glaze"
    return f"{said}, on {clay.name}" if clay else said


def swatch_icon(look: GlazeLook | ClayLook, size: int = 16) -> QIcon:
    """A swatch for lists and menus."""
    drawn = QIcon()
    for ratio in (1, 2):
        pixmap = QPixmap(size * ratio, size * ratio)
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        if isinstance(look, GlazeLook):
            paint_glaze_swatch(painter, QRectF(0, 0, size, size), look)
        else:
            paint_clay_swatch(painter, QRectF(0, 0, size, size), look)
        painter.end()
        drawn.addPixmap(pixmap)
    return drawn


class _Swatch(QWidget):
    def __init__(self, size: QSize, says: str, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setFixedSize(size)
        self._say(says)
        theme.current().changed.connect(self.update)

    def _say(self, says: str) -> None:
        self.setAccessibleName(says)
        self.setToolTip(says)


class GlazeSwatch(_Swatch):
    """A glaze, with its layer number if it has one."""

    def __init__(
        self,
        glaze: GlazeLook,
        order: int | None = None,
        size: QSize | None = None,
        parent: QWidget | None = None,
    ) -> None:
        said = glaze.name if order is None else f"Layer {order}: {glaze.name}"
        super().__init__(size or QSize(28, 20), said, parent)
        self._glaze, self._order = glaze, order

    def set_glaze(self, glaze: GlazeLook, order: int | None = None) -> None:
        self._glaze, self._order = glaze, order
        self._say(glaze.name if order is None else f"Layer {order}: {glaze.name}")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        paint_glaze_swatch(QPainter(self), QRectF(self.rect()), self._glaze, self._order)


class ClaySwatch(_Swatch):
    """A clay with its specks."""

    def __init__(
        self, clay: ClayLook, size: QSize | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(size or QSize(16, 16), clay.name, parent)
        self._clay = clay

    def set_clay(self, clay: ClayLook) -> None:
        self._clay = clay
        self._say(clay.name)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        paint_clay_swatch(QPainter(self), QRectF(self.rect()), self._clay)


class CombinationSwatch(_Swatch):
    """A glaze combination on its clay: the cut wall laid flat."""

    def __init__(
        self,
        layers: Sequence[GlazeLook],
        clay: ClayLook | None = None,
        size: QSize | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(size or QSize(45, 31), describe_combination(layers, clay), parent)
        self._layers, self._clay = tuple(layers), clay

    def paintEvent(self, event: QPaintEvent) -> None:
        paint_combination(QPainter(self), QRectF(self.rect()), self._layers, self._clay)
