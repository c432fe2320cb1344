"""Raw materials as they ship with the program, and what an analysis says of itself.

``resources/tables/materials.csv`` has two kinds, always told apart: *theoretical* rows are computed
from a mineral's formula, *typical* ones are from memory and only a place to start from. A real
analysis of the bag on the shelf matters more than any rounding. No sum is ever scaled to 100 %.
"""

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from studiolog.craft.glaze.oxides import (
    LOI,
    OXIDES,
    OXYGEN_PER_FLUORINE,
    in_order,
    pretty,
    read_oxide,
)
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number, show_quantity
from studiolog.problems import UserProblem
from studiolog.shipped import resource

_ABOUT: Final = ("name", "also", "formula", "basis", "solid_density", LOI, "note")
_ROUNDING: Final = 1e-6
_SEEN: Final = 0.005
"""Per cent: less than a laboratory prints."""


@dataclass(frozen=True, slots=True)
class Analysis:
    """What a material is made of, in per cent by weight as bought.

    ``basis`` is a key of ``ANALYSIS_BASES``. ``loi_percent`` None: no loss on ignition is given,
    which is not a loss of 0; it may be negative (magnetite gains weight). ``lot`` names the lot,
    empty for an analysis that ships with the program.
    """

    name: str
    basis: str
    oxides: Mapping[str, float] = field(default_factory=dict)
    loi_percent: float | None = None
    lot: str = ""

    @property
    def is_given(self) -> bool:
        """Whether there is anything to compute with: an oxide, or a material that burns away."""
        return bool(self.oxides) or bool(self.loi_percent)

    @property
    def sum_percent(self) -> float:
        """Oxides and loss on ignition, as given and not scaled.

        Less the oxygen that oxides count where fluorine stands, as laboratories sum up (O≡F).
        """
        counted_twice = OXYGEN_PER_FLUORINE * self.oxides.get("F", 0.0)
        return sum(self.oxides.values()) - counted_twice + (self.loi_percent or 0.0)

    @property
    def percents(self) -> dict[str, float]:
        """Oxide -> per cent, with ``"LOI"`` where one is given: as sums take an analysis."""
        loss = {} if self.loi_percent is None else {LOI: self.loi_percent}
        return {**self.oxides, **loss}


@dataclass(frozen=True, slots=True)
class ShippedMaterial:
    """A material of the table that ships with the program.

    ``also`` are other names it goes by, ``solid_density`` its density in g/ml (from memory),
    ``formula`` the mineral's where the analysis is computed from it.
    """

    name: str
    also: tuple[str, ...]
    formula: str
    basis: str
    solid_density: float | None
    oxides: Mapping[str, float]
    loi_percent: float | None
    note: str

    @property
    def analysis(self) -> Analysis:
        return Analysis(self.name, self.basis, self.oxides, self.loi_percent)


@lru_cache(maxsize=1)
def shipped_materials() -> tuple[ShippedMaterial, ...]:
    """All materials of the table, in its order."""
    with resource("tables", "materials.csv").open(encoding="utf-8", newline="") as file:
        return tuple(_shipped(row) for row in csv.DictReader(file))


def _shipped(row: Mapping[str, str]) -> ShippedMaterial:
    oxides = {oxide: float(row[oxide]) for oxide in row if oxide not in _ABOUT and row[oxide]}
    return ShippedMaterial(
        row["name"],
        tuple(name.strip() for name in row["also"].split(";") if name.strip()),
        row["formula"],
        row["basis"],
        float(row["solid_density"]) if row["solid_density"] else None,
        MappingProxyType(in_order(oxides)),
        float(row[LOI]) if row[LOI] else None,
        row["note"],
    )


@lru_cache(maxsize=1)
def _by_name() -> Mapping[str, ShippedMaterial]:
    found: dict[str, ShippedMaterial] = {}
    for material in shipped_materials():
        found.setdefault(fold_name(material.name), material)
    for material in shipped_materials():
        for name in material.also:
            found.setdefault(fold_name(name), material)
    return found


def fold_name(name: str) -> str:
    """A material's name as it is compared: whatever its case and its spaces."""
    return " ".join(name.split()).casefold()


def find_shipped(name: str) -> ShippedMaterial | None:
    """The shipped material of a name or other name, whatever its case; None if there is none."""
    return _by_name().get(fold_name(name))


def find_mistakes(analysis: Analysis) -> tuple[str, ...]:
    """What can't be in an analysis, a sentence each; such an analysis is not to be kept."""
    told = []
    loss = analysis.loi_percent
    # What gains weight in the fire (magnetite) comes to more than 100 % of fired oxides.
    most = 100.0 - min(loss or 0.0, 0.0)
    for oxide, percent in analysis.oxides.items():
        try:
            name = pretty(read_oxide(oxide))
        except UserProblem as problem:
            known = ", ".join(pretty(one) for one in OXIDES)
            told.append(f"{problem.sentence} Known are {known}.")
            continue
        if not math.isfinite(percent) or percent < 0.0:
            told.append(f"{name} is {_percent(percent)}; it can't be less than 0.")
        elif percent > most + 0.01:
            told.append(f"{name} is {_percent(percent)}; it can't be more than {_percent(most)}.")
    if loss is not None and not (math.isfinite(loss) and -100.0 < loss <= 100.0):
        told.append(
            f"The loss on ignition is {_percent(loss)}; it lies between {_percent(-100.0)} and "
            f"{_percent(100.0)}."
        )
    return tuple(told)


def check_analysis(analysis: Analysis, limits: Limits = SHIPPED) -> tuple[str, ...]:
    """What a person should know of an analysis before computing with it, a sentence each.

    Nothing is mended: a sum off 100 % is told and not scaled, a missing loss on ignition is told
    and not filled in. Includes what `find_mistakes` finds.
    """
    told = list(find_mistakes(analysis))
    total, off = analysis.sum_percent, analysis.sum_percent - 100.0
    if not analysis.is_given:
        told.append("No analysis is given, so nothing can be computed from it.")
    elif analysis.loi_percent is None:
        rest = f"No loss on ignition is given. The oxides come to {_percent(total)}"
        if off < -_ROUNDING:
            told.append(
                f"{rest}: by difference it would be {_percent(-off)}. It is kept without one."
            )
        else:
            told.append(f"{rest}, which leaves none.")
    elif abs(off) > limits["analysis_sum_off"] + _ROUNDING:
        side = "over" if off > 0 else "short"
        told.append(
            f"Oxides and loss on ignition come to {_percent(total)}, {_percent(abs(off))} {side}. "
            "It is computed as given, not scaled to 100."
        )
    return tuple(told)


def say_difference(analysis: Analysis, before: Analysis) -> str:
    """What an analysis has more or less of than the one before: "K₂O −0.9, SiO₂ +0.6".

    Empty if they say the same. A loss on ignition that only one of them gives is named.
    """
    told = []
    for oxide in in_order({**before.oxides, **analysis.oxides}):
        off = analysis.oxides.get(oxide, 0.0) - before.oxides.get(oxide, 0.0)
        if abs(off) >= _SEEN:
            told.append(f"{pretty(oxide)} {_signed(off)}")
    if analysis.loi_percent is not None and before.loi_percent is not None:
        off = analysis.loi_percent - before.loi_percent
        if abs(off) >= _SEEN:
            told.append(f"LOI {_signed(off)}")
    elif analysis.loi_percent is not None or before.loi_percent is not None:
        told.append("LOI no longer given" if analysis.loi_percent is None else "LOI given now")
    return ", ".join(told)


def _signed(value: float) -> str:
    text = show_number(value, next((n for n in (0, 1) if abs(value - round(value, n)) < 5e-3), 2))
    return f"+{text}" if value > 0 else text


def _percent(value: float) -> str:
    if not math.isfinite(value):
        return "not a number"
    if abs(value) >= 1e6:
        return show_quantity(1e6, "%") + " or more"
    decimals = next((n for n in (0, 1, 2) if abs(value - round(value, n)) < _ROUNDING), 2)
    return show_quantity(value, "%", decimals)
