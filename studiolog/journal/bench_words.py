"""Reading a line typed at the bench: ``63 trimmed 5, one rim split``.

A line names a run first, then what was done, part by part, parted by commas:

- work done: ``trimmed 5``, ``5 handled``, ``all waxed``;
- pieces that went on: ``6 to bisque``, ``all leather-hard``, ``4 bone dry to bisque``;
- pieces lost, with why: ``lost 2 s-crack``, ``one rim split``, ``2 bisque cracked``;
- a day other than today: ``yesterday``.

No count means one for a loss and all that can be meant for the rest. Pure: nothing is changed.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from studiolog.craft.words import STAGES

_ORDER = tuple(STAGES)
_WORKED = _ORDER[:-2]  # stages a piece in hand can have
_NUMBER_WORDS = (
    *("one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)
_NUMBERS = {word: number for number, word in enumerate(_NUMBER_WORDS, 1)} | {"a": 1, "an": 1}
_ALL = frozenset(("all", "rest"))
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
_LOST = frozenset(("lost", "broke", "broken"))
_HARM = frozenset(
    (
        *("split", "crack", "cracks", "cracked", "s-crack", "warped", "warp", "chip", "chipped"),
        *("burst", "blew", "collapsed", "slumped", "dropped", "torn", "dunted", "stuck"),
        *("exploded", "bloated", "crawled", "squashed", "off-centre"),
    )
)
_LINK = frozenset(("to", "now", "are", "is", "into", "back", "were", "was", "from", "of", "and"))
_DAYS = {"today": 0, "yesterday": 1}


@dataclass(frozen=True)
class StepDone:
    """Work done to so many pieces at a stage."""

    name: str
    stage: str
    how_many: int

    @property
    def words(self) -> str:
        return f"{self.how_many} {self.name}"


@dataclass(frozen=True)
class Move:
    """So many pieces from one stage to another."""

    from_stage: str
    to_stage: str
    how_many: int

    @property
    def words(self) -> str:
        return f"{self.how_many} {STAGES[self.from_stage]} to {STAGES[self.to_stage]}"


@dataclass(frozen=True)
class Loss:
    """So many pieces lost at a stage, and why."""

    stage: str
    how_many: int
    why: str

    @property
    def words(self) -> str:
        return f"{self.how_many} lost, {self.why}" if self.why else f"{self.how_many} lost"


Action = StepDone | Move | Loss


@dataclass(frozen=True)
class RunWords:
    """What reading a line needs of a run: ``counted`` are its unnumbered pieces by stage."""

    run_id: int
    number: int
    counted: Mapping[str, int]


@dataclass(frozen=True)
class Unread:
    """Words that meant nothing: where they stand in the line."""

    start: int
    end: int
    words: str


@dataclass(frozen=True)
class Reading:
    """What a line was read as. ``days_back`` is 1 for yesterday."""

    text: str
    run_id: int | None = None
    run_number: int | None = None
    actions: tuple[Action, ...] = ()
    unread: tuple[Unread, ...] = ()
    problems: tuple[str, ...] = ()
    days_back: int = 0

    @property
    def ready(self) -> bool:
        """Whether all of it was understood and can be done."""
        return bool(self.run_id and self.actions and not self.unread and not self.problems)

    @property
    def label(self) -> str:
        """What the history calls the edit."""
        return f"Run {self.run_number}: {', '.join(action.words for action in self.actions)}"


@dataclass(frozen=True)
class _Token:
    word: str
    start: int
    end: int


@dataclass
class _State:
    """How many counted pieces stand at each stage as the line is read along."""

    left: dict[str, int]
    last_stage: str | None = None
    actions: list[Action] = field(default_factory=list)
    unread: list[Unread] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    days_back: int = 0

    def move(self, from_stage: str, to_stage: str, how_many: int) -> None:
        self.left[from_stage] -= how_many
        self.left[to_stage] = self.left.get(to_stage, 0) + how_many


def read_bench_line(text: str, runs: Sequence[RunWords]) -> Reading:
    """Read a line typed at the bench against the runs in hand."""
    head = re.match(r"\s*(?:run\s+)?(\d{1,9})(?=[\s,;:]|$)[:,;]?", text, re.IGNORECASE)
    if head is None:
        if not text.strip():
            return Reading(text)
        return Reading(text, problems=("Begin with the number of a run, as in “63 trimmed 5”.",))
    number = int(head[1])
    run = next((run for run in runs if run.number == number), None)
    if run is None:
        return Reading(text, None, number, problems=(f"There is no run {number} on the bench.",))
    state = _State(dict(run.counted))
    for part in _parts(text, head.end()):
        _read_part(part, state)
    return Reading(
        text,
        run.run_id,
        number,
        tuple(state.actions),
        tuple(state.unread),
        tuple(dict.fromkeys(state.problems)),
        state.days_back,
    )


def _parts(text: str, start: int) -> list[list[_Token]]:
    """The words of each part. A second count after an action begins a part of its own."""
    parts: list[list[_Token]] = []
    for piece in re.finditer(r"[^,;]+", text[start:]):
        part: list[_Token] = []
        counted = acted = False
        for found in re.finditer(r"[^\s]+", piece[0]):
            raw = found[0].strip(".!()“”\"'")
            if not raw:
                continue
            at = start + piece.start() + found.start() + found[0].index(raw)
            token = _Token(raw.casefold(), at, at + len(raw))
            is_count = _count_of(token.word) is not None
            if is_count and counted and acted:
                parts.append(part)
                part, counted, acted = [], False, False
            counted = counted or is_count
            acted = acted or token.word in _STEPS or token.word in _LOST or token.word in _HARM
            part.append(token)
        if part:
            parts.append(part)
    return parts


def _count_of(word: str) -> int | None:
    """The count a word says; 0 stands for all of them."""
    if re.fullmatch(r"[1-9][0-9]{0,3}", word):
        return int(word)
    return 0 if word in _ALL else _NUMBERS.get(word)


def _read_part(tokens: list[_Token], state: _State) -> None:
    tokens = _take_day(tokens, state)
    if not tokens:
        return
    losing = any(token.word in _LOST or token.word in _HARM for token in tokens)
    how_many, tokens = _take_count(tokens)
    if how_many == 0 and not losing and all(token.word in _LINK for token in tokens):
        _say_unread(tokens, state)
        return
    if losing:
        _read_loss(how_many, tokens, state)
        return
    stages, rest = _take_stages(tokens)
    steps = [token for token in rest if token.word in _STEPS]
    others = [token for token in rest if token not in steps and token.word not in _LINK]
    if others:
        _say_unread(others, state)
    for step in steps:
        _read_step(step.word, how_many, stages[0] if stages else None, state)
    if steps:
        return
    if stages:
        _read_move(how_many, stages, state)
    elif not others:
        state.problems.append("Say what happened to them: trimmed, to bisque, lost.")


def _say_unread(tokens: Sequence[_Token], state: _State) -> None:
    state.unread += [Unread(token.start, token.end, token.word) for token in tokens]


def _take_day(tokens: list[_Token], state: _State) -> list[_Token]:
    kept = []
    for token in tokens:
        if token.word in _DAYS:
            state.days_back = _DAYS[token.word]
        else:
            kept.append(token)
    return kept


def _take_count(tokens: list[_Token]) -> tuple[int | None, list[_Token]]:
    for place, token in enumerate(tokens):
        said = _count_of(token.word)
        if said is not None:
            rest = tokens[:place] + tokens[place + 1 :]
            return said, rest
    return None, tokens


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


def _read_step(name: str, how_many: int | None, stage: str | None, state: _State) -> None:
    usual = _STEPS[name]
    at = stage or (usual if state.left.get(usual) else _youngest(state))
    have = state.left.get(at, 0) if at else 0
    wanted = how_many or have
    if at is None or not have:
        state.problems.append(f"No counted piece is {STAGES[stage or usual]}.")
        return
    if wanted > have:
        state.problems.append(_only(have, at))
        return
    state.last_stage = at
    state.actions.append(StepDone(name, at, wanted))


def _read_move(how_many: int | None, stages: list[str], state: _State) -> None:
    to_stage = stages[-1]
    if len(stages) > 2:
        state.problems.append("Say from one stage to one other.")
        return
    if len(stages) == 2:
        if stages[0] == to_stage:
            state.problems.append(f"They are {STAGES[to_stage]} already.")
            return
        have = state.left.get(stages[0], 0)
        wanted = how_many or have
        if not have or wanted > have:
            state.problems.append(_only(have, stages[0]))
            return
        _do_move(stages[0], to_stage, wanted, state)
        return
    # The nearest state before it is meant first, then those before that.
    before = [
        stage for stage in reversed(_ORDER[: _ORDER.index(to_stage)]) if state.left.get(stage)
    ]
    have = sum(state.left[stage] for stage in before)
    wanted = how_many or have
    if not have:
        state.problems.append(
            f"No counted piece is still before {STAGES[to_stage]}. "
            f"To go back, name both: “fired to {STAGES[to_stage]}”."
        )
        return
    if wanted > have:
        noun = "piece is" if have == 1 else "pieces are"
        state.problems.append(f"Only {have} counted {noun} before {STAGES[to_stage]}.")
        return
    for stage in before:
        some = min(wanted, state.left[stage])
        if some:
            _do_move(stage, to_stage, some, state)
            wanted -= some


def _do_move(from_stage: str, to_stage: str, how_many: int, state: _State) -> None:
    state.move(from_stage, to_stage, how_many)
    state.last_stage = to_stage
    state.actions.append(Move(from_stage, to_stage, how_many))


def _read_loss(how_many: int | None, tokens: list[_Token], state: _State) -> None:
    stages, rest = _take_stages(tokens)
    why = " ".join(token.word for token in rest if token.word != "lost" and token.word != "of")
    at = stages[0] if stages else state.last_stage or _youngest(state)
    if len(stages) > 1 or at is None or not state.left.get(at):
        where = STAGES[at] if at else "in hand"
        state.problems.append(f"No counted piece is {where}: say which were lost.")
        return
    have = state.left[at]
    wanted = have if how_many == 0 else how_many or 1
    if wanted > have:
        state.problems.append(_only(have, at))
        return
    if not why:
        state.problems.append("Say why they were lost, as in “lost 2 s-crack”.")
        return
    state.move(at, "lost", wanted)
    state.actions.append(Loss(at, wanted, why))


def _youngest(state: _State) -> str | None:
    return next((stage for stage in _WORKED if state.left.get(stage)), None)


def _only(have: int, stage: str) -> str:
    if not have:
        return f"No counted piece is {STAGES[stage]}."
    return f"Only {have} counted {'piece is' if have == 1 else 'pieces are'} {STAGES[stage]}."
