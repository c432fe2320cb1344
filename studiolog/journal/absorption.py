"""Absorption tests of a clay: weighed dry, boiled and weighed again (ASTM C373)."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.clay.absorption import Absorption, boiled
from studiolog.craft.clay.shrinkage import Spread, spread
from studiolog.craft.firing.cones import band_of, label_of, ordinal_of, parse_cone
from studiolog.craft.limits import Limits
from studiolog.journal.limits import read_limits
from studiolog.journal.writing import add, change, get, remove
from studiolog.problems import UserProblem
from studiolog.records.clays import AbsorptionTest, Clay
from studiolog.records.facts import piece_fact
from studiolog.records.pieces import Piece


@dataclass(frozen=True, kw_only=True)
class AbsorptionDraft:
    """A test as it is entered. ``piece_number`` names a piece of the journal, if it is one;
    ``cone`` is as said, where it is none or its cone is not known."""

    tested_on: date
    dry_g: float
    saturated_g: float
    suspended_g: float | None = None
    piece_number: int | None = None
    cone: str = ""
    note: str = ""


@dataclass(frozen=True)
class AbsorptionLine:
    """One test with what it tells. ``cone10`` is that at the piece, else the one said."""

    test_id: int
    version: int
    tested_on: date
    dry_g: float
    saturated_g: float
    suspended_g: float | None
    piece_id: int | None
    piece_number: int | None
    cone: str
    cone10: int | None
    cone_basis: str | None
    note: str
    told: Absorption


@dataclass(frozen=True)
class AbsorptionBand:
    """Tests of one cone band; None: no cone is known. Percentages."""

    band: int | None
    spread: Spread


@dataclass(frozen=True)
class ClayAbsorption:
    """What was tested of a clay, newest first, and what it comes to by cone."""

    clay_id: int
    name: str
    stated_percent: float | None
    lines: tuple[AbsorptionLine, ...]
    bands: tuple[AbsorptionBand, ...]
    limits: Limits


def read_absorption(session: Session, clay_id: int) -> ClayAbsorption:
    """The absorption tests of a clay. Raises UserProblem if the clay is gone."""
    clay = get(session, Clay, clay_id)
    rows = session.execute(
        select(AbsorptionTest, Piece.number, piece_fact.c.cone10, piece_fact.c.cone_basis)
        .outerjoin(Piece, Piece.id == AbsorptionTest.piece_id)
        .outerjoin(piece_fact, piece_fact.c.piece_id == AbsorptionTest.piece_id)
        .where(AbsorptionTest.clay_id == clay_id)
        .order_by(AbsorptionTest.tested_on.desc(), AbsorptionTest.id.desc())
    )
    lines = tuple(_line(test, number, cone10, basis) for test, number, cone10, basis in rows)
    groups: dict[int | None, list[float]] = defaultdict(list)
    for line in lines:
        band = None if line.cone10 is None else band_of(line.cone10)
        groups[band].append(line.told.absorption_percent)
    bands = []
    for band in sorted(groups, key=lambda key: (key is None, key or 0)):
        told = spread(groups[band])
        assert told is not None
        bands.append(AbsorptionBand(band, told))
    return ClayAbsorption(
        clay.id, clay.name, clay.absorption_percent, lines, tuple(bands), read_limits(session)
    )


def _line(
    test: AbsorptionTest, number: int | None, cone10: int | None, basis: str | None
) -> AbsorptionLine:
    if cone10 is None and test.cone:
        cone10, basis = round(ordinal_of(test.cone) * 10), None
    return AbsorptionLine(
        test.id,
        test.version,
        test.tested_on,
        test.dry_g,
        test.saturated_g,
        test.suspended_g,
        test.piece_id,
        number,
        test.cone,
        cone10,
        basis,
        test.note,
        boiled(test.dry_g, test.saturated_g, test.suspended_g),
    )


def add_absorption(session: Session, clay_id: int, draft: AbsorptionDraft, today: date) -> int:
    """Enter a test of a clay; returns its id.

    Raises UserProblem for weights that can't be, a day to come, a cone that is none, and a piece
    that is not in the journal or of another clay.
    """
    get(session, Clay, clay_id)
    return add(session, AbsorptionTest(clay_id=clay_id, **_checked(session, clay_id, draft, today)))


def change_absorption(
    session: Session, test_id: int, version: int | None, draft: AbsorptionDraft, today: date
) -> None:
    """Write a test anew. Raises as `add_absorption` does."""
    test = get(session, AbsorptionTest, test_id, version)
    fields = _checked(session, test.clay_id, draft, today)
    change(session, AbsorptionTest, test_id, version, **fields)


def delete_absorption(session: Session, test_id: int, version: int | None = None) -> None:
    """Take a test out."""
    remove(session, get(session, AbsorptionTest, test_id, version))


def set_absorptions(
    session: Session,
    clay_id: int,
    seen: Sequence[tuple[int, int]],
    drafts: Sequence[AbsorptionDraft],
    today: date,
) -> None:
    """Write the tests of a clay as a table shows them, in place of those it had.

    ``seen`` are the ids and versions as they were read, in the order of the rows. A row that is as
    it was is left alone. Raises as `add_absorption` does, naming the row.
    """
    left = {one: get(session, AbsorptionTest, one, version) for one, version in seen}
    changed: list[tuple[int, dict[str, Any]]] = []
    for place, draft in enumerate(drafts):
        try:
            fields = _checked(session, clay_id, draft, today)
        except UserProblem as problem:
            raise UserProblem(f"Test {place + 1}: {problem.sentence}", problem.fields) from problem
        same = next((one for one, test in left.items() if _is(test, fields)), None)
        if same is not None:
            del left[same]
        else:
            changed.append((place, fields))
    for place, fields in changed:
        # A row is what stood in its place, unless that stands in another by now.
        here = seen[place][0] if place < len(seen) else 0
        test_id = here if here in left else next(iter(left), None)
        if test_id is None:
            add(session, AbsorptionTest(clay_id=clay_id, **fields))
        else:
            del left[test_id]
            change(session, AbsorptionTest, test_id, dict(seen)[test_id], **fields)
    for test in left.values():
        remove(session, test)


def part_from_piece(session: Session, piece_id: int) -> None:
    """The piece is to be deleted: its tests were made all the same, and keep the cone it had."""
    query = select(AbsorptionTest).where(AbsorptionTest.piece_id == piece_id)
    for test in session.scalars(query).all():
        at = select(piece_fact.c.cone10).where(piece_fact.c.piece_id == piece_id)
        cone10 = session.scalar(at)
        cone = test.cone if cone10 is None else label_of(cone10 / 10)
        change(session, AbsorptionTest, test.id, piece_id=None, cone=cone)


def _is(test: AbsorptionTest, fields: dict[str, Any]) -> bool:
    return all(getattr(test, name) == value for name, value in fields.items())


def _checked(session: Session, clay_id: int, draft: AbsorptionDraft, today: date) -> dict[str, Any]:
    boiled(draft.dry_g, draft.saturated_g, draft.suspended_g)
    if draft.tested_on > today:
        told = "A test was made today or before: look at the day."
        raise UserProblem(told, {"tested_on": told})
    fields: dict[str, Any] = asdict(draft)
    number = fields.pop("piece_number")
    fields["piece_id"] = None
    if number is not None:
        piece = session.scalar(select(Piece).where(Piece.number == number))
        if piece is None:
            told = f"There is no piece {number}: leave it empty if the specimen has no number."
            raise UserProblem(told, {"piece_number": told})
        if piece.clay_id is not None and piece.clay_id != clay_id:
            told = f"Piece {number} is of another clay: enter the test on that clay's page."
            raise UserProblem(told, {"piece_number": told})
        fields["piece_id"] = piece.id
    fields["cone"] = parse_cone(draft.cone) if draft.cone.strip() else ""
    fields["note"] = draft.note.strip()
    return fields
