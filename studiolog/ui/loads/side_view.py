"""The kiln from the side: shelves, posts and ware to scale, the levels, and how full it is."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.units import show_quantity
from studiolog.craft.ware.load_plan import POST, Fill, LoadPlan, PlannedShelf, standing_mm
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.ui.parts.drawing import Drawing, colour, elided, pen, width_of, write
from studiolog.ui.parts.pattern import STAGE_WORDS, stage_brush

_LEVELS_WIDE = 104.0
_HIGH = 260.0


class SideView(Drawing):
    """Everything as seen from the door; the room left over is dashed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("The kiln from the side", parent)
        self._plan: LoadPlan | None = None
        self._stages: Mapping[int, str] = {}
        self._heats: Mapping[int, str] = {}
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_plan(
        self, plan: LoadPlan, stages: Mapping[int, str], heats: Mapping[int, str]
    ) -> None:
        """Show a load; ``stages`` by piece, ``heats`` by level in words."""
        self._plan, self._stages, self._heats = plan, stages, heats
        self.tell()

    def sentence(self) -> str:
        plan = self._plan
        if plan is None or not plan.shelves:
            return "An empty kiln."
        parts = []
        for shelf in reversed(plan.shelves):
            tall = max((b + o for b, o in standing_mm(plan, shelf).values()), default=0.0)
            used = f"ware up to {show_quantity(tall, 'mm')}" if tall else "no ware"
            level = plan.kiln.level_name(shelf.level_id)
            parts.append(
                f"Shelf {shelf.position}, {level}: {show_quantity(shelf.clear_mm, 'mm')} above "
                f"it, {used}"
            )
        return ". ".join(parts) + "."

    def sizeHint(self) -> QSize:
        return self.asked(320, _HIGH)

    def minimumSizeHint(self) -> QSize:
        return self.asked(220, _HIGH)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        plan = self._plan
        if plan is None:
            painter.end()
            return
        frame = self.frame().adjusted(1, 1, -1, -1)
        scale = min(
            (frame.width() - _LEVELS_WIDE) / plan.kiln.across_mm,
            frame.height() / plan.kiln.chamber_mm,
        )
        wide, high = plan.kiln.across_mm * scale, plan.kiln.chamber_mm * scale
        chamber = QRectF(frame.left(), frame.bottom() - high, wide, high)
        painter.setPen(pen("ink", 1.75))
        painter.setBrush(QBrush(colour("sheet")))
        painter.drawRect(chamber)
        for shelf in plan.shelves:
            self._paint_shelf(painter, chamber, scale, shelf)
        self._paint_levels(painter, chamber, scale)
        self.paint_focus(painter)
        painter.end()

    def _paint_shelf(
        self, painter: QPainter, chamber: QRectF, scale: float, shelf: PlannedShelf
    ) -> None:
        plan = self._plan
        assert plan is not None
        middle = chamber.center().x()
        floor = chamber.bottom() - shelf.floor_mm * scale
        left = middle if shelf.part == "right" else chamber.left() + 2
        right = middle if shelf.part == "left" else chamber.right() - 2
        thick = max(plan.kiln.thick_mm * scale, 2.0)
        above = QRectF(left, floor - shelf.clear_mm * scale, right - left, shelf.clear_mm * scale)
        painter.setPen(pen("line2", 1.0, (3, 3)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(above.adjusted(2, 2, -2, -1))
        painter.setPen(pen("ink2", 1.0))
        painter.setBrush(QBrush(colour("sunk")))
        for kept in shelf.kept:
            if kept.what == POST:
                half = kept.footprint.across_mm * scale / 2
                x = middle + kept.x_mm * scale
                painter.drawRect(QRectF(x - half, above.top(), 2 * half, above.height()))
        stood = standing_mm(plan, shelf)
        # From the back forward, so that what stands before hides what stands behind it.
        for place in sorted(shelf.places, key=lambda one: one.y_mm):
            base, own = stood[place.key]
            half = plan.wares[place.key].footprint.across_mm / 2 * scale
            x = middle + place.x_mm * scale
            box = QRectF(x - half, floor - (base + own) * scale, 2 * half, own * scale)
            painter.setBrushOrigin(box.topLeft())
            painter.setBrush(stage_brush(self._stages.get(place.key, "bisque"), self.ratio()))
            painter.setPen(pen("ink", 1.0))
            painter.drawRect(box)
        painter.setPen(pen("ink", 1.0))
        painter.setBrush(QBrush(colour("ink2")))
        painter.drawRect(QRectF(left, floor, right - left, thick))

    def _paint_levels(self, painter: QPainter, chamber: QRectF, scale: float) -> None:
        plan = self._plan
        assert plan is not None
        levels = sorted(plan.kiln.levels, key=lambda level: level[2])
        room = self.wide() - chamber.right() - 12
        for place, (ident, name, begins) in enumerate(levels):
            top_mm = levels[place + 1][2] if place + 1 < len(levels) else plan.kiln.chamber_mm
            low, high = chamber.bottom() - begins * scale, chamber.bottom() - top_mm * scale
            x = chamber.right() + 8
            painter.setPen(pen("line2", 1))
            painter.drawLine(QPointF(chamber.right() + 3, high + 1), QPointF(x + room, high + 1))
            y = (low + high) / 2
            words = elided(name, SECONDARY, room, 600)
            write(painter, QPointF(x, y - 8), words, "ink", SECONDARY, 600)
            told = elided(self._heats.get(ident, ""), CAPTION, room)
            write(painter, QPointF(x, y + 8), told, "ink2", CAPTION)


class FillBar(Drawing):
    """How full the kiln is, in the colour of the stage the load will become; a mark at what is
    worth firing."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("How full the kiln is", parent)
        self._fill = Fill(0.0, 0.0)
        self._worth = 85.0
        self._stage = "bisque"
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_fill(self, fill: Fill, worth_percent: float, becomes: str) -> None:
        """Show a load; ``becomes`` is the stage it will have."""
        self._fill, self._worth, self._stage = fill, worth_percent, becomes
        self.tell()

    def sentence(self) -> str:
        """ "71 % full by area, 34 % by volume; worth firing from 85 %."."""
        return (
            f"{100 * self._fill.by_area:.0f} % full by area, {100 * self._fill.by_volume:.0f} % by "
            f"volume; worth firing from {self._worth:.0f} %. It becomes "
            f"{STAGE_WORDS[self._stage].lower()} ware."
        )

    def sizeHint(self) -> QSize:
        return self.asked(260, 40)

    def minimumSizeHint(self) -> QSize:
        return self.asked(160, 40)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        track = QRectF(1, 18, self.wide() - 2, 14)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QBrush(colour("sunk")))
        painter.drawRoundedRect(track, 3, 3)
        filled = QRectF(track)
        filled.setWidth(track.width() * min(1.0, self._fill.by_area))
        if filled.width() > 1:
            painter.setBrushOrigin(filled.topLeft())
            painter.setBrush(stage_brush(self._stage, self.ratio()))
            painter.drawRoundedRect(filled, 3, 3)
        x = track.left() + track.width() * self._worth / 100
        painter.setPen(pen("ink", 1.5))
        painter.drawLine(QPointF(x, 13), QPointF(x, 36))
        words = f"worth firing from {self._worth:.0f} %"
        wide = width_of(words, CAPTION)
        left = min(max(x - wide / 2, 0.0), self.wide() - wide)
        write(painter, QPointF(left, 6), words, "ink2", CAPTION)
        self.paint_focus(painter)
        painter.end()
