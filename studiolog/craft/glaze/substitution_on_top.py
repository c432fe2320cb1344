"""What is added on top of a base that can't be had any more: another that brings the same oxide.

The base stays. A colouring oxide is wanted by its amount, not by a ratio to the fluxes, so what is
matched is the parts of oxide on a hundred of base: first of the oxide it is there for, then of
whatever else it brings.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from studiolog.craft.glaze.oxides import LOI, in_order, pretty
from studiolog.craft.glaze.target_problem import Bound
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number
from studiolog.problems import UserProblem

_HEAVY: Final = 1e3  # how much more the oxide it is there for weighs than what comes with it
_ASIDE: Final = {"SiO2": 0.1, "Al2O3": 0.2}
"""Silica and alumina are what an addition is there for only where it brings little else."""
_SEEN: Final = 0.005  # parts of an oxide; less is no change worth a word
_OWN_TEST: Final = (
    "Grain and form tell in colour, speck and opacity though the oxide is the same: test it."
)
_ANY: Final = Bound()


@dataclass(frozen=True, slots=True)
class Brought:
    """Parts of one oxide (or of loss on ignition) on a hundred of base, before and after."""

    oxide: str
    before: float
    after: float

    @property
    def off(self) -> float:
        """Parts more than before; less than 0: fewer."""
        return self.after - self.before

    @property
    def words(self) -> str:
        """``Fe₂O₃ 0.12 less``."""
        name = "loss on ignition" if self.oxide == LOI else pretty(self.oxide)
        return f"{name} {show_number(abs(self.off), 2)} {'more' if self.off > 0.0 else 'less'}"


@dataclass(frozen=True)
class OnTopReplacement:
    """``parts`` on a hundred of base that stand for ``gone``; ``oxide`` is what it is there for.

    ``met``: that oxide is near enough by the limits. ``brought``: all that either brings.
    """

    gone: str
    oxide: str
    parts: Mapping[str, float]
    brought: tuple[Brought, ...]
    met: bool

    @property
    def sentences(self) -> tuple[str, ...]:
        """What stays, what else changes, and what no sum tells."""
        one = next(one for one in self.brought if one.oxide == self.oxide)
        name = pretty(self.oxide)
        was, now = show_number(one.before, 2), show_number(one.after, 2)
        if was == now:
            kept = f"{name} stays at {now} on a hundred of base."
        else:
            kept = f"{name} becomes {now} on a hundred of base, where {self.gone} brought {was}."
        others = [
            one.words for one in self.brought if one.oxide != self.oxide and abs(one.off) >= _SEEN
        ]
        changed = f"What else changes: {', '.join(others)}." if others else "Nothing else changes."
        return (kept, changed, _OWN_TEST)


def main_oxide(analysis: Mapping[str, float]) -> str | None:
    """The oxide something is added for: the most of it by weight, silica and alumina set aside."""
    given = {
        oxide: percent * _ASIDE.get(oxide, 1.0)
        for oxide, percent in analysis.items()
        if oxide not in (LOI, "F") and percent > 0.0
    }
    return max(given, key=lambda oxide: given[oxide]) if given else None


def replace_on_top(
    gone: str,
    amount: float,
    analysis: Mapping[str, float],
    shelf: Mapping[str, Mapping[str, float]],
    *,
    bounds: Mapping[str, Bound] | None = None,
    limits: Limits = SHIPPED,
) -> OnTopReplacement:
    """What stands for ``amount`` parts of ``gone`` on a hundred of base.

    ``analysis`` is that of ``gone``, ``shelf`` what may take its place, weight per cent by oxide;
    ``bounds`` in parts on a hundred of base. Raises UserProblem where nothing chosen brings the
    oxide: tin for zircon is another opacifier, and no sum says how much of it does the same.
    """
    oxide = main_oxide(analysis)
    if oxide is None:
        raise UserProblem(
            f"No analysis of {gone} is known, so what it brings is not: add it in Materials."
        )
    allowed = {name: one for name, one in shelf.items() if name != gone and main_oxide(one)}
    if not allowed:
        raise UserProblem(f"Choose what may take the place of {gone}.")
    if not any(one.get(oxide, 0.0) > 0.0 for one in allowed.values()):
        raise UserProblem(
            f"Nothing chosen brings {pretty(oxide)}, which {gone} is there for. What acts alike "
            "by another oxide is another glaze: no sum tells how much of it, only a test."
        )
    wanted = _brings({gone: amount}, {gone: analysis})
    parts = _solve(oxide, wanted, allowed, bounds or {})
    if not parts:
        raise UserProblem(f"Choose what may take the place of {gone}: no parts of any would do.")
    return judge_on_top(gone, amount, analysis, parts, allowed, limits=limits)


def judge_on_top(
    gone: str,
    amount: float,
    analysis: Mapping[str, float],
    parts: Mapping[str, float],
    analyses: Mapping[str, Mapping[str, float]],
    *,
    limits: Limits = SHIPPED,
) -> OnTopReplacement:
    """What some parts in the place of ``gone`` keep and change; of rounded ones, for example."""
    oxide = main_oxide(analysis)
    if oxide is None:
        raise UserProblem(f"No analysis of {gone} is known, so what it brings is not.")
    before = _brings({gone: amount}, {gone: analysis})
    after = _brings(parts, analyses)
    every = [*in_order({one: 1.0 for one in (*before, *after) if one != LOI}), LOI]
    brought = tuple(Brought(one, before.get(one, 0.0), after.get(one, 0.0)) for one in every)
    off = abs(after.get(oxide, 0.0) - before[oxide])
    met = off <= limits["target_off_share"] * before[oxide]
    return OnTopReplacement(gone, oxide, MappingProxyType(dict(parts)), brought, met)


def round_on_top(parts: Mapping[str, float], step: float) -> dict[str, float]:
    """Parts in whole steps, each to the nearest but none to nothing; 0 leaves them as they are."""
    if not step > 0.0:
        return dict(parts)
    decimals = max(0, math.ceil(-math.log10(step) - 1e-9) + 1)
    return {
        name: round(max(1, round(amount / step)) * step, decimals) for name, amount in parts.items()
    }


def _brings(
    parts: Mapping[str, float], analyses: Mapping[str, Mapping[str, float]]
) -> dict[str, float]:
    """Parts by weight of each oxide and of the loss."""
    found: dict[str, float] = {}
    for name, amount in parts.items():
        analysis = analyses[name]
        loss = analysis.get(LOI)
        told = {oxide: percent for oxide, percent in analysis.items() if oxide != LOI}
        told[LOI] = loss if loss is not None else 100.0 - sum(told.values())
        for oxide, percent in told.items():
            found[oxide] = found.get(oxide, 0.0) + amount * percent / 100.0
    return found


def _solve(
    oxide: str,
    wanted: Mapping[str, float],
    allowed: Mapping[str, Mapping[str, float]],
    bounds: Mapping[str, Bound],
) -> dict[str, float]:
    """Least squares within the bounds; the loss does not count."""
    import numpy as np
    from scipy.optimize import lsq_linear

    names = list(allowed)
    columns = {name: _brings({name: 1.0}, allowed) for name in names}
    rows = [
        one for one in dict.fromkeys((*wanted, *(o for c in columns.values() for o in c)))
        if one not in (LOI, "F")
    ]  # fmt: skip
    weights = np.array([_HEAVY if one == oxide else 1.0 for one in rows])
    matrix = np.array([[columns[name].get(one, 0.0) for name in names] for one in rows])
    sought = np.array([wanted.get(one, 0.0) for one in rows])
    rooms = [bounds.get(name, _ANY) for name in names]
    least = np.array([room.least for room in rooms])
    # A material held at so many parts: its room is a hair, for the solver takes no empty one.
    most = np.array([max(room.most, room.least + 1e-9) for room in rooms])
    found = lsq_linear(
        matrix * weights[:, None], sought * weights, bounds=(least, most), method="bvls"
    )
    return {name: float(n) for name, n in zip(names, found.x, strict=True) if n > 1e-6}
