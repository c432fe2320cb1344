"""The page of a set: what of it is done, at which stage, what to remake, and what comes next."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from studiolog.craft.words import STAGES
from studiolog.journal.glazes import title_of
from studiolog.journal.held_pieces import Progress
from studiolog.journal.order_page import HeldLot
from studiolog.journal.profiles import Profile, profile_from_text
from studiolog.journal.set_counts import SetCount, count_sets
from studiolog.records.clays import Clay
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.orders import Order, OrderLine, SetPart, WareSet
from studiolog.records.pieces import Piece, Run


@dataclass(frozen=True)
class Loss:
    """So many pieces of a part lost for one reason. ``stage`` is what they were, if known."""

    pieces: int
    stage: str | None
    why: str


@dataclass(frozen=True)
class SetPartPage:
    """A part with the pieces set aside for it."""

    part_id: int
    each: int
    form_id: int | None
    form_name: str
    profile: Profile | None
    shape: str
    height_mm: float | None
    across_mm: float | None
    clay_id: int | None
    clay_name: str
    glaze_id: int | None
    glaze_title: str
    what: str
    progress: Progress
    held: tuple[HeldLot, ...]
    losses: tuple[Loss, ...]

    @property
    def title(self) -> str:
        return ", ".join(one for one in (self.form_name, self.what) if one) or "not said what"

    @property
    def made_of(self) -> str:
        return ", ".join(one for one in (self.clay_name, self.glaze_title) if one)

    @property
    def wanted(self) -> int:
        return self.progress.wanted

    @property
    def to_remake(self) -> int:
        """Of what is still to be started, how many stand for pieces that were lost."""
        return min(self.progress.to_start, self.progress.lost)


@dataclass(frozen=True)
class SetPage:
    """Everything of one set. ``order_number`` is the order that asks for it."""

    set_id: int
    version: int
    name: str
    wanted: int
    due_on: date | None
    notes: str
    archived: bool
    count: SetCount
    parts: tuple[SetPartPage, ...]
    order_id: int | None
    order_number: int | None
    order_whom: str
    order_state: str
    promised_on: date | None

    @property
    def sets(self) -> int:
        """How many such sets are to be made: as wanted, or as many as the order asks for."""
        return self.count.wanted

    @property
    def pieces_wanted(self) -> int:
        return sum(part.wanted for part in self.parts)

    @property
    def pieces_finished(self) -> int:
        """Finished pieces, at most as many as each part wants."""
        return sum(min(part.progress.finished, part.wanted) for part in self.parts)

    @property
    def to_remake(self) -> int:
        return sum(part.to_remake for part in self.parts)

    @property
    def ends_on(self) -> date | None:
        """The sooner of the day it is due and the last day its order was promised."""
        return min((day for day in (self.due_on, self.promised_on) if day), default=None)

    @property
    def next_part(self) -> SetPartPage | None:
        """What to make next: the part of which most is still to be started, for its size."""
        short = [part for part in self.parts if part.progress.to_start]
        return max(short, key=lambda part: part.progress.to_start / part.wanted, default=None)


def say_next(page: SetPage) -> str:
    """The next thing to make, in words; how far it is where nothing is to be started."""
    if not page.parts:
        return "Say what belongs to it."
    part = page.next_part
    if part is not None:
        again = f", {part.to_remake} of them again" if part.to_remake else ""
        return f"Next: start {part.progress.to_start} of {part.title}{again}."
    if page.pieces_finished >= page.pieces_wanted:
        return "All of it stands finished."
    waiting = max(
        (part for part in page.parts if part.progress.finished < part.wanted),
        key=lambda part: (part.wanted - part.progress.finished) / part.wanted,
    )
    earliest = next(stage for stage in STAGES if waiting.progress.at_hand.get(stage))
    number = waiting.progress.at_hand[earliest]
    return f"Everything is begun. Furthest behind: {number} of {waiting.title}, {STAGES[earliest]}."


def read_set_page(session: Session, set_id: int) -> SetPage | None:
    """The page of a set; None if it is gone."""
    ware = session.get(WareSet, set_id)
    if ware is None:
        return None
    asked = session.execute(
        select(Order, OrderLine.wanted)
        .join(OrderLine, OrderLine.order_id == Order.id)
        .where(OrderLine.set_id == set_id)
    ).first()
    order, asked_for = (asked[0], asked[1]) if asked is not None else (None, 0)
    counted = count_sets(session, [set_id])[set_id].wanting(asked_for)
    return SetPage(
        ware.id,
        ware.version,
        ware.name,
        ware.wanted,
        ware.due_on,
        ware.notes,
        ware.archived,
        counted,
        _parts(session, set_id, counted),
        order.id if order else None,
        order.number if order else None,
        order.whom if order else "",
        order.state if order else "",
        order.promised_on if order and order.state == "open" else None,
    )


def _parts(session: Session, set_id: int, counted: SetCount) -> tuple[SetPartPage, ...]:
    rows = session.execute(
        select(SetPart, Form, Clay.name, Glaze.name, Glaze.version_number)
        .outerjoin(Form, Form.id == SetPart.form_id)
        .outerjoin(Clay, Clay.id == SetPart.clay_id)
        .outerjoin(Glaze, Glaze.id == SetPart.glaze_id)
        .where(SetPart.set_id == set_id)
        .order_by(SetPart.position, SetPart.id)
    ).all()
    ids = [row[0].id for row in rows]
    progress = {part.part_id: part.progress(counted.wanted) for part in counted.parts}
    held, losses = _pieces(session, ids)
    return tuple(
        SetPartPage(
            part.id,
            part.each,
            part.form_id,
            form.name if form else "",
            profile_from_text(form.profile) if form else None,
            form.shape if form else "thrown",
            form.fired_height_mm if form else None,
            form.fired_across_mm if form else None,
            part.clay_id,
            clay or "",
            part.glaze_id,
            title_of(glaze, version) if glaze else "",
            part.what,
            progress[part.id],
            held.get(part.id, ()),
            losses.get(part.id, ()),
        )
        for part, form, clay, glaze, version in rows
    )


def _pieces(
    session: Session, part_ids: Sequence[int]
) -> tuple[Mapping[int, tuple[HeldLot, ...]], Mapping[int, tuple[Loss, ...]]]:
    rows = session.execute(
        select(
            Piece.set_part_id, Piece.run_id, Run.number.label("run_number"), Piece.stage,
            Piece.number, Piece.id, Piece.lost_at, Piece.lost_why,
        )
        .outerjoin(Run, Run.id == Piece.run_id)
        # What broke on the way is lost too, and to be made again.
        .where(
            Piece.set_part_id.in_(part_ids),
            or_(Piece.shipment_id.is_(None), Piece.stage == "lost"),
        )
        .order_by(Run.number, Piece.number.is_(None), Piece.number, Piece.id)
    ).all()  # fmt: skip
    lots: dict[tuple[int, int | None, int | None, str], list[tuple[int | None, int]]] = {}
    lost: dict[tuple[int, str | None, str], int] = defaultdict(int)
    for row in rows:
        if row.set_part_id is None:
            continue
        if row.stage == "lost":
            lost[row.set_part_id, row.lost_at, row.lost_why] += 1
        else:
            key = (row.set_part_id, row.run_id, row.run_number, row.stage)
            lots.setdefault(key, []).append((row.number, row.id))
    held: dict[int, tuple[HeldLot, ...]] = defaultdict(tuple)
    for (part_id, run_id, run_number, stage), pieces in lots.items():
        numbers = tuple(number for number, _ in pieces if number is not None)
        ids = tuple(piece_id for _, piece_id in pieces)
        held[part_id] += (HeldLot(run_id, run_number, stage, len(pieces), numbers, ids),)
    losses: dict[int, tuple[Loss, ...]] = defaultdict(tuple)
    for (part_id, stage_then, why), pieces_lost in lost.items():
        losses[part_id] += (Loss(pieces_lost, stage_then, why),)
    return held, losses
