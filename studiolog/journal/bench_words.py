"""Reading a line typed at the bench: ``63: 5 trimmed, another split``.

A line names a run first, then what was done, part by part, parted by commas:

- work done: ``trimmed 5``, ``5 handled``, ``all waxed``, with its time: ``5 trimmed in 40 min``;
- work on a part of the pieces: ``handles glazed 5``, with the layers laid there where they are
  said: ``body glazed 3 kelp over chalk``; work done over: ``mended 2 handles``;
- pieces that went on: ``6 to bisque``, ``all leather-hard``, ``4 bone dry to bisque``;
- pieces lost, with why: ``lost 2 s-crack``, ``one rim split`` (of those just named), ``another
  split`` (none of those), ``2 bisque cracked``;
- how the run stands: ``wrapped``, ``unwrapped``, ``under cloth``;
- a day other than today: ``yesterday``.

No count means one for a loss and all that can be meant for the rest. Pure: nothing is changed.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from studiolog.journal.bench_actions import Loss, Reading, RunWords, StepDone, Wrap
from studiolog.journal.bench_state import LineState
from studiolog.journal.layer_words import GlazeName, LayerReading, read_layers, say_laid
from studiolog.journal.waiting_for import roots_of, same_work

_NUMBER_WORDS = (
    *("one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)
_NUMBERS = {word: number for number, word in enumerate(_NUMBER_WORDS, 1)} | {"a": 1, "an": 1}
_ALL = frozenset(("all", "rest"))
# A piece that is none of those named before; "a sixth split" is one as well.
_OTHER = frozenset(
    (
        *("another", "other", "others", "more", "further", "else"),
        *("second", "third", "fourth", "fifth", "sixth", "seventh"),
        *("eighth", "ninth", "tenth", "eleventh", "twelfth", "thirteenth"),
    )
)
_STAGE_WORDS: Mapping[tuple[str, ...], str] = {
    ("wet",): "wet",
    ("leather", "hard"): "leather_hard",
    ("leatherhard",): "leather_hard",
    ("bone", "dry"): "bone_dry",
    ("bonedry",): "bone_dry",
    ("bisque",): "bisque",
    ("bisqued",): "bisque",
    ("glazed",): "glazed",
    ("fired",): "fired",
    ("finished",): "finished",
}
# Work, and the state of the clay in which it is usually done: common practice.
_STEPS: Mapping[str, str] = {
    "thrown": "wet",
    "shaped": "wet",
    "trimmed": "leather_hard",
    "turned": "leather_hard",
    "handled": "leather_hard",
    "joined": "leather_hard",
    "carved": "leather_hard",
    "slipped": "leather_hard",
    "stamped": "leather_hard",
    "sponged": "bone_dry",
    "waxed": "bisque",
    "sanded": "bisque",
    "ground": "fired",
    "packed": "finished",
}
_MENDED = frozenset(("mended", "repaired", "patched", "reworked", "redone"))
_AGAIN = frozenset(("again", "anew", "over"))
_LOST = frozenset(("lost", "broke", "broken"))
_HARM = frozenset(
    (
        *("split", "crack", "cracks", "cracked", "s-crack", "warped", "warp", "chip", "chipped"),
        *("burst", "blew", "collapsed", "slumped", "dropped", "torn", "dunted", "stuck"),
        *("exploded", "bloated", "crawled", "squashed", "off-centre"),
    )
)
# How a run stands; "wrapped" alone is loosely, as most do overnight (judgement).
_COVERS: Mapping[str, str] = {
    "wrapped": "loose",
    "covered": "cloth",
    "unwrapped": "open",
    "uncovered": "open",
    "open": "open",
    "plastic": "loose",
    "bag": "loose",
    "bagged": "loose",
    "cloth": "cloth",
    "sealed": "sealed",
    "tight": "sealed",
    "tightly": "sealed",
    "box": "damp_box",
}
_COVERING = frozenset(("under", "loosely", "damp", "well", "up", "stands", "stand", "with"))
_WEATHERS = {"dry": "dry", "warm": "dry", "windy": "dry", "damp": "damp", "cold": "damp"}
_WEATHER = frozenset(("weather", "air"))
_LINK = frozenset(
    (
        *("to", "now", "are", "is", "into", "back", "were", "was", "from", "of", "and", "the"),
        *("in", "at", "each", "apiece", "on", "them", "it", "their"),
    )
)
_DAYS = {"today": 0, "yesterday": 1}
# Parts of a pot that may be glazed or mended by themselves, beside those the form names.
_ZONES = frozenset(
    (
        *("handle", "panel", "body", "lid", "rim", "foot", "spout", "knob", "inside", "outside"),
        *("neck", "base", "wall", "seam", "roof"),
    )
)
_TIME = re.compile(
    r"([-−]?)(\d+(?:\.\d+)?)\s*(min(?:ute)?s?|h(?:ours?|rs?)?)(?![\w-])", re.IGNORECASE
)
_MOST_MINUTES = 24 * 60.0  # of work on one piece
# After a number: how a layer went on, and no count of pieces.
_AMOUNTS = frozenset(("s", "sec", "secs", "second", "seconds", "coat", "coats", "x"))
_GLAZED = frozenset(("glazed", "glaze"))


@dataclass(frozen=True)
class _Token:
    """A word, or a time as one word: then ``minutes`` says it."""

    word: str
    start: int
    end: int
    minutes: float | None = None


def read_bench_line(
    text: str, runs: Sequence[RunWords], glazes: Sequence[GlazeName] | None = None
) -> Reading:
    """Read a line typed at the bench against the runs in hand, and the glazes it may name.

    With ``glazes`` None nothing is known of them yet, and no layers are read.
    """
    head = re.match(r"\s*(?:run\s+)?(\d{1,9})(?=[\s,;:]|$)\s*[:,;]?", text, re.IGNORECASE)
    if head is None:
        if not text.strip():
            return Reading(text)
        said = "Begin with the number of a run, as in “63: 5 trimmed”."
        return Reading(text, problems=(said,))
    number = int(head[1])
    run = next((run for run in runs if run.number == number), None)
    if run is None:
        return Reading(text, None, number, problems=(f"There is no run {number} on the bench.",))
    state = LineState(run)
    for part in _parts(text, head.end()):
        _PartReader(part, state, text, glazes).read()
    return state.reading(text)


def _parts(text: str, start: int) -> list[list[_Token]]:
    """The words of each part. A second count after an action begins a part of its own."""
    parts: list[list[_Token]] = []
    for piece in re.finditer(r"[^,;]+", text[start:]):
        part: list[_Token] = []
        counted = acted = False
        tokens = _tokens(piece[0], start + piece.start())
        for place, token in enumerate(tokens):
            # "2 more split": what follows a count belongs to it.
            after = bool(part) and _count_of(part[-1].word) is not None
            is_count = token.minutes is None and (
                _count_at(tokens, place) is not None or (token.word in _OTHER and not after)
            )
            if is_count and counted and acted:
                parts.append(part)
                part, counted, acted = [], False, False
            counted = counted or is_count
            acted = acted or _is_step(token.word) or token.word in _LOST or token.word in _HARM
            part.append(token)
        if part:
            parts.append(part)
    return parts


def _tokens(text: str, offset: int) -> list[_Token]:
    found: list[_Token] = []
    place = 0
    while place < len(text):
        if text[place].isspace():
            place += 1
            continue
        time = _TIME.match(text, place)
        if time is not None:
            minutes = float(time[2]) * (60 if time[3][0] in "hH" else 1) * (-1 if time[1] else 1)
            at = offset + place
            found.append(_Token(time[0].casefold(), at, offset + time.end(), minutes))
            place = time.end()
            continue
        word = re.compile(r"\S+").match(text, place)
        if word is None:
            break
        raw = word[0].strip(".!()“”\"':")
        if raw:
            at = offset + place + word[0].index(raw)
            found.append(_Token(raw.casefold(), at, at + len(raw)))
        place = word.end()
    return found


def _count_of(word: str) -> int | None:
    """The count a word says; 0 stands for all of them."""
    if re.fullmatch(r"[1-9][0-9]{0,3}", word):
        return int(word)
    return 0 if word in _ALL else _NUMBERS.get(word)


def _count_at(tokens: Sequence[_Token], place: int) -> int | None:
    """The count of pieces said at a place; that of coats or seconds is none."""
    if place + 1 < len(tokens) and tokens[place + 1].word in _AMOUNTS:
        return None
    return _count_of(tokens[place].word)


def _is_step(word: str) -> bool:
    return word in _STEPS or word in _MENDED or word == "glazed"


class _PartReader:
    """Reads one part of a line into the state of the whole."""

    def __init__(
        self,
        tokens: list[_Token],
        state: LineState,
        text: str,
        glazes: Sequence[GlazeName] | None,
    ) -> None:
        self.tokens = tokens
        self.state = state
        self.text = text
        self.glazes = glazes
        self.layers = LayerReading()
        self.how_many: int | None = None
        self.article = False
        self.other = False
        self.minutes: float | None = None

    def read(self) -> None:
        self._take_day()
        self._take_time()
        self._take_layers()
        each = {"each", "apiece"} & {token.word for token in self.tokens}
        if not self.tokens or (self.minutes is not None and self._says_only(_LINK)):
            self._time_of_the_part_before(bool(each))
            return
        words = {token.word for token in self.tokens}
        losing = bool(words & _LOST or words & _HARM)
        self._take_count(losing)
        if losing:
            self._read_loss()
        elif words & _COVERS.keys() and not any(self._names_step(word) for word in words):
            self._read_cover()
        elif self.how_many == 0 and all(token.word in _LINK for token in self.tokens):
            self._unread(self.tokens)
        else:
            self._read_work()

    def _read_work(self) -> None:
        state = self.state
        zone, zone_taken = self._find_zone()
        tokens = [token for token in self.tokens if token not in zone_taken]
        glazing = zone != "" and any(token.word in ("glazed", "glaze") for token in tokens)
        if glazing:
            tokens = [token for token in tokens if token.word not in ("glazed", "glaze")]
        stages, rest = _take_stages(tokens)
        steps = [token for token in rest if self._names_step(token.word)]
        names = [self._step_name(token.word) for token in steps]
        again = any(token.word in _AGAIN for token in rest)
        dropped = _LINK | _AGAIN if steps or glazing else _LINK
        others = [token for token in rest if token not in steps and token.word not in dropped]
        if others:
            self._unread(others)
        if glazing:
            names, steps = [*names, "glazed"], [*steps, *zone_taken]
        each = self._minutes_each(len(names))
        for name in names:
            usual = self._usual_stage(name)
            rework = again or name == "mended"
            at = state.stage_for(usual, stages[0] if stages else None)
            part = zone if name in ("glazed", "mended") or zone else ""
            laid = self.layers.layers if glazing and name == "glazed" else ()
            state.do_step(
                StepDone(
                    name,
                    at or usual,
                    self.how_many or 0,
                    None,
                    part,
                    rework,
                    0,
                    laid,
                    say_laid(laid, self.glazes or ()),
                ),
                usual,
                each,
                self.minutes,
            )
        if names:
            return
        if self.minutes is not None:
            state.problems.append("Say which work took that time, as in “5 trimmed in 40 min”.")
        elif stages:
            state.move(self.how_many, stages)
        elif not others:
            state.problems.append("Say what happened to them: trimmed, to bisque, lost.")

    def _names_step(self, word: str) -> bool:
        return self._step_name(word) != ""

    def _step_name(self, word: str) -> str:
        """The step a word names: one that is usual, or one of the form's own."""
        if word in _STEPS:
            return word
        if word in _MENDED:
            return "mended"
        if word in ("glazed", "glaze") or word in _LINK or (word,) in _STAGE_WORDS:
            return ""
        if word in _COVERS or _count_of(word) is not None:
            return ""
        root = roots_of(word)
        for usual in _STEPS:
            if root and root == roots_of(usual):
                return usual
        for step in self.state.work.steps:
            if root and root <= roots_of(step.name) and len(word) > 2:
                return step.name if root == roots_of(step.name) else word
        return ""

    def _usual_stage(self, name: str) -> str:
        for step in self.state.work.steps:
            if same_work(step.name, name):
                return step.stage
        return "bisque" if name == "glazed" else _STEPS.get(name, "leather_hard")

    def _find_zone(self) -> tuple[str, list[_Token]]:
        """The part of the pieces that is spoken of, as the form spells it, and its words."""
        named = {token.word for token in self.tokens}
        if not ("glazed" in named or "glaze" in named or named & _MENDED):
            return "", []
        for zone in self.state.work.zones:
            wanted = roots_of(zone)
            taken = [token for token in self.tokens if roots_of(token.word) & wanted]
            if taken and frozenset().union(*(roots_of(token.word) for token in taken)) == wanted:
                return zone, taken
        for token in self.tokens:
            root = roots_of(token.word)
            if len(root) == 1 and next(iter(root)) in _ZONES:
                return next(iter(root)), [token]
        return "", []

    def _minutes_each(self, works: int) -> float | None:
        """What the time means for one piece, where it was said so; else it is shared out later."""
        if self.minutes is None:
            return None
        if self.minutes < 0:
            self.state.problems.append("Work takes 0 minutes or more.")
            self.minutes = None
            return None
        if any(token.word in ("each", "apiece") for token in self.tokens):
            return self._possible(self.minutes)
        if works > 1:
            self.minutes /= works
        return None

    def _possible(self, minutes: float) -> float:
        if minutes > _MOST_MINUTES:
            self.state.problems.append("No work on one piece takes more than a day.")
        return minutes

    def _says_only(self, words: frozenset[str]) -> bool:
        return all(token.word in words for token in self.tokens)

    def _time_of_the_part_before(self, each: bool) -> None:
        """A time that stands by itself is that of the work just named."""
        if self.minutes is None:
            return
        last = self.state.actions[-1] if self.state.actions else None
        if not isinstance(last, StepDone) or last.minutes is not None:
            self.state.problems.append(
                "Say which work took that time, as in “5 trimmed in 40 min”."
            )
        elif self.minutes < 0:
            self.state.problems.append("Work takes 0 minutes or more.")
        else:
            minutes = self.minutes if each else self.minutes / last.how_many
            self.state.time_last_step(self._possible(minutes))

    def _read_loss(self) -> None:
        stages, rest = _take_stages(self.tokens)
        spoken = ("lost", "of") if len(rest) > 1 else ("lost",)
        why = " ".join(token.word for token in rest if token.word not in spoken)
        if self.minutes is not None:
            self.state.problems.append("What is lost takes no time: name the work it was lost in.")
        self.state.lose(Loss("", self.how_many or 0, why, self.other), stages, self.how_many)

    def _read_cover(self) -> None:
        words = [token.word for token in self.tokens]
        known = _COVERS.keys() | _COVERING | _LINK | _WEATHERS.keys() | _WEATHER | {"damp-box", "a"}
        others = [token for token in self.tokens if token.word not in known]
        if others:
            self._unread(others)
            return
        if self.how_many and not self.article:
            self.state.problems.append("A run is wrapped as a whole: leave the count away.")
            return
        # Of "wrapped tightly" and "wrapped in a cloth", the word that says more.
        said = [_COVERS[word] for word in words if word in _COVERS]
        plain = [_COVERS[word] for word in words if word in _COVERS
                 and word not in ("wrapped", "covered")]  # fmt: skip
        weather = ""
        if any(word in _WEATHER for word in words):
            weather = next((_WEATHERS[word] for word in words if word in _WEATHERS), "usual")
        self.state.wrap(Wrap((plain or said)[-1], weather))

    def _unread(self, tokens: Sequence[_Token]) -> None:
        self.state.say_unread([(token.start, token.end, token.word) for token in tokens])

    def _take(self, wanted: Callable[[_Token], bool]) -> list[_Token]:
        taken = [token for token in self.tokens if wanted(token)]
        self.tokens = [token for token in self.tokens if not wanted(token)]
        return taken

    def _take_day(self) -> None:
        for token in self._take(lambda token: token.word in _DAYS):
            self.state.days_back = _DAYS[token.word]

    def _take_time(self) -> None:
        times = self._take(lambda token: token.minutes is not None)
        if times:
            self.minutes = times[0].minutes
        if len(times) > 1:
            self._unread(times[1:])

    def _take_layers(self) -> None:
        """What follows on a zone that was glazed, "kelp over chalk", is what was laid there."""
        at = next((at for at, one in enumerate(self.tokens) if one.word in _GLAZED), None)
        zone, zone_words = self._find_zone()
        if at is None or not zone or self.glazes is None:
            return
        first = at + 1
        while first < len(self.tokens) and (
            self.tokens[first] in zone_words
            or self.tokens[first].word in _LINK | _AGAIN | {"with"}
            or (self.tokens[first].word,) in _STAGE_WORDS
            or _count_at(self.tokens, first) is not None
        ):
            first += 1
        said = self.tokens[first:]
        while said and said[-1].word in _LINK | _AGAIN:
            said = said[:-1]
        if not said:
            return
        # A day or a time that stood between them was taken before.
        words = " ".join(self.text[one.start : one.end] for one in said)
        self.layers = read_layers(words, self.glazes)
        self.state.problems += [one.sentence() for one in self.layers.unread]
        if any(layer.zone != "outside" for layer in self.layers.layers):
            self.state.problems.append(f"Say one zone at a time: here it is the {zone}.")
        leads = [one for one in self.tokens[at:first] if one.word == "with"]
        self.tokens = [token for token in self.tokens if token not in [*leads, *said]]

    def _take_count(self, losing: bool) -> None:
        for place, token in enumerate(self.tokens):
            said = _count_at(self.tokens, place)
            if said is not None:
                self.how_many = said
                self.article = token.word in ("a", "an")
                del self.tokens[place]
                break
        # "2 more split", "a sixth split": none of those named. Of a loss in its own words, "the
        # second handle torn", only what stands before the harm is meant.
        for token in list(self.tokens):
            if token.word in _OTHER and (losing or token.word in ("more", "another")):
                self.other = self.other or losing
                self.tokens.remove(token)
                if self.how_many is None:
                    self.how_many = 1
                break


def _take_stages(tokens: list[_Token]) -> tuple[list[str], list[_Token]]:
    stages: list[str] = []
    rest: list[_Token] = []
    place = 0
    while place < len(tokens):
        words: list[str] = []
        taken = 0
        for token in tokens[place : place + 2]:
            words += token.word.split("-")
            taken += 1
            if tuple(words) in _STAGE_WORDS:
                break
        if tuple(words) in _STAGE_WORDS:
            stages.append(_STAGE_WORDS[tuple(words)])
            place += taken
        else:
            rest.append(tokens[place])
            place += 1
    return stages, rest
