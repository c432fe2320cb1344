"""Counting faults over very many pieces at once: groups, and on how many of each they were seen.

The facts of a whole studio come out of the database as they lie, and are sorted and counted in
columns: a group of its own for each clay, combination and cone would leave the database as many
rows as it read. A piece counts once in a group, however many of its zones are there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from sqlalchemy import BigInteger, Column, ColumnElement, Select, String, cast, func, select
from sqlalchemy.orm import Session

from studiolog.craft.words import FAULTS, fault_bit
from studiolog.records import Record
from studiolog.records.facts import NO_CONE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]

UNKNOWN: Final = NO_CONE
"""What stands in a column for a cone that is not known."""

_LOW_BITS: Final = sum(1 << 2 * place for place in range(len(FAULTS)))
_BETWEEN: Final = "\x1f"
_WIDEST_BITS: Final = 62
_KEY_LIMIT: Final = 1 << 62


def highest_id(session: Session, name: str) -> int:
    """The highest id in a table, 0 if it is empty."""
    source = Record.metadata.tables[name]
    return session.scalar(select(func.max(source.c.id))) or 0


class Field(NamedTuple):
    """A whole number that a count reads: its column, from ``least`` up to ``most``.

    An empty cell is read as ``least``.
    """

    column: ColumnElement[Any]
    least: int
    most: int


def read_columns(
    session: Session,
    found: Select[Any],
    fields: Sequence[Field],
    words: Sequence[tuple[ColumnElement[str], Places]] = (),
) -> list[Ints]:
    """The ``fields`` of every row that ``found`` finds, by columns; then the words as places.

    Handing a row over costs far more than finding it, so the database lays as many fields as fit
    into one number, and hands each column over as one text.
    """
    import numpy as np

    packs = _share_out(fields)
    numbers = [func.aggregate_strings(cast(_lay_together(pack), String), ",") for pack in packs]

    def ask(spelt: Sequence[ColumnElement[str]]) -> Sequence[Any]:
        texts = [func.aggregate_strings(column, _BETWEEN) for column in spelt]
        asked = found.with_only_columns(*numbers, *texts, maintain_column_froms=True)
        return session.execute(asked).one()

    row = ask([column for column, _ in words])
    if not row[0]:
        return [np.zeros(0, dtype=np.int64)] * (len(fields) + len(words))
    rows = row[0].count(",") + 1
    if any(text.count(_BETWEEN) != rows - 1 for text in row[len(packs) :]):
        # A word that holds the mark between words would be taken for two.
        row = ask([func.replace(column, _BETWEEN, " ") for column, _ in words])
    columns: list[Ints] = []
    for pack, text in zip(packs, row, strict=False):
        columns += _take_apart(np.fromstring(text, dtype=np.int64, sep=","), pack)
    for (_, places), text in zip(words, row[len(packs) :], strict=True):
        columns.append(places.of(text.split(_BETWEEN)))
    return columns


def _bits(field: Field) -> int:
    return (field.most - field.least).bit_length()


def _share_out(fields: Sequence[Field]) -> list[list[Field]]:
    packs: list[list[Field]] = []
    for field in fields:
        if packs and sum(map(_bits, packs[-1])) + _bits(field) <= _WIDEST_BITS:
            packs[-1].append(field)
        else:
            packs.append([field])
    return packs


def _lay_together(pack: Sequence[Field]) -> ColumnElement[int]:
    one: ColumnElement[int] | None = None
    for field in pack:
        column = field.column
        if field.least:
            column = func.coalesce(column, field.least) - field.least
        elif not isinstance(column, Column) or column.nullable:
            column = func.coalesce(column, 0)
        # Without the cast a server would reckon in as few bits as the column has.
        one = cast(column, BigInteger) if one is None else one * (1 << _bits(field)) + column
    if one is None:
        raise ValueError("nothing to read")
    return one


def _take_apart(numbers: Ints, pack: Sequence[Field]) -> list[Ints]:
    parts: list[Ints] = []
    for field in reversed(pack):
        parts.append((numbers & ((1 << _bits(field)) - 1)) + field.least)
        numbers = numbers >> _bits(field)
    return parts[::-1]


class Places:
    """Words that occur, each with its place in the order they were met."""

    def __init__(self) -> None:
        self._places: dict[str, int] = {}

    @property
    def words(self) -> tuple[str, ...]:
        return tuple(self._places)

    def of(self, column: Sequence[str]) -> Ints:
        """A column of words as places."""
        places = self._places
        for word in set(column).difference(places):
            places[word] = len(places)
        import numpy as np

        return np.fromiter(map(places.__getitem__, column), np.int64, len(column))


def seen_marks(severities: Ints, at_least: int = 1) -> Ints:
    """Two bits a fault, the lower one set where its severity is at least ``at_least`` (1 to 3)."""
    if at_least <= 1:
        return (severities | severities >> 1) & _LOW_BITS
    if at_least == 2:
        return severities >> 1 & _LOW_BITS
    return severities & severities >> 1 & _LOW_BITS


@dataclass(frozen=True)
class Tally:
    """Groups of pieces, sorted by their keys.

    ``keys`` has one array a key with a value a group; ``pieces`` counts each group's pieces.
    ``piece``, ``looked`` and ``seen`` stand for one piece in one group each, and ``starts`` says
    where each group begins among them.
    """

    keys: tuple[Ints, ...]
    pieces: Ints
    piece: Ints
    looked: Ints
    seen: Ints
    starts: Ints

    def inspected_for(self, fault: str) -> Ints:
        """How many pieces of each group were inspected for a fault."""
        return self._sum(self.looked >> _place(fault) & 1)

    def seen_on(self, fault: str) -> Ints:
        """On how many of those it was seen."""
        place = _place(fault)
        return self._sum(self.seen >> 2 * place & self.looked >> place & 1)

    def inspected_at_all(self) -> Ints:
        """How many pieces of each group were inspected for any fault."""
        return self._sum((self.looked != 0).astype(self.looked.dtype))

    def any_seen(self) -> Ints:
        """On how many pieces of each group any fault was seen."""
        return self._sum((self.seen != 0).astype(self.looked.dtype))

    def _sum(self, marks: Ints) -> Ints:
        import numpy as np

        return np.add.reduceat(marks, self.starts) if self.starts.size else self.starts


def _place(fault: str) -> int:
    return fault_bit(fault).bit_length() - 1


def tally(keys: Sequence[Ints], piece: Ints, looked: Ints, seen: Ints) -> Tally:
    """Gather rows with the same keys; masks of the same piece in a group are laid together."""
    import numpy as np

    order = _sorted_order((*keys, piece))
    keys = [key[order] for key in keys]
    piece, looked, seen = piece[order], looked[order], seen[order]
    of_group = _changes(keys)
    of_piece = of_group | _changes([piece])
    if not of_piece.all():
        firsts = np.flatnonzero(of_piece)
        keys = [key[firsts] for key in keys]
        piece, of_group = piece[firsts], of_group[firsts]
        looked = np.bitwise_or.reduceat(looked, firsts)
        seen = np.bitwise_or.reduceat(seen, firsts)
    starts = np.flatnonzero(of_group)
    return Tally(
        tuple(key[starts] for key in keys),
        np.diff(starts, append=piece.size),
        piece,
        looked,
        seen,
        starts,
    )


def _changes(columns: Sequence[Ints]) -> NDArray[np.bool_]:
    """Where a sorted row differs from the one before it; the first one does."""
    import numpy as np

    changed = np.zeros(columns[0].size, dtype=np.bool_)
    changed[:1] = True
    for column in columns:
        changed[1:] |= column[1:] != column[:-1]
    return changed


def _sorted_order(columns: Sequence[Ints]) -> Ints:
    """The order of rows by several columns, the first one first.

    One sort of one number is several times faster than a sort a column, where they fit into one.
    """
    import numpy as np

    if not columns[0].size:
        return np.zeros(0, dtype=np.int64)
    spans = [(int(column.min()), int(column.max())) for column in columns]
    sizes = [high - low + 1 for low, high in spans]
    most = 1
    for size in sizes:
        most *= size
    if most >= _KEY_LIMIT:
        return np.lexsort(columns[::-1]).astype(np.int64)
    one = np.zeros(columns[0].size, dtype=np.int64)
    for column, (low, _), size in zip(columns, spans, sizes, strict=True):
        one = one * size + (column - low)
    return np.argsort(one).astype(np.int64)
