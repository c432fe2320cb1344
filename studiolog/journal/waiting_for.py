"""What a piece waits for: the next work at its stage that nobody has done, else the next stage.

Steps are known by their names, which potters write in any form: "trim", "trimming" and "trimmed"
are one work. Which work belongs to which stage is common practice, unless the form says it.
Pure: nothing is read here (`journal.bench_work` does), so that the first rows can use it.
"""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from studiolog.craft.words import STAGES

WAITING_FOR: Final[Mapping[str, str]] = {
    "firming": "firming up",
    "trimming": "trimming",
    "handles": "handles",
    "joining": "joining",
    "decorating": "decoration",
    "work": "other work",
    "drying": "drying",
    "bisque_kiln": "bisque kiln",
    "glaze": "glaze",
    "glaze_kiln": "glaze kiln",
    "finishing": "finishing",
    "packing": "packing",
    "shipping": "shipping",
}
"""What pieces wait for, in the order they pass through it."""

WORK: Final = frozenset(("trimming", "handles", "joining", "decorating", "work", "glaze"))
"""Of those, what a potter's hands do before the glaze kiln; the rest is done by air and fire, or
after it."""

_BY_STAGE: Final[Mapping[str, str]] = {
    "wet": "firming",
    "leather_hard": "drying",
    "bone_dry": "bisque_kiln",
    "bisque": "glaze",
    "glazed": "glaze_kiln",
    "fired": "packing",
}

# Root of a work: the stage it is usually done at, and what pieces without it wait for. Common
# practice throughout; a form's own word for the stage of its step goes before it.
_WORKS: Final[Mapping[str, tuple[str, str]]] = {
    **dict.fromkeys(("throw", "shape", "roll", "cut", "cast", "press", "pinch", "wedge", "coil"),
                    ("wet", "making")),
    **dict.fromkeys(("extrude", "slab", "build", "form", "model"), ("wet", "making")),
    **dict.fromkeys(("trim", "turn", "foot"), ("leather_hard", "trimming")),
    **dict.fromkeys(("handle", "pull"), ("leather_hard", "handles")),
    **dict.fromkeys(("join", "attach", "assemble", "spout", "knob", "lug"),
                    ("leather_hard", "joining")),
    **dict.fromkeys(("carve", "slip", "stamp", "incise", "pattern", "facet", "flute", "inlay"),
                    ("leather_hard", "decorating")),
    **dict.fromkeys(("decorate", "sgraffito", "burnish", "texture", "engobe", "trail"),
                    ("leather_hard", "decorating")),
    **dict.fromkeys(("soften", "smooth", "scrape", "window", "pierce"), ("leather_hard", "work")),
    **dict.fromkeys(("sponge", "fettle"), ("bone_dry", "work")),
    **dict.fromkeys(("glaze", "wax", "sand", "underglaze"), ("bisque", "glaze")),
    "wipe": ("glazed", "work"),
    **dict.fromkeys(("grind", "polish", "fit", "check", "gild", "cork", "wire"),
                    ("fired", "finishing")),
    **dict.fromkeys(("pack", "wrap"), ("finished", "packing")),
}  # fmt: skip
_ODD: Final[Mapping[str, str]] = {
    "thrown": "throw", "threw": "throw", "cutting": "cut", "ground": "grind", "built": "build",
    "shaken": "shake", "slipped": "slip", "slipping": "slip", "waxing": "wax", "waxed": "wax",
    "handles": "handle", "handled": "handle", "handling": "handle", "glazing": "glaze",
    "glazed": "glaze", "sponging": "sponge", "carving": "carve", "shaping": "shape",
    "incising": "incise", "assembling": "assemble", "piercing": "pierce", "wiping": "wipe",
    "decorating": "decorate", "decoration": "decorate", "fluting": "flute", "scraping": "scrape",
    "facetted": "facet", "faceted": "facet", "gilding": "gild", "wiring": "wire", "feet": "foot",
    "footed": "foot", "fettled": "fettle", "fettling": "fettle", "inlaid": "inlay",
}  # fmt: skip
_STOP: Final = frozenset(
    ("a", "an", "and", "the", "from", "of", "to", "in", "on", "it", "them", "with", "for", "again")
)


@dataclass(frozen=True)
class PlannedStep:
    """A step of making a form, at the stage it is done; ``guessed`` where nobody said which."""

    name: str
    stage: str
    minutes: float | None = None
    persons: int = 1
    guessed: bool = False


@dataclass(frozen=True)
class FormWork:
    """How a form is made: its steps in order, and the parts of it that are glazed by themselves."""

    shape: str = ""
    steps: tuple[PlannedStep, ...] = ()
    zones: tuple[str, ...] = ()


@dataclass(frozen=True)
class Next:
    """What a piece waits for: a key of `WAITING_FOR`, the step of it, and the zones still bare."""

    waits: str
    step: str = ""
    zones_left: tuple[str, ...] = ()


@lru_cache(maxsize=512)
def roots_of(name: str) -> frozenset[str]:
    """The roots of the words of a step or a zone: of "throw lid" throw and lid."""
    words = re.findall(r"[^\W\d_]+", name.casefold())
    return frozenset(_root(word) for word in words if word not in _STOP) or frozenset(words)


def _root(word: str) -> str:
    if word in _ODD:
        return _ODD[word]
    if word.endswith("ies") and len(word) > 4:
        return f"{word[:-3]}y"  # bodies
    for ending in ("ing", "ed", "es", "s", "d"):
        stem = word[: -len(ending)]
        if not word.endswith(ending) or len(stem) < 3 or word.endswith("ss"):
            continue
        for tried in (stem, stem + "e", stem[:-1] if stem[-1] == stem[-2] else stem):
            if tried in _WORKS:
                return tried
        if ending == "s":
            return stem
        if ending in ("ing", "ed") and stem[-1] == stem[-2] and stem[-1] not in "sl":
            return stem[:-1]
        if ending in ("ing", "ed"):
            return stem
    return word


def same_work(one: str, other: str) -> bool:
    """Whether two names mean one work: "trim" and "trimmed"; "thrown" means "throw lid" too."""
    here, there = _said_alike(one), _said_alike(other)
    return here <= there or there <= here


@lru_cache(maxsize=512)
def _said_alike(name: str) -> frozenset[str]:
    return frozenset("trim" if root == "turn" else root for root in roots_of(name))


def stage_of_work(name: str) -> str | None:
    """The stage at which a work is usually done, by common practice; None if nothing says it."""
    found = [_WORKS[root][0] for root in roots_of(name) if root in _WORKS]
    order = list(STAGES)
    return max(found, key=order.index) if found else None


def kind_of_work(name: str, shape: str = "") -> str:
    """What a piece that lacks this step waits for: a key of `WAITING_FOR`, or "making"."""
    roots = roots_of(name)
    if shape == "tile" and roots == {"turn"}:
        return "work"  # tiles are turned over as they dry, not on a wheel
    kinds = [_WORKS[root][1] for root in roots if root in _WORKS]
    for kind in ("making", *WAITING_FOR):
        if kind in kinds:
            return kind
    return "work"


def plan_steps(
    rows: Iterable[tuple[str, str | None, float | None, int]],
) -> tuple[PlannedStep, ...]:
    """Steps of a form from (name, stage or None, minutes, persons), in order.

    A step without a stage, whose name says nothing either, is done where the one before it is.
    """
    planned: list[PlannedStep] = []
    before = "wet"
    for name, said, minutes, persons in rows:
        stage = said or stage_of_work(name) or before
        planned.append(PlannedStep(name, stage, minutes, persons, guessed=said is None))
        before = stage
    return tuple(planned)


def is_making(name: str) -> bool:
    """Whether a step makes the piece in the first place: where there is a piece, it was done."""
    return kind_of_work(name) == "making"


def zones_bare(zones: Sequence[str], glazed: Collection[str]) -> tuple[str, ...]:
    """The zones of a form that are not glazed yet; "handles" glazed is the handle glazed."""
    return tuple(
        zone
        for zone in zones
        if not any(same_work(zone, done) or done.casefold().startswith(zone.casefold())
                   for done in glazed)
    )  # fmt: skip


def next_step(
    stage: str,
    work: FormWork,
    done: Collection[str] = (),
    glazed: Collection[str] = (),
    promised: bool = False,
) -> Next | None:
    """What a piece waits for.

    ``done`` are the names of its steps, ``glazed`` the zones that have glaze on them, ``promised``
    whether it is set aside for an order that is still open. None: it waits for nothing (lost,
    finished and on the shelf).
    """
    if stage == "finished":
        if not promised:
            return None
        packed = any(kind_of_work(name) == "packing" for name in done)
        return Next("shipping") if packed else Next("packing")
    if stage not in _BY_STAGE:
        return None
    for step in work.steps:
        if step.stage != stage or (stage == "wet" and is_making(step.name)):
            continue
        if any(same_work(step.name, name) for name in done):
            continue
        kind = kind_of_work(step.name, work.shape)
        if kind == "making":
            kind = "work"
        if kind == "glaze":
            return Next("glaze", step.name, zones_bare(work.zones, glazed))
        if kind == "packing" and stage != "fired":
            continue
        return Next(kind, step.name)
    if stage == "bisque":
        return Next("glaze", "", zones_bare(work.zones, glazed))
    if stage == "leather_hard" and not work.steps:
        # Nobody said how this form is made. What is thrown is trimmed, what is built is joined:
        # common practice.
        usual = {"thrown": "trimming", "box": "joining"}.get(work.shape)
        if usual and not any(kind_of_work(name) == usual for name in done):
            return Next(usual)
    return Next(_BY_STAGE[stage])


_PRESSING: Final = (
    *("shipping", "glaze", "bisque_kiln", "glaze_kiln", "finishing", "packing"),
    *("drying", "firming"),
)


def how_pressing(stage: str, waits: str) -> int:
    """A rank to sort by, the most pressing first: leather-hard clay can't wait, a shelf can."""
    if stage == "leather_hard" and waits in WORK:
        return 0
    if waits in WORK and waits != "glaze":
        return 1
    if stage == "finished":
        return 2
    return 3 + _PRESSING.index(waits)
