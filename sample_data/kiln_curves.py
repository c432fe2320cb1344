"""The demo's firing logs: what a controller would have written down, from a small kiln model.

The kiln is one warm body. Its elements can give so many degrees an hour, less as the kiln gets
hotter and less as they wear; what it loses grows with its temperature, and that loss, with the
elements off, is its natural cooling (an exponential, *common practice* for a closed kiln: about
a day to 100 °C for a brick kiln of some 180 litres, ten hours for a small test kiln). The
controller holds its clock while the kiln lags too far behind, as most do.

Temperatures in °C, rates in °C/h, times in seconds from the start unless the name says otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np

STEP_S = 20.0
AMBIENT_C = 18.0


class KilnSegment(NamedTuple):
    """One segment of a program. Rate None: as fast as the kiln goes, up or down."""

    rate_c_per_h: float | None
    target_c: float
    hold_min: float = 0.0


class Interruption(NamedTuple):
    """Something that went wrong at an hour, for some minutes.

    ``power_cut``: elements off and nothing logged; ``probe_drop``: single readings of 0 °C or
    above 1400 °C; ``logger_gap``: the firing goes on, nothing is logged.
    """

    at_h: float
    minutes: float
    kind: str = "power_cut"


@dataclass(frozen=True)
class KilnNature:
    """What one kiln can do."""

    cooling_tau_h: float
    """Time constant of natural cooling, elements off."""
    full_power_c_per_h: float
    """Rise at full power with no loss: new elements."""
    wait_behind_c: float = 9.0
    """How far the kiln may lag before the controller stops its clock."""


BIG_KILN = KilnNature(cooling_tau_h=8.9, full_power_c_per_h=290.0)
TEST_KILN = KilnNature(cooling_tau_h=3.6, full_power_c_per_h=720.0)

BISQUE_04 = (
    KilnSegment(60, 120, 60),
    KilnSegment(100, 600),
    KilnSegment(150, 950),
    KilnSegment(60, 1060, 10),
)
GLAZE_6_SLOW_COOL = (
    KilnSegment(100, 120, 15),
    KilnSegment(150, 600),
    KilnSegment(160, 1100),
    KilnSegment(60, 1205, 15),
    KilnSegment(None, 1040),
    KilnSegment(-60, 820),
)
GLAZE_6_FAST = (
    KilnSegment(150, 600),
    KilnSegment(170, 1120),
    KilnSegment(60, 1222, 10),
)


@dataclass(frozen=True, eq=False)
class SimulatedFiring:
    """The log (``elapsed_s`` and what was read) and, for checks, what the kiln truly did."""

    elapsed_s: np.ndarray
    read_c: np.ndarray
    setpoint_c: np.ndarray
    """The controller's aim; not a number once the program has ended."""
    power_share: np.ndarray
    """0…1, mean since the reading before."""
    true_c: np.ndarray
    energy_full_power_h: float
    """Hours at full power that the firing took: times the kiln's kW gives kWh."""

    @property
    def peak_c(self) -> float:
        sound = self.read_c[(self.read_c > 0) & (self.read_c < 1400)]
        return float(sound.max())


def simulate_firing(
    segments: Sequence[KilnSegment],
    seed: int,
    *,
    kiln: KilnNature = BIG_KILN,
    start_c: float = 19.0,
    sampling_s: float = 60.0,
    element_wear: float = 0.0,
    sensor_lag_s: float = 40.0,
    noise_c: float = 0.6,
    interruptions: Sequence[Interruption] = (),
    until_c: float = 95.0,
) -> SimulatedFiring:
    """Fire a program and log it until the kiln has cooled to ``until_c``.

    ``element_wear`` 0 is new, 0.25 is time for new elements: the share of power lost, which shows
    near the top. ``noise_c`` is the reading's spread (one deviation, near half of it slow).
    Raises ValueError if the elements could never reach the program's top.
    """
    random = np.random.default_rng((seed, 41))
    power_c_per_h = kiln.full_power_c_per_h * (1 - element_wear) * (1 + 0.01 * random.normal())
    tau_h = kiln.cooling_tau_h * (1 + 0.02 * random.normal())
    top_c = max(segment.target_c for segment in segments)
    if power_c_per_h - (top_c - AMBIENT_C) / tau_h < 8:
        raise ValueError(
            f"These elements cannot reach {top_c:.0f} °C: lower the target or the wear."
        )
    cuts = [(i.at_h * 3600, i.at_h * 3600 + i.minutes * 60) for i in interruptions
            if i.kind == "power_cut"]  # fmt: skip
    hour = STEP_S / 3600
    aim, kiln_c, probe_c, held_s, at = start_c, start_c, start_c, 0.0, 0
    spent_h = 0.0
    trueness: list[float] = []
    felt: list[float] = []
    aims: list[float] = []
    power: list[float] = []
    time_s = 0.0
    while at < len(segments) or probe_c > until_c:
        dead = any(begin <= time_s < end for begin, end in cuts)
        if at < len(segments) and not dead:
            segment = segments[at]
            aim, held_s, done = _advance_aim(segment, aim, probe_c, held_s, kiln.wait_behind_c)
            if done:
                at += 1
                held_s = 0.0
        running = at < len(segments) and not dead
        loss_c_per_h = (kiln_c - AMBIENT_C) / tau_h
        # What it takes to follow the aim, smoothed over some minutes as controllers do.
        wanted = loss_c_per_h + (aim - probe_c) / 0.06 if running else 0.0
        share = min(max(wanted / power_c_per_h, 0.0), 1.0)
        kiln_c += (share * power_c_per_h - loss_c_per_h) * hour
        probe_c += (kiln_c - probe_c) * min(1.0, STEP_S / max(sensor_lag_s, STEP_S))
        spent_h += share * hour
        trueness.append(kiln_c)
        felt.append(probe_c)
        aims.append(aim if at < len(segments) else np.nan)
        power.append(share)
        time_s += STEP_S
        if time_s > 7 * 86400:
            raise ValueError("The firing does not end within a week: look at its rates.")
    times = np.arange(0, time_s - STEP_S, sampling_s)
    steps = np.arange(len(felt)) * STEP_S
    mean_power = np.interp(times, steps, np.convolve(power, np.ones(15) / 15, mode="same"))
    read = np.interp(times, steps, felt) + _reading_noise(random, len(times), noise_c)
    setpoint = np.asarray(aims)[np.minimum((times / STEP_S).astype(int), len(aims) - 1)]
    keep = np.ones(len(times), dtype=bool)
    for interruption in interruptions:
        begin, end = interruption.at_h * 3600, interruption.at_h * 3600 + interruption.minutes * 60
        during = np.nonzero((times >= begin) & (times < end))[0]
        if interruption.kind == "probe_drop":
            hit = during[random.random(len(during)) < 0.6]
            read[hit] = np.where(random.random(len(hit)) < 0.7, 0.0, 1600.0)
        else:
            keep[during] = False
    return SimulatedFiring(
        elapsed_s=times[keep],
        read_c=np.round(read, 1)[keep],
        setpoint_c=np.round(setpoint, 1)[keep],
        power_share=np.round(mean_power, 3)[keep],
        true_c=np.interp(times, steps, trueness)[keep],
        energy_full_power_h=round(spent_h, 3),
    )


def _advance_aim(
    segment: KilnSegment, aim_c: float, kiln_c: float, held_s: float, wait_behind_c: float
) -> tuple[float, float, bool]:
    """The controller's next aim, seconds held so far, and whether the segment is over."""
    rising = segment.target_c >= aim_c
    behind = kiln_c < aim_c - wait_behind_c if rising else kiln_c > aim_c + wait_behind_c
    if aim_c != segment.target_c:
        if segment.rate_c_per_h is None:
            # The aim jumps; the kiln comes down (or up) at its own pace.
            aim_c = segment.target_c
        elif not behind:
            step = abs(segment.rate_c_per_h) * STEP_S / 3600
            away = segment.target_c - aim_c
            aim_c = segment.target_c if abs(away) <= step else aim_c + np.sign(away) * step
        return float(aim_c), held_s, False
    near = abs(kiln_c - segment.target_c) < 2.5
    if near or held_s > 0:
        held_s += STEP_S
    return aim_c, held_s, held_s > 0 and held_s >= segment.hold_min * 60


def _reading_noise(random: np.random.Generator, count: int, noise_c: float) -> np.ndarray:
    """Quick noise and a slow wander, together about ``noise_c``."""
    quick = random.normal(0, 0.8 * noise_c, count)
    slow = np.convolve(random.normal(0, 1, count + 20), np.hanning(21) / 3.2, mode="valid")
    return np.asarray(quick + 0.45 * noise_c * slow[:count])


LOG_STYLES = ("minutes", "clock", "comma", "fahrenheit", "preamble", "two_probes")


def log_csv_bytes(
    firing: SimulatedFiring, started_at: datetime, style: str = "clock", seed: int = 0
) -> bytes:
    """The log as a file in one of the invented ways of writing one.

    minutes      minutes since the start, °C
    clock        local date and time, aim, reading
    comma        semicolons, decimal commas, day first, UTF-8 with a byte-order mark
    fahrenheit   seconds and °F, said in the heading
    preamble     some lines about the firing first, power in per cent, a closing line
    two_probes   a second sensor at the lower shelf, 4 to 12 °C cooler on the way up
    """
    at = [started_at + timedelta(seconds=float(s)) for s in firing.elapsed_s]
    read, aim = firing.read_c, firing.setpoint_c
    aims = ["" if np.isnan(value) else f"{value:.1f}" for value in aim]
    lines: list[str]
    if style == "minutes":
        lines = ["elapsed_min,temp_c"]
        lines += [f"{s / 60:.1f},{c:.1f}" for s, c in zip(firing.elapsed_s, read, strict=True)]
    elif style == "clock":
        lines = ["time,setpoint_c,temperature_c"]
        lines += [
            f"{t:%Y-%m-%d %H:%M:%S},{a},{c:.1f}" for t, a, c in zip(at, aims, read, strict=True)
        ]
    elif style == "comma":
        lines = ["Time;Aim °C;Kiln °C"]
        lines += [
            f"{t:%d.%m.%Y %H:%M:%S};{a.replace('.', ',')};{f'{c:.1f}'.replace('.', ',')}"
            for t, a, c in zip(at, aims, read, strict=True)
        ]
        return b"\xef\xbb\xbf" + ("\r\n".join(lines) + "\r\n").encode()
    elif style == "fahrenheit":
        lines = ["seconds,kiln degF"]
        lines += [
            f"{s:.0f},{c * 9 / 5 + 32:.0f}" for s, c in zip(firing.elapsed_s, read, strict=True)
        ]
    elif style == "preamble":
        lines = [
            "# Kiln log",
            f"# Started: {started_at:%Y-%m-%d %H:%M}",
            "# Units: degC",
            "",
            "elapsed_s,setpoint,temperature,power_percent",
        ]
        lines += [
            f"{s:.0f},{a},{c:.1f},{100 * p:.0f}"
            for s, a, c, p in zip(firing.elapsed_s, aims, read, firing.power_share, strict=True)
        ]
        lines.append(f"# End of log, {len(read)} readings")
    elif style == "two_probes":
        random = np.random.default_rng((seed, 43))
        share = np.clip((firing.true_c - 60) / 1100, 0, 1)
        gap = np.where(np.isnan(aim), -0.2, 0.4 + 0.6 * share) * random.uniform(4, 12)
        lower = read - gap + random.normal(0, 0.5, len(read))
        lower = np.where((read <= 0) | (read > 1400), read, lower)
        lines = ["time,upper_c,lower_c"]
        lines += [
            f"{t:%Y-%m-%dT%H:%M:%S},{c:.1f},{d:.1f}"
            for t, c, d in zip(at, read, lower, strict=True)
        ]
    else:
        raise ValueError(f"No log style {style!r}: choose one of {', '.join(LOG_STYLES)}.")
    return ("\n".join(lines) + "\n").encode()
