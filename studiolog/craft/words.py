"""The trade's words as the program stores them, each with the word shown on screens.

Keys are stored in journals for decades: add to these tables, never rename or reorder. The order
of `FAULTS` and of `SURFACES` is the order of the bits in the facts of a piece.
"""

from collections.abc import Mapping, Sequence
from typing import Final

STAGES: Final[Mapping[str, str]] = {
    "wet": "wet",
    "leather_hard": "leather-hard",
    "bone_dry": "bone dry",
    "bisque": "bisque",
    "glazed": "glazed",
    "fired": "fired",
    "finished": "finished",
    "lost": "lost",
}
"""The state of the clay, in the order a piece passes through it."""

FAULTS: Final[Mapping[str, str]] = {
    "crazing": "crazing",
    "crawling": "crawling",
    "pinhole": "pinholing",
    "running": "running",
    "blister": "blistering",
    "shivering": "shivering",
    "dunting": "dunting",
    "bloating": "bloating",
    "warping": "warping",
    "crack": "cracking",
    "dry": "dry or underfired",
    "speck": "specking",
    "colour_off": "colour off",
}
"""Fault words; ASTM C242 and F109 terms where they have one."""

SEVERITIES: Final = ("none seen", "slight", "marked", "severe")
"""Index = the severity stored: 0 looked for and none seen … 3 severe."""

SURFACE_GROUPS: Final[Mapping[str, Mapping[str, str]]] = {
    "shine": {"glossy": "glossy", "satin": "satin", "matt": "matt", "dry_surface": "dry to touch"},
    "depth": {"clear": "clear", "translucent": "translucent", "opaque": "opaque"},
    "figure": {
        "even": "even",
        "breaking": "breaking on edges",
        "mottled": "mottled",
        "streaked": "streaked",
        "crystals": "crystals",
        "halo": "halo where glazes meet",
    },
    "touch": {"smooth": "smooth", "wavy": "wavy", "rough": "rough"},
    "melt": {"unmelted": "not melted", "stiff": "stiff, edges kept", "fluid": "fluid, pooled"},
}
"""Words for a fired surface, by what they speak of; common practice."""

SURFACES: Final[Mapping[str, str]] = {
    key: word for group in SURFACE_GROUPS.values() for key, word in group.items()
}

ONE_OF: Final = frozenset({"shine", "depth", "melt"})
"""Groups of which a surface has one word: it is glossy or matt. Of the others it may have several,
mottled and with crystals."""

ANALYSIS_BASES: Final[Mapping[str, str]] = {
    "theoretical": "theoretical, computed from the mineral's formula",
    "typical": "typical, from memory",
    "analysis": "analysis of a lot",
}
"""Where an analysis comes from; the first two ship with the program and differ from any bag."""

STOCK_CHANGES: Final[Mapping[str, str]] = {
    "bought": "bought",
    "counted": "counted",
    "mixed": "mixed",
    "tests": "weighed for tests",
    "lost": "spilt or given away",
}

BUCKET_CHANGES: Final[Mapping[str, str]] = {
    "measured": "measured",
    "sieved": "sieved",
    "water": "water added",
    "dry": "dry glaze added",
    "flocculated": "flocculant added",
    "deflocculated": "deflocculant added",
    "other": "other",
}

PLAN_KINDS: Final[Mapping[str, str]] = {
    "line": "line blend",
    "triaxial": "triaxial blend",
    "grid": "four-corner grid",
    "pyramid": "pyramid blend",
    "silica_alumina": "silica by alumina grid",
    "additions": "additions in steps",
    "over_under": "over and under",
    "thickness": "thickness in steps",
}

METHODS: Final[Mapping[str, str]] = {
    "brush": "brush",
    "dip": "dip",
    "pour": "pour",
    "spray": "spray",
    "trail": "trail",
}

ZONES: Final = ("outside", "inside", "rim", "foot", "outside, upper", "outside, lower")
"""Zones offered first; a potter may name others (panel, handle)."""

MOMENTS: Final[Mapping[str, str]] = {
    "making": "making",
    "bone_dry": "bone dry",
    "bisque": "bisque",
    "glazed": "raw glaze",
    "fired": "fired",
    "later": "later",
}
"""The moment a photo shows."""

GLAZE_KINDS: Final[Mapping[str, str]] = {
    "glaze": "glaze",
    "slip": "slip",
    "underglaze": "underglaze",
    "wash": "wash",
}

FIRING_KINDS: Final[Mapping[str, str]] = {
    "bisque": "bisque",
    "glaze": "glaze",
    "decoration": "decoration",
    "test": "test",
}

ATMOSPHERES: Final[Mapping[str, str]] = {
    "oxidation": "oxidation",
    "neutral": "neutral",
    "reduction": "reduction",
}

KILN_TASKS: Final[Mapping[str, str]] = {
    "elements": "new elements",
    "thermocouple": "new thermocouple",
    "relay": "new relay or contactor",
    "shelf_wash": "shelf wash",
    "vent": "vent cleaned",
    "bricks": "bricks or lid mended",
    "other": "other",
}
"""Upkeep of a kiln. The first two start a new calibration."""

TARIFF_DAYS: Final[Mapping[str, str]] = {
    "every": "every day",
    "workdays": "Monday to Friday",
    "weekends": "Saturday and Sunday",
}

PURPOSES: Final[Mapping[str, str]] = {
    "order": "order",
    "stock": "stock",
    "house": "for the house",
    "test": "test",
}

FORM_SHAPES: Final[Mapping[str, str]] = {
    "thrown": "round, thrown or turned",
    "box": "built of slabs",
    "tile": "flat tile",
}

ORDER_KINDS: Final[Mapping[str, str]] = {
    "pre_order": "pre-order",
    "wholesale": "wholesale",
    "restock": "restock",
    "house": "for the house",
}

PIECE_KINDS: Final[Mapping[str, str]] = {"ware": "ware", "tool": "tool"}
"""A tool is a stamp, a roller or a template that the studio made for itself."""

FORM_STANDINGS: Final[Mapping[str, str]] = {
    "trial": "on trial",
    "go": "made in number",
    "no_go": "not to be made in number",
}

WAY_STANDINGS: Final[Mapping[str, str]] = {"trying": "trying", "keep": "keep", "drop": "drop"}

IDEA_KINDS: Final[Mapping[str, str]] = {"idea": "idea", "question": "open question"}

IDEA_STATES: Final[Mapping[str, str]] = {
    "open": "open",
    "form": "became a form",
    "answered": "answered",
    "dropped": "dropped",
}

COVERS: Final[Mapping[str, str]] = {
    "open": "open",
    "cloth": "under a cloth",
    "loose": "loosely in plastic",
    "sealed": "sealed in plastic",
    "damp_box": "in a damp box",
}
"""How ware stands while it dries, from quick to slow."""

DRYING_WEATHERS: Final[Mapping[str, str]] = {
    "dry": "warm, dry or windy",
    "usual": "usual",
    "damp": "cold or damp",
}

SHELF_SHAPES: Final[Mapping[str, str]] = {
    "round": "round",
    "hexagon": "hexagonal",
    "octagon": "eight-sided",
    "rectangle": "rectangular",
}

SHELF_PARTS: Final[Mapping[str, str]] = {
    "full": "whole shelf",
    "left": "left half shelf",
    "right": "right half shelf",
}

CONE_BASES: Final[Mapping[str, str]] = {
    "read": "witness cone read at its level",
    "computed": "heat-work of the curve",
    "aimed": "only the cone aimed at",
}
"""How the cone at a piece is known, best first."""


_FAULT_BITS: Final = {fault: 1 << place for place, fault in enumerate(FAULTS)}


def fault_bit(fault: str) -> int:
    """The bit of a fault in ``looked_mask`` and ``seen_mask``. Raises KeyError if unknown."""
    return _FAULT_BITS[fault]


def faults_in(mask: int) -> tuple[str, ...]:
    """The fault keys whose bits are set in ``mask``."""
    return tuple(key for index, key in enumerate(FAULTS) if mask >> index & 1)


_SURFACE_BITS: Final = {word: 1 << place for place, word in enumerate(SURFACES)}
_GROUP_OF: Final = {word: group for group, words in SURFACE_GROUPS.items() for word in words}


def surface_bit(word: str) -> int:
    """The bit of a surface word in ``surfaces``. Raises KeyError if unknown.

    A word added to a group moves the bits after it: facts are then derived anew by an upgrade.
    """
    return _SURFACE_BITS[word]


def surface_group(word: str) -> str:
    """The group a surface word belongs to: ``"matt"`` speaks of ``"shine"``."""
    return _GROUP_OF[word]


def group_mask(group: str) -> int:
    """The bits of all words of a group in ``surfaces``."""
    return sum(_SURFACE_BITS[word] for word in SURFACE_GROUPS[group])


def surfaces_in(mask: int) -> tuple[str, ...]:
    """The surface words whose bits are set in ``mask``."""
    return tuple(word for word, bit in _SURFACE_BITS.items() if mask & bit)


def join_words(words: Sequence[str], joint: str = "and") -> str:
    """Words in a row as a sentence has them: "lead, cadmium and barium"; of none, nothing."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"


def surface_of(zone: str) -> str:
    """The side of the pot a zone lies on: ``"outside, upper"`` lies on ``"outside"``."""
    return zone.split(",", 1)[0].strip().lower()
