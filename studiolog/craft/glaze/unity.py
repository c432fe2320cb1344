"""From a recipe to its formula: oxide percentages and the unity (Seger) formula.

Moles = weight x per cent / 100 / molar mass, divided by the sum of the fluxes. Where books differ,
a rule decides (:class:`UnityRules`), and its words say what it does.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from studiolog.craft.glaze.oxides import (
    COLOURANTS_AS_FLUX,
    FLUXES,
    LOI,
    MOLAR_MASSES_G,
    OXYGEN_PER_FLUORINE,
    R2O,
    in_order,
    oxygens,
    pretty,
    read_oxide,
    role_of,
)
from studiolog.craft.limits import Limits
from studiolog.problems import UserProblem

Place = Literal["flux", "amphoteric", "boron", "former", "phosphorus", "outside"]


@dataclass(frozen=True, slots=True)
class UnityRules:
    """What is counted where. The mole and weight percentages are the same under every rule."""

    boron_with_alumina: bool = False
    iron_with_alumina: bool = True
    colourants_as_flux: bool = False


USUAL: Final = UnityRules()


def rules_from(limits: Limits) -> UnityRules:
    """The rules as the studio set them."""
    return UnityRules(
        limits["boron_with_alumina"] != 0.0,
        limits["iron_with_alumina"] != 0.0,
        limits["colourants_as_flux"] != 0.0,
    )


def say_rules(rules: UnityRules) -> tuple[str, ...]:
    """One sentence for each rule: what is done under it."""
    boron = "B₂O₃ counts with Al₂O₃" if rules.boron_with_alumina else "B₂O₃ stands on its own line"
    iron = (
        "Fe₂O₃ counts with Al₂O₃"
        if rules.iron_with_alumina
        else "iron counts among the fluxes as FeO, two for each Fe₂O₃"
    )
    colour = "CoO, NiO, CuO, MnO and FeO "
    colour += "count among the fluxes" if rules.colourants_as_flux else "stay outside the flux sum"
    return (f"{boron}.", f"{iron[0].upper()}{iron[1:]}.", f"{colour}.")


def place_of(oxide: str, rules: UnityRules = USUAL) -> Place:
    """Where an oxide stands in a unity formula laid out under these rules."""
    if oxide in COLOURANTS_AS_FLUX:
        iron = oxide == "FeO" and not rules.iron_with_alumina
        return "flux" if rules.colourants_as_flux or iron else "outside"
    role = role_of(oxide)
    if role == "B2O3":
        return "amphoteric" if rules.boron_with_alumina else "boron"
    places: dict[str, Place] = {
        "R2O": "flux",
        "RO": "flux",
        "R2O3": "amphoteric",
        "RO2": "former",
        "P2O5": "phosphorus",
    }
    return places.get(role, "outside")


@dataclass(frozen=True)
class UnityFormula:
    """What a recipe is made of. Scaling the recipe changes nothing here.

    ``oxides``: moles per mole of flux of every oxide present, under the rules; empty if there is
    no flux, for then unity is undefined. ``mole_percent`` and ``weight_percent``: of the fired
    glaze, iron as the analyses give it, without fluorine, which goes off in part.
    ``flux_shares``: of the flux sum. ``alkali_share``: R₂O of R₂O + RO. ``oxygen_ratio``: oxygen
    in SiO₂ and its like, P₂O₅ and B₂O₃ (unless it counts with Al₂O₃) to oxygen in the bases,
    Al₂O₃ among them. None where there is nothing to divide by.

    Per 100 g of raw recipe: ``moles`` of each oxide as analysed, ``flux_moles``, ``calcined_g``
    (100 less the loss), ``oxides_g`` (what the analyses name; a difference means sums that don't
    reach 100). ``raw_g`` and ``calcined_formula_g``: grams that hold one mole of flux.
    ``loi_by_difference``: materials whose analysis gives no loss; it is taken as 100 less their
    oxides.
    """

    rules: UnityRules
    oxides: Mapping[str, float]
    silica_alumina: float | None
    loi_percent: float
    mole_percent: Mapping[str, float]
    weight_percent: Mapping[str, float]
    flux_shares: Mapping[str, float]
    alkali_share: float | None
    oxygen_ratio: float | None
    moles: Mapping[str, float]
    flux_moles: float
    raw_g: float | None
    calcined_g: float
    calcined_formula_g: float | None
    oxides_g: float
    loi_by_difference: tuple[str, ...]

    @property
    def is_defined(self) -> bool:
        """Whether there is a flux to bring to one."""
        return bool(self.oxides)

    def in_place(self, place: Place) -> dict[str, float]:
        """Moles per mole of flux of the oxides that stand in one part of the formula."""
        return {
            oxide: moles
            for oxide, moles in self.oxides.items()
            if place_of(oxide, self.rules) == place
        }


def unity_formula(
    recipe: Mapping[str, float],
    analyses: Mapping[str, Mapping[str, float | None]],
    rules: UnityRules = USUAL,
) -> UnityFormula:
    """The formula of a recipe.

    ``recipe``: parts by material, by weight; 0 counts as left out. ``analyses``: for each
    material the weight per cent of each oxide of the material as bought, and under "LOI" its loss
    on ignition, which may be negative; without "LOI" it is 100 less the oxides. None is a cell
    left empty in a table, as if it were not there.
    Raises UserProblem for no parts at all, parts below 0 or no number, a material without
    analysis, an oxide that is not known, and a recipe of which nothing is left.
    """
    shares = _shares(recipe)
    grams: dict[str, float] = {}
    loi_percent = 0.0
    by_difference: list[str] = []
    for material, share in shares.items():
        if material not in analyses:
            raise UserProblem(f"No analysis of {material} is known: add one in Materials.")
        oxides, loss, given = _read_analysis(material, analyses[material])
        if not given:
            by_difference.append(material)
        loi_percent += share * loss
        for oxide, percent in oxides.items():
            grams[oxide] = grams.get(oxide, 0.0) + share * percent
    moles = in_order({oxide: g / MOLAR_MASSES_G[oxide] for oxide, g in grams.items() if g > 0.0})
    fired = {oxide: grams[oxide] for oxide in moles if oxide != "F"}
    fired_g = sum(fired.values())
    if not fired_g > 0.0:
        raise UserProblem(
            "The analyses of this recipe name no oxide that is left after firing: "
            "look at its materials."
        )
    fired_moles = sum(moles[oxide] for oxide in fired)
    counted = _count_iron(moles, rules)
    flux = {oxide: n for oxide, n in counted.items() if place_of(oxide, rules) == "flux"}
    flux_moles = sum(flux.values())
    calcined_g = 100.0 - loi_percent
    usual_flux = sum(moles.get(oxide, 0.0) for oxide in FLUXES)
    return UnityFormula(
        rules=rules,
        oxides=_frozen({o: n / flux_moles for o, n in counted.items()} if flux_moles else {}),
        silica_alumina=_ratio(moles.get("SiO2", 0.0), moles.get("Al2O3", 0.0)),
        loi_percent=loi_percent,
        mole_percent=_frozen({oxide: 100.0 * moles[oxide] / fired_moles for oxide in fired}),
        weight_percent=_frozen({oxide: 100.0 * g / fired_g for oxide, g in fired.items()}),
        flux_shares=_frozen({oxide: n / flux_moles for oxide, n in flux.items()}),
        alkali_share=_ratio(sum(moles.get(oxide, 0.0) for oxide in R2O), usual_flux),
        oxygen_ratio=_oxygen_ratio(counted, rules),
        moles=_frozen(moles),
        flux_moles=flux_moles,
        raw_g=_ratio(100.0, flux_moles),
        calcined_g=calcined_g,
        calcined_formula_g=_ratio(calcined_g, flux_moles),
        oxides_g=fired_g,
        loi_by_difference=tuple(by_difference),
    )


def _shares(recipe: Mapping[str, float]) -> dict[str, float]:
    for material, parts in recipe.items():
        if not math.isfinite(parts):
            raise UserProblem(f"{material}: the parts are no number.")
        if parts < 0.0:
            raise UserProblem(f"{material}: parts can't be less than 0.")
    given = {material: float(parts) for material, parts in recipe.items() if parts > 0.0}
    if not given:
        raise UserProblem("The recipe has no parts yet: give a material and how much of it.")
    # By the largest first, so that neither very large nor very small parts run out of range.
    largest = max(given.values())
    total = sum(parts / largest for parts in given.values())
    return {material: parts / largest / total for material, parts in given.items()}


def _read_analysis(
    material: str, analysis: Mapping[str, float | None]
) -> tuple[dict[str, float], float, bool]:
    """Percent by oxide, the loss, and whether the analysis gave the loss."""
    oxides: dict[str, float] = {}
    loss: float | None = None
    for name, percent in analysis.items():
        oxide = name
        if oxide not in MOLAR_MASSES_G:
            try:
                oxide = read_oxide(name)
            except UserProblem as problem:
                raise UserProblem(f"Analysis of {material}: {problem.sentence}") from problem
        if percent is None:
            continue
        if not math.isfinite(percent):
            raise UserProblem(f"Analysis of {material}: {pretty(oxide)} is no number.")
        if oxide == LOI:
            loss = float(percent)
        elif percent < 0.0:
            raise UserProblem(f"Analysis of {material}: {pretty(oxide)} can't be less than 0 %.")
        else:
            oxides[oxide] = oxides.get(oxide, 0.0) + percent
    if not oxides and loss is None:
        raise UserProblem(f"No analysis of {material} is known: add one in Materials.")
    if loss is not None:
        return oxides, loss, True
    fluorine = oxides.get("F", 0.0)
    return oxides, 100.0 - sum(oxides.values()) + OXYGEN_PER_FLUORINE * fluorine, False


def _count_iron(moles: Mapping[str, float], rules: UnityRules) -> dict[str, float]:
    counted = dict(moles)
    if not rules.iron_with_alumina and "Fe2O3" in counted:
        counted["FeO"] = counted.get("FeO", 0.0) + 2.0 * counted.pop("Fe2O3")
    return in_order(counted)


def _oxygen_ratio(moles: Mapping[str, float], rules: UnityRules) -> float | None:
    acid = base = 0.0
    for oxide, n in moles.items():
        acidic = place_of(oxide, rules) in ("former", "phosphorus", "boron") or oxide == "V2O5"
        if acidic:
            acid += n * oxygens(oxide)
        else:
            base += n * oxygens(oxide)
    return _ratio(acid, base)


def _ratio(part: float, whole: float) -> float | None:
    return part / whole if whole > 0.0 else None


def _frozen(values: Mapping[str, float]) -> Mapping[str, float]:
    return MappingProxyType(dict(values))
