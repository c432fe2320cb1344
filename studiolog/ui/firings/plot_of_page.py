"""What the plot of a firing draws, put together from its page."""

from collections.abc import Sequence

from studiolog.craft.firing.cones import cone_at, ordinal_of, show_cone
from studiolog.craft.firing.program import ROOM_C, Segment, find_problems, planned_points
from studiolog.craft.firing.steps import FollowedStep, find_shortfall_c, follow_program
from studiolog.craft.units import show_duration, show_number, show_temperature
from studiolog.journal.firing_page import EarlierCurve, FiringPage
from studiolog.ui.plots.plot_ticks import Unit, write_elapsed
from studiolog.ui.plots.plotted_firing import (
    ConePassing,
    PlotFiring,
    PlottedCurve,
    PlottedSegment,
    QuartzCrossing,
    Span,
)

# A programmed fall slower than this, from above red heat, is slow cooling (common practice).
_SLOW_COOL_C_PER_H = 110.0
_SLOW_COOL_ABOVE_C = 600.0
# A free fall to less than this is the kiln left alone until it can be opened.
_LEFT_ALONE_C = 200.0


def plan_of(page: FiringPage) -> tuple[Segment, ...]:
    """The program as it was set for the firing, as the craft reads it."""
    return tuple(Segment(s.rate_c_per_h, s.target_c, s.hold_min) for s in page.segments)


def plot_of_page(
    page: FiringPage,
    unit: Unit,
    segments: Sequence[Segment] | None = None,
    earlier: Sequence[EarlierCurve] = (),
) -> PlotFiring:
    """The plot of a firing. ``segments`` are those being typed, in place of the stored ones."""
    plan = tuple(segments) if segments is not None else plan_of(page)
    if plan and find_problems(plan):
        plan = ()
    program_s, program_c = _planned_curve(plan)
    curve, facts = page.main_curve, page.facts
    base = PlotFiring(
        program_s=program_s,
        program_c=program_c,
        started_at=page.started_at,
        aimed_cone=show_cone(page.cone) if page.cone else "",
        number=str(page.number),
        segments=_planned_steps(plan),
    )
    if curve is None or not curve.elapsed_s.size:
        return base
    followed = follow_program(plan, curve.elapsed_s, curve.temperature_c) if plan else ()
    others = tuple(
        PlottedCurve(extra.channel, extra.elapsed_s.tolist(), extra.temperature_c.tolist())
        for extra in page.curves
        if not extra.main and extra.role == "measured"
    )
    crossings = tuple(
        QuartzCrossing(crossing.elapsed_s, crossing.rate_c_per_h)
        for crossing in (
            (facts.quartz_up, facts.quartz_down) if facts is not None else (None, None)
        )
        if crossing is not None and crossing.rate_c_per_h is not None
    )
    return PlotFiring(
        curve_s=curve.elapsed_s.tolist(),
        curve_c=curve.temperature_c.tolist(),
        extra_channels=others,
        program_s=program_s,
        program_c=program_c,
        started_at=page.started_at,
        segments=_steps(page, plan, followed, unit),
        cone_passings=_passings(page),
        aimed_cone=base.aimed_cone,
        hold_band=_hold_band(plan, followed),
        slow_cool_band=_slow_cool_band(plan, followed),
        gaps=curve.gaps,
        earlier=tuple(
            PlottedCurve(str(e.number), e.elapsed_s.tolist(), e.temperature_c.tolist())
            for e in earlier
        ),
        quartz_crossings=crossings,
        dropped_count=curve.readings_dropped,
        number=str(page.number),
        where=f"from “{curve.channel}”" if len(page.curves) > 1 else "",
        rate_note=_rate_note(page, plan, unit),
    )


def _planned_curve(plan: Sequence[Segment]) -> tuple[list[float], list[float]]:
    if not plan:
        return [], []
    at_s, temperature_c = planned_points(plan)
    return at_s.tolist(), temperature_c.tolist()


def _passings(page: FiringPage) -> tuple[ConePassing, ...]:
    """The cones worth marking: those just under and over the aim, and 04 where bisque ends."""
    facts = page.facts
    if facts is None or not facts.passings:
        return ()
    names = [p.cone for p in facts.passings]
    top = ordinal_of(page.cone) if page.cone else ordinal_of(names[-1])
    wanted = {cone_at(top - down) for down in (-1, 0, 1, 2, 5) if top - down >= -21}
    if top > 2:
        wanted.add("04")
    return tuple(
        ConePassing(show_cone(p.cone), p.elapsed_s, p.temperature_c)
        for p in facts.passings
        if p.cone in wanted
    )


def _planned_steps(plan: Sequence[Segment]) -> tuple[PlottedSegment, ...]:
    """The steps of a program that no log tells about yet, where they are planned."""
    steps: list[PlottedSegment] = []
    here, at_s = ROOM_C, 0.0
    for place, segment in enumerate(plan):
        end_s = float(planned_points(plan[: place + 1])[0][-1])
        hold_s = segment.hold_min * 60.0
        rising = segment.target_c > here
        if segment.target_c != here:
            rate, words = _planned(segment, rising)
            steps.append(
                PlottedSegment(len(steps) + 1, at_s, end_s - hold_s, rate, None, planned_text=words)
            )
        if hold_s:
            words = f"hold {show_duration(hold_s)}"
            steps.append(PlottedSegment(len(steps) + 1, end_s - hold_s, end_s, planned_text=words))
        here, at_s = segment.target_c, end_s
    return tuple(steps)


def _planned(segment: Segment, rising: bool) -> tuple[float | None, str]:
    if segment.rate_c_per_h is None:
        return None, "as fast as it goes" if rising else "left to cool"
    return (segment.rate_c_per_h if rising else -segment.rate_c_per_h), ""


def _steps(
    page: FiringPage, plan: Sequence[Segment], followed: Sequence[FollowedStep], unit: Unit
) -> tuple[PlottedSegment, ...]:
    """The steps of the program where the log says that they happened."""
    steps: list[PlottedSegment] = []
    facts = page.facts
    for step in followed:
        segment = plan[step.segment]
        number = len(steps) + 1
        if step.hold:
            if step.end_s - step.start_s < 60:
                continue
            steps.append(
                PlottedSegment(
                    number,
                    step.start_s,
                    step.end_s,
                    planned_text=f"hold {show_duration(segment.hold_min * 60)}",
                    logged_text=f"held {show_number(step.held_min or 0)}",
                )
            )
            continue
        here = plan[step.segment - 1].target_c if step.segment else ROOM_C
        rate, words = _planned(segment, segment.target_c > here)
        free = segment.rate_c_per_h is None
        told = ""
        to_room = free and segment.target_c < min(here, _LEFT_ALONE_C)
        if to_room and facts is not None and facts.to_100_s is not None:
            told = f"{show_temperature(100, unit)} after {write_elapsed(facts.to_100_s)}"
        steps.append(
            PlottedSegment(
                number,
                step.start_s,
                step.end_s,
                rate,
                None if told else step.rate_c_per_h,
                planned_text=words,
                logged_text=told,
            )
        )
    curve = page.main_curve
    last = followed[-1] if followed else None
    if curve is not None and last is not None and plan:
        end_s = float(curve.elapsed_s[-1])
        # A program that ends at the top leaves the kiln to itself.
        if end_s - last.end_s > 3600 and float(curve.temperature_c[-1]) < plan[-1].target_c - 100:
            told = ""
            if facts is not None and facts.to_100_s is not None:
                told = f"{show_temperature(100, unit)} after {write_elapsed(facts.to_100_s)}"
            steps.append(
                PlottedSegment(
                    len(steps) + 1,
                    last.end_s,
                    end_s,
                    planned_text="left to cool",
                    logged_text=told,
                )
            )
    return tuple(steps)


def _hold_band(plan: Sequence[Segment], followed: Sequence[FollowedStep]) -> Span | None:
    top = max((segment.target_c for segment in plan), default=0.0)
    for step in followed:
        if step.hold and plan[step.segment].target_c == top and step.end_s - step.start_s >= 60:
            return step.start_s, step.end_s
    return None


def _slow_cool_band(plan: Sequence[Segment], followed: Sequence[FollowedStep]) -> Span | None:
    spans: list[Span] = []
    for step in followed:
        segment = plan[step.segment]
        before = plan[step.segment - 1].target_c if step.segment else ROOM_C
        falls = segment.target_c < before and segment.rate_c_per_h is not None
        slow = falls and (segment.rate_c_per_h or 0.0) <= _SLOW_COOL_C_PER_H
        falling = not step.hold and slow and segment.target_c >= _SLOW_COOL_ABOVE_C
        resting = step.hold and bool(spans) and spans[-1][1] == step.start_s
        if falling or resting:
            spans.append((step.start_s, step.end_s))
    return (spans[0][0], spans[-1][1]) if spans else None


def _rate_note(page: FiringPage, plan: Sequence[Segment], unit: Unit) -> tuple[str, str]:
    curve = page.main_curve
    if curve is None or not plan:
        return "", ""
    short_c = find_shortfall_c(plan, curve.elapsed_s, curve.temperature_c)
    if short_c is None:
        return "", ""
    return (
        f"short of the program above {show_temperature(short_c, unit)}",
        "under 0.8 of the rate for 20 min: measure the elements, look at the load",
    )
