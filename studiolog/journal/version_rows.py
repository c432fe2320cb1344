"""The rows of a comparison of glaze versions: recipe, formula, what it comes to, fired pieces."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from studiolog.craft.firing.cones import say_band
from studiolog.craft.glaze.fit_words import show_expansion
from studiolog.craft.glaze.formula_words import (
    PLACES,
    write_loss,
    write_moles,
    write_percent,
    write_ratio,
)
from studiolog.craft.glaze.materials import fold_name
from studiolog.craft.glaze.oxides import OXIDES, pretty
from studiolog.craft.glaze.unity import UnityFormula, place_of
from studiolog.craft.glaze.version_changes import Line, write_parts, write_step
from studiolog.craft.units import show_number
from studiolog.craft.words import FAULTS
from studiolog.journal.fault_rates import FaultRate, RateGroup
from studiolog.journal.glaze_formula import GlazeFormula
from studiolog.records.facts import NO_CLAY, NO_CONE

Group = tuple[int, int]
"""A clay and a half-cone band."""

Write = Callable[[float], str]


@dataclass(frozen=True)
class CompareCell:
    """``words`` of one version; ``change`` from the version it is compared with, empty if none."""

    words: str
    change: str = ""


@dataclass(frozen=True)
class CompareRow:
    """One line of a comparison, under its ``head``; a cell for each column."""

    head: str
    label: str
    cells: tuple[CompareCell, ...]


def recipe_rows(
    recipes: Sequence[Mapping[Line, float]], against: Sequence[int | None]
) -> Iterable[CompareRow]:
    """A row a material, in parts; ``against`` is the place of the version each is compared with."""
    lines: dict[Line, Line] = {}
    for recipe in recipes:
        for material, addition in recipe:
            lines.setdefault((fold_name(material), addition), (material, addition))
    by_line = [
        {(fold_name(material), addition): parts for (material, addition), parts in recipe.items()}
        for recipe in recipes
    ]
    # What stands on top comes last, whichever version has it.
    for key, (material, addition) in sorted(lines.items(), key=lambda one: one[0][1]):
        parts = [recipe.get(key) for recipe in by_line]
        label = f"{material}, on top" if addition else material
        yield CompareRow("Recipe", label, _cells(parts, against, write_parts))
    base = [
        sum(parts for (_name, addition), parts in recipe.items() if not addition)
        for recipe in recipes
    ]
    if any(
        recipe and abs(total - 100.0) > 0.005 for recipe, total in zip(recipes, base, strict=True)
    ):
        shown = [total or None for total in base]
        yield CompareRow(
            "Recipe", "In all, without what is on top", _cells(shown, against, write_parts)
        )


def formula_rows(
    formulas: Sequence[GlazeFormula], against: Sequence[int | None]
) -> Iterable[CompareRow]:
    """A row an oxide, in moles per mole of flux, then ratios, expansion and loss."""
    known = [found.formula for found in formulas]
    present = [one for one in known if one is not None]
    if not present:
        words = tuple(CompareCell("not known") for _one in formulas)
        yield CompareRow("Formula", "Unity formula", words)
        return
    for place, head in PLACES.items():
        for oxide in OXIDES:
            if place_of(oxide, present[0].rules) == place and any(
                oxide in one.oxides for one in present
            ):
                moles = [one.oxides.get(oxide, 0.0) if one else None for one in known]
                cells = _cells([value or None for value in moles], against, write_moles, 2, known)
                yield CompareRow(f"Formula: {head[0].lower()}{head[1:]}", pretty(oxide), cells)
    if any(not one.is_defined for one in present):
        for oxide in OXIDES:
            if any(oxide in one.mole_percent for one in present):
                percents = [one.mole_percent.get(oxide) if one else None for one in known]
                cells = _cells(percents, against, write_percent, 1, known)
                yield CompareRow("Mole per cent", pretty(oxide), cells)
    yield from _sum_rows(formulas, known, against)


def _sum_rows(
    formulas: Sequence[GlazeFormula],
    known: Sequence[UnityFormula | None],
    against: Sequence[int | None],
) -> Iterable[CompareRow]:
    head = "What it comes to"

    def row(label: str, key: str, write: Write, decimals: int) -> CompareRow:
        values = [getattr(one, key) if one is not None else None for one in known]
        return CompareRow(head, label, _cells(values, against, write, decimals, known))

    yield row("SiO₂ : Al₂O₃", "silica_alumina", write_ratio, 1)
    yield row("R₂O, of R₂O and RO", "alkali_share", write_moles, 2)
    yield row("Oxygen ratio", "oxygen_ratio", write_ratio, 1)
    expansions = [one.expansion_ppm_k for one in formulas]
    error = show_number(max(one.expansion_error_ppm_k for one in formulas), 1).removesuffix(".0")
    yield CompareRow(
        head,
        f"Expansion, calculated (Appen, ±{error})",
        _cells(expansions, against, show_expansion, 1, known),
    )
    yield row("Loss on ignition", "loi_percent", write_loss, 1)


def fired_rows(
    fired: Sequence[Mapping[Group, RateGroup]], clays: Mapping[int, str]
) -> Iterable[CompareRow]:
    """A row a fault, clay and cone: on how many of the pieces looked at it was seen."""
    groups = sorted({group for one in fired for group in one}, key=lambda one: (one[0], one[1]))
    head = "Fired, alone on the clay"
    for group in groups:
        rates = [one.get(group) for one in fired]
        for fault in FAULTS:
            counted = [one.rate_of(fault) if one else None for one in rates]
            # A fault that was never seen is worth a row only where it decides the fit.
            seen = any(rate is not None and rate.seen for rate in counted)
            looked = any(rate is not None and rate.inspected for rate in counted)
            if seen or (looked and fault in ("crazing", "shivering")):
                word = FAULTS[fault]
                label = f"{word[0].upper()}{word[1:]}: {say_group(group, clays)}"
                yield CompareRow(head, label, tuple(_rate_cell(rate) for rate in counted))


def _rate_cell(rate: FaultRate | None) -> CompareCell:
    if rate is None:
        return CompareCell("not tried")
    if not rate.inspected:
        return CompareCell("not looked")
    return CompareCell(f"{rate.seen} of {rate.inspected}")


def _cells(
    values: Sequence[float | None],
    against: Sequence[int | None],
    write: Write,
    decimals: int = 3,
    known: Sequence[object] | None = None,
) -> tuple[CompareCell, ...]:
    """The written values, with the change from the version each is compared with.

    ``known`` has None where a version has no formula: its cells say so, and nothing is compared
    with them.
    """
    cells = []
    for place, (value, other) in enumerate(zip(values, against, strict=True)):
        if known is not None and known[place] is None:
            cells.append(CompareCell("not known"))
            continue
        words = "–" if value is None else write(value)
        if other is None or (known is not None and known[other] is None):
            cells.append(CompareCell(words))
            continue
        before, change = values[other], ""
        if value is None and before is not None:
            change = f"was {write(before)}"
        elif value is not None and before is None:
            change = "new"
        elif value is not None and before is not None and write(before) != words:
            # A step too small to write out is none.
            change = write_step(value - before, decimals) if round(value - before, decimals) else ""
        cells.append(CompareCell(words, change))
    return tuple(cells)


def say_group(group: Group, clays: Mapping[int, str]) -> str:
    """On what clay and at what cone: "Buff, cone 6"; what was not noted is said."""
    clay_id, band = group
    clay = clays.get(clay_id, "clay not noted") if clay_id != NO_CLAY else "clay not noted"
    return f"{clay}, {'cone not known' if band == NO_CONE else say_band(band)}"
