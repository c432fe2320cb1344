"""Finding words where they stand whole, in very many texts: a label in all a journal holds."""

import re
import unicodedata
from dataclasses import dataclass

_STRETCH = re.compile(r'[^\s"\\]*')
_DOT = "\N{COMBINING DOT ABOVE}"


@dataclass(frozen=True)
class Needle:
    """Finds words wherever they stand whole, in either way of writing accents.

    ``marks`` are their longest stretch that no JSON text writes otherwise, folded: where none of
    them is, the words are not. The history of a large studio is a million texts to look through.
    """

    pattern: re.Pattern[str]
    marks: tuple[str, ...]

    def may_be_in(self, plain: str) -> bool:
        """Whether the words may stand in a text that was `folded`, asked quickly."""
        return any(mark in plain for mark in self.marks)

    def is_in(self, words: str) -> bool:
        """Whether they stand in a text."""
        return self.may_be_in(folded(words)) and self.pattern.search(words) is not None


def find_whole(words: str) -> Needle:
    """What finds these words in a text, in whatever case."""
    forms = sorted({unicodedata.normalize(form, words) for form in ("NFC", "NFD")})
    parts = ("\\s+".join(map(re.escape, form.split())) for form in forms)
    pattern = re.compile(rf"(?<!\w)(?:{'|'.join(parts)})(?!\w)", re.IGNORECASE)
    return Needle(pattern, tuple(folded(max(_STRETCH.findall(form), key=len)) for form in forms))


def folded(text: str) -> str:
    """Text in which all is alike that a search without regard to case takes for alike."""
    return text.casefold().replace("\N{LATIN SMALL LETTER DOTLESS I}", "i").replace(_DOT, "")
