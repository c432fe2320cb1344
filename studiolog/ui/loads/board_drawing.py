"""The shelves of a load as they are drawn from above, and what each piece is called there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QHelpEvent,
    QPainter,
    QPaintEvent,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from studiolog.craft.units import show_quantity
from studiolog.craft.ware.load_plan import LoadPlan, Place, shelf_fill
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.ui.loads.board_layout import TRAY_HEAD, BoardLayout, ShelfSpot, lay_board
from studiolog.ui.loads.shelf_painting import (
    PieceLook,
    outline_of,
    paint_piece,
    paint_shelf,
    shelf_name,
)
from studiolog.ui.parts.drawing import Drawing, colour, elided, pen, write

MOST_CELLS = 48


@dataclass(frozen=True)
class TrayGroup:
    """Pieces without a place that are alike: one drawing, so many of them, and why."""

    keys: tuple[int, ...]
    name: str
    why: str


@dataclass
class Drag:
    key: int
    start: QPointF
    grip: QPointF
    spot: QPointF
    moved: bool = False
    place: Place | None = None
    position: int = 0
    on_key: int | None = None
    refused: str = ""


class BoardDrawing(Drawing):
    """Shelves from the top of the kiln to its floor, and the tray of what has no place yet."""

    told = Signal(str)
    chosen_changed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Shelves of the load, seen from above", parent)
        self._plan: LoadPlan | None = None
        self._looks: Mapping[int, PieceLook] = {}
        self._tray: tuple[TrayGroup, ...] = ()
        self._editable = True
        self._faint = False
        self._chosen: int | None = None
        self._layout = BoardLayout((), QRectF(), (), 1.0)
        self._laid_wide = -1.0
        self._drag: Drag | None = None
        self._ground: QPixmap | None = None
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setMouseTracking(True)

    # Showing

    def show_plan(
        self,
        plan: LoadPlan,
        looks: Mapping[int, PieceLook],
        tray: Sequence[TrayGroup] = (),
        *,
        editable: bool = True,
        faint: bool = False,
    ) -> None:
        """Show a load. ``faint``: it is a proposal that is not kept yet."""
        self._plan, self._looks = plan, looks
        self._tray = tuple(tray)[:MOST_CELLS]
        self._editable, self._faint = editable, faint
        if self._chosen not in plan.wares:
            self._choose(None)
        self._drag = None
        self._lay()
        self.tell()

    @property
    def chosen(self) -> int | None:
        """The piece that keys act on."""
        return self._chosen

    def choose(self, key: int | None) -> None:
        """Point a piece out."""
        self._choose(key)
        self.update()

    def _choose(self, key: int | None) -> None:
        if key == self._chosen:
            return
        self._chosen = key
        self._ground = None
        self.chosen_changed.emit(key)
        words = self.say_piece(key) if key is not None else self.sentence()
        self.setAccessibleDescription(words)
        if key is not None:
            self.told.emit(words)

    def layout_of_board(self) -> BoardLayout:
        """Where everything is drawn."""
        return self._layout

    def _lay(self) -> None:
        self._ground = None
        if self._plan is None:
            return
        self._laid_wide = self.wide()
        self._layout = lay_board(self._plan, max(self.wide(), 120.0), len(self._tray))
        self.updateGeometry()

    def grow(self) -> None:
        self._lay()
        super().grow()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self.wide() != self._laid_wide:
            self._lay()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, wide: int) -> int:
        if self._plan is None:
            return 1
        room = max(wide / self.grown(), 120.0)
        return round(lay_board(self._plan, room, len(self._tray)).high * self.grown()) + 1

    def sizeHint(self) -> QSize:
        return QSize(self.asked(560, 1).width(), self.heightForWidth(max(self.width(), 120)))

    def minimumSizeHint(self) -> QSize:
        return self.asked(220, 60)

    # Words

    def sentence(self) -> str:
        """The load in words, shelf by shelf from the top."""
        plan = self._plan
        if plan is None or not plan.shelves:
            return "No shelves are set yet."
        parts = []
        for shelf in reversed(plan.shelves):
            level = plan.kiln.level_name(shelf.level_id)
            count = len(shelf.places)
            pieces = "1 piece" if count == 1 else f"{count} pieces"
            fill = 100 * shelf_fill(plan, shelf).by_area
            parts.append(f"{shelf_name(shelf, level)}: {pieces}, {fill:.0f} % full")
        left = sum(len(group.keys) for group in self._tray)
        if left:
            parts.append(f"{left} without a place")
        return ". ".join(parts) + "."

    def say_piece(self, key: int) -> str:
        """A piece and where it stands, in words."""
        plan, look = self._plan, self._looks.get(key)
        if plan is None or look is None:
            return ""
        words = f"{look.label}, {look.name}" if look.name else look.label
        words = words[:1].upper() + words[1:]
        found = self._standing(key)
        if found is None:
            group = next((g for g in self._tray if key in g.keys), None)
            return f"{words}: no place yet. {group.why if group else ''}".strip()
        position, place = found
        shelf = plan.shelf(position)
        level = plan.kiln.level_name(shelf.level_id)
        across, along = _side(place.x_mm, "left", "right"), _side(place.y_mm, "back", "front")
        words += f": {shelf_name(shelf, level).lower()}, {across}, {along}"
        if place.on_key is not None and place.on_key in self._looks:
            words += f", on {self._looks[place.on_key].label}"
        if look.on_tile:
            words += "; on a catch tile"
        if look.by_hand:
            words += "; left where it is when packed anew"
        return f"{words}. {look.alarm}".strip() if look.alarm else f"{words}."

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            key = self._key_at(self.spot(QPointF(event.pos())))
            words = self.say_piece(key) if key is not None else self.sentence()
            QToolTip.showText(event.globalPos(), words, self)
            return True
        return super().event(event)

    # Finding

    def _standing(self, key: int) -> tuple[int, Place] | None:
        if self._plan is None:
            return None
        for shelf in self._plan.shelves:
            for place in shelf.places:
                if place.key == key:
                    return shelf.position, place
        return None

    def _key_at(self, at: QPointF) -> int | None:
        plan = self._plan
        if plan is None:
            return None
        spot = self._layout.shelf_at(at)
        if spot is not None:
            for place in reversed(spot.shelf.places):
                ware = plan.wares[place.key]
                middle = spot.at(place.x_mm, place.y_mm)
                path = outline_of(ware.footprint, middle, spot.scale, place.turned_deg)
                if path.contains(at):
                    return place.key
        for group, cell in zip(self._tray, self._layout.cells, strict=True):
            if cell.contains(at):
                return group.keys[0]
        return None

    def _order(self) -> list[int]:
        """Every piece in the order the keys go through them: shelf by shelf from the top."""
        if self._plan is None:
            return []
        found = []
        for shelf in reversed(self._plan.shelves):
            rows = sorted(shelf.places, key=lambda p: (round(p.y_mm / 40), p.x_mm))
            found += [place.key for place in rows]
        return found + [group.keys[0] for group in self._tray]

    def _drawn_middles(self) -> dict[int, QPointF]:
        found = {
            place.key: spot.at(place.x_mm, place.y_mm)
            for spot in self._layout.spots
            for place in spot.shelf.places
        }
        for group, cell in zip(self._tray, self._layout.cells, strict=True):
            found[group.keys[0]] = cell.center()
        return found

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._plan is None:
            return
        if self._ground is None or self._ground.size() != self.size() * self.devicePixelRatioF():
            self._ground = self._paint_ground()
        painter = self.painter()
        painter.save()
        painter.resetTransform()
        painter.drawPixmap(0, 0, self._ground)
        painter.restore()
        self._paint_chosen(painter)
        self._paint_drag(painter)
        self.paint_focus(painter)
        painter.end()

    def _paint_ground(self) -> QPixmap:
        """Shelves with all that stands on them, kept until something of it changes."""
        ratio = self.devicePixelRatioF()
        kept = QPixmap(self.size() * ratio)
        kept.setDevicePixelRatio(ratio)
        kept.fill(Qt.GlobalColor.transparent)
        painter = QPainter(kept)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(self.grown(), self.grown())
        assert self._plan is not None
        if not self._plan.shelves:
            write(painter, QPointF(2, 12), "No shelves yet: pack the load.", "ink3", SECONDARY)
        for spot in self._layout.spots:
            self._paint_shelf(painter, spot)
        self._paint_tray(painter)
        painter.end()
        return kept

    def _paint_shelf(self, painter: QPainter, spot: ShelfSpot) -> None:
        plan = self._plan
        assert plan is not None
        shelf = spot.shelf
        fill = shelf_fill(plan, shelf)
        count = len(shelf.places)
        pieces = "1 piece" if count == 1 else f"{count} pieces"
        full = show_quantity(100 * fill.by_area, "%")
        told = f"{pieces} · {full} full · {show_quantity(shelf.clear_mm, 'mm')} above"
        level = plan.kiln.level_name(shelf.level_id)
        paint_shelf(painter, spot, shelf_name(shelf, level), told, False)
        riders: dict[int, int] = {}
        for place in shelf.places:
            if place.on_key is not None:
                riders[place.on_key] = riders.get(place.on_key, 0) + 1
        shown = [place for place in shelf.places if place.on_key is None]
        for place in shown:
            self._paint_place(painter, spot, place, _stack_of(place.key, shelf.places))

    def _paint_place(
        self, painter: QPainter, spot: ShelfSpot, place: Place, stacked: int, chosen: bool = False
    ) -> None:
        assert self._plan is not None
        look = self._looks.get(place.key)
        if look is None:
            return
        paint_piece(
            painter,
            self._plan.wares[place.key].footprint,
            spot.at(place.x_mm, place.y_mm),
            spot.scale,
            place.turned_deg,
            look,
            tile_beyond_mm=self._plan.rules.tile_beyond_mm,
            stacked=stacked,
            chosen=chosen,
            faint=self._faint,
            ratio=self.ratio(),
        )

    def _paint_tray(self, painter: QPainter) -> None:
        if not self._tray or self._plan is None:
            return
        tray = self._layout.tray
        painter.setPen(pen("line", 1))
        painter.drawLine(tray.topLeft(), tray.topRight())
        left = sum(len(group.keys) for group in self._tray)
        head = f"Without a place: {left}. Drag one onto a shelf, or choose it and press PgUp."
        write(
            painter,
            QPointF(tray.left(), tray.top() + TRAY_HEAD / 2),
            elided(head, SECONDARY, tray.width()),
            "ochre",
            SECONDARY,
            500,
        )
        for group, cell in zip(self._tray, self._layout.cells, strict=True):
            self._paint_cell(painter, group, cell)

    def _paint_cell(self, painter: QPainter, group: TrayGroup, cell: QRectF) -> None:
        assert self._plan is not None
        ware = self._plan.wares[group.keys[0]]
        look = self._looks.get(group.keys[0])
        if look is None:
            return
        scale = min(36.0 / (2 * ware.footprint.reach_mm), 0.42)
        middle = QPointF(cell.center().x(), cell.top() + 22)
        paint_piece(painter, ware.footprint, middle, scale, 0.0, look, ratio=self.ratio())
        words = f"{len(group.keys)}× " if len(group.keys) > 1 else ""
        words = elided(f"{words}{group.name}", CAPTION, cell.width())
        write(
            painter,
            QPointF(cell.center().x(), cell.bottom() - 8),
            words,
            "ink2",
            CAPTION,
            align="centre",
        )

    def _paint_chosen(self, painter: QPainter) -> None:
        if self._chosen is None or (self._drag is not None and self._drag.moved):
            return
        found = self._standing(self._chosen)
        if found is None:
            for group, cell in zip(self._tray, self._layout.cells, strict=True):
                if self._chosen in group.keys:
                    painter.setBrush(Qt.BrushStyle.NoBrush)
                    painter.setPen(pen("cobalt", 2))
                    painter.drawRoundedRect(cell.adjusted(1, 1, -1, -1), 4, 4)
            return
        spot = self._layout.spot_of(found[0])
        if spot is not None:
            stacked = _stack_of(self._chosen, spot.shelf.places)
            self._paint_place(painter, spot, found[1], stacked, chosen=True)

    def _paint_drag(self, painter: QPainter) -> None:
        drag = self._drag
        if drag is None or not drag.moved or self._plan is None:
            return
        look = self._looks.get(drag.key)
        spot = self._layout.spot_of(drag.position) or next(iter(self._layout.spots), None)
        if look is None or spot is None:
            return
        footprint = self._plan.wares[drag.key].footprint
        if drag.place is None:
            painter.setPen(pen("rust", 1.75, (4, 3)))
            painter.setBrush(QBrush(colour("rustwash")))
            painter.setOpacity(0.7)
            painter.drawPath(outline_of(footprint, drag.spot + drag.grip, spot.scale, 0.0))
            painter.setOpacity(1.0)
            return
        paint_piece(
            painter,
            footprint,
            spot.at(drag.place.x_mm, drag.place.y_mm),
            spot.scale,
            drag.place.turned_deg,
            look,
            tile_beyond_mm=self._plan.rules.tile_beyond_mm,
            chosen=True,
            ratio=self.ratio(),
        )


def _side(mm: float, before: str, after: str) -> str:
    """ "35 mm left"; in the middle nothing is said of a side."""
    if abs(mm) < 0.5:
        return "in the middle"
    return f"{show_quantity(abs(mm), 'mm')} {before if mm < 0 else after}"


def _stack_of(key: int, places: Sequence[Place]) -> int:
    """How many pieces stand in the stack whose lowest is this one."""
    by_under: dict[int, list[int]] = {}
    for place in places:
        if place.on_key is not None:
            by_under.setdefault(place.on_key, []).append(place.key)
    count, todo = 1, [key]
    while todo:
        above = by_under.get(todo.pop(), [])
        count += len(above)
        todo += above
    return count
