"""Thermal expansion of a fired glaze, calculated from its oxides.

Factors are in ``resources/tables/expansion_factors.csv`` with source and standing. Appen is the
set to compute with; the two others are there to read old notes. One set is never mixed with
another: an oxide without a factor in a set is left out of the sum and told
(:func:`without_factor`). A calculated expansion may be off by about 1e-6/K either way
(``expansion_error_ppm_k``) and says something of a glass only: see :func:`out_of_range`.
"""

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from studiolog.craft.glaze.oxides import (
    FLUXES,
    MOLAR_MASSES_G,
    R2O,
    in_order,
    pretty,
    read_oxide,
)
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_quantity
from studiolog.problems import UserProblem
from studiolog.shipped import resource


@dataclass(frozen=True, slots=True)
class FactorSet:
    """A published set of factors. ``by_weight``: they go with weight per cent, else mole per cent.

    ``ppm_k_of_one``: linear expansion in 1e-6/K that a factor of 1 gives for one per cent.
    """

    key: str
    name: str
    by_weight: bool
    ppm_k_of_one: float
    from_c: float
    to_c: float
    words: str


FACTOR_SETS: Final[Mapping[str, FactorSet]] = MappingProxyType(
    {
        one.key: one
        for one in (
            FactorSet("appen", "Appen", False, 1e-3, 20, 400, "mole per cent, linear"),
            FactorSet(
                "english_turner", "English–Turner", True, 0.1, 25, 90, "weight per cent, linear"
            ),
            FactorSet(
                "winkelmann_schott",
                "Winkelmann–Schott",
                True,
                0.1 / 3.0,
                0,
                100,
                "weight per cent, cubical / 3; Mayer–Havas where it has no factor",
            ),
        )
    }
)
"""Appen first; the others only to read old notes."""

NOT_FOR_CRYSTALS: Final = (
    "It holds for a glass: where the glaze is matt with crystals, or quartz or zircon stay "
    "unmelted, it does not."
)
_RULED: Final = ("SiO2", "B2O3", "TiO2", "PbO")
_TRACE: Final = 0.05  # mole per cent; less is not worth a sentence
_SUM_OFF: Final = 2.0  # per cent that a sum of percentages may be off by rounding


@lru_cache(maxsize=len(FACTOR_SETS))
def _fixed_factors(key: str) -> Mapping[str, float]:
    with resource("tables", "expansion_factors.csv").open(encoding="utf-8", newline="") as file:
        return MappingProxyType(
            {
                row["oxide"]: float(row["factor"])
                for row in csv.DictReader(file)
                if row["set"] == key and row["factor"]
            }
        )


def factor_set(factors: str) -> FactorSet:
    """A set by its key or its name. Raises UserProblem for one that is not there."""
    plain = factors.strip().casefold().replace("–", "_").replace("-", "_").replace(" ", "_")
    if plain not in FACTOR_SETS:
        known = ", ".join(FACTOR_SETS)
        raise UserProblem(f"There are no expansion factors named “{factors}”; there are {known}.")
    return FACTOR_SETS[plain]


def linear_expansion(mole_percent: Mapping[str, float], factors: str = "appen") -> float:
    """Linear expansion in 1e-6/K of a glass of this composition (mole per cent by oxide).

    Oxides the set has no factor for are left out and the rest counts as the whole; tell them with
    `without_factor`. Raises UserProblem for an unknown set, values below 0, percentages that do
    not add up to 100, and a composition of which the set knows nothing.
    """
    chosen = factor_set(factors)
    mole_percent = _named(mole_percent)
    _check(mole_percent)
    shares = _by_weight(mole_percent) if chosen.by_weight else mole_percent
    known = _factors_for(shares, chosen)
    covered = sum(shares[oxide] for oxide in known)
    if not covered > 0.0:
        raise UserProblem(f"{chosen.name} has no factor for any oxide of this glaze.")
    whole = sum(shares.values())
    total = sum(shares[oxide] * factor for oxide, factor in known.items())
    return total * (whole / covered) * chosen.ppm_k_of_one


def without_factor(mole_percent: Mapping[str, float], factors: str = "appen") -> tuple[str, ...]:
    """The oxides of a composition that a set has no factor for, in the order they are shown."""
    chosen = factor_set(factors)
    fixed = _fixed_factors(chosen.key)
    ruled = _RULED if chosen.key == "appen" else ()
    return tuple(
        oxide
        for oxide, percent in in_order(_named(mole_percent)).items()
        if percent > 0.0 and oxide not in fixed and oxide not in ruled
    )


def out_of_range(
    mole_percent: Mapping[str, float], factors: str = "appen", limits: Limits = SHIPPED
) -> tuple[str, ...]:
    """Sentences for what lies outside the glazes the factors were tried on; none if nothing does.

    What no composition tells (:data:`NOT_FOR_CRYSTALS`) is not among them: say it always.
    """
    chosen = factor_set(factors)
    mole_percent = _named(mole_percent)
    told = []
    lithia = mole_percent.get("Li2O", 0.0)
    alkali = sum(mole_percent.get(oxide, 0.0) for oxide in R2O)
    flux = sum(mole_percent.get(oxide, 0.0) for oxide in FLUXES)
    lead = mole_percent.get("PbO", 0.0)
    if lithia > limits["lithia_most_percent"]:
        told.append(_beyond("Li₂O is", lithia, limits["lithia_most_percent"]))
    if alkali > limits["alkali_most_percent"]:
        told.append(_beyond("R₂O is", alkali, limits["alkali_most_percent"]))
    if lead > _TRACE:
        told.append("It has lead, for which the sum is not reliable.")
    if flux > limits["flux_most_percent"]:
        told.append(_beyond("Fluxes are", flux, limits["flux_most_percent"]))
    if flux < limits["flux_least_percent"]:
        told.append(
            f"Fluxes are {_mole(flux)}; under {_mole(limits['flux_least_percent'])} "
            "the sum is not reliable."
        )
    missing = without_factor(mole_percent, chosen.key)
    if missing:
        named = ", ".join(f"{pretty(oxide)} ({_mole(mole_percent[oxide])})" for oxide in missing)
        told.append(f"{chosen.name} has no factor for {named}: left out of the sum.")
    return tuple(told)


def _beyond(what: str, percent: float, most: float) -> str:
    return f"{what} {_mole(percent)}; over {_mole(most)} the sum is not reliable."


def _mole(percent: float) -> str:
    decimals = 0 if percent == round(percent) else 1 if percent >= 0.1 else 2
    return show_quantity(percent, "mol %", decimals)


def _named(mole_percent: Mapping[str, float]) -> dict[str, float]:
    """The oxides as they are stored, "SiO₂" as "SiO2". Raises UserProblem for what is none."""
    named: dict[str, float] = {}
    for name, percent in mole_percent.items():
        oxide = name if name in MOLAR_MASSES_G else read_oxide(name)
        named[oxide] = named.get(oxide, 0.0) + percent
    return named


def _check(mole_percent: Mapping[str, float]) -> None:
    for oxide, percent in mole_percent.items():
        if oxide not in MOLAR_MASSES_G or oxide == "F":
            raise UserProblem(f"“{oxide}” is not among the oxides an expansion is computed from.")
        if not math.isfinite(percent) or percent < 0.0:
            raise UserProblem(f"{pretty(oxide)}: mole per cent must be a number, 0 or more.")
    total = sum(mole_percent.values())
    if abs(total - 100.0) > _SUM_OFF:
        raise UserProblem(f"The mole percentages add up to {total:.1f}, not to 100.")


def _by_weight(mole_percent: Mapping[str, float]) -> dict[str, float]:
    grams = {oxide: percent * MOLAR_MASSES_G[oxide] for oxide, percent in mole_percent.items()}
    total = sum(grams.values())
    return {oxide: 100.0 * g / total for oxide, g in grams.items()}


def _factors_for(shares: Mapping[str, float], chosen: FactorSet) -> dict[str, float]:
    fixed = _fixed_factors(chosen.key)
    known = {oxide: fixed[oxide] for oxide in shares if oxide in fixed}
    if chosen.key == "appen":
        ruled = _appen_ruled(shares)
        known.update({oxide: ruled[oxide] for oxide in shares if oxide in ruled})
    return known


def _appen_ruled(mole_percent: Mapping[str, float]) -> dict[str, float]:
    """Appen's factors that depend on the composition, as the ``rule`` column states them."""

    def of(*oxides: str) -> float:
        return sum(mole_percent.get(oxide, 0.0) for oxide in oxides)

    silica, alkali, boron = of("SiO2"), of(*R2O), of("B2O3")
    ruled = {
        "SiO2": 38.0 - max(0.0, silica - 67.0),
        "TiO2": min(max(30.0 - 1.5 * (silica - 50.0), -15.0), 30.0),
        "PbO": 130.0 if alkali < 3.0 else min(190.0, 130.0 + 5.0 * (alkali - 3.0)),
    }
    if boron > 0.0:
        # How much flux there is for boron to take up: it turns from three- to fourfold with it.
        spare = alkali + of("MgO", "CaO", "SrO", "BaO") - of("Al2O3")
        ruled["B2O3"] = min(max(12.5 * (4.0 - spare / boron) - 50.0, -50.0), 0.0)
    return ruled
