"""The order of rows in time: late rows, midnight, summer time, restarts, repeated stamps."""

from dataclasses import dataclass, field
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from studiolog.transfer.temperature_log.clock import Clock
from studiolog.transfer.temperature_log.values import (
    Choices,
    Floats,
    Note,
    Question,
    Reason,
    Reasons,
)

_DAY = 86400.0
_HOUR = 3600.0
_LONGEST = 1e10  # seconds: a number beyond the year 2286 is no time


@dataclass
class Ordered:
    """Rows in order of time. ``rows`` index the rows given; ``moved`` marks mended times."""

    rows: NDArray[np.intp]
    seconds: Floats
    reason: Reasons
    moved: NDArray[np.bool_]
    sampling_s: float
    notes: list[Note] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)


def put_in_order(
    clock: Clock,
    seconds: Floats,
    values: Floats,
    lines: list[int],
    choices: Choices,
) -> Ordered:
    """Order the rows of one channel in time, without ever sorting across a clock reset.

    ``seconds`` and ``values`` are of the channel's rows (NaN allowed); ``lines`` their places in
    the file. Rows without a readable time are left out and counted in a note.
    """
    readable = np.abs(np.nan_to_num(seconds, nan=np.inf, posinf=np.inf, neginf=np.inf)) < _LONGEST
    rows = np.flatnonzero(readable)
    notes: list[Note] = []
    questions: list[Question] = []
    if rows.size < seconds.size:
        lost = int(np.flatnonzero(~readable)[0])
        count = seconds.size - rows.size
        notes.append(
            Note(
                "no_time", f"{_count(count, 'row')} without a readable time left out.", lines[lost]
            )
        )
    steps = np.diff(seconds[rows])
    if steps.size > 2 and (steps < 0).sum() > 0.7 * (steps != 0).sum():
        rows = rows[::-1]
        notes.append(Note("newest_first", "The file runs from newest to oldest: turned round."))
    times = seconds[rows].copy()
    moved = np.zeros(rows.size, dtype=bool)
    sampling = _sampling(times)
    if clock.kind in ("clock", "elapsed h:mm"):
        _unwrap_midnight(times, sampling, clock, notes, lines, rows)
    _mend_steps_back(
        clock, times, moved, values[rows], sampling, choices, notes, questions, lines, rows
    )
    if clock.dated and clock.offset_s is None and clock.kind in ("timestamp", "serial days"):
        _mend_spring(times, moved, values[rows], sampling, choices, notes, questions, lines, rows)
    _join_clock_set_forward(
        clock, times, moved, values[rows], sampling, choices, notes, questions, lines, rows
    )
    places = np.argsort(times, kind="stable")
    times, rows, moved = times[places], rows[places], moved[places]
    reason = np.zeros(rows.size, dtype=np.int8)
    times = _settle_equal_stamps(times, moved, values[rows], reason, notes, lines, rows)
    return Ordered(rows, times, reason, moved, _sampling(times), notes, questions)


def _sampling(times: Floats) -> float:
    steps = np.diff(times)
    steps = steps[steps > 0]
    return float(np.median(steps)) if steps.size else 0.0


def _unwrap_midnight(
    times: Floats,
    sampling: float,
    clock: Clock,
    notes: list[Note],
    lines: list[int],
    rows: NDArray[np.intp],
) -> None:
    """Add a day at every step back past midnight (half a day on a twelve-hour clock)."""
    period = _DAY / 2 if clock.twelve_hours else _DAY
    near = max(3 * sampling, 600.0)
    for at in np.flatnonzero(np.diff(times) < 0):
        back = times[at] - times[at + 1]
        before = times[at] % period if clock.kind != "clock" else times[at]
        wraps = back > period / 2 if clock.kind == "clock" else (
            back > period - 2 * near and before > period - near
        )  # fmt: skip
        if wraps:
            times[at + 1 :] += period * max(1, round(back / period))
            notes.append(
                Note("midnight", "The clock passes midnight: a day added from here on."
                     if not clock.twelve_hours else
                     "The twelve-hour clock starts again: half a day added from here on.",
                     lines[rows[at + 1]])
            )  # fmt: skip


def _mend_steps_back(
    clock: Clock,
    times: Floats,
    moved: NDArray[np.bool_],
    values: Floats,
    sampling: float,
    choices: Choices,
    notes: list[Note],
    questions: list[Question],
    lines: list[int],
    rows: NDArray[np.intp],
) -> None:
    """Late rows stay for sorting; a clock set back by an hour is mended; a restart is joined."""
    at = 0
    out_of_place: list[int] = []
    if _is_shuffled(times, values):
        late = np.flatnonzero(times < np.maximum.accumulate(times))
        out_of_place.extend(late.tolist())
        moved[late] = True
        at = times.size - 1
    while True:
        back = np.flatnonzero(np.diff(times[at:]) < 0)
        if not back.size:
            break
        last = at + int(back[0])
        next_up = np.flatnonzero(times[last + 1 :] > times[last])
        end = last + 1 + int(next_up[0]) if next_up.size else times.size
        if _is_late(times, last, end, sampling, values):
            out_of_place.extend(range(last + 1, end))
            moved[last + 1 : end] = True
            at = end if end < times.size else times.size - 1
            # Times after the late rows are judged against the time before them.
            if end < times.size and times[end] >= times[last]:
                at = end
            continue
        step = times[last + 1] - times[last]
        line = lines[rows[last + 1]]
        wall_clock = clock.offset_s is None and (clock.dated or clock.kind == "clock")
        if (
            wall_clock
            and -_HOUR < step <= -_HOUR + 3 * sampling + 1
            and choices.clock_change is not False
        ):
            times[last + 1 :] += _HOUR
            moved[last + 1 :] = True
            notes.append(
                Note("clock_change", "The clock goes back an hour, as summer time ends.", line)
            )
            if choices.clock_change is None and not _is_change_day(clock, times[last], autumn=True):
                questions.append(_ask_clock_change(line, "back"))
        else:
            off = choices.restart_gap_s if choices.restart_gap_s is not None else sampling
            times[last + 1 :] += times[last] + off - times[last + 1]
            moved[last + 1 :] = True
            notes.append(
                Note(
                    "restart",
                    f"The logger started again here: the two sessions are joined {off:g} s apart.",
                    line,
                )
            )
            if choices.restart_gap_s is None:
                questions.append(_ask_restart(line, sampling))
        at = last + 1
    if out_of_place:
        first = min(out_of_place)
        notes.append(
            Note(
                "out_of_order",
                f"{_count(len(out_of_place), 'row')} out of order put into place.",
                lines[rows[first]],
            )
        )


def _is_shuffled(times: Floats, values: Floats) -> bool:
    """Whether rows stand in no order at all: sorted, the curve runs far more smoothly.

    Sessions of a logger that was reset run smoothly as they stand, and would zig-zag if sorted.
    """
    back = int((np.diff(times) < 0).sum())
    if back < 5 or back < 0.02 * times.size:
        return False
    as_they_stand = float(np.nansum(np.abs(np.diff(values))))
    in_order = float(np.nansum(np.abs(np.diff(values[np.argsort(times, kind="stable")]))))
    return in_order < 0.5 * as_they_stand


def _is_late(times: Floats, last: int, end: int, sampling: float, values: Floats) -> bool:
    """Whether the rows after ``last`` belong into holes before it (else the clock was reset)."""
    late = times[last + 1 : end]
    early = np.sort(times[: last + 1])
    if end == times.size and late.size > 3 and late.max() < early[0]:
        # A whole block that comes before the first one: moved if it joins on there.
        joins_before = abs(values[end - 1] - values[0])
        joins_after = abs(values[last + 1] - values[last])
        return early[0] - late.max() < _DAY and bool(joins_before < joins_after)
    places = np.searchsorted(early, late, side="left")
    # The first stamp of all again: the file was appended to itself.
    inside = ((places > 0) | (late == early[0])) & (places < early.size)
    if not inside.all():
        return False
    above, below = early[places], early[places - 1]
    fits = (above == late) | (above - below >= 1.5 * sampling)
    if fits.mean() >= 0.8 and (above == late).mean() < 0.8:
        return True
    few = late.size <= 3 and end < times.size and times[last] - late.min() <= 20 * sampling
    repeats = (above == late) & np.isclose(
        values[last + 1 : end], values[np.argsort(times[: last + 1], kind="stable")[places]]
    )
    return bool(few or repeats.mean() > 0.8)


def _mend_spring(
    times: Floats,
    moved: NDArray[np.bool_],
    values: Floats,
    sampling: float,
    choices: Choices,
    notes: list[Note],
    questions: list[Question],
    lines: list[int],
    rows: NDArray[np.intp],
) -> None:
    """An hour that the wall clock skipped at night is no gap, if the temperature just goes on."""
    if choices.clock_change is False or sampling <= 0 or sampling > 1800:
        return
    steps = np.diff(times)
    for at in np.flatnonzero((steps > _HOUR) & (steps <= _HOUR + 2 * sampling)):
        certain = _is_change_day_at(times[at], autumn=False)
        if not (0 <= times[at] % _DAY < 3 * _HOUR + 1) or at < 3 or not certain:
            continue
        near = slice(max(0, at - 6), at + 1)
        ok = np.isfinite(values[near])
        if ok.sum() < 3 or not np.isfinite(values[at + 1]):
            continue
        slope = np.polyfit(times[near][ok] - times[at], values[near][ok], 1)[0]
        jump = values[at + 1] - values[near][ok][-1]
        goes_on = abs(jump - slope * (steps[at] - _HOUR)) < abs(jump - slope * steps[at])
        if choices.clock_change or goes_on:
            times[at + 1 :] -= _HOUR
            moved[at + 1 :] = True
            line = lines[rows[at + 1]]
            notes.append(
                Note("clock_change", "The clock skips an hour, as summer time begins.", line)
            )
            if choices.clock_change is None:
                questions.append(_ask_clock_change(line, "forward"))
            return


def _join_clock_set_forward(
    clock: Clock,
    times: Floats,
    moved: NDArray[np.bool_],
    values: Floats,
    sampling: float,
    choices: Choices,
    notes: list[Note],
    questions: list[Question],
    lines: list[int],
    rows: NDArray[np.intp],
) -> None:
    """A jump of days: the logger's clock was set, or the file holds two firings."""
    if not clock.dated:
        return
    for at in np.flatnonzero(np.diff(times) > 3 * _DAY):
        line = lines[rows[at + 1]]
        days = (times[at + 1] - times[at]) / _DAY
        if abs(values[at + 1] - values[at]) < 50 and values[at] > 100:
            off = choices.restart_gap_s if choices.restart_gap_s is not None else sampling
            times[at + 1 :] -= times[at + 1] - times[at] - off
            moved[at + 1 :] = True
            sentence = (
                f"The clock jumps {days:.0f} days while the kiln is hot: joined {off:g} s apart."
            )
            notes.append(Note("restart", sentence, line))
            if choices.restart_gap_s is None:
                questions.append(_ask_restart(line, sampling))
        else:
            sentence = f"{days:.0f} days lie before this row: the file may hold two firings."
            notes.append(Note("two_firings", sentence, line))


def _settle_equal_stamps(
    times: Floats,
    moved: NDArray[np.bool_],
    values: Floats,
    reason: Reasons,
    notes: list[Note],
    lines: list[int],
    rows: NDArray[np.intp],
) -> Floats:
    """Drop repeats of one instant; spread rows whose stamps are too coarse for them."""
    if times.size < 2:
        return times
    same = np.flatnonzero(np.diff(times) == 0) + 1
    if not same.size:
        return times
    starts = np.flatnonzero(np.append(True, np.diff(times) > 0))
    sizes = np.diff(np.append(starts, times.size))
    repeated = np.isclose(values[same], values[same - 1], equal_nan=True)
    if (sizes > 1).mean() > 0.6 and starts.size > 2 and not repeated.all():
        step = float(np.median(np.diff(times[starts])))
        usual = max(2.0, float(np.median(sizes)))
        place = np.arange(times.size) - np.repeat(starts, sizes)
        share = np.maximum(np.repeat(sizes, sizes), usual)
        if sizes[0] < usual:
            place[: sizes[0]] += int(usual) - int(sizes[0])
        notes.append(
            Note(
                "coarse_stamps",
                f"About {usual:.0f} rows share each stamp: spread evenly over {step:g} s.",
                lines[rows[same[0]]],
            )
        )
        moved |= place > 0
        return np.asarray(times + place * step / share)
    for start, size in zip(starts[sizes > 1], sizes[sizes > 1], strict=True):
        members = range(int(start), int(start + size))
        kept = next((at for at in members if np.isfinite(values[at])), members[0])
        for at in members:
            if at != kept:
                equal = values[at] == values[kept] or not np.isfinite(values[at])
                reason[at] = Reason.DUPLICATE if equal else Reason.SAME_STAMP
    for code, kind, told in (
        (Reason.DUPLICATE, "duplicate", "repeated exactly: kept once."),
        (
            Reason.SAME_STAMP,
            "same_stamp",
            "with another value at the same instant: the first kept.",
        ),
    ):
        found = np.flatnonzero(reason == code)
        if found.size:
            notes.append(Note(kind, f"{_count(found.size, 'row')} {told}", lines[rows[found[0]]]))
    return times


def _is_change_day(clock: Clock, seconds: float, autumn: bool) -> bool:
    return clock.dated and _is_change_day_at(seconds, autumn)


def _is_change_day_at(seconds: float, autumn: bool) -> bool:
    """Whether summer time may begin or end that day: Sundays of March, April, autumn (C)."""
    moment = datetime.fromtimestamp(seconds, UTC)
    months = (3, 4, 10, 11) if autumn else (3, 4, 9, 10)
    return moment.month in months and moment.weekday() == 6


def _ask_restart(line: int, sampling: float) -> Question:
    return Question(
        "restart_gap_s",
        f"The logger started again at line {line}. For how many seconds was it off?",
        tuple(dict.fromkeys((f"{sampling:g}", "60", "300", "600", "1800", "3600"))),
        f"{sampling:g}",
    )


def _ask_clock_change(line: int, way: str) -> Question:
    return Question(
        "clock_change",
        f"At line {line} the clock goes {way} an hour. Is that a change of summer time?",
        ("yes", "no"),
        "yes",
    )


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
