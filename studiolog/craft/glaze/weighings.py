"""Mixing for a test plan with the fewest weighings.

Each corner is mixed once, and the tiles are blended from them: as slurries by volume, which needs
no scale but the specific gravity of each; or dry by weight, which needs no specific gravity. A
ladder of additions is one base, with the additions weighed into each tile's part of it.

A millilitre of slurry holds ``(SG − 1) G / (G − 1)`` grams of dry glaze (Brongniart), so plain
volumes are right only where the slurries stand even; otherwise they are corrected for it here.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

from studiolog.craft.glaze.batch import (
    Batch,
    BatchPart,
    batch_of_dry,
    decimals_of,
    least_batch_g,
    round_to_step,
    show_weight,
)
from studiolog.craft.glaze.blend import BlendPart, add_to_recipe, blend_recipe, dry_shares
from studiolog.craft.glaze.plans import BLEND_WAYS, Layout, LayoutTile, few_codes, tile_code
from studiolog.craft.glaze.slurry import (
    USUAL_SOLID_DENSITY,
    dry_mass_g,
    slurry_with_dry,
    water_for,
)
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number, show_quantity
from studiolog.problems import UserProblem

_FINE: Final = 1e-9


@dataclass(frozen=True, slots=True)
class MixCorner:
    """A glaze a plan is mixed from. ``solid_density`` is that of its dry recipe, g/ml."""

    label: str
    recipe: tuple[BlendPart, ...]
    specific_gravity: float | None = None
    solid_density: float = USUAL_SOLID_DENSITY


@dataclass(frozen=True, slots=True)
class MixLine:
    """One weighing: ``grams`` as the scale shows them, ``wanted_g`` as the recipe asks."""

    material: str
    grams: float
    wanted_g: float
    addition: bool = False


@dataclass(frozen=True, slots=True)
class CornerMix:
    """How much of a corner is mixed, and what goes into it. Without water where it stays dry."""

    label: str
    dry_g: float
    lines: tuple[MixLine, ...]
    specific_gravity: float | None = None
    water_g: float | None = None
    volume_ml: float | None = None


@dataclass(frozen=True, slots=True)
class TilePour:
    """What goes into one tile: so many ml (or dry g) of each corner, 0 for none of it.

    ``amounts`` are in steps of the syringe or scale, ``wanted`` before rounding. ``slurry_g`` is
    the same weighed wet, empty if corners are weighed dry; ``water_g`` is then the water that
    brings the tile's dry glaze to the gravity of its corners, None where one has none.
    ``too_small`` says what can't be measured well enough, and what would do.
    """

    position: int
    code: str
    words: str
    amounts: tuple[float, ...]
    wanted: tuple[float, ...]
    slurry_g: tuple[float, ...] = ()
    water_g: float | None = None
    additions: tuple[MixLine, ...] = ()
    too_small: str = ""


@dataclass(frozen=True)
class PlanMixing:
    """The mixing of a plan: corners, tiles, and what it saves.

    ``weighings_each`` counts the weighings if every tile were weighed from its raw materials.
    ``conditions`` say when this is right, ``remarks`` what can't be done well enough.
    """

    unit: str
    tile_dry_g: float
    corners: tuple[CornerMix, ...]
    tiles: tuple[TilePour, ...]
    weighings: int
    pours: int
    weighings_each: int
    conditions: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    materials_g: Mapping[str, float] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """``14 weighings and 8 pours instead of 38 weighings``."""
        done = f"{self.weighings} {_plural(self.weighings, 'weighing')}"
        if self.pours:
            done += f" and {self.pours} {_plural(self.pours, 'pour')}"
        return f"{done} instead of {self.weighings_each} weighings"


def _plural(count: int, noun: str) -> str:
    return noun if count == 1 else f"{noun}s"


def mix_plan(
    layout: Layout,
    corners: Sequence[MixCorner],
    *,
    code: str,
    tile_dry_g: float,
    blend_by: str = "volume",
    limits: Limits = SHIPPED,
) -> PlanMixing | None:
    """How a plan's tiles are mixed; None for a kind that is glazed from buckets as they are.

    ``tile_dry_g`` is the dry glaze of a tile, before what a ladder adds. Raises `UserProblem` for
    a corner without a recipe, one without a specific gravity where slurries are poured, and a
    tile of nothing.
    """
    if not any(tile.shares or layout.kind == "additions" for tile in layout.tiles):
        return None
    if blend_by not in BLEND_WAYS:
        raise UserProblem(f"“{blend_by}” is no way to blend: {', '.join(BLEND_WAYS.values())}.")
    if not (math.isfinite(tile_dry_g) and tile_dry_g > 0):
        sentence = "A tile needs more than 0 g of dry glaze."
        raise UserProblem(sentence, {"tile_dry_g": sentence})
    for corner in corners:
        check_corner(corner, blend_by)
    return _Mixer(layout, tuple(corners), code, tile_dry_g, blend_by == "volume", limits).mix()


def check_corner(corner: MixCorner, blend_by: str) -> None:
    """Raises `UserProblem` for a corner that can't be mixed this way, with what to do."""
    if not any(not part.addition for part in corner.recipe):
        sentence = (
            f"{corner.label} has no recipe: enter it first. A bought glaze can be tried over and "
            "under others, or in steps of thickness."
        )
        raise UserProblem(sentence, {"corners": sentence})
    if blend_by == "volume" and corner.specific_gravity is None:
        sentence = (
            f"{corner.label} has no specific gravity, so it can't be blended by volume: weigh "
            "100 ml of it (145 g is 1.45), or blend the dry glazes by weight."
        )
        raise UserProblem(sentence, {"specific_gravity": sentence})


@dataclass(frozen=True)
class _Mixer:
    layout: Layout
    corners: tuple[MixCorner, ...]
    code: str
    tile_dry_g: float
    poured: bool
    limits: Limits

    def mix(self) -> PlanMixing:
        tiles = tuple(self._pour(tile) for tile in self.layout.tiles)
        batches = [self._batch(place) for place in range(len(self.corners))]
        mixes = tuple(
            self._corner(corner, batch)
            for corner, batch in zip(self.corners, batches, strict=True)
            if batch is not None
        )
        taken = sum(amount > 0 for tile in tiles for amount in tile.amounts)
        added = sum(len(tile.additions) for tile in tiles)
        corner_lines = sum(len(mix.lines) for mix in mixes)
        materials: dict[str, float] = {}
        for line in (line for mix in mixes for line in mix.lines):
            materials[line.material] = materials.get(line.material, 0.0) + line.grams
        for line in (line for tile in tiles for line in tile.additions):
            materials[line.material] = materials.get(line.material, 0.0) + line.grams
        return PlanMixing(
            unit="ml" if self.poured else "g",
            tile_dry_g=self.tile_dry_g,
            corners=mixes,
            tiles=tiles,
            weighings=corner_lines + added + (0 if self.poured else taken),
            pours=taken if self.poured else 0,
            weighings_each=sum(len(self._recipe(tile)) for tile in self.layout.tiles),
            conditions=self._conditions(),
            remarks=self._remarks(tiles, batches),
            materials_g=MappingProxyType(materials),
        )

    def _shares(self, tile: LayoutTile) -> tuple[float, ...]:
        return tile.shares or (1.0,)

    def _recipe(self, tile: LayoutTile) -> dict[tuple[str, bool], float]:
        """What would be weighed for this tile alone: lots of one material are one weighing."""
        blended = blend_recipe([corner.recipe for corner in self.corners], self._shares(tile))
        parts: dict[tuple[str, bool], float] = {}
        for part in add_to_recipe(blended, tile.additions, {}):
            key = (part.material.casefold(), part.addition)
            parts[key] = parts.get(key, 0.0) + part.parts
        return parts

    def _dry_g_per_ml(self, corner: MixCorner) -> float:
        assert corner.specific_gravity is not None
        return dry_mass_g(1.0, corner.specific_gravity, corner.solid_density)

    def _pour(self, tile: LayoutTile) -> TilePour:
        dry = [share * self.tile_dry_g for share in self._shares(tile)]
        code = tile_code(self.code, tile.position)
        step = self.limits["pour_step_ml" if self.poured else "scale_step_g"]
        wanted = tuple(dry)
        wet: tuple[float, ...] = ()
        if self.poured:
            wanted = tuple(
                grams / self._dry_g_per_ml(corner)
                for grams, corner in zip(dry, self.corners, strict=True)
            )
        amounts = tuple(round_to_step(amount, step) for amount in wanted)
        if self.poured:
            wet = tuple(
                amount * (corner.specific_gravity or 0.0)
                for amount, corner in zip(wanted, self.corners, strict=True)
            )
        additions, small_addition = self._additions(tile, code)
        return TilePour(
            tile.position, code, tile.words, amounts, wanted, wet,
            None if self.poured else self._water_g(dry), additions,
            small_addition or self._small_amount(code, wanted, step),
        )  # fmt: skip

    def _water_g(self, dry: Sequence[float]) -> float | None:
        water = 0.0
        for grams, corner in zip(dry, self.corners, strict=True):
            if grams <= 0:
                continue
            if corner.specific_gravity is None:
                return None
            water += water_for(grams, corner.specific_gravity, corner.solid_density)
        return water

    def _small_amount(self, code: str, wanted: Sequence[float], step: float) -> str:
        error = self.limits["weighing_error"]
        small = [
            (amount, corner)
            for amount, corner in zip(wanted, self.corners, strict=True)
            if amount > 0 and step / 2.0 > error * amount * (1 + _FINE)
        ]
        if not small:
            return ""
        amount, corner = min(small, key=lambda one: one[0])
        unit = "ml" if self.poured else "g"
        places = max(decimals_of(step), 1)
        needed = self.tile_dry_g * step / (2.0 * error * amount)
        return (
            f"{code}: {show_quantity(amount, unit, places)} of {corner.label} is too little to "
            f"{'pour' if self.poured else 'weigh'} to within {_percent(error)} in steps of "
            f"{show_quantity(step, unit, decimals_of(step))}. Mix tiles of "
            f"{show_quantity(math.ceil(needed), 'g')} dry or more."
        )

    def _additions(self, tile: LayoutTile, code: str) -> tuple[tuple[MixLine, ...], str]:
        step = self.limits["scale_step_g"]
        lines, told = [], ""
        for material, parts in tile.additions:
            grams = self._addition_share(parts) * self.tile_dry_g
            lines.append(MixLine(material, round_to_step(grams, step), grams, addition=True))
            needed = self._base_needed(parts)
            if not told and needed > self.tile_dry_g:
                told = (
                    f"{code}: {self._say_addition(material, parts)}. It needs "
                    f"{show_quantity(needed, 'g')} of the base."
                )
        return tuple(lines), told

    def _addition_share(self, parts: float) -> float:
        """What so many parts on the hundred are of the dry base, which may have additions too."""
        base = blend_recipe([self.corners[0].recipe], (1.0,))
        return parts / sum(part.parts for part in base)

    def _base_needed(self, parts: float) -> int:
        """Whole grams of base in which so many parts are weighed well enough."""
        share = min(self._addition_share(parts), 1.0)
        limits = self.limits
        return math.ceil(
            least_batch_g(share, limits["scale_step_g"], limits["weighing_error"]) - _FINE
        )

    def _say_addition(self, material: str, parts: float) -> str:
        step, error = self.limits["scale_step_g"], self.limits["weighing_error"]
        grams = self._addition_share(parts) * self.tile_dry_g
        is_one = parts == 1
        return (
            f"{parts:g} {'part' if is_one else 'parts'} of {material} {'is' if is_one else 'are'} "
            f"{show_quantity(grams, 'g', 2)} in "
            f"{show_quantity(self.tile_dry_g, 'g')}, too little for a scale in steps of "
            f"{show_weight(step, step)} to be within {_percent(error)}"
        )

    def _addition_remarks(self) -> list[str]:
        """One sentence for each material whose amounts are too small, and what would do for all."""
        small: dict[str, set[float]] = {}
        for tile in self.layout.tiles:
            for material, parts in tile.additions:
                if self._base_needed(parts) > self.tile_dry_g:
                    small.setdefault(material, set()).add(parts)
        told = [f"{self._say_addition(one, min(parts))}." for one, parts in small.items()]
        if told:
            needed = max(self._base_needed(min(parts)) for parts in small.values())
            told.append(
                f"With {show_quantity(needed, 'g')} of dry base to a tile all additions could be "
                "weighed. Or make one batch with the most, and blend it with the base as a line."
            )
        return told

    def _batch(self, place: int) -> Batch | None:
        """All of a corner that the tiles take, and the spare; None if none takes any."""
        taken = sum(self._shares(tile)[place] for tile in self.layout.tiles) * self.tile_dry_g
        if taken <= 0:
            return None
        dry_g = math.ceil(taken * (1.0 + self.limits["plan_spare"]) - _FINE)
        parts: dict[tuple[str, bool], float] = {}
        for part in self.corners[place].recipe:
            key = (part.material, part.addition)
            parts[key] = parts.get(key, 0.0) + part.parts
        return batch_of_dry(
            [BatchPart(material, amount, added) for (material, added), amount in parts.items()],
            dry_g,
            self.limits["scale_step_g"],
            self.limits["weighing_error"],
        )

    def _corner(self, corner: MixCorner, batch: Batch) -> CornerMix:
        lines = tuple(
            MixLine(line.material, line.weighed_g, line.wanted_g, line.addition)
            for line in batch.lines
        )
        if not self.poured:
            return CornerMix(corner.label, batch.weighed_g, lines)
        assert corner.specific_gravity is not None
        slurry = slurry_with_dry(batch.weighed_g, corner.specific_gravity, corner.solid_density)
        return CornerMix(
            corner.label, batch.weighed_g, lines, corner.specific_gravity, slurry.water_g,
            slurry.volume_ml,
        )  # fmt: skip

    def _conditions(self) -> tuple[str, ...]:
        if not self.poured:
            return (
                "The dry glazes are weighed together, which is right whatever the slurries stand "
                "at. Water is added to each tile's cup afterwards.",
                "Dry glaze raises dust that harms the lungs: wear a respirator, and wipe up wet.",
            )
        gravities = [one.specific_gravity or 0.0 for one in self.corners]
        told = []
        if len(self.corners) == 1:
            told.append(
                f"The base slurry must stand at specific gravity {show_number(gravities[0], 2)}: "
                "weigh 100 ml before pouring, and stir it each time."
            )
        elif max(gravities) - min(gravities) <= self.limits["even_gravity"] + _FINE:
            told.append(
                f"Volumes are right because the slurries stand even, at "
                f"{show_number(gravities[0], 2)}: weigh 100 ml of each before pouring, and stir "
                "it each time."
            )
        else:
            told.append(self._uneven(gravities))
        densities = [one.solid_density for one in self.corners]
        if max(densities) - min(densities) > 0.05:
            shown = " and ".join(
                f"{one.label} {show_quantity(one.solid_density, 'g/ml', 2)}" for one in self.corners
            )
            told.append(f"The dry glazes differ in density ({shown}); the volumes allow for it.")
        return tuple(told)

    def _uneven(self, gravities: Sequence[float]) -> str:
        shown = ", ".join(
            f"{one.label} {show_number(gravity, 2)}"
            for one, gravity in zip(self.corners, gravities, strict=True)
        )
        low, high = gravities.index(min(gravities)), gravities.index(max(gravities))
        pair = dry_shares(
            (1.0, 1.0), [self._dry_g_per_ml(self.corners[place]) for place in (high, low)]
        )
        return (
            f"The slurries stand at different specific gravities ({shown}); the volumes are "
            f"corrected for the dry glaze in each. Poured half and half, {self.corners[high].label}"
            f" and {self.corners[low].label} would be {show_number(100 * pair[0], 1)} to "
            f"{show_number(100 * pair[1], 1)} by dry weight."
        )

    def _remarks(
        self, tiles: Sequence[TilePour], batches: Sequence[Batch | None]
    ) -> tuple[str, ...]:
        told = self._addition_remarks()
        if not told:
            small = [tile for tile in tiles if tile.too_small]
            told = [tile.too_small for tile in small[:1]]
            if len(small) > 1:
                told.append(f"The same holds for {few_codes([tile.code for tile in small[1:]])}.")
        for corner, batch in zip(self.corners, batches, strict=True):
            if batch is None or not batch.too_coarse:
                continue
            worst = max(batch.too_coarse, key=lambda line: line.doubt_share)
            told.append(
                f"{corner.label}: {show_quantity(worst.wanted_g, 'g', 2)} of {worst.material} is "
                f"too little for a scale in steps of {show_weight(batch.step_g, batch.step_g)}. "
                f"Mix {show_quantity(math.ceil(batch.least_g - _FINE), 'g')} of it dry or more."
            )
        return tuple(dict.fromkeys(told))


def _percent(share: float) -> str:
    return show_quantity(
        100.0 * share, "%", 0 if abs(100 * share - round(100 * share)) < 1e-9 else 1
    )
