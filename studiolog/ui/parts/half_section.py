"""Half section, half outside: how every form is drawn, from a list icon to a page.

Turned ware from its profile; slab-built boxes and tiles from their outline.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QPainter, QPainterPath, QPaintEvent
from PySide6.QtWidgets import QWidget

from studiolog.ui.parts.drawing import Drawing, colour, path_of, pen
from studiolog.ui.parts.wall_geometry import PLAIN_CUP, Point, WallProfile, checked_profile


@dataclass(frozen=True)
class FormShape:
    """What is drawn: ``kind`` is ``turned``, ``box`` or ``tile``; sizes in mm.

    A turned form without a profile is the plain cup. ``sides`` (4 or 6) is for tiles; ``roof`` is
    for boxes: the height of a pitched roof above the walls. A box with a profile (the cut through
    its middle) is drawn from that, roof and eaves too.
    """

    kind: str = "turned"
    profile: WallProfile | None = None
    width_mm: float = 80.0
    height_mm: float = 110.0
    wall_mm: float = 6.0
    roof_mm: float = 0.0
    sides: int = 6


def paint_half_section(
    painter: QPainter,
    rect: QRectF,
    shape: FormShape,
    line_token: str = "ink",
    cut_right: bool = False,
) -> QRectF:
    """Paint the form standing on the bottom of ``rect``, as large as fits; gives its box.

    The cut half is on the left unless ``cut_right``.
    """
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    room = rect.adjusted(1.5, 1.5, -1.5, -1.5)
    if shape.kind == "tile":
        box = _paint_tile(painter, room, shape, line_token)
    elif shape.kind == "box":
        box = _paint_box(painter, room, shape, line_token)
    else:
        box = _paint_turned(painter, room, shape, line_token, cut_right)
    painter.restore()
    return box


def ripple_heights(profile: WallProfile, most: int = 9) -> list[float]:
    """Heights in mm of throwing ridges on the outside, at most ``most``; else the widest place."""
    points = [p for i, p in enumerate(profile.outside) if not i or p != profile.outside[i - 1]]
    ridges = [
        points[i][1]
        for i in range(1, len(points) - 1)
        if _bulge(points[i - 1], points[i], points[i + 1]) > 0.15
        and points[i][0] >= max(points[i - 1][0], points[i + 1][0]) - 0.6
    ]
    top = max(h for _, h in points)
    ridges = [h for h in ridges if 0.08 * top < h < 0.95 * top]
    if len(ridges) >= 4:
        step = max(1, -(-len(ridges) // most))
        return ridges[::step]
    widest = max(points, key=lambda p: p[0])[1]
    return [widest] if 0.1 * top < widest < 0.9 * top else []


def _bulge(before: Point, here: Point, after: Point) -> float:
    """How far ``here`` stands out beyond the line between its neighbours, in mm."""
    run = after[1] - before[1]
    if run == 0:
        return 0.0
    straight = before[0] + (after[0] - before[0]) * (here[1] - before[1]) / run
    return here[0] - straight


def _paint_turned(
    painter: QPainter, room: QRectF, shape: FormShape, token: str, cut_right: bool
) -> QRectF:
    profile = checked_profile(shape.profile)
    widest = max(r for r, _ in profile.outside)
    tallest = max(h for _, h in profile.outside)
    scale = min(room.width() / (2 * widest), room.height() / tallest)
    middle, base = room.center().x(), room.bottom()
    cut = 1.0 if cut_right else -1.0

    def at(point: Point, side: float) -> Point:
        return middle + side * point[0] * scale, base - point[1] * scale

    small = min(room.width(), room.height()) < 80
    outline = pen(token, 1.25 if small else 1.5)
    outside = [at(p, -cut) for p in profile.outside]
    whole = [(middle, base), *outside, (middle, outside[-1][1])]
    painter.setPen(outline)
    painter.setBrush(QBrush(colour("sheet")))
    painter.drawPath(path_of(whole))
    open_side = [
        (middle, base),
        *[at(p, cut) for p in profile.outside],
        (middle, at(profile.outside[-1], cut)[1]),
    ]
    painter.setBrush(QBrush(colour("paper")))
    painter.drawPath(path_of(open_side))
    foot = profile.outside[0]
    inside = list(profile.inside)
    if inside[0][0] > inside[-1][0]:
        inside.reverse()
    wall = [
        at((0.0, min(foot[1] + 1.2, inside[0][1] * 0.5)), cut),
        *[at(p, cut) for p in profile.outside],
        *[at(p, cut) for p in reversed(inside)],
        at((0.0, inside[0][1]), cut),
    ]
    painter.setPen(pen(token, 0.75))
    painter.setBrush(QBrush(colour(token)))
    painter.drawPath(path_of(wall))
    painter.setPen(pen(token, 0.9 if small else 1.0))
    for height in ripple_heights(profile, 7 if small else 11):
        radius = max(
            (r for r, h in profile.outside if abs(h - height) < tallest * 0.03),
            default=widest,
        )
        y = base - height * scale
        painter.drawLine(QPointF(middle, y), QPointF(middle - cut * radius * scale, y))
    painter.setPen(outline)
    painter.drawLine(QPointF(middle, base), QPointF(middle, base - profile.outside[-1][1] * scale))
    return QRectF(
        middle - widest * scale, base - tallest * scale, 2 * widest * scale, tallest * scale
    )


def roof_of(profile: WallProfile) -> float:
    """Height in mm of the roof in the cut through a box: where it narrows to a ridge, else 0."""
    widest = max(r for r, _ in profile.outside)
    top = max(h for _, h in profile.outside)
    if max(r for r, h in profile.outside if h == top) > widest * 0.35:
        return 0.0
    return top - max(h for r, h in profile.outside if r >= widest * 0.95)


def _paint_cut_box(painter: QPainter, room: QRectF, cut: WallProfile, token: str) -> QRectF:
    """A slab-built form from the cut through its middle: the cut half left, its face right."""
    widest, tallest = max(r for r, _ in cut.outside), max(h for _, h in cut.outside)
    scale = min(room.width() / (2 * widest), room.height() / tallest)
    middle, base = room.center().x(), room.bottom()

    def half(points: Sequence[Point], side: float) -> list[Point]:
        return [(middle + side * r * scale, base - h * scale) for r, h in points]

    outside = list(cut.outside)
    if outside[0][1] > outside[-1][1]:
        outside.reverse()
    floor, top = (0.0, outside[0][1]), (0.0, outside[-1][1])
    whole = [floor, *outside, top]
    painter.setPen(pen(token, 1.25))
    painter.setBrush(QBrush(colour("sheet")))
    painter.drawPath(path_of(half(whole, 1.0)))
    painter.setBrush(QBrush(colour("paper")))
    painter.drawPath(path_of(half(whole, -1.0)))
    inside = list(cut.inside)
    if inside[0][1] < inside[-1][1]:
        inside.reverse()
    painter.setPen(pen(token, 0.75))
    painter.setBrush(QBrush(colour(token)))
    painter.drawPath(path_of(half([*whole, *inside], -1.0)))
    roof = roof_of(cut) * scale
    painter.setPen(pen(token, 1.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if roof > 0:
        high, reach = tallest * scale - roof, widest * scale
        _paint_openings(painter, middle + reach * 0.35, base, reach * 0.3, high)
        eaves = base - high
        painter.drawLine(QPointF(middle, eaves), QPointF(middle + reach, eaves))
    painter.setPen(pen(token, 1.25))
    painter.drawLine(QPointF(middle, base), QPointF(middle, base - top[1] * scale))
    return QRectF(
        middle - widest * scale, base - tallest * scale, 2 * widest * scale, tallest * scale
    )


def _paint_openings(painter: QPainter, left: float, base: float, width: float, high: float) -> None:
    """A door and a window in a wall of this height."""
    painter.drawRect(QRectF(left, base - high * 0.38, width, high * 0.38))
    painter.drawRect(QRectF(left, base - high * 0.8, width, high * 0.24))


def _paint_box(painter: QPainter, room: QRectF, shape: FormShape, token: str) -> QRectF:
    if shape.profile is not None:
        cut = checked_profile(shape.profile)
        if cut is not PLAIN_CUP:
            return _paint_cut_box(painter, room, cut, token)
    width, height = max(shape.width_mm, 1.0), max(shape.height_mm, 1.0)
    scale = min(room.width() / width, room.height() / height)
    middle, base = room.center().x(), room.bottom()
    half, top = width / 2 * scale, base - height * scale
    eaves = top + min(shape.roof_mm, height * 0.8) * scale
    wall = min(max(shape.wall_mm * scale, 2.0), half * 0.3)
    painter.setPen(pen(token, 1.25))
    painter.setBrush(QBrush(colour("sheet")))
    right = [(middle, base), (middle + half, base), (middle + half, eaves), (middle, top)]
    painter.drawPath(path_of(right))
    outer = [(middle, base), (middle - half, base), (middle - half, eaves), (middle, top)]
    painter.setBrush(QBrush(colour("paper")))
    painter.drawPath(path_of(outer))
    rise = wall * 1.25 if eaves > top else wall
    inner = [
        (middle, top + rise),
        (middle - half + wall, eaves + (wall * 0.4 if eaves > top else wall)),
        (middle - half + wall, base - wall),
        (middle, base - wall),
    ]
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QBrush(colour(token)))
    painter.drawPath(path_of([*outer, *inner]))
    painter.setPen(pen(token, 1.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if shape.roof_mm > 0:
        _paint_openings(painter, middle + half * 0.35, base, half * 0.3, base - eaves)
    painter.setPen(pen(token, 1.25))
    painter.drawLine(QPointF(middle, base), QPointF(middle, top))
    return QRectF(middle - half, top, 2 * half, base - top)


def _paint_tile(painter: QPainter, room: QRectF, shape: FormShape, token: str) -> QRectF:
    ratio = max(shape.height_mm, 1.0) / max(shape.width_mm, 1.0)
    width = min(room.width(), room.height() / ratio)
    height = width * ratio
    box = QRectF(room.center().x() - width / 2, room.bottom() - height, width, height)
    middle = box.center().x()
    if shape.sides == 6:
        upper, lower = box.top() + height * 0.25, box.top() + height * 0.75
        face = [
            (middle, box.top()),
            (box.right(), upper),
            (box.right(), lower),
            (middle, box.bottom()),
            (box.left(), lower),
            (box.left(), upper),
        ]
    else:
        upper, lower = box.top(), box.bottom()
        face = [
            (box.left(), upper),
            (box.right(), upper),
            (box.right(), lower),
            (box.left(), lower),
        ]
    painter.setPen(pen(token, 1.25))
    painter.setBrush(QBrush(colour("sheet")))
    painter.drawPath(path_of(face))
    thick = min(max(shape.wall_mm / max(shape.width_mm, 1.0) * width, 3.0), width * 0.2)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QBrush(colour(token)))
    painter.drawRect(QRectF(box.left(), upper, thick, lower - upper))
    painter.setPen(pen(token, 1.25, (1.5, 3)))
    painter.drawLine(QPointF(middle, box.top() + 1), QPointF(middle, box.bottom() - 1))
    painter.setPen(pen(token, 0.9))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for row in range(4):
        y = upper + (lower - upper) * (0.14 + 0.24 * row)
        wave = QPainterPath(QPointF(middle, y))
        reach = box.right() - middle
        wave.cubicTo(
            QPointF(middle + reach * 0.3, y - 4),
            QPointF(middle + reach * 0.6, y + 4),
            QPointF(box.right(), y),
        )
        painter.drawPath(wave)
    return box


class HalfSection(Drawing):
    """A form's drawing as a widget; any size."""

    def __init__(
        self, name: str, shape: FormShape | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(name, parent)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._shape = shape or FormShape(profile=PLAIN_CUP)
        self._quiet = False
        self.tell()

    def show_shape(self, name: str, shape: FormShape, quiet: bool = False) -> None:
        """Draw another form; ``quiet`` draws it in the pale line of an empty state."""
        self.setAccessibleName(name)
        self._shape, self._quiet = shape, quiet
        self.tell()

    def sentence(self) -> str:
        """``Soup bowl: half section, half outside``."""
        return f"{self.accessibleName()}: half section, half outside"

    def sizeHint(self) -> QSize:
        return self.asked(56, 56)

    def minimumSizeHint(self) -> QSize:
        return self.asked(24, 24)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        token = "line2" if self._quiet else "ink"
        paint_half_section(painter, self.frame(), self._shape, token)
        painter.end()
