"""A formula as it is written and read out."""

from typing import Final

from studiolog.craft.glaze.oxides import FLUXES, pretty
from studiolog.craft.glaze.unity import Place, UnityFormula
from studiolog.craft.units import show_number, show_quantity

PLACES: Final[dict[Place, str]] = {
    "flux": "Fluxes",
    "amphoteric": "Amphoteric",
    "former": "Glass formers",
    "boron": "Boron",
    "phosphorus": "Phosphorus",
    "outside": "Outside the sum",
}
"""The parts of a formula, in the order they are read."""


SEEN_MOL: Final = 0.005
"""Moles per mole of flux; a smaller shift is beyond what any analysis tells (judgement)."""


def write_moles(moles: float) -> str:
    """Moles per mole of flux: "3.71", "0.035" where two places would say too little."""
    if 0.0 < moles < 0.0005:
        return "<0.001"
    return show_number(moles, 3 if 0.0 < moles < 0.0995 else 2)


def write_percent(percent: float) -> str:
    """A percentage in a table: "12.48"; under a hundredth "<0.01"."""
    return "<0.01" if 0.0 < percent < 0.005 else show_number(percent, 2)


def say_moles(formula: UnityFormula) -> str:
    """The formula as a line: "K₂O 0.26, CaO 0.74; Al₂O₃ 0.41; SiO₂ 3.71"."""
    groups = []
    for place in PLACES:
        oxides = formula.in_place(place)
        if oxides:
            groups.append(", ".join(f"{pretty(o)} {write_moles(n)}" for o, n in oxides.items()))
    return "; ".join(groups)


def write_ratio(ratio: float | None) -> str:
    """A ratio to one place: "9.1"; a dash where there is none."""
    return "–" if ratio is None else show_number(ratio, 1)


def write_alkali(formula: UnityFormula) -> str:
    """R₂O to RO as shares of one: "0.26 : 0.74"."""
    share = formula.alkali_share
    if share is None:
        return "–"
    first = round(share, 2)
    words = f"{show_number(first, 2)} : {show_number(1.0 - first, 2)}"
    colouring = sum(n for oxide, n in formula.flux_shares.items() if oxide not in FLUXES)
    return (
        f"{words}, and colouring oxides {write_moles(colouring)} of the sum" if colouring else words
    )


def write_loss(loi_percent: float) -> str:
    """Loss on ignition; a gain in weight has a minus: "10.2 %"."""
    return show_quantity(loi_percent, "%", 1)
