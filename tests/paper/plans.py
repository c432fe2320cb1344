"""Planned firings to lay out: one as most are, and those that are hard to get on a page."""

from decimal import Decimal
from functools import lru_cache

from studiolog.craft.firing.energy import expect_use
from studiolog.journal.planned_firing import PlannedFiring
from studiolog.journal.programs import SegmentDraft
from studiolog.paper.firing_sheet import lay_out_firing_sheet

GLAZE_SIX = PlannedFiring(
    studio="Tern Yard",
    kiln="Big kiln",
    levels=("top", "middle", "bottom"),
    heading="Cone 6 slow cool",
    number=95,
    cone="6",
    segments=(
        SegmentDraft(150, 600),
        SegmentDraft(180, 1100),
        SegmentDraft(60, 1204, 15),
        SegmentDraft(None, 1000),
        SegmentDraft(60, 780),
        SegmentDraft(None, 100),
    ),
    expected=expect_use([65.0, 61.2, 60.0], 8.0, 8.6),
    cost=(Decimal("12.24"), Decimal("18.97")),
    next_time="Hold five minutes longer, the top was cool.",
    next_time_from=94,
    notes="For a full kiln of tumblers.",
)

CROWDED = PlannedFiring(
    studio="Tern Yard, the studio by the sea at the end of the long lane",
    kiln="The old top-loading kiln under the stairs of the back room",
    levels=tuple(f"level {number} of the tall stack, by the door" for number in range(14)),
    heading="A program with a name of sixty letters, which is rather long",
    number=12845,
    kind="bisque",
    cone="05.5",
    atmosphere="neutral",
    segments=tuple(SegmentDraft(150 + n, 60 + 40 * n, 600) for n in range(1, 28)),
    expected=expect_use([], 8.0, 306.75, "bisque"),
    cost=(Decimal("383.44"), Decimal("383.44")),
    next_time="Hold five minutes longer, the top was cool. " * 8,
    next_time_from=12844,
    notes="For a full kiln of tumblers, bowls and the lids of jars. " * 9,
    meter_before_kwh=123456.7,
)

ENDLESS = PlannedFiring(
    heading="Gefäßbrand für sehr große Stücke 大きな壺 " * 4,
    kiln="W" * 60,
    levels=tuple(f"{number}" * 20 for number in range(30)),
    segments=tuple(SegmentDraft(1, 100 + n % 2, 10080) for n in range(64)),
)

UNPLANNED = PlannedFiring(studio="Tern Yard", kiln="Big kiln", levels=("top", "bottom"))
NOT_WHOLE = PlannedFiring(heading="Half typed", segments=(SegmentDraft(100, 20),))
CANDLING = PlannedFiring(heading="Candling", cone="022", segments=(SegmentDraft(30, 90, 480),))

ALL = {
    "as most are": GLAZE_SIX,
    "crowded": CROWDED,
    "endless": ENDLESS,
    "without a program": UNPLANNED,
    "not whole": NOT_WHOLE,
    "only candled": CANDLING,
}

lay_out = lru_cache(lay_out_firing_sheet)
"""Many tests look at the same page."""
