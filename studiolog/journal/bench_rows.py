"""A run as a row of the bench: plain values, to be shown before a database is loaded."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from studiolog.journal.profiles import Profile

DONE = ("finished", "lost")


@dataclass(frozen=True)
class FormLook:
    """What is needed to draw a form; sizes fired, in mm."""

    name: str
    shape: str
    profile: Profile | None
    height_mm: float | None
    across_mm: float | None


@dataclass(frozen=True)
class ServedOrder:
    """The order a run is made for."""

    order_id: int
    line_id: int
    number: int
    whom: str
    promised_on: date | None
    state: str


@dataclass(frozen=True)
class PackedIn:
    """So many pieces stand in a firing they have not come out of."""

    firing_id: int
    number: int
    stage: str
    pieces: int


@dataclass(frozen=True)
class BenchRow:
    """A run on the bench.

    ``counts`` are all its pieces by stage, ``counted`` those without a number of their own.
    ``since`` is when the first of those at ``youngest`` reached it.
    """

    run_id: int
    version: int
    number: int
    title: str
    form: FormLook | None
    clay: str
    purpose: str
    made_on: date
    order: ServedOrder | None
    counts: Mapping[str, int]
    counted: Mapping[str, int]
    lost: tuple[tuple[str, int], ...]
    youngest: str | None
    since: datetime | None
    packed: tuple[PackedIn, ...]

    @property
    def name(self) -> str:
        """What the run is called: its own title, else its form's name."""
        return self.title or (self.form.name if self.form else "") or f"Run {self.number}"

    @property
    def made(self) -> int:
        return sum(self.counts.values())

    @property
    def in_hand(self) -> int:
        """Pieces neither finished nor lost."""
        return sum(pieces for stage, pieces in self.counts.items() if stage not in DONE)

    @property
    def good(self) -> int:
        """Pieces not lost so far."""
        return self.made - self.counts.get("lost", 0)
