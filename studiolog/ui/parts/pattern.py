"""Brushes with patterns: the second cue beside colour, for glazes, clays and stages.

A tile is drawn once into a pixmap and kept by colour, pattern, theme and pixel ratio. Set the
painter's brush origin to the corner of what is filled, so that patterns do not swim on scroll.
"""

from collections.abc import Callable
from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPixmap, QTransform

from studiolog.desktop import theme
from studiolog.desktop.tokens import GLAZE_PATTERNS, LIGHT

STAGES = ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired", "finished", "lost")
STAGE_WORDS = {
    "wet": "Wet",
    "leather_hard": "Leather-hard",
    "bone_dry": "Bone dry",
    "bisque": "Bisque",
    "glazed": "Glazed",
    "fired": "Fired",
    "finished": "Finished",
    "lost": "Lost",
}
_STRENGTH = 0.34  # of white or ink over the glaze colour


def shown_colour(colour: str | QColor, dark: bool) -> QColor:
    """A potter's own colour as it is shown: on a dark ground deep ones are lifted, pale ones
    dimmed, so that both still read."""
    shade = QColor(colour)
    if not shade.isValid():
        shade = QColor("#908574")
    if not dark:
        return shade
    lightness = 0.13 + 0.79 * shade.lightnessF()
    # Qt gives -1 as the hue of a grey, and refuses it back.
    return QColor.fromHslF(max(shade.hslHueF(), 0.0), shade.hslSaturationF(), lightness)


def pattern_name(pattern: str | int) -> str:
    """A glaze pattern by its name, or by the order in which the glaze was made."""
    if isinstance(pattern, int):
        return GLAZE_PATTERNS[pattern % len(GLAZE_PATTERNS)]
    return pattern if pattern in GLAZE_PATTERNS else GLAZE_PATTERNS[0]


def _over(ground: QColor) -> QColor:
    """Pattern lines: white on a dark ground, ink on a light one."""
    dark_ground = theme.relative_luminance(ground) < 0.2
    line = QColor("#FFFFFF") if dark_ground else QColor(LIGHT.ink)
    line.setAlphaF(_STRENGTH if dark_ground else _STRENGTH - 0.04)
    return line


def _tile(
    size: tuple[float, float],
    ground: QColor,
    draw: Callable[[QPainter], None],
    line: QColor,
    ratio: float,
    angle: float = 0,
) -> QBrush:
    # Whole device pixels on a tile, so that neighbours join without a seam.
    scale = max(2.0, ratio)
    pixmap = QPixmap(round(size[0] * scale), round(size[1] * scale))
    pixmap.fill(ground)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.scale(scale, scale)
    painter.setPen(QPen(line, 1.25))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    draw(painter)
    painter.end()
    brush = QBrush(pixmap)
    turned = QTransform()
    turned.rotate(angle)
    turned.scale(1 / scale, 1 / scale)
    brush.setTransform(turned)
    return brush


def _line(x1: float, y1: float, x2: float, y2: float) -> Callable[[QPainter], None]:
    return lambda p: p.drawLine(QPointF(x1, y1), QPointF(x2, y2))


def _dots(points: tuple[tuple[float, float], ...], radius: float) -> Callable[[QPainter], None]:
    def draw(p: QPainter) -> None:
        p.setBrush(p.pen().color())
        p.setPen(Qt.PenStyle.NoPen)
        for x, y in points:
            p.drawEllipse(QPointF(x, y), radius, radius)

    return draw


def _crosses(p: QPainter) -> None:
    for x, y in ((2.5, 2.5), (6.5, 6.5)):
        p.drawLine(QPointF(x - 1.5, y), QPointF(x + 1.5, y))
        p.drawLine(QPointF(x, y - 1.5), QPointF(x, y + 1.5))


def _broken(p: QPainter) -> None:
    p.drawLine(QPointF(0.5, 1.5), QPointF(5, 1.5))
    p.drawLine(QPointF(4.5, 4.5), QPointF(8, 4.5))
    p.drawLine(QPointF(0, 4.5), QPointF(1, 4.5))


def _waves(p: QPainter) -> None:
    path = QPainterPath(QPointF(0, 3))
    path.quadTo(QPointF(2.5, -0.5), QPointF(5, 3))
    path.quadTo(QPointF(7.5, 6.5), QPointF(10, 3))
    p.drawPath(path)


def _rings(p: QPainter) -> None:
    p.drawEllipse(QPointF(4, 4), 2.2, 2.2)


@lru_cache(maxsize=512)
def _glaze(colour: str, pattern: str, dark: bool, ratio: float) -> QBrush:
    ground = shown_colour(colour, dark)
    line = _over(ground)
    match pattern:
        case "upright lines":
            return _tile((4, 4), ground, _line(2, -1, 2, 5), line, ratio)
        case "dots":
            return _tile((5, 5), ground, _dots(((1.25, 1.25), (3.75, 3.75)), 0.8), line, ratio)
        case "broken level lines":
            return _tile((8, 6), ground, _broken, line, ratio)
        case "diagonals":
            return _tile((5, 5), ground, _line(2.5, -1, 2.5, 6), line, ratio, -45)
        case "small crosses":
            return _tile((8, 8), ground, _crosses, line, ratio)
        case "waves":
            return _tile((10, 6), ground, _waves, line, ratio)
        case "open rings":
            return _tile((8, 8), ground, _rings, line, ratio)
        case _:
            return _tile((4, 4), ground, _line(-1, 2, 5, 2), line, ratio)


def glaze_brush(colour: str, pattern: str | int, ratio: float = 1.0) -> QBrush:
    """A glaze: the potter's ``#RRGGBB`` under one of the eight patterns (name or order)."""
    return _glaze(colour, pattern_name(pattern), theme.current().tokens.dark, ratio)


# Speck places on a 24 px tile, scattered by hand so that no row shows.
_COARSE = ((3, 4), (11, 2), (19, 6), (7, 11), (15, 13), (22, 16), (3, 18), (11, 20), (18, 22))
_FINE = (*_COARSE, (6, 6), (15, 5), (22, 10), (11, 15), (1, 11), (7, 23), (19, 18), (14, 9))


@lru_cache(maxsize=128)
def _clay(colour: str, specks: str, dark: bool, ratio: float) -> QBrush:
    ground = shown_colour(colour, dark)
    if specks not in ("fine", "coarse"):
        return QBrush(ground)
    line = _over(ground)
    line.setAlphaF(0.45)
    draw = _dots(_COARSE, 0.95) if specks == "coarse" else _dots(_FINE, 0.6)
    return _tile((24, 24), ground, draw, line, ratio)


def clay_brush(colour: str, specks: str = "none", ratio: float = 1.0) -> QBrush:
    """A clay: the potter's ``#RRGGBB`` with specks none, fine or coarse."""
    return _clay(colour, specks, theme.current().tokens.dark, ratio)


@lru_cache(maxsize=64)
def _stage(stage: str, fill: str, ratio: float) -> QBrush:
    ground = QColor(fill)
    line = _over(ground)
    match stage:
        case "wet":
            return _tile((4, 4), ground, _line(-1, 2, 5, 2), line, ratio)
        case "bone_dry":
            return _tile((6, 6), ground, _dots(((1.5, 1.5), (4.5, 4.5)), 0.75), line, ratio)
        case "bisque":
            return _tile((6, 6), ground, _line(3, -1, 3, 7), line, ratio, 45)
        case "glazed":

            def hatch(p: QPainter) -> None:
                p.drawLine(QPointF(2.5, -1), QPointF(2.5, 6))
                p.drawLine(QPointF(-1, 2.5), QPointF(6, 2.5))

            return _tile((5, 5), ground, hatch, line, ratio, 45)
        case "fired" | "finished":
            line.setAlphaF(0.55)

            def gloss(p: QPainter) -> None:
                p.fillRect(QRectF(4, 0, 1.25, 10), line)
                if stage == "finished":
                    p.fillRect(QRectF(7, 0, 1.25, 10), line)

            return _tile((10, 10), ground, gloss, line, ratio)
        case _:
            return QBrush(ground)


def stage_fill(stage: str) -> QColor:
    """The plain colour of a stage; finished ware is fired ware."""
    tokens = theme.current().tokens
    return QColor(tokens.stage_fill.get("fired" if stage == "finished" else stage, tokens.sheet))


def stage_number_color(stage: str) -> QColor:
    """The colour of a number written on a stage."""
    tokens = theme.current().tokens
    return QColor(tokens.stage_number.get("fired" if stage == "finished" else stage, tokens.rust))


def stage_brush(stage: str, ratio: float = 1.0) -> QBrush:
    """A stage's fill with its pattern. ``lost`` has none: see ``stage_bar.paint_stage``."""
    if stage == "lost":
        return QBrush(Qt.BrushStyle.NoBrush)
    return _stage(stage, stage_fill(stage).name(), ratio)
