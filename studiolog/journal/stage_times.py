"""How long this studio's ware stays at each stage, how much is lost there, how often it fires.

Pieces of a run move together, so a run counts once: its time at a stage is the median of its
pieces. Lone pieces count as runs of one; tests and tools are left out. All of it is read through
what was held before (`craft.ware.usual_time`, `craft.ware.loss`): stated values first, moved by
the studio as a whole, that by the clay, that by the form.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from statistics import median
from typing import Final

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.ware.loss import LossRate, learn_loss, stated_loss
from studiolog.craft.ware.usual_time import UsualTime, learn_time, stated_time
from studiolog.journal.limits import read_limits
from studiolog.records.firings import Firing
from studiolog.records.forms import Form
from studiolog.records.pieces import CoverChange, Piece, Placement, Run, StageChange

PATH: Final = ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired", "finished")
"""The stages a piece passes, in order."""
_PLACE: Final = {stage: place for place, stage in enumerate(PATH)}
_FIRED_AS: Final = {"bisque": "bisque", "glaze": "fired"}
_WAITS_FOR: Final = {"bone_dry": "bisque", "glazed": "glaze"}
_LOGGED_LATE_H: Final = 0.25  # two stages logged at once tell nothing of the time between
_MOST_FIRINGS: Final = 60
_MOST_DAYS_IN_KILN: Final = 10
_FIRINGS_WORTH: Final = 3.0
_GAP_MM: Final = 10.0
_SHELF_MM: Final = 30.0


@dataclass(frozen=True, slots=True)
class StageTime:
    """One run at one stage until the next: hours by the wall clock, and how it stood meanwhile.

    ``run_id`` is None for a lone piece; ``cover`` and ``weather`` are those that held longest, ""
    where nobody said.
    """

    run_id: int | None
    form_id: int | None
    clay_id: int | None
    stage: str
    began_at: datetime
    hours: float
    pieces: int
    cover: str = ""
    weather: str = ""


@dataclass(frozen=True, slots=True)
class StageLoss:
    """Of one run: so many pieces whose time at a stage is over, and so many lost there.

    A run counts once at least half of what is not lost there has gone on: what splits shows at
    once, what is sound shows only when it leaves, and before that every run would seem all lost.
    """

    form_id: int | None
    stage: str
    pieces: int
    lost: int


@dataclass(frozen=True, slots=True)
class KilnRhythm:
    """How often ware is fired, and how much at once. ``gap`` runs from one lighting to the next.

    ``in_kiln`` from lighting to unloading. ``pieces`` is the usual load and ``holds`` the fullest
    (one load in ten was fuller), in pieces of the usual size: they take ``room_l`` litres each with
    the gap around them (None where no form says its size). ``firings`` were counted, ``loads`` are
    those whose pieces are known; ``last_at`` is the newest.
    """

    kind: str
    gap: UsualTime
    in_kiln: UsualTime
    pieces: float
    firings: int
    loads: int
    last_at: datetime | None
    holds: float
    room_l: float | None = None


@dataclass(frozen=True)
class StageTimes:
    """What the journal tells of times, losses and firings; nothing at all is told by the limits."""

    times: tuple[StageTime, ...] = ()
    losses: tuple[StageLoss, ...] = ()
    rhythms: tuple[KilnRhythm, ...] = ()
    limits: Limits = SHIPPED

    @property
    def runs(self) -> int:
        """Runs of which at least one time is known."""
        return len({(time.run_id, None if time.run_id else time.began_at) for time in self.times})

    def usual(
        self,
        stage: str,
        form_id: int | None = None,
        clay_id: int | None = None,
        *,
        cover: str = "",
        weather: str = "",
    ) -> UsualTime:
        """The usual time at ``stage`` until the next: of the studio, moved by clay, then form.

        ``cover`` and ``weather`` count only runs that stood so. Waiting for a kiln is in the time
        at bone dry and glazed. Raises KeyError for a stage that is not of `PATH` or has no next.
        """
        return _usual(self, stage, form_id, clay_id, cover, weather)

    def loss(self, stage: str, form_id: int | None = None) -> LossRate:
        """The share lost at ``stage``: of the studio, moved by the form. KeyError as above."""
        return _loss(self, stage, form_id)

    def loss_from(self, stage: str, form_id: int | None = None) -> LossRate:
        """The share lost from ``stage`` until finished, as one rate."""
        return _loss_from(self, stage, form_id)

    def rhythm(self, kind: str) -> KilnRhythm:
        """How often and how full this studio fires ("bisque" or "glaze")."""
        for rhythm in self.rhythms:
            if rhythm.kind == kind:
                return rhythm
        return _stated_rhythm(kind, self.limits)

    def wait_h(self, stage: str, form_id: int | None = None, clay_id: int | None = None) -> float:
        """The middle of the usual time at ``stage``, in hours: what is a long wait is longer."""
        return self.usual(stage, form_id, clay_id).median_h


@lru_cache(maxsize=4096)
def _usual_of(
    times: tuple[tuple[float, bool, bool], ...], before: UsualTime, worth: float
) -> UsualTime:
    learnt = learn_time(before, (hours for hours, _, _ in times), of="studio")
    if any(clay for _, clay, _ in times):
        learnt = learn_time(learnt, (h for h, clay, _ in times if clay), worth, "clay")
    if any(form for _, _, form in times):
        learnt = learn_time(learnt, (h for h, _, form in times if form), worth, "form")
    return learnt


def _usual(
    known: StageTimes,
    stage: str,
    form_id: int | None,
    clay_id: int | None,
    cover: str,
    weather: str,
) -> UsualTime:
    worth = known.limits["promise_runs_worth"]
    found = tuple(
        (
            time.hours,
            clay_id is not None and time.clay_id == clay_id,
            form_id is not None and time.form_id == form_id,
        )
        for time in known.times
        if time.stage == stage
        and (not cover or time.cover == cover)
        and (not weather or time.weather == weather)
    )
    return _usual_of(found, _stated(known, stage), worth)


def _stated(known: StageTimes, stage: str) -> UsualTime:
    """What is held of a stage before this studio has seen any."""
    limits = known.limits
    if stage in _WAITS_FOR:
        # Ware comes ready at any time between two firings, and waits half the gap on average.
        rhythm = known.rhythm(_WAITS_FOR[stage])
        middle = rhythm.gap.median_h / 2 + rhythm.in_kiln.median_h
    else:
        key = {"wet": "wet", "leather_hard": "leather_hard", "bisque": "bisque", "fired": "finish"}
        middle = limits[f"promise_{key[stage]}_h"]
    return stated_time(middle, limits["promise_time_factor"], limits["promise_runs_worth"])


def _loss(known: StageTimes, stage: str, form_id: int | None) -> LossRate:
    worth = known.limits["promise_pieces_worth"]
    before = stated_loss(
        known.limits[f"promise_loss_{stage}"], worth, known.limits["promise_alike"]
    )
    here = [loss for loss in known.losses if loss.stage == stage]
    learnt = learn_loss(before, ((loss.pieces, loss.lost) for loss in here))
    if form_id is None:
        return learnt
    of_form = [(loss.pieces, loss.lost) for loss in here if loss.form_id == form_id]
    return learn_loss(learnt, of_form, worth, of="form")


def _loss_from(known: StageTimes, stage: str, form_id: int | None) -> LossRate:
    rates = [known.loss(name, form_id) for name in PATH[_PLACE[stage] : -1]]
    kept = 1.0
    for rate in rates:
        kept *= 1.0 - rate.mean
    # The share kept is a product: its relative variances add, and give the worth of the whole.
    relative = sum(
        rate.mean / ((1.0 - rate.mean) * (rate.worth + 1.0)) for rate in rates if rate.mean < 1.0
    )
    worth = 1e6
    if 0.0 < kept < 1.0 and relative > 0.0:
        worth = max(1.0, (1.0 - kept) / (kept * relative) - 1.0)
    of = next((of for of in ("form", "studio") if any(rate.of == of for rate in rates)), "stated")
    # Counted is what the words say: no ware of others among that of a form.
    told = [rate for rate in rates if rate.of == of]
    return LossRate(
        (1.0 - kept) * worth,
        kept * worth,
        max(rate.alike for rate in rates),
        max(rate.pieces for rate in told),
        sum(rate.lost for rate in told),
        max(rate.runs for rate in told),
        of,
    )


def read_stage_times(
    session: Session, limits: Limits | None = None, until: datetime | None = None
) -> StageTimes:
    """Times, losses and kiln rhythm from the newest runs of this journal.

    With ``until``, what the journal could tell at that moment.
    """
    limits = read_limits(session) if limits is None else limits
    until = datetime.max if until is None else until
    batches = _read_batches(session, int(limits["promise_history_runs"]), until)
    covers = _read_covers(session, [batch for batch in batches if batch > 0])
    changes = _read_changes(session, batches, until)
    times: list[StageTime] = []
    losses: list[StageLoss] = []
    for batch, pieces in changes.items():
        form_id, clay_id = batches[batch]
        times += _times_of(batch, form_id, clay_id, pieces.values(), covers.get(batch, ()))
        losses += _losses_of(form_id, pieces.values())
    rhythms = tuple(_read_rhythm(session, kind, limits, until) for kind in _FIRED_AS)
    return StageTimes(tuple(times), tuple(losses), rhythms, limits)


_Stages = list[tuple[str, datetime]]


def _read_batches(
    session: Session, most: int, until: datetime
) -> dict[int, tuple[int | None, int | None]]:
    """The newest runs of ware by id, and lone pieces by their id negative: (form, clay)."""
    runs = session.execute(
        select(Run.id, Run.form_id, Run.clay_id)
        .where(Run.purpose != "test", Run.made_on <= until.date())
        .order_by(Run.made_on.desc(), Run.id.desc())
        .limit(most)
    )
    batches = {run_id: (form_id, clay_id) for run_id, form_id, clay_id in runs}
    lone = session.execute(
        select(Piece.id, Piece.form_id, Piece.clay_id)
        .where(Piece.run_id.is_(None), Piece.kind == "ware")
        .order_by(Piece.id.desc())
        .limit(most)
    )
    batches.update((-piece_id, (form_id, clay_id)) for piece_id, form_id, clay_id in lone)
    return batches


def _read_changes(
    session: Session, batches: Iterable[int], until: datetime
) -> dict[int, dict[int, _Stages]]:
    """The stages each piece reached, in time, by batch and piece."""
    runs = [batch for batch in batches if batch > 0]
    lone = [-batch for batch in batches if batch < 0]
    rows = session.execute(
        select(Piece.run_id, Piece.id, Piece.lost_at, StageChange.stage, StageChange.at)
        .join(StageChange, StageChange.piece_id == Piece.id)
        .where(
            or_(Piece.run_id.in_(runs), Piece.id.in_(lone)),
            Piece.kind == "ware",
            StageChange.at <= until,
        )
        .order_by(Piece.id, StageChange.at, StageChange.id)
    )
    found: dict[int, dict[int, _Stages]] = defaultdict(dict)
    for run_id, piece_id, lost_at, stage, at in rows:
        stages = found[run_id if run_id is not None else -piece_id].setdefault(piece_id, [])
        if stage == "lost" and lost_at in _PLACE and lost_at not in {name for name, _ in stages}:
            stages.append((lost_at, at))
        stages.append((stage, at))
    return found


def _read_covers(
    session: Session, run_ids: Sequence[int]
) -> Mapping[int, Sequence[tuple[datetime, str, str]]]:
    found: dict[int, list[tuple[datetime, str, str]]] = defaultdict(list)
    for run_id, at, cover, weather in session.execute(
        select(CoverChange.run_id, CoverChange.at, CoverChange.cover, CoverChange.weather)
        .where(CoverChange.run_id.in_(run_ids))
        .order_by(CoverChange.at, CoverChange.id)
    ):
        found[run_id].append((at, cover, weather))
    return found


def _times_of(
    batch: int,
    form_id: int | None,
    clay_id: int | None,
    pieces: Iterable[_Stages],
    covers: Sequence[tuple[datetime, str, str]],
) -> list[StageTime]:
    spans: dict[str, list[tuple[datetime, datetime]]] = defaultdict(list)
    for stages in pieces:
        for (stage, since), (following, at) in pairwise(stages):
            next_one = _PLACE.get(stage, -2) + 1 == _PLACE.get(following)
            if next_one and (at - since).total_seconds() >= _LOGGED_LATE_H * 3600:
                spans[stage].append((since, at))
    times = []
    for stage, known in spans.items():
        began = min(since for since, _ in known)
        hours = median((at - since).total_seconds() / 3600 for since, at in known)
        cover, weather = _stood_so(covers, began, max(at for _, at in known))
        run_id = batch if batch > 0 else None
        times.append(
            StageTime(run_id, form_id, clay_id, stage, began, hours, len(known), cover, weather)
        )
    return times


def _stood_so(
    covers: Sequence[tuple[datetime, str, str]], since: datetime, until: datetime
) -> tuple[str, str]:
    """The cover and weather that held longest between two moments; "" where nobody said."""
    held: dict[tuple[str, str], timedelta] = defaultdict(timedelta)
    for place, (at, cover, weather) in enumerate(covers):
        ends = covers[place + 1][0] if place + 1 < len(covers) else until
        within = min(ends, until) - max(at, since)
        if within > timedelta(0):
            held[cover, weather] += within
    first = covers[0][0] if covers else until
    if not held or min(first, until) - since > max(held.values()):
        return ("", "")
    return max(held, key=lambda stood: held[stood])


def _losses_of(form_id: int | None, pieces: Iterable[_Stages]) -> list[StageLoss]:
    passed: dict[str, int] = defaultdict(int)
    lost: dict[str, int] = defaultdict(int)
    there: dict[str, int] = defaultdict(int)
    for stages in pieces:
        names = [name for name, _ in stages if name != "lost"]
        is_lost = stages[-1][0] == "lost"
        at = names[-1] if names else "wet"
        for stage in PATH[: _PLACE[at]]:
            passed[stage] += 1
        if at != "finished":
            (lost if is_lost else there)[at] += 1
    return [
        StageLoss(form_id, stage, passed[stage] + lost[stage], lost[stage])
        for stage in PATH
        if passed[stage] + lost[stage] and passed[stage] >= there[stage]
    ]


def _read_rhythm(session: Session, kind: str, limits: Limits, until: datetime) -> KilnRhythm:
    stated = _stated_rhythm(kind, limits)
    firings = session.execute(
        select(Firing.id, Firing.kiln_id, Firing.started_at)
        .where(Firing.kind == kind, Firing.started_at <= until)
        .order_by(Firing.started_at.desc(), Firing.id.desc())
        .limit(_MOST_FIRINGS)
    ).all()
    if not firings:
        return stated
    starts = sorted(at for _, _, at in firings)
    gaps = [(after - before).total_seconds() / 3600 for before, after in pairwise(starts)]
    by_firing = _read_loads(session, [row.id for row in firings], _FIRED_AS[kind])
    loads = [load for load in by_firing.values() if load.pieces]
    sized = [load for load in loads if load.litres]
    room_l = sum(load.litres for load in sized) / max(1, sum(load.sized for load in sized))
    # A load of a few large jars is as full as one of many cups: both are told in usual pieces.
    fills = sorted(
        load.litres / load.sized * load.pieces / room_l if load.sized else float(load.pieces)
        for load in loads
    )
    inside = [load.hours for load in loads if load.hours is not None]
    held = _FIRINGS_WORTH * stated.pieces + sum(fills)
    usual = held / (_FIRINGS_WORTH + len(fills))
    fullest = fills[int(0.9 * (len(fills) - 1))] if fills else stated.holds
    return KilnRhythm(
        kind,
        learn_time(stated.gap, (gap for gap in gaps if gap > 1)),
        learn_time(stated.in_kiln, inside),
        usual,
        len(firings),
        len(loads),
        starts[-1],
        max(usual, fullest),
        room_l or None,
    )


def room_of_litres(across_mm: float, deep_mm: float | None, height_mm: float) -> float:
    """The room ware takes in a kiln: its box with a gap around it, and the shelf above."""
    deep_mm = across_mm if deep_mm is None else deep_mm
    return (across_mm + _GAP_MM) * (deep_mm + _GAP_MM) * (height_mm + _SHELF_MM) / 1e6


@dataclass
class _Load:
    """Pieces of a firing, those of known size with the litres they take, hours until unloaded."""

    pieces: int = 0
    sized: int = 0
    litres: float = 0.0
    hours: float | None = None


def _read_loads(session: Session, firing_ids: Sequence[int], gives: str) -> Mapping[int, _Load]:
    found: dict[int, _Load] = defaultdict(_Load)
    for firing_id, across, deep, height, pieces in session.execute(
        select(
            Placement.firing_id,
            Form.fired_across_mm,
            Form.fired_deep_mm,
            Form.fired_height_mm,
            func.count(),
        )
        .join(Piece, Piece.id == Placement.piece_id)
        .outerjoin(Form, Form.id == Piece.form_id)
        .where(Placement.firing_id.in_(firing_ids))
        .group_by(Placement.firing_id, Form.id)
    ):
        load = found[firing_id]
        load.pieces += pieces
        if across and height:
            load.sized += pieces
            load.litres += pieces * room_of_litres(across, deep, height)
    for firing_id, started_at, unloaded_at in session.execute(
        select(Firing.id, Firing.started_at, func.min(StageChange.at))
        .join(Placement, Placement.firing_id == Firing.id)
        .join(StageChange, StageChange.piece_id == Placement.piece_id)
        .where(
            Firing.id.in_(firing_ids),
            StageChange.stage == gives,
            StageChange.at > Firing.started_at,
        )
        .group_by(Firing.id, Firing.started_at)
    ):
        hours = (unloaded_at - started_at).total_seconds() / 3600
        if hours <= _MOST_DAYS_IN_KILN * 24:
            found[firing_id].hours = hours
    return found


def _stated_rhythm(kind: str, limits: Limits) -> KilnRhythm:
    worth, factor = limits["promise_runs_worth"], limits["promise_time_factor"]
    return KilnRhythm(
        kind,
        stated_time(limits[f"promise_{kind}_gap_days"] * 24, factor, worth),
        stated_time(limits["promise_kiln_h"], factor, worth),
        limits[f"promise_{kind}_load"],
        0,
        0,
        None,
        limits[f"promise_{kind}_load"],
    )
