"""Conditions on the formula of a glaze, as a question says and reads them. Text and sums, no SQL.

"SiO₂:Al₂O₃ above 8", "expansion above 7.2", "CaO between 0.4 and 0.6", "LOI under 10". Oxides are
moles per mole of flux; R₂O is Li₂O, Na₂O and K₂O together; expansion is in 10⁻⁶/K by Appen's
factors; LOI in per cent of the raw recipe.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from studiolog.craft.glaze.oxides import LOI, OXIDES, R2O, pretty, without_subscripts

RATIO: Final = "silica_alumina"
EXPANSION: Final = "expansion"
ALKALIS: Final = "R2O"
OXYGEN_RATIO: Final = "oxygen_ratio"


def _measures() -> dict[str, tuple[str, ...]]:
    said: dict[str, tuple[str, ...]] = {
        RATIO: (
            "SiO₂:Al₂O₃",
            *("silica to alumina", "silica:alumina", "silica alumina ratio", "Si:Al", "ratio"),
        ),
        EXPANSION: ("expansion", "thermal expansion"),
        ALKALIS: ("R₂O", "alkalis", "alkali"),
        OXYGEN_RATIO: ("oxygen ratio",),
        LOI: ("LOI", "loss on ignition"),
    }
    common: Mapping[str, tuple[str, ...]] = {
        "SiO2": ("silica",),
        "Al2O3": ("alumina",),
        "B2O3": ("boron", "boric oxide"),
        "Li2O": ("lithia",),
        "Na2O": ("soda",),
        "K2O": ("potash",),
        "MgO": ("magnesia",),
        "CaO": ("lime",),
        "SrO": ("strontia",),
        "BaO": ("baria",),
        "ZnO": ("zinc oxide", "zinc"),
        "TiO2": ("titania",),
        "ZrO2": ("zirconia",),
    }
    for oxide in OXIDES:
        if oxide == "F":  # goes off in part, and is no oxide
            continue
        said[oxide] = (pretty(oxide), *common.get(oxide, ()))
    return said


MEASURES: Final[Mapping[str, tuple[str, ...]]] = _measures()
"""How each figure of a formula is said; the first is what sentences use. Also their order."""

_NUMBER = r"(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_UNIT = r"(?:\s*(?:%|per cent|ppm(?:/K)?))?"
_ABOVE = r"above|over|more than|greater than|higher than|at least|from|>=|>|≥"
_UNDER = r"below|under|less than|lower than|at most|up to|<=|<|≤"
_CONDITION = re.compile(
    rf"\s*(?:is\s+|of\s+|has\s+|ratio\s+)?(?:"
    rf"(?:between\s+|from\s+)?(?P<low>{_NUMBER}){_UNIT}\s*(?:and|to|–|-|…)\s*"
    rf"(?P<high>{_NUMBER}){_UNIT}"
    rf"|(?P<side>{_ABOVE}|{_UNDER})\s*(?P<one>{_NUMBER}){_UNIT})(?![\w.,]\d|\w)",
    re.IGNORECASE,
)
_UNDER_WORDS: Final = frozenset(_UNDER.split("|"))
_PLACES: Final = 4


@dataclass(frozen=True)
class ChemistryRange:
    """What one figure of a formula must lie between; the ends count as inside, None is open."""

    measure: str
    low: float | None = None
    high: float | None = None

    def holds(self, value: float) -> bool:
        """Whether a figure lies there."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


def in_order(ranges: tuple[ChemistryRange, ...]) -> tuple[ChemistryRange, ...]:
    """The conditions in the order sentences have them."""
    order = list(MEASURES)
    return tuple(sorted(ranges, key=lambda one: order.index(one.measure)))


def say_measure(measure: str) -> str:
    """A figure of a formula by its name: "SiO₂:Al₂O₃"."""
    return MEASURES[measure][0]


def say_range(asked: ChemistryRange) -> str:
    """A condition in words: "SiO₂:Al₂O₃ above 8", "CaO between 0.4 and 0.6"."""
    name, unit = say_measure(asked.measure), " %" if asked.measure == LOI else ""
    if asked.low is not None and asked.high is not None:
        return f"{name} between {_say(asked.low)} and {_say(asked.high)}{unit}"
    if asked.low is not None:
        return f"{name} above {_say(asked.low)}{unit}"
    if asked.high is not None:
        return f"{name} under {_say(asked.high)}{unit}"
    return f"{name} above 0{unit}"


def _say(value: float) -> str:
    return f"{value:.{_PLACES}f}".rstrip("0").rstrip(".")


@lru_cache(maxsize=1)
def _by_name() -> dict[str, str]:
    """The figure each name stands for, without subscripts and in lower case."""
    return {
        without_subscripts(words).casefold(): measure
        for measure, said in MEASURES.items()
        for words in said
    }


@lru_cache(maxsize=1)
def _names() -> re.Pattern[str]:
    longest = sorted(_by_name(), key=len, reverse=True)
    ratio = r"sio2\s*[:/]\s*al2o3|si\s*[:/]\s*al"
    return re.compile(
        rf"(?P<ratio>{ratio})|(?P<name>{'|'.join(map(re.escape, longest))})", re.IGNORECASE
    )


def measure_at(text: str, start: int) -> tuple[str, int] | None:
    """The figure of a formula named at ``start``, and where its name ends."""
    plain = without_subscripts(text)
    match = _names().match(plain, start)
    if match is None or plain[match.end() : match.end() + 1].isalnum():
        return None
    measure = RATIO if match["ratio"] else _by_name().get(match["name"].casefold())
    return None if measure is None else (measure, match.end())


def condition_at(text: str, start: int) -> tuple[ChemistryRange, int] | None:
    """The condition that stands at ``start``, with or without subscripts, and where it ends."""
    named = measure_at(text, start)
    if named is None:
        return None
    measure, at = named
    match = _CONDITION.match(without_subscripts(text), at)
    if match is None:
        return None
    if match["one"] is None:
        ends = sorted((_read(match["low"]), _read(match["high"])))
        return ChemistryRange(measure, *ends), match.end()
    value = _read(match["one"])
    if match["side"].casefold() in _UNDER_WORDS:
        return ChemistryRange(measure, None, value), match.end()
    return ChemistryRange(measure, value), match.end()


def _read(number: str) -> float:
    return round(float(number.replace(",", ".")), _PLACES)


OFFERED: Final = (
    ChemistryRange(RATIO, 8.0),
    ChemistryRange(RATIO, 5.0, 8.0),
    ChemistryRange(RATIO, None, 5.0),
    ChemistryRange("SiO2", 3.5),
    ChemistryRange("Al2O3", 0.4),
    ChemistryRange("B2O3", 0.3),
    ChemistryRange(ALKALIS, 0.4),
    ChemistryRange("CaO", 0.6),
    ChemistryRange("MgO", 0.2),
    ChemistryRange("ZnO", 0.1),
    ChemistryRange(EXPANSION, 7.2),
    ChemistryRange(EXPANSION, None, 6.5),
    ChemistryRange(LOI, 10.0),
)
"""Conditions to begin from: each can be typed over with other figures."""


def offers_for(measure: str) -> tuple[str, ...]:
    """Whole conditions for a figure that was only named, to be taken and typed over."""
    found = [say_range(one) for one in OFFERED if one.measure == measure]
    return tuple(found or (say_range(ChemistryRange(measure, 0.1)),))[:3]


def chemistry_keywords() -> frozenset[str]:
    """The words by which a condition could begin, with and without subscripts, in lower case."""
    found: set[str] = set()
    for words in MEASURES.values():
        for said in words:
            for spelt in (said, without_subscripts(said)):
                found.update(re.findall(r"[^\W_]+", spelt.casefold()))
    return frozenset(found)


def alkali_moles(oxides: Mapping[str, float]) -> float:
    """R₂O of a unity formula: Li₂O, Na₂O and K₂O together, moles per mole of flux."""
    return sum(oxides.get(oxide, 0.0) for oxide in R2O)
