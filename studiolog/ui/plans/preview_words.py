"""A planned plan in words: its sums, its corners, and what one tile is made of."""

from collections.abc import Mapping, Sequence

from studiolog.craft.glaze.blend import BlendPart
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.units import show_number, show_quantity
from studiolog.journal.glazes import RecipePart
from studiolog.journal.plans import PlanPreview, PreviewTile, TileFormula
from studiolog.ui.parts.typed import write_number

_MOST_PARTS = 12
_ADDED = "+\u00a0"


def preview_sums(preview: PlanPreview) -> str:
    """How many tiles and weighings: ``5 tiles: 9 weighings and 8 pours instead of 30 …``."""
    count = len(preview.tiles)
    words = f"{count} tile{'' if count == 1 else 's'}"
    mixing = preview.mixing
    if mixing is None:
        return f"{words}, glazed from buckets as they are: nothing is weighed."
    return f"{words}: {mixing.words}."


def corner_lines(preview: PlanPreview) -> list[str]:
    """How much of each corner is mixed, a line each."""
    if preview.mixing is None:
        return []
    lines = []
    for corner in preview.mixing.corners:
        words = f"{corner.label}: {show_quantity(corner.dry_g, 'g', _places(corner.dry_g))} dry"
        if corner.water_g is not None and corner.specific_gravity is not None:
            words += (
                f" and {show_quantity(corner.water_g, 'g')} of water, to specific gravity "
                f"{show_number(corner.specific_gravity, 2)}"
            )
        lines.append(words)
    return [*lines, *preview.mixing.conditions]


def tile_lines(tile: PreviewTile) -> list[str]:
    """What one tile is: its words, its recipe and what its formula says."""
    lines = [f"{tile.code}: {tile.words}"]
    if tile.recipe:
        lines.append(recipe_words(tile.recipe))
    if tile.formula is not None:
        lines += formula_lines(tile.formula)
    return lines


def recipe_words(parts: Sequence[BlendPart | RecipePart]) -> str:
    """A recipe on one line: ``Potash feldspar 40, Silica 22, + Bentonite 2``."""
    said = [
        f"{_ADDED if part.addition else ''}{part.material} {write_number(part.parts, 1)}"
        for part in parts[:_MOST_PARTS]
    ]
    more = len(parts) - _MOST_PARTS
    return ", ".join(said) + (f", and {more} more" if more > 0 else "")


def formula_lines(formula: TileFormula) -> list[str]:
    """Silica, alumina, their ratio and the expansion; or which analysis is missing."""
    if formula.missing:
        return [f"No formula: no analysis of {', '.join(formula.missing)}."]
    said = []
    whole = bool(formula.oxides)  # then silica and alumina stand in the formula
    for words, number, places in (
        (pretty("SiO2"), formula.silica, 2),
        (pretty("Al2O3"), formula.alumina, 2),
        (f"{pretty('SiO2')} : {pretty('Al2O3')}", formula.silica_alumina, 1),
    ):
        if number is not None and (places == 1 or not whole):
            said.append(f"{words} {show_number(number, places)}")
    if formula.expansion_ppm_k is not None:
        said.append(f"expansion {show_quantity(formula.expansion_ppm_k, 'ppm/K', 2)}")
    lines = [", ".join(said)] if said else []
    return [*lines, oxide_words(formula.oxides)] if whole else lines


def oxide_words(oxides: Mapping[str, float]) -> str:
    """A unity formula on one line, as moles per mole of flux."""
    return ", ".join(
        f"{pretty(oxide)} {show_number(moles, 2)}"
        for oxide, moles in oxides.items()
        if moles >= 0.005
    )


def _places(grams: float) -> int:
    return 0 if abs(grams - round(grams)) < 1e-6 else 1
