"""What of a review goes onto paper: its sections as plain words, figures and pictures.

The potter chooses; what was not chosen is not in here, so that neither PDF nor HTML can hold it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from studiolog.craft.days import write_day
from studiolog.craft.money import show_money
from studiolog.craft.units import show_quantity
from studiolog.craft.words import FIRING_KINDS, STAGES
from studiolog.journal.review import Compared, Review
from studiolog.journal.review_pairs import Shot

SECTIONS: Final[Mapping[str, str]] = {
    "numbers": "In numbers",
    "made": "Made",
    "fired": "Fired",
    "sold": "Sold and sent",
    "lost": "Lost",
    "pairs": "Before and after",
    "lessons": "Lessons",
    "next times": "Next time",
    "tests": "Tests and what they told",
    "questions": "Open questions",
}
"""The sections by key, in the order they stand."""


@dataclass(frozen=True)
class Chosen:
    """What goes in: sections by key, all items but those named, and amounts of money or not."""

    sections: frozenset[str] = frozenset(SECTIONS)
    without: frozenset[str] = frozenset()
    money: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """What, how many, and a quiet word on it."""

    words: str
    value: str
    quiet: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that was said: of what, when."""

    text: str
    where: str
    quiet: str = ""


@dataclass(frozen=True, slots=True)
class Side:
    """One picture as JPEG without anything else in it; empty where its file is missing."""

    jpeg: bytes
    words: str


@dataclass(frozen=True, slots=True)
class PicturePair:
    """A piece before and after."""

    words: str
    before: Side
    after: Side


@dataclass(frozen=True)
class Block:
    """One section."""

    key: str
    title: str
    quiet: str = ""
    figures: tuple[Row, ...] = ()
    rows: tuple[Row, ...] = ()
    entries: tuple[Entry, ...] = ()
    pairs: tuple[PicturePair, ...] = ()


@dataclass(frozen=True)
class ReviewPaper:
    """A review as it is shared. ``remarks`` say what is missing in it, such as photos."""

    studio: str
    title: str
    blocks: tuple[Block, ...]
    remarks: tuple[str, ...] = field(default=())


def wanted_shots(review: Review, chosen: Chosen) -> tuple[Shot, ...]:
    """The photos that what was chosen needs, each once."""
    if "pairs" not in chosen.sections:
        return ()
    shots: dict[str, Shot] = {}
    for pair in review.pairs:
        if pair.key not in chosen.without:
            shots |= {shot.sha256: shot for shot in (pair.before, pair.after)}
    return tuple(shots.values())


def compose_review(review: Review, chosen: Chosen, jpegs: Mapping[str, bytes]) -> ReviewPaper:
    """The chosen sections of a review; ``jpegs`` are its photos by their hash.

    A section of which nothing is left is left out. A photo that is not given is said to be missing.
    """
    blocks = [
        _numbers(review, chosen),
        _made(review),
        _fired(review),
        _sold(review, chosen),
        _lost(review),
        _pairs(review, chosen, jpegs),
        _notes(review, chosen, "lesson", "lessons"),
        _notes(review, chosen, "next time", "next times"),
        _tests(review, chosen),
        _questions(review, chosen),
    ]
    missing = [shot for shot in wanted_shots(review, chosen) if not jpegs.get(shot.sha256)]
    remarks = []
    if missing:
        photos = "1 photo is" if len(missing) == 1 else f"{len(missing)} photos are"
        remarks.append(f"{photos} missing: the file was not where it should be.")
    return ReviewPaper(
        review.studio,
        f"Looking back on {review.span.words}",
        tuple(
            block
            for block in blocks
            if block.key in chosen.sections
            and (block.figures or block.rows or block.entries or block.pairs)
        ),
        tuple(remarks),
    )


def _block(key: str, quiet: str = "", **parts: tuple[object, ...]) -> Block:
    return Block(key, SECTIONS[key], quiet, **parts)  # type: ignore[arg-type]


def say_pieces(count: int) -> str:
    """``1 piece``, ``12 pieces``."""
    return "1 piece" if count == 1 else f"{count} pieces"


def _say_runs(runs: int) -> str:
    return {0: "one by one", 1: "1 run"}.get(runs, f"{runs} runs")


def _numbers(review: Review, chosen: Chosen) -> Block:
    def figure(label: str, one: Compared) -> Row:
        return Row(label, str(one.now), f"{one.before} in {review.before.words}")

    figures = [
        figure("Pieces made", review.pieces_made),
        figure("Firings", review.firings),
        figure("Pieces fired", review.pieces_fired),
        figure("Pieces sent", review.pieces_sold),
        figure("Pieces lost", review.pieces_lost),
    ]
    if review.tests_made.now or review.tests_made.before:
        figures.insert(1, figure("Tests made", review.tests_made))
    if chosen.money and review.taken is not None:
        before = (
            f"{show_money(review.taken_before, review.currency)} in {review.before.words}"
            if review.taken_before is not None
            else f"nothing in {review.before.words}"
        )
        figures.append(Row("Taken in", show_money(review.taken, review.currency), before))
    return _block("numbers", figures=tuple(figures))


def _made(review: Review) -> Block:
    rows = tuple(Row(one.form, say_pieces(one.pieces), _say_runs(one.runs)) for one in review.made)
    return _block("made", say_pieces(review.pieces_made.now), rows=rows)


def _fired(review: Review) -> Block:
    rows = []
    for one in review.fired:
        word = FIRING_KINDS.get(one.kind, one.kind)
        quiet = say_pieces(one.pieces)
        if one.kwh is not None:
            quiet += f", {show_quantity(one.kwh, 'kWh')}"
            if one.metered < one.firings:
                quiet += f" in {one.metered} of them"
        firings = "1 firing" if one.firings == 1 else f"{one.firings} firings"
        rows.append(Row(f"{word[0].upper()}{word[1:]}", firings, quiet))
    return _block("fired", say_pieces(review.pieces_fired.now), rows=tuple(rows))


def _sold(review: Review, chosen: Chosen) -> Block:
    rows = []
    for one in review.sold:
        quiet = ""
        if chosen.money and one.amount is not None:
            quiet = show_money(one.amount, review.currency)
            if one.unpriced:
                quiet += f", {one.unpriced} without a price"
        if review.customers and one.whom:
            quiet = ", ".join(filter(None, (quiet, *one.whom)))
        rows.append(Row(one.form, say_pieces(one.pieces), quiet))
    return _block("sold", say_pieces(review.pieces_sold.now), rows=tuple(rows))


def _lost(review: Review) -> Block:
    rows = tuple(
        Row(
            one.why or "cause not said",
            say_pieces(one.pieces),
            STAGES.get(one.stage, "stage not said"),
        )
        for one in review.lost
    )
    return _block("lost", say_pieces(review.pieces_lost.now), rows=rows)


def _pairs(review: Review, chosen: Chosen, jpegs: Mapping[str, bytes]) -> Block:
    pairs = tuple(
        PicturePair(
            pair.words,
            Side(jpegs.get(pair.before.sha256, b""), pair.before.words),
            Side(jpegs.get(pair.after.sha256, b""), pair.after.words),
        )
        for pair in review.pairs
        if pair.key not in chosen.without
    )
    return _block("pairs", "raw, and after the firing", pairs=pairs)


def _notes(review: Review, chosen: Chosen, kind: str, key: str) -> Block:
    entries = tuple(
        Entry(note.text, note.of_what, write_day(note.on))
        for note in review.notes
        if note.kind == kind and note.key not in chosen.without
    )
    return _block(key, entries=entries)


def _tests(review: Review, chosen: Chosen) -> Block:
    entries = []
    for plan in review.tests:
        if plan.key in chosen.without:
            continue
        looked = f"{plan.looked_at} of {plan.tiles} tiles looked at"
        told = plan.lesson or "Nothing is said of it yet."
        text = f"{plan.question} {told}".strip() if plan.question else told
        entries.append(Entry(text, f"Plan {plan.code}, {plan.name}", looked))
    return _block("tests", entries=tuple(entries))


def _questions(review: Review, chosen: Chosen) -> Block:
    entries = []
    for one in review.questions:
        if one.key in chosen.without:
            continue
        text = one.text
        if one.answer:
            text = f"{text} Answered: {one.answer}".strip()
        quiet = f"asked {write_day(one.asked_on)}" if one.asked_on is not None else ""
        entries.append(Entry(text, one.title, quiet if one.open else f"{quiet}, settled"))
    return _block("questions", entries=tuple(entries))
