"""What the comparing of firings computes off the window's thread: pure functions of values."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from studiolog.craft.firing.compare import (
    FiringFigures,
    LaidTogether,
    Middle,
    TakenCurve,
    lay_together,
    middle_of,
    take_curve,
    usual_figures,
)
from studiolog.craft.firing.differences import Difference, find_differences
from studiolog.craft.limits import Limits
from studiolog.journal.compare import ComparedFiring
from studiolog.problems import UserProblem
from studiolog.transfer.curve_blob import unpack_readings

NO_LOG = "no log yet"


@dataclass(frozen=True, eq=False)
class TakenFirings:
    """Curves by firing id, and why the others have none."""

    curves: Mapping[int, TakenCurve]
    why_not: Mapping[int, str]


def take_firings(
    firings: Sequence[ComparedFiring],
    limits: Limits,
    known: Mapping[int, TakenCurve],
    step: Callable[[int, int], bool],
) -> TakenFirings:
    """Unpack and clean the curve of each firing that is not ``known`` yet.

    ``step(done, total)`` is told how far it is, and says whether to stop.
    """
    curves: dict[int, TakenCurve] = {}
    why_not: dict[int, str] = {}
    for done, firing in enumerate(firings):
        if step(done, len(firings)):
            break
        if firing.packed is None:
            why_not[firing.firing_id] = NO_LOG
            continue
        if firing.firing_id in known:
            curves[firing.firing_id] = known[firing.firing_id]
            continue
        try:
            elapsed_s, temperature_c = unpack_readings(firing.packed)
            curves[firing.firing_id] = take_curve(
                firing.firing_id, elapsed_s, temperature_c, typed=firing.typed, limits=limits
            )
        except (ValueError, UserProblem):
            why_not[firing.firing_id] = "its log can't be read: its own page says more"
    return TakenFirings(curves, why_not)


@dataclass(frozen=True, eq=False)
class Told:
    """Curves laid together, what is usual among ``group``, and how the chosen one differs.

    ``against`` is the other firing where there are just two: it is then what is usual.
    """

    laid: LaidTogether
    middle: Middle | None
    group: tuple[int, ...]
    chosen: int | None
    against: int | None
    usual: FiringFigures | None
    differences: tuple[Difference, ...]


def tell_firings(
    curves: Sequence[TakenCurve],
    group: frozenset[int],
    chosen: int | None,
    by: str,
    level_c: float | None,
    limits: Limits,
    before: Told | None = None,
) -> Told:
    """Lay curves together and tell the chosen one from the group. ``before`` spares what holds."""
    laid = before.laid if before is not None else None
    keys = tuple(one.key for one in curves)
    if laid is None or not _same(laid, keys, by, level_c):
        laid = lay_together(curves, by, level_c)
        before = None
    by_key = {one.key: one for one in curves}
    members = tuple(key for key in laid.keys if key in group)
    if chosen not in laid.keys:
        chosen = laid.keys[0] if laid.keys else None
    against = None
    middle = None
    others: list[TakenCurve] = []
    if len(members) == 2 and chosen in members:
        against = next(key for key in members if key != chosen)
        others = [by_key[against]]
    elif len(members) >= 2:
        others = [by_key[key] for key in members]
        if before is not None and before.group == members:
            middle = before.middle
        if middle is None:
            rows = [row for row, key in enumerate(laid.keys) if key in group]
            middle = middle_of(laid.temperature_c[rows], limits)
    return Told(
        laid=laid,
        middle=middle,
        group=members,
        chosen=chosen,
        against=against,
        usual=usual_figures([one.figures for one in others]) if others else None,
        differences=(find_differences(by_key[chosen], others, limits) if others and chosen else ()),
    )


def _same(laid: LaidTogether, keys: tuple[int, ...], by: str, level_c: float | None) -> bool:
    tried = set(laid.keys) | {key for key, _why in laid.left_out}
    ordered = tuple(key for key in keys if key in set(laid.keys)) == laid.keys
    return (laid.by, laid.level_c) == (by, level_c) and tried == set(keys) and ordered
