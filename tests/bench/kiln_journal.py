"""What is told of a kiln of five thousand firings: wear, heat of its levels, all compared.

Each against the obvious loop, firing by firing, which is run over a few of them and counted up.
"""

import math
import statistics
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import Connection, delete, select
from sqlalchemy.orm import Session

from studiolog.craft.firing.calibration import estimate_offsets, offset_of_reading
from studiolog.craft.firing.compare import lay_together, middle_of, take_curve
from studiolog.craft.limits import SHIPPED
from studiolog.journal.compare import Comparing, read_comparison
from studiolog.journal.kiln_wear import read_kiln_wear
from studiolog.journal.level_heat import refresh_level_heat
from studiolog.journal.tables import table
from studiolog.records.facts import curve_fact, level_heat
from studiolog.transfer.curve_blob import unpack_readings
from studiolog.ui.firings.compare_reading import take_firings, tell_firings
from tests.bench import plain_firings as plain
from tests.bench.kiln_studio import KILN, KilnWriter
from tests.bench.result import Result
from tests.bench.synthetic_studio import build
from tests.bench.timing import exponent, in_rotation

SIZES = (500, 5000)
FEW = 25
"""The plain loops are run over so many firings."""
_CLOCK_S = 600.0


def _firing_ids(connection: Connection) -> list[int]:
    firing = table("firing")
    return list(connection.execute(select(firing.c.id).order_by(firing.c.id)).scalars())


# The loops ------------------------------------------------------------------------------------


def wear_plainly(connection: Connection, ids: Sequence[int]) -> list[float]:
    """Each firing's minutes from 1000 to 1150 °C, its curve fetched and walked through."""
    curve = table("curve")
    found = []
    for ident in ids:
        packed = connection.execute(
            select(curve.c.packed).where(curve.c.firing_id == ident)
        ).scalar_one()
        at_s, at_c = (one.tolist() for one in unpack_readings(packed))
        found.append(plain.climb_min(at_s, at_c, 1000.0, 1150.0))
    statistics.median(found)
    return found


def offsets_plainly(connection: Connection, ids: Sequence[int]) -> list[dict[str, float]]:
    """Each firing's offsets: all readings before it asked for, the median of the last ten."""
    firing, curve = table("firing"), table("curve")
    found = []
    for ident in ids:
        before: dict[str, list[float]] = {}
        for row in connection.execute(
            select(level_heat.c.level_id, level_heat.c.cone, curve.c.cone.label("curve_cone"))
            .join(firing, firing.c.id == level_heat.c.firing_id)
            .join(curve, curve.c.firing_id == firing.c.id)
            .where(level_heat.c.basis == "read", level_heat.c.level_id > 0, firing.c.id < ident)
            .order_by(firing.c.started_at, firing.c.id)
        ):
            offset = offset_of_reading(row.cone, row.curve_cone)
            before.setdefault(str(row.level_id), []).append(offset)
        last = {level: values[-10:] for level, values in before.items()}
        everything = [value for values in last.values() for value in values]
        kiln_c = statistics.median(everything) if everything else 0.0
        found.append(
            {
                level: kiln_c
                + len(values) / (len(values) + 3) * (statistics.median(values) - kiln_c)
                for level, values in last.items()
            }
        )
    return found


def compare_plainly(connection: Connection, ids: Sequence[int]) -> list[float]:
    """The median of firings from their start, every minute, firing by firing."""
    curve = table("curve")
    curves = []
    for ident in ids:
        packed = connection.execute(
            select(curve.c.packed).where(curve.c.firing_id == ident)
        ).scalar_one()
        curves.append(plain.clean(*(one.tolist() for one in unpack_readings(packed))))
    middle = []
    for minute in range(0, 600, 10):  # a tenth of the minutes of ten hours
        heats = [plain.value_at(at_s, at_c, 60.0 * minute) for at_s, at_c in curves]
        middle.append(statistics.median(heats))
    return middle


# Ours -----------------------------------------------------------------------------------------


def compare_all(session: Session) -> Any:
    """Every firing of the kiln laid together, as the comparing of firings does it."""
    page = read_comparison(session, Comparing("kiln", KILN))
    taken = take_firings(page.firings, SHIPPED, {}, lambda _done, _total: False)
    curves = list(taken.curves.values())
    ids = frozenset(taken.curves)
    return tell_firings(curves, ids, page.chosen, "start", None, SHIPPED)


def _heat_anew(session: Session) -> set[int]:
    """Derive the heat of all levels, as after a change that touches every firing; not kept."""
    connection = session.connection()
    nested = connection.begin_nested()
    connection.execute(delete(level_heat))
    found = refresh_level_heat(connection, KILN)
    nested.rollback()
    return found


# Wrong answers --------------------------------------------------------------------------------


def count_wrong(session: Session, ids: Sequence[int]) -> int:
    """Where what is kept and told differs from the loops."""
    connection = session.connection()
    kept = dict(
        connection.execute(
            select(curve_fact.c.firing_id, curve_fact.c.climb_min).where(
                curve_fact.c.firing_id.in_(ids)
            )
        ).all()
    )
    walked = wear_plainly(connection, ids)
    # Both walk a noisy curve through a level: they may differ by a reading or two.
    wrong = sum(
        not math.isclose(kept[ident], minutes, abs_tol=6.0)
        for ident, minutes in zip(ids, walked, strict=True)
    )
    page = read_kiln_wear(session, KILN)
    wrong += page.wear.climb.now is None
    wrong += len(refresh_level_heat(connection, KILN))
    for ident, offsets in zip(ids, offsets_plainly(connection, ids), strict=True):
        wrong += _differing_offsets(connection, ident, offsets)
    few = [
        take_curve(ident, *unpack_readings(packed))
        for ident, packed in connection.execute(
            select(table("curve").c.firing_id, table("curve").c.packed).where(
                table("curve").c.firing_id.in_(ids)
            )
        ).all()
    ]
    laid = lay_together(few)
    ours = middle_of(laid.temperature_c).median_c
    for place, heat in enumerate(compare_plainly(connection, ids)):
        at = int(np.argmin(np.abs(laid.clock_s - 600.0 * place)))
        wrong += not math.isclose(float(ours[at]), heat, abs_tol=0.01)
    return wrong


def _differing_offsets(connection: Connection, ident: int, plainly: dict[str, float]) -> int:
    firing, curve = table("firing"), table("curve")
    before: dict[str, list[float]] = {}
    for row in connection.execute(
        select(level_heat.c.level_id, level_heat.c.cone, curve.c.cone.label("curve_cone"))
        .join(firing, firing.c.id == level_heat.c.firing_id)
        .join(curve, curve.c.firing_id == firing.c.id)
        .where(level_heat.c.basis == "read", level_heat.c.level_id > 0, firing.c.id < ident)
        .order_by(firing.c.started_at, firing.c.id)
    ):
        offset = offset_of_reading(row.cone, row.curve_cone)
        before.setdefault(str(row.level_id), []).append(offset)
    ours = estimate_offsets(before)
    return sum(not math.isclose(ours[level].offset_c, plainly[level]) for level in plainly)


# Measured -------------------------------------------------------------------------------------


def measure_journal(folder: Path, rounds: int) -> tuple[list[Result], int]:
    """The ratios at five thousand firings, their growth from five hundred, and wrong answers."""
    taken: dict[str, list[tuple[int, float, float]]] = {}
    wrong = 0
    for size in SIZES:
        journal = build(folder / f"kiln-{size}", size, writer=KilnWriter)
        with Session(journal.engine) as session:
            connection = session.connection()
            ids = _firing_ids(connection)
            few = ids[:: max(1, len(ids) // FEW)][:FEW]
            wrong += count_wrong(session, few)
            for name, ours, loop, share in (
                ("wear of a kiln", lambda s=session: read_kiln_wear(s, KILN), wear_plainly, 1.0),
                ("heat of every level", lambda s=session: _heat_anew(s), offsets_plainly, 1.0),
                ("all firings compared", lambda s=session: compare_all(s), compare_plainly, 10.0),
            ):
                mine_s, loop_s = in_rotation(
                    rounds, ours, lambda c=connection, f=loop, i=few: f(c, i)
                )
                loop_s *= share * len(ids) / len(few)
                taken.setdefault(name, []).append((len(ids), mine_s, loop_s))
            session.rollback()
        journal.close()
    targets = {
        "wear of a kiln": "≤ 0.1",
        "heat of every level": "≤ 0.1",
        "all firings compared": "≤ 0.1",
    }
    results = []
    for name, rows in taken.items():
        size, mine_s, loop_s = rows[-1]
        results.append(
            Result(
                f"{name}, {size} firings",
                mine_s / loop_s,
                targets[name],
                "the loop, firing by firing",
                rounds,
                f"{mine_s * 1000:.0f} ms; the loop over {FEW} firings, counted up",
            )
        )
        grown = exponent(*((count, seconds) for count, seconds, _ in rows[-2:]))
        results.append(
            Result(f"{name}: growth", grown, "≤ 1.1", "the firings, as an exponent", rounds)
        )
    return results, wrong
