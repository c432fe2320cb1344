"""Matters a log often leaves open: the unit, and when the firing began. Proposed, never decided."""

import re
from datetime import UTC, datetime, timedelta, timezone

import numpy as np

from studiolog.transfer.temperature_log.channels import RawChannel
from studiolog.transfer.temperature_log.cleaning import HIGHEST_C, celsius_from, find_robust_peak
from studiolog.transfer.temperature_log.clock import Clock
from studiolog.transfer.temperature_log.header_words import unit_in
from studiolog.transfer.temperature_log.stamps import read_stamp
from studiolog.transfer.temperature_log.values import Choices, Note, Question, Understood, Unit

_NEAR = 15.0
_ROOM_F = (50.0, 95.0)  # a cold studio to a hot one; as °C a kiln that was warm already
_UNIT_NAMES = {"C": "°C", "F": "°F", "K": "K"}
_UNIT_LINE = re.compile(r"unit|einheit|unité|unidad|unità|eenheid|単位|scale|temp", re.IGNORECASE)
_START_LINE = re.compile(
    r"\b(start|started|begin|began|beginn|début|debut|inicio|inizio|date|datum|fecha|data|created)|開始|日付|日時",
    re.IGNORECASE,
)
_DATE_IN_NAME = re.compile(
    r"(?<!\d)((?:19|20)\d\d)[-_.]?(0[1-9]|1[0-2])[-_.]?(0[1-9]|[12]\d|3[01])"
    r"(?:[-_T. ]{1,2}([01]\d|2[0-3])[-_.:h]?([0-5]\d)(?:[-_.:]?([0-5]\d))?)?(?!\d)"
)
_DAY_FIRST_IN_NAME = re.compile(
    r"(?<!\d)(0?[1-9]|[12]\d|3[01])\.(0?[1-9]|1[0-2])\.((?:19|20)?\d\d)(?!\d)"
)


def settle_unit(
    primary: RawChannel, preamble: list[str], choices: Choices
) -> tuple[Unit, list[Understood], list[Question]]:
    """The unit of the temperatures, or a proposal with a question when the file cannot mean it."""
    peak = find_robust_peak(primary.values)
    finite = primary.values[np.isfinite(primary.values)]
    first = float(np.median(finite[:5])) if finite.size else float("nan")
    usual = first
    if finite.size:
        # Told as the file has them, unless they stand alone.
        near = finite[finite <= peak + _NEAR] if np.isfinite(peak) else finite
        peak = float(near.max()) if near.size else peak
        first = float(finite[0]) if abs(finite[0] - first) <= 4 * _NEAR else first
    if choices.unit is not None:
        return choices.unit, [Understood("unit", _UNIT_NAMES[choices.unit], "chosen")], []
    label: str | None = primary.unit or None
    evidence = f"the header says {primary.name}"
    if label not in ("C", "F", "K"):
        line = next((line for line in preamble if _UNIT_LINE.search(line) and unit_in(line)), None)
        label = unit_in(line) if line is not None else None
        evidence = f"a line above the table says “{line.strip()}”" if line is not None else ""
    if label in ("F", "K"):
        unit: Unit = "F" if label == "F" else "K"
        return unit, [Understood("unit", _UNIT_NAMES[unit], evidence)], []
    if np.isfinite(peak) and peak > HIGHEST_C:
        proposed: Unit = "K" if 270 <= first <= 312 and peak < HIGHEST_C + 273 else "F"
        said = "The file says °C, but" if label else "The file names no unit, and"
        as_c = float(celsius_from(np.array([peak]), proposed)[0])
        first_c = float(celsius_from(np.array([first]), proposed)[0])
        question = Question(
            "unit",
            f"{said} its peak of {peak:.0f} is too hot for a kiln in °C. As "
            f"{_UNIT_NAMES[proposed]} it would start at {first_c:.0f} °C and peak at "
            f"{as_c:.0f} °C. Which unit is it?",
            ("C", "F", "K"),
            proposed,
        )
        return (
            proposed,
            [Understood("unit", f"{_UNIT_NAMES[proposed]}?", "too hot for °C")],
            [question],
        )
    if label == "C":
        return "C", [Understood("unit", "°C", evidence)], []
    questions: list[Question] = []
    if (_ROOM_F[0] <= first <= _ROOM_F[1] or 60 <= usual <= 85) and peak > 300:
        questions.append(
            Question(
                "unit",
                f"The file names no unit. It starts at {first:.0f} and peaks at {peak:.0f}: a warm "
                "kiln in °C, or a room in °F. Which unit is it?",
                ("C", "F"),
                "C",
            )
        )
    return "C", [Understood("unit", "°C", f"no unit named; peak {peak:.0f} suits °C")], questions


def settle_start(
    clock: Clock, zero_s: float, preamble: list[str], name: str, choices: Choices
) -> tuple[datetime | None, list[Note], list[Question], Understood]:
    """When the first reading was taken: with a zone if the file names one, else local time."""
    if choices.start is not None:
        return choices.start, [], [], _told(choices.start, "chosen")
    if clock.dated:
        moment = datetime(1970, 1, 1) + timedelta(seconds=round(zero_s, 3))
        if clock.offset_s is None:
            return moment, [], [], _told(moment, "the first row's stamp; local time, no zone named")
        zone = timezone(timedelta(seconds=clock.offset_s)) if clock.offset_s else UTC
        moment = moment.replace(tzinfo=UTC).astimezone(zone)
        return moment, [], [], _told(moment, "the first row's stamp, with its zone")
    for line in preamble:
        found = _stamp_in(line)
        if found is not None:
            moment = _join_clock(found, clock, zero_s)
            return moment, [], [], _told(moment, f"a line above the table: “{line.strip()}”")
    named = _stamp_in_name(name)
    if named is not None:
        moment = _join_clock(named, clock, zero_s)
        question = Question(
            "start",
            f"The file's name speaks of {named:%Y-%m-%d}. Did the firing start on "
            f"{moment:%Y-%m-%d at %H:%M}?",
            (moment.isoformat(),),
            moment.isoformat(),
        )
        return moment, [], [question], _told(moment, f"the file's name: {name}")
    time = ""
    if clock.kind == "clock":
        time = f" at {int(zero_s % 86400 // 3600):02d}:{int(zero_s % 3600 // 60):02d}"
    question = Question(
        "start", f"The file names no date. On which day did it start{time}?", (), ""
    )
    return (
        None,
        [],
        [question],
        Understood("start", "no date", "neither in the rows nor above them"),
    )


def _told(moment: datetime, evidence: str) -> Understood:
    return Understood("start", moment.isoformat(sep=" ", timespec="seconds"), evidence)


def _join_clock(moment: datetime, clock: Clock, zero_s: float) -> datetime:
    """On a clock without a date the time of day comes from the rows."""
    if clock.kind != "clock":
        return moment
    return moment.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(
        seconds=zero_s % 86400
    )


def _stamp_in(line: str) -> datetime | None:
    said = _START_LINE.search(line)
    if said is None:
        return None
    rest = re.sub(r"^[^\d]*", "", line[said.end() :]).strip(" ;,|\t")
    for text in (rest, rest.split(" ")[0].split(";")[0].split(",")[0]):
        read = read_stamp(text)
        if read is not None:
            seconds, offset = read
            moment = datetime(1970, 1, 1) + timedelta(seconds=seconds)
            if offset is None:
                return moment
            return moment.replace(tzinfo=UTC).astimezone(timezone(timedelta(seconds=offset)))
    return None


def _stamp_in_name(name: str) -> datetime | None:
    found = _DATE_IN_NAME.search(name)
    try:
        if found is not None:
            year, month, day, hour, minute, second = (int(part or 0) for part in found.groups())
            return datetime(year, month, day, hour, minute, second)
        swapped = _DAY_FIRST_IN_NAME.search(name)
        if swapped is not None:
            day, month, year = (int(part) for part in swapped.groups())
            return datetime(year + 2000 if year < 100 else year, month, day)
    except ValueError:
        return None
    return None
