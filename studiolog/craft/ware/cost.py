"""What a good piece of a form costs: what goes into each piece, with the losses spread over those
that come through.

Money is Decimal throughout; what is measured (kWh, grams, minutes) becomes money where it is
priced. A piece that is lost has cost what went into it until then: a bowl that splits while it is
trimmed has cost clay and two steps, one that dunts has cost everything. So each cost is borne by
as many pieces as get so far for one that comes through.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from studiolog.craft.money import add_up, exact

PATH: Final = ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired")
"""The stages at which a piece may be lost, in order."""

PARTS: Final[Mapping[str, tuple[str, str]]] = {
    "clay": ("clay", "wet"),
    "bisque": ("share of the bisque", "bone_dry"),
    "glaze": ("glaze", "bisque"),
    "firing": ("share of the glaze firing", "glazed"),
}
"""What goes into a piece besides work: its words, and the stage a piece has that it is spent on.
A place in a kiln is paid for by what comes out cracked as well."""


@dataclass(frozen=True, slots=True)
class Spent:
    """What one piece takes of something; ``each`` None where it is not known.

    ``part`` is a key of `PARTS`; ``basis`` says in words how it is known.
    """

    part: str
    each: Decimal | None
    basis: str = ""


@dataclass(frozen=True, slots=True)
class Worked:
    """Minutes of work on one piece at a stage, all persons' together; None where not known."""

    name: str
    stage: str
    minutes: float | None
    basis: str = ""


@dataclass(frozen=True, slots=True)
class CostLine:
    """A part of the cost: of one piece that gets there, and of one that comes through.

    ``begun`` is how many get there for each that comes through. ``minutes`` is of work alone.
    """

    part: str
    words: str
    each: Decimal | None
    begun: float
    basis: str
    minutes: float | None = None

    @property
    def good(self) -> Decimal | None:
        """What a good piece bears of it."""
        return None if self.each is None else self.each * exact(self.begun)


@dataclass(frozen=True, slots=True)
class FormCost:
    """What one good piece of a form costs, in parts; ``hour_rate`` None values no work.

    ``missing`` are the parts nobody knows: the cost is then at least what it says.
    """

    lines: tuple[CostLine, ...]
    work: tuple[CostLine, ...]
    lost_share: float
    hour_rate: Decimal | None
    price: Decimal | None

    @property
    def missing(self) -> tuple[str, ...]:
        return tuple(line.words for line in self.lines if line.each is None)

    @property
    def untimed(self) -> tuple[str, ...]:
        """Steps whose minutes nobody said."""
        return tuple(line.words for line in self.work if line.minutes is None)

    @property
    def known(self) -> bool:
        """Whether any part of the cost is known."""
        return any(line.each is not None for line in self.lines)

    @property
    def things(self) -> Decimal:
        """Clay, glaze and firing of a good piece, as far as known."""
        return add_up(line.good or Decimal(0) for line in self.lines)

    @property
    def minutes(self) -> float | None:
        """Minutes of work for a good piece; None where no step is timed."""
        timed = [line.minutes * line.begun for line in self.work if line.minutes is not None]
        return sum(timed) if timed else None

    @property
    def work_cost(self) -> Decimal | None:
        """What its work is to earn; None without minutes or rate."""
        if self.minutes is None or self.hour_rate is None:
            return None
        return self.hour_rate * exact(self.minutes) / 60

    @property
    def cost(self) -> Decimal:
        """Things and work of a good piece, as far as known."""
        return self.things + (self.work_cost or Decimal(0))

    @property
    def for_losses(self) -> Decimal:
        """How much of the cost is there because some are lost."""
        plain = add_up(line.each or Decimal(0) for line in self.lines)
        if self.hour_rate is not None:
            timed = sum(line.minutes for line in self.work if line.minutes is not None)
            plain += self.hour_rate * exact(timed) / 60
        return self.cost - plain

    @property
    def margin(self) -> Decimal | None:
        """What the price leaves over the cost; None without a price."""
        return None if self.price is None else self.price - self.cost

    @property
    def earns_an_hour(self) -> Decimal | None:
        """What an hour of the work brings once clay, glaze and firing are paid."""
        if self.price is None or not self.minutes:
            return None
        return (self.price - self.things) * 60 / exact(self.minutes)

    @property
    def pays(self) -> bool | None:
        """Whether it pays for its hours; None where that can't be told."""
        if self.earns_an_hour is None or self.hour_rate is None:
            return None
        return self.earns_an_hour >= self.hour_rate


def cost_form(
    spent: Sequence[Spent],
    work: Sequence[Worked],
    losses: Mapping[str, float],
    hour_rate: Decimal | None = None,
    price: Decimal | None = None,
) -> FormCost:
    """The cost of a good piece. ``losses`` is the share lost at each stage of `PATH`, 0 to below 1;
    a stage that is not named loses none.

    Raises ValueError for a share that can't be: with all lost there is no good piece to cost.
    """
    for stage, share in losses.items():
        if stage not in PATH:
            raise ValueError(f"{stage!r} is no stage at which a piece is lost")
        if not 0.0 <= share < 1.0:
            raise ValueError(f"the share lost at {stage} lies from 0 to below 1, not at {share}")
    begun, left = {}, 1.0
    for stage in reversed(PATH):
        left *= 1.0 - losses.get(stage, 0.0)
        begun[stage] = 1.0 / left
    begun["finished"] = 1.0
    lines = tuple(
        CostLine(one.part, PARTS[one.part][0], one.each, begun[PARTS[one.part][1]], one.basis)
        for one in spent
    )
    steps = tuple(
        CostLine(
            "work",
            one.name,
            hour_rate * exact(one.minutes) / 60
            if hour_rate is not None and one.minutes is not None
            else None,
            begun[one.stage],
            one.basis,
            one.minutes,
        )
        for one in work
    )
    return FormCost(lines, steps, 1.0 - left, hour_rate, price)
