"""How far sets of ware are: whole sets that stand finished, that have left, and what is short."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.held_pieces import Lot, Progress, count_for_parts
from studiolog.records.orders import SetPart, WareSet


@dataclass(frozen=True)
class PartCount:
    """A part of a set: ``each`` pieces in one set, and the pieces that belong to it."""

    part_id: int
    each: int
    lots: tuple[Lot, ...] = ()

    def progress(self, sets: int) -> Progress:
        """How far it is where so many sets are wanted."""
        return Progress(self.each * sets, self.lots)


@dataclass(frozen=True)
class SetCount:
    """A set with its parts. A whole set is as many of every part as one set has."""

    set_id: int
    wanted: int
    parts: tuple[PartCount, ...]

    def wanting(self, sets: int) -> "SetCount":
        """The same where an order asks for so many, if that is more."""
        return replace(self, wanted=max(self.wanted, sets))

    @property
    def pieces_each(self) -> int:
        """Pieces in one set."""
        return sum(part.each for part in self.parts)

    @property
    def finished(self) -> int:
        """Whole sets finished, those that have left included."""
        return self._whole("finished")

    @property
    def shipped(self) -> int:
        """Whole sets that have left."""
        return self._whole("shipped")

    @property
    def ready(self) -> int:
        """Whole sets that stand finished and are still here."""
        return self._whole("ready")

    def _whole(self, what: str) -> int:
        counted = (getattr(part.progress(self.wanted), what) // part.each for part in self.parts)
        return min(counted, default=0)

    @property
    def to_start(self) -> int:
        """Pieces of all parts that nobody has begun."""
        return sum(part.progress(self.wanted).to_start for part in self.parts)


def count_sets(session: Session, set_ids: Iterable[int]) -> Mapping[int, SetCount]:
    """How far each of these sets is."""
    ids = list(set_ids)
    wanted = {
        row.id: row.wanted
        for row in session.execute(select(WareSet.id, WareSet.wanted).where(WareSet.id.in_(ids)))
    }
    parts = session.execute(
        select(SetPart.id, SetPart.set_id, SetPart.each)
        .where(SetPart.set_id.in_(ids))
        .order_by(SetPart.position, SetPart.id)
    ).all()
    held = count_for_parts(session, [part.id for part in parts])
    found: dict[int, list[PartCount]] = {set_id: [] for set_id in wanted}
    for part in parts:
        found[part.set_id].append(PartCount(part.id, part.each, held.get(part.id, ())))
    return {set_id: SetCount(set_id, wanted[set_id], tuple(found[set_id])) for set_id in wanted}
