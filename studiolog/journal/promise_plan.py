"""What is owed as a problem for the simulation: read once, then worked on without the journal."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from statistics import median

from sqlalchemy import and_, func, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.ware.promise import (
    ENTERS,
    LOST_AT,
    STAYS,
    KilnPlan,
    Line,
    Lot,
    Minutes,
    PromiseProblem,
)
from studiolog.craft.ware.throws import MOST_GOOD, how_many_to_throw
from studiolog.journal.demand import Demand, read_demand
from studiolog.journal.limits import read_limits
from studiolog.journal.stage_times import (
    KilnRhythm,
    StageTimes,
    read_stage_times,
    room_of_litres,
)
from studiolog.journal.studio_days import StudioTimes, read_studio_times
from studiolog.journal.waiting_for import PlannedStep, plan_steps
from studiolog.problems import UserProblem
from studiolog.records.firings import Firing
from studiolog.records.forms import Form, FormStep
from studiolog.records.orders import Order, OrderLine
from studiolog.records.pieces import Piece, Placement, Run, StageChange

_IN_HAND = ENTERS[1:7]
_HANDS = ("forming", "leather_hard", "glazing", "finishing")
_HANDS_AT = {
    "wet": "forming", "leather_hard": "leather_hard", "bone_dry": "leather_hard",
    "bisque": "glazing", "glazed": "glazing", "fired": "finishing", "finished": "finishing",
}  # fmt: skip
_USUAL_SHARES = (0.4, 0.3, 0.15, 0.15)
_LONGEST_IN_KILN = timedelta(days=8)
_FEW = 5
_MOST_LOTS = 8
_MANY_LINES = 120
_MOST_DRAWN = 1_200_000
_FEWEST_FUTURES = 1_000
_OTHER_KEY = 1 << 60
NEW_KEY = 1 << 59
"""The key of a line that nobody has ordered yet."""


@dataclass(frozen=True)
class FormPlan:
    """How a form is made, as far as times go. ``form_id`` None: a form nobody named."""

    form_id: int | None
    name: str
    line: Line
    says_minutes: bool
    runs: int
    loss_of: str

    def wants(self, pieces: int, confidence: float, most: int, key: int = NEW_KEY) -> Line:
        """A line of so many, all still to be thrown. Raises `UserProblem` for no pieces."""
        if not 1 <= pieces <= MOST_GOOD:
            told = f"An order is for 1 to {MOST_GOOD} pieces."
            raise UserProblem(told, {"pieces": told})
        lots = lots_to_throw(key, pieces, self.line, confidence, most)
        return Line(
            key, pieces, lots, self.line.minutes, self.line.stays, self.line.losses, None,
            self.line.room,
        )  # fmt: skip


@dataclass(frozen=True)
class PromiseLine:
    """A line of an order or a part of a set, as it is shown beside its forecast.

    ``key`` is its line's in the problem; ``to_throw`` how many are still to be thrown, with those
    over that the losses ask for.
    """

    key: int
    demand: Demand
    to_throw: int
    run_ids: tuple[int, ...]
    run_numbers: Mapping[int, int] = field(default_factory=dict)

    @property
    def promised_on(self) -> date | None:
        return self.demand.promised_on


@dataclass(frozen=True)
class PromisePlan:
    """The problem with all that explains it: who waits, how forms are made, what is stated."""

    today: date
    problem: PromiseProblem
    lines: tuple[PromiseLine, ...]
    forms: tuple[FormPlan, ...]
    any_form: FormPlan
    times: StageTimes
    studio: StudioTimes
    limits: Limits = SHIPPED
    typical_pieces: int = 12
    typical_weeks: int = 8
    typical_of: int = 0
    other_pieces: int = 0
    elsewhere: tuple[Demand, ...] = ()
    """Parts of sets that are bought or lent: they hold no promise up, and are not foreseen."""

    @property
    def confidence(self) -> float:
        return self.limits["promise_confidence"]

    def plan_of(self, form_id: int | None) -> FormPlan:
        """How a form is made; a form the journal does not know as any other."""
        for plan in self.forms:
            if form_id is not None and plan.form_id == form_id:
                return plan
        return self.any_form


@dataclass
class _Hand:
    """Pieces of one run at one stage that count for a line."""

    run_id: int | None
    stage: str
    pieces: int
    hours: float = 0.0
    in_kiln_h: float | None = None


@dataclass
class _Shelf:
    """What is known of pieces in hand: since when by run and stage, and how many stand in a kiln.

    What a line was given of those in a kiln is taken from ``lit``: no other has it too.
    """

    since: Mapping[tuple[int | None, str], datetime] = field(default_factory=dict)
    lit: dict[tuple[int | None, str], tuple[int, datetime]] = field(default_factory=dict)
    numbers: Mapping[int, int] = field(default_factory=dict)
    crowded: bool = False


def read_promise_plan(session: Session, now: datetime) -> PromisePlan:
    """All that decides when what is owed will be ready, as the journal has it at ``now``."""
    today, limits = now.date(), read_limits(session)
    times = read_stage_times(session, limits)
    studio = read_studio_times(session, today, limits)
    forms, any_form = read_form_plans(session, times, limits)
    by_form = {plan.form_id: plan for plan in forms}
    owed = read_demand(session, today)
    demands = tuple(demand for demand in owed if not demand.is_made_elsewhere)
    elsewhere = tuple(demand for demand in owed if demand.is_made_elsewhere)
    shelf = _read_shelf(session, demands, now)
    shown: list[PromiseLine] = []
    lines: list[Line] = []
    for demand in demands:
        plan = by_form.get(demand.form_id) or any_form
        line, throw = _line_of(demand, plan, times, shelf, today, now, limits)
        runs = tuple(run for run in demand.progress.by_run if run is not None)
        lines.append(line)
        numbers = {run: shelf.numbers[run] for run in runs if run in shelf.numbers}
        shown.append(PromiseLine(line.key, demand, throw, runs, numbers))
    others, other_pieces = _read_others(session, demands, any_form)
    pieces, weeks, of = _read_typical(session, limits)
    kilns = read_kilns(session)
    problem = PromiseProblem(
        today,
        (*lines, *others),
        kiln_plan(times.rhythm("bisque"), kilns, now),
        kiln_plan(times.rhythm("glaze"), kilns, now),
        studio.work(limits["promise_pace"]),
        now.hour + now.minute / 60.0,
        _futures_for(lines, int(limits["promise_futures"])),
        1,
        int(limits["promise_horizon_days"]),
        limits["promise_confidence"],
    )
    return PromisePlan(
        today, problem, tuple(shown), forms, any_form, times, studio, limits, pieces, weeks, of,
        other_pieces, elsewhere,
    )  # fmt: skip


def _futures_for(lines: Sequence[Line], wanted: int) -> int:
    """Fewer futures where very much is owed: the answer is there in seconds all the same."""
    lots = sum(len(line.lots) for line in lines)
    return min(wanted, max(_FEWEST_FUTURES, _MOST_DRAWN // max(1, lots)))


def _line_of(
    demand: Demand,
    plan: FormPlan,
    times: StageTimes,
    shelf: _Shelf,
    today: date,
    now: datetime,
    limits: Limits,
) -> tuple[Line, int]:
    key = (demand.line_id or 0) << 24 | (demand.part_id or 0)
    stays = plan.line.stays
    if demand.clay_id is not None:
        stays = tuple(times.usual(stage, plan.form_id, demand.clay_id) for stage in STAYS)
    lots = []
    hands = _in_hand(demand, shelf, now)
    for hand in _together(hands) if shelf.crowded else hands:
        place = ENTERS.index(hand.stage)
        inside = hand.in_kiln_h is not None
        luck = (key * 1_000_003 + (hand.run_id or 0) * 16 + place * 2 + inside) & (1 << 58) - 1
        lots.append(Lot(luck, hand.stage, hand.pieces, hand.hours, hand.in_kiln_h))
    base = Line(key, 0, (), plan.line.minutes, stays, plan.line.losses, None, plan.line.room)
    thrown = lots_to_throw(
        key,
        demand.to_start,
        base,
        limits["promise_confidence"],
        int(limits["promise_run_pieces"]),
    )
    promised = None if demand.promised_on is None else (demand.promised_on - today).days
    line = Line(
        key, demand.progress.left, (*lots, *thrown), base.minutes, stays, base.losses, promised,
        base.room,
    )  # fmt: skip
    return line, sum(lot.pieces for lot in thrown)


def lots_to_throw(key: int, good: int, line: Line, confidence: float, most: int) -> tuple[Lot, ...]:
    """So many good ones still to be thrown, with those over that the losses ask for, in runs.

    Where all is lost no number is enough; as many as are wanted are thrown then.
    """
    if good <= 0:
        return ()
    from studiolog.craft.ware.drawn_losses import loss_until_finished

    rate = loss_until_finished(line.losses, 0).of_one_run
    throw = how_many_to_throw(min(good, MOST_GOOD), confidence, rate) or good
    runs = min(_MOST_LOTS, -(-throw // max(1, most)))
    each, over = divmod(throw, runs)
    base = (key * 1_000_003 + 500_009) & (1 << 58) - 1
    return tuple(
        Lot(base + place, "to_throw", each + (1 if place < over else 0)) for place in range(runs)
    )


def _in_hand(demand: Demand, shelf: _Shelf, now: datetime) -> list[_Hand]:
    hands = []
    for run_id, stages in demand.progress.by_run.items():
        for stage, pieces in stages.items():
            if stage not in ENTERS:
                continue
            since = shelf.since.get((run_id, stage))
            hours = max(0.0, (now - since).total_seconds() / 3600) if since else 0.0
            there, lit_at = shelf.lit.get((run_id, stage), (0, now))
            inside = min(there, pieces)
            if inside:
                shelf.lit[run_id, stage] = (there - inside, lit_at)
                lit_h = (now - lit_at).total_seconds() / 3600
                hands.append(_Hand(run_id, stage, inside, hours, lit_h))
            if pieces > inside:
                hands.append(_Hand(run_id, stage, pieces - inside, hours))
    return hands


def _together(hands: Sequence[_Hand]) -> list[_Hand]:
    """Of very much that is owed: what stands at one stage as one lot, as old as its youngest."""
    found: dict[tuple[str, bool], _Hand] = {}
    for hand in hands:
        key = (hand.stage, hand.in_kiln_h is not None)
        held = found.setdefault(key, _Hand(None, hand.stage, 0, hand.hours, hand.in_kiln_h))
        held.pieces += hand.pieces
        held.hours = min(held.hours, hand.hours)
    return list(found.values())


def _read_shelf(session: Session, demands: Sequence[Demand], now: datetime) -> _Shelf:
    runs = {run for demand in demands for run in demand.progress.by_run if run is not None}
    if not runs:
        return _Shelf()
    since = {
        (run_id, stage): at
        for run_id, stage, at in session.execute(
            select(Piece.run_id, Piece.stage, func.max(StageChange.at))
            .join(
                StageChange,
                and_(StageChange.piece_id == Piece.id, StageChange.stage == Piece.stage),
            )
            .where(Piece.run_id.in_(runs), Piece.stage.in_(_IN_HAND))
            .group_by(Piece.run_id, Piece.stage)
        )
    }
    lit = {
        (run_id, stage): (pieces, at)
        for run_id, stage, pieces, at in session.execute(
            select(
                Piece.run_id,
                Piece.stage,
                func.count(Piece.id.distinct()),
                func.max(Firing.started_at),
            )
            .join(Placement, Placement.piece_id == Piece.id)
            .join(Firing, Firing.id == Placement.firing_id)
            .where(
                Piece.run_id.in_(runs),
                or_(
                    and_(Piece.stage == "bone_dry", Firing.kind == "bisque"),
                    and_(Piece.stage == "glazed", Firing.kind == "glaze"),
                ),
                Firing.started_at <= now,
                Firing.started_at >= now - _LONGEST_IN_KILN,
            )
            .group_by(Piece.run_id, Piece.stage)
        )
    }
    named = session.execute(select(Run.id, Run.number).where(Run.id.in_(runs)))
    numbers = {row.id: row.number for row in named}
    return _Shelf(since, lit, numbers, len(demands) > _MANY_LINES)


def read_form_plans(
    session: Session, times: StageTimes, limits: Limits
) -> tuple[tuple[FormPlan, ...], FormPlan]:
    """How each form is made as far as times go, and how one that nobody named."""
    steps: dict[int, list[tuple[str, str | None, float | None, int]]] = defaultdict(list)
    for form_id, name, stage, minutes, persons in session.execute(
        select(FormStep.form_id, FormStep.name, FormStep.stage, FormStep.minutes, FormStep.persons)
        .order_by(FormStep.form_id, FormStep.position)
    ):  # fmt: skip
        steps[form_id].append((name, stage, minutes, persons))
    counted = session.execute(
        select(Run.form_id, func.count()).where(Run.purpose != "test").group_by(Run.form_id)
    )
    runs: dict[int | None, int] = {row[0]: row[1] for row in counted}
    told = {form_id: _minutes_of(plan_steps(rows)) for form_id, rows in steps.items()}
    known = [minutes.all for minutes in told.values() if minutes is not None]
    usual_min = median(known) if known else limits["promise_piece_minutes"]
    usual = Minutes(*(share * usual_min for share in _USUAL_SHARES))
    usual_l = times.rhythm("glaze").room_l or times.rhythm("bisque").room_l
    plans = []
    for form in session.scalars(select(Form).order_by(Form.name)):
        said = told.get(form.id)
        room = 1.0
        if usual_l and form.fired_across_mm and form.fired_height_mm:
            litres = room_of_litres(form.fired_across_mm, form.fired_deep_mm, form.fired_height_mm)
            room = min(max(litres / usual_l, 0.05), 50.0)
        plans.append(_plan(form.id, form.name, said or usual, times, room, said is not None, runs))
    return tuple(plans), _plan(None, "", usual, times, 1.0, False, runs)


def _plan(
    form_id: int | None,
    name: str,
    minutes: Minutes,
    times: StageTimes,
    room: float,
    says_minutes: bool,
    runs: Mapping[int | None, int],
) -> FormPlan:
    stays = tuple(times.usual(stage, form_id) for stage in STAYS)
    losses = tuple(times.loss(stage, form_id) for stage in LOST_AT)
    of = "form" if any(loss.of == "form" for loss in losses) else losses[0].of
    line = Line(0, 0, (), minutes, stays, losses, None, room)
    return FormPlan(form_id, name, line, says_minutes, runs.get(form_id, 0), of)


def _minutes_of(steps: Sequence[PlannedStep]) -> Minutes | None:
    """Minutes of one piece by what the hands do; None where no step says its minutes."""
    if not any(step.minutes for step in steps):
        return None
    sums = dict.fromkeys(_HANDS, 0.0)
    for step in steps:
        sums[_HANDS_AT.get(step.stage, "forming")] += step.minutes or 0.0
    return Minutes(*(sums[name] for name in _HANDS))


def _read_others(
    session: Session, demands: Sequence[Demand], plan: FormPlan
) -> tuple[tuple[Line, ...], int]:
    """Ware on the bench that nobody waits for: it fills kilns, and comes last."""
    in_hand: dict[str, int] = dict.fromkeys(_IN_HAND[:5], 0)
    for stage, count in session.execute(
        select(Piece.stage, func.count())
        .where(Piece.stage.in_(list(in_hand)), Piece.kind == "ware")
        .group_by(Piece.stage)
    ):
        in_hand[stage] = count
    for demand in demands:
        for stage, count in demand.progress.at_hand.items():
            if stage in in_hand:
                in_hand[stage] -= count
    # A piece may count for a set and for the line that asks for it: then fewer are left over.
    lots = tuple(
        Lot(_OTHER_KEY + place, stage, count)
        for place, (stage, count) in enumerate(in_hand.items())
        if count > 0
    )
    if not lots:
        return (), 0
    none = Minutes(0.0)
    line = Line(_OTHER_KEY, 0, lots, none, plan.line.stays, plan.line.losses)
    return (line,), sum(lot.pieces for lot in lots)


def _read_typical(session: Session, limits: Limits) -> tuple[int, int, int]:
    """Pieces of a usual line, weeks of a usual promise, and from how many orders that is known."""
    sizes = list(
        session.scalars(
            select(OrderLine.wanted)
            .where(OrderLine.set_id.is_(None))
            .order_by(OrderLine.id.desc())
            .limit(60)
        )
    )
    spans = [
        (promised - ordered).days / 7
        for ordered, promised in session.execute(
            select(Order.ordered_on, Order.promised_on)
            .where(Order.ordered_on.is_not(None), Order.promised_on > Order.ordered_on)
            .order_by(Order.id.desc())
            .limit(60)
        )
        if ordered is not None and promised is not None
    ]
    pieces = round(median(sizes)) if len(sizes) >= _FEW else int(limits["promise_typical_pieces"])
    weeks = round(median(spans)) if len(spans) >= _FEW else int(limits["promise_typical_weeks"])
    return max(1, pieces), max(1, weeks), len(spans) if len(spans) >= _FEW else 0


def read_kilns(session: Session) -> dict[int, set[str]]:
    """What each kiln is used for, of bisque and glaze firings."""
    found: dict[int, set[str]] = defaultdict(set)
    for kiln_id, kind in session.execute(
        select(Firing.kiln_id, Firing.kind).where(Firing.kind.in_(("bisque", "glaze"))).distinct()
    ):
        found[kiln_id].add(kind)
    return found


def kiln_plan(rhythm: KilnRhythm, kilns: Mapping[int, set[str]], now: datetime) -> KilnPlan:
    """A kind of firing as the simulation takes it, from its rhythm and what each kiln does."""
    used = [kinds for kinds in kilns.values() if rhythm.kind in kinds]
    # One kiln that does both kinds stands with the other kind in between.
    turns = (max(len(kinds) for kinds in used) / len(used)) if used else 2.0
    since = None
    if rhythm.last_at is not None:
        since = max(0.0, (now - rhythm.last_at).total_seconds() / 3600)
    return KilnPlan(
        rhythm.gap,
        rhythm.in_kiln,
        max(1.0, rhythm.holds),
        max(1.0, rhythm.pieces),
        since,
        rhythm.in_kiln.median_h * turns,
    )
