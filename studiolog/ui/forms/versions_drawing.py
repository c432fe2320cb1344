"""Versions of a form over each other, to one scale, standing on the same foot."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop.tokens import SECONDARY
from studiolog.journal.form_versions import FormVersion
from studiolog.ui.parts.drawing import Drawing, colour, elided, path_of, pen, write
from studiolog.ui.parts.picture import paint_scale_bar

_DASHES: tuple[tuple[float, float] | None, ...] = (None, (6, 4), (2, 3), (10, 3))
_TOKENS = ("ink", "rust", "cobalt", "celadon")


@dataclass(frozen=True)
class Outline:
    """One version: half its outline from the foot up, mm."""

    name: str
    points: tuple[tuple[float, float], ...]


def outline_of(version: FormVersion) -> Outline | None:
    """The outside of a version; None where neither a profile nor its size is known."""
    if version.profile is not None and len(version.profile.outside) > 1:
        points = tuple((float(r), float(h)) for r, h in version.profile.outside)
        return Outline(version.name, points)
    high, wide = version.fired_height_mm, version.fired_across_mm
    if not high or not wide:
        return None
    return Outline(version.name, ((wide / 2, 0.0), (wide / 2, high)))


class VersionsDrawing(Drawing):
    """The first outline is drawn whole, the others each in a dash of their own."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Versions over each other", parent)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._outlines: tuple[Outline, ...] = ()
        self.tell()

    def show_versions(self, versions: Sequence[FormVersion]) -> None:
        """Draw these, the one that matters first; at most four are told apart."""
        drawn = [outline_of(version) for version in versions]
        self._outlines = tuple(one for one in drawn if one is not None)[: len(_DASHES)]
        self.setVisible(len(self._outlines) > 1)
        self.tell()

    def sentence(self) -> str:
        """``Soup bowl 65 mm high, 160 mm across; …``, all to one scale."""
        told = [
            f"{one.name} {max(h for _, h in one.points):.0f} mm high, "
            f"{2 * max(r for r, _ in one.points):.0f} mm across"
            for one in self._outlines
        ]
        return f"Over each other, to one scale: {'; '.join(told)}." if told else ""

    def sizeHint(self) -> QSize:
        return self.asked(440, 230)

    def minimumSizeHint(self) -> QSize:
        return self.asked(200, 230)

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._outlines:
            return
        painter = self.painter()
        legend = 20.0 * len(self._outlines)
        room = self.frame().adjusted(12, 10, -12, -legend - 14)
        widest = max(r for one in self._outlines for r, _ in one.points)
        tallest = max(h for one in self._outlines for _, h in one.points)
        per_mm = min(room.width() / (2 * widest), (room.height() - 8) / tallest)
        middle, base = room.center().x(), room.bottom()
        painter.setPen(pen("line2", 1.0))
        painter.drawLine(QPointF(room.left(), base), QPointF(room.right(), base))
        for place in reversed(range(len(self._outlines))):
            self._paint_outline(painter, place, middle, base, per_mm)
        paint_scale_bar(painter, QRectF(room.left() - 12, room.top() - 6, 170, 36), per_mm)
        for place, one in enumerate(self._outlines):
            y = base + 20 + 20 * place
            painter.setPen(pen(_TOKENS[place], 1.75, _DASHES[place]))
            painter.drawLine(QPointF(room.left(), y), QPointF(room.left() + 30, y))
            words = elided(one.name, SECONDARY, room.width() - 44)
            write(painter, QPointF(room.left() + 40, y), words, "ink2", SECONDARY)
        painter.end()

    def _paint_outline(
        self, painter: QPainter, place: int, middle: float, base: float, per_mm: float
    ) -> None:
        points = self._outlines[place].points
        if place == 0:
            right = [(middle + r * per_mm, base - h * per_mm) for r, h in points]
            left = [(middle - r * per_mm, base - h * per_mm) for r, h in reversed(points)]
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colour("sheet"))
            painter.drawPath(path_of([*right, *left]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(_TOKENS[place], 1.75, _DASHES[place]))
        for side in (1, -1):
            line = [(middle + side * r * per_mm, base - h * per_mm) for r, h in points]
            painter.drawPath(path_of([*line, (middle, line[-1][1])], closed=False))
