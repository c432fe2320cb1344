"""Readings of a pyrometer as a potter types them: when, how hot, and what was done.

One line is time, temperature, and anything said of it: "1:30 420 switch 2 high", "@08:40 420 °C".
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from studiolog.craft.units import (
    MINUS,
    fahrenheit_from_celsius,
    parse_duration,
    parse_temperature,
    show_temperature,
)
from studiolog.problems import UserProblem

COLDEST_C: Final = -40.0
HOTTEST_C: Final = 1450.0
LONGEST_NOTE: Final = 120

_TIME = r"@?\d\S*(?:\s*(?:h|min|m)\b(?:\s*\d+\s*(?:min|m)?\b)?)?"
_HEAT = rf"[+{MINUS}-]?(?:\d{{1,3}}(?: \d{{3}})+|\d+)(?:[.,]\d+)?(?:\s*°?\s*[cCfF](?![^\s,;]))?"
_LINE = re.compile(rf"^\s*(?P<time>{_TIME})[\s,;]+(?P<heat>{_HEAT})(?:[\s,;]+(?P<note>\S.*))?$")
_AGO = re.compile(rf"^(?:[-{MINUS}–](?P<minus>.+)|(?P<ago>.+?)\s+ago)$")
_CLOCK = re.compile(r"^@?(?P<hour>[01]?\d|2[0-3])[:.](?P<minute>[0-5]\d)$")


@dataclass(frozen=True, slots=True)
class HandReading:
    """A reading taken by hand: seconds since the start, °C, and what was done then."""

    at_s: float
    temperature_c: float
    note: str = ""


def read_heat(text: str, unit: str) -> float:
    """°C of a reading as typed. Raises UserProblem if it is none, or no kiln's."""
    if not text.strip():
        raise UserProblem("Type what the pyrometer shows.")
    try:
        heat_c = parse_temperature(text, unit)
    except UserProblem:
        like = show_temperature(820, unit)
        raise UserProblem(
            f"“{text.strip()}” is not a temperature; write it like {like}, or the figure alone."
        ) from None
    if not COLDEST_C <= heat_c <= HOTTEST_C:
        low, high = show_temperature(20, unit), show_temperature(HOTTEST_C, unit)
        raise UserProblem(
            f"{show_temperature(heat_c, unit)} is no kiln's temperature: it lies between "
            f"{low} and {high}. Is a figure too many, or the other unit meant?"
        )
    return heat_c


def read_moment(text: str, now: datetime, started_at: datetime) -> datetime:
    """When a reading was taken: "" and "now", "14:20", "-5 min", "5 min ago"; to the minute.

    A time of day is the last such time there was. Raises UserProblem for one that is none, is
    still to come, or lies before the start.
    """
    plain = text.strip().lower()
    this_minute = now.replace(second=0, microsecond=0)
    clock, ago = _CLOCK.match(plain), _AGO.match(plain)
    if plain in ("", "now"):
        return max(this_minute, min(started_at, now))
    if clock is not None:
        at = this_minute.replace(hour=int(clock["hour"]), minute=int(clock["minute"]))
        if at > now:
            at -= timedelta(days=1)
            if at < started_at:
                raise UserProblem(f"{text.strip()} is still to come: it is {now:%H:%M} now.")
    elif ago is not None:
        try:
            back_s = parse_duration(ago["minus"] or ago["ago"])
        except UserProblem:
            raise _no_moment(text) from None
        at = (now - timedelta(seconds=back_s)).replace(second=0, microsecond=0)
    else:
        raise _no_moment(text)
    if at < started_at:
        if at >= started_at.replace(second=0, microsecond=0):
            return started_at
        raise UserProblem(f"{text.strip()} is before the firing started, at {started_at:%H:%M}.")
    return at


def _no_moment(text: str) -> UserProblem:
    return UserProblem(
        f"“{text.strip()}” is not a time: write it like 14:20, or −5 min for five minutes ago."
    )


def read_lines(text: str, started_at: datetime, unit: str) -> list[HandReading]:
    """Readings of lines like "1:30 420" or "@08:40 420 °C switches high", one a line.

    Times count from the start; one with @ is a time of day, the day going on past midnight.
    Raises UserProblem naming the line.
    """
    found: list[HandReading] = []
    day_s = 0.0
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        match = _LINE.match(line)
        if match is None:
            raise UserProblem(
                f"Line {number} is not a reading: “{line.strip()}”. Write time and temperature, "
                "like 1:30 420; what you did may follow."
            )
        try:
            said = match["time"]
            if said.startswith("@"):
                at_s = parse_duration(said[1:]) - (
                    started_at.hour * 3600 + started_at.minute * 60 + started_at.second
                )
                while found and at_s + day_s < found[-1].at_s:
                    day_s += 86400.0
                if not found and at_s < 0:
                    day_s = 86400.0
                at_s += day_s
            else:
                at_s = parse_duration(said)
            heat_c = read_heat(match["heat"], unit)
            note = clean_note(match["note"] or "")
        except UserProblem as problem:
            raise UserProblem(f"Line {number}: {problem.sentence}") from problem
        found.append(HandReading(at_s, heat_c, note))
    return found


def write_lines(readings: Iterable[HandReading], unit: str) -> str:
    """Readings as `read_lines` reads them again, in the unit that is read."""
    return "\n".join(_write_line(reading, unit) for reading in readings)


def _write_line(reading: HandReading, unit: str) -> str:
    heat_c = reading.temperature_c
    heat = fahrenheit_from_celsius(heat_c) if unit == "F" else heat_c
    words = f"{write_since_start(reading.at_s)} {heat:.1f}".removesuffix(".0")
    return f"{words} {reading.note}" if reading.note else words


def write_since_start(seconds: float) -> str:
    """ "1:30", or "1:30:20" where the seconds matter."""
    whole = round(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, odd = divmod(rest, 60)
    return f"{hours}:{minutes:02d}" + (f":{odd:02d}" if odd else "")


def clean_note(text: str) -> str:
    """A note as it is kept: one line. Raises UserProblem if it is too long for one."""
    note = " ".join(text.split())
    if len(note) > LONGEST_NOTE:
        raise UserProblem(
            f"The note has {len(note)} letters; {LONGEST_NOTE} at most, the rest into the "
            "firing's notes."
        )
    return note


def notes_of(readings: Iterable[HandReading]) -> str:
    """The notes of readings as the curve keeps them: a line each, after its time."""
    return "\n".join(f"{write_since_start(one.at_s)} {one.note}" for one in readings if one.note)


def join_notes(
    readings: Iterable[tuple[float, float]], lines: Iterable[str]
) -> tuple[HandReading, ...]:
    """Readings (seconds, °C) with the notes that were kept of them."""
    said = dict(line.split(" ", 1) for line in lines if re.match(r"^\d+:\d\d(?::\d\d)? \S", line))
    return tuple(
        HandReading(at_s, heat_c, said.get(write_since_start(at_s), ""))
        for at_s, heat_c in readings
    )
