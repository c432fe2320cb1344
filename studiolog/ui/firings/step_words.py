"""A step of a firing in words: what was asked, what the kiln did, and what is to be said of it."""

from studiolog.craft.units import (
    fahrenheit_step_from_celsius,
    show_degrees,
    show_duration,
    show_number,
    show_rate,
    show_temperature,
)
from studiolog.journal.curve_steps import FollowedStep, FoundSegment, LidOpening, Rate, Trouble
from studiolog.ui.plots.plot_ticks import Unit

DASH = "–"
GOOD, CARE, BAD, UNTOLD = ("check", "celadon"), ("warning", "ochre"), ("cross", "rust"), ("", "")
SIGNS = {
    "followed": GOOD,
    "lagging": CARE,
    "cut_short": CARE,
    "slow_cool": CARE,
    "fast_cool": CARE,
    "broken_off": CARE,
    "behind": BAD,
    "stalled": BAD,
    "interrupted": BAD,
    "not_reached": BAD,
    "skipped": BAD,
    "not_logged": UNTOLD,
    "as_it_went": UNTOLD,
}
"""A sign and its colour for every verdict; the words stand beside it."""


def asked_words(step: FollowedStep, unit: Unit) -> str:
    """ "180 °C/h to 1080 °C", "hold 15 min at 1222 °C"."""
    target = show_temperature(step.target_c, unit)
    if step.kind == "after":
        return "left to cool"
    if step.kind == "hold":
        return f"hold {show_duration(step.planned_min * 60)} at {target}"
    if step.planned_rate_c_per_h is None:
        return (
            f"as fast as it goes to {target}" if step.kind == "up" else f"left to cool to {target}"
        )
    return f"{show_rate(step.planned_rate_c_per_h, unit)} to {target}"


def done_words(step: FollowedStep, unit: Unit) -> str:
    """The logged rate with its interval, or the minutes held."""
    if not step.logged:
        return DASH
    if step.kind == "hold":
        return f"held {show_duration((step.held_min or 0.0) * 60)}"
    if step.kind in ("down", "after") and step.planned_rate_c_per_h is None:
        # A kiln left alone cools ever more slowly: one rate would say nothing of it.
        lasted = show_duration((step.end_s or 0.0) - (step.start_s or 0.0))
        return f"to {show_temperature(step.end_c or 0.0, unit)} in {lasted}"
    return rate_words(step.rate, unit)


def rate_words(rate: Rate | None, unit: Unit) -> str:
    """ "159 °C/h (157–160)", as a speed; the interval only where it says more than the rate."""
    if rate is None:
        return "too short to tell a rate"
    text = show_rate(abs(rate.c_per_h), unit)
    if rate.low is None or rate.high is None:
        return text
    ends = sorted((rate.low, rate.high) if rate.c_per_h >= 0 else (-rate.low, -rate.high))
    if unit == "F":
        ends = [fahrenheit_step_from_celsius(end) for end in ends]
    low, high = (show_number(end) for end in ends)
    return text if low == high else f"{text} ({low} to {high})"


def behind_words(step: FollowedStep, unit: Unit) -> str:
    """How far behind the set point at most."""
    if step.behind_c is None:
        return DASH
    return show_degrees(max(0.0, step.behind_c), unit)


def verdict_words(step: FollowedStep, unit: Unit) -> str:
    """The verdict, and where and for how long."""
    kind, words = step.verdict, step.words
    if kind == "followed":
        return "held" if step.kind == "hold" else words
    if kind == "broken_off" and step.end_c is not None:
        return f"the log breaks off at {show_temperature(step.end_c, unit)}"
    if kind == "cut_short" and step.held_min is not None:
        return f"cut short by {show_duration((step.planned_min - step.held_min) * 60)}"
    said = "; ".join(trouble_words(trouble, unit) for trouble in step.troubles)
    if kind == "not_reached" and step.end_c is not None:
        turned = f"{words}: it turned at {show_temperature(step.end_c, unit)}"
        return f"{turned}; {said}" if said else turned
    return said or words


def trouble_words(trouble: Trouble, unit: Unit) -> str:
    """What went otherwise, from which heat and for how long."""
    at, lasted = show_temperature(trouble.start_c, unit), show_duration(trouble.minutes * 60)
    most = show_degrees(trouble.most, unit)
    if trouble.kind == "behind":
        return f"can’t keep up above {at} for {lasted}, up to {most} behind"
    if trouble.kind == "stalled":
        return f"stalled at {at} for {lasted}"
    if trouble.kind == "interrupted":
        return f"interrupted at {at}: fell by {most}, made good after {lasted}"
    if trouble.kind == "slow_cool":
        return f"cooled slower than asked below {at}, up to {most} over"
    if trouble.kind == "fast_cool":
        return f"cooled faster than asked below {at}, up to {most} under"
    return f"lagging from {at} for {lasted}, up to {most}"


def found_words(segment: FoundSegment, unit: Unit) -> tuple[str, str]:
    """A stretch of a curve without a program: from where to where, and how long."""
    start, end = (show_temperature(c, unit) for c in (segment.start_c, segment.end_c))
    if segment.kind == "hold":
        return f"level at {end}", show_duration(segment.minutes * 60)
    return f"{start} to {end}", show_duration(segment.minutes * 60)


def lid_words(lid: LidOpening, clock: str, unit: Unit) -> str:
    """ "At 16:20, at 208 °C, it began to cool 4.7 times as fast: from 51 to 240 °C/h.\""""
    before = show_number(_speed(lid.before_c_per_h, unit))
    at = f"At {clock}, at" if clock else "At"
    return (
        f"{at} {show_temperature(lid.temperature_c, unit)} it began to cool "
        f"{show_number(lid.times, 1)} times as fast: from {before} to "
        f"{show_rate(abs(lid.after_c_per_h), unit)}. A lid, a door or a damper was opened."
    )


def step_sentence(step: FollowedStep, unit: Unit) -> str:
    """The whole row, for a reader of the screen."""
    parts = [f"Step {step.number}: {asked_words(step, unit)}"]
    if step.logged:
        parts.append(done_words(step, unit))
    if step.behind_c is not None and step.kind != "hold":
        parts.append(f"{behind_words(step, unit)} behind at most")
    parts.append(verdict_words(step, unit))
    return "; ".join(parts) + "."


def _speed(c_per_h: float, unit: Unit) -> float:
    return fahrenheit_step_from_celsius(abs(c_per_h)) if unit == "F" else abs(c_per_h)
