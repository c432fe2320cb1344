"""What the plot of a firing draws, put together from its page."""

from collections.abc import Sequence

from studiolog.craft.firing.cones import show_cone
from studiolog.craft.firing.program import ROOM_C, Segment, find_problems, planned_points
from studiolog.craft.units import show_duration, show_number, show_temperature
from studiolog.journal.curve_steps import CurveSteps, FollowedStep, FoundSegment, lay_program
from studiolog.journal.firing_log import TYPED
from studiolog.journal.firing_page import EarlierCurve, FiringPage
from studiolog.ui.firings.heat_of_plot import with_heat
from studiolog.ui.firings.step_words import trouble_words
from studiolog.ui.plots.plot_ticks import Unit, write_elapsed
from studiolog.ui.plots.plotted_firing import (
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
    laid = page.steps
    if laid is None:
        laid = lay_program(page.curves, plan)
    elif segments is not None:
        laid = lay_program(page.curves, plan, laid.limits)
    followed = laid.steps
    others = tuple(
        PlottedCurve(extra.channel, extra.elapsed_s, extra.temperature_c)
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
    drawn = PlotFiring(
        extra_channels=others,
        program_s=program_s,
        program_c=program_c,
        started_at=page.started_at,
        segments=_steps(page, laid, unit),
        aimed_cone=base.aimed_cone,
        hold_band=_hold_band(laid),
        slow_cool_band=_slow_cool_band(followed),
        gaps=curve.gaps,
        earlier=tuple(PlottedCurve(str(e.number), e.elapsed_s, e.temperature_c) for e in earlier),
        quartz_crossings=crossings,
        by_hand=curve.channel == TYPED,
        dropped_count=curve.readings_dropped,
        number=str(page.number),
        where=f"from “{curve.channel}”" if len(page.curves) > 1 else "",
        rate_note=_rate_note(followed, unit),
    )
    return with_heat(drawn, page)


def _planned_curve(plan: Sequence[Segment]) -> tuple[list[float], list[float]]:
    if not plan:
        return [], []
    at_s, temperature_c = planned_points(plan)
    return at_s.tolist(), temperature_c.tolist()


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


def _steps(page: FiringPage, laid: CurveSteps, unit: Unit) -> tuple[PlottedSegment, ...]:
    """The steps of the program where the log says that they happened.

    Without a program, the straight stretches of the curve itself.
    """
    analysis = laid.analysis
    if analysis is None:
        return ()
    if not analysis.steps:
        return tuple(
            _plot_stretch(number + 1, stretch) for number, stretch in enumerate(laid.stretches)
        )
    cooled = ""
    if page.facts is not None and page.facts.to_100_s is not None:
        cooled = f"{show_temperature(100, unit)} after {write_elapsed(page.facts.to_100_s)}"
    return tuple(
        _plot_step(step, step.start_s, step.end_s, cooled)
        for step in analysis.steps
        if step.start_s is not None and step.end_s is not None
    )


def _plot_step(step: FollowedStep, start_s: float, end_s: float, cooled: str) -> PlottedSegment:
    said = step.words if step.verdict not in ("followed", "as_it_went") else ""
    if step.kind == "hold":
        asked = f"hold {show_duration(step.planned_min * 60)}"
        held = f"held {show_number(step.held_min or 0)}"
        logged = ", ".join(filter(None, (held, said)))
        return PlottedSegment(step.number, start_s, end_s, planned_text=asked, logged_text=logged)
    planned, sign = step.planned_rate_c_per_h, 1.0 if step.kind == "up" else -1.0
    asked = ""
    if planned is None:
        asked = "as fast as it goes" if step.kind == "up" else "left to cool"
    left_alone = planned is None and step.target_c < min(step.from_c, _LEFT_ALONE_C)
    told = cooled if left_alone else ""
    rate = step.rate.c_per_h if step.rate is not None and not told else None
    return PlottedSegment(
        step.number,
        start_s,
        end_s,
        None if planned is None else sign * planned,
        rate,
        planned_text=asked,
        logged_text=told or said,
    )


def _plot_stretch(number: int, stretch: FoundSegment) -> PlottedSegment:
    if stretch.kind == "hold":
        words = f"level {show_duration(stretch.minutes * 60)}"
        return PlottedSegment(number, stretch.start_s, stretch.end_s, logged_text=words)
    if stretch.kind == "slowing":
        return PlottedSegment(
            number, stretch.start_s, stretch.end_s, logged_text="ever more slowly"
        )
    rate = stretch.rate.c_per_h if stretch.rate is not None else None
    return PlottedSegment(number, stretch.start_s, stretch.end_s, None, rate)


def _hold_band(laid: CurveSteps) -> Span | None:
    for step in laid.steps:
        span = _span_of(step)
        if step.kind == "hold" and step.target_c == laid.top_c and span is not None:
            return span
    return None


def _slow_cool_band(followed: Sequence[FollowedStep]) -> Span | None:
    spans: list[Span] = []
    for step in followed:
        planned, span = step.planned_rate_c_per_h, _span_of(step)
        if span is None:
            continue
        slow = step.kind == "down" and planned is not None and planned <= _SLOW_COOL_C_PER_H
        falling = slow and step.target_c >= _SLOW_COOL_ABOVE_C
        resting = step.kind == "hold" and bool(spans) and spans[-1][1] == step.start_s
        if falling or resting:
            spans.append(span)
    return (spans[0][0], spans[-1][1]) if spans else None


def _span_of(step: FollowedStep) -> Span | None:
    """Where a step lies on the log, if it lasted a minute."""
    if step.start_s is None or step.end_s is None or step.end_s - step.start_s < 60:
        return None
    return step.start_s, step.end_s


def _rate_note(followed: Sequence[FollowedStep], unit: Unit) -> tuple[str, str]:
    """The worst that was seen on the way up, and what to look at."""
    found = [trouble for step in followed for trouble in step.troubles]
    for kind, advice in (
        ("interrupted", "look for a cut of power, a lid opened, a contact that sticks"),
        ("stalled", "measure the elements and the mains voltage, look at the load"),
        ("behind", "measure the elements, look at the load"),
    ):
        for trouble in found:
            if trouble.kind == kind:
                return trouble_words(trouble, unit), advice
    return "", ""
