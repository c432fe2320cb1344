"""What changed from one version of a glaze to the next, in a sentence.

"+6 Silica, −4 Potash feldspar: SiO₂ 3.10 → 3.58, expansion 7.4 → 6.9 ppm/K." It tells what was
changed and what came with it; it does not say that one made the other.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from studiolog.craft.glaze.fit_words import UNIT
from studiolog.craft.glaze.formula_words import write_loss, write_moles, write_ratio
from studiolog.craft.glaze.materials import fold_name
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.glaze.unity import UnityFormula
from studiolog.craft.units import MINUS, THIN, show_number

Line = tuple[str, bool]
"""A material, and whether it stands on top of the hundred."""

ARROW: Final = "→"
_MOST_LINES = 5
_MOST_OXIDES = 3
_MOLES = 0.015  # what shows in two places, per mole of flux
_RATIO, _EXPANSION, _LOSS = 0.1, 0.05, 0.5


@dataclass(frozen=True)
class VersionState:
    """One version: its recipe in its order, its formula and expansion where they are known."""

    recipe: Mapping[Line, float]
    formula: UnityFormula | None
    expansion_ppm_k: float | None


def write_parts(parts: float) -> str:
    """Parts as they are typed: "36", "2.5"."""
    return show_number(parts, 3).rstrip("0").rstrip(".")


def write_step(step: float, decimals: int = 3) -> str:
    """A change with its sign: "+6", "−0.12"."""
    text = show_number(abs(step), decimals)
    if decimals == 3:
        text = text.rstrip("0").rstrip(".")
    return f"{MINUS if step < 0 else '+'}{text}"


def say_change(before: VersionState, after: VersionState) -> str:
    """What was changed in the recipe, and how the formula, the expansion and the loss moved."""
    lines = recipe_changes(before.recipe, after.recipe)
    moved = formula_changes(before, after)
    if not lines:
        if not moved:
            return "The same recipe."
        return f"The same recipe with other analyses: {', '.join(moved)}."
    told = _first(lines, _MOST_LINES)
    if before.formula is None or after.formula is None:
        return f"{told}. What that does to the formula is not known: a material has no analysis."
    return f"{told}: {', '.join(moved) or 'the formula stays as good as it was'}."


def recipe_changes(before: Mapping[Line, float], after: Mapping[Line, float]) -> list[str]:
    """Each changed line, the largest change first.

    "+6 Silica", "Talc left out (was 4)", "2 Rutile on top (new)".
    """
    found: list[tuple[float, str]] = []
    old = {_folded(line): parts for line, parts in before.items()}
    new = {_folded(line): parts for line, parts in after.items()}
    for line, parts in after.items():
        had = old.get(_folded(line))
        words = _say_line(line)
        if had is None:
            found.append((parts, f"{write_parts(parts)} {words} (new)"))
        elif abs(parts - had) >= 0.0005:
            found.append((abs(parts - had), f"{write_step(parts - had)} {words}"))
    for line, parts in before.items():
        if _folded(line) not in new:
            found.append((parts, f"{_say_line(line)} left out (was {write_parts(parts)})"))
    return [words for _size, words in sorted(found, key=lambda one: -one[0])]


def formula_changes(before: VersionState, after: VersionState) -> list[str]:
    """What moved enough to be worth a word: "SiO₂ 3.10 → 3.58", "expansion 7.4 → 6.9 ppm/K"."""
    old, new = before.formula, after.formula
    if old is None or new is None:
        return []
    told = []
    if old.is_defined and new.is_defined:
        steps = {
            oxide: new.oxides.get(oxide, 0.0) - old.oxides.get(oxide, 0.0)
            for oxide in {**old.oxides, **new.oxides}
        }
        most = sorted(steps, key=lambda oxide: -abs(steps[oxide]))[:_MOST_OXIDES]
        for oxide in (one for one in most if abs(steps[one]) >= _MOLES):
            had, has = old.oxides.get(oxide, 0.0), new.oxides.get(oxide, 0.0)
            told.append(f"{pretty(oxide)} {_moles(had)} {ARROW} {_moles(has)}")
    if old.silica_alumina is not None and new.silica_alumina is not None:
        ratios = (old.silica_alumina, new.silica_alumina)
        if abs(ratios[1] - ratios[0]) >= _RATIO:
            told.append(f"SiO₂ : Al₂O₃ {write_ratio(ratios[0])} {ARROW} {write_ratio(ratios[1])}")
    if before.expansion_ppm_k is not None and after.expansion_ppm_k is not None:
        expansions = (before.expansion_ppm_k, after.expansion_ppm_k)
        if abs(expansions[1] - expansions[0]) >= _EXPANSION:
            first, last = (show_number(value, 1) for value in expansions)
            if first == last:
                first, last = (show_number(value, 2) for value in expansions)
            told.append(f"expansion {first} {ARROW} {last}{THIN}{UNIT}")
    if abs(new.loi_percent - old.loi_percent) >= _LOSS:
        loss = write_loss(old.loi_percent).removesuffix(f"{THIN}%")
        told.append(f"loss on ignition {loss} {ARROW} {write_loss(new.loi_percent)}")
    return told


def _moles(moles: float) -> str:
    return write_moles(moles) if moles else "none"


def _first(words: Sequence[str], most: int) -> str:
    told = ", ".join(words[:most])
    return told if len(words) <= most else f"{told} and {len(words) - most} more"


def _say_line(line: Line) -> str:
    material, addition = line
    return f"{material} on top" if addition else material


def _folded(line: Line) -> Line:
    return fold_name(line[0]), line[1]
