"""What a piece takes up of a glaze, told from the ware that was weighed."""

from collections import defaultdict
from dataclasses import dataclass

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.ware_use import UsePerPiece, use_of_weighed
from studiolog.journal.glazes import title_of
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.pieces import Layer, Measurement, Piece, Run


@dataclass(frozen=True)
class FormUse:
    """What pieces of one form take up, weighed."""

    form: str
    use: UsePerPiece


@dataclass(frozen=True)
class WareUse:
    """The use per piece of a glaze; None: not known. ``odd`` counts pieces that weighed no more
    glazed than before; they are left out."""

    use: UsePerPiece | None
    by_form: tuple[FormUse, ...] = ()
    odd: int = 0


def read_use(session: Session, glaze: Glaze) -> WareUse:
    """What a piece takes up, and how that is known."""
    weighed = _weigh_ware(session, glaze)
    by_form = tuple(
        FormUse(form, found)
        for form, taken in sorted({**weighed.tests, **weighed.own}.items())
        if form and (found := use_of_weighed(taken)) is not None
    )
    return WareUse(_use_of(glaze, weighed), by_form, weighed.odd)


@dataclass
class _Weighed:
    """Dry grams taken up: by form, test ware apart; of other versions, by their title."""

    own: dict[str, list[float]]
    tests: dict[str, list[float]]
    kin: dict[str, list[float]]
    odd: int = 0


def _weigh_ware(session: Session, glaze: Glaze) -> _Weighed:
    """Pieces weighed at bisque and again with their raw, dry glaze, and of one glaze alone."""
    family = {
        one.id: title_of(one.name, one.version_number)
        for one in session.scalars(select(Glaze).where(Glaze.name == glaze.name))
    }
    masses: dict[int, dict[str, float]] = defaultdict(dict)
    glazed = select(Layer.piece_id).where(Layer.glaze_id.in_(family))
    for row in session.scalars(
        select(Measurement).where(
            Measurement.stage.in_(("bisque", "glazed")),
            Measurement.mass_g.is_not(None),
            Measurement.piece_id.in_(glazed),
        )
    ):
        masses[row.piece_id][row.stage] = row.mass_g or 0.0
    both = {piece_id: mass for piece_id, mass in masses.items() if len(mass) == 2}
    found = _Weighed(defaultdict(list), defaultdict(list), defaultdict(list))
    if not both:
        return found
    carried: dict[int, set[int]] = defaultdict(set)
    for piece_id, glaze_id in session.execute(
        select(Layer.piece_id, Layer.glaze_id).where(Layer.piece_id.in_(both))
    ):
        carried[piece_id].add(glaze_id)
    forms = read_forms_of(session, Piece.id.in_(both))
    tests = set(
        session.scalars(
            select(Piece.id)
            .join(Run, Run.id == Piece.run_id)
            .where(Piece.id.in_(both), Run.purpose == "test")
        )
    )
    for piece_id, mass in both.items():
        if len(carried[piece_id]) != 1:
            continue
        (only,) = carried[piece_id]
        taken = mass["glazed"] - mass["bisque"]
        if taken <= 0:
            found.odd += only == glaze.id
        elif only == glaze.id:
            kind = found.tests if piece_id in tests else found.own
            kind[forms.get(piece_id, "")].append(taken)
        elif piece_id not in tests:
            found.kin[family[only]].append(taken)
    return found


def read_forms_of(session: Session, which: ColumnElement[bool]) -> dict[int, str]:
    """Piece -> the name of its own form or its run's."""
    form_id = func.coalesce(Piece.form_id, Run.form_id)
    rows = session.execute(
        select(Piece.id, Form.name)
        .outerjoin(Run, Run.id == Piece.run_id)
        .join(Form, Form.id == form_id)
        .where(which)
    )
    return {row[0]: row[1] for row in rows}


def _use_of(glaze: Glaze, weighed: _Weighed) -> UsePerPiece | None:
    """Weighed ware, then what the potter states, then another version's, then test ware."""
    own = use_of_weighed([taken for some in weighed.own.values() for taken in some])
    if own is not None:
        return own
    if glaze.dry_g_per_piece is not None:
        stated = glaze.dry_g_per_piece
        return UsePerPiece(stated, stated, stated, basis="stated")
    if weighed.kin:
        title, taken = max(weighed.kin.items(), key=lambda one: len(one[1]))
        return use_of_weighed(taken, "version", title)
    return use_of_weighed([taken for some in weighed.tests.values() for taken in some], "tests")
