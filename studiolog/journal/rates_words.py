"""Rates in words, for the command line and for a machine without a display."""

from collections.abc import Sequence

from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import MIN_PIECES
from studiolog.craft.firing.cones import say_band
from studiolog.craft.words import FAULTS
from studiolog.journal.finding import read_names
from studiolog.journal.finding_chemistry import find_glazes_meeting
from studiolog.journal.question import Names, Question
from studiolog.journal.question_reading import read_question
from studiolog.journal.rate_counts import count_pair_rates
from studiolog.journal.rates_report import RateRow, read_rates
from studiolog.journal.tally import UNKNOWN
from studiolog.problems import UserProblem

_SHOWN = 5


def read_rates_for(session: Session, text: str) -> list[RateRow]:
    """The rates of a question as it is typed in Findings; all of them for an empty one.

    Raises `UserProblem` naming the words that were not understood.
    """
    return read_rates(session, _read(session, text) if text.strip() else None)


def say_without_formula(session: Session, text: str) -> str:
    """Which glazes a question on chemistry leaves out for want of a formula; else nothing."""
    question = _read(session, text)
    if not question.chemistry:
        return ""
    unknown = find_glazes_meeting(session, question.chemistry).unknown
    if not unknown:
        return ""
    glazes = read_names(session).glazes
    named = ", ".join(sorted(glazes[glaze_id] for glaze_id in unknown))
    return f"Left out, for their formula is not known: {named}. Give them recipes and analyses."


def _read(session: Session, text: str) -> Question:
    reading = read_question(text, read_names(session))
    if reading.unread:
        words = ", ".join(
            f"“{unread.word}”"
            + (f" (perhaps {', '.join(unread.nearest)})" if unread.nearest else "")
            for unread in reading.unread
        )
        raise UserProblem(f"Not understood in the question: {words}.")
    return reading.question


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
    counts = count_pair_rates(session, Question(fault=fault))
    sure = (
        (counts.inspected >= MIN_PIECES) & (counts.seen > 0) & (counts.band != UNKNOWN)
    ).nonzero()[0]
    low, high = (edge[sure].tolist() for edge in counts.intervals)
    keys = (counts.over, counts.under, counts.clay, counts.band, counts.seen, counts.inspected)
    ranked = []
    for over, under, clay, band, seen, inspected, least, most in zip(
        *(key[sure].tolist() for key in keys), low, high, strict=True
    ):
        what = names.glazes[over] + (f" over {names.glazes[under]}" if under else " on the clay")
        on = names.clays.get(clay, "an unnamed clay")
        line = (
            f"{what}, {on}, {say_band(band)}: {seen} of {inspected} pieces inspected "
            f"({_percent(seen / inspected)}, {_percent(least)} to {_percent(most)})"
        )
        ranked.append((least, line))
    ranked.sort(reverse=True)
    return [line for _, line in ranked[:_SHOWN]]


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
