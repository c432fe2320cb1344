"""Answering a question from the searchable facts: which pieces, and what was seen on them.

A piece counts once, however many of its zones answer. A piece nobody inspected for the fault is
never counted as sound: it is left out, and said to be.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Any, Literal

from sqlalchemy import ColumnElement, Select, Table, case, func, literal_column, not_, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.words import SURFACES, ZONES, surfaces_in
from studiolog.journal.finding_chemistry import find_glazes_meeting, put_to
from studiolog.journal.finding_scope import (
    Scope,
    cone10_in,
    in_zone,
    is_described,
    looked_in,
    scope_of,
    severity_in_facts,
    shows_surface,
)
from studiolog.journal.glazes import title_of
from studiolog.journal.photos import read_pictures
from studiolog.journal.question import Names, Question, sentence_parts
from studiolog.journal.tables import in_chunks, table
from studiolog.records.facts import pair_fact, path_fact, piece_fact

LeftOut = Literal["no cone", "no surface", "nobody looked"]


@dataclass(frozen=True, slots=True)
class Hit:
    """A piece that meets a question. ``severity`` is None where nobody looked for the fault.

    ``seen`` says whether the fault was seen as badly as asked; ``cone`` is on the ordinal scale.
    Where a surface is looked for (``of_surface``), ``severity`` is 1 if it was so, else 0.
    """

    piece_id: int
    severity: int | None
    seen: bool
    cone: float | None
    left_out: LeftOut | None = None
    of_surface: bool = False


@dataclass(frozen=True)
class FindingCounts:
    """How many pieces answer, on how many the fault was seen, and how many were left out.

    ``no_formula`` counts glazes, not pieces: those a condition on a formula can't be held against.
    """

    answering: int
    seen: int
    no_cone: int
    not_looked: int
    no_surface: int = 0
    no_formula: int = 0

    @property
    def left_out(self) -> int:
        return self.no_cone + self.no_surface + self.not_looked


@dataclass(frozen=True)
class FindingRow:
    """A piece as the gallery and the table show it. Cones are ordinals."""

    piece_id: int
    number: int | None
    run_id: int | None
    run_number: int | None
    clay: str
    form: str
    layers: str
    cone: float | None
    cone_low: float | None
    cone_high: float | None
    cone_basis: str | None
    fired_on: date | None
    level: str
    sha256: str
    suffix: str
    surface: str = ""

    @property
    def called(self) -> str:
        """The number of the piece, or the run it is counted under: "412", "run 58"."""
        return str(self.number) if self.number is not None else f"run {self.run_number}"


@dataclass(frozen=True)
class Page:
    """A stretch of a long answer."""

    offset: int = 0
    limit: int = 60


@dataclass(frozen=True)
class FindingPage:
    """Some of the pieces that answer, worst first, with the counts of all."""

    hits: tuple[Hit, ...]
    rows: Mapping[int, FindingRow]
    counts: FindingCounts


def read_names(session: Session) -> Names:
    """What clays, glazes, zones and levels are called here."""
    clay, glaze, level = table("clay"), table("glaze"), table("kiln_level")
    clays = session.execute(select(clay.c.id, clay.c.name).order_by(clay.c.name)).all()
    glazes = session.execute(
        select(glaze.c.id, glaze.c.name, glaze.c.version_number, glaze.c.trial).order_by(
            glaze.c.name, glaze.c.version_number
        )
    ).all()
    zones = session.execute(select(path_fact.c.zone).distinct()).scalars()
    levels = session.execute(select(level.c.name).order_by(level.c.position, level.c.id)).scalars()
    by_folded: dict[str, str] = {zone: zone for zone in ZONES}
    for zone in sorted(zones):
        by_folded.setdefault(zone.strip().lower(), zone.strip())
    named: dict[str, str] = {}
    for name in levels:
        named.setdefault(name.strip().lower(), name.strip())
    return Names(
        {row.id: row.name for row in clays},
        {row.id: title_of(row.name, row.version_number) for row in glazes},
        tuple(by_folded.values()),
        tuple(named.values()),
        frozenset(row.id for row in glazes if row.trial),
    )


# Answers -------------------------------------------------------------------------------------


def select_hits(question: Question, scope: Scope | None = None) -> Select[Any]:
    """The query of `read_hits`: piece, whether it was inspected, worst severity, cone."""
    asked = scope or scope_of(question)
    facts = asked.facts
    words = question.surfaces if question.asks_surface() else ()
    of_piece, *worst = _hit_columns(facts, question.fault, words)
    if question.made_of is not None and facts is pair_fact:
        # A sum has no index: else SQLite walks all pairs in the order of their pieces, to group
        # them for nothing, where the key leads straight to those of the glazes that are asked for.
        of_piece += literal_column("0")
    return asked.select(of_piece, *worst).group_by(of_piece)


def read_hits(session: Session, question: Question, scope: Scope | None = None) -> tuple[Hit, ...]:
    """Every piece that meets the question, worst first, those nobody looked at last."""
    rows = session.execute(select_hits(put_to(session, question), scope)).all()
    hits = [
        Hit(
            piece_id,
            worst if was_looked else None,
            bool(was_looked and worst >= question.severity),
            None if cone10 is None else cone10 / 10,
            None if was_looked else "nobody looked",
            question.asks_surface(),
        )
        for piece_id, was_looked, worst, cone10 in rows
    ]
    hits.sort(key=lambda hit: (-(-1 if hit.severity is None else hit.severity), -hit.piece_id))
    return tuple(hits)


@lru_cache(maxsize=128)
def _hit_columns(
    facts: Table, fault: str | None, words: tuple[str, ...] = ()
) -> tuple[ColumnElement[int], ...]:
    looked: ColumnElement[int] = looked_in(facts, fault)
    severity = severity_in_facts(facts, fault)
    if words:
        looked = case((is_described(facts.c.surfaces, words), 1), else_=0)
        severity = case((shows_surface(facts.c.surfaces, words), 1), else_=0)
    return (
        facts.c.piece_id,
        func.max(looked),
        func.max(severity),
        func.max(cone10_in(facts)),
    )


def read_without_cone(session: Session, question: Question) -> tuple[Hit, ...]:
    """Pieces that meet all of a question but its cone, because no cone is known there so."""
    if question.cone is None:
        return ()
    basis = question.cone.basis
    question = put_to(session, question)
    scope = scope_of(question, cones=False)
    unknown: ColumnElement[bool] = piece_fact.c.cone10.is_(None)
    if basis is not None:
        unknown = or_(unknown, piece_fact.c.cone_basis != basis)
    return tuple(
        replace(hit, left_out="no cone")
        for hit in read_hits(session, question, scope.narrowed(unknown, needs_piece=True))
    )


def read_without_surface(session: Session, question: Question) -> tuple[Hit, ...]:
    """Pieces that meet all of a question but its surface, which nobody described there."""
    if not question.surfaces or question.asks_surface():
        return ()
    question = put_to(session, question)
    scope = scope_of(question, surfaces=False)
    untold = not_(is_described(scope.facts.c.surfaces, question.surfaces))
    return tuple(
        replace(hit, left_out="no surface")
        for hit in read_hits(session, question, scope.narrowed(untold))
    )


@dataclass(frozen=True)
class Answer:
    """Everything that answers a question, without the particulars of any piece.

    ``no_formula`` are glazes that a condition on a formula can't be held against, ``asked`` is the
    question with those that meet it.
    """

    asked: Question
    hits: tuple[Hit, ...]  # inspected for the fault, worst first
    left_out: tuple[Hit, ...]
    no_formula: frozenset[int] = frozenset()

    @property
    def counts(self) -> FindingCounts:
        no_cone = sum(hit.left_out == "no cone" for hit in self.left_out)
        no_surface = sum(hit.left_out == "no surface" for hit in self.left_out)
        return FindingCounts(
            answering=len(self.hits),
            seen=sum(hit.seen for hit in self.hits),
            no_cone=no_cone,
            not_looked=len(self.left_out) - no_cone - no_surface,
            no_surface=no_surface,
            no_formula=len(self.no_formula),
        )


def read_answer(session: Session, question: Question) -> Answer:
    """The pieces that answer a question, and those left out with why."""
    no_formula: frozenset[int] = frozenset()
    if question.chemistry:
        found = find_glazes_meeting(session, question.chemistry)
        question, no_formula = replace(question, made_of=found.glazes), found.unknown
    hits = read_hits(session, question)
    without = read_without_cone(session, question)
    # Another zone of the same piece may have been described, or have no cone to be left out for.
    told = {hit.piece_id for hit in (*hits, *without)} if question.surfaces else set()
    untold = read_without_surface(session, question)
    return Answer(
        question,
        tuple(hit for hit in hits if hit.left_out is None),
        (
            *without,
            *(hit for hit in untold if hit.piece_id not in told),
            *(hit for hit in hits if hit.left_out),
        ),
        no_formula,
    )


def find_pieces(session: Session, question: Question, page: Page | None = None) -> FindingPage:
    """One page of the pieces that answer, with the counts of all."""
    wanted = page or Page()
    answer = read_answer(session, question)
    shown = answer.hits[wanted.offset : wanted.offset + wanted.limit]
    rows = read_rows(session, [hit.piece_id for hit in shown], question.zone)
    return FindingPage(shown, rows, answer.counts)


def read_rows(session: Session, piece_ids: Sequence[int], zone: str = "") -> dict[int, FindingRow]:
    """The particulars of some pieces by id, in a few queries however many they are."""
    rows: dict[int, FindingRow] = {}
    for some in in_chunks(piece_ids):
        rows.update(_read_some_rows(session, some, zone))
    return rows


def _read_some_rows(session: Session, piece_ids: Sequence[int], zone: str) -> dict[int, FindingRow]:
    piece, run, clay, form = table("piece"), table("run"), table("clay"), table("form")
    level = table("kiln_level")
    found = session.execute(
        select(
            piece.c.id,
            piece.c.number,
            piece.c.run_id,
            run.c.number.label("run_number"),
            clay.c.name.label("clay"),
            form.c.name.label("form"),
            piece_fact.c.cone10,
            piece_fact.c.cone_low,
            piece_fact.c.cone_high,
            piece_fact.c.cone_basis,
            piece_fact.c.fired_on,
            level.c.name.label("level"),
        )
        .select_from(piece)
        .join(piece_fact, piece_fact.c.piece_id == piece.c.id)
        .outerjoin(run, run.c.id == piece.c.run_id)
        .outerjoin(clay, clay.c.id == piece.c.clay_id)
        .outerjoin(form, form.c.id == piece.c.form_id)
        .outerjoin(level, level.c.id == piece_fact.c.level_id)
        .where(piece.c.id.in_(piece_ids))
    ).all()
    layers = read_layers(session, piece_ids, zone)
    surfaces = read_surfaces(session, piece_ids, zone)
    pictures = read_pictures(session, piece_ids=piece_ids) if piece_ids else {}
    rows: dict[int, FindingRow] = {}
    for row in found:
        shown = pictures.get(row.id, [])
        # The glaze as it came out says most; a later look may show what was not there at first.
        best = next((p for p in shown if p.moment == "fired"), shown[-1] if shown else None)
        rows[row.id] = FindingRow(
            piece_id=row.id,
            number=row.number,
            run_id=row.run_id,
            run_number=row.run_number,
            clay=row.clay or "",
            form=row.form or "",
            layers=layers.get(row.id, ""),
            cone=None if row.cone10 is None else row.cone10 / 10,
            cone_low=row.cone_low,
            cone_high=row.cone_high,
            cone_basis=row.cone_basis,
            fired_on=row.fired_on,
            level=row.level or "",
            sha256=best.sha256 if best else "",
            suffix=best.suffix if best else "",
            surface=surfaces.get(row.id, ""),
        )
    return rows


def read_layers(session: Session, piece_ids: Sequence[int], zone: str = "") -> dict[int, str]:
    """What lies on each piece, in words: "Outside: Chalk over Kelp. Inside: Oat."."""
    names = _glaze_titles(session)
    found = select(path_fact.c.piece_id, path_fact.c.zone, path_fact.c.path).where(
        path_fact.c.piece_id.in_(piece_ids)
    )
    if zone:
        found = found.where(in_zone(path_fact.c.zone, zone))
    said: dict[int, list[str]] = {}
    for piece_id, where, path in session.execute(found.order_by(path_fact.c.zone.desc())):
        laid = [names.get(glaze, "?") for glaze in reversed(glazes_of(path))]
        said.setdefault(piece_id, []).append(
            f"{where[:1].upper()}{where[1:]}: {' over '.join(laid)}"
        )
    return {piece_id: ". ".join(zones) for piece_id, zones in said.items()}


def read_surfaces(session: Session, piece_ids: Sequence[int], zone: str = "") -> dict[int, str]:
    """What was said of the glazed surface of each piece, or of one zone: "glossy, clear"."""
    found = select(path_fact.c.piece_id, path_fact.c.surfaces).where(
        path_fact.c.piece_id.in_(piece_ids), path_fact.c.surfaces != 0
    )
    if zone:
        found = found.where(in_zone(path_fact.c.zone, zone))
    masks: dict[int, int] = {}
    for piece_id, mask in session.execute(found):
        masks[piece_id] = masks.get(piece_id, 0) | mask
    return {
        piece_id: ", ".join(SURFACES[word] for word in surfaces_in(mask))
        for piece_id, mask in masks.items()
    }


def glazes_of(path: str) -> tuple[int, ...]:
    """The glaze ids of a path, from the clay outward: "|3|12|" gives (3, 12)."""
    return tuple(int(part) for part in path.split("|") if part)


def _glaze_titles(session: Session) -> dict[int, str]:
    glaze = table("glaze")
    rows = session.execute(select(glaze.c.id, glaze.c.name, glaze.c.version_number))
    return {row.id: title_of(row.name, row.version_number) for row in rows}


# Questions nothing can meet ------------------------------------------------------------------


@dataclass(frozen=True)
class Blocker:
    """The one token of a question to drop: its key, its words, and how many would answer then."""

    key: str
    text: str
    pieces: int


def find_blocker(session: Session, question: Question, names: Names) -> Blocker | None:
    """The token without which most pieces would meet a question that none meets.

    None if something meets it, or if no single token is to blame.
    """
    question = put_to(session, question)
    if read_hits(session, question):
        return None
    best: Blocker | None = None
    for part in sentence_parts(question, names):
        looked_for = ("fault", "severity", *(("surface",) if question.asks_surface() else ()))
        if not part.removable or part.key in looked_for:
            continue
        met = len(read_hits(session, question.without(part.key)))
        if met and (best is None or met > best.pieces):
            best = Blocker(part.key, part.text, met)
    return best
