"""What a firing used: read from a meter, from the logged duty, or estimated; always said which.

A meter reading comes first; else the sum of power, duty and time; else power × heating hours ×
0.5 (bisque) or 0.65 (glaze), *common practice*, to a quarter either way.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median
from typing import Final

from studiolog.craft.firing.program import ROOM_C, Segment, planned_points
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import parse_number, show_number, show_quantity
from studiolog.problems import UserProblem

BASES: Final = {
    "meter": "by the meter",
    "duty log": "from logged duty",
    "estimate": "estimated",
}
"""How the energy of a firing is known, best first."""

_COOLER_KINDS: Final = ("bisque", "decoration")
_QUARTER_S: Final = 900.0


@dataclass(frozen=True, slots=True)
class EnergyUsed:
    """kWh with the interval it lies in, and how it is known: a key of :data:`BASES`.

    ``words`` say the basis in full: "estimated: 8 kW × 9.8 h × 0.65, common practice". They are
    shown wherever the figure is.
    """

    kwh: float
    low: float
    high: float
    basis: str
    words: str

    @property
    def label(self) -> str:
        """ "62.4 kWh, read from the meter"; an estimate is rounded, and says how wide it is."""
        return f"{self.amount}, {self.words}"

    @property
    def amount(self) -> str:
        """ "62.4 kWh", "about 51 kWh"."""
        if self.basis == "meter":
            return show_quantity(self.kwh, "kWh", 1)
        return f"about {show_quantity(self.kwh, 'kWh')}"

    @property
    def between(self) -> str:
        """ "38 to 64 kWh"; empty where a meter says it."""
        if self.low == self.high:
            return ""
        return f"{show_number(self.low)} to {show_quantity(self.high, 'kWh')}"


@dataclass(frozen=True, slots=True, kw_only=True)
class EnergyFacts:
    """What is known of a firing that its energy can be told from.

    ``kwh`` is what a meter said it used, else the stand of the meter ``before_kwh`` and
    ``after_kwh``. ``duty_h`` are the hours of full power of its log, of which ``duty_gap_h`` are
    joined over silences. ``heating_h`` is by its curve, ``planned_h`` by its program.
    """

    kind: str = "glaze"
    kwh: float | None = None
    before_kwh: float | None = None
    after_kwh: float | None = None
    power_kw: float | None = None
    duty_h: float | None = None
    duty_gap_h: float | None = None
    heating_h: float | None = None
    planned_h: float | None = None

    @property
    def metered_kwh(self) -> float | None:
        """What a meter said, or None."""
        if self.kwh is not None:
            return self.kwh
        if self.before_kwh is None or self.after_kwh is None:
            return None
        return self.after_kwh - self.before_kwh


def tell_energy(facts: EnergyFacts, limits: Limits = SHIPPED) -> EnergyUsed | None:
    """The energy of a firing by the best basis there is; None where there is none."""
    metered = facts.metered_kwh
    if metered is not None:
        words = "read from the meter"
        if facts.kwh is None and facts.before_kwh is not None and facts.after_kwh is not None:
            before, after = show_number(facts.before_kwh, 1), show_number(facts.after_kwh, 1)
            words += f" ({before} to {after})"
        return EnergyUsed(metered, metered, metered, "meter", words)
    power = facts.power_kw
    if power is None:
        return None
    if facts.duty_h is not None:
        kwh, width = power * facts.duty_h, limits["duty_width"]
        # Over a silence the duty may have been anything; it was joined at what stood about it.
        silent = power * (facts.duty_gap_h or 0.0) / 2.0
        low = max(0.0, kwh * (1.0 - width) - silent)
        words = (
            f"from the logged duty: {show_quantity(power, 'kW', 1)} × "
            f"{show_quantity(facts.duty_h, 'h', 1)} at full power"
        )
        return EnergyUsed(kwh, low, kwh * (1.0 + width) + silent, "duty log", words)
    hours = facts.heating_h if facts.heating_h is not None else facts.planned_h
    if hours is None:
        return None
    return _estimate(power, hours, facts.kind, limits, planned=facts.heating_h is None)


def _estimate(
    power_kw: float, hours: float, kind: str, limits: Limits, *, planned: bool
) -> EnergyUsed:
    key = "bisque_duty" if kind in _COOLER_KINDS else "glaze_duty"
    share, width = limits[key], limits["estimate_width"]
    kwh = power_kw * hours * share
    standing = "as you set it" if limits.is_changed(key) else "common practice"
    of = "planned heating" if planned else "heating"
    words = (
        f"estimated: {show_quantity(power_kw, 'kW', 1)} × {show_quantity(hours, 'h', 1)} of {of} × "
        f"{show_number(share, 2)}, {standing}, to {show_quantity(100 * width, '%')} either way"
    )
    return EnergyUsed(kwh, kwh * (1.0 - width), kwh * (1.0 + width), "estimate", words)


def say_missing_energy(facts: EnergyFacts) -> str:
    """What is missing for the energy of a firing, and what still works; empty if none is."""
    if tell_energy(facts) is not None:
        return ""
    if facts.before_kwh is not None and facts.power_kw is None:
        return "The meter after the firing is not read yet: with it the energy is known."
    if facts.power_kw is None:
        return (
            "Neither the meter nor the kiln's power is known: read the meter, or give the power on "
            "the kiln's page. Temperatures, cones and times are told without it."
        )
    return (
        "There is no meter reading, no log and no program to tell the heating hours from: type the "
        "kWh, or add a log."
    )


@dataclass(frozen=True, slots=True)
class ExpectedUse:
    """What a program will probably use: as it did before, or estimated; ``firings`` it rests on."""

    energy: EnergyUsed
    firings: int = 0


def expect_use(
    metered_kwh: Sequence[float],
    power_kw: float | None,
    heating_h: float | None,
    kind: str = "glaze",
    limits: Limits = SHIPPED,
) -> ExpectedUse | None:
    """The energy to expect of a program in a kiln; None where nothing tells it.

    ``metered_kwh`` are its earlier firings there by the meter, newest first: the median of the
    last ones, from three on, else the estimate.
    """
    last = list(metered_kwh)[: int(limits["last_alike"])]
    if len(last) >= limits["enough_alike"]:
        words = f"as the last {len(last)} firings of it by the meter"
        return ExpectedUse(
            EnergyUsed(median(last), min(last), max(last), "meter", words), len(last)
        )
    if power_kw is None or heating_h is None:
        return None
    return ExpectedUse(_estimate(power_kw, heating_h, kind, limits, planned=True))


def planned_heating_h(segments: Sequence[Segment], start_c: float = ROOM_C) -> float:
    """Hours from the start of a program until its top is left.

    Raises UserProblem for a program with problems.
    """
    times, temps = planned_points(segments, start_c)
    top = max(float(temp) for temp in temps)
    last = max(place for place, temp in enumerate(temps) if float(temp) == top)
    return float(times[last]) / 3600.0


@dataclass(frozen=True, slots=True)
class PowerSpread:
    """When the power of a firing was used: shares of it between moments, seconds from its start.

    ``edges_s`` is one longer than ``shares``, which add up to 1. ``logged`` says that the duty was;
    else the power is taken as constant over the heating.
    """

    edges_s: tuple[float, ...]
    shares: tuple[float, ...]
    logged: bool

    def until(self, elapsed_s: float) -> float:
        """The share that was used up to a moment."""
        if elapsed_s <= self.edges_s[0]:
            return 0.0
        if elapsed_s >= self.edges_s[-1]:
            return 1.0
        at = bisect_left(self.edges_s, elapsed_s) - 1
        inside = (elapsed_s - self.edges_s[at]) / (self.edges_s[at + 1] - self.edges_s[at])
        return sum(self.shares[:at]) + self.shares[at] * inside


def spread_evenly(begins_h: float, heating_h: float) -> PowerSpread | None:
    """Power that is constant from the beginning of the heating to its end; None if it has none."""
    if heating_h <= 0.0:
        return None
    return PowerSpread((begins_h * 3600.0, (begins_h + heating_h) * 3600.0), (1.0,), False)


def spread_by_quarter(by_quarter: Sequence[float], started_at: datetime) -> PowerSpread | None:
    """Power as it was logged, by quarter hours of the wall clock from that of the start on.

    None where none was used.
    """
    total = sum(by_quarter)
    if total <= 0.0:
        return None
    into = (started_at.minute % 15) * 60.0 + started_at.second
    edges = [max(0.0, place * _QUARTER_S - into) for place in range(len(by_quarter) + 1)]
    return PowerSpread(tuple(edges), tuple(value / total for value in by_quarter), True)


@dataclass(frozen=True, slots=True)
class MeterWords:
    """What was typed of a meter: kWh used, or its stand before and after (one may be to come)."""

    kwh: float | None = None
    before_kwh: float | None = None
    after_kwh: float | None = None


def read_meter_words(text: str) -> MeterWords:
    """Read "56.2", "12345.6 to 12401.0", "12345.6 –" (the stand before, the other to come), "".

    Raises UserProblem for anything else, and for a meter that runs backwards.
    """
    plain = re.sub(r"\s*kwh\s*", " ", text.strip(), flags=re.IGNORECASE).strip()
    if not plain:
        return MeterWords()
    parts = re.fullmatch(
        r"(?:from\s+)?(.+?)\s*(?:\bto\b|[–—:]|\.\.|->|→|(?<=\d)\s*-)\s*(.*)", plain
    )
    if parts is None:
        kwh = _amount(plain)
        return MeterWords(kwh=kwh)
    before = _amount(parts[1])
    if not parts[2].strip(" …?"):
        return MeterWords(before_kwh=before)
    after = _amount(parts[2])
    if after < before:
        sentence = (
            f"A meter does not run backwards: {show_number(after, 1)} after is less than "
            f"{show_number(before, 1)} before. Were they swapped? If it began again from zero, "
            "type the kWh used."
        )
        raise UserProblem(sentence, {"kwh": sentence})
    return MeterWords(before_kwh=before, after_kwh=after)


def _amount(text: str) -> float:
    try:
        value = parse_number(text)
    except UserProblem as problem:
        sentence = (
            f"“{text.strip()}” is not a reading; write the kWh used (56.2), or the meter before "
            "and after (12345.6 to 12401.8)."
        )
        raise UserProblem(sentence, {"kwh": sentence}) from problem
    if value < 0:
        sentence = "A firing does not use less than nothing: type the kWh without a minus."
        raise UserProblem(sentence, {"kwh": sentence})
    return value
