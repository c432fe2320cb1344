"""The table of segments: how it reads and writes them in the unit of the potter."""

from collections.abc import Sequence

from studiolog.craft.firing import program as plan
from studiolog.craft.units import (
    celsius_from_fahrenheit,
    celsius_step_from_fahrenheit,
    fahrenheit_from_celsius,
    fahrenheit_step_from_celsius,
)
from studiolog.journal.programs import SegmentDraft
from studiolog.ui.parts.grid_editor import Cell, GridColumn
from studiolog.ui.plots.plotted_firing import PlottedSegment


def segment_columns(unit: str) -> tuple[GridColumn, ...]:
    """Rate, target and hold in the unit the potter reads."""
    hottest = 1450.0 if unit == "C" else 2642.0
    return (
        GridColumn("Rate", "number", f"°{unit}/h", 0, 1, 2000 if unit == "C" else 3600, width=0),
        GridColumn("Target", "number", f"°{unit}", 0, 0, hottest, needed=True),
        GridColumn("Hold", "number", "min", 0, 0, 10080),
    )


def cells_of(segments: Sequence[SegmentDraft], unit: str) -> list[tuple[Cell, ...]]:
    """Segments as the table shows them."""
    rows: list[tuple[Cell, ...]] = []
    for one in segments:
        rate, target = one.rate_c_per_h, one.target_c
        if unit == "F":
            rate = None if rate is None else fahrenheit_step_from_celsius(rate)
            target = fahrenheit_from_celsius(target)
        rows.append(
            (
                None if rate is None else round(rate, 6),
                round(target, 6),
                one.hold_min or None,
            )
        )
    return rows


def segments_of(rows: Sequence[tuple[Cell, ...]], unit: str) -> tuple[SegmentDraft, ...]:
    """Segments in °C as they stand in the table; cells are numbers or empty."""
    found = []
    for row in rows:
        rate, target, hold = (None if cell is None else float(str(cell)) for cell in row)
        assert target is not None
        if unit == "F":
            rate = None if rate is None else round(celsius_step_from_fahrenheit(rate), 6)
            target = round(celsius_from_fahrenheit(target), 6)
        found.append(SegmentDraft(rate, target, hold or 0.0))
    return tuple(found)


def planned(segments: Sequence[SegmentDraft]) -> list[plan.Segment]:
    """Segments as the sums take them."""
    return [plan.Segment(one.rate_c_per_h, one.target_c, one.hold_min) for one in segments]


def drafts_of(steps: Sequence[plan.Segment]) -> tuple[SegmentDraft, ...]:
    """The other way round: segments as they are kept."""
    return tuple(SegmentDraft(one.rate_c_per_h, one.target_c, one.hold_min) for one in steps)


def plotted_segments(steps: Sequence[plan.Segment]) -> tuple[PlottedSegment, ...]:
    """Each step with when it starts and ends, for the numbers on the plot."""
    found, start_s = [], 0.0
    for number, step in enumerate(steps, start=1):
        end_s = plan.duration_s(steps[:number])
        found.append(PlottedSegment(number, start_s, end_s, step.rate_c_per_h))
        start_s = end_s
    return tuple(found)
