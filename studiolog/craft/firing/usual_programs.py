"""Usual programs to start from: shapes of *common practice*, of our own making.

``resources/tables/usual_programs.csv`` has the rates and holds; the top temperature of each is
solved from its cone (`what_if.solve`), so that the figures agree with the chart and with what the
program's page tells. Check one against your kiln and your clay before firing it.
"""

import csv
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from studiolog.craft.firing.program import Segment
from studiolog.craft.firing.what_if import solve
from studiolog.shipped import resource

TO_CHECK: Final = "Common practice: check it against your kiln and your clay before firing it."
_TOP: Final = "top"


@dataclass(frozen=True, slots=True)
class UsualProgram:
    """A usual program. ``cone`` is None for one that only dries; ``use`` says for which ware;
    ``shape`` is its segments as the table has them, with the top to be solved."""

    key: str
    name: str
    kind: str
    cone: str | None
    shape: str
    use: str
    standing: str

    @property
    def segments(self) -> tuple[Segment, ...]:
        """Its segments, the top solved from the cone."""
        return _segments(self.shape, self.cone or "")


@lru_cache(maxsize=1)
def usual_programs() -> tuple[UsualProgram, ...]:
    """All of them in the order of the table."""
    with resource("tables", "usual_programs.csv").open(encoding="utf-8", newline="") as file:
        return tuple(
            UsualProgram(
                row["key"],
                row["name"],
                row["kind"],
                row["cone"] or None,
                row["segments"],
                row["for"],
                row["standing"],
            )
            for row in csv.DictReader(file)
        )


@lru_cache(maxsize=64)
def _segments(written: str, cone: str) -> tuple[Segment, ...]:
    """ "100 120; 150 top 10": rate or "-" for none, target or "top", hold."""
    found, top_at = [], -1
    for place, words in enumerate(written.split(";")):
        rate, target, *hold = words.split()
        if target == _TOP:
            top_at = place
        found.append(
            Segment(
                None if rate == "-" else float(rate),
                0.0 if target == _TOP else float(target),
                float(hold[0]) if hold else 0.0,
            )
        )
    if top_at < 0:
        return tuple(found)
    # Any top above the rest does to begin with.
    begun = max(segment.target_c for segment in found) + 50.0
    found[top_at] = replace(found[top_at], target_c=begun)
    return solve(found, cone, "peak").segments
