"""Blends: the shares of glazes in a set of tiles, and the recipe each share makes.

A share is a part of one, by dry weight unless a name says otherwise; the shares of a tile sum to
one, and at a corner one glaze has all of it. Tiles are counted by identity: ``n`` along a line;
``n (n + 1) / 2`` in a triangle with ``n`` along its edge; rows × columns in a four-corner grid.

A grid of silica by alumina is laid out in moles per mole of flux. Corners blended by equal dry
weight do not land on it: a corner of much silica weighs more for the flux it brings. Weighted by
grams per mole of flux (`weight_shares`) they land on it exactly.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studiolog.problems import UserProblem

Shares = tuple[float, ...]

_LINEAR_FROM = 0.04045


@dataclass(frozen=True, slots=True)
class BlendPart:
    """So many parts of a material, as a recipe has it; ``lot_id`` is the analysis it keeps."""

    material: str
    parts: float
    addition: bool = False
    lot_id: int | None = None


def simplex_shares(corners: int, along: int) -> tuple[Shares, ...]:
    """Evenly spaced shares of so many corners, with ``along`` tiles on each edge.

    Two corners make a line, three a triangle row by row from the first corner, four a pyramid.
    Raises `UserProblem` for fewer than two corners or two tiles.
    """
    if corners < 2:
        raise UserProblem("A blend needs at least two glazes.", {"corners": "two or more"})
    _check_along(along, "along")
    steps = along - 1
    return tuple(
        tuple(count / steps for count in counts) for counts in _compositions(corners, steps)
    )


def _compositions(places: int, total: int) -> list[tuple[int, ...]]:
    """Whole numbers summing to ``total``, the first falling from it to nothing."""
    if places == 1:
        return [(total,)]
    return [
        (first, *rest)
        for first in range(total, -1, -1)
        for rest in _compositions(places - 1, total - first)
    ]


def grid_shares(rows: int, columns: int) -> tuple[tuple[Shares, ...], ...]:
    """Shares of four corners in each tile of a grid, row by row from the top.

    The corners stand top left, top right, bottom left, bottom right. Raises `UserProblem` for
    fewer than two rows or columns.
    """
    _check_along(rows, "rows")
    _check_along(columns, "columns")
    found = []
    for row in range(rows):
        down = row / (rows - 1)
        line = []
        for column in range(columns):
            across = column / (columns - 1)
            line.append(
                (
                    (1 - down) * (1 - across),
                    (1 - down) * across,
                    down * (1 - across),
                    down * across,
                )
            )
        found.append(tuple(line))
    return tuple(found)


def _check_along(along: int, field: str) -> None:
    if along < 2:
        sentence = f"A blend needs at least two tiles along each side; {along} is too few."
        raise UserProblem(sentence, {field: "2 or more"})


def weight_shares(flux_shares: Sequence[float], flux_grams: Sequence[float]) -> Shares:
    """Shares by dry weight that bring the given shares of the flux.

    ``flux_grams`` is, for each corner, how many grams of its dry recipe hold one mole of flux.
    With them every oxide per mole of flux lies evenly between the corners. Raises `UserProblem`
    for a corner without flux.
    """
    if any(not (math.isfinite(grams) and grams > 0) for grams in flux_grams):
        raise UserProblem("A corner without flux has no place in a grid per mole of flux.")
    weights = [share * grams for share, grams in zip(flux_shares, flux_grams, strict=True)]
    total = sum(weights)
    return tuple(weight / total for weight in weights)


def blended_moles(
    shares: Sequence[float], moles: Sequence[float], flux_grams: Sequence[float]
) -> float:
    """Moles of an oxide per mole of flux in a blend of dry weights.

    ``moles`` is what each corner has per mole of flux, ``flux_grams`` as in `weight_shares`.
    """
    fluxes = [share / grams for share, grams in zip(shares, flux_grams, strict=True)]
    held = sum(flux * each for flux, each in zip(fluxes, moles, strict=True))
    return held / sum(fluxes)


def blend_recipe(
    corners: Sequence[Sequence[BlendPart]], shares: Sequence[float]
) -> tuple[BlendPart, ...]:
    """The recipe of a tile that has a share of each corner's dry weight, additions and all.

    What is an addition in a corner stays one: the parts of the recipe proper sum to 100 and the
    additions stand on top. A material that is both, or of two lots, has a line for each. A corner
    alone gives its own recipe, scaled to 100. Raises `UserProblem` for a corner without a recipe.
    """
    amounts: dict[tuple[str, bool, int | None], float] = {}
    for corner, share in zip(corners, shares, strict=True):
        total = sum(part.parts for part in corner)
        if total <= 0:
            raise UserProblem("A corner without a recipe can't be blended.")
        if share <= 0:
            continue
        for part in corner:
            key = (part.material, part.addition, part.lot_id)
            amounts[key] = amounts.get(key, 0.0) + share * part.parts / total
    proper = sum(amount for (_, addition, _), amount in amounts.items() if not addition)
    if proper <= 0:
        raise UserProblem("A recipe of nothing but additions can't be blended.")
    parts = [
        BlendPart(material, 100.0 * amount / proper, addition, lot_id)
        for (material, addition, lot_id), amount in amounts.items()
    ]
    return tuple(sorted(parts, key=lambda part: part.addition))


def add_to_recipe(
    base: Sequence[BlendPart],
    additions: Sequence[tuple[str, float]],
    lots: Mapping[str, int | None],
) -> tuple[BlendPart, ...]:
    """A recipe with so many parts of each addition on top of its hundred.

    What the base has as an addition already grows by it; ``lots`` is the lot of what is new.
    """
    parts = list(base)
    for material, amount in additions:
        if amount <= 0:
            continue
        same = next(
            (
                place
                for place, part in enumerate(parts)
                if part.addition and part.material.casefold() == material.casefold()
            ),
            None,
        )
        if same is None:
            parts.append(BlendPart(material, amount, True, lots.get(material)))
        else:
            old = parts[same]
            parts[same] = BlendPart(old.material, old.parts + amount, True, old.lot_id)
    return tuple(parts)


def pour_shares(shares: Sequence[float], dry_g_per_ml: Sequence[float]) -> Shares:
    """Shares by volume of slurry that give the shares of dry weight.

    Equal parts by weight of slurries at specific gravity 1.50 and 1.40 are 44.4 and 55.6 parts by
    volume; where all hold the same dry weight in a millilitre, the shares are as they are.
    """
    volumes = [share / dry for share, dry in zip(shares, dry_g_per_ml, strict=True)]
    total = sum(volumes)
    return tuple(volume / total for volume in volumes)


def dry_shares(volumes: Sequence[float], dry_g_per_ml: Sequence[float]) -> Shares:
    """Shares of dry weight in slurries poured together by volume: `pour_shares` turned round.

    Equal volumes at specific gravity 1.50 and 1.40 are 55.6 and 44.4 parts of dry weight.
    """
    weights = [volume * dry for volume, dry in zip(volumes, dry_g_per_ml, strict=True)]
    total = sum(weights)
    return tuple(weight / total for weight in weights)


def mix_colours(colours: Sequence[str], shares: Sequence[float]) -> str:
    """A colour between others, "#RRGGBB", mixed in linear light: for a swatch, no forecast."""
    channels = [
        [_linear(int(colour[place : place + 2], 16) / 255) for place in (1, 3, 5)]
        for colour in colours
    ]
    total = sum(shares)
    mixed = [
        sum(share * channel[place] for share, channel in zip(shares, channels, strict=True)) / total
        for place in range(3)
    ]
    return "#" + "".join(f"{round(255 * _shown(value)):02X}" for value in mixed)


def _linear(value: float) -> float:
    return value / 12.92 if value <= _LINEAR_FROM else ((value + 0.055) / 1.055) ** 2.4


def _shown(value: float) -> float:
    return 12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055


def share_words(shares: Sequence[float], labels: Sequence[str]) -> str:
    """``70 Kelp, 30 Chalk``: what has a share, in hundredths, rounded so that they sum to 100."""
    percents = _hundredths(shares)
    shown = [
        f"{percent:g} {label}"
        for percent, label, share in zip(percents, labels, shares, strict=True)
        if share > 0
    ]
    return shown[0].split(" ", 1)[1] + " alone" if len(shown) == 1 else ", ".join(shown)


def _hundredths(shares: Sequence[float]) -> list[float]:
    """Whole per cents if all of them are, else to one decimal; the remainder of the largest."""
    whole = all(abs(100 * share - round(100 * share)) < 1e-6 for share in shares)
    tenths = [100 * share for share in shares] if whole else [1000 * share for share in shares]
    floors = [math.floor(value + 1e-9) for value in tenths]
    short = round(sum(tenths)) - sum(floors)
    by_rest = sorted(range(len(shares)), key=lambda place: floors[place] - tenths[place])
    for place in by_rest[:short]:
        floors[place] += 1
    return [float(value) if whole else value / 10 for value in floors]
