"""How often each fault was seen among pieces inspected for it, from the facts.

A piece counts once, however many of its zones answer. One never inspected for a fault is not in
that fault's count at all: it is neither sound nor faulty.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from studiolog.craft.evidence.rates import wilson
from studiolog.craft.words import FAULTS


@dataclass(frozen=True)
class FaultRate:
    """One fault: pieces inspected for it, pieces it was seen on, and the Wilson interval."""

    fault: str
    inspected: int
    seen: int
    low: float
    high: float

    @property
    def rate(self) -> float | None:
        """The share seen; None where nobody looked."""
        return self.seen / self.inspected if self.inspected else None


@dataclass(frozen=True)
class RateGroup:
    """Some pieces and their fault rates; ``inspected`` were looked at for any fault at all."""

    pieces: int
    inspected: int
    rates: tuple[FaultRate, ...]

    def rate_of(self, fault: str) -> FaultRate:
        """The rate of one fault, empty if nobody looked for it."""
        found = next((rate for rate in self.rates if rate.fault == fault), None)
        return found or FaultRate(fault, 0, 0, 0.0, 1.0)


def group_rates(looks: Iterable[tuple[int, int, int]]) -> RateGroup:
    """Rates from rows of (piece id, looked mask, seen mask), one or more a piece.

    Only faults somebody looked for are listed, in the order of the fault words.
    """
    looked: dict[int, int] = defaultdict(int)
    seen: dict[int, int] = defaultdict(int)
    for piece_id, looked_mask, seen_mask in looks:
        looked[piece_id] |= looked_mask
        seen[piece_id] |= seen_mask
    rates = []
    for bit, fault in enumerate(FAULTS):
        inspected = sum(mask >> bit & 1 for mask in looked.values())
        if inspected:
            events = sum(
                seen[piece_id] >> bit & mask >> bit & 1 for piece_id, mask in looked.items()
            )
            rates.append(FaultRate(fault, inspected, events, *wilson(events, inspected)))
    return RateGroup(len(looked), sum(1 for mask in looked.values() if mask), tuple(rates))
