"""Ware for a kiln: what waits for a firing, how large it is by now, which cone it wants and why."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median
from typing import Any, Final

from sqlalchemy import ColumnElement, case, exists, func, select
from sqlalchemy.orm import Session, aliased

from studiolog.craft.firing.cone_range import ConeSpan, read_cone_span
from studiolog.craft.firing.cones import ordinal_of, show_cone
from studiolog.craft.limits import Limits
from studiolog.journal.limits import read_limits
from studiolog.journal.load_sizes import (
    ClayScale,
    footprint_of,
    read_scales,
    read_sizes,
    size_of,
)
from studiolog.problems import UserProblem
from studiolog.records.clays import Clay
from studiolog.records.facts import piece_fact
from studiolog.records.firings import Firing
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.loads import KilnLoad, LoadPlace
from studiolog.records.orders import Order, OrderLine
from studiolog.records.pieces import Layer, Piece, Placement, Run, StageChange

READY: Final[Mapping[str, str]] = {
    "bisque": "bone_dry",
    "glaze": "glazed",
    "test": "glazed",
    "decoration": "fired",
}
"""The stage from which ware goes into a firing of a kind."""
MAY_GO: Final[Mapping[str, tuple[str, ...]]] = {
    "bisque": ("wet", "leather_hard", "bone_dry"),
    "glaze": ("bone_dry", "bisque", "glazed"),
    "test": ("bone_dry", "bisque", "glazed"),
    "decoration": ("glazed", "fired", "finished"),
}
"""The stages that may be put into a load of a kind by hand; what is not ready is warned of."""
_CHUNK: Final = 800
MOST_WAITING: Final = 1500


@dataclass(frozen=True)
class WareLayer:
    """A glaze on a zone, from the clay outward; ``under_id`` 0 is the clay itself."""

    zone: str
    glaze_id: int
    glaze: str
    under_id: int
    under: str

    @property
    def words(self) -> str:
        """ "Rust Shore over Kelp", or the glaze alone."""
        return f"{self.glaze} over {self.under}" if self.under_id else self.glaze


@dataclass(frozen=True)
class Ware:
    """A piece as it goes into a kiln. Sizes in mm at its stage; ``size_basis`` tells whence.

    ``cones`` is what it wants, None where nothing tells it; ``cone_basis`` says why.
    ``shape`` is "circle", "rectangle" or "hexagon".
    """

    piece_id: int
    number: int | None
    run_id: int | None
    run_number: int | None
    name: str
    form: str
    form_id: int | None
    clay_id: int | None
    clay: str
    stage: str
    shape: str
    across_mm: float
    deep_mm: float
    height_mm: float
    size_basis: str
    stack_mm: float | None
    layers: tuple[WareLayer, ...]
    cones: ConeSpan | None
    cone_basis: str
    clay_cones: ConeSpan | None
    atmosphere: str
    atmosphere_basis: str
    order_id: int | None
    order_number: int | None
    promised_on: date | None

    @property
    def label(self) -> str:
        """ "Piece 412" or "one of run 57"."""
        if self.number is not None:
            return f"Piece {self.number}"
        return f"one of run {self.run_number}"

    @property
    def glaze_words(self) -> str:
        """Its glazes zone by zone, in words."""
        return "; ".join(dict.fromkeys(layer.words for layer in self.layers))


@dataclass(frozen=True)
class WareGroup:
    """Waiting pieces that are alike: one form, stage, cone and atmosphere, of one run or none."""

    pieces: tuple[Ware, ...]
    kind: str

    @property
    def first(self) -> Ware:
        return self.pieces[0]

    @property
    def name(self) -> str:
        return self.first.name

    @property
    def cone_words(self) -> str:
        """ "cone 5 to 7", or "any cone" where nothing tells it."""
        return f"cone {self.first.cones.words}" if self.first.cones else "any cone"

    @property
    def promised_on(self) -> date | None:
        """The soonest day one of them is promised for."""
        return min((p.promised_on for p in self.pieces if p.promised_on), default=None)


def kind_of_stage(stage: str) -> str:
    """The kind of firing ware of a stage waits for."""
    return "bisque" if stage in MAY_GO["bisque"] else "glaze"


def waiting_ids(session: Session, kind: str) -> list[int]:
    """Pieces that wait for a firing of a kind: at its stage, in no such firing, in no open load."""
    reached = (
        select(func.max(StageChange.at))
        .where(StageChange.piece_id == Piece.id, StageChange.stage == Piece.stage)
        .correlate(Piece)
        .scalar_subquery()
    )
    of_kind = Firing.kind == "bisque" if kind == "bisque" else Firing.kind != "bisque"
    # A firing from before it reached this stage is not the one it waits for: glazed anew.
    packed = exists().where(
        Placement.piece_id == Piece.id,
        Firing.id == Placement.firing_id,
        of_kind,
        Firing.started_at >= func.coalesce(reached, Firing.started_at),
    )
    return list(
        session.scalars(
            select(Piece.id)
            .where(Piece.stage == READY[kind], ~packed, ~in_open_load(Piece.id))
            .order_by(Piece.run_id, Piece.number, Piece.id)
        )
    )


def in_open_load(piece_id: Any) -> ColumnElement[bool]:
    """The condition that a piece is in a load that was not lit yet."""
    return exists().where(
        LoadPlace.piece_id == piece_id,
        KilnLoad.id == LoadPlace.load_id,
        KilnLoad.firing_id.is_(None),
    )


def read_waiting(session: Session, kind: str) -> tuple[WareGroup, ...]:
    """What waits for a firing of a kind, alike pieces together, the soonest promise first.

    Of very many those made first are read: no kiln takes more.
    """
    ids = waiting_ids(session, kind)[:MOST_WAITING]
    return group_ware(read_ware(session, ids).values(), kind)


def group_ware(pieces: Iterable[Ware], kind: str) -> tuple[WareGroup, ...]:
    """Pieces that are alike together: form, run, stage, cone, atmosphere and promise."""
    groups: dict[object, list[Ware]] = defaultdict(list)
    for ware in pieces:
        key = (
            ware.name,
            ware.run_id,
            ware.stage,
            ware.cones,
            ware.atmosphere,
            ware.glaze_words,
            ware.promised_on,
        )
        groups[key].append(ware)
    found = [WareGroup(tuple(some), kind) for some in groups.values()]
    return tuple(
        sorted(found, key=lambda g: (g.promised_on or date.max, g.name, g.first.run_number or 0))
    )


def read_ware(session: Session, piece_ids: Sequence[int]) -> dict[int, Ware]:
    """Pieces as they go into a kiln, by id, in the order asked for; those gone are left out."""
    limits = read_limits(session)
    clays: set[int | None] = set()
    for start in range(0, len(piece_ids), _CHUNK):
        some = piece_ids[start : start + _CHUNK]
        clays |= set(session.scalars(select(Piece.clay_id).where(Piece.id.in_(some)).distinct()))
    scales = read_scales(session, clays, limits)
    found: dict[int, Ware] = {}
    for start in range(0, len(piece_ids), _CHUNK):
        found |= _read_some(session, piece_ids[start : start + _CHUNK], scales, limits)
    return {piece_id: found[piece_id] for piece_id in piece_ids if piece_id in found}


def _read_some(
    session: Session,
    piece_ids: Sequence[int],
    scales: Mapping[int | None, ClayScale],
    limits: Limits,
) -> dict[int, Ware]:
    of_run, own = aliased(OrderLine), aliased(OrderLine)
    line_id = case((own.id.is_not(None), own.order_id), else_=of_run.order_id)
    rows = session.execute(
        select(
            Piece.id,
            Piece.number,
            Piece.run_id,
            Run.number.label("run_number"),
            Piece.title,
            Piece.stage,
            Piece.form_id,
            Form.name.label("form"),
            Form.shape,
            Form.fired_across_mm,
            Form.fired_deep_mm,
            Form.fired_height_mm,
            Form.stack_mm,
            Piece.clay_id,
            Clay.name.label("clay"),
            Clay.cone_range.label("clay_cones"),
            Order.id.label("order_id"),
            Order.number.label("order_number"),
            Order.promised_on,
            Order.state.label("order_state"),
            func.coalesce(own.glaze_id, of_run.glaze_id).label("line_glaze"),
        )
        .outerjoin(Run, Run.id == Piece.run_id)
        .outerjoin(Form, Form.id == Piece.form_id)
        .outerjoin(Clay, Clay.id == Piece.clay_id)
        .outerjoin(own, own.id == Piece.order_line_id)
        .outerjoin(of_run, of_run.id == Run.order_line_id)
        .outerjoin(Order, Order.id == line_id)
        .where(Piece.id.in_(piece_ids))
    ).all()
    sizes = read_sizes(session, piece_ids)
    layers = _layers(session, piece_ids)
    glazes = _glaze_cones(session)
    before = _Before(session, {row.clay_id for row in rows}, {row.form_id for row in rows})
    found = {}
    for row in rows:
        shape = footprint_of(row.shape, row.fired_across_mm, row.fired_deep_mm)
        across, deep, height, basis = size_of(
            row, sizes.get(row.id, {}), shape, scales[row.clay_id], limits
        )
        coats = tuple(layers.get(row.id, ()))
        cones, cone_basis = _cones_of(row, coats, glazes, before)
        atmosphere, air_basis = before.atmosphere(row.stage, row.form_id, coats)
        open_order = row.order_state == "open"
        found[row.id] = Ware(
            row.id,
            row.number,
            row.run_id,
            row.run_number,
            row.title or row.form or "piece",
            row.form or row.title or "piece",
            row.form_id,
            row.clay_id,
            row.clay or "",
            row.stage,
            shape,
            across,
            deep,
            height,
            basis,
            row.stack_mm,
            coats,
            cones,
            cone_basis,
            read_cone_span(row.clay_cones or ""),
            atmosphere,
            air_basis,
            row.order_id if open_order else None,
            row.order_number if open_order else None,
            row.promised_on if open_order else None,
        )
    return found


# Glazes and cones ----------------------------------------------------------------------------


def _layers(session: Session, piece_ids: Sequence[int]) -> dict[int, list[WareLayer]]:
    found: dict[int, list[WareLayer]] = defaultdict(list)
    under: dict[tuple[int, str], tuple[int, str]] = {}
    for piece_id, zone, glaze_id, name, version in session.execute(
        select(Layer.piece_id, Layer.zone, Layer.glaze_id, Glaze.name, Glaze.version_number)
        .join(Glaze, Glaze.id == Layer.glaze_id)
        .where(Layer.piece_id.in_(piece_ids))
        .order_by(Layer.piece_id, Layer.zone, Layer.position)
    ):
        title = name if version == 1 else f"{name} {version}"
        below_id, below = under.get((piece_id, zone), (0, ""))
        found[piece_id].append(WareLayer(zone, glaze_id, title, below_id, below))
        under[piece_id, zone] = (glaze_id, title)
    return found


def _glaze_cones(session: Session) -> dict[int, tuple[str, ConeSpan | None]]:
    return {
        glaze_id: (name if version == 1 else f"{name} {version}", read_cone_span(cones))
        for glaze_id, name, version, cones in session.execute(
            select(Glaze.id, Glaze.name, Glaze.version_number, Glaze.cone_range)
        )
    }


class _Before:
    """How ware alike was fired before, asked once for all pieces read together."""

    def __init__(
        self, session: Session, clay_ids: Iterable[int | None], form_ids: Iterable[int | None]
    ) -> None:
        self._bisque: dict[int | None, list[str]] = defaultdict(list)
        clays = [clay for clay in clay_ids if clay is not None]
        for clay_id, cone in session.execute(
            select(Piece.clay_id, Firing.cone)
            .join(Placement, Placement.piece_id == Piece.id)
            .join(Firing, Firing.id == Placement.firing_id)
            .where(Piece.clay_id.in_(clays), Firing.kind == "bisque", Firing.cone.is_not(None))
            .group_by(Piece.clay_id, Firing.cone)
            .order_by(func.count().desc())
        ):
            self._bisque[clay_id].append(cone or "")
        self._glazed: dict[tuple[int, int], list[float]] = defaultdict(list)
        self._air: dict[tuple[int, int], dict[str, int]] = defaultdict(lambda: defaultdict(int))
        forms = [form for form in form_ids if form is not None]
        for form_id, glaze_id, cone, air, pieces in session.execute(
            select(
                Piece.form_id,
                Layer.glaze_id,
                Firing.cone,
                Firing.atmosphere,
                func.count(Piece.id.distinct()),
            )
            .join(Layer, Layer.piece_id == Piece.id)
            .join(piece_fact, piece_fact.c.piece_id == Piece.id)
            .join(Firing, Firing.id == piece_fact.c.firing_id)
            .where(Piece.form_id.in_(forms), Firing.kind != "bisque", Firing.cone.is_not(None))
            .group_by(Piece.form_id, Layer.glaze_id, Firing.cone, Firing.atmosphere)
        ):
            self._glazed[form_id or 0, glaze_id] += [ordinal_of(cone or "6")] * pieces
            self._air[form_id or 0, glaze_id][air] += pieces

    def bisque_cone(self, clay_id: int | None) -> str | None:
        """The cone ware of a clay was most often bisque-fired to."""
        return next(iter(self._bisque.get(clay_id, ())), None)

    def glaze_cone(
        self, form_id: int | None, coats: Sequence[WareLayer]
    ) -> tuple[ConeSpan, int] | None:
        """The cone form and glaze were fired to before, and how many pieces tell it."""
        numbers = [
            number
            for glaze_id in {coat.glaze_id for coat in coats}
            for number in self._glazed.get((form_id or 0, glaze_id), ())
        ]
        if not numbers:
            return None
        middle = round(median(numbers) * 2) / 2
        return ConeSpan(middle, middle), len(numbers)

    def atmosphere(
        self, stage: str, form_id: int | None, coats: Sequence[WareLayer]
    ) -> tuple[str, str]:
        """The atmosphere form and glaze were fired in most, else oxidation."""
        counts: dict[str, int] = defaultdict(int)
        if stage not in ("wet", "leather_hard", "bone_dry"):
            for glaze_id in {coat.glaze_id for coat in coats}:
                for air, pieces in self._air.get((form_id or 0, glaze_id), {}).items():
                    counts[air] += pieces
        if not counts:
            return "oxidation", "usual"
        best = max(counts, key=lambda air: counts[air])
        return best, f"as {counts[best]} before"


def _cones_of(
    row: Any,
    coats: Sequence[WareLayer],
    glazes: Mapping[int, tuple[str, ConeSpan | None]],
    before: _Before,
) -> tuple[ConeSpan | None, str]:
    """The cones a piece wants, and what tells it."""
    stage: str = row.stage
    clay_id: int | None = row.clay_id
    form_id: int | None = row.form_id
    line_glaze: int | None = row.line_glaze
    if kind_of_stage(stage) == "bisque":
        usual = before.bisque_cone(clay_id)
        if usual is None:
            return None, "no bisque of this clay was logged"
        number = ordinal_of(usual)
        return ConeSpan(number, number), f"as its clay was bisque-fired before: {show_cone(usual)}"
    named = {coat.glaze_id: coat.glaze for coat in coats}
    span: ConeSpan | None = None
    told: list[str] = []
    for glaze_id, name in named.items():
        cones = glazes[glaze_id][1] if glaze_id in glazes else None
        if cones is None:
            continue
        told.append(f"{name} {cones.words}")
        met = cones if span is None else span.meet(cones)
        if met is None:
            return span, f"its glazes want different cones: {', '.join(told)}"
        span = met
    if span is not None:
        return span, f"by its glazes: {', '.join(told)}"
    if line_glaze is not None and line_glaze in glazes and not named:
        name, cones = glazes[line_glaze]
        if cones is not None:
            return cones, f"by its order, which asks for {name}: {cones.words}"
    fired = before.glaze_cone(form_id, coats)
    if fired is not None:
        return fired[0], f"as {fired[1]} like it were fired before"
    return None, "no cone is known of its glazes"


def read_cone_of_load(cone: str) -> float | None:
    """A load's cone as an ordinal; None while none was said, or for one that can't be read."""
    try:
        return ordinal_of(cone) if cone else None
    except UserProblem:
        return None
