"""A suggested change of a recipe in words: what changes, what it would do, and how sure that is."""

from studiolog.craft.glaze.fit import Fault
from studiolog.craft.glaze.fit_suggestions import FitSuggestions, Suggestion
from studiolog.craft.glaze.fit_words import (
    UNIT,
    show_chance,
    show_chance_interval,
)
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.limits import Limits
from studiolog.craft.units import THIN, show_number


def show_parts(parts: float) -> str:
    """Parts as a recipe has them: "14", "37.7"."""
    return show_number(parts, 0 if parts == round(parts) else 1)


def say_change(one: Suggestion) -> str:
    """What is changed: "More silica", "Talc for 0.21 of the flux that is Na₂O and K₂O"."""
    if one.way == "silica":
        amount = show_parts(100.0 * abs(one.amount) / sum(one.parts.values()))
        if one.amount > 0:
            return f"More silica: {amount} parts of {one.material} on a hundred"
        return f"Less silica: {amount} parts of {one.material} out of a hundred"
    gives = ("Na2O", "K2O") if one.change_ppm_k < 0 else ("CaO", "MgO", "ZnO", "SrO")
    there = [pretty(oxide) for oxide in gives if one.before.formula.oxides.get(oxide, 0.0) > 0.005]
    share = show_number(one.amount, 2)
    material = one.material[:1].upper() + one.material[1:]
    return f"{material} for {share} of the flux, in place of {' and '.join(there)}"


def say_effect(one: Suggestion, fault: Fault) -> str:
    """What it would do, with how sure that is."""
    before, after = one.before, one.after
    change = show_number(one.change_ppm_k, 2)
    sign = "+" if one.change_ppm_k > 0 else ""
    return (
        f"Chance of {fault} {show_chance(before.chance.mean)} → "
        f"{show_chance(after.chance.mean)} (90{THIN}% interval "
        f"{show_chance_interval(after.chance)}). Calculated expansion "
        f"{show_number(before.expansion_ppm_k, 1)} → "
        f"{show_number(after.expansion_ppm_k, 1)}{THIN}{UNIT}, a change of {sign}{change} "
        f"±{show_number(one.change_error_ppm_k, 2)}."
    )


def say_ratio_change(one: Suggestion) -> str:
    """ "SiO₂:Al₂O₃ 6.3 → 10.4"."""
    ratios = [
        "–"
        if state.formula.silica_alumina is None
        else show_number(state.formula.silica_alumina, 1)
        for state in (one.before, one.after)
    ]
    return f"SiO₂:Al₂O₃ {ratios[0]} → {ratios[1]}"


def say_other_fault(one: Suggestion, fault: Fault, *, looked_for: bool) -> str:
    """What the change does to the other fault of fit; "" where it does next to nothing."""
    if one.other is None:
        return ""
    before, after = one.other
    if after.mean < before.mean + 0.01:
        return ""
    other = "shivering" if fault == "crazing" else "crazing"
    told = (
        f"The chance of {other} would rise from {show_chance(before.mean)} to "
        f"{show_chance(after.mean)} (90{THIN}% interval {show_chance_interval(after)})"
    )
    if looked_for:
        return f"{told}."
    return f"{told}, by expectation alone: nobody has looked for {other} on this clay."


def say_found(found: FitSuggestions, fault: Fault, clay: str, limits: Limits) -> str:
    """What a search for changes came to, in a sentence."""
    safe = show_chance(limits["safe_chance"])
    if found.safe_already:
        return f"It is on the safe side of {clay} already: the chance of {fault} is under {safe}."
    if not found.found:
        return f"No change of this recipe was found that would bring it nearer to {clay}."
    reached = sum(one.reached for one in found.found)
    if not reached:
        best = min(found.found, key=lambda one: one.after.chance.mean)
        return (
            f"No change within bounds brings the chance of {fault} on {clay} under {safe}. The "
            f"nearest gets to {show_chance(best.after.chance.mean)}."
        )
    ways = "One change" if reached == 1 else f"{reached} changes"
    return f"{ways} of the recipe would bring the chance of {fault} on {clay} under {safe}."


def say_version_note(one: Suggestion, fault: Fault, clay: str) -> str:
    """The note a version is kept with."""
    return (
        f"To test against {fault} on {clay}. {say_change(one)}. {say_effect(one, fault)} "
        "Test it alone on this clay, with a stress test."
    )
