"""The oxides an analysis is given in: molar masses, order, roles, and how they are written.

Molar masses are sums of the IUPAC standard atomic weights (abridged values, table of 2021);
``tests/outside/test_unity.py`` holds them against an independent package.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

from studiolog.problems import UserProblem

Role = Literal["R2O", "RO", "R2O3", "RO2", "B2O3", "P2O5", "colourant", "F"]

_ATOMIC_WEIGHTS: Final = {
    "Al": 26.982,
    "B": 10.81,
    "Ba": 137.33,
    "Ca": 40.078,
    "Cd": 112.41,
    "Ce": 140.12,
    "Co": 58.933,
    "Cr": 51.996,
    "Cu": 63.546,
    "F": 18.998,
    "Fe": 55.845,
    "Hf": 178.49,
    "K": 39.098,
    "Li": 6.94,
    "Mg": 24.305,
    "Mn": 54.938,
    "Na": 22.990,
    "Ni": 58.693,
    "O": 15.999,
    "P": 30.974,
    "Pb": 207.2,
    "Rb": 85.468,
    "Sb": 121.76,
    "Si": 28.085,
    "Sn": 118.71,
    "Sr": 87.62,
    "Ti": 47.867,
    "V": 50.942,
    "Zn": 65.38,
    "Zr": 91.224,
}

_ROLES: Final[Mapping[str, Role]] = {
    "Li2O": "R2O",
    "Na2O": "R2O",
    "K2O": "R2O",
    "Rb2O": "R2O",
    "MgO": "RO",
    "CaO": "RO",
    "SrO": "RO",
    "BaO": "RO",
    "ZnO": "RO",
    "PbO": "RO",
    "Al2O3": "R2O3",
    "Fe2O3": "R2O3",
    "Cr2O3": "R2O3",
    "B2O3": "B2O3",
    "SiO2": "RO2",
    "TiO2": "RO2",
    "ZrO2": "RO2",
    "HfO2": "RO2",
    "SnO2": "RO2",
    "CeO2": "RO2",
    "P2O5": "P2O5",
    "FeO": "colourant",
    "MnO": "colourant",
    "CoO": "colourant",
    "NiO": "colourant",
    "CuO": "colourant",
    "CdO": "colourant",
    "Sb2O3": "colourant",
    "V2O5": "colourant",
    "F": "F",
}

OXIDES: Final = tuple(_ROLES)
"""In the order they are shown: fluxes, R₂O₃, B₂O₃, RO₂, P₂O₅, colourants, fluorine."""

R2O: Final = tuple(oxide for oxide, role in _ROLES.items() if role == "R2O")
RO: Final = tuple(oxide for oxide, role in _ROLES.items() if role == "RO")
FLUXES: Final = R2O + RO
COLOURANTS_AS_FLUX: Final = ("FeO", "MnO", "CoO", "NiO", "CuO")
"""The colouring oxides that some books count among the fluxes."""

LOI: Final = "LOI"
"""The key of loss on ignition in an analysis."""

# What laboratories also write, and what to write here.
_OTHERWISE: Final = {
    "MnO2": "give it as MnO (MnO₂ × 0.816)",
    "Mn2O3": "give it as MnO (Mn₂O₃ × 0.899)",
    "Mn3O4": "give it as MnO (Mn₃O₄ × 0.930)",
    "Fe3O4": "give it as Fe₂O₃ (Fe₃O₄ × 1.035)",
    "Co3O4": "give it as CoO (Co₃O₄ × 0.934)",
    "Co2O3": "give it as CoO (Co₂O₃ × 0.904)",
    "Cu2O": "give it as CuO (Cu₂O × 1.112)",
    "Pb3O4": "give it as PbO (Pb₃O₄ × 0.977)",
    "SO3": "it goes off in the kiln: count it as LOI",
    "CO2": "it goes off in the kiln: count it as LOI",
    "H2O": "it goes off in the kiln: count it as LOI",
    "C": "it goes off in the kiln: count it as LOI",
    "Cl": "it goes off in the kiln: count it as LOI",
}


def _atoms(formula: str) -> dict[str, int]:
    return {
        element: int(count or 1) for element, count in re.findall(r"([A-Z][a-z]?)(\d*)", formula)
    }


MOLAR_MASSES_G: Final[Mapping[str, float]] = MappingProxyType(
    {
        oxide: sum(_ATOMIC_WEIGHTS[element] * count for element, count in _atoms(oxide).items())
        for oxide in _ROLES
    }
)
"""Grams per mole of each oxide; of fluorine: per mole of F."""
_OXYGENS: Final = {oxide: _atoms(oxide).get("O", 0) for oxide in _ROLES}
_LOWER: Final = {oxide.casefold(): oxide for oxide in (*_ROLES, LOI)}
_LOWER_OTHERWISE: Final = {name.casefold(): name for name in _OTHERWISE}
_PLAIN: Final = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_LOWERED: Final = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")

OXYGEN_PER_FLUORINE: Final = _ATOMIC_WEIGHTS["O"] / (2.0 * _ATOMIC_WEIGHTS["F"])
"""Grams of oxygen that an analysis in oxides counts too much for a gram of fluorine."""


def role_of(oxide: str) -> Role:
    """What an oxide is counted as unless a rule says otherwise. Raises UserProblem if unknown."""
    return _ROLES[read_oxide(oxide)]


def oxygens(oxide: str) -> int:
    """Oxygen atoms in one formula unit of an oxide. Raises UserProblem if unknown."""
    return _OXYGENS[read_oxide(oxide)]


def pretty(oxide: str) -> str:
    """An oxide as it is printed: "Al2O3" becomes "Al₂O₃"; "LOI" stays."""
    return oxide.translate(_LOWERED)


def without_subscripts(text: str) -> str:
    """A text with its digits on the line: "SiO₂" becomes "SiO2"."""
    return text.translate(_PLAIN)


def read_oxide(text: str) -> str:
    """The oxide a person means by "sio2" or "SiO₂", as it is stored; "LOI" for the loss.

    Raises UserProblem for what is no oxide of the table, with what to write in its place.
    """
    if text in _ROLES:
        return text
    plain = without_subscripts(text.strip()).casefold()
    if plain in ("l.o.i.", "loss on ignition"):
        plain = "loi"
    known = _LOWER.get(plain)
    if known is not None:
        return known
    other = _LOWER_OTHERWISE.get(plain)
    if other is not None:
        raise UserProblem(f"{pretty(other)} is not among the oxides: {_OTHERWISE[other]}.")
    raise UserProblem(
        f"“{text.strip()}” is not among the oxides; they are written like SiO2, Al2O3 or K2O."
    )


def in_order(oxides: Mapping[str, float]) -> dict[str, float]:
    """The same values in the order they are shown."""
    return {oxide: oxides[oxide] for oxide in OXIDES if oxide in oxides}
