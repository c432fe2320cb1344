"""Rates in words, for the command line and for a machine without a display."""

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import MIN_PIECES, rate_of
from studiolog.craft.firing.cones import say_band
from studiolog.craft.words import FAULTS, fault_bit
from studiolog.journal.finding import clay_in, cone_band, read_names
from studiolog.journal.question import Names
from studiolog.journal.question_reading import read_question
from studiolog.journal.rates_report import RateRow, read_rates
from studiolog.problems import UserProblem
from studiolog.records.facts import NO_CONE, pair_fact

_SHOWN = 5


def read_rates_for(session: Session, text: str) -> list[RateRow]:
    """The rates of a question as it is typed in Findings; all of them for an empty one.

    Raises `UserProblem` naming the words that were not understood.
    """
    if not text.strip():
        return read_rates(session)
    reading = read_question(text, read_names(session))
    if reading.unread:
        words = ", ".join(
            f"“{unread.word}”"
            + (f" (perhaps {', '.join(unread.nearest)})" if unread.nearest else "")
            for unread in reading.unread
        )
        raise UserProblem(f"Not understood in the question: {words}.")
    return read_rates(session, reading.question)


def rates_as_text(rows: Sequence[RateRow]) -> str:
    """One line a rate, for reading in a terminal."""
    if not rows:
        return "Nothing was inspected for that yet."
    lines = []
    for row in rows:
        layers = " under ".join(row.layers) or "unglazed"
        cones = "" if row.cone_low is None else say_band(round(row.cone_low * 2))
        where = ", ".join(filter(None, (row.clay, row.zone, cones)))
        lines.append(
            f"{FAULTS[row.fault]}: {row.seen} of {row.inspected} "
            f"({_percent(row.rate)}, {_percent(row.low)} to {_percent(row.high)}) "
            f"{layers}; {where}"
        )
    return "\n".join(lines)


def describe_rates(session: Session, faults: Sequence[str]) -> str:
    """For each fault, the pairs of glazes that most surely show it, on which clay at which cone."""
    names = read_names(session)
    parts = []
    for fault in faults:
        lines = _surest(session, fault, names)
        said = lines or [f"nothing was inspected on {MIN_PIECES} pieces alike yet"]
        parts.append(f"{FAULTS[fault].capitalize()}, surest first:")
        parts += [f"  {line}" for line in said]
    return "\n".join(parts)


def _surest(session: Session, fault: str, names: Names) -> list[str]:
    bit = fault_bit(fault)
    pieces: dict[tuple[int, int, int | None, int | None], dict[int, bool]] = defaultdict(dict)
    found = select(
        pair_fact.c.over_id,
        pair_fact.c.under_id,
        clay_in(pair_fact).label("clay_id"),
        cone_band(pair_fact).label("band"),
        pair_fact.c.piece_id,
        pair_fact.c.seen_mask,
    ).where(pair_fact.c.looked_mask.op("&")(bit) != 0, pair_fact.c.cone10 > NO_CONE)
    for row in session.execute(found):
        cell = pieces[row.over_id, row.under_id, row.clay_id, row.band]
        cell[row.piece_id] = cell.get(row.piece_id, False) or bool(row.seen_mask & bit)
    ranked = []
    for (over, under, clay, band), looked in pieces.items():
        seen = sum(looked.values())
        if len(looked) < MIN_PIECES or not seen:
            continue
        rate = rate_of(seen, len(looked))
        what = names.glazes[over] + (f" over {names.glazes[under]}" if under else " on the clay")
        on = names.clays.get(clay, "an unnamed clay") if clay else "an unnamed clay"
        at = f", {say_band(band)}" if band is not None else ""
        line = (
            f"{what}, {on}{at}: {seen} of {len(looked)} pieces inspected "
            f"({_percent(seen / len(looked))}, {_percent(rate.low)} to {_percent(rate.high)})"
        )
        ranked.append((rate.low, line))
    ranked.sort(reverse=True)
    return [line for _, line in ranked[:_SHOWN]]


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
