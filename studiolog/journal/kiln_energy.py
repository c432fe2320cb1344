"""What a kiln used and cost over a year, by kind of firing, and how well that is known."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.money import add_up, share_of
from studiolog.craft.words import FIRING_KINDS
from studiolog.journal.firing_energy import NO_PRICE, FiringEnergy, read_energy_of
from studiolog.journal.studio import read_currency
from studiolog.records.firings import Firing

_YEAR = timedelta(days=365)


@dataclass(frozen=True)
class KindEnergy:
    """The firings of one kind in a kiln over a time: means of those whose energy is told."""

    kind: str
    firings: int
    by_basis: Mapping[str, int]
    kwh: float | None
    cost: Decimal | None
    costed: int
    cost_per_l: Decimal | None
    cost_per_piece: Decimal | None
    pieces: int

    @property
    def words(self) -> str:
        """ "bisque"."""
        return FIRING_KINDS[self.kind]

    @property
    def told(self) -> int:
        """Firings whose energy is told."""
        return sum(self.by_basis.values())


@dataclass(frozen=True)
class KilnEnergy:
    """What a kiln used and cost in the twelve months up to its newest firing."""

    since: datetime | None
    until: datetime | None
    kinds: tuple[KindEnergy, ...]
    kwh: float
    cost: Decimal | None
    missing: tuple[str, ...] = ()
    currency: str = ""

    @property
    def firings(self) -> int:
        """All firings of that time."""
        return sum(kind.firings for kind in self.kinds)


def read_kiln_energy(session: Session, kiln_id: int) -> KilnEnergy:
    """What a kiln used and cost in the twelve months up to its newest firing, by kind."""
    newest = session.scalar(select(func.max(Firing.started_at)).where(Firing.kiln_id == kiln_id))
    if newest is None:
        return KilnEnergy(None, None, (), 0.0, None)
    since = newest - _YEAR
    rows = session.execute(
        select(Firing.id, Firing.kind, Firing.started_at)
        .where(Firing.kiln_id == kiln_id, Firing.started_at > since)
        .order_by(Firing.started_at, Firing.id)
    ).all()
    told = read_energy_of(session, [row.id for row in rows])
    by_kind: dict[str, list[FiringEnergy]] = defaultdict(list)
    for row in rows:
        by_kind[row.kind].append(told[row.id])
    costs = [cost for line in told.values() if (cost := line.cost_value) is not None]
    return KilnEnergy(
        rows[0].started_at,
        newest,
        tuple(_sum_up(kind, by_kind[kind]) for kind in FIRING_KINDS if kind in by_kind),
        sum(line.used.kwh for line in told.values() if line.used is not None),
        add_up(costs) if costs else None,
        _missing_of(list(told.values())),
        read_currency(session),
    )


def _sum_up(kind: str, lines: Sequence[FiringEnergy]) -> KindEnergy:
    bases: dict[str, int] = defaultdict(int)
    for line in lines:
        if line.used is not None:
            bases[line.used.basis] += 1
    kwh = [line.used.kwh for line in lines if line.used is not None]
    costed = [line for line in lines if line.cost_value is not None]
    cost = add_up(line.cost_value or Decimal(0) for line in costed)
    loaded = [line for line in costed if line.pieces]
    pieces = sum(line.pieces for line in loaded)
    litres = sum(line.volume_l or 0.0 for line in costed)
    return KindEnergy(
        kind,
        len(lines),
        dict(bases),
        sum(kwh) / len(kwh) if kwh else None,
        cost / len(costed) if costed else None,
        len(costed),
        share_of(cost, litres) if costed else None,
        share_of(add_up(line.cost_value or Decimal(0) for line in loaded), pieces),
        pieces,
    )


def _missing_of(lines: Sequence[FiringEnergy]) -> tuple[str, ...]:
    """What is missing for whole kilns, once each."""
    said: list[str] = []
    untold = sum(1 for line in lines if line.used is None)
    if untold:
        firings = "1 firing" if untold == 1 else f"{untold} firings"
        said.append(
            f"{firings} with neither meter, power nor log: not counted. Read the meter, or give "
            "the kiln's power."
        )
    if any(NO_PRICE in line.missing for line in lines):
        said.append(NO_PRICE)
    if lines and all(line.volume_l is None for line in lines):
        said.append("The cost of a litre needs the kiln's volume.")
    return tuple(said)
