"""Promises in words: whether one holds, what holds it up, and what all of it rests on."""

from datetime import date
from typing import Final

from studiolog.craft.days import write_day
from studiolog.craft.units import THIN
from studiolog.craft.ware.count_words import (
    say_chance,
    say_counted,
    say_number,
    say_shift,
    say_weeks,
)
from studiolog.craft.ware.loss import LossRate
from studiolog.craft.ware.promise_words import say_window
from studiolog.craft.ware.throws import Throws
from studiolog.craft.ware.usual_time import UsualTime
from studiolog.craft.words import STAGES, join_words
from studiolog.journal.promise_plan import PromisePlan
from studiolog.journal.promises import (
    LinePromise,
    LineShift,
    Promises,
    Quote,
    Taking,
    lead_parts,
)

HOLDS_UP: Final = {
    "hands": "until your hands are free to make it",
    "wet": "wet, until leather-hard",
    "leather_hard": "leather-hard: the work on it, and drying",
    "bisque_wait": "waiting for a bisque firing",
    "bisque_kiln": "in the bisque kiln",
    "glazing": "bisque, until it is glazed",
    "glaze_wait": "waiting for a glaze firing",
    "glaze_kiln": "in the glaze kiln",
    "finishing": "fired: grinding, looking it over, packing",
    "again": "making what was lost once more",
}
"""What the time until a line is ready goes into."""

_SHORTLY: Final = {
    "hands": "your hands",
    "wet": "firming up",
    "leather_hard": "work at leather-hard and drying",
    "bisque_wait": "the wait for a bisque",
    "bisque_kiln": "the bisque kiln",
    "glazing": "the wait to be glazed",
    "glaze_wait": "the wait for a glaze firing",
    "glaze_kiln": "the glaze kiln",
    "finishing": "finishing and packing",
    "again": "making what was lost once more",
}


def say_line(line: LinePromise) -> str:
    """ "31 Quay café: Ripple tumbler, like 412"; of a set its name."""
    demand = line.shown.demand
    whom = f"{demand.order_number}  {demand.whom}" if demand.order_number else demand.set_name
    return f"{whom}: {demand.title}"


def say_holds(line: LinePromise) -> str:
    """Whether a promise holds: "holds at 92 %"; without one the weeks that would."""
    if line.chance is not None:
        return f"holds at {say_chance(line.chance)}"
    weeks = line.forecast.weeks_at(0.9)
    if weeks is None:
        return "no promise; later than can be told"
    return f"{say_number(weeks)} weeks holds at {say_chance(line.forecast.chance_by(weeks * 7))}"


def say_ready(line: LinePromise, today: date) -> str:
    """The likely span of the ready day: "ready 6 Dec to 20 Jan 2027"."""
    if line.low_on is None:
        return "ready later than can be told"
    if line.high_on is None:
        return f"ready from {write_day(line.low_on, today)}, perhaps much later"
    return f"ready {say_window(line.low_on, line.high_on, today)}"


def say_stands(line: LinePromise) -> str:
    """How far it is: "34 owed: 10 fired, 14 bisque, 10 bone dry"."""
    progress = line.shown.demand.progress
    parts = [
        f"{progress.at_hand[stage]} {STAGES[stage]}"
        for stage in reversed(list(STAGES))
        if progress.at_hand.get(stage)
    ]
    if line.shown.to_throw:
        parts.append(f"{line.shown.to_throw} to make")
    return f"{progress.left} owed: {', '.join(parts) or 'nothing begun'}"


def say_promise(line: LinePromise, today: date) -> str:
    """The promise itself: "promised by 4 Dec"."""
    promised = line.shown.promised_on
    if promised is None:
        return "nothing promised"
    window = say_window(line.shown.demand.promised_from, promised, today)
    late = (today - promised).days
    if late > 0:
        return f"promised {window}, {say_counted(late, 'day')} past"
    return f"promised {window}"


def say_headline(line: LinePromise, today: date) -> str:
    """The answer in a sentence, for the head of a chosen line."""
    sure = line.sure_on
    confidence = say_chance(line.forecast.chance_on(sure)) if sure else ""
    when = (
        f"Ready by {write_day(sure, today)} with {confidence}."
        if sure
        else "When it will be ready lies beyond what can be told."
    )
    return f"{_first_up(say_promise(line, today))}: {say_holds(line)}. {when}"


def say_holds_up(line: LinePromise) -> str:
    """What holds it up most, in a sentence."""
    parts = lead_parts(line.forecast)
    if not parts:
        return "Nothing holds it up: it stands finished."
    most, days = parts[0]
    share = days / max(line.forecast.lead_days, 1e-9)
    lead = say_days(line.forecast.lead_days)
    return f"Of {lead} in the mean, {say_chance(share)} is {_SHORTLY[most]}."


def say_days(days: float) -> str:
    """ "13 days", "half a day", "1.5 days"."""
    if days < 0.3:
        return "a few hours"
    if days < 0.75:
        return "half a day"
    if days < 3:
        return f"{days:.1f} days" if round(days, 1) != 1 else "a day"
    return f"{days:.0f} days"


def say_shift_of(line: LinePromise, shift: LineShift) -> str:
    """What a change does to a line: "8 % becomes 42 %, 18 days sooner"."""
    moved = say_shift(shift.days)
    if shift.chance_before is None or shift.chance_after is None:
        return moved or "can't be told"
    before, after = say_chance(shift.chance_before), say_chance(shift.chance_after)
    chance = f"stays at {before}" if before == after else f"{before} becomes {after}"
    return f"{chance}, {moved}" if moved else chance


def say_taking(taking: Taking) -> str:
    """Whether to take orders, in a sentence or two."""
    usual = say_weeks(None, taking.weeks)
    holds = f"{taking.pieces} more, promised in {usual}, hold at {say_chance(taking.chance)}"
    if taking.is_wise:
        return f"Orders can be taken: {holds}."
    if taking.weeks_sure is None:
        return (
            f"It is wise to take no orders now: {holds}, and no promise within half a year is "
            "sure enough."
        )
    until = f" until {write_day(taking.again_on)}" if taking.again_on else ""
    return (
        f"It is wise to promise nothing in {usual}{until}: {holds}. What holds is "
        f"{say_weeks(None, taking.weeks_sure)}."
    )


def say_quote(quote: Quote) -> str:
    """What may be promised: "12 of Soup bowl: nine to twelve weeks holds at 91 %"."""
    what = f"{quote.pieces} of {quote.form}" if quote.form else f"{quote.pieces} pieces"
    if quote.high_weeks is None:
        return f"{what}: no promise within half a year holds."
    weeks = say_weeks(quote.low_weeks, quote.high_weeks)
    return f"{what}: {weeks} holds at {say_chance(quote.chance)}."


def say_throws(good: int, throws: tuple[Throws, ...]) -> list[tuple[str, str]]:
    """The small table: how sure, and how many to throw for it."""
    rows = []
    for row in throws:
        many = "no number is enough" if row.throw is None else str(row.throw)
        rows.append((f"{good} good ones with {say_chance(row.chance)}", many))
    return rows


def say_loss(loss: LossRate) -> str:
    """What is lost, and how that is known."""
    share = f"{100 * loss.mean:.1f}{THIN}% is lost"
    if not loss.pieces:
        return f"{share}, stated: none of your own counted yet"
    runs, pieces = say_counted(loss.runs, "run"), say_counted(loss.pieces, "piece")
    return f"{share}, from {loss.lost} of {pieces} in {runs} and what was stated before"


def say_time(time: UsualTime) -> str:
    """A usual time with its span: "6 days (4 to 8)"."""
    if time.median_h < 48:
        return f"{time.median_h:.0f}{THIN}h ({time.low_h:.0f} to {time.high_h:.0f})"
    return f"{time.median_h / 24:.0f} days ({time.low_h / 24:.0f} to {time.high_h / 24:.0f})"


def tell_basis(plan: PromisePlan) -> list[tuple[str, str]]:
    """What the forecast rests on, line by line: own history, or what is stated meanwhile."""
    rows = []
    for stage in ("wet", "leather_hard", "bisque", "fired"):
        time = plan.times.usual(stage)
        rows.append((f"{_first_up(STAGES[stage])}, {_from(time.runs, 'run')}", say_time(time)))
    for kind in ("bisque", "glaze"):
        rhythm = plan.times.rhythm(kind)
        gap = say_time(rhythm.gap)
        rows.append((f"From one {kind} firing to the next, {_from(rhythm.firings, 'firing')}", gap))
        load = f"{rhythm.pieces:.0f} pieces, at most {rhythm.holds:.0f}"
        rows.append((f"A {kind} load, {_from(rhythm.loads, 'load')}", load))
    loss = plan.times.loss_from("wet")
    counted = _from(loss.pieces, "piece")
    rows.append((f"Lost until finished, {counted}", f"{100 * loss.mean:.1f}{THIN}%"))
    days = "".join(plan.studio.work_days)
    said = "as set" if plan.studio.says_hours else "stated: none is set"
    rows.append((f"Work, {said}", f"{plan.studio.hours_a_day:g}{THIN}h on {len(days)} days a week"))
    return rows


def say_method(promises: Promises) -> str:
    """How the answer was come by."""
    plan = promises.plan
    futures = f"{plan.problem.futures:,}".replace(",", THIN)
    others = (
        f" {say_counted(plan.other_pieces, 'other piece')} on the bench stand in the same kilns."
        if plan.other_pieces
        else ""
    )
    bought = join_words([f"“{demand.title}”" for demand in plan.elsewhere])
    if bought:
        bought = f" What has no form is not made here, and holds nothing up: {bought}."
    return (
        f"{futures} futures were drawn. In each, lots wait for your hands, dry, wait for a kiln, "
        "are glazed, fired and finished, soonest promise first; what is lost is made once more."
        f"{others}{bought}"
    )


def _from(count: int, noun: str) -> str:
    return f"from {say_counted(count, noun)}" if count else "stated: none of your own yet"


def _first_up(words: str) -> str:
    return words[:1].upper() + words[1:]
