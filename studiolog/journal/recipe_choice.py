"""Which materials a search for a recipe starts with, and what may stand for one that is gone."""

import math
from collections.abc import Mapping, Sequence

from studiolog.craft.glaze.oxides import LOI, MOLAR_MASSES_G
from studiolog.craft.glaze.substitution_on_top import main_oxide
from studiolog.journal.recipe_search import USUAL_SHELF, RecipeStart, Shelf, ShelfMaterial

# What counts as alike, as much alkali, as a colour: judgement.
_ALIKE = 0.8
_MOST_OFFERED = 24
_MOST_TICKED = 12
_ALKALI_PERCENT = 5.0
_COLOUR_PERCENT = 5.0
_WEIGHTS = {"SiO2": 0.3, "Al2O3": 0.6}
_COLOURS = ("CoO", "CuO", "Cr2O3", "NiO", "MnO", "V2O5", "CdO", "Sb2O3", "PbO")


def first_shelf(shelf: Shelf, start: RecipeStart | None) -> tuple[list[str], list[str]]:
    """Names to show and, of these, the ones to tick.

    A glaze starts from its own materials; a formula from what is on the shelf without colouring
    oxides, or from what most studios have.
    """
    mine = [one for one in shelf.materials if one.mine and one.analysis.is_given]
    plain = [one.name for one in mine if not _colours(one)]
    own = [name for name in start.base if shelf.find(name)] if start is not None else []
    ticked = own or plain[:_MOST_TICKED] or list(USUAL_SHELF)
    others = [name for name in (*plain, *USUAL_SHELF) if not _among(name, ticked)]
    names = [*ticked]
    for name in others:
        if not _among(name, names):
            names.append(name)
    return names[:_MOST_OFFERED], ticked


def shelf_without(shelf: Shelf, start: RecipeStart, gone: str) -> tuple[list[str], list[str]]:
    """As `first_shelf`, for a recipe one of whose materials is gone: what is most like it first.

    The rest of the recipe is ticked, and of the materials on the shelf those that are alike; where
    none is, the most alike that ships.
    """
    rest = [name for name in start.base if name != gone and shelf.find(name)]
    lost = start.analyses.get(gone, {})
    alike = sorted(
        (
            (_likeness(lost, one.analysis.percents), one)
            for one in shelf.materials
            if one.analysis.is_given and not _among(one.name, [*rest, gone])
        ),
        key=lambda pair: -pair[0],
    )
    near = [one for likeness, one in alike if one.mine and likeness >= _ALIKE]
    if not near:
        near = [one for likeness, one in alike[:3] if likeness >= _ALIKE]
    shown = [one.name for one in near]
    shown += [one.name for _, one in alike if one.mine and not _among(one.name, shown)]
    shown += [one.name for _, one in alike[:6] if not _among(one.name, shown)]
    return [*rest, *shown][:_MOST_OFFERED], [*rest, *(one.name for one in near)]


def shelf_on_top(shelf: Shelf, start: RecipeStart, gone: str) -> tuple[list[str], list[str]]:
    """What may stand for something added on top: all that brings its oxide, the most alike first.

    One is ticked: one on the shelf that is alike, else the most alike; none where nothing brings
    the oxide.
    """
    lost = start.analyses.get(gone, {})
    oxide = main_oxide(lost)
    if oxide is None:
        return [], []
    alike = sorted(
        (
            (_likeness(lost, one.analysis.percents), one)
            for one in shelf.materials
            if one.analysis.oxides.get(oxide, 0.0) > 0.0 and not _among(one.name, [gone])
        ),
        key=lambda pair: -pair[0],
    )
    near = [one for likeness, one in alike if one.mine and likeness >= _ALIKE]
    ticked = near[:1] or [one for _, one in alike[:1]]
    return [one.name for _, one in alike][:_MOST_OFFERED], [one.name for one in ticked]


def brings_alkali(analysis: Mapping[str, float]) -> bool:
    """Whether a material is there for its potash and soda, as a feldspar is."""
    return analysis.get("K2O", 0.0) + analysis.get("Na2O", 0.0) >= _ALKALI_PERCENT


def _likeness(one: Mapping[str, float], other: Mapping[str, float]) -> float:
    """1 for the same proportions of oxides, 0 for none in common; K₂O and Na₂O count as one."""
    first, second = _moles(one), _moles(other)
    lengths = math.hypot(*first.values()) * math.hypot(*second.values())
    if not lengths:
        return 0.0
    return sum(n * second.get(oxide, 0.0) for oxide, n in first.items()) / lengths


def _moles(analysis: Mapping[str, float]) -> dict[str, float]:
    found: dict[str, float] = {}
    for oxide, percent in analysis.items():
        if oxide == LOI or oxide not in MOLAR_MASSES_G:
            continue
        key = "K2O" if oxide == "Na2O" else oxide
        # What melts counts for more than the silica that nearly everything brings.
        weight = _WEIGHTS.get(oxide, 4.0)
        found[key] = found.get(key, 0.0) + weight * percent / MOLAR_MASSES_G[oxide]
    return found


def _colours(one: ShelfMaterial) -> bool:
    return any(one.analysis.oxides.get(oxide, 0.0) >= _COLOUR_PERCENT for oxide in _COLOURS)


def _among(name: str, names: Sequence[str]) -> bool:
    return any(name.casefold() == one.casefold() for one in names)
