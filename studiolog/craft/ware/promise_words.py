"""A promise as it is said, read into days: "six to eight weeks", "by 12 Dec", "early December".

Only what can mean one thing is read; the rest is refused with what to write instead. A week is
seven days and a month a month of the calendar (31 January and one month is the last of February).
Early, mid and late in a month are its first ten days, the next ten and the rest: a judgement,
since no two people mean the same by them.
"""

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from studiolog.craft.days import MONTHS, read_day, write_day
from studiolog.problems import UserProblem

_COUNTED: Final = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
    *("eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen"),
    *("nineteen", "twenty"),
)
_NUMBERS: Final = {
    **{word: number for number, word in enumerate(_COUNTED)},
    "no": 0,
    "a": 1,
    "an": 1,
    "thirty": 30,
    "forty": 40,
    "fifty": 50,
    "sixty": 60,
    "ninety": 90,
}
_TENS: Final = re.compile(
    rf"\b(twenty|thirty|forty|fifty|sixty|ninety)[- ]({'|'.join(_COUNTED[1:10])})\b"
)
_DAYS_IN: Final = {"day": 1, "week": 7, "fortnight": 14}
_MOST_YEARS: Final = 10
_HALF_A_YEAR: Final = timedelta(days=183)
_NUMBER: Final = rf"(?:\d{{1,5}}|{'|'.join(sorted(_NUMBERS, key=len, reverse=True))})"
_UNIT: Final = r"(day|week|fortnight|month|year)s?"
_SPAN: Final = re.compile(rf"({_NUMBER})(?: {_UNIT})? ?(?:to|-|and|or) ?({_NUMBER}) {_UNIT}")
_SINGLE: Final = re.compile(rf"({_NUMBER}) {_UNIT}(?: at most| at the latest| or less)?")
_PARTS: Final = {
    "early": (1, 10), "beginning of": (1, 10), "the beginning of": (1, 10), "start of": (1, 10),
    "the start of": (1, 10), "mid": (11, 20), "mid-": (11, 20), "middle of": (11, 20),
    "the middle of": (11, 20), "late": (21, 31), "end of": (21, 31), "the end of": (21, 31),
    "": (1, 31), "in": (1, 31),
}  # fmt: skip
_PART: Final = "|".join(sorted(filter(None, _PARTS), key=len, reverse=True))
_MONTH: Final = re.compile(rf"({_PART})? ?([a-z]{{3,9}})\.?(?: (\d{{4}}))?")
_UNSURE: Final = re.compile(r"\b(few|some|several|couple|many|soon|asap|half|working)\b")
_LIKE: Final = "Write it like “six to eight weeks”, “by 12 Dec” or “early December”."


@dataclass(frozen=True, slots=True)
class PromiseWindow:
    """The days a promise names: ``last`` is its last day, ``first`` None where it only ends.

    ``counted_from`` is the day weeks and months were counted from, None where days were named.
    """

    first: date | None
    last: date
    counted_from: date | None = None


def read_promise(words: str, given_on: date) -> PromiseWindow | None:
    """The window of a promise given on a day; None for no words.

    Raises `UserProblem` for what can't be read surely, for a window of nothing or that runs
    backwards, and for one that ends before the day it is given.
    """
    typed = " ".join(words.split())
    said = re.sub(r"\s*[-‐-―−]\s*", "-", typed.casefold().rstrip(" .!"))
    # "Twenty-one" is a number, not a window: as one it would run backwards.
    said = _TENS.sub(lambda found: str(_NUMBERS[found[1]] + _NUMBERS[found[2]]), said)
    said = said.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
    if not said:
        return None
    said = re.sub(r"^(?:it is |it's |will be )?(?:ready|done|delivered|promised)(?: for| in)? ", "",
                  said)  # fmt: skip
    if found := _UNSURE.search(said):
        raise _refuse(
            f"“{found[1]}” in “{typed}” can mean many things: say how many weeks, or the day. "
            f"{_LIKE}"
        )
    window = _read_span(said, typed, given_on) or _read_month(said, typed, given_on)
    window = window or _read_named(said, given_on) or _read_days(said, typed, given_on)
    if window.first is not None and window.first > window.last:
        raise _refuse(f"“{typed}” runs backwards: say the sooner end first.")
    if window.last < given_on:
        raise _refuse(
            f"“{typed}” ends on {write_day(window.last)}, before {write_day(given_on)}, the day it "
            "is given: a promise lies ahead."
        )
    if window.last.year > given_on.year + _MOST_YEARS:
        raise _too_far(typed)
    return window


def say_window(first: date | None, last: date | None, today: date | None = None) -> str:
    """The days of a promise: "9 to 23 Jan 2027", "30 Nov to 6 Dec", "by 12 Dec"; "" for none.

    The year is left out where it is that of ``today``.
    """
    if last is None:
        return ""
    if first is None:
        return f"by {write_day(last, today)}"
    if first == last:
        return f"on {write_day(last, today)}"
    ends = write_day(last, today)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} to {ends}"
    return f"{write_day(first, last if today is None else today)} to {ends}"


def _refuse(sentence: str) -> UserProblem:
    return UserProblem(sentence, {"promise_words": sentence})


def _too_far(typed: str) -> UserProblem:
    return _refuse(f"“{typed}” is more than {_MOST_YEARS} years ahead: look at it again.")


def _read_span(said: str, typed: str, given_on: date) -> PromiseWindow | None:
    """Days, weeks or months counted from the day it is given, or from the day it names."""
    counted, start = re.fullmatch(r"(.*?)(?: (?:from|after) (.+))?", said, re.DOTALL).groups()  # type: ignore[union-attr]
    counted = re.sub(r"^(?:in|within|between|from now) ", "", counted)
    rough = re.match(r"(?:about|around|roughly|circa|ca|some) ", counted)
    if rough:
        counted = counted[rough.end() :]
    counted = counted.removesuffix(" from now").removesuffix("' time").removesuffix(" time")
    span, single = _SPAN.fullmatch(counted), _SINGLE.fullmatch(counted)
    if not span and not single:
        return None
    at = given_on if start in (None, "now", "today") else _nearest(start, typed, given_on)
    if span:
        unit = span[4]
        first = _count_on(at, _number(span[1]), span[2] or unit, typed)
        return PromiseWindow(first, _count_on(at, _number(span[3]), unit, typed), at)
    assert single is not None
    if rough:
        raise _refuse(f"“{typed}” is no window yet: say from when to when. {_LIKE}")
    return PromiseWindow(None, _count_on(at, _number(single[1]), single[2], typed), at)


def _number(word: str) -> int:
    return int(word) if word.isdigit() else _NUMBERS[word]


def _count_on(day: date, how_many: int, unit: str, typed: str) -> date:
    if how_many == 0:
        raise _refuse(f"“{typed}” gives no time at all: a promise leaves one day or more. {_LIKE}")
    try:
        if unit in _DAYS_IN:
            return day + timedelta(days=how_many * _DAYS_IN[unit])
        months = day.year * 12 + day.month - 1 + how_many * (12 if unit == "year" else 1)
        year, month = divmod(months, 12)
        return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
    except (OverflowError, ValueError) as problem:
        raise _too_far(typed) from problem


def _nearest(text: str, typed: str, given_on: date) -> date:
    """The day a text names, the nearest of those it may be."""
    found = []
    for prefer in ("past", "future"):
        try:
            day = read_day(text, given_on, prefer)
        except UserProblem:
            continue
        if day is not None:
            found.append(day)
    if not found:
        raise _refuse(f"“{typed}” can't be read: “{text}” is not a day. {_LIKE}")
    return min(found, key=lambda day: abs((day - given_on).days))


def _read_month(said: str, typed: str, given_on: date) -> PromiseWindow | None:
    """A month or a part of one: "early December", "mid-March 2027", "by the end of January"."""
    by_end = said.startswith("by ")
    found = _MONTH.fullmatch(said.removeprefix("by ").removeprefix("in "))
    if not found:
        return None
    named = [i for i, name in enumerate(MONTHS, 1) if name.startswith(found[2])]
    if len(named) != 1:
        return None
    part = (found[1] or "").strip()
    if by_end and "end" not in part:
        # "By December" is before it to one, and within it to another.
        raise _refuse(f"“{typed}” can mean its first day or its last: name the day. {_LIKE}")
    month = named[0]
    years = (int(found[3]),) if found[3] else (given_on.year, given_on.year + 1)
    for year in years:
        if year < 1:
            raise _unread(typed)
        if year >= 9999:
            raise _too_far(typed)
        in_month = monthrange(year, month)[1]
        begins, ends = _PARTS[part]
        last = date(year, month, min(ends, in_month))
        if last >= given_on or found[3]:
            first = None if by_end else date(year, month, begins)
            return PromiseWindow(first, last)
    return None


def _read_named(said: str, given_on: date) -> PromiseWindow | None:
    """Weeks and months by their place, and the one feast that is the same day every year."""
    monday = given_on - timedelta(days=given_on.weekday())
    by, name = said.startswith("by "), said.removeprefix("by ").removeprefix("in ")
    first, last = given_on, given_on
    if name in ("this week", "the end of this week", "the end of the week", "end of the week"):
        last = monday + timedelta(days=6)
    elif name in ("next week", "the end of next week"):
        first, last = monday + timedelta(days=7), monday + timedelta(days=13)
    elif name in ("this month", "the end of the month", "end of the month"):
        last = given_on.replace(day=monthrange(given_on.year, given_on.month)[1])
    elif name in ("next month", "the end of next month"):
        first = (given_on.replace(day=1) + timedelta(days=32)).replace(day=1)
        last = first.replace(day=monthrange(first.year, first.month)[1])
    elif said in ("by christmas", "before christmas", "for christmas"):
        eve = date(given_on.year, 12, 24)
        return PromiseWindow(None, eve if eve >= given_on else eve.replace(year=eve.year + 1))
    else:
        return None
    return PromiseWindow(None if by or "end of" in name else first, last)


def _read_days(said: str, typed: str, given_on: date) -> PromiseWindow:
    """One day, or from a day to a day; a day before "12 to 19 Dec" lends its month."""
    said = re.sub(r"^(?:between|from|on) ", "", said)
    by = re.match(r"(by|until|till|before|not later than|no later than) ", said)
    if by:
        day = _day(said[by.end() :], typed, given_on)
        return PromiseWindow(None, day - timedelta(days=1) if by[1] == "before" else day)
    ends = re.fullmatch(r"(.+?) (?:to|and|until) (.+)", said)
    if not ends and not re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", said):
        ends = re.fullmatch(r"([^-]+)-([^-]+)", said)
    if not ends:
        return PromiseWindow(None, _day(said, typed, given_on))
    last = _day(ends[2], typed, given_on)
    first_said = ends[1]
    if re.fullmatch(r"\d{1,2}\.?", first_said):
        try:
            return PromiseWindow(last.replace(day=int(first_said.rstrip("."))), last)
        except ValueError as problem:
            raise _unread(typed) from problem
    first = _day(first_said, typed, given_on)
    if first > last and not re.search(r"\d{4}", ends[2]):
        # "28 Dec to 9 Jan", said in December of the days after it.
        later = _day(ends[2], typed, first)
        last = later if later - first < _HALF_A_YEAR else last
    return PromiseWindow(first, last)


def _day(text: str, typed: str, given_on: date) -> date:
    try:
        day = read_day(text, given_on, "future")
    except UserProblem as problem:
        raise _unread(typed) from problem
    if day is None:
        raise _unread(typed)
    return day


def _unread(typed: str) -> UserProblem:
    return _refuse(f"“{typed}” can't be read as a promise. {_LIKE}")
