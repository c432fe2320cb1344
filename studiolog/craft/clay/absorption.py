"""Water absorption of an unglazed fired specimen, by boiling (ASTM C373).

Weighed dry (D), boiled and soaked and weighed saturated (M), and hung in water (S): the volume is
M - S, its open pores M - D, in ml where masses are in g.
"""

import math
from dataclasses import dataclass
from typing import Final

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number, show_quantity
from studiolog.problems import UserProblem

HOW: Final = (
    "Dry an unglazed fired piece to a constant weight and weigh it. Boil it under water for five "
    "hours and let it soak a day, blot it with a damp cloth, weigh it again; hung in water by a "
    "thread it also gives porosity and density. Hours from memory; ASTM C373 has the details."
)
NO_PROOF: Final = (
    "A low absorption does not prove that ware holds water or is safe for food: the glaze and the "
    "foot decide that too."
)


@dataclass(frozen=True, slots=True)
class Absorption:
    """What a boiled specimen tells. The last four need its weight in water.

    Percentages as a potter says them: 3.0 is 3 %. ``bulk_density`` in g/ml.
    """

    absorption_percent: float
    porosity_percent: float | None
    bulk_density: float | None
    apparent_specific_gravity: float | None
    volume_ml: float | None


def boiled(dry_g: float, saturated_g: float, suspended_g: float | None = None) -> Absorption:
    """Absorption, apparent porosity, bulk density and apparent specific gravity, ASTM C373.

    Raises UserProblem for weights that can't be.
    """
    for field, grams in (("dry_g", dry_g), ("saturated_g", saturated_g)):
        if not math.isfinite(grams) or grams <= 0.0:
            raise UserProblem(
                "A weight is more than 0 g: write dry and saturated both.",
                {field: "more than 0 g"},
            )
    if saturated_g < dry_g:
        told = (
            f"Saturated {_g(saturated_g)} is less than dry {_g(dry_g)}: a specimen takes up water. "
            "Did the two change places?"
        )
        raise UserProblem(told, {"saturated_g": told})
    taken_up = saturated_g - dry_g
    absorption = 100.0 * taken_up / dry_g
    if suspended_g is None:
        return Absorption(absorption, None, None, None, None)
    if not math.isfinite(suspended_g) or suspended_g < 0.0:
        raise UserProblem(
            "The weight in water is 0 g or more; leave it out if it was not weighed.",
            {"suspended_g": "0 g or more"},
        )
    if suspended_g >= dry_g:
        told = (
            f"In water {_g(suspended_g)} is not less than dry {_g(dry_g)}: hung in water a "
            "specimen weighs less. Weigh it hanging free of the vessel."
        )
        raise UserProblem(told, {"suspended_g": told})
    volume = saturated_g - suspended_g
    return Absorption(
        absorption,
        100.0 * taken_up / volume,
        dry_g / volume,
        dry_g / (dry_g - suspended_g),
        volume,
    )


def say_guide(absorption_percent: float, limits: Limits = SHIPPED) -> str:
    """Where an absorption lies among kinds of ware; the guides are from memory."""
    porcelain, stoneware = limits["absorption_porcelain"], limits["absorption_stoneware"]
    low, high = limits["absorption_earthenware_low"], limits["absorption_earthenware_high"]
    if absorption_percent < porcelain:
        told = f"under {_percent(porcelain)}, as porcelain is"
    elif absorption_percent < stoneware:
        told = f"under {_percent(stoneware)}, as stoneware for use is"
    elif absorption_percent < low:
        told = f"{_percent(stoneware)} or more: more than stoneware for use should take up"
    elif absorption_percent <= high:
        told = f"between {_percent(low)} and {_percent(high)}, as earthenware is"
    else:
        told = f"above {_percent(high)}: more than earthenware usually takes up"
    return f"{told} (guide from memory)"


def _g(grams: float) -> str:
    return show_quantity(grams, "g", 0 if grams == round(grams) else 1)


def _percent(value: float) -> str:
    return f"{show_number(value, 0 if value == round(value) else 1)}\N{NARROW NO-BREAK SPACE}%"
