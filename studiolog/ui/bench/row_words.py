"""What a row of the bench says: what its pieces wait for and how long, what was lost, what is next.

Pure words. Until the work on a run was read (`journal.bench_work`), it is told by stage alone.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time
from typing import TYPE_CHECKING

from studiolog.craft.words import COVERS, PURPOSES, STAGES, join_words
from studiolog.journal.bench_rows import BenchRow, LostLot
from studiolog.ui.parts.due import say_day

if TYPE_CHECKING:
    # Rows are first shown before these are loaded.
    from studiolog.journal.bench_work import RunWork, WaitingLot
    from studiolog.journal.run_loads import PlannedIn
    from studiolog.journal.working_time import Window

# What pieces at a stage wait for next, while no more is known: common practice.
WAITS = {
    "wet": "to firm up",
    "leather_hard": "to trim, join or dry",
    "bone_dry": "waiting for bisque",
    "bisque": "waiting for glaze",
    "glazed": "waiting for a glaze firing",
    "fired": "to finish",
}
_DOING = {"firming": "firming up", "drying": "drying"}
_WAITING = {
    "work": "for other work",
    "trimming": "to trim",
    "handles": "for handles",
    "joining": "to join",
    "decorating": "to decorate",
    "bisque_kiln": "for the bisque kiln",
    "glaze": "to glaze",
    "glaze_kiln": "for the glaze kiln",
    "finishing": "to finish",
    "packing": "to pack",
    "shipping": "to send off",
}
_NEXT = {
    "firming": "Let {n} firm up",
    "trimming": "Trim {n}",
    "handles": "Put handles on {n}",
    "joining": "Join {n}",
    "decorating": "Decorate {n}",
    "drying": "Let {n} dry",
    "bisque_kiln": "Put {n} in a bisque",
    "glaze": "Glaze {n}",
    "glaze_kiln": "Put {n} in a glaze kiln",
    "finishing": "Finish {n}",
    "packing": "Pack {n}",
    "shipping": "Send off {n}",
}
_LONG_DAYS = 60


def order_words(row: BenchRow) -> str:
    """Whom a run is for: its order, or its purpose."""
    if row.order is not None:
        return f"Order {row.order.number}, {row.order.whom}"
    words = PURPOSES.get(row.purpose, row.purpose)
    return "No order yet" if row.purpose == "order" else words[:1].upper() + words[1:]


def count_words(row: BenchRow) -> str:
    """How many are good of how many were made."""
    return f"{row.good} of {row.made}" if row.made else "no pieces yet"


def since_words(row: BenchRow, today: date) -> str:
    """Since when the youngest stand where they are."""
    if row.youngest is None:
        return "all done" if row.made else ""
    words = f"{row.counts[row.youngest]} {STAGES[row.youngest]}"
    return f"{words} since {say_day(row.since, today)}" if row.since else words


def how_long(since: datetime | None, now: datetime) -> str:
    """How long something has waited, in plain words: ``5 h``, ``1 day``, ``9 weeks``."""
    if since is None or since > now:
        return ""
    days = (now.date() - since.date()).days
    if days == 0 and since.time() == time():
        return "today"  # only the day of a step is known
    if days == 0:
        hours = int((now - since).total_seconds() // 3600)
        return f"{hours}\u202fh" if hours else ""
    if days == 1:
        return "1 day"
    return f"{days} days" if days < _LONG_DAYS else f"{round(days / 7)} weeks"


def _kind_words(lot: "WaitingLot") -> str:
    if lot.waits in _DOING:
        return _DOING[lot.waits]
    if lot.waits == "work" and lot.step:
        return f"to {_verb(lot.step)}" if _verb(lot.step) else f"for “{lot.step}”"
    return _WAITING[lot.waits]


def lot_words(lot: "WaitingLot", now: datetime) -> str:
    """One lot: ``12 to trim, 5 h``."""
    words = f"{lot.pieces} {_kind_words(lot)}"
    told = how_long(lot.since, now)
    return f"{words}, {told}" if told else words


def waits_words(row: BenchRow, work: "RunWork | None" = None, now: datetime | None = None) -> str:
    """What each lot waits for and how long it has; those packed in a firing are told apart."""
    packed: dict[str, int] = {}
    for load in row.packed:
        packed[load.stage] = packed.get(load.stage, 0) + load.pieces
    if work is None or now is None:
        return ", ".join(
            f"{left} {waits}"
            for stage, waits in WAITS.items()
            if (left := row.counts.get(stage, 0) - packed.get(stage, 0)) > 0
        )
    # Zones left are told below: here all that wait to be glazed are one lot.
    merged: dict[str, WaitingLot] = {}
    for lot in work.waiting:
        key = lot.step if lot.waits == "work" else lot.waits
        merged[key] = lot if key not in merged else _together(merged[key], lot)
    return " · ".join(lot_words(lot, now) for lot in merged.values())


def _together(one: "WaitingLot", other: "WaitingLot") -> "WaitingLot":
    from dataclasses import replace

    since = min((lot.since for lot in (one, other) if lot.since), default=None)
    return replace(one, pieces=one.pieces + other.pieces, since=since)


def next_words(work: "RunWork | None") -> str:
    """The most pressing thing to do: ``Next: trim 12``."""
    lot = work.pressing if work is not None else None
    if lot is None or work is None:
        return ""
    pieces = work.waits_for(lot.waits) if lot.waits != "work" else lot.pieces
    if lot.waits == "work":
        verb = _verb(lot.step)
        return f"Next: {verb} {pieces}" if verb else f"Next: “{lot.step or 'work'}” on {pieces}"
    if lot.waits == "glaze" and lot.zones_done and lot.zones_left:
        return f"Next: glaze the {join_words(lot.zones_left)} of {lot.pieces}"
    if lot.waits in ("bisque_kiln", "glaze_kiln"):
        inside = [load for load in work.planned if load.stage == lot.stage]
        left = pieces - sum(load.pieces for load in inside)
        if inside and left <= 0:
            return f"Next: light {load_words(inside[0])}"
        pieces = left
    words = _NEXT[lot.waits].format(n=pieces)
    return f"Next: {words[:1].lower()}{words[1:]}"


def load_words(load: "PlannedIn", today: date | None = None) -> str:
    """A load as a row names it: ``the load for Sat 5 Dec``, else by its kind and kiln."""
    if load.planned_on is None:
        return f"the load “{load.title}”"
    return f"the load for {say_day(load.planned_on, today)}"


def planned_words(load: "PlannedIn") -> str:
    """How many stand in a load that is planned: ``12 in the load for Sat 5 Dec``."""
    return f"{load.pieces} in {load_words(load)}"


def steps_words(work: "RunWork | None") -> str:
    """The work done, apart from the stages: ``9 of 12 trimmed · handle and panel done, body
    left (4)``."""
    if work is None:
        return ""
    told = []
    for share in work.shares:
        if share.name.endswith(" glazed"):
            continue
        told.append(f"{share.done} of {share.of} {_done_word(share.name)}")
    told += zones_words(work)
    if work.cover is not None and work.cover.cover != "open":
        told.append(COVERS[work.cover.cover])
    return " · ".join(told)


def zones_words(work: "RunWork") -> list[str]:
    """The zones glazed so far, lot by lot: ``handle and panel done, body left (4)``."""
    told = []
    for lot in work.waiting:
        if lot.waits == "glaze" and lot.zones_done and lot.zones_left:
            done, left = join_words(lot.zones_done), join_words(lot.zones_left)
            told.append(f"{done} done, {left} left ({lot.pieces})")
        elif lot.waits == "glaze" and lot.zones_done:
            told.append(f"glazed all over ({lot.pieces})")
    return told


_DONE_WORDS = {
    "trim": "trimmed",
    "handle": "handled",
    "handles": "handled",
    "join": "joined",
    "carve": "carved",
    "turn": "turned",
    "slip": "slipped",
    "stamp": "stamped",
    "sponge": "sponged",
    "wax": "waxed",
    "glaze": "glazed",
    "grind": "ground",
    "pack": "packed",
    "cut": "cut",
}


def _verb(step: str) -> str:
    """A step whose name says what to do, "cut", as it is said; "" for "windows"."""
    from studiolog.journal.waiting_for import stage_of_work

    plain = step.casefold()
    said = stage_of_work(plain) is not None and not plain.endswith(("ed", "ing", "s"))
    return plain if said and " " not in plain else ""


def _done_word(name: str) -> str:
    """A step as done: "trim" is "trimmed"; one whose form nobody knows is quoted."""
    plain = name.casefold()
    if plain in _DONE_WORDS:
        return _DONE_WORDS[plain]
    return plain if plain.endswith("ed") else f"“{name}” done"


def lost_words(row: BenchRow) -> str:
    """How many were lost, at which stage and why: ``3 lost: 2 bone dry S-crack, 1 bisque chip``."""
    total = sum(lot.pieces for lot in row.losses)
    if not total:
        return "none lost" if row.made else ""
    return f"{total} lost{loss_causes(row.losses)}"


def loss_causes(losses: Sequence[LostLot]) -> str:
    """The causes by stage, after "so many lost"."""
    stages = {lot.stage for lot in losses}
    if len(losses) == 1 or len(stages) == 1:
        at = STAGES.get(losses[0].stage or "", "")
        causes = [
            lot.why if lot.pieces == 1 or len(losses) == 1 else f"{lot.pieces} {lot.why}"
            for lot in losses
            if lot.why
        ]
        where = f" {at}" if at else ""
        return f"{where}: {', '.join(causes)}" if causes else f"{where}, not said why"
    told = [loss_words(lot) for lot in losses]
    return f": {', '.join(told)}"


def loss_words(lot: LostLot) -> str:
    """One cause at one stage: ``2 bone dry: S-crack``."""
    at = STAGES.get(lot.stage or "", "at no known stage")
    return f"{lot.pieces} {at}, {lot.why or 'not said why'}"


def window_words(window: "Window") -> str:
    """How long leather-hard clay stays workable: ``5 h left to trim 12``."""
    hours = window.hours_left
    if hours < 1:
        left = "under an hour"
    else:
        left = f"{hours:.0f}\u202fh" if hours < 48 else f"{hours / 24:.0f} days"
    if window.stage == "wet":
        if hours <= 0:
            return f"{window.pieces} should be leather-hard by now"
        return f"{window.pieces} leather-hard in about {left}"
    work = f" to {_work_word(window.step)} {window.steps[0].pieces}" if window.steps else ""
    if hours <= 0:
        return f"likely too stiff{work}"
    return f"{left} left{work}" if work else f"workable for {left} more"


def _work_word(name: str) -> str:
    plain = name.casefold()
    for imperative, done in _DONE_WORDS.items():
        if plain in (imperative, done):
            return {"handle": "handle", "handles": "handle"}.get(imperative, imperative)
    return f"do “{name}” on"


def row_sentence(parts: Iterable[str]) -> str:
    """A row in words, for a screen reader."""
    return "; ".join(part for part in parts if part)
