"""The board under hands: pieces are dragged, or moved by the keys, as far as they fit."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import (
    QKeyEvent,
    QMouseEvent,
)

from studiolog.craft.units import show_quantity
from studiolog.craft.ware.load_plan import Place
from studiolog.craft.ware.plan_check import nearest_free, nudge, stacking_problem
from studiolog.ui.loads.board_drawing import BoardDrawing, Drag
from studiolog.ui.loads.board_layout import ShelfSpot

STEP_MM, SMALL_STEP_MM = 5.0, 1.0
_ARROWS = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, -1.0),
    Qt.Key.Key_Down: (0.0, 1.0),
}
_DRAG_FROM = 4.0


class LoadBoard(BoardDrawing):
    """Arrows move the chosen piece 5 mm (Shift 1 mm), PgUp and PgDn bring it to another shelf.

    Space goes to the next piece, with Shift to the one before, Ctrl with an arrow to the one that
    way. R turns, S stacks it on the nearest like it, T sets a catch tile, P pins it, Del takes it
    out, Enter opens its page.
    """

    moved = Signal(int, int, float, float)
    """Piece, shelf position, x and y in mm."""
    stack_asked = Signal(int, int)
    """Piece, and the piece it is to stand on or lie in."""
    turn_asked = Signal(int)
    tile_asked = Signal(int)
    pin_asked = Signal(int)
    out_asked = Signal(int)
    opened = Signal(int)

    # Keys

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        held = event.modifiers()
        control = bool(held & Qt.KeyboardModifier.ControlModifier)
        if key in _ARROWS and control:
            self._go(*_ARROWS[key])
        elif key in _ARROWS:
            self._arrow(key, bool(held & Qt.KeyboardModifier.ShiftModifier))
        elif control or held & Qt.KeyboardModifier.AltModifier:
            super().keyPressEvent(event)
        elif key == Qt.Key.Key_Space:
            self._step(-1 if held & Qt.KeyboardModifier.ShiftModifier else 1)
        elif self._chosen is None:
            super().keyPressEvent(event)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.opened.emit(self._chosen)
        elif key == Qt.Key.Key_Escape and self._drag is not None:
            self._drag = None
            self.update()
        elif not self._editable:
            super().keyPressEvent(event)
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            self._to_shelf(1 if key == Qt.Key.Key_PageUp else -1)
        elif key == Qt.Key.Key_R:
            self.turn_asked.emit(self._chosen)
        elif key == Qt.Key.Key_S:
            self._stack()
        elif key == Qt.Key.Key_T:
            self.tile_asked.emit(self._chosen)
        elif key == Qt.Key.Key_P:
            self.pin_asked.emit(self._chosen)
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.out_asked.emit(self._chosen)
        else:
            super().keyPressEvent(event)

    def _step(self, by: int) -> None:
        order = self._order()
        if not order:
            return
        if self._chosen in order:
            at = (order.index(self._chosen) + by) % len(order)
        else:
            at = 0 if by > 0 else len(order) - 1
        self.choose(order[at])

    def _go(self, dx: float, dy: float) -> None:
        """To the nearest piece that way, on this shelf or the next one drawn."""
        here = self._drawn_middles()
        if self._chosen not in here:
            self._step(1)
            return
        start = here[self._chosen]
        best: tuple[float, int] | None = None
        for key, middle in here.items():
            away = middle - start
            along = away.x() * dx + away.y() * dy
            aside = abs(away.x() * dy) + abs(away.y() * dx)
            if key == self._chosen or along <= 1:
                continue
            cost = along + 2 * aside
            if best is None or cost < best[0]:
                best = (cost, key)
        if best is not None:
            self.choose(best[1])

    def _arrow(self, key: Qt.Key, small: bool) -> None:
        if self._chosen is None:
            self._step(1)
            return
        found = self._standing(self._chosen)
        if found is None or not self._editable or self._plan is None:
            self._go(*_ARROWS[key])
            return
        position, place = found
        step = SMALL_STEP_MM if small else STEP_MM
        dx, dy = _ARROWS[key]
        there = self._step_to(position, place, dx * step, dy * step)
        if there is None:
            self.told.emit("Something is in the way, or the edge of the shelf.")
            return
        self.moved.emit(self._chosen, position, there.x_mm, there.y_mm)

    def _stack(self) -> None:
        """On the nearest piece it may be stacked on, its own shelf's first."""
        plan, key = self._plan, self._chosen
        if plan is None or key is None:
            return
        here = self._drawn_middles()
        why = "Only raw ware of one form is stacked, and only where its form says how much it adds."
        near = sorted(
            (
                (here[place.key] - here[key]).manhattanLength(),
                shelf.position,
                place.key,
            )
            for shelf in plan.shelves
            for place in shelf.places
            if place.key != key
            and key in here
            and not any(other.on_key == place.key for other in shelf.places)
        )
        for _, position, other in near:
            told = stacking_problem(plan, position, key, other)
            if not told:
                self.stack_asked.emit(key, other)
                return
            if plan.wares[key].stacks_on(plan.wares[other]):
                why = told
        self.told.emit(why)

    def _step_to(self, position: int, place: Place, dx: float, dy: float) -> Place | None:
        """So far as is free that way; else along what is in the way, as along a round edge."""
        assert self._plan is not None
        step = math.hypot(dx, dy)
        straight = nudge(self._plan, position, place.key, dx, dy)
        if math.hypot(straight.x_mm - place.x_mm, straight.y_mm - place.y_mm) >= 0.05:
            return straight
        x, y = place.x_mm + dx, place.y_mm + dy
        aside = nearest_free(self._plan, position, place.key, x, y, place.turned_deg)
        if aside is None:
            return None
        along = ((aside.x_mm - place.x_mm) * dx + (aside.y_mm - place.y_mm) * dy) / step
        far = math.hypot(aside.x_mm - place.x_mm, aside.y_mm - place.y_mm)
        return aside if along >= 0.05 and far <= 2 * step else None

    def _to_shelf(self, by: int) -> None:
        plan, key = self._plan, self._chosen
        if plan is None or key is None or not plan.shelves:
            return
        found = self._standing(key)
        positions = [shelf.position for shelf in plan.shelves]
        if found is None:
            tries = positions if by > 0 else positions[::-1]
            x, y = 0.0, 0.0
        else:
            x, y = found[1].x_mm, found[1].y_mm
            tries = (
                [p for p in positions if p > found[0]]
                if by > 0
                else [p for p in reversed(positions) if p < found[0]]
            )
        for position in tries:
            there = nearest_free(plan, position, key, x, y)
            if there is not None:
                self.moved.emit(key, position, there.x_mm, there.y_mm)
                return
        way = "higher" if by > 0 else "lower"
        self.told.emit(
            "No shelf has the room for it." if found is None else f"No {way} shelf has room for it."
        )

    # Pointer

    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = self.spot(event.position())
        key = self._key_at(at)
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        self._choose(key)
        self._drag = None
        if key is not None and self._editable and event.button() == Qt.MouseButton.LeftButton:
            middle = self._drawn_middles().get(key, at)
            self._drag = Drag(key, at, middle - at, at)
        self.update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if self._chosen is not None:
            self.opened.emit(self._chosen)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        drag = self._drag
        at = self.spot(event.position())
        if drag is None or self._plan is None:
            return
        drag.spot = at
        if not drag.moved and (at - drag.start).manhattanLength() < _DRAG_FROM:
            return
        drag.moved = True
        self._find_place(drag)
        self.update()

    def _find_place(self, drag: Drag) -> None:
        assert self._plan is not None
        spot = self._layout.shelf_at(drag.spot)
        drag.place, drag.refused, drag.on_key = None, "", None
        under = self._key_at(drag.spot)
        if spot is not None and under is not None and under != drag.key:
            top = _top_of(spot.shelf.places, under, drag.key)
            if not stacking_problem(self._plan, spot.shelf.position, drag.key, top.key):
                drag.on_key, drag.position = top.key, spot.shelf.position
                drag.place = Place(drag.key, top.x_mm, top.y_mm, top.turned_deg, top.key)
                self.told.emit(f"On {self._looks[top.key].label}, which is like it.")
                return
        if spot is None:
            drag.refused = "Let go over a shelf; here it stays where it was."
        else:
            x, y = spot.mm(drag.spot + drag.grip)
            drag.position = spot.shelf.position
            drag.place = nearest_free(self._plan, spot.shelf.position, drag.key, x, y)
            if drag.place is None:
                drag.refused = self._why_no_room(spot, drag.key)
        self.told.emit(drag.refused or self._say_place(drag))

    def _why_no_room(self, spot: ShelfSpot, key: int) -> str:
        assert self._plan is not None
        ware = self._plan.wares[key]
        name = f"Shelf {spot.shelf.position}"
        room = spot.shelf.clear_mm - self._plan.rules.above_mm
        if ware.high_mm(self._plan.rules) > room:
            high = show_quantity(ware.high_mm(self._plan.rules), "mm")
            return f"{name} has {show_quantity(room, 'mm')} of height to use; it is {high} high."
        return f"{name} has no room for it: take something away, or bring it to another."

    def _say_place(self, drag: Drag) -> str:
        place = drag.place
        assert place is not None
        return (
            f"Shelf {drag.position}: {show_quantity(abs(place.x_mm), 'mm')} "
            f"{'left' if place.x_mm < 0 else 'right'}, {show_quantity(abs(place.y_mm), 'mm')} "
            f"towards the {'back' if place.y_mm < 0 else 'door'}."
        )

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        drag, self._drag = self._drag, None
        self.update()
        if drag is None or not drag.moved:
            return
        if drag.on_key is not None:
            self.stack_asked.emit(drag.key, drag.on_key)
        elif drag.place is not None:
            self.moved.emit(drag.key, drag.position, drag.place.x_mm, drag.place.y_mm)
        elif drag.refused:
            self.told.emit(drag.refused)


def _top_of(places: Sequence[Place], key: int, but: int) -> Place:
    """The uppermost piece of the stack that a piece belongs to, one that is held apart."""
    place = next(one for one in places if one.key == key)
    for _ in places:
        above = next((one for one in places if one.on_key == place.key and one.key != but), None)
        if above is None:
            break
        place = above
    return place
