"""Single stamps: dates in every common order, clock times, durations, ISO 8601 forms."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise

import numpy as np

from studiolog.transfer.temperature_log.values import DateOrder, Floats
from studiolog.transfer.temperature_log.zone_names import in_named_zone, part_zone_name

_EPOCH = datetime(1970, 1, 1)
_EPOCH_DAY = date(1970, 1, 1).toordinal()
_MONTHS = {
    1: "jan january januar jänner janvier janv enero ene gennaio gen januari",
    2: "feb february februar février févr fevrier febrero febbraio februari",
    3: "mar march märz mär mrz mars marzo maart mrt",
    4: "apr april avril avr abril abr aprile",
    5: "may mai mayo maggio mag mei",
    6: "jun june juni juin junio giugno giu",
    7: "jul july juli juillet juil julio luglio lug",
    8: "aug august août aout agosto ago augustus",
    9: "sep sept september septembre septiembre settembre set",
    10: "oct october oktober okt octobre octubre ottobre ott",
    11: "nov november novembre noviembre",
    12: "dec december dezember dez décembre déc decembre diciembre dic dicembre",
}
_MONTH_OF = {word: month for month, words in _MONTHS.items() for word in words.split()}
_PM = frozenset(("pm", "午後", "下午"))
_AM_OR_PM = r"(?P<half>[AaPp]\.?\s?[Mm]\.?|午前|午後|上午|下午)"
_ZONE = r"(?P<zone>Z|z|UTC|GMT|(?:UTC|GMT)?[+\-−]\d{1,2}(?::?\d{2})?)"
_TIME = (
    r"(?:(?P<half_before>午前|午後|上午|下午)\s*)?"
    r"(?P<hour>\d{1,2})(?:[:時点hH.](?P<minute>\d{1,2}(?:[.,]\d+(?=$|Z|[+-]))?)?"
    r"(?:[:分m.](?P<second>\d{1,2})(?:[.,:](?P<fraction>\d+))?)?[秒分s]?)?"
)
_COMPACT_TIME = r"(?P<compact>\d{2}(?:\d{2}(?:\d{2})?)?)(?:[.,](?P<compact_fraction>\d+))?"
_DATE = (
    r"(?P<date>\d{1,4}([-./])\d{1,2}\2\d{1,4}\.?|\d{1,4}\s?[年년]\s?\d{1,2}\s?[月월]\s?\d{1,2}\s?[日일]?"
    r"|\d{1,2}\.?[ -/]?\s?[^\W\d_]{3,9}\.?,?[ -/]?\s?\d{2,4}"
    r"|[^\W\d_]{3,9}\.?[ -]\d{1,2},?[ -]\d{2,4}"
    r"|\d{4}-?W\d{2}-?\d|\d{4}-\d{3}(?!\d)|\d{8}(?!\d)|\d{7}(?!\d))"
)
_STAMP = re.compile(
    r"^\s*(?:[^\W\d_]{2,10}\.?,?\s+(?=\d|[^\W\d_]{3}))?" + _DATE + r"(?:\s*[Tt,_\s-]\s*|\s*)"
    r"(?:(?:" + _TIME + "|" + _COMPACT_TIME + r")\s*" + _AM_OR_PM + r"?\s*" + _ZONE + r"?)?\s*$"
)
# "Tue Jun 03 08:15:00 2025", as the C library writes it.
_YEAR_LAST = re.compile(
    r"^((?:[^\W\d_]{2,5}\.?,? )?[^\W\d_]{3,9}\.? +\d{1,2}),? +(\d{1,2}:\d{2}(?::\d{2})?) +(\d{4})$"
)
_PLAIN_ISO = re.compile(r"(?:[0-9]{4}-[0-9]{2}-[0-9]{2}[ T][0-9]{2}:[0-9]{2}:[0-9]{2})+")
_YEAR_FIRST = re.compile(r"\d{4}[-./]")
_CLOCK = re.compile(
    r"^\s*(?:(?P<days>\d{1,3})\s*(?:d|days?|tage?|t|j|jours?|dias?|días?|giorni|g|日)?[\s.,]+(?=\d{1,2}:)"
    r"|(?P<days_tight>\d{1,3})[d.](?=\d{1,2}:))?"
    r"T?(?:(?P<half_before>午前|午後|[AaPp]\.?[Mm]\.?)\s*)?(?P<hour>\d{1,4})[:時hH](?P<minute>\d{1,2})"
    r"(?:[:分m](?P<second>\d{1,2})(?:[.,:](?P<fraction>\d+))?|[.,](?P<short>\d+))?[秒分sm]?\s*"
    + _AM_OR_PM + r"?\s*" + _ZONE + r"?\s*(?:Uhr\s*)?$"
)  # fmt: skip
_HOUR_ONLY = re.compile(r"^\s*(?P<hour>\d{1,2})\s*" + _AM_OR_PM + r"\s*$")
_DURATION = re.compile(
    r"^\s*(?:P)?(?:(?P<days>\d+(?:[.,]\d+)?)\s*(?:d|days?|tage?)\s*)?T?"
    r"(?:(?P<hours>\d+(?:[.,]\d+)?)\s*(?:h|hrs?|hours?|std\.?|stunden)\s*)?"
    r"(?:(?P<minutes>\d+(?:[.,]\d+)?)\s*(?:m|min|mins|minutes?|minuten)\s*)?"
    r"(?:(?P<seconds>\d+(?:[.,]\d+)?)\s*(?:s|secs?|seconds?|sek|sekunden)\s*)?$",
    re.IGNORECASE,
)
_TIMELIKE = re.compile(
    r"\d[:時hH]\d{1,2}|^\s*\d{1,4}([-./])\d{1,2}\1\d{2,4}\b|^\s*\d{4}-?W\d\d|^\s*\d{7,8}T\d|^\d{4}-\d{3}T|\d年\d"
    r"|^\s*\d{1,2}[ .-]+[^\W\d_]{3,9}[ .,-]+\d{2,4}\b|^\s*\d{1,2}\s*[AaPp]\.?[Mm]\.?\s*$"
)
_ISO_FRACTION = re.compile(
    r"^(?P<whole>\d{4}[-\dW]{3,6}T\d{2}(?P<minute>:?\d{2})?)[.,](?P<fraction>\d+)(?P<zone>Z|[+-][\d:]+)?$"
)
COMPACT_STAMP = re.compile(
    r"^(?:19|20)\d{2}(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])(?:[01]\d|2[0-4])[0-5]\d(?:[0-5]\d)?$"
)


@dataclass(frozen=True)
class Stamps:
    """A column of stamps as seconds since 1970 (UTC where a zone was named, else wall clock)."""

    seconds: Floats
    offset_s: float | None
    with_zone: bool
    with_half_days: bool


@dataclass(frozen=True)
class ClockTimes:
    """A column of clock times or durations, in seconds; ``largest_hour`` before any reckoning."""

    seconds: Floats
    with_half_days: bool
    with_days: bool
    largest_hour: int
    three_parts: bool


def looks_like_time(cell: str) -> bool:
    """Whether a cell holds a date, a clock time or a stamp (not a bare number)."""
    if cell[:14].isdigit():
        return COMPACT_STAMP.match(cell.strip()) is not None
    return _TIMELIKE.search(cell) is not None or (
        "h" in cell.lower() and read_duration(cell) is not None
    )


def read_stamp(cell: str, order: DateOrder = "day first") -> tuple[float, float | None] | None:
    """Seconds since 1970 and the zone's offset in seconds (None: no zone), or None.

    Takes every ISO 8601 form of a date with or without a time, and the customary ones.
    """
    text = cell.strip().strip('"').strip()
    bare, zone = part_zone_name(text)
    if zone:
        read = read_stamp(bare, order)
        return read if read is None or read[1] is not None else in_named_zone(read[0], zone)
    if text[:1].isalpha():
        text = _YEAR_LAST.sub(r"\1 \3 \2", text)
    part = _ISO_FRACTION.match(text)
    if part is not None:
        # The standard allows a fraction of the lowest part written: of an hour, or of a minute.
        whole = read_stamp(part["whole"] + (part["zone"] or ""), order)
        unit = 60.0 if part["minute"] else 3600.0
        return whole and (whole[0] + unit * float("0." + part["fraction"]), whole[1])
    if text[:4].isdigit() and len(text) >= 10 and text[4:5] in "-0123W":
        try:
            return _of_datetime(datetime.fromisoformat(text))
        except ValueError:
            pass
    compact = COMPACT_STAMP.match(text)
    if compact is not None:
        text = text[:8] + "T" + text[8:]
    found = _STAMP.match(text)
    if found is None:
        return None
    day = _read_day(found["date"], order)
    if day is None:
        return None
    clock = _time_of(found)
    if clock is None:
        return None
    offset = _offset_of(found["zone"])
    return (day - _EPOCH_DAY) * 86400.0 + clock - (offset or 0.0), offset


def read_stamps(cells: Sequence[str], order: DateOrder = "day first") -> Stamps:
    """A column of stamps; NaN where a cell holds none."""
    quick = _read_plain_iso(cells)
    if quick is not None:
        return quick
    seconds = np.full(len(cells), np.nan)
    offset: float | None = None
    zoned = 0
    halves = False
    midnights: dict[str, float] = {}  # a log names few dates, each thousands of times
    clocks: dict[str, float | None] = {}  # and no more times of day than a day has seconds
    for at, cell in enumerate(cells):
        day, _, rest = cell.partition(" ")
        if rest in clocks:
            clock = clocks[rest]
        else:
            clock = _plain_clock(rest)
            if len(clocks) < 100_000:
                clocks[rest] = clock
        if clock is not None and day in midnights:
            seconds[at] = midnights[day] + clock
            continue
        read = read_stamp(cell, order)
        if read is None:
            continue
        seconds[at] = read[0]
        if clock is not None and read[1] is None:
            midnights[day] = read[0] - clock
        if read[1] is not None:
            zoned += 1
            offset = read[1] if offset is None else offset
        halves = halves or cell.rstrip(". ")[-1:] in "mM午"
    return Stamps(seconds, offset, zoned > 0, halves)


def _plain_clock(text: str) -> float | None:
    """Seconds of a plain hh:mm:ss; None for all else, which takes the longer way."""
    if len(text) != 8 or text[2] != ":" or text[5] != ":":
        return None
    hour, minute, second = text[:2], text[3:5], text[6:]
    if not (hour.isdecimal() and minute.isdecimal() and second.isdecimal()):
        return None
    if hour > "23" or minute > "59" or second > "59":
        return None
    return int(hour) * 3600.0 + int(minute) * 60.0 + int(second)


def read_clock_time(cell: str) -> float | None:
    """Seconds of "26:15:00", "9:05 PM", "1d 02:03:04", "2h 15m", "PT2H15M"; None otherwise."""
    times = read_clock_times([cell])
    return None if np.isnan(times.seconds[0]) else float(times.seconds[0])


def read_clock_times(cells: Sequence[str]) -> ClockTimes:
    """A column of clock times or durations; hh:mm is read as hours and minutes."""
    seconds = np.full(len(cells), np.nan)
    halves = days = three = False
    largest = 0
    for at, cell in enumerate(cells):
        found = _CLOCK.match(cell) or _HOUR_ONLY.match(cell)
        if found is None:
            span = read_duration(cell)
            if span is not None:
                seconds[at] = span
                days, three = True, True
            continue
        parts = found.groupdict()
        hour, minute = int(parts["hour"]), int(parts.get("minute") or 0)
        second = int(parts.get("second") or 0)
        if minute > 59 or second > 59:
            continue
        three = three or parts.get("second") is not None
        half = parts.get("half") or parts.get("half_before")
        if half is not None:
            halves = True
            hour = _of_half_day(hour, half)
        largest = max(largest, hour)
        total = hour * 3600.0 + minute * 60.0 + second
        if parts.get("fraction"):
            total += float("0." + parts["fraction"])
        elif parts.get("short"):
            total += 60 * float("0." + parts["short"])
        day_count = parts.get("days") or parts.get("days_tight")
        if day_count is not None:
            days = True
            total += 86400.0 * int(day_count)
        seconds[at] = total
    return ClockTimes(seconds, halves, days, largest, three)


def read_duration(cell: str) -> float | None:
    """Seconds of "2h 15m" and ISO 8601 "PT2H15M"; None when no unit is named."""
    found = _DURATION.match(cell)
    if found is None or not any(found.groups()):
        return None
    factors = {"days": 86400.0, "hours": 3600.0, "minutes": 60.0, "seconds": 1.0}
    return sum(
        factor * float(found[part].replace(",", "."))
        for part, factor in factors.items()
        if found[part]
    )


def decide_date_order(
    cells: Sequence[str], chosen: DateOrder | None = None
) -> tuple[DateOrder, str, bool]:
    """The order of day and month, the evidence, and whether the potter must be asked.

    A firing lasts days, not months: an order that makes the dates step back or spread over more
    than ten days loses against one that does not.
    """
    if chosen is not None:
        return chosen, "chosen", False
    if all(map(_YEAR_FIRST.match, {cell[:5] for cell in cells})):
        dates = []
    else:
        dates = _dates_in(cells)
    loose = [text for text in dates if re.match(r"\d{1,2}[-./]\d", text)]
    if not loose:
        return "year first", "the year stands first or the month is named", False
    orders: tuple[DateOrder, ...] = ("day first", "month first", "year first")
    days = {order: [_read_day(text, order) for text in loose] for order in orders}
    possible = {
        order: [day for day in read if day is not None]
        for order, read in days.items()
        if all(day is not None for day in read)
    }
    if not possible:
        return "day first", "no order makes every date valid", True
    if len(possible) == 1:
        only = next(iter(possible))
        return only, "no other order gives dates that exist", False
    steady = {
        order: read
        for order, read in possible.items()
        if max(read) - min(read) <= 10 and _steps_back(read) <= len(read) // 20
    }
    if len(steady) == 1:
        only = next(iter(steady))
        return only, "the other order would spread the firing over months", False
    left = steady or possible
    if len({tuple(read) for read in left.values()}) == 1:
        return next(iter(left)), "every order gives the same dates", False
    if "." in loose[0] and "day first" in left:
        return "day first", "dates with points are written day first", False
    if not steady:
        return (
            min(left, key=lambda order: max(left[order]) - min(left[order])),
            "shorter span",
            True,
        )
    halves = any(re.search(r"\d\s*[AaPp]\.?[Mm]", cell) for cell in cells[:20])
    if halves and "month first" in left:
        return "month first", "AM and PM go with the month first, but nothing proves it", True
    order = "day first" if "day first" in left else next(iter(left))
    return order, "nothing in the file decides it", True


def _dates_in(cells: Sequence[str]) -> list[str]:
    """The different dates of a column, as they are written."""
    once = dict.fromkeys(part_zone_name(cell)[0] for cell in cells)
    return list(dict.fromkeys(found["date"] for cell in once if (found := _STAMP.match(cell))))


def _steps_back(days: list[int]) -> int:
    return sum(later < earlier for earlier, later in pairwise(days))


def _read_plain_iso(cells: Sequence[str]) -> Stamps | None:
    """The whole column by the standard parser, or None when it is not plain ISO 8601."""
    if not cells or _ISO_FRACTION.match(cells[0]):
        return None
    if set(map(len, cells)) == {19} and _PLAIN_ISO.fullmatch("".join(cells)):
        try:
            plain = np.array(cells, dtype="U19").astype("datetime64[s]").astype(np.int64)
        except ValueError:
            return None
        if plain.min() < (datetime.min - _EPOCH).total_seconds():
            return None
        return Stamps(plain.astype(np.float64), None, False, False)
    try:
        moments = list(map(datetime.fromisoformat, cells))
    except ValueError:
        return None
    zone = moments[0].tzinfo
    try:
        if zone is None:
            ticks = np.array(moments, dtype="datetime64[us]").astype(np.int64)
            return Stamps(ticks / 1_000_000, None, False, False)
        seconds = [moment.timestamp() for moment in moments if moment.tzinfo is not None]
    except TypeError:
        return None
    if len(seconds) != len(moments):
        return None
    offset = moments[0].utcoffset()
    return Stamps(np.array(seconds), offset.total_seconds() if offset else 0.0, True, False)


def _of_datetime(moment: datetime) -> tuple[float, float | None]:
    offset = moment.utcoffset()
    if offset is None:
        return (moment - _EPOCH) / timedelta(seconds=1), None
    # Not by way of UTC: the first and the last day of the calendar may have none.
    ahead_s = offset.total_seconds()
    local_s = (moment.replace(tzinfo=None) - _EPOCH) / timedelta(seconds=1)
    return local_s - ahead_s, ahead_s


def _time_of(found: re.Match[str]) -> float | None:
    """Seconds after midnight of a matched stamp; 24:00 and a leap second are allowed."""
    parts = found.groupdict()
    if parts["compact"]:
        digits = parts["compact"]
        fields = [float(digits[at : at + 2]) for at in range(0, len(digits), 2)]
        if parts["compact_fraction"]:
            fields[-1] += float("0." + parts["compact_fraction"])
        hour, minute, second = [*fields, 0.0, 0.0][:3]
    elif parts["hour"]:
        hour = float(parts["hour"])
        minute = float((parts["minute"] or "0").replace(",", "."))
        second = float((parts["second"] or "0") + "." + (parts["fraction"] or "0"))
        half = parts["half"] or parts["half_before"]
        if half:
            hour = _of_half_day(int(hour), half)
    else:
        return 0.0
    if hour > 24 or minute >= 60 or second >= 61 or (hour >= 24 and minute + second > 0):
        return None
    return hour * 3600 + minute * 60 + second


def _of_half_day(hour: int, half: str) -> int:
    """12 AM is 0 h, 12 PM is 12 h."""
    after_noon = half.casefold().replace(".", "").replace(" ", "") in _PM
    return hour % 12 + (12 if after_noon else 0) if hour <= 12 else hour


def _offset_of(zone: str | None) -> float | None:
    if not zone:
        return None
    digits = re.sub(r"[^\d]", "", zone)
    if not digits:
        return 0.0
    hours, minutes = (int(digits), 0) if len(digits) <= 2 else (int(digits[:-2]), int(digits[-2:]))
    if hours >= 24 or minutes >= 60:
        return None  # No zone on earth: what stands there says nothing of the time.
    sign = -1.0 if "-" in zone or "−" in zone else 1.0
    return sign * (hours * 3600.0 + minutes * 60.0)


_days_read: dict[tuple[str, DateOrder], int | None] = {}


def _read_day(text: str, order: DateOrder) -> int | None:
    """The ordinal of a date; kept, because a log names few dates and names them often."""
    key = (text, order)
    if key not in _days_read:
        if len(_days_read) > 5000:
            _days_read.clear()
        try:
            day = _day_of(text, order)
        except ValueError:
            day = None
        _days_read[key] = day.toordinal() if day is not None else None
    return _days_read[key]


def _day_of(text: str, order: DateOrder) -> date | None:
    week = re.match(r"(\d{4})-?W(\d{2})-?(\d)$", text)
    if week is not None:
        return date.fromisocalendar(int(week[1]), int(week[2]), int(week[3]))
    ordinal = re.match(r"(\d{4})-?(\d{3})$", text)
    if ordinal is not None:
        year, number = int(ordinal[1]), int(ordinal[2])
        day = date(year, 1, 1) + timedelta(days=number - 1)
        return day if number >= 1 and day.year == year else None
    if len(text) == 8 and text.isdigit():
        return date(int(text[:4]), int(text[4:6]), int(text[6:]))
    word = re.search(r"[^\W\d_]{3,}", text)
    numbers = [int(part) for part in re.findall(r"\d+", text)]
    if word is not None:
        month = _MONTH_OF.get(word[0].casefold())
        if month is None or len(numbers) != 2:
            return None
        day_number, year = numbers
        return date(_full_year(year), month, day_number)
    if len(numbers) != 3:
        return None
    first, second, third = numbers
    if len(re.findall(r"\d+", text)[0]) >= 3:
        return date(first, second, third)
    if order == "year first":
        return _recent(date(_full_year(first), second, third)) if third <= 31 else None
    if order == "month first":
        return _recent(date(_full_year(third), first, second))
    return _recent(date(_full_year(third), second, first))


def _full_year(year: int) -> int:
    return year + 2000 if year < 70 else year + 1900 if year < 100 else year


def _recent(day: date) -> date | None:
    """No kiln was logged to a file before 1980."""
    return day if 1980 <= day.year <= 2100 else None
