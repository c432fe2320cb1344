"""What the marks under the tiles speak of: a fault, the surface, or a number of the formula."""

from collections.abc import Callable
from dataclasses import dataclass

from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.units import show_number
from studiolog.craft.words import FAULTS, STAGES, SURFACES
from studiolog.journal.plan_page import PlanPage, PlanTileLine
from studiolog.ui.parts.choice import Choice
from studiolog.ui.parts.severity import SEVERITY_WORDS
from studiolog.ui.plans.tile_picture import TileMark

WORST = "worst"
SURFACE = "surface"
_RATIO = "ratio"
_EXPANSION = "expansion"
_OXIDES = ("SiO2", "Al2O3", "B2O3", "K2O", "Na2O", "CaO", "MgO", "ZnO")
_FIRED = ("fired", "finished")


@dataclass(frozen=True)
class Speaking:
    """One thing the marks can speak of."""

    key: str
    words: str
    mark: Callable[[PlanTileLine], TileMark]


def speakers(page: PlanPage) -> tuple[Speaking, ...]:
    """What the marks of a plan can speak of: only what some tile has anything of, and the faults
    that were looked for."""
    looked = {fault for tile in page.tiles for fault in tile.looked}
    found = [Speaking(WORST, "Worst fault", _mark_worst)]
    found += [
        Speaking(fault, FAULTS[fault].capitalize(), _marker_of_fault(fault))
        for fault in FAULTS
        if fault in looked
    ]
    found.append(Speaking(SURFACE, "Surface words", _mark_surface))
    known = [tile.formula for tile in page.tiles if tile.formula is not None]
    if any(formula.silica_alumina is not None for formula in known):
        words = f"{pretty('SiO2')} : {pretty('Al2O3')}"
        found.append(Speaking(_RATIO, words, _marker_of_number(words, _ratio_of, 1)))
    if any(formula.expansion_ppm_k is not None for formula in known):
        found.append(
            Speaking(_EXPANSION, "Expansion", _marker_of_number("ppm/K", _expansion_of, 2))
        )
    for oxide in _OXIDES:
        if any(formula.oxides and formula.oxides.get(oxide) for formula in known):
            words = pretty(oxide)
            found.append(Speaking(oxide, words, _marker_of_number(words, _oxide_of(oxide), 2)))
    return tuple(found)


def speaker_choices(found: tuple[Speaking, ...]) -> list[Choice]:
    """The same, to be chosen from."""
    return [Choice(one.key, one.words) for one in found]


def stage_words(tile: PlanTileLine) -> str:
    """How far a tile has come."""
    if tile.piece_id is None:
        return "planned"
    return STAGES.get(tile.stage, tile.stage)


def worst_of(tile: PlanTileLine) -> int | None:
    """The worst severity of any fault looked for; None if nobody looked."""
    if not tile.looked:
        return None
    return max((severity for _fault, severity in tile.seen), default=0)


def _unfired(tile: PlanTileLine) -> TileMark | None:
    if tile.piece_id is None or tile.stage not in _FIRED:
        return TileMark(stage_words(tile))
    return None


def _mark_worst(tile: PlanTileLine) -> TileMark:
    early = _unfired(tile)
    if early is not None:
        return early
    worst = worst_of(tile)
    if not worst:
        return TileMark(SEVERITY_WORDS[worst], worst, True)
    faults = [FAULTS[fault] for fault, severity in tile.seen if severity == worst]
    return TileMark(", ".join(faults), worst, True)


def _marker_of_fault(fault: str) -> Callable[[PlanTileLine], TileMark]:
    def mark(tile: PlanTileLine) -> TileMark:
        early = _unfired(tile)
        if early is not None:
            return early
        severity = dict(tile.seen).get(fault, 0) if fault in tile.looked else None
        return TileMark(SEVERITY_WORDS[severity], severity, True)

    return mark


def _mark_surface(tile: PlanTileLine) -> TileMark:
    early = _unfired(tile)
    if early is not None:
        return early
    return TileMark(", ".join(SURFACES[word] for word in tile.surface) or "no words yet")


def _marker_of_number(
    words: str, number_of: Callable[[PlanTileLine], float | None], decimals: int
) -> Callable[[PlanTileLine], TileMark]:
    def mark(tile: PlanTileLine) -> TileMark:
        number = number_of(tile)
        return TileMark(
            f"{words} not known" if number is None else f"{words} {show_number(number, decimals)}"
        )

    return mark


def _ratio_of(tile: PlanTileLine) -> float | None:
    return tile.formula.silica_alumina if tile.formula else None


def _expansion_of(tile: PlanTileLine) -> float | None:
    return tile.formula.expansion_ppm_k if tile.formula else None


def _oxide_of(oxide: str) -> Callable[[PlanTileLine], float | None]:
    def read(tile: PlanTileLine) -> float | None:
        if tile.formula is None or not tile.formula.oxides:
            return None
        return tile.formula.oxides.get(oxide, 0.0)

    return read
