"""Customer labels found in what was written, so that they can be left out of what is shared."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.records.clays import Clay
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.kilns import Kiln
from studiolog.records.orders import Order

_LEAST_LETTERS = 3
# It ends at a stop with a gap after it: "3.5" and an address have stops within.
_SENTENCE = re.compile(r"(?:[^.!?\n]|[.!?]+(?![.!?\s]|$))*(?:[.!?]+(?=\s|$)|\n|$)\s*")
_ADDRESS = re.compile(r"\S+@\S+\.\w+")
LEFT_OUT = "[left out]"


@dataclass
class CustomerNames:
    """Labels of customers and what they can be reached by; ``left_out`` counts what was dropped.

    A label is found whole, in whatever case, and in its parts: each half of "Wedding, the Aldens",
    and each word of it with a capital that is no word of the studio's own.
    """

    labels: tuple[str, ...] = ()
    own_words: frozenset[str] = frozenset()
    addresses: bool = False
    left_out: int = 0
    _whole: re.Pattern[str] | None = field(default=None, init=False)
    _names: re.Pattern[str] | None = field(default=None, init=False)

    def __post_init__(self) -> None:
        whole: set[str] = set()
        names: set[str] = set()
        for label in self.labels:
            parts = [label, *re.split(r"[,;/&()]| and ", label)]
            whole |= {
                part.strip()
                for part in parts
                if len(part.strip()) >= _LEAST_LETTERS
                and part.strip().casefold() not in self.own_words
            }
            names |= self._names_in(label)
            # An address or a number it is reached by is never a usual word.
            whole |= set(re.findall(r"\S*@\S+|\+?\d[\d /-]{5,}\d", label))
        self._whole = _any_of(whole, re.IGNORECASE)
        self._names = _any_of(names, 0)

    def _names_in(self, label: str) -> set[str]:
        """Words of a label that may be a name by themselves, one of many without its "s" too."""
        words = re.findall(r"[^\W\d_][\w'’-]*", label)
        long = [word for word in words if len(word) > _LEAST_LETTERS and word[0].isupper()]
        found = {word for word in long if word.casefold() not in self.own_words}
        return found | {word[:-1] for word in found if word.endswith("s") and len(word) > 5}

    def found_in(self, text: str) -> bool:
        """Whether a text names a customer."""
        return any(pattern is not None and pattern.search(text) for pattern in self._patterns)

    @property
    def _patterns(self) -> tuple[re.Pattern[str] | None, ...]:
        return (_ADDRESS if self.addresses else None, self._whole, self._names)

    def without(self, text: str) -> str:
        """A text without the sentences that name a customer; each counts as left out."""
        if not self.found_in(text):
            return text
        kept = []
        for sentence in _SENTENCE.findall(text):
            if sentence and self.found_in(sentence):
                self.left_out += 1
            else:
                kept.append(sentence)
        left = "".join(kept).strip()
        if self.found_in(left):  # a label with a full stop in it
            self.left_out += 1
            return ""
        return left

    def masked(self, name: str) -> str:
        """A name or a few words with what names a customer taken out of them."""
        if not self.found_in(name):
            return name
        self.left_out += 1
        for pattern in self._patterns:
            if pattern is not None:
                name = pattern.sub(LEFT_OUT, name)
        return re.sub(rf"(?:{re.escape(LEFT_OUT)}[\s,]*)+", f"{LEFT_OUT} ", name).strip()


def _any_of(words: Iterable[str], flags: int) -> re.Pattern[str] | None:
    """A pattern of any of these, longest first, whole words; a name's plural and genitive too."""
    told = sorted(words, key=len, reverse=True)
    if not told:
        return None
    either = "|".join(r"\s+".join(re.escape(part) for part in word.split()) for word in told)
    return re.compile(rf"(?<!\w)(?:{either})(?:['’]?s)?(?!\w)", flags)


def read_customer_names(session: Session) -> CustomerNames:
    """All labels and contacts of orders but those for the house.

    Words of forms, clays, glazes and kilns are no names.
    """
    labels: dict[str, None] = {}
    # What is made for the house has no customer: its label may be "kitchen".
    asked = select(Order.whom, Order.contact).where(Order.kind != "house").distinct()
    for whom, contact in session.execute(asked):
        labels |= dict.fromkeys(part.strip() for part in (whom, contact) if part.strip())
    own: set[str] = set()
    for column in (Form.name, Clay.name, Glaze.name, Kiln.name):
        for name in session.scalars(select(column)):
            own |= {word.casefold() for word in re.findall(r"[^\W\d_]+", name)}
    return CustomerNames(tuple(labels), frozenset(own), addresses=True)
