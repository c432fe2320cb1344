"""The words and names a typed question may use, and the nearest to one that is none of them."""

from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import Any, Final

from studiolog.craft.words import ATMOSPHERES, FAULTS, SURFACES, ZONES
from studiolog.journal.question import Names
from studiolog.journal.question_words import (
    ALONE,
    ANYWHERE,
    BASIS_WORDS,
    FAULT_WORDS,
    FILLING,
    LEVEL_WORDS,
    METHOD_WORDS,
    ONLY,
    OVER,
    OVERLAP_WORDS,
    SEVERITY_WORDS,
    SURFACE_WORDS,
    is_plain,
    words_of,
)

_NEAR_ENOUGH: Final = 0.55
_NEAREST: Final = 3


@dataclass(frozen=True)
class Meaning:
    """What a phrase stands for: its kind, the value of that kind, and the name as it is spelt."""

    kind: str
    value: Any = None
    said: str = ""


@dataclass
class Vocabulary:
    """Every phrase known, by its length, longest first."""

    by_length: dict[int, dict[str, list[Meaning]]] = field(default_factory=dict)
    said: dict[str, None] = field(default_factory=dict)

    def learn(self, phrase: str, meaning: Meaning, *, offer: bool = True) -> None:
        """Add a phrase; one that is not offered is understood all the same."""
        known = self.by_length.setdefault(len(phrase), {})
        known.setdefault(phrase.casefold(), []).append(meaning)
        if offer:
            self.said[phrase] = None

    def at(self, text: str, start: int) -> list[tuple[int, list[Meaning]]]:
        """What begins at ``start``: (end, meanings), longest first."""
        found = []
        for length in sorted(self.by_length, reverse=True):
            end = start + length
            if end > len(text) or (end < len(text) and text[end].isalnum()):
                continue
            meanings = self.by_length[length].get(text[start:end].casefold())
            if meanings:
                found.append((end, meanings))
        return found

    def nearest(self, word: str) -> tuple[str, ...]:
        """The three phrases nearest to a word that was not understood."""

        def likeness(phrase: str) -> float:
            return max(
                SequenceMatcher(None, word.casefold(), part).ratio()
                for part in (phrase.casefold(), *words_of(phrase))
            )

        near = [(likeness(phrase), phrase) for phrase in self.said]
        near = [pair for pair in near if pair[0] >= _NEAR_ENOUGH]
        near.sort(key=lambda pair: (-pair[0], pair[1]))
        return tuple(phrase for _, phrase in near[:_NEAREST])


def learn_vocabulary(names: Names, strict: bool) -> Vocabulary:
    """The trade's words and a journal's names.

    ``strict`` leaves out names that could be taken for something else: a sentence of ours quotes
    those.
    """
    known = Vocabulary()
    for fault, label in FAULTS.items():
        known.learn(label, Meaning("fault", fault))
        for said in FAULT_WORDS[fault]:
            known.learn(said, Meaning("fault", fault), offer=False)
    for severity, words in SEVERITY_WORDS.items():
        for said in words:
            known.learn(said, Meaning("severity", severity))
    for surface, label in SURFACES.items():
        known.learn(label, Meaning("surface", surface))
        for said in SURFACE_WORDS.get(surface, ()):
            known.learn(said, Meaning("surface", surface), offer=False)
    for method, words in METHOD_WORDS.items():
        for said in words:
            known.learn(said, Meaning("method", method))
    for basis, words in BASIS_WORDS.items():
        for said in words:
            known.learn(said, Meaning("basis", basis))
    for atmosphere, label in ATMOSPHERES.items():
        known.learn(label, Meaning("atmosphere", atmosphere))
    for said in OVERLAP_WORDS:
        known.learn(said, Meaning("overlap"))
    for said in (OVER, ONLY, ALONE, ANYWHERE):
        known.learn(said, Meaning(said))
    for said in LEVEL_WORDS:
        known.learn(said, Meaning("level word"))
    for said in FILLING:
        known.learn(said, Meaning("filling", said), offer=False)
    for zone in dict.fromkeys((*ZONES, *names.zones)):
        if zone in ZONES or not strict or is_plain(zone):
            known.learn(zone, Meaning("zone", zone, zone))
    named: list[tuple[str, Any, str]] = [("glaze", *pair) for pair in names.glazes.items()]
    named += [("clay", *pair) for pair in names.clays.items()]
    named += [("level", level, level) for level in names.levels]
    for kind, value, name in named:
        if not strict or is_plain(name):
            known.learn(name, Meaning(kind, value, name))
            if kind == "clay" and not strict:
                _learn_short(known, name, Meaning(kind, value, name), names)
    return known


def _learn_short(known: Vocabulary, name: str, meaning: Meaning, names: Names) -> None:
    """A clay by its first word ("iron-red") where no other name begins with it."""
    first = name.split()[0] if " " in name else ""
    others = (*names.clays.values(), *names.glazes.values())
    if is_plain(first) and sum(o.casefold().startswith(first.casefold()) for o in others) == 1:
        known.learn(first, meaning, offer=False)
