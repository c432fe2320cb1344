"""How a kiln followed its program: each leg and each hold, planned and done, with a verdict.

The limits by which it is judged are those of ``limits`` (judgement, a potter may change them):
*lagging* is so far behind the set point for so long while that rises; *can't keep up* is farther
behind and growing, or under a share of the programmed rate, for so long; *stalled* is slower than
so much for so long below the target. The set point is the logged one where the log has it, else
the program, laid on the log where each leg really began.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from studiolog.craft.firing.cleaning import trust_curve
from studiolog.craft.firing.curve import CurveSummary, summarize
from studiolog.craft.firing.legs import Leg, Trouble
from studiolog.craft.firing.lids import LidOpening, find_lid_openings
from studiolog.craft.firing.matching import Place, Step, is_gap, match_steps, steps_of
from studiolog.craft.firing.program import Segment
from studiolog.craft.firing.segments import (
    Blocks,
    FoundSegment,
    Rate,
    segments_of_blocks,
    take_blocks,
)
from studiolog.craft.limits import SHIPPED, Limits

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from studiolog.craft.firing.segments import Floats

__all__ = [
    "VERDICTS",
    "CurveAnalysis",
    "FollowedStep",
    "Trouble",
    "analyse_curve",
    "follow_blocks",
    "follow_program",
]

VERDICTS: Final[Mapping[str, str]] = {
    "followed": "followed",
    "lagging": "lagging",
    "behind": "can't keep up",
    "stalled": "stalled",
    "interrupted": "interrupted",
    "broken_off": "log breaks off",
    "not_reached": "not reached",
    "slow_cool": "cooled slower than asked",
    "fast_cool": "cooled faster than asked",
    "cut_short": "cut short",
    "skipped": "skipped",
    "not_logged": "not logged",
    "as_it_went": "as it went",
}
"""Every verdict with its words. *As it went*: nothing was asked, so nothing is judged."""

# The worse comes first: a step is called by the worst that happened in it.
_ORDER: Final = ("interrupted", "stalled", "behind", "lagging", "slow_cool", "fast_cool")
_SKIPPED_SHARE: Final = 0.2
_AFTER_S: Final = 3600.0
_AFTER_C: Final = 100.0


@dataclass(frozen=True, slots=True)
class FollowedStep:
    """One leg or hold of a program, planned and as the log shows it.

    ``number`` counts all steps of the program from 1; ``segment`` its segments from 0. ``kind`` is
    "up", "down", "hold", or "after": what came after the program. Planned rates are speeds, logged
    ones have their sign. Times in seconds of the log; None where nothing is logged of it.
    ``behind_c`` is how far the kiln was behind the set point at most (over it on the way down),
    ``behind_end_c`` when the step ended; None without a set point.
    """

    number: int
    segment: int
    kind: str
    from_c: float
    target_c: float
    planned_rate_c_per_h: float | None
    planned_min: float
    start_s: float | None
    end_s: float | None
    start_c: float | None
    end_c: float | None
    rate: Rate | None
    held_min: float | None
    reached: bool
    behind_c: float | None
    behind_s: float | None
    behind_end_c: float | None
    verdict: str
    troubles: tuple[Trouble, ...]

    @property
    def logged(self) -> bool:
        """Whether the log has anything of this step."""
        return self.start_s is not None

    @property
    def words(self) -> str:
        """The verdict in words."""
        return VERDICTS[self.verdict]


@dataclass(frozen=True, slots=True)
class CurveAnalysis:
    """All that a curve says: its straight stretches, the program's steps on it, whole figures.

    ``steps`` is empty without a program. ``setpoint`` is "logged", "program" or "".
    """

    found: tuple[FoundSegment, ...]
    steps: tuple[FollowedStep, ...]
    summary: CurveSummary
    lids: tuple[LidOpening, ...]
    setpoint: str


def analyse_curve(
    segments: Sequence[Segment],
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    *,
    setpoint: tuple[ArrayLike, ArrayLike] | None = None,
    typed: bool = False,
    limits: Limits = SHIPPED,
) -> CurveAnalysis:
    """The whole analysis of one cleaned curve (seconds rising, °C) against its program.

    ``segments`` may be empty: then the curve alone is told. ``setpoint`` is the logged set point as
    (seconds, °C); ``typed`` readings have no gaps. Raises ValueError for a curve without a reading.
    """
    import numpy as np

    t = np.asarray(elapsed_s, dtype=np.float64)
    c = np.asarray(temperature_c, dtype=np.float64)
    if t.size == 0:
        raise ValueError("A curve without a reading can't be analysed.")
    blocks = take_blocks(t, c, typed=typed, limits=limits)
    found = segments_of_blocks(blocks, limits)
    target_c = max((segment.target_c for segment in segments), default=None)
    asked = _logged_setpoint(setpoint, blocks)
    steps = follow_blocks(segments, blocks, found, asked, limits)
    let_go = [line.end_s for line in found if line.kind == "hold"]
    let_go += [step.end_s for step in steps if step.end_s is not None and _is_driven(step)]
    return CurveAnalysis(
        found,
        steps,
        summarize(trust_curve(t, c), target_c, typed=typed, limits=limits),
        find_lid_openings(blocks, limits, let_go),
        "" if not segments else "program" if asked is None else "logged",
    )


def follow_program(
    segments: Sequence[Segment],
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    *,
    limits: Limits = SHIPPED,
) -> tuple[FollowedStep, ...]:
    """The steps of a program on a cleaned curve (seconds rising, °C); empty without readings."""
    blocks = take_blocks(elapsed_s, temperature_c, limits=limits)
    return follow_blocks(segments, blocks, segments_of_blocks(blocks, limits), None, limits)


def follow_blocks(
    segments: Sequence[Segment],
    blocks: Blocks,
    found: Sequence[FoundSegment],
    asked: Floats | None = None,
    limits: Limits = SHIPPED,
) -> tuple[FollowedStep, ...]:
    """:func:`follow_program` of a curve already taken apart; ``asked`` the set point per block."""
    steps = steps_of(segments)
    if not steps or blocks.at_s.size == 0:
        return ()
    places = match_steps(steps, blocks, found)
    last = max((n for n, place in enumerate(places[:-1]) if place.there), default=-1)
    first = next((n for n, place in enumerate(places) if place.there), len(steps))
    told: list[FollowedStep] = []
    for number, (step, place) in enumerate(zip(steps, places, strict=False)):
        # Before the log began, after it ended, in a silence of it: nobody knows.
        if not place.there:
            unseen = number < first or place.silent or (number > last and not places[-1].there)
            met = bool(told) and told[-1].reached
            left_out = "skipped" if step.kind == "hold" and met else "not_reached"
            told.append(_untold(number + 1, step, "not_logged" if unseen else left_out))
            continue
        ends_here = place.last == blocks.at_s.size or is_gap(blocks, place.last)
        if step.kind == "hold":
            told.append(_judge_hold(number + 1, step, place, blocks, ends_here, limits))
        else:
            leg = Leg(step, place, blocks, asked, limits)
            told.append(_judge_leg(number + 1, leg, ends_here, blocks))
    if places[-1].there:
        after = _cooled_after(len(steps) + 1, len(segments), steps[-1], places[-1], blocks, limits)
        told += [after] if after is not None else []
    return tuple(told)


def _is_driven(step: FollowedStep) -> bool:
    """Whether the kiln kept to something that it was let go from when the step ended."""
    return step.kind == "hold" or step.planned_rate_c_per_h is not None


# What a step was


def _judge_leg(number: int, leg: Leg, ends_here: bool, blocks: Blocks) -> FollowedStep:
    import numpy as np

    step, place = leg.step, leg.place
    troubles = leg.troubles()
    verdict = next((kind for kind in _ORDER if any(t.kind == kind for t in troubles)), "followed")
    reached = _is_reached(leg, blocks)
    if not reached and not (ends_here and leg.moves_on()):
        verdict = "not_reached"
    elif not reached and verdict == "followed":
        verdict = "broken_off"  # nobody knows what the kiln did next
    if step.rate_c_per_h is None and (verdict == "followed" or step.kind == "down"):
        verdict = "as_it_went"
    worst = None if leg.behind is None else int(np.argmax(leg.behind))
    return FollowedStep(
        number,
        step.segment,
        step.kind,
        step.from_c,
        step.target_c,
        step.rate_c_per_h,
        0.0,
        place.start_s,
        place.end_s,
        leg.start_c,
        leg.end_c,
        leg.rate(),
        None,
        reached,
        None if leg.behind is None or worst is None else float(leg.behind[worst]),
        None if worst is None else float(leg.t[worst]),
        None if leg.behind is None else float(leg.behind[-1]),
        verdict,
        troubles,
    )


def _is_reached(leg: Leg, blocks: Blocks) -> bool:
    """Whether the target was met; the block of the arrival may be counted to the next step."""
    near = leg.limits["near_peak_c"]
    c = blocks.temperature_c[leg.place.first : leg.place.last + 1]
    if leg.step.kind == "up":
        return bool(c.max() >= leg.step.target_c - near)
    return bool(c.min() <= leg.step.target_c + near)


def _judge_hold(
    number: int, step: Step, place: Place, blocks: Blocks, ends_here: bool, limits: Limits
) -> FollowedStep:
    import numpy as np

    t = blocks.at_s[place.first : place.last]
    c = blocks.temperature_c[place.first : place.last]
    held_min = (place.end_s - place.start_s) / 60.0
    verdict = "followed"
    if step.hold_min - held_min > limits["missed_hold_min"] + _unsure_min(place, blocks):
        verdict = "skipped" if held_min < _SKIPPED_SHARE * step.hold_min else "cut_short"
        if ends_here:
            verdict = "broken_off"
    under = step.target_c - c
    worst = int(np.argmax(under))
    return FollowedStep(
        number,
        step.segment,
        step.kind,
        step.from_c,
        step.target_c,
        None,
        step.hold_min,
        place.start_s,
        place.end_s,
        float(c[0]),
        float(c[-1]),
        None,
        held_min,
        True,
        float(under[worst]),
        float(t[worst]),
        float(under[-1]),
        verdict,
        (),
    )


def _unsure_min(place: Place, blocks: Blocks) -> float:
    """How much longer a hold may have been than a thin log shows: half its waits on both sides."""
    last = blocks.at_s.size - 1
    before_s = blocks.at_s[place.first] - blocks.at_s[max(0, place.first - 1)]
    after_s = blocks.at_s[min(last, place.last)] - blocks.at_s[place.last - 1]
    return float(before_s + after_s) / 120.0


def _untold(number: int, step: Step, verdict: str) -> FollowedStep:
    return FollowedStep(
        number,
        step.segment,
        step.kind,
        step.from_c,
        step.target_c,
        step.rate_c_per_h,
        step.hold_min,
        *(None,) * 6,
        False,
        *(None,) * 3,
        verdict,
        (),
    )


def _cooled_after(
    number: int, segment: int, last: Step, place: Place, blocks: Blocks, limits: Limits
) -> FollowedStep | None:
    """What came after the program, if the kiln really cooled: a program may end at its top."""
    t = blocks.at_s[place.first : place.last]
    c = blocks.temperature_c[place.first : place.last]
    if t[-1] - t[0] < _AFTER_S or c[0] - c[-1] < _AFTER_C:
        return None
    down = Step(segment, "down", last.target_c, float(c[-1]), None, 0.0)
    leg = Leg(down, place, blocks, None, limits)
    return FollowedStep(
        number,
        segment,
        "after",
        leg.start_c,
        leg.end_c,
        None,
        0.0,
        place.start_s,
        place.end_s,
        leg.start_c,
        leg.end_c,
        leg.rate(),
        None,
        True,
        None,
        None,
        None,
        "as_it_went",
        (),
    )


def _logged_setpoint(setpoint: tuple[ArrayLike, ArrayLike] | None, blocks: Blocks) -> Floats | None:
    """The logged set point at every block; NaN where it was not logged."""
    import numpy as np

    if setpoint is None:
        return None
    t, c = (np.asarray(values, dtype=np.float64) for values in setpoint)
    fine = np.isfinite(t) & np.isfinite(c)
    if int(fine.sum()) < 2:
        return None
    order = np.argsort(t[fine], kind="stable")
    t, c = t[fine][order], c[fine][order]
    asked: Floats = np.interp(blocks.at_s, t, c, left=np.nan, right=np.nan)
    return asked
