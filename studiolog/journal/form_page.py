"""The page of a form: its design, its steps, and what was made to it."""

from dataclasses import dataclass
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.fault_rates import RateGroup, group_rates
from studiolog.journal.form_decisions import StoryLine, read_story
from studiolog.journal.form_steps import MakingStep, read_steps, read_zones
from studiolog.journal.form_versions import FormVersion, read_family
from studiolog.journal.profiles import Profile, profile_from_text
from studiolog.journal.uses import PAGE, PieceUses, read_piece_uses
from studiolog.journal.way_results import WaysCompared, compare_ways
from studiolog.journal.writing import count
from studiolog.records.facts import piece_fact
from studiolog.records.forms import Form
from studiolog.records.orders import OrderLine
from studiolog.records.pieces import Piece


@dataclass(frozen=True)
class FormPage:
    """Everything of one form.

    ``family`` is the form, what it came from and what came from it; ``story`` how it came about;
    ``ways`` the ways of making it, side by side.
    """

    form_id: int
    version: int
    name: str
    shape: str
    clay_g: float | None
    fired_height_mm: float | None
    fired_across_mm: float | None
    profile: Profile | None
    price: Decimal | None
    notes: str
    archived: bool
    making: tuple[MakingStep, ...]
    zones: tuple[str, ...]
    standing: str
    fired_deep_mm: float | None
    stack_mm: float | None
    workable_h: float | None
    order_lines: int
    uses: PieceUses
    rates: RateGroup
    family: tuple[FormVersion, ...]
    story: tuple[StoryLine, ...]
    ways: WaysCompared

    @property
    def steps(self) -> tuple[tuple[str, float | None], ...]:
        """The steps as names with minutes for one piece."""
        return tuple((step.name, step.minutes) for step in self.making)

    @property
    def minutes(self) -> float:
        """Work in one piece, as far as the steps say: where two are at it both count."""
        return sum((step.minutes or 0.0) * step.persons for step in self.making)

    @property
    def untimed(self) -> int:
        """Steps whose minutes nobody has given."""
        return sum(step.minutes is None for step in self.making)


def read_form_page(
    session: Session, form_id: int, start: int = 0, limit: int = PAGE
) -> FormPage | None:
    """The page of a form with one page of its pieces; None if it is gone."""
    form = session.get(Form, form_id)
    if form is None:
        return None
    looks = session.execute(
        select(piece_fact.c.piece_id, piece_fact.c.looked_mask, piece_fact.c.seen_mask).where(
            piece_fact.c.form_id == form_id
        )
    )
    return FormPage(
        form.id,
        form.version,
        form.name,
        form.shape,
        form.clay_g,
        form.fired_height_mm,
        form.fired_across_mm,
        profile_from_text(form.profile),
        form.price,
        form.notes,
        form.archived,
        read_steps(session, form_id),
        read_zones(session, form_id),
        form.standing,
        form.fired_deep_mm,
        form.stack_mm,
        form.workable_h,
        count(session, OrderLine, OrderLine.form_id == form_id),
        read_piece_uses(session, Piece.form_id == form_id, start, limit),
        group_rates((row.piece_id, row.looked_mask, row.seen_mask) for row in looks),
        read_family(session, form_id),
        read_story(session, form_id),
        compare_ways(session, form_id),
    )
