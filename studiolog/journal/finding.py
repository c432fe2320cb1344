"""Answering a question from the searchable facts: which pieces, and what was seen on them.

A piece counts once, however many of its zones answer. A piece nobody inspected for the fault is
never counted as sound: it is left out, and said to be.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Any, Final, Literal

from sqlalchemy import (
    Case,
    ColumnElement,
    Select,
    Table,
    and_,
    case,
    exists,
    func,
    literal,
    or_,
    select,
)
from sqlalchemy.orm import Session

from studiolog.craft.words import FAULTS, ZONES, fault_bit
from studiolog.journal.glazes import title_of
from studiolog.journal.letters import contains, reads_as, spellings
from studiolog.journal.photos import read_pictures
from studiolog.journal.question import ConeRange, Names, Question, sentence_parts
from studiolog.journal.tables import in_chunks, table
from studiolog.records.facts import NO_CLAY, NO_CONE, pair_fact, path_fact, piece_fact

_LOW_BITS: Final = sum(1 << 2 * place for place in range(len(FAULTS)))

LeftOut = Literal["no cone", "nobody looked"]


@dataclass(frozen=True, slots=True)
class Hit:
    """A piece that meets a question. ``severity`` is None where nobody looked for the fault.

    ``seen`` says whether the fault was seen as badly as asked; ``cone`` is on the ordinal scale.
    """

    piece_id: int
    severity: int | None
    seen: bool
    cone: float | None
    left_out: LeftOut | None = None


@dataclass(frozen=True)
class FindingCounts:
    """How many pieces answer, on how many the fault was seen, and how many were left out."""

    answering: int
    seen: int
    no_cone: int
    not_looked: int

    @property
    def left_out(self) -> int:
        return self.no_cone + self.not_looked


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
        select(glaze.c.id, glaze.c.name, glaze.c.version_number).order_by(
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
    )


# The question as SQL -------------------------------------------------------------------------


@dataclass(frozen=True)
class Scope:
    """One grain of the facts, the conditions on it, and what joins it needs.

    The grain is `piece_fact` where no glaze is asked about, `pair_fact` for one glaze directly
    over another or alone, `path_fact` for the rest.
    """

    facts: Table
    where: tuple[ColumnElement[bool], ...]
    needs_piece: bool = False
    needs_path: bool = False
    needs_level: bool = False

    def select(self, *columns: Any) -> Select[Any]:
        """Select from the grain and what it is joined to."""
        source: Any = self.facts
        if (self.needs_piece or self.needs_level) and self.facts is not piece_fact:
            source = source.join(piece_fact, piece_fact.c.piece_id == self.facts.c.piece_id)
        if self.needs_path and self.facts is not path_fact:
            same = and_(
                path_fact.c.piece_id == self.facts.c.piece_id,
                path_fact.c.zone == self.facts.c.zone,
            )
            source = source.join(path_fact, same)
        if self.needs_level:
            level = table("kiln_level")
            source = source.outerjoin(level, level.c.id == piece_fact.c.level_id)
        return select(*columns).select_from(source).where(*self.where)

    def narrowed(self, *where: ColumnElement[bool], **needs: bool) -> "Scope":
        """The same with more conditions."""
        return replace(self, where=(*self.where, *where), **needs)  # type: ignore[arg-type]


def scope_of(question: Question, *, cones: bool = True, facts: Table | None = None) -> Scope:
    """The facts a question asks about. ``cones`` False leaves the cone out of it.

    ``facts`` names the grain of a matrix, whose rows stand in for the combination.
    """
    chosen = facts if facts is not None else _grain(question)
    where: list[ColumnElement[bool]] = []
    needs_piece = needs_path = needs_level = False
    if facts is None:
        where += _combination(question, chosen)
    if question.zone:
        where.append(in_zone(chosen.c.zone, question.zone))
    if question.method is not None:
        where.append(path_fact.c.methods.contains(f"|{question.method}|", autoescape=True))
        needs_path = True
    if question.clay_id is not None:
        where.append(chosen.c.clay_id == question.clay_id)
    if cones and question.cone is not None:
        where += _cones(question.cone, chosen)
        needs_piece = needs_piece or question.cone.basis is not None
    if question.atmosphere is not None:
        where.append(piece_fact.c.atmosphere == question.atmosphere)
        needs_piece = True
    if question.since is not None:
        where.append(piece_fact.c.fired_on >= question.since)
        needs_piece = True
    if question.until is not None:
        where.append(piece_fact.c.fired_on <= question.until)
        needs_piece = True
    if question.level:
        level = table("kiln_level")
        where.append(reads_as(func.trim(level.c.name), question.level.strip()))
        needs_level = True
    if question.notes:
        where.append(_noted(chosen.c.piece_id, question.notes))
    return Scope(chosen, tuple(where), needs_piece, needs_path, needs_level)


def in_zone(column: ColumnElement[str], zone: str) -> ColumnElement[bool]:
    """Whether a glazed zone is ``zone`` or a part of it."""
    folded = func.lower(func.trim(column))
    parts = (folded.startswith(f"{one},", autoescape=True) for one in spellings(zone.strip()))
    return or_(reads_as(func.trim(column), zone.strip()), *parts)


def _grain(question: Question) -> Table:
    if not question.asks_layers():
        return piece_fact
    if question.combination is not None and question.combination.kind != "anywhere":
        return pair_fact
    return path_fact


def _combination(question: Question, facts: Table) -> list[ColumnElement[bool]]:
    asked = question.combination
    if asked is None:
        return []
    match asked.kind:
        case "over":
            return [facts.c.over_id == asked.glaze_id, facts.c.under_id == asked.under_id]
        case "only":
            return [facts.c.over_id == asked.glaze_id, facts.c.under_id == 0, facts.c.alone == 1]
        case "overlap":
            return [facts.c.under_id != 0, facts.c.under_id != facts.c.over_id]
        case _:
            # Delimited at both ends: |112| is not |12|.
            return [facts.c.path.contains(f"|{asked.glaze_id}|", autoescape=True)]


def _cones(cone: ConeRange, facts: Table) -> list[ColumnElement[bool]]:
    known: ColumnElement[bool] = facts.c.cone10.is_not(None)
    where = [facts.c.cone10 > NO_CONE if facts is pair_fact else known]
    if cone.low is not None:
        where.append(facts.c.cone10 >= round(cone.low * 10))
    if cone.high is not None:
        where.append(facts.c.cone10 <= round(cone.high * 10))
    if cone.basis is not None:
        where.append(piece_fact.c.cone_basis == cone.basis)
    return where


def _noted(piece_id: ColumnElement[int], text: str) -> ColumnElement[bool]:
    piece, layer = table("piece"), table("layer")
    inspection, reading = table("inspection"), table("fault_reading")

    def says(column: ColumnElement[str]) -> ColumnElement[bool]:
        return contains(column, text)

    on_piece = [
        says(piece.c[name]) for name in ("title", "notes", "lesson", "next_time", "lost_why")
    ]
    return or_(
        exists().where(piece.c.id == piece_id, or_(*on_piece)),
        exists().where(layer.c.piece_id == piece_id, says(layer.c.note)),
        exists().where(inspection.c.piece_id == piece_id, says(inspection.c.note)),
        exists().where(
            inspection.c.piece_id == piece_id,
            reading.c.inspection_id == inspection.c.id,
            says(reading.c.note),
        ),
    )


def cone10_in(facts: Table) -> ColumnElement[int]:
    """Tenths of the cone at a piece, NULL where it is not known."""
    return func.nullif(facts.c.cone10, NO_CONE) if facts is pair_fact else facts.c.cone10


def clay_in(facts: Table) -> ColumnElement[int]:
    """The clay of a piece, NULL where it was not noted."""
    return func.nullif(facts.c.clay_id, NO_CLAY) if facts is pair_fact else facts.c.clay_id


# The same few expressions are asked again and again, and to build one takes longer than SQLite
# takes to answer a question.
@lru_cache(maxsize=128)
def looked_in(facts: Table, fault: str | None) -> Case[int]:
    """1 where the facts say that somebody looked for the fault, else 0."""
    mask = facts.c.looked_mask
    looked = mask != 0 if fault is None else mask.bitwise_and(fault_bit(fault)) != 0
    return case((looked, 1), else_=0)


@lru_cache(maxsize=128)
def severity_in_facts(facts: Table, fault: str | None) -> ColumnElement[int]:
    """The worst severity seen, 0 to 3; of any fault if none is named."""
    packed = facts.c.severities
    if fault is not None:
        place = 2 * (fault_bit(fault).bit_length() - 1)
        found: ColumnElement[int] = packed.bitwise_rshift(place).bitwise_and(3)
        return found
    both = packed.bitwise_and(packed.bitwise_rshift(1)).bitwise_and(_LOW_BITS)
    return case(
        (both != 0, 3),
        (packed.bitwise_and(_LOW_BITS << 1) != 0, 2),
        (packed != 0, 1),
        else_=0,
    )


# Answers -------------------------------------------------------------------------------------


def select_hits(question: Question, scope: Scope | None = None) -> Select[Any]:
    """The query of `read_hits`: piece, whether it was inspected, worst severity, cone."""
    asked = scope or scope_of(question)
    facts = asked.facts
    return asked.select(*_hit_columns(facts, question.fault)).group_by(facts.c.piece_id)


def read_hits(session: Session, question: Question, scope: Scope | None = None) -> tuple[Hit, ...]:
    """Every piece that meets the question, worst first, those nobody looked at last."""
    rows = session.execute(select_hits(question, scope)).all()
    hits = [
        Hit(
            piece_id,
            worst if was_looked else None,
            bool(was_looked and worst >= question.severity),
            None if cone10 is None else cone10 / 10,
            None if was_looked else "nobody looked",
        )
        for piece_id, was_looked, worst, cone10 in rows
    ]
    hits.sort(key=lambda hit: (-(-1 if hit.severity is None else hit.severity), -hit.piece_id))
    return tuple(hits)


@lru_cache(maxsize=128)
def _hit_columns(facts: Table, fault: str | None) -> tuple[ColumnElement[int], ...]:
    return (
        facts.c.piece_id,
        func.max(looked_in(facts, fault)),
        func.max(severity_in_facts(facts, fault)),
        func.max(cone10_in(facts)),
    )


def read_without_cone(session: Session, question: Question) -> tuple[Hit, ...]:
    """Pieces that meet all of a question but its cone, because no cone is known there so."""
    if question.cone is None:
        return ()
    scope = scope_of(question, cones=False)
    unknown: ColumnElement[bool] = piece_fact.c.cone10.is_(None)
    if question.cone.basis is not None:
        unknown = or_(unknown, piece_fact.c.cone_basis != question.cone.basis)
    return tuple(
        replace(hit, left_out="no cone")
        for hit in read_hits(session, question, scope.narrowed(unknown, needs_piece=True))
    )


@dataclass(frozen=True)
class Answer:
    """Everything that answers a question, without the particulars of any piece."""

    hits: tuple[Hit, ...]  # inspected for the fault, worst first
    left_out: tuple[Hit, ...]

    @property
    def counts(self) -> FindingCounts:
        no_cone = sum(hit.left_out == "no cone" for hit in self.left_out)
        return FindingCounts(
            answering=len(self.hits),
            seen=sum(hit.seen for hit in self.hits),
            no_cone=no_cone,
            not_looked=len(self.left_out) - no_cone,
        )


def read_answer(session: Session, question: Question) -> Answer:
    """The pieces that answer a question, and those left out with why."""
    hits = read_hits(session, question)
    return Answer(
        tuple(hit for hit in hits if hit.left_out is None),
        (*read_without_cone(session, question), *(hit for hit in hits if hit.left_out)),
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
    if read_hits(session, question):
        return None
    best: Blocker | None = None
    for part in sentence_parts(question, names):
        if not part.removable or part.key in ("fault", "severity"):
            continue
        met = len(read_hits(session, question.without(part.key)))
        if met and (best is None or met > best.pieces):
            best = Blocker(part.key, part.text, met)
    return best


def cone_band(facts: Table) -> ColumnElement[int]:
    """The half-cone band of ``cone10``, as `cones.band_of` counts them."""
    # Shifted above zero first: databases round the quotient of negatives towards zero.
    band: ColumnElement[int] = (cone10_in(facts) + literal(1000)) // literal(5) - literal(200)
    return band
