"""Reading a question that was typed, or kept as a sentence.

"crazing, chalk over kelp on iron-red, cone 5-6½ as measured, inside, oxidation, since March,
notes 'pinging'" gives the same question as the sentence it is shown as. Words that say nothing
to the reader come back with the three nearest that do.
"""

import re
from calendar import monthrange
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from studiolog.craft.firing.cones import ordinal_of
from studiolog.craft.words import SURFACES
from studiolog.journal.question import Combination, ConeRange, Names, Question
from studiolog.journal.question_chemistry import (
    condition_at,
    in_order,
    measure_at,
    offers_for,
)
from studiolog.journal.question_vocabulary import Meaning, learn_vocabulary
from studiolog.journal.question_words import (
    LEVEL_WORDS,
    MONTHS,
    OPENING,
    SINCE_WORDS,
    UNTIL_WORDS,
)
from studiolog.problems import UserProblem

_NAME_KINDS: Final = ("glaze", "clay", "zone", "level")

_CONE = r"(?:0\d{1,2}|\d{1,2})(?:½|[.,]\d| 1/2)?(?:\s*[+−-]\s*0[.,]\d)?"
_RANGE = re.compile(
    rf"(?P<cone>cones?\s*|c(?=\d))?(?P<low>{_CONE})\s*(?:to|–|-|…)\s*(?:cone\s*)?(?P<high>{_CONE})"
    r"(?![\w½])",
    re.IGNORECASE,
)
_ONE = re.compile(
    rf"(?:(?P<side>above|over|below|under)\s+)?(?:cone\s*|c(?=\d))(?P<cone>{_CONE})(?![\w½])"
    r"(?:\s+(?:or|and)\s+(?P<open>hotter|above|more|cooler|below|less))?",
    re.IGNORECASE,
)
_ANY_CONE = re.compile(r"any cone\b", re.IGNORECASE)
_WORD_AT = re.compile(r"[^\s,.;:?!“”\"]+")
_BETWEEN = re.compile(r"between\s+", re.IGNORECASE)
_SINCE = re.compile(rf"(?:{'|'.join(SINCE_WORDS)})\s+", re.IGNORECASE)
_UNTIL = re.compile(rf"(?:{'|'.join(UNTIL_WORDS)})\s+", re.IGNORECASE)
_IN = re.compile(r"in\s+", re.IGNORECASE)
_DAY = re.compile(
    r"(?:(?P<iso>\d{4}-\d{1,2}-\d{1,2})"
    r"|(?P<day>\d{1,2})\.?\s+(?P<month>[a-z]{3,9})\.?(?:\s+(?P<year>\d{4}))?"
    r"|(?P<only_month>[a-z]{3,9})\.?(?:\s+(?P<its_year>\d{4}))?"
    r"|(?P<only_year>(?:19|20)\d{2}))(?![\w-])",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Unread:
    """A word the reader did not understand, where it stands, and the nearest it knows."""

    word: str
    start: int
    end: int
    nearest: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reading:
    """A typed question as it was understood, and what was not."""

    question: Question
    unread: tuple[Unread, ...] = ()


def read_question(text: str, names: Names, today: date | None = None) -> Reading:
    """Read typed text, or the sentence of a question, into a question.

    ``today`` places months without a year: the last one that has begun.
    """
    return _Reader(text, names, today or date.today()).read()


class _Reader:
    def __init__(self, text: str, names: Names, today: date) -> None:
        self._text = text
        self._names = names
        self._today = today
        # A sentence of ours puts every name in quotes that could be taken for something else.
        self._strict = text.strip().casefold().startswith(OPENING)
        self._known = learn_vocabulary(names, self._strict)
        self._found: dict[str, Any] = {}
        self._unread: list[Unread] = []
        self._at = 0
        self._wanted = ""  # the kind of name the words before ask for
        self._only = False
        self._over: tuple[int, int] | None = None
        self._basis: str | None = None

    def read(self) -> Reading:
        while self._at < len(self._text):
            character = self._text[self._at]
            if character.isspace() or character in ",.;:?!–-":
                if character in ",;":
                    self._wanted = ""
                self._at += 1
            elif not (
                self._read_quoted()
                or self._read_chemistry()
                or self._read_dates()
                or self._read_cone()
                or self._read_phrase()
            ):
                self._give_up_word()
        self._settle()
        if "surfaces" in self._found:
            said = self._found["surfaces"]
            self._found["surfaces"] = tuple(word for word in SURFACES if word in said)
        if "chemistry" in self._found:
            self._found["chemistry"] = in_order(tuple(self._found["chemistry"].values()))
        question = replace(Question(), **self._found)
        return Reading(question, tuple(sorted(self._unread, key=lambda u: u.start)))

    def _set(self, key: str, value: Any, start: int) -> None:
        if key in self._found and self._found[key] != value:
            said = self._text[start : self._at]
            self._unread.append(Unread(said, start, self._at))
            return
        self._found[key] = value

    def _give_up_word(self) -> None:
        match = _WORD_AT.match(self._text, self._at)
        end = match.end() if match else self._at + 1
        word = self._text[self._at : end]
        self._unread.append(Unread(word, self._at, end, self._known.nearest(word)))
        self._at = end

    # Quotes

    def _read_quoted(self) -> bool:
        opening = self._text[self._at]
        if opening == "“":
            match = re.compile(r"“((?:[^”]|””)*)”(?!”)").match(self._text, self._at)
        elif opening in "\"'" and not self._strict:
            match = re.compile(rf"{opening}([^{opening}]*){opening}").match(self._text, self._at)
        else:
            return False
        if match is None:
            return False
        start, self._at = self._at, match.end()
        said = match[1].replace("””", "”") if opening == "“" else match[1]
        after = self._text[self._at :].lstrip().casefold()
        if self._wanted == "notes" or after.startswith("in the notes"):
            self._set("notes", said, start)
        elif (meaning := self._named(said, after)) is not None:
            self._use(meaning, start)
        elif self._strict:
            self._unread.append(Unread(match[0], start, self._at, self._known.nearest(said)))
        else:
            self._set("notes", said, start)
        return True

    def _named(self, said: str, after: str) -> Meaning | None:
        """What a quoted name stands for, by the words around it."""

        def among(titles: dict[int, str]) -> int | None:
            exact = [i for i, title in titles.items() if title == said]
            alike = [i for i, title in titles.items() if title.casefold() == said.casefold()]
            return next(iter((*exact, *alike)), None)

        glaze, clay = among(dict(self._names.glazes)), among(dict(self._names.clays))
        if self._wanted == "zone":
            if after.startswith(LEVEL_WORDS):
                return Meaning("level", said, said)
            return Meaning("zone", said, said)
        if self._wanted == "clay" and clay is not None:
            return Meaning("clay", clay, said)
        if glaze is not None:
            return Meaning("glaze", glaze, said)
        return Meaning("clay", clay, said) if clay is not None else None

    # Formulas

    def _read_chemistry(self) -> bool:
        """A condition on the formula; one of our own names that reads alike goes first."""
        start = self._at
        named = measure_at(self._text, start)
        if named is None or any(end > named[1] for end, _ in self._known.at(self._text, start)):
            return False
        found = condition_at(self._text, start)
        if found is None:
            if self._known.at(self._text, start):
                return False
            # Named, but not how much of it: whole conditions are offered.
            self._at = named[1]
            said = self._text[start : self._at]
            self._unread.append(Unread(said, start, self._at, offers_for(named[0])))
            return True
        asked, self._at = found
        ranges = self._found.setdefault("chemistry", {})
        if ranges.setdefault(asked.measure, asked) != asked:
            self._unread.append(Unread(self._text[start : self._at], start, self._at))
        self._wanted = ""
        return True

    # Cones

    def _read_cone(self) -> bool:
        start = self._at
        if match := _RANGE.match(self._text, start):
            low, high = _cone_number(match["low"]), _cone_number(match["high"])
            if low is None or high is None:
                return False
            self._at = match.end()
            self._set("cone", ConeRange(min(low, high), max(low, high)), start)
            return True
        if match := _ANY_CONE.match(self._text, start):
            self._at = match.end()
            self._set("cone", ConeRange(), start)
            return True
        if (match := _ONE.match(self._text, start)) is None:
            return False
        number = _cone_number(match["cone"])
        if number is None:
            return False
        self._at = match.end()
        side = (match["open"] or match["side"] or "").casefold()
        if side in ("hotter", "above", "more", "over"):
            cone = ConeRange(number, None)
        elif side:
            cone = ConeRange(None, number)
        else:
            cone = ConeRange(round(number - 0.5, 1), round(number + 0.5, 1))
        self._set("cone", cone, start)
        return True

    # Days

    def _read_dates(self) -> bool:
        start = self._at
        if (match := _BETWEEN.match(self._text, start)) and (first := self._day(match.end())):
            joint = re.compile(r"\s+and\s+", re.IGNORECASE).match(self._text, first[2])
            if joint and (second := self._day(joint.end())):
                self._at = second[2]
                self._set("since", first[0], start)
                self._set("until", second[1], start)
                return True
        if (match := _SINCE.match(self._text, start)) and (found := self._day(match.end())):
            self._at = found[2]
            self._set("since", found[0], start)
            return True
        if (match := _UNTIL.match(self._text, start)) and (found := self._day(match.end())):
            self._at = found[2]
            self._set("until", found[1], start)
            return True
        if (match := _IN.match(self._text, start)) and (found := self._day(match.end())):
            self._at = found[2]
            self._set("since", found[0], start)
            self._set("until", found[1], start)
            return True
        return False

    def _day(self, start: int) -> tuple[date, date, int] | None:
        """First and last day of what stands at ``start``, and where it ends."""
        match = _DAY.match(self._text, start)
        if match is None:
            return None
        try:
            days = self._days_of(match)
        except ValueError:
            return None
        return None if days is None else (*days, match.end())

    def _days_of(self, match: re.Match[str]) -> tuple[date, date] | None:
        if match["iso"]:
            year, month, day = (int(part) for part in match["iso"].split("-"))
            return date(year, month, day), date(year, month, day)
        if match["only_year"]:
            year = int(match["only_year"])
            return date(year, 1, 1), date(year, 12, 31)
        number = _month_number(match["month"] or match["only_month"])
        if number is None:
            return None
        said_year = match["year"] or match["its_year"]
        day_number = int(match["day"]) if match["day"] else 1
        year = int(said_year) if said_year else self._today.year
        first = date(year, number, day_number)
        if not said_year and first > self._today:
            first = date(year - 1, number, day_number)
        if match["day"]:
            return first, first
        return first, first.replace(day=monthrange(first.year, first.month)[1])

    # Phrases

    def _read_phrase(self) -> bool:
        start = self._at
        candidates = self._known.at(self._text, start)
        if not candidates:
            return False
        end, meanings = candidates[0]
        self._at = end
        self._use(self._pick(meanings, start, end), start)
        return True

    def _pick(self, meanings: list[Meaning], start: int, end: int) -> Meaning:
        after = self._text[end:].lstrip().casefold()
        wanted = self._wanted
        if after.startswith(LEVEL_WORDS) and any(m.kind == "level" for m in meanings):
            wanted = "level"

        def order(meaning: Meaning) -> tuple[bool, bool, int]:
            place = _NAME_KINDS.index(meaning.kind) if meaning.kind in _NAME_KINDS else 9
            return (meaning.kind != wanted, meaning.said != self._text[start:end], place)

        return min(meanings, key=order)

    def _use(self, meaning: Meaning, start: int) -> None:
        match meaning.kind:
            case "filling":
                self._want(meaning.value)
                return
            case "glaze":
                self._add_glaze(meaning.value, start)
            case "clay":
                self._set("clay_id", meaning.value, start)
            case "fault" | "severity" | "method" | "atmosphere" | "zone" | "level":
                self._set(meaning.kind, meaning.value, start)
            case "surface":
                self._found.setdefault("surfaces", {})[meaning.value] = None
            case "basis":
                self._basis = meaning.value
            case "overlap":
                self._set("combination", Combination("overlap"), start)
            case "over":
                self._over = (start, self._at)
                self._wanted = "glaze"
                return
            case "only" | "alone":
                self._say_only(before=meaning.kind == "only")
                return
        self._wanted = ""

    def _want(self, word: str) -> None:
        wants = {"of": "clay", "with": "glaze", "on": "zone", "notes": "notes", "note": "notes"}
        if word in wants:
            self._wanted = wants[word]
        elif word not in ("the", "made", "pieces", "piece"):
            self._wanted = ""

    def _add_glaze(self, glaze_id: int, start: int) -> None:
        laid = self._found.get("combination")
        if self._over is not None and laid is not None and laid.kind == "anywhere":
            self._found["combination"] = Combination("over", laid.glaze_id, glaze_id)
            self._over = None
        elif laid is not None and laid.kind == "over" and self._over is None:
            # "Kelp over Chalk over Oat": only direct neighbours are asked for.
            self._unread.append(Unread(self._text[start : self._at], start, self._at))
        else:
            kind = "only" if self._only else "anywhere"
            self._set("combination", Combination(kind, glaze_id), start)  # type: ignore[arg-type]
            self._only = False

    def _say_only(self, before: bool) -> None:
        laid = self._found.get("combination")
        if laid is not None and laid.kind == "anywhere":
            self._found["combination"] = Combination("only", laid.glaze_id)
        elif before:
            self._only = True

    def _settle(self) -> None:
        if self._over is not None:
            start, end = self._over
            self._unread.append(Unread(self._text[start:end], start, end))
        if self._basis is not None:
            cone = self._found.get("cone", ConeRange())
            self._found["cone"] = replace(cone, basis=self._basis)


def _cone_number(text: str) -> float | None:
    try:
        return round(ordinal_of(text.replace(",", ".").replace(" 1/2", "½")), 1)
    except UserProblem:
        return None


def _month_number(text: str) -> int | None:
    said = text.casefold()
    found = [n for n, name in enumerate(MONTHS, start=1) if name.startswith(said)]
    return found[0] if len(found) == 1 else None
