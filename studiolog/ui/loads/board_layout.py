"""Where each shelf of a load is drawn, and what of the kiln a spot of the drawing is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF

from studiolog.craft.ware.load_plan import LoadPlan, PlannedShelf

CAPTION_HIGH = 24.0
GAP = 20.0
TRAY_HEAD = 24.0
CELL = 64.0
_INSET = 5.0
"""Room for the outline of a shelf, and of the board when it has the keyboard."""
_WIDEST = 420.0
_NARROWEST = 250.0


@dataclass(frozen=True)
class ShelfSpot:
    """A shelf as it is drawn: ``box`` holds the whole shelf's outline, ``scale`` px a mm."""

    shelf: PlannedShelf
    box: QRectF
    scale: float

    def at(self, x_mm: float, y_mm: float) -> QPointF:
        """Where a place of the shelf is drawn."""
        middle = self.box.center()
        return QPointF(middle.x() + x_mm * self.scale, middle.y() + y_mm * self.scale)

    def mm(self, spot: QPointF) -> tuple[float, float]:
        """The place of the shelf that a spot of the drawing is."""
        middle = self.box.center()
        return (spot.x() - middle.x()) / self.scale, (spot.y() - middle.y()) / self.scale


@dataclass(frozen=True)
class BoardLayout:
    """All shelves, and the tray of what has no place yet under them."""

    spots: tuple[ShelfSpot, ...]
    tray: QRectF
    cells: tuple[QRectF, ...]
    high: float

    def spot_of(self, position: int) -> ShelfSpot | None:
        """How a shelf is drawn."""
        return next((one for one in self.spots if one.shelf.position == position), None)

    def shelf_at(self, spot: QPointF) -> ShelfSpot | None:
        """The shelf under a spot; where two halves share a box, the half that it is on."""
        for one in self.spots:
            if not one.box.contains(spot):
                continue
            part = one.shelf.part
            left = spot.x() < one.box.center().x()
            if part == "full" or (part == "left") == left:
                return one
        return None


def abreast(wide: float, count: int) -> int:
    """How many shelves stand beside each other."""
    return max(1, min(count, int((wide + GAP) // (_NARROWEST + GAP))))


def lay_board(plan: LoadPlan, wide: float, unplaced: int) -> BoardLayout:
    """Lay shelves out from the top of the kiln to its floor, in rows; a tray under them.

    ``unplaced`` is how many cells the tray has.
    """
    shelves: Sequence[PlannedShelf] = tuple(reversed(plan.shelves))
    across, deep = plan.kiln.across_mm, plan.kiln.deep_mm
    if plan.kiln.shape == "hexagon":
        deep = across * 2 / 3**0.5  # corners at back and door
    columns = abreast(wide, max(1, len(shelves)))
    room = min(_WIDEST, (wide - 2 * _INSET - GAP * (columns - 1)) / columns)
    scale = room / max(across, 1.0)
    shelf_high = deep * scale
    spots = []
    top = 0.0
    for place, shelf in enumerate(shelves):
        row, column = divmod(place, columns)
        top = row * (shelf_high + CAPTION_HIGH + GAP)
        left = _INSET + column * (room + GAP)
        spots.append(ShelfSpot(shelf, QRectF(left, top + CAPTION_HIGH, room, shelf_high), scale))
    rows = (len(shelves) + columns - 1) // columns
    bottom = rows * (shelf_high + CAPTION_HIGH + GAP)
    if not unplaced:
        return BoardLayout(tuple(spots), QRectF(), (), max(bottom - GAP + _INSET, 1.0))
    in_row = max(1, int((wide - 2 * _INSET) // CELL))
    cells = tuple(
        QRectF(
            _INSET + (n % in_row) * CELL,
            bottom + TRAY_HEAD + (n // in_row) * CELL,
            CELL - 4,
            CELL - 4,
        )
        for n in range(unplaced)
    )
    high = TRAY_HEAD + CELL * ((unplaced + in_row - 1) // in_row)
    return BoardLayout(
        tuple(spots), QRectF(_INSET, bottom, wide - 2 * _INSET, high), cells, bottom + high + _INSET
    )
