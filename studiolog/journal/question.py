"""A question to the journal, and the sentence it is shown as. Pure: no SQL, no Qt.

The sentence is made of fixed words and removable tokens; removing any token leaves a sentence
that still reads. `studiolog.journal.question_reading` reads typed text, and the sentence itself,
back into a question.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, Literal

from studiolog.craft.firing.cones import label_of
from studiolog.craft.words import FAULTS, ONE_OF, SURFACES, ZONES, surface_group
from studiolog.journal.question_chemistry import ChemistryRange, say_range
from studiolog.journal.question_words import (
    BASIS_WORDS,
    METHOD_WORDS,
    MONTHS,
    SEVERITY_WORDS,
    is_plain,
    quote,
)

CombinationKind = Literal["over", "anywhere", "only", "overlap"]
Basis = Literal["read", "computed", "aimed"]


@dataclass(frozen=True)
class Combination:
    """Which glazes lie how: ``glaze_id`` directly over ``under_id``; anywhere; the only one; or
    any two glazes over each other (then both ids are 0)."""

    kind: CombinationKind
    glaze_id: int = 0
    under_id: int = 0


@dataclass(frozen=True)
class ConeRange:
    """Cones on the ordinal scale (6 is 6, 01 is 0, 02 is −1), in tenths; None is open.

    ``basis`` keeps only cones known in one way: read, computed or aimed.
    """

    low: float | None = None
    high: float | None = None
    basis: Basis | None = None


@dataclass(frozen=True, kw_only=True)
class Question:
    """How often does a fault show, and on what. What is None or empty is not asked about.

    ``severity`` is the least that counts as seen: 1 slight, 2 marked, 3 severe. ``zone`` is a
    glazed zone, its parts with it ("outside" has "outside, upper"). Dates are of the firing.

    ``surfaces`` are words for the surface, in their order. With a fault they say on which
    surfaces; without one it is they that are looked for. ``chemistry`` are conditions on a
    formula, one a figure, in their order: a zone meets them if one of its layers, whichever, is a
    glaze that meets them all. ``made_of`` are those glazes, filled in when the question is put to
    a journal.
    """

    fault: str | None = None
    severity: int = 1
    zone: str = ""
    clay_id: int | None = None
    combination: Combination | None = None
    method: str | None = None
    cone: ConeRange | None = None
    atmosphere: str | None = None
    level: str = ""
    since: date | None = None
    until: date | None = None
    notes: str = ""
    surfaces: tuple[str, ...] = ()
    chemistry: tuple[ChemistryRange, ...] = ()
    made_of: frozenset[int] | None = field(default=None, compare=False, repr=False)

    def without(self, key: str) -> "Question":
        """The question with one token taken out; ``key`` is that of its `Part`."""
        measure = key.removeprefix("chemistry:")
        if measure != key:
            left = tuple(one for one in self.chemistry if one.measure != measure)
            return replace(self, chemistry=left, made_of=None)
        return replace(self, **_BLANK[key])

    def asks_layers(self) -> bool:
        """Whether it asks about glazed zones rather than whole pieces."""
        return bool(self.zone or self.combination or self.method or self.surfaces or self.chemistry)

    def asks_surface(self) -> bool:
        """Whether the surface is what is looked for, and not a fault on such a surface."""
        return bool(self.surfaces) and self.fault is None and self.severity == 1


_BLANK: Mapping[str, Mapping[str, Any]] = {
    "fault": {"fault": None},
    "severity": {"severity": 1},
    "zone": {"zone": ""},
    "clay": {"clay_id": None},
    "combination": {"combination": None},
    "method": {"method": None},
    "cone": {"cone": None},
    "atmosphere": {"atmosphere": None},
    "level": {"level": ""},
    "dates": {"since": None, "until": None},
    "notes": {"notes": ""},
    "surface": {"surfaces": ()},
}


@dataclass(frozen=True)
class Names:
    """What things are called in this journal: titles by id, zones and levels as they are said.

    ``trials`` are glazes of single test tiles: understood where they are typed, but not offered.
    """

    clays: Mapping[int, str] = field(default_factory=dict)
    glazes: Mapping[int, str] = field(default_factory=dict)
    zones: tuple[str, ...] = ZONES
    levels: tuple[str, ...] = ()
    trials: frozenset[int] = frozenset()

    def clay(self, clay_id: int | None) -> str:
        """A clay's name; one that is gone is said so."""
        return self.clays.get(clay_id or 0, "a clay no longer known")

    def glaze(self, glaze_id: int) -> str:
        """A glaze's title; one that is gone is said so."""
        return self.glazes.get(glaze_id, "a glaze no longer known")


@dataclass(frozen=True)
class Part:
    """A piece of the sentence: fixed words (no key) or a token that can be removed."""

    text: str
    key: str = ""

    @property
    def removable(self) -> bool:
        return bool(self.key)


def sentence_parts(question: Question, names: Names) -> tuple[Part, ...]:
    """The question as a sentence, in parts."""
    parts = [Part("How often does")]
    severe = SEVERITY_WORDS[question.severity][0]
    if question.asks_surface():
        parts += [Part("the surface show"), Part(say_surface(question.surfaces), "surface")]
    elif question.fault is None:
        if question.severity > 1:
            parts += [Part("a"), Part(severe, "severity"), Part("fault show")]
        else:
            parts += [Part("any fault show")]
    else:
        if question.severity > 1:
            parts += [Part(severe, "severity")]
        parts += [Part(FAULTS[question.fault], "fault"), Part("show")]
    if question.zone:
        parts += [Part("on the"), Part(_say_zone(question.zone), "zone")]
    if question.clay_id is not None:
        clay = _say_name(names.clay(question.clay_id))
        parts += [
            Part("of pieces made of" if question.zone else "on pieces made of"),
            Part(clay, "clay"),
        ]
    if question.combination is not None:
        before, said = _say_combination(question.combination, names)
        parts += [Part(before), Part(said, "combination")]
    if question.method is not None:
        parts += [Part("glazed by"), Part(METHOD_WORDS[question.method][0], "method")]
    if question.surfaces and not question.asks_surface():
        parts += [
            Part("on a surface that shows"),
            Part(say_surface(question.surfaces), "surface"),
        ]
    overlap = question.combination is not None and question.combination.kind == "overlap"
    joint = "and" if overlap and not (question.method or question.surfaces) else "where"
    for place, one in enumerate(question.chemistry):
        parts.append(Part("and" if place else f"{joint} any layer is a glaze with"))
        parts.append(Part(say_range(one), f"chemistry:{one.measure}"))
    parts += _fired_parts(question)
    if question.notes:
        parts += [Part("with"), Part(quote(question.notes), "notes"), Part("in the notes")]
    return tuple(parts)


def sentence(question: Question, names: Names) -> str:
    """The whole sentence, as it is kept and can be read again."""
    return " ".join(part.text for part in sentence_parts(question, names)) + "?"


def say_surface(words: tuple[str, ...]) -> str:
    """Words for a surface as a question says them: "glossy or satin, and clear"."""
    groups: dict[str, list[str]] = {}
    for word in words:
        groups.setdefault(surface_group(word), []).append(SURFACES[word])
    said = [
        (" or " if group in ONE_OF else " and ").join(labels) for group, labels in groups.items()
    ]
    joint = ", and " if any(" or " in one for one in said) else " and "
    return joint.join(said)


def say_asked(question: Question) -> str:
    """What a question looks for, in a word or few: "crazing", "glossy and clear", "fault"."""
    if question.asks_surface():
        return say_surface(question.surfaces)
    return FAULTS[question.fault] if question.fault else "fault"


def say_cone(number: float) -> str:
    """A cone as a question writes it: "6", "5½", "05½", "5.7", "04 −0.2"."""
    tenths = round(number * 10)
    if tenths % 10 == 0 or tenths < 10:
        # Between whole cones below 1 only a label against the nearest whole cone is clear.
        if tenths % 10 == 5 and tenths < 0:
            return f"0{(5 - tenths) // 10}½"
        return label_of(tenths / 10)
    return f"{tenths // 10}½" if tenths % 10 == 5 else f"{tenths / 10:.1f}"


def say_cone_range(cone: ConeRange) -> str:
    """A range of cones with how they are known: "cone 5–7 as measured"."""
    if cone.low is not None and cone.high is not None:
        low, high = say_cone(cone.low), say_cone(cone.high)
        said = f"cone {low} to {high}" if " " in low + high else f"cone {low}–{high}"
    elif cone.low is not None:
        said = f"cone {say_cone(cone.low)} or hotter"
    elif cone.high is not None:
        said = f"cone {say_cone(cone.high)} or cooler"
    else:
        said = "any cone"
    return f"{said} {BASIS_WORDS[cone.basis][0]}" if cone.basis else said


def say_day(day: date) -> str:
    """A day as a question writes it: "1 March 2026"."""
    return f"{day.day} {MONTHS[day.month - 1].capitalize()} {day.year}"


def _say_name(name: str) -> str:
    return name if is_plain(name) else quote(name)


def _say_zone(zone: str) -> str:
    return zone if zone in ZONES else _say_name(zone)


def _say_combination(combination: Combination, names: Names) -> tuple[str, str]:
    glaze = _say_name(names.glaze(combination.glaze_id))
    match combination.kind:
        case "over":
            return "with", f"{glaze} over {_say_name(names.glaze(combination.under_id))}"
        case "anywhere":
            return "with", f"{glaze} anywhere"
        case "only":
            return "with", f"{glaze} alone"
        case _:
            return "where", "two glazes overlap"


def _fired_parts(question: Question) -> list[Part]:
    parts: list[Part] = []

    def fired(word: str) -> None:
        parts.append(Part(word if parts else f"fired {word}".strip()))

    if question.cone is not None:
        fired("to")
        parts.append(Part(say_cone_range(question.cone), "cone"))
    if question.atmosphere is not None:
        fired("in")
        parts.append(Part(question.atmosphere, "atmosphere"))
    if question.level:
        fired("on the")
        parts += [Part(_say_name(question.level), "level"), Part("level")]
    if question.since is not None or question.until is not None:
        if not parts:
            parts.append(Part("fired"))
        parts.append(Part(_say_dates(question.since, question.until), "dates"))
    return parts


def _say_dates(since: date | None, until: date | None) -> str:
    if since is not None and until is not None:
        return f"between {say_day(since)} and {say_day(until)}"
    if since is not None:
        return f"since {say_day(since)}"
    assert until is not None
    return f"until {say_day(until)}"
