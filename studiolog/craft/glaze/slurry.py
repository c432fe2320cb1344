"""Glaze as slurry: how much is dry in it, how much water, and how to bring it to a target.

All of it follows from one balance (Brongniart): a volume of slurry is the volume of its dry
material and the volume of its water, and a millilitre of water weighs a gram. Specific gravity
(``specific_gravity``) is the mass of a volume over that of the same volume of water. The dry
material's own density (``solid_density``, g/ml) is weighed, computed from the materials of a
recipe, or `USUAL_SOLID_DENSITY`, the common practice.

Printed answers are checked in ``tests/outside/test_brongniart.py``.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from studiolog.craft.limits import SHIPPED
from studiolog.craft.units import show_number, show_quantity
from studiolog.problems import UserProblem

USUAL_SOLID_DENSITY: Final = SHIPPED["solid_density"]
"""g/ml; the shipped limit, for where neither a recipe nor a studio's own limit is at hand."""
WATER_DENSITY: Final = 1.0
"""g/ml; at 15 °C 0.999, at 25 °C 0.997: less than a scale over a jug can tell."""
_DENSEST: Final = 20.0  # g/ml, near that of gold: no glaze material is so dense
_NAMED: Final = 3


@dataclass(frozen=True, slots=True)
class Slurry:
    """So much slurry, and what is in it."""

    volume_ml: float
    specific_gravity: float
    dry_g: float
    water_g: float

    @property
    def mass_g(self) -> float:
        """What it weighs."""
        return self.dry_g + self.water_g

    @property
    def dry_g_per_l(self) -> float:
        """Dry grams in a litre of it."""
        return 1000.0 * self.dry_g / self.volume_ml

    @property
    def water_percent_of_dry(self) -> float:
        """Water for 100 of dry glaze, by weight. Raises `UserProblem` for plain water."""
        if not self.dry_g:
            raise UserProblem("There is no dry glaze in plain water: give more than 1.")
        return 100.0 * self.water_g / self.dry_g


@dataclass(frozen=True, slots=True)
class SolidDensity:
    """A density of dry glaze and where it comes from, in words.

    ``basis`` is ``typed``, ``recipe`` or ``usual``. ``assumed`` names materials of the recipe whose
    own density is not known: the usual one stands in for them.
    """

    g_per_ml: float
    basis: str
    assumed: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """``2.62 g/ml, of the materials in the recipe``."""
        shown = show_quantity(self.g_per_ml, "g/ml", 2)
        if self.basis == "typed":
            return f"{shown}, as typed"
        if self.basis == "usual":
            return f"{shown}, the usual figure"
        words = f"{shown}, of the materials in the recipe"
        if self.assumed:
            named = ", ".join(self.assumed[:_NAMED])
            if len(self.assumed) > _NAMED:
                named += f" and {len(self.assumed) - _NAMED} more"
            words += f" ({named} taken at the usual density)"
        return words


def dry_mass_g(
    volume_ml: float, specific_gravity: float, solid_density: float = USUAL_SOLID_DENSITY
) -> float:
    """Dry grams in so much slurry: ``V (SG − 1) G / (G − 1)`` (Brongniart); 0 in plain water.

    Raises `UserProblem` for a volume under nothing, and for a specific gravity that is not between
    that of water and that of the dry material.
    """
    _check_volume(volume_ml)
    if specific_gravity == WATER_DENSITY:
        _check_density(solid_density)
        return 0.0
    _check_gravity(specific_gravity, solid_density)
    return volume_ml * (specific_gravity - WATER_DENSITY) / _lift(solid_density)


def dry_g_per_litre(specific_gravity: float, solid_density: float = USUAL_SOLID_DENSITY) -> float:
    """Dry grams in a litre: 731.25 at 1.45. Raises as `dry_mass_g` does."""
    return dry_mass_g(1000.0, specific_gravity, solid_density)


def specific_gravity_of(
    dry_g: float, water_g: float, solid_density: float = USUAL_SOLID_DENSITY
) -> float:
    """The specific gravity of dry glaze stirred into water.

    Raises `UserProblem` for masses under nothing or nothing at all.
    """
    return (dry_g + water_g) / volume_of(dry_g, water_g, solid_density)


def volume_of(dry_g: float, water_g: float, solid_density: float = USUAL_SOLID_DENSITY) -> float:
    """Millilitres of slurry that dry glaze and water make. Raises as `specific_gravity_of` does."""
    _check_density(solid_density)
    _check_mass(dry_g, "dry glaze")
    _check_mass(water_g, "water")
    if dry_g + water_g <= 0:
        raise UserProblem("There is neither dry glaze nor water: give at least one of them.")
    return dry_g / solid_density + water_g / WATER_DENSITY


def volume_with_dry(
    dry_g: float, specific_gravity: float, solid_density: float = USUAL_SOLID_DENSITY
) -> float:
    """Millilitres that so much dry glaze makes at a specific gravity: `dry_mass_g` turned round.

    Raises `UserProblem` at that of plain water too: no volume of it holds any.
    """
    _check_mass(dry_g, "dry glaze")
    _check_gravity(specific_gravity, solid_density)
    return dry_g / dry_mass_g(1.0, specific_gravity, solid_density)


def water_for(
    dry_g: float, specific_gravity: float, solid_density: float = USUAL_SOLID_DENSITY
) -> float:
    """Grams of water that bring dry glaze to a specific gravity. Raises as `volume_with_dry`."""
    volume_ml = volume_with_dry(dry_g, specific_gravity, solid_density)
    return volume_ml * specific_gravity - dry_g


def slurry_of(
    volume_ml: float, specific_gravity: float, solid_density: float = USUAL_SOLID_DENSITY
) -> Slurry:
    """What is in so much slurry. Raises as `dry_mass_g` does, and for no volume."""
    if volume_ml == 0:
        raise UserProblem("Give how much slurry there is: more than 0 ml.")
    dry_g = dry_mass_g(volume_ml, specific_gravity, solid_density)
    return Slurry(volume_ml, specific_gravity, dry_g, volume_ml * specific_gravity - dry_g)


def slurry_with_dry(
    dry_g: float, specific_gravity: float, solid_density: float = USUAL_SOLID_DENSITY
) -> Slurry:
    """The slurry that so much dry glaze makes at a specific gravity. Raises as `slurry_of` does."""
    volume_ml = volume_with_dry(dry_g, specific_gravity, solid_density)
    return slurry_of(volume_ml, specific_gravity, solid_density)


def weighed_gravity(mass_g: float, volume_ml: float) -> float:
    """The specific gravity of a weighed volume: 145 g in 100 ml are 1.45.

    ``mass_g`` is that of the slurry alone, without the jug. Raises `UserProblem` for what no glaze
    slurry weighs.
    """
    if not (math.isfinite(volume_ml) and volume_ml > 0):
        raise UserProblem("Give the volume that was weighed: more than 0 ml.")
    gravity = mass_g / volume_ml
    if not (math.isfinite(gravity) and gravity > WATER_DENSITY):
        raise UserProblem(
            f"{show_quantity(mass_g, 'g')} in {show_quantity(volume_ml, 'ml')} is no heavier than "
            "water. Was the jug full to its mark, and was the scale set to zero with the empty jug?"
        )
    if gravity >= 3.0:
        raise UserProblem(
            f"{show_quantity(mass_g, 'g')} in {show_quantity(volume_ml, 'ml')} is specific gravity "
            f"{show_number(gravity, 2)}, more than any glaze slurry. Was the jug taken off?"
        )
    return gravity


def solid_density_of(dry_g: float, volume_ml: float, specific_gravity: float) -> float:
    """The density of the dry material, from a sample of slurry that was weighed, then dried.

    ``dry_g`` is what was left of ``volume_ml`` at ``specific_gravity``. Raises `UserProblem` where
    the figures leave the dry material no room of its own.
    """
    if not (math.isfinite(volume_ml) and volume_ml > 0):
        raise UserProblem("Give the volume of the sample: more than 0 ml.")
    _check_mass(dry_g, "dry glaze")
    water_ml = (volume_ml * specific_gravity - dry_g) / WATER_DENSITY
    solid_ml = volume_ml - water_ml
    if dry_g == 0 or solid_ml <= 0 or water_ml < 0:
        raise UserProblem(
            f"{show_quantity(dry_g, 'g', 1)} of dry glaze can't come from "
            f"{show_quantity(volume_ml, 'ml')} at specific gravity "
            f"{show_number(specific_gravity, 2)}: weigh the sample again, and dry it until it "
            "loses no more."
        )
    return dry_g / solid_ml


def water_to_reach(volume_ml: float, specific_gravity: float, target: float) -> float:
    """Grams of water that thin so much slurry to a target: ``V (SG − target) / (target − 1)``.

    5 l from 1.55 to 1.45 need 1111 g. No density of the dry material is needed. Raises
    `UserProblem` for a target above what it is (see `dry_to_reach`) or one of water.
    """
    _check_volume(volume_ml)
    _check_gravity(specific_gravity)
    _check_gravity(target, what="The target")
    if target > specific_gravity:
        raise UserProblem(
            f"Water makes it thinner: from {show_number(specific_gravity, 2)} it can't reach "
            f"{show_number(target, 2)}. Add dry glaze, or let it settle and draw water off."
        )
    return volume_ml * (specific_gravity - target) / (target - WATER_DENSITY)


def dry_to_reach(
    volume_ml: float,
    specific_gravity: float,
    target: float,
    solid_density: float = USUAL_SOLID_DENSITY,
) -> float:
    """Grams of dry glaze that thicken so much slurry to a target.

    ``V (target − SG) / (1 − target / G)``. Raises `UserProblem` for a target under what it is, and
    for one the dry material itself does not reach.
    """
    _check_volume(volume_ml)
    _check_gravity(specific_gravity, solid_density)
    _check_gravity(target, solid_density, what="The target")
    if target < specific_gravity:
        raise UserProblem(
            f"Dry glaze makes it thicker: from {show_number(specific_gravity, 2)} it can't reach "
            f"{show_number(target, 2)}. Add water."
        )
    return volume_ml * (target - specific_gravity) / (1.0 - target / solid_density)


def water_to_draw_off(volume_ml: float, specific_gravity: float, target: float) -> float:
    """Grams of clear water to draw off settled slurry to reach a higher target.

    Soluble material that went into the water leaves with it. Raises `UserProblem` for a target
    under what it is.
    """
    _check_volume(volume_ml)
    _check_gravity(specific_gravity)
    _check_gravity(target, what="The target")
    if target < specific_gravity:
        raise UserProblem("Drawing water off makes it thicker. Add water to make it thinner.")
    return volume_ml * (target - specific_gravity) / (target - WATER_DENSITY)


def recipe_density(
    recipe: Mapping[str, float],
    densities: Mapping[str, float | None],
    usual: float = USUAL_SOLID_DENSITY,
) -> SolidDensity:
    """The density of a dry recipe: its mass over the volumes of its materials.

    ``recipe`` is material -> parts by mass; ``densities`` material -> g/ml, None or absent where it
    is not known. Materials without one are taken at ``usual`` and named; a recipe of nothing but
    those is the usual figure, and so is one that would float on its water.
    """
    parts = {material: part for material, part in recipe.items() if part > 0}
    assumed = tuple(material for material in parts if not densities.get(material))
    if len(assumed) == len(parts):
        return SolidDensity(usual, "usual")
    volume = sum(part / (densities.get(material) or usual) for material, part in parts.items())
    density = sum(parts.values()) / volume
    if density <= WATER_DENSITY:
        return SolidDensity(usual, "usual")
    return SolidDensity(density, "recipe", assumed)


def fired_thickness_um(
    dry_g_per_m2: float,
    loi_percent: float,
    fired_density: float = SHIPPED["fired_glaze_density"],
) -> float:
    """About how thick a layer of dry glaze is once it is fired, in µm.

    ``(1 − LOI) · dry g/m² / fired density``: without bubbles, and if none of it is lost into the
    clay. Raises `UserProblem` for what can't be.
    """
    _check_mass(dry_g_per_m2, "dry glaze on a square metre")
    if loi_percent >= 100:
        raise UserProblem("A glaze that loses all it weighs in the firing leaves no layer.")
    if not fired_density > 0:
        raise UserProblem("The density of the fired glaze must be more than 0 g/ml.")
    return dry_g_per_m2 * (1.0 - loi_percent / 100.0) / fired_density


def _lift(solid_density: float) -> float:
    """How much a gram of dry glaze in a millilitre lifts the specific gravity: (G − 1) / G."""
    return (solid_density - WATER_DENSITY) / solid_density


def _shown(density: float) -> str:
    return show_number(density, 2) if abs(density) < 1e6 else "that"


def _check_density(solid_density: float) -> None:
    if not WATER_DENSITY < solid_density < _DENSEST:
        raise UserProblem(
            f"The dry material must be denser than water, and lighter than {_DENSEST:.0f} g/ml; "
            f"{_shown(solid_density)} is not. {show_number(USUAL_SOLID_DENSITY, 1)} g/ml is usual."
        )


def _check_volume(volume_ml: float) -> None:
    if not (math.isfinite(volume_ml) and volume_ml >= 0):
        raise UserProblem("A volume of slurry must be 0 ml or more.")


def _check_mass(grams: float, what: str) -> None:
    if not (math.isfinite(grams) and grams >= 0):
        raise UserProblem(f"The {what} must be 0 g or more.")


def _check_gravity(
    specific_gravity: float,
    solid_density: float | None = None,
    what: str = "The specific gravity",
) -> None:
    if not WATER_DENSITY < specific_gravity < _DENSEST:
        raise UserProblem(
            f"{what} must be more than 1, that of water, and less than {_DENSEST:.0f}; "
            f"{_shown(specific_gravity)} is not. Most glazes lie between 1.3 and 1.6."
        )
    if solid_density is None:
        return
    _check_density(solid_density)
    if specific_gravity >= solid_density:
        raise UserProblem(
            f"{what} must be less than {show_number(solid_density, 2)}, that of the dry material; "
            f"{show_number(specific_gravity, 2)} is not."
        )
