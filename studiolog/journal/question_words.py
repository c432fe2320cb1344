"""The words a question is written and read with. No SQL, no Qt: text only."""

import re
from collections.abc import Mapping
from typing import Final

from studiolog.craft.words import ATMOSPHERES, FAULTS, METHODS, SEVERITIES, SURFACES, ZONES
from studiolog.journal.question_chemistry import chemistry_keywords

OPENING: Final = "how often does"

FAULT_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "crazing": ("craze", "crazed", "crazes"),
    "crawling": ("crawl", "crawled", "crawls"),
    "pinhole": ("pinholes", "pinholed", "pinhole"),
    "running": ("ran", "runs", "runny"),
    "blister": ("blisters", "blistered", "blister"),
    "shivering": ("shiver", "shivered", "shivers"),
    "dunting": ("dunt", "dunted", "dunts"),
    "bloating": ("bloat", "bloated", "bloats"),
    "warping": ("warp", "warped", "warps"),
    "crack": ("crack", "cracked", "cracks"),
    "dry": ("dry", "underfired"),
    "speck": ("speck", "specks", "specked"),
    "colour_off": ("color off", "off colour", "off color"),
}
"""Other ways a fault is said; the word of `FAULTS` itself is always understood."""

SURFACE_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "glossy": ("gloss", "bright"),
    "satin": ("semi-matt", "silky"),
    "matt": ("mat", "matte"),
    "dry_surface": ("dry surface",),
    "clear": ("transparent",),
    "breaking": ("breaking", "breaks"),
    "streaked": ("streaks", "streaky"),
    "crystals": ("crystal", "crystalline"),
    "halo": ("halo", "halos"),
    "wavy": ("ripples",),
    "unmelted": ("unmelted",),
    "stiff": ("stiff",),
    "fluid": ("fluid", "pooled"),
}
"""Other ways a surface is said; the word of `SURFACES` itself is always understood."""

METHOD_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "brush": ("brushing", "brushed", "brush"),
    "dip": ("dipping", "dipped", "dip"),
    "pour": ("pouring", "poured", "pour"),
    "spray": ("spraying", "sprayed", "spray"),
    "trail": ("trailing", "trailed", "trail"),
}
"""How a method is said; the first is the one sentences use."""

BASIS_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "read": ("as measured", "measured", "as read", "by witness cone", "read"),
    "computed": ("as computed", "computed", "by heat-work"),
    "aimed": ("as aimed at", "aimed at", "as aimed", "aimed"),
}
"""How the cone is known; the first is the one sentences use."""

SEVERITY_WORDS: Final[Mapping[int, tuple[str, ...]]] = {
    1: ("slight or worse", "slight"),
    2: ("marked or worse", "at least marked", "marked"),
    3: ("severe", "at least severe"),
}

_FILLING = (
    "how often does any a an fault faults show shows on the with made of where and fired to in "
    "glazed by notes note piece pieces which that is are was were seen it at as glaze clay body "
    "for using applied surface surfaces layer and or came out when what"
)
FILLING: Final = frozenset(_FILLING.split())
"""Words that carry a sentence and ask nothing."""

OVERLAP_WORDS: Final = ("two glazes overlap", "glazes overlap", "overlap", "overlapping")
LEVEL_WORDS: Final = ("level", "shelf")
OVER, ONLY, ALONE, ANYWHERE = "over", "only", "alone", "anywhere"
SINCE_WORDS: Final = ("since", "from", "after")
UNTIL_WORDS: Final = ("until", "till", "before", "up to")

MONTHS: Final = (
    *("january", "february", "march", "april", "may", "june", "july"),
    *("august", "september", "october", "november", "december"),
)

_LIKE_A_CONE = re.compile(r"c(?:ones?)?\d", re.IGNORECASE)
_WORD = re.compile(r"[^\W_]+(?:['’-][^\W_]+)*")


def words_of(text: str) -> list[str]:
    """The words of a text in lower case, signs left out."""
    return _WORD.findall(text.casefold())


def _all_keywords() -> frozenset[str]:
    found: set[str] = set(FILLING)
    for group in (*FAULT_WORDS.values(), *METHOD_WORDS.values(), *BASIS_WORDS.values()):
        for said in group:
            found.update(words_of(said))
    for group in SURFACE_WORDS.values():
        for said in group:
            found.update(words_of(said))
    found.update(chemistry_keywords())
    for said in (
        *FAULTS.values(),
        *SURFACES.values(),
        *SEVERITIES,
        *METHODS,
        *ATMOSPHERES,
        *OVERLAP_WORDS,
    ):
        found.update(words_of(said))
    for severities in SEVERITY_WORDS.values():
        for said in severities:
            found.update(words_of(said))
    for said in ZONES:
        found.update(words_of(said))
    found.update((OVER, ONLY, ALONE, ANYWHERE, *LEVEL_WORDS, *SINCE_WORDS, "until", "till"))
    found.update(("before", "up", "between", "cone", "cones", "or", "hotter", "cooler", "above"))
    found.update(("below", *MONTHS, *(month[:3] for month in MONTHS)))
    return frozenset(found)


KEYWORDS: Final = _all_keywords()
"""Every word that means something in a question; a name that holds one is put in quotes."""


def is_plain(name: str) -> bool:
    """Whether a name can stand in a sentence without quotes and be read back."""
    words = words_of(name)
    return (
        bool(words)
        and " ".join(words) == name.casefold()
        and not words[0][0].isdigit()
        and not any(_LIKE_A_CONE.match(word) for word in words)
        and not any(word in KEYWORDS for word in words)
    )


def quote(text: str) -> str:
    """A text in quotes; a closing quote within is doubled."""
    return "“" + text.replace("”", "””") + "”"
