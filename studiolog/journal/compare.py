"""Which firings are compared with each other, and their stored curves, in one reading."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Select, and_, select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import show_cone
from studiolog.craft.words import FIRING_KINDS
from studiolog.journal.firing_log import TYPED
from studiolog.journal.level_heat import WHOLE_KILN
from studiolog.journal.writing import get
from studiolog.records.facts import level_heat
from studiolog.records.firings import Curve, Firing
from studiolog.records.kilns import Kiln
from studiolog.records.programs import Program

LAST = 10
"""So many firings are compared with one when the last ones are asked for."""


@dataclass(frozen=True)
class Comparing:
    """Which firings are asked for.

    ``of`` is "firings" (those of ``ids``), "program" or "kiln" (all of the one of ``ident``), or,
    about firing ``ident``: "same program", "same kiln" (its kiln, kind and cone), "last" (the last
    ten of its kiln up to it). ``chosen`` is the firing that stands out; None: the newest with a
    curve.
    """

    of: str
    ident: int = 0
    ids: tuple[int, ...] = ()
    chosen: int | None = None


@dataclass(frozen=True)
class ComparedFiring:
    """A firing beside others. ``packed`` is its main curve as stored, None if it has none.

    ``cone`` is what the kiln as a whole got, by its cones or else as computed and corrected.
    """

    firing_id: int
    number: int
    title: str
    kiln: str
    program_id: int | None
    program: str
    started_at: datetime
    cone: float | None
    packed: bytes | None
    typed: bool


@dataclass(frozen=True)
class Comparison:
    """The firings, newest first, what they are, and the one that stands out."""

    heading: str
    words: str
    chosen: int | None
    firings: tuple[ComparedFiring, ...]


def read_comparison(session: Session, asked: Comparing) -> Comparison:
    """Read the firings asked for. Raises UserProblem if what they are asked about is gone."""
    heading, words, of, limit = _group(session, asked)
    query = _query().where(of).order_by(Firing.started_at.desc(), Firing.id.desc())
    rows = session.execute(query.limit(limit) if limit else query).all()
    found = tuple(
        ComparedFiring(
            firing_id=row.id,
            number=row.number,
            title=row.title or row.program or f"{row.kind.capitalize()} firing",
            kiln=row.kiln,
            program_id=row.program_id,
            program=row.program or "",
            started_at=row.started_at,
            cone=row.cone,
            packed=row.packed,
            typed=row.channel == TYPED,
        )
        for row in rows
    )
    curved = [one.firing_id for one in found if one.packed is not None]
    chosen = asked.chosen if asked.chosen in curved else next(iter(curved), None)
    return Comparison(heading, words, chosen, found)


def _query() -> Select[tuple[object, ...]]:
    return (
        select(  # type: ignore[return-value]
            Firing.id,
            Firing.number,
            Firing.title,
            Firing.kind,
            Firing.program_id,
            Firing.started_at,
            Kiln.name.label("kiln"),
            Program.name.label("program"),
            Curve.packed,
            Curve.channel,
            level_heat.c.cone,
        )
        .join(Kiln, Kiln.id == Firing.kiln_id)
        .outerjoin(Program, Program.id == Firing.program_id)
        .outerjoin(Curve, and_(Curve.firing_id == Firing.id, Curve.main))
        .outerjoin(
            level_heat,
            and_(
                level_heat.c.firing_id == Firing.id,
                level_heat.c.level_id == WHOLE_KILN,
                level_heat.c.basis != "aimed",
            ),
        )
    )


def _group(session: Session, asked: Comparing) -> tuple[str, str, ColumnElement[bool], int]:
    """Heading, words, the condition, and how many at most (0: all)."""
    if asked.of == "firings":
        return "Firings compared", "chosen in the list", Firing.id.in_(asked.ids), 0
    if asked.of == "program":
        program = get(session, Program, asked.ident)
        return f"{program.name}, compared", "all its firings", _of_program(program.id), 0
    if asked.of == "kiln":
        kiln = get(session, Kiln, asked.ident)
        return f"{kiln.name}, compared", "all its firings", Firing.kiln_id == kiln.id, 0
    firing = get(session, Firing, asked.ident)
    heading = f"Firing {firing.number}, compared"
    kiln = get(session, Kiln, firing.kiln_id)
    if asked.of == "same program" and firing.program_id is not None:
        program = get(session, Program, firing.program_id)
        return heading, f"with all of {program.name}", _of_program(program.id), 0
    if asked.of in ("same program", "same kiln"):
        like = and_(
            Firing.kiln_id == firing.kiln_id,
            Firing.kind == firing.kind,
            Firing.cone == firing.cone if firing.cone is not None else Firing.cone.is_(None),
        )
        cone = f", cone {show_cone(firing.cone)}" if firing.cone is not None else ""
        words = f"with every {FIRING_KINDS[firing.kind]} firing of {kiln.name}{cone}"
        return heading, words, like, 0
    last = and_(Firing.kiln_id == firing.kiln_id, Firing.started_at <= firing.started_at)
    return heading, f"with the last {LAST} of {kiln.name}", last, LAST + 1


def _of_program(program_id: int) -> ColumnElement[bool]:
    return Firing.program_id == program_id


def like_firing(firing_id: int) -> Comparing:
    """A firing with those of its program; if it has none, with those of its kiln and cone."""
    return Comparing("same program", firing_id, chosen=firing_id)


def compare_choices(
    firing_id: int, program_id: int | None, cone: str | None
) -> tuple[tuple[str, Comparing], ...]:
    """What a firing may be compared with, in words: for the menu of its page."""
    found: list[tuple[str, Comparing]] = []
    if program_id is not None:
        found.append(("All of the same program", like_firing(firing_id)))
    like = "The same kiln and cone" if cone is not None else "The same kiln and kind"
    found.append((like, Comparing("same kiln", firing_id, chosen=firing_id)))
    found.append((f"The last {LAST} of its kiln", Comparing("last", firing_id, chosen=firing_id)))
    return tuple(found)
