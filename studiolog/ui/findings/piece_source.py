"""Pieces of an answer with their particulars read only for what is shown."""

from collections import OrderedDict
from collections.abc import Callable, Sequence

from studiolog.journal.finding import FindingRow, Hit

_KEPT = 2000
_STRETCH = 30


class PieceSource:
    """A long list of hits; ``read`` brings the rows of a few ids when they come into view."""

    def __init__(self, read: Callable[[Sequence[int]], dict[int, FindingRow]]) -> None:
        self._read = read
        self._rows: OrderedDict[int, FindingRow] = OrderedDict()
        self.hits: tuple[Hit, ...] = ()

    def show_hits(self, hits: Sequence[Hit]) -> None:
        """Take another answer; what was read before is read anew."""
        self.hits = tuple(hits)
        self._rows.clear()

    def bring(self, first: int, last: int) -> None:
        """Make sure that the rows of these places have been read."""
        wanted = [hit.piece_id for hit in self.hits[first : last + 1]]
        if all(piece_id in self._rows for piece_id in wanted):
            return
        # A whole stretch at once: the next few are wanted soon.
        stretch = self.hits[first : max(last + 1, first + _STRETCH)]
        missing = [hit.piece_id for hit in stretch if hit.piece_id not in self._rows]
        self._rows.update(self._read(missing))
        while len(self._rows) > _KEPT:
            self._rows.popitem(last=False)

    def row(self, place: int) -> FindingRow | None:
        """The particulars at a place; None if the piece is gone meanwhile."""
        piece_id = self.hits[place].piece_id
        if piece_id not in self._rows:
            self.bring(place, place)
        return self._rows.get(piece_id)
