"""What a question being typed may go on as: names, words and conditions that begin so."""

import re
from dataclasses import dataclass
from typing import Final

from studiolog.craft.glaze.oxides import without_subscripts
from studiolog.craft.words import ATMOSPHERES, FAULTS, SURFACES
from studiolog.journal.question import Names
from studiolog.journal.question_chemistry import OFFERED, say_range
from studiolog.journal.question_words import (
    BASIS_WORDS,
    METHOD_WORDS,
    OVERLAP_WORDS,
    SEVERITY_WORDS,
)

_MOST: Final = 5
_LEAST_LETTERS: Final = 2
_LONGEST_WORDS: Final = 4
_BEGINS = re.compile(r"(?:(?<=^)|(?<=[\s,;]))\S")


@dataclass(frozen=True)
class GoesOn:
    """``words`` may stand from ``start`` to the end of what was typed."""

    start: int
    words: str


def phrases(names: Names) -> tuple[str, ...]:
    """All that may be said in a question, the trade's words before the studio's names."""
    said = [*FAULTS.values(), *SURFACES.values(), *ATMOSPHERES.values()]
    said += [words[0] for words in METHOD_WORDS.values()]
    said += [words[0] for words in SEVERITY_WORDS.values()]
    said += [words[0] for words in BASIS_WORDS.values()]
    said += [OVERLAP_WORDS[0], *names.zones, *(f"{level} level" for level in names.levels)]
    said += [title for key, title in names.glazes.items() if key not in names.trials]
    said += list(names.clays.values())
    said += [say_range(one) for one in OFFERED]
    return tuple(dict.fromkeys(said))


def go_on(text: str, names: Names) -> tuple[GoesOn, ...]:
    """How the last words may go on, a few at most; nothing where they are whole already.

    Oxides are found with or without subscripts. The longest beginning that leads somewhere counts:
    after "iron-red st" clays, not all that begins with "st".
    """
    known = [(without_subscripts(phrase).casefold(), phrase) for phrase in phrases(names)]
    starts = [match.start() for match in _BEGINS.finditer(text)][-_LONGEST_WORDS:]
    for start in starts:
        begun = without_subscripts(text[start:]).casefold()
        if len(begun.strip()) < _LEAST_LETTERS:
            return ()
        found = [phrase for folded, phrase in known if folded.startswith(begun) and folded != begun]
        if found:
            return tuple(GoesOn(start, phrase) for phrase in found[:_MOST])
    return ()
