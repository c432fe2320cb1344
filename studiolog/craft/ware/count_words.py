"""Small numbers as words, and chances and weeks as they are said of a promise."""

from typing import Final

from studiolog.craft.units import THIN

_WORDS: Final = (
    *("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
    *("eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen"),
    *("nineteen", "twenty"),
)


def say_number(count: int) -> str:
    """ "eight"; from 21 on in figures."""
    return _WORDS[count] if 0 <= count < len(_WORDS) else str(count)


def say_counted(count: int, noun: str, plural: str = "") -> str:
    """ "one piece", "12 pieces": figures, but for one."""
    return f"one {noun}" if count == 1 else f"{count} {plural or f'{noun}s'}"


def say_chance(chance: float) -> str:
    """ "92 %"; never quite none or all."""
    if chance < 0.01:
        return f"under 1{THIN}%"
    if chance > 0.99:
        return f"over 99{THIN}%"
    return f"{100 * chance:.0f}{THIN}%"


def say_weeks(low: int | None, high: int | None) -> str:
    """ "six to eight weeks", "eight weeks"; without a last week "more than half a year"."""
    if high is None:
        return "more than half a year"
    last = f"{say_number(high)} week{'' if high == 1 else 's'}"
    return last if low is None or low >= high else f"{say_number(low)} to {last}"


def say_shift(days: int | None) -> str:
    """ "18 days sooner", "a day later", "the same day"; "" where it can't be told."""
    if days is None:
        return ""
    if days == 0:
        return "the same day"
    count = "a day" if abs(days) == 1 else f"{abs(days)} days"
    return f"{count} {'sooner' if days < 0 else 'later'}"
