"""How the tiles of a plan lie, drawn small on a page: each a square with its code."""

from collections.abc import Sequence
from dataclasses import dataclass

from studiolog.paper.board import CAP, Board
from studiolog.paper.lettering import MM_PER_PT, width_mm
from studiolog.paper.page import Extent, Words

_GAP = 0.18
"""Between tiles, in parts of a tile."""
_LARGEST_MM = 13.0
_SMALLEST_PT = 3.5
_LETTERS_PT = 7.5


@dataclass(frozen=True, slots=True)
class TilePlace:
    """A tile's code and its middle, in tiles from the upper left corner."""

    code: str
    spot: tuple[float, float]


def draw_places(board: Board, room: Extent, places: Sequence[TilePlace]) -> float:
    """Draw the tiles within ``room``, as large as they may be; returns the y below them."""
    if not places:
        return room.top_mm
    across = max(place.spot[0] + 0.5 for place in places)
    down = max(place.spot[1] + 0.5 for place in places)
    step = min(
        (room.right_mm - room.left_mm) / across,
        (room.bottom_mm - room.top_mm) / down,
        _LARGEST_MM,
    )
    side = step * (1 - _GAP)
    widest = max(width_mm(place.code, 1.0, bold=True) for place in places)
    # All codes in one size: the longest decides.
    size = min(_LETTERS_PT, (side - 0.6) / widest, (side - 0.6) / MM_PER_PT)
    for place in places:
        x = room.left_mm + place.spot[0] * step
        y = room.top_mm + place.spot[1] * step
        _outline(board, x - side / 2, y - side / 2, side)
        if size >= _SMALLEST_PT:
            line = y + CAP * size * MM_PER_PT / 2
            board.marks.append(Words(x, line, place.code, size, side - 0.4, True, "centre"))
    return room.top_mm + down * step


def _outline(board: Board, x: float, y: float, side: float) -> None:
    """A square as a line round it: its code stands inside."""
    corners = ((x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y))
    board.path(corners, 0.2, "soft")
