"""What a waiting log may be: the program it followed, the firing whose log it is. Proposals only,
each with what speaks for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from studiolog.craft.firing.program import Segment, planned_points
from studiolog.craft.units import show_duration, show_temperature
from studiolog.journal.limits import read_limits
from studiolog.journal.programs import list_programs
from studiolog.problems import UserProblem
from studiolog.records.firings import Curve, Firing
from studiolog.records.kilns import Kiln
from studiolog.transfer.curve_blob import unpack_readings

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

_FROM_C = 100.0
# Two exports of one logger round differently: to the second, to a tenth of a degree.
_NEAR_S, _NEAR_C = 1.1, 0.11
_MARKS_C = (300.0, 600.0, 800.0, 1000.0, 1100.0, 1200.0)


@dataclass(frozen=True)
class ProgramGuess:
    """A program that a log may have followed. ``climb_s`` is from 100 °C to near the peak.

    ``misfit`` is 0 for a perfect likeness and 1 at the limits of one.
    """

    program_id: int
    name: str
    kind: str
    cone: str | None
    misfit: float
    peak_c: float
    planned_peak_c: float
    climb_s: float
    planned_climb_s: float

    def evidence(self, unit: str = "C") -> str:
        """What speaks for it, temperatures in °C or °F."""
        return (
            f"Peak {show_temperature(self.peak_c, unit)}, planned "
            f"{show_temperature(self.planned_peak_c, unit)}; up from "
            f"{show_temperature(_FROM_C, unit)} in {show_duration(self.climb_s)}, planned "
            f"{show_duration(self.planned_climb_s)}."
        )


@dataclass(frozen=True)
class EmptyFiring:
    """A firing that a log may belong to: it has none and its start is near.

    Or, with ``goes_on``, its own log is an earlier state of this one.
    """

    firing_id: int
    number: int
    kiln_id: int
    kiln: str
    started_at: datetime
    atmosphere: str
    goes_on: bool = False


def guess_programs(
    session: Session, elapsed_s: ArrayLike, temperature_c: ArrayLike
) -> tuple[ProgramGuess, ...]:
    """The programs in use that a curve may have followed, the likest first; none may be.

    By the peak, and by how long the climb takes to marks on the way (limits of the studio).
    """
    import numpy as np

    limits = read_limits(session)
    t, c = np.asarray(elapsed_s, dtype=float), np.asarray(temperature_c, dtype=float)
    if t.size < 3:
        return ()
    guesses: list[ProgramGuess] = []
    for program in list_programs(session):
        segments = [Segment(s.rate_c_per_h, s.target_c, s.hold_min) for s in program.segments]
        try:
            planned_s, planned_c = planned_points(segments)
        except UserProblem:
            continue  # it can't be fired as it stands
        off_c, off_share, climb_s, planned_climb_s = _compare(t, c, planned_s, planned_c)
        misfit = max(off_c / limits["like_program_c"], off_share / limits["like_program_share"])
        if misfit <= 1:
            guesses.append(
                ProgramGuess(
                    program.program_id,
                    program.name,
                    program.kind,
                    program.cone,
                    misfit,
                    float(c.max()),
                    float(planned_c.max()),
                    climb_s,
                    planned_climb_s,
                )
            )
    return tuple(sorted(guesses, key=lambda guess: guess.misfit))


def _compare(t: Any, c: Any, planned_s: Any, planned_c: Any) -> tuple[float, float, float, float]:
    """How far the peaks lie apart, °C, and the worst of the climb's times, as a share."""
    import numpy as np

    top = min(float(c.max()), float(planned_c.max())) - 10.0
    marks = [mark for mark in _MARKS_C if mark < top] + [top]
    real = np.array([_when(t, c, mark) for mark in marks]) - _when(t, c, _FROM_C)
    plan = np.array([_when(planned_s, planned_c, mark) for mark in marks]) - _when(
        planned_s, planned_c, _FROM_C
    )
    whole = max(float(plan[-1]), 1.0)
    off = np.abs(real - plan) / whole
    return (
        abs(float(c.max()) - float(planned_c.max())),
        float(np.nan_to_num(off, nan=9.0).max()),
        float(np.nan_to_num(real[-1])),
        float(np.nan_to_num(plan[-1])),
    )


def _when(t: Any, c: Any, level_c: float) -> float:
    """When a curve first passes a level, seconds, between readings; its start if it began above."""
    import numpy as np

    over = np.flatnonzero(c >= level_c)
    if not over.size:
        return float("nan")
    at = int(over[0])
    if at == 0:
        return float(t[0])
    share = (level_c - c[at - 1]) / max(c[at] - c[at - 1], 1e-9)
    return float(t[at - 1] + share * (t[at] - t[at - 1]))


def begins_alike(one: tuple[Any, Any], other: tuple[Any, Any], readings: int) -> bool:
    """Whether two curves (seconds, °C) are the same over so many readings, but for rounding."""
    import numpy as np

    (one_s, one_c), (other_s, other_c) = one, other
    if min(one_s.size, other_s.size) < readings or not readings:
        return False
    first = slice(readings)
    return bool(
        np.allclose(one_s[first] - one_s[0], other_s[first] - other_s[0], rtol=0, atol=_NEAR_S)
        and np.allclose(one_c[first], other_c[first], rtol=0, atol=_NEAR_C)
    )


def find_firing_gone_on(
    session: Session, elapsed_s: ArrayLike, temperature_c: ArrayLike, starts_at: datetime | None
) -> EmptyFiring | None:
    """The firing whose log was taken while it was still written: this one goes on where it ends."""
    import numpy as np

    t, c = np.asarray(elapsed_s, dtype=float), np.asarray(temperature_c, dtype=float)
    if starts_at is None:
        return None
    near = (starts_at - timedelta(hours=24), starts_at + timedelta(hours=24))
    rows = session.execute(
        select(Curve.packed, Curve.readings, Firing, Kiln.name)
        .join(Firing, Firing.id == Curve.firing_id)
        .join(Kiln, Kiln.id == Firing.kiln_id)
        .where(
            Curve.main,
            Curve.readings.between(3, t.size - 1),
            Firing.started_at.between(*near),
        )
    )
    for packed, readings, firing, kiln in rows:
        # The last reading of a file that is still written may have been cut through.
        if begins_alike(unpack_readings(packed), (t, c), max(2, readings - 1)):
            return EmptyFiring(
                firing.id, firing.number, firing.kiln_id, kiln, firing.started_at,
                firing.atmosphere, goes_on=True,
            )  # fmt: skip
    return None


def find_empty_firings(
    session: Session, starts_at: datetime | None, kiln_id: int | None = None
) -> tuple[EmptyFiring, ...]:
    """Firings without a log that started within a few hours of a log, the nearest first."""
    if starts_at is None:
        return ()
    reach = timedelta(hours=read_limits(session)["same_start_h"])
    query = (
        select(Firing, Kiln.name)
        .join(Kiln, Kiln.id == Firing.kiln_id)
        .where(
            Firing.started_at.between(starts_at - reach, starts_at + reach),
            ~exists().where(Curve.firing_id == Firing.id),
        )
    )
    if kiln_id is not None:
        query = query.where(Firing.kiln_id == kiln_id)
    found: Sequence[Any] = session.execute(query).all()
    return tuple(
        EmptyFiring(
            firing.id,
            firing.number,
            firing.kiln_id,
            kiln,
            firing.started_at,
            firing.atmosphere,
        )
        for firing, kiln in sorted(found, key=lambda row: abs(row[0].started_at - starts_at))
    )
