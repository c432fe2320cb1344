"""What came of a form, in a sentence or two."""

from studiolog.craft.words import FAULTS, join_words
from studiolog.journal.form_outcome import FormOutcome


def say_outcome(outcome: FormOutcome) -> str:
    """``24 made in 3 runs, 2 lost, 4 sold, 6 still in work; crazing on 1 of 8 inspected.``"""
    if not outcome.pieces:
        return "None was made yet."
    runs = "1 run" if outcome.runs == 1 else f"{outcome.runs} runs"
    parts = [f"{outcome.pieces} made" + (f" in {runs}" if outcome.runs else "")]
    parts.append(f"{outcome.lost.events} lost" if outcome.lost.events else "none lost")
    if outcome.sold:
        parts.append(f"{outcome.sold} shipped")
    if outcome.in_work:
        parts.append(f"{outcome.in_work} still in work")
    return f"{', '.join(parts)}; {say_looks(outcome)}."


def say_looks(outcome: FormOutcome) -> str:
    """``crazing on 1 of 8 inspected``, the worst first; or that nobody has looked."""
    rates = outcome.rates
    if not rates.inspected:
        return "nobody has looked at any"
    seen = sorted((rate for rate in rates.rates if rate.seen), key=lambda rate: -rate.seen)
    if not seen:
        return f"no fault seen on {rates.inspected} inspected"
    told = [f"{FAULTS[rate.fault]} on {rate.seen} of {rate.inspected}" for rate in seen[:3]]
    return f"{join_words(told)} inspected"
