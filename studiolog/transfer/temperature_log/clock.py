"""Which columns tell the time, of what kind it is, and the time of every row in seconds."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from studiolog.transfer.temperature_log.clock_parts import (
    find_parts,
    read_digits_of_day,
    time_of_parts,
)
from studiolog.transfer.temperature_log.header import LogTable
from studiolog.transfer.temperature_log.header_words import (
    name_kind,
    time_unit_in,
    zone_in,
)
from studiolog.transfer.temperature_log.numerals import is_missing, looks_numeric, read_numbers
from studiolog.transfer.temperature_log.stamps import (
    COMPACT_STAMP,
    decide_date_order,
    read_clock_times,
    read_stamp,
    read_stamps,
)
from studiolog.transfer.temperature_log.values import (
    Choices,
    DateOrder,
    Floats,
    Question,
    TimeKind,
    Understood,
)

_UNIT_SECONDS = {
    "elapsed ms": 0.001,
    "elapsed s": 1.0,
    "elapsed min": 60.0,
    "elapsed h": 3600.0,
    "elapsed days": 86400.0,
    "epoch s": 1.0,
    "epoch ms": 1e-3,
    "epoch us": 1e-6,
    "epoch ns": 1e-9,
}
_SERIAL_EPOCH_DAYS = 25569  # day count of 1970-01-01 from the end of 1899


_STEP_LINE = re.compile(
    r"(?:interv|sampl|abtast|messtakt|takt|period|cadence|échantillon|muestreo|campionam)"
    r"[^\d]{0,40}(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>[^\W\d_]+)",
    re.IGNORECASE,
)
_FEWEST_CELLS = 24  # of a column, however many there are, to see what it holds


@dataclass(frozen=True)
class Clock:
    """Seconds of every row: since 1970 when ``dated``, else since midnight or since the start."""

    seconds: Floats
    kind: TimeKind
    dated: bool
    offset_s: float | None
    twelve_hours: bool
    used: dict[int, str]
    understood: tuple[Understood, ...]
    questions: tuple[Question, ...]


@dataclass(frozen=True)
class _ColumnLook:
    """How much of a column's sample reads as what, each from 0 to 1."""

    stamp: float
    clock: float
    number: float
    rising: float
    only_dates: bool
    kind: str | None


def read_clock(table: LogTable, choices: Choices, decimal_mark: str) -> Clock:
    """The time of every row, from the columns that tell it best."""
    columns = table.columns
    looks = [
        _look_at(cells, name, decimal_mark, max(_FEWEST_CELLS, 10_000 // len(columns)))
        for cells, name in zip(columns, table.names, strict=True)
    ]
    if choices.time_column in table.names:
        at = table.names.index(str(choices.time_column))
        return _clock_of(at, columns, table.names, looks, choices, decimal_mark)
    dates = [at for at, look in enumerate(looks) if look.only_dates and look.stamp > 0.7]
    clocks = [at for at, look in enumerate(looks) if look.clock > 0.7]
    stamps = [at for at, look in enumerate(looks) if look.stamp > 0.7 and not look.only_dates]
    if stamps:
        at = min(stamps, key=lambda at: (looks[at].kind != "time", at))
        return _clock_of(at, columns, table.names, looks, choices, decimal_mark)
    if dates and clocks and choices.time_kind in (None, "timestamp"):
        at = min(clocks, key=lambda at: abs(at - dates[0]))
        return _clock_of_two(dates[0], at, columns, table.names, choices)
    if dates and not clocks and choices.time_kind in (None, "timestamp"):
        for at in range(len(columns)):
            digits = read_digits_of_day(columns[at]) if looks[at].kind == "time" else None
            if digits is not None and at != dates[0]:
                columns = [*columns[:at], digits, *columns[at + 1 :]]
                return _clock_of_two(dates[0], at, columns, table.names, choices)
    if clocks:
        at = min(clocks, key=lambda at: (looks[at].kind not in ("time", "date"), at))
        return _clock_of(at, columns, table.names, looks, choices, decimal_mark)
    parts = find_parts(columns, table.names)
    if parts is not None and choices.time_kind is None:
        seconds, kind = time_of_parts(parts, columns)
        told = ", ".join(table.names[at] for at in parts.values())
        understood = (Understood("clock", "a column for each part of the time", told),)
        used = dict.fromkeys(parts.values(), "time")
        return Clock(seconds, kind, kind == "timestamp", None, False, used, understood, ())
    numeric = [at for at, look in enumerate(looks) if look.number > 0.6]
    named = [at for at in numeric if looks[at].kind in ("time", "date") and looks[at].rising > 0.5]
    rising = [
        at
        for at in numeric
        if looks[at].rising > 0.9 and looks[at].kind not in ("value", "setpoint", "duty", "other")
    ]
    unnamed = [at for at in rising if looks[at].kind != "ignored"]
    found = named or unnamed or (rising if len(numeric) > 1 else [])
    if found and (len(numeric) > 1 or looks[found[0]].kind == "time" or len(columns) > 1):
        return _clock_of(found[0], columns, table.names, looks, choices, decimal_mark)
    return _count_rows(len(table.rows), choices, table.preamble)


def _zone_of(stamps_offset_s: float | None, *names: str) -> float | None:
    """The zone that the cells name, else the one of their header: "Time (UTC)"."""
    if stamps_offset_s is not None:
        return stamps_offset_s
    return next((zone for name in names if (zone := zone_in(name)) is not None), None)


def _look_at(cells: Sequence[str], name: str, decimal_mark: str, cells_at_most: int) -> _ColumnLook:
    step = max(1, len(cells) // min(200, cells_at_most))
    sample = [cell for cell in cells[::step] if not is_missing(cell)]
    kind = name_kind(name)
    if not sample:
        return _ColumnLook(0, 0, 0, 0, False, kind)
    total = len(sample)
    digits = sum(cell.strip().isdigit() for cell in sample) / total
    stamped = [read_stamp(cell) or read_stamp(cell, "month first") for cell in sample]
    stamp = sum(read is not None for read in stamped) / total
    if digits > 0.7 and not all(COMPACT_STAMP.match(cell.strip()) for cell in sample):
        # Eight bare digits are a date only where the header says so.
        stamp = stamp if kind == "date" and len(sample[0].strip()) == 8 else 0.0
    only_dates = all(read is None or read[0] % 86400 == 0 for read in stamped) and not any(
        ":" in cell for cell in sample
    )
    clock = float(np.isfinite(read_clock_times(sample).seconds).sum()) / total
    number = sum(looks_numeric(cell) for cell in sample) / total
    rising = 0.0
    if number > 0.6 and stamp < 0.7:
        numbers = read_numbers(sample, decimal_mark)
        steps = np.diff(numbers[np.isfinite(numbers)])
        if steps.size and steps.any():
            rising = max(float((steps >= 0).mean()), float((steps <= 0).mean()))
            # A segment's number rises too, but seldom; a stamp may stand in a few rows each.
            rising *= 1.0 if (steps != 0).mean() > 0.15 else 0.5
    return _ColumnLook(stamp, clock, number, rising, only_dates, kind)


def _clock_of(
    at: int,
    columns: list[tuple[str, ...]],
    names: list[str],
    looks: list[_ColumnLook],
    choices: Choices,
    decimal_mark: str,
) -> Clock:
    """The clock of one column, by what its cells hold or by the potter's choice of kind."""
    look, cells, name = looks[at], columns[at], names[at]
    chosen = choices.time_kind
    if chosen == "timestamp" or (chosen is None and look.stamp > 0.7):
        return _clock_of_stamps(at, cells, name, choices)
    clocklike = chosen in ("clock", "elapsed h:mm", "elapsed m:ss")
    if clocklike or (chosen is None and look.clock > 0.7):
        return _clock_of_times(at, cells, name, choices)
    return _clock_of_numbers(at, cells, name, chosen, decimal_mark)


def _clock_of_stamps(at: int, cells: Sequence[str], name: str, choices: Choices) -> Clock:
    order, evidence, ask = decide_date_order(cells, choices.date_order)
    stamps = read_stamps(cells, order)
    questions = (_ask_date_order(cells, order),) if ask else ()
    offset_s = _zone_of(stamps.offset_s, name)
    seconds = stamps.seconds
    zone = "zone named"
    if not stamps.with_zone:
        zone = "no zone: local time" if offset_s is None else f"zone of the header {name}"
        seconds = seconds - (offset_s or 0.0)
    understood = (
        Understood("clock", "date and time in one column", f"first cell: {cells[0].strip()}"),
        Understood("date order", order, f"{evidence}; {zone}"),
    )
    return Clock(
        seconds, "timestamp", True, offset_s, False,
        {at: "time"}, understood, questions,
    )  # fmt: skip


def _clock_of_two(
    date_at: int, time_at: int, columns: list[tuple[str, ...]], names: list[str], choices: Choices
) -> Clock:
    """A date in one column and the time of day in another."""
    dates = _fill_down(columns[date_at])
    order, evidence, ask = decide_date_order(dates, choices.date_order)
    days = read_stamps(dates, order).seconds
    times = read_clock_times(columns[time_at])
    offset_s = _zone_of(None, names[time_at], names[date_at])
    questions = (_ask_date_order(dates, order),) if ask else ()
    understood = (
        Understood(
            "clock",
            "date and time in two columns",
            f"{names[date_at]} and {names[time_at]}: "
            f"{dates[0].strip()} {columns[time_at][0].strip()}",
        ),
        Understood(
            "date order",
            order,
            f"{evidence}; " + ("no zone: local time" if offset_s is None else "zone of the header"),
        ),
    )
    return Clock(
        days + times.seconds - (offset_s or 0.0), "timestamp", True, offset_s, False,
        {date_at: "date", time_at: "time"}, understood, questions,
    )  # fmt: skip


def _fill_down(cells: Sequence[str]) -> list[str]:
    """Some loggers write the date only where it changes."""
    filled: list[str] = []
    last = ""
    for cell in cells:
        last = cell if cell.strip() else last
        filled.append(last)
    return filled


def _clock_of_times(at: int, cells: Sequence[str], name: str, choices: Choices) -> Clock:
    """hh:mm[:ss]: the time of day, or the time since the start."""
    times = read_clock_times(cells)
    seconds = times.seconds
    finite = seconds[np.isfinite(seconds)]
    first = float(finite[0]) if finite.size else 0.0
    unit = time_unit_in(name)
    kind = choices.time_kind
    evidence = f"first cell: {cells[0].strip()}"
    if kind is None:
        if times.with_half_days:
            kind, evidence = "clock", "AM and PM"
        elif times.with_days or times.largest_hour > 24:
            kind, evidence = "elapsed h:mm", "runs past 24 hours or counts days"
        elif unit == "m:ss":
            kind, evidence = "elapsed m:ss", f"the header says {name}"
        elif first < 60 or _names_elapsed(name):
            kind, evidence = "elapsed h:mm", "starts at zero" if first < 60 else f"header {name}"
        else:
            kind = "clock"
        # Hours up to 400 in a two-part clock are minutes: no firing lasts two weeks.
        if kind == "elapsed h:mm" and not times.three_parts and times.largest_hour > 120:
            kind, evidence = "elapsed m:ss", "as hours and minutes it would last over five days"
    if kind == "elapsed m:ss" and not times.three_parts:
        seconds = seconds / 60.0
    twelve = kind == "clock" and not times.with_half_days and times.largest_hour == 12 and (
        float(finite.min()) >= 3600.0
    )  # fmt: skip
    return Clock(
        seconds, kind, False, None, twelve, {at: "time"}, (Understood("clock", kind, evidence),), ()
    )


def _names_elapsed(name: str) -> bool:
    low = name.casefold()
    words = ("elaps", "dauer", "durat", "durée", "verstr", "laufz", "runtime", "経過", "duree")
    return any(word in low for word in words)


def _clock_of_numbers(
    at: int, cells: Sequence[str], name: str, chosen: TimeKind | None, decimal_mark: str
) -> Clock:
    numbers = read_numbers(cells, decimal_mark)
    kind, evidence = chosen, "chosen"
    questions: tuple[Question, ...] = ()
    if kind is None:
        kind, evidence, questions = _kind_of_numbers(numbers, name)
    understood = (Understood("clock", kind, evidence),)
    used = {at: "time"}
    if kind == "clock":
        seconds = np.round(numbers * 86400.0, 1)
        return Clock(seconds, kind, False, None, False, used, understood, questions)
    if kind == "serial days":
        seconds = np.round((numbers - _SERIAL_EPOCH_DAYS) * 86400.0, 1)
        return Clock(seconds, kind, True, None, False, used, understood, questions)
    dated = kind.startswith("epoch")
    seconds = numbers * _UNIT_SECONDS.get(kind, 1.0)
    if kind in ("elapsed h", "elapsed days", "elapsed min"):
        seconds = np.round(seconds, 3)
    return Clock(seconds, kind, dated, 0.0 if dated else None, False, used, understood, questions)


def _kind_of_numbers(numbers: Floats, name: str) -> tuple[TimeKind, str, tuple[Question, ...]]:
    finite = numbers[np.isfinite(numbers)]
    if not finite.size:
        return "elapsed s", "no number read", ()
    middle = float(np.median(finite))
    span = float(finite.max() - finite.min())
    epochs: tuple[tuple[TimeKind, float, str], ...] = (
        ("epoch ns", 1e9, "19 digits: nanoseconds since 1970"),
        ("epoch us", 1e6, "16 digits: microseconds since 1970"),
        ("epoch ms", 1e3, "13 digits: milliseconds since 1970"),
        ("epoch s", 1.0, "10 digits: seconds since 1970"),
    )
    for kind, per_second, evidence in epochs:
        if 5e8 < middle / per_second < 4.2e9:
            return kind, evidence, ()
    unit = time_unit_in(name)
    if 30000 < middle < 60000 and span < 40 and unit is None:
        return "serial days", "days since the end of 1899, as spreadsheets count", ()
    if finite.min() >= 0 and finite.max() < 1.0 and unit is None and _in_fine_steps(finite):
        # A quarter of an hour at least, or it is no firing: then it is not in hours either.
        counts = "fractions of a day, as spreadsheets keep times"
        return ("elapsed days", counts, ()) if finite[0] < 1e-3 else ("clock", counts, ())
    named: dict[str, TimeKind] = {
        "ms": "elapsed ms",
        "s": "elapsed s",
        "min": "elapsed min",
        "h": "elapsed h",
        "days": "elapsed days",
    }
    if unit in named:
        return named[unit], f"the header says {name}", ()
    # A restart makes the span of the numbers shorter than that of the firing.
    reach = float(np.abs(np.diff(finite))[np.diff(finite) > 0].sum()) or span
    hours: dict[TimeKind, float] = {
        "elapsed s": reach / 3600,
        "elapsed min": reach / 60,
        "elapsed h": reach,
        "elapsed ms": reach / 3.6e6,
    }
    plausible = [kind for kind, lasting in hours.items() if 1.5 <= lasting <= 100]
    pool = plausible or list(hours)
    best = min(pool, key=lambda kind: abs(np.log(max(hours[kind], 1e-9) / 12)))
    evidence = f"gives a firing of {hours[best]:.1f} h"
    if len(plausible) == 1:
        return best, evidence, ()
    if not plausible and hours["elapsed s"] < 1.5:
        best = "elapsed s" if finite.size and reach > 100 else best
    others = " or ".join(f"{lasting:.3g} h as {kind.split()[1]}" for kind, lasting in hours.items())
    question = Question(
        "time_kind",
        f"Does “{name}” count seconds, minutes or hours? The firing would last {others}.",
        tuple(hours),
        best,
    )
    return best, evidence, (question,)


def _in_fine_steps(numbers: Floats) -> bool:
    """Steps of whole seconds, counted in days, over an hour and a half or more."""
    seconds = numbers * 86400.0
    ahead = np.diff(seconds)
    lasting = float(ahead[ahead > 0].sum())
    whole = np.abs(seconds - np.round(seconds)) < 0.2
    return lasting >= 5400.0 and bool(whole.mean() > 0.9) and bool((ahead > 0).mean() > 0.8)


def _count_rows(count: int, choices: Choices, preamble: list[str]) -> Clock:
    """No column tells the time: the rows are counted.

    The time between them stands above the table, or is asked.
    """
    steps = (1, 5, 10, 15, 30, 60, 120, 300, 600)
    proposed = min(steps, key=lambda step: abs(np.log(max(count, 1) * step / (12 * 3600))))
    told = next((line for line in preamble if _step_in(line)), None)
    said = _step_in(told) if told is not None else None
    step = choices.sampling_s or said or float(proposed)
    questions: tuple[Question, ...] = ()
    if choices.sampling_s is None and said is None:
        questions = (
            Question(
                "sampling_s",
                "No column tells the time. How many seconds lie between two rows?",
                tuple(str(step) for step in steps),
                str(proposed),
            ),
        )
    evidence = "chosen" if choices.sampling_s else "no column tells the time"
    if told is not None and not choices.sampling_s:
        evidence = f"a line above the table says “{told.strip()}”"
    understood = (Understood("clock", f"a row every {step:g} s", evidence),)
    return Clock(
        np.arange(count, dtype=np.float64) * step,
        "row count",
        False,
        None,
        False,
        {},
        understood,
        questions,
    )


def _step_in(line: str) -> float | None:
    """Seconds between rows as a line above the table names them: "Interval: 5 min"."""
    found = _STEP_LINE.search(line)
    if found is None:
        return None
    unit = time_unit_in(found["unit"])
    factor = {"ms": 0.001, "s": 1.0, "min": 60.0, "h": 3600.0}.get(unit or "")
    step = float(found["number"].replace(",", ".")) * (factor or 0.0)
    return step if step > 0 else None


def _ask_date_order(cells: Sequence[str], order: DateOrder) -> Question:
    return Question(
        "date_order",
        f"“{cells[0].strip()}” can be read with the day first or the month first. Which is it?",
        ("day first", "month first"),
        order if order != "year first" else "day first",
    )
