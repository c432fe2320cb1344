"""What came of each way of making a form: minutes, rework, losses, and how sure that is."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.evidence.medians import Middle, add_medians, compare_medians
from studiolog.craft.evidence.rates import MIN_PIECES, Rate, differ, rate_of
from studiolog.craft.words import STAGES, join_words
from studiolog.journal.waiting_for import roots_of, same_work
from studiolog.journal.ways import WayLine, list_ways
from studiolog.records.pieces import Piece, Run, StageChange, Step

_ORDER = {stage: place for place, stage in enumerate(STAGES)}
_THROUGH = _ORDER["fired"]


@dataclass(frozen=True)
class WayRun:
    """A run that was made one way."""

    run_id: int
    number: int
    made_on: date


@dataclass(frozen=True)
class StepTime:
    """What a step took, minutes for one piece, as far as it was timed."""

    name: str
    minutes: float
    timed: int


@dataclass(frozen=True)
class StageLoss:
    """How many were lost at a stage, of those that went on from it or were lost there.

    A run counts once at least half of what is not lost there has gone on.
    """

    stage: str
    lost: Rate


@dataclass(frozen=True)
class WayResult:
    """One way with what came of it; ``way`` None is the runs for which nobody said which.

    ``minutes`` adds the medians of its timed steps, rework apart; a step done zone by zone counts
    once for a piece. ``rework`` is of the pieces whose work was logged, ``rework_min`` spread over
    all of those. ``lost`` is of the pieces that are through: fired, or lost on the way, of runs of
    which at least half of what is not lost is fired (before that only losses would show).
    ``in_work`` are not there yet.
    """

    way: WayLine | None
    runs: tuple[WayRun, ...]
    pieces: int
    in_work: int
    minutes: Middle | None
    steps: tuple[StepTime, ...]
    rework: Rate
    rework_min: float
    lost: Rate
    losses: tuple[StageLoss, ...]

    @property
    def name(self) -> str:
        return self.way.name if self.way is not None else "way not said"


@dataclass(frozen=True)
class WaysCompared:
    """Ways side by side; ``sentences`` say what differs, or that it is too early to tell."""

    results: tuple[WayResult, ...]
    sentences: tuple[str, ...]


@dataclass
class _Gathered:
    """The pieces of one way while they are read."""

    runs: list[WayRun]
    # By run where each piece stands, and where it was lost, else "".
    stages: dict[int, list[tuple[str, str]]]
    minutes: dict[str, list[float]]
    logged: set[int]
    reworked: set[int]
    rework_min: float = 0.0


def compare_ways(session: Session, form_id: int) -> WaysCompared:
    """The ways of a form side by side, each with what came of its runs."""
    ways = list_ways(session, form_id)
    if not ways:
        return WaysCompared((), ())
    gathered: dict[int | None, _Gathered] = defaultdict(
        lambda: _Gathered([], defaultdict(list), defaultdict(list), set(), set())
    )
    known = {way.way_id for way in ways}
    for row in session.execute(
        select(Run.id, Run.number, Run.made_on, Run.way_id)
        .where((Run.form_id == form_id) | Run.way_id.in_(known))
        .order_by(Run.number)
    ):
        of_way = row.way_id if row.way_id in known else None
        gathered[of_way].runs.append(WayRun(row.id, row.number, row.made_on))
    _gather_pieces(session, gathered)
    results = [_tell(way, gathered[way.way_id]) for way in ways]
    if gathered[None].runs:
        results.append(_tell(None, gathered[None]))
    told = [result for result in results if result.way is not None and result.runs]
    sentences: list[str] = []
    for other in told[1:]:
        sentences += _say_difference(told[0], other, gathered)
    return WaysCompared(tuple(results), tuple(sentences))


def _gather_pieces(session: Session, gathered: dict[int | None, _Gathered]) -> None:
    home = {run.run_id: one for one in gathered.values() for run in one.runs}
    rows = session.execute(
        select(Piece.id, Piece.run_id, Piece.stage, Piece.lost_at).where(
            Piece.run_id.in_(home), Piece.kind == "ware"
        )
    ).all()
    unsaid = [row.id for row in rows if row.stage == "lost" and row.lost_at is None]
    before = _stage_before_loss(session, unsaid)
    whose: dict[int, _Gathered] = {}
    for row in rows:
        one = whose[row.id] = home[row.run_id]
        lost_at = (row.lost_at or before.get(row.id, "wet")) if row.stage == "lost" else ""
        one.stages[row.run_id].append((row.stage, lost_at))
    minutes: dict[tuple[int, str], float] = defaultdict(float)
    known: dict[str, str] = {}
    for step in session.execute(
        select(Step.piece_id, Step.name, Step.minutes, Step.rework)
        .join(Piece, Piece.id == Step.piece_id)
        .where(Piece.run_id.in_(home), Piece.kind == "ware")
    ):
        one = whose[step.piece_id]
        one.logged.add(step.piece_id)
        if step.rework:
            one.reworked.add(step.piece_id)
            one.rework_min += step.minutes or 0.0
        elif step.minutes is not None:
            minutes[step.piece_id, _one_name(step.name, known)] += step.minutes
    for (piece_id, name), took in minutes.items():
        whose[piece_id].minutes[name].append(took)


def _one_name(name: str, known: dict[str, str]) -> str:
    """The first name by which a work was known: "trim" and "trimmed" are one, a part is its own."""
    if name not in known:
        alike = (
            first
            for first in known.values()
            if same_work(first, name) and len(roots_of(first)) == len(roots_of(name))
        )
        known[name] = next(alike, name)
    return known[name]


def _stage_before_loss(session: Session, piece_ids: Sequence[int]) -> dict[int, str]:
    """The stage each lost piece had reached, from its history, where it was not kept by itself."""
    rows = session.execute(
        select(StageChange.piece_id, StageChange.stage)
        .where(StageChange.piece_id.in_(piece_ids), StageChange.stage != "lost")
        .order_by(StageChange.at, StageChange.id)
    )
    return {row.piece_id: row.stage for row in rows}


def _tell(way: WayLine | None, one: _Gathered) -> WayResult:
    pieces = [piece for run in one.stages.values() for piece in run]
    told = [piece for run in one.stages.values() if _is_told(run) for piece in run]
    lost = sum(bool(lost_at) for _, lost_at in told)
    steps = tuple(
        StepTime(name, median(minutes), len(minutes)) for name, minutes in one.minutes.items()
    )
    return WayResult(
        way=way,
        runs=tuple(one.runs),
        pieces=len(pieces),
        in_work=sum(not _is_through(piece) for piece in pieces),
        minutes=add_medians(list(one.minutes.values())) if one.minutes else None,
        steps=steps,
        rework=rate_of(len(one.reworked), len(one.logged)),
        rework_min=one.rework_min / len(one.logged) if one.logged else 0.0,
        lost=rate_of(lost, sum(_is_through(piece) for piece in told)),
        losses=tuple(_losses(list(one.stages.values()))),
    )


def _is_through(piece: tuple[str, str]) -> bool:
    """Fired, or lost on the way."""
    stage, lost_at = piece
    return bool(lost_at) or _ORDER[stage] >= _THROUGH


def _is_told(run: Sequence[tuple[str, str]]) -> bool:
    """Whether at least half of what is not lost is fired."""
    good = [stage for stage, lost_at in run if not lost_at]
    return 2 * sum(_ORDER[stage] >= _THROUGH for stage in good) >= len(good)


def _losses(runs: Sequence[Sequence[tuple[str, str]]]) -> list[StageLoss]:
    found: list[StageLoss] = []
    for stage, place in _ORDER.items():
        if place > _THROUGH:
            break
        lost = gone_on = 0
        for run in runs:
            lost_here = sum(lost_at == stage for _, lost_at in run)
            there = sum(standing == stage for standing, _ in run)
            passed = sum(_ORDER[lost_at or standing] > place for standing, lost_at in run)
            if passed >= there:
                lost, gone_on = lost + lost_here, gone_on + passed
        if lost:
            found.append(StageLoss(stage, rate_of(lost, lost + gone_on)))
    return found


def _say_difference(
    first: WayResult, other: WayResult, gathered: dict[int | None, _Gathered]
) -> list[str]:
    """What sets another way apart from the first: minutes, rework, losses."""
    assert first.way is not None
    assert other.way is not None
    one, two = gathered[first.way.way_id], gathered[other.way.way_id]
    pair = f"“{other.name}” and “{first.name}”"
    sentences = [_say_minutes(first, other, one, two)]
    for what, a, b in (
        ("need rework", first.rework, other.rework),
        ("are lost", first.lost, other.lost),
    ):
        if min(a.trials, b.trials) < MIN_PIECES:
            few = min(a.trials, b.trials)
            noun = "piece" if few == 1 else "pieces"
            sentences.append(
                f"How many {what} can't be told apart yet: only {few} {noun} on one side."
            )
        elif differ(a, b):
            more, less = (other, first) if (b.rate or 0) > (a.rate or 0) else (first, other)
            sentences.append(f"More pieces {what} by “{more.name}” than by “{less.name}”.")
        else:
            sentences.append(f"Between {pair} it is not sure by which more pieces {what}.")
    if min(len(one.runs), len(two.runs)) == 1:
        sentences.append("One side is a single run: the day may be the reason, and not the way.")
    return sentences


def _say_minutes(first: WayResult, other: WayResult, one: _Gathered, two: _Gathered) -> str:
    shared = [name for name in one.minutes if name in two.minutes]
    if not shared:
        return (
            f"Minutes can't be compared: no step was timed both by “{first.name}” "
            f"and by “{other.name}”."
        )
    apart = compare_medians(
        [one.minutes[name] for name in shared], [two.minutes[name] for name in shared]
    )
    over = f" over what was timed both ways ({join_words(shared)})"
    if apart.fewest < MIN_PIECES:
        noun = "piece" if apart.fewest == 1 else "pieces"
        return f"Minutes{over}: too few to tell, a step was timed on {apart.fewest} {noun} only."
    if apart.low <= 0 <= apart.high:
        return f"Minutes{over}: no clear difference."
    word = "more" if apart.value > 0 else "less"
    low, high = sorted((abs(apart.low), abs(apart.high)))
    return (
        f"“{other.name}” takes about {abs(apart.value):.0f} min a piece {word} than "
        f"“{first.name}” (between {low:.0f} and {high:.0f}){over}."
    )
