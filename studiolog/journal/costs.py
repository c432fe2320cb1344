"""What a good piece of each form costs in this studio, and which form pays for its hours.

Everything is told from the journal's own records, with words for how it is known: clay by the
price of its kilogram, glaze by what pieces take up, a place in the kiln by what firings cost,
minutes as they were logged or else as the form plans them, losses as they were counted.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from statistics import median
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.limits import Limits
from studiolog.craft.money import add_up, exact
from studiolog.craft.units import show_quantity
from studiolog.craft.ware.cost import PATH, FormCost, Spent, Worked, cost_form
from studiolog.craft.words import join_words
from studiolog.journal.firing_energy import read_energy_of
from studiolog.journal.limits import read_limits
from studiolog.journal.material_cost import cost_recipe
from studiolog.journal.profiles import Profile, profile_from_text
from studiolog.journal.stage_times import StageTimes, read_stage_times
from studiolog.journal.stock import StockLine, read_stock
from studiolog.journal.studio import read_terms
from studiolog.journal.waiting_for import PlannedStep, plan_steps, roots_of, same_work
from studiolog.journal.ware_use import read_use
from studiolog.records.clays import Clay
from studiolog.records.firings import Firing
from studiolog.records.forms import Form, FormStep
from studiolog.records.glazes import Glaze, RecipeLine
from studiolog.records.pieces import Layer, Piece, Placement, Run, Step

_FIRED_AS: Final = {"bisque": ("bisque",), "firing": ("glaze", "test")}


@dataclass(frozen=True)
class FormCostLine:
    """A form with what a good piece of it costs. ``lost`` of ``counted`` pieces were lost."""

    form_id: int
    name: str
    shape: str
    profile: Profile | None
    height_mm: float | None
    across_mm: float | None
    pieces: int
    cost: FormCost
    loss_words: str


@dataclass(frozen=True)
class CostsPage:
    """All forms in use, what earns most an hour first; those that can't be told last.

    ``remarks`` say what to enter so that more is known.
    """

    lines: tuple[FormCostLine, ...]
    currency: str
    hour_rate: Decimal | None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Shares:
    """What a place in the kiln costs: by form, and for each litre of ware, with firings counted."""

    by_form: Mapping[tuple[str, int | None], tuple[Decimal, int]] = field(default_factory=dict)
    per_litre: Mapping[str, tuple[Decimal, int]] = field(default_factory=dict)


def read_costs(session: Session, form_id: int | None = None) -> CostsPage:
    """What a good piece of each form costs; with ``form_id`` of that form alone."""
    limits, terms = read_limits(session), read_terms(session)
    asked = select(Form).where(Form.archived.is_(False)).order_by(Form.id)
    if form_id is not None:
        asked = select(Form).where(Form.id == form_id)
    forms = list(session.scalars(asked))
    ids, since = [form.id for form in forms], _first_counted(session, limits)
    made = _made(session, ids)
    clays = _clay_prices(session, ids, since)
    glazes = _glaze_costs(session, ids, since)
    shares = _kiln_shares(session, forms, limits)
    work = _work(session, forms)
    times = read_stage_times(session, limits)
    lines: list[FormCostLine] = []
    for form in forms:
        losses, words = _losses(times, form.id)
        spent = (
            _clay(form, clays.get(form.id, ()), limits),
            _place("bisque", form, shares, limits),
            glazes.get(form.id, Spent("glaze", None)),
            _place("firing", form, shares, limits),
        )
        lines.append(
            FormCostLine(
                form.id,
                form.name,
                form.shape,
                profile_from_text(form.profile),
                form.fired_height_mm,
                form.fired_across_mm,
                made.get(form.id, 0),
                cost_form(spent, work[form.id], losses, terms.hour_rate, form.price),
                words,
            )
        )
    lines.sort(key=_what_earns_most)
    remarks = _remarks(lines, clays, terms.hour_rate)
    return CostsPage(tuple(lines), terms.currency, terms.hour_rate, remarks)


def read_form_cost(session: Session, form_id: int) -> FormCostLine | None:
    """What a good piece of one form costs; None if the form is gone."""
    lines = read_costs(session, form_id).lines
    return lines[0] if lines else None


def _what_earns_most(line: FormCostLine) -> tuple[bool, Decimal, str]:
    earns = line.cost.earns_an_hour
    return (earns is None, -(earns or Decimal(0)), line.name.casefold())


def _first_counted(session: Session, limits: Limits) -> int:
    """The id of the oldest piece that still tells of today's clays and glazes."""
    newest = select(Piece.id).order_by(Piece.id.desc()).offset(int(limits["cost_pieces"])).limit(1)
    return session.scalar(newest) or 0


def _made(session: Session, form_ids: Sequence[int]) -> dict[int, int]:
    """Pieces of each form; tools are few and found first, so that an index counts the rest."""
    made: dict[int, int] = {}
    for kind, sign in ((None, 1), ("tool", -1)):
        asked = select(Piece.form_id, func.count()).where(Piece.form_id.in_(form_ids))
        if kind is not None:
            asked = asked.where(Piece.kind == kind)
        for form_id, pieces in session.execute(asked.group_by(Piece.form_id)):
            if form_id is not None:
                made[form_id] = made.get(form_id, 0) + sign * pieces
    return made


@dataclass(frozen=True)
class _ClayShare:
    name: str
    price_per_kg: Decimal | None
    pieces: int


def _clay_prices(
    session: Session, form_ids: Sequence[int], since: int
) -> dict[int, list[_ClayShare]]:
    """The clays each form was made in, by how many pieces; of a form not made yet, none."""
    found: dict[int, list[_ClayShare]] = defaultdict(list)
    rows = session.execute(
        select(Piece.form_id, Clay.name, Clay.price_per_kg, func.count().label("pieces"))
        .join(Clay, Clay.id == Piece.clay_id)
        .where(Piece.id > since, Piece.form_id.in_(form_ids), Piece.kind == "ware")
        .group_by(Piece.form_id, Clay.name, Clay.price_per_kg)
        .order_by(func.count().desc(), Clay.name)
    )
    for form_id, name, price, pieces in rows:
        if form_id is not None:
            found[form_id].append(_ClayShare(name, price, pieces))
    return found


def _clay(form: Form, clays: Sequence[_ClayShare], limits: Limits) -> Spent:
    priced = [clay for clay in clays if clay.price_per_kg is not None]
    if form.clay_g is None:
        return Spent("clay", None, "the form has no clay weight")
    if not clays:
        return Spent("clay", None, "no piece of it names its clay")
    if not priced:
        named = join_words([clay.name for clay in clays[:3]])
        return Spent("clay", None, f"no price of {named}")
    pieces = sum(clay.pieces for clay in priced)
    per_kg = add_up((c.price_per_kg or Decimal(0)) * c.pieces for c in priced) / pieces
    waste = limits["clay_waste_share"]
    kg = form.clay_g / 1000.0 * (1.0 + waste)
    basis = f"{show_quantity(form.clay_g, 'g')} of {join_words([c.name for c in priced[:3]])}"
    if waste:
        basis += f" and {show_quantity(waste * 100, '%')} that is not reclaimed"
    if len(priced) < len(clays):
        basis += f"; no price of {join_words([c.name for c in clays if c not in priced][:3])}"
    return Spent("clay", per_kg * exact(kg), basis)


def _glaze_costs(session: Session, form_ids: Sequence[int], since: int) -> dict[int, Spent]:
    """What the glazes of a form cost a piece.

    A glaze on half the zones of a piece is taken for half of what a piece takes of it.
    """
    zones: dict[int, int] = {}
    laid: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    rows = session.execute(
        select(Piece.form_id, Layer.position, Layer.glaze_id, func.count())
        .join(Layer, Layer.piece_id == Piece.id)
        .where(
            Piece.id > since,
            Layer.piece_id > since,
            Piece.form_id.in_(form_ids),
            Piece.kind == "ware",
        )
        .group_by(Piece.form_id, Layer.position, Layer.glaze_id)
    )
    for form_id, position, glaze_id, layers in rows:
        if form_id is None:
            continue
        laid[form_id][glaze_id] += layers
        if position == 1:
            zones[form_id] = zones.get(form_id, 0) + layers
    used = {glaze_id for glazes in laid.values() for glaze_id in glazes}
    per_piece = _use_of_glazes(session, used)
    named = session.execute(select(Glaze.id, Glaze.name).where(Glaze.id.in_(used)))
    names = {row.id: row.name for row in named}
    found: dict[int, Spent] = {}
    for form_id, glazes in laid.items():
        if not zones.get(form_id):
            continue
        spent, missing = Decimal(0), []
        shares: dict[str, float] = defaultdict(float)
        for glaze_id, layers in glazes.items():
            share = layers / zones[form_id]
            each = per_piece.get(glaze_id, {}).get(form_id) or per_piece.get(glaze_id, {}).get(None)
            if each is None:
                missing.append(names.get(glaze_id, "a glaze"))
            else:
                spent += each * exact(share)
                shares[names[glaze_id]] += share
        if not shares:
            lacking = join_words(sorted(set(missing))[:3])
            found[form_id] = Spent(
                "glaze", None, f"neither weighed nor priced: {lacking}" if lacking else ""
            )
            continue
        most = sorted(shares, key=lambda name: -shares[name])[:3]
        basis = f"{join_words(most)}, by how much a piece takes up and the price of its materials"
        if missing:
            basis += f"; without {join_words(sorted(set(missing))[:3])}"
        found[form_id] = Spent("glaze", spent, basis)
    return found


def _use_of_glazes(session: Session, glaze_ids: set[int]) -> dict[int, dict[int | None, Decimal]]:
    """What a piece takes of each glaze, as money: by form where weighed, None for any form."""
    if not glaze_ids:
        return {}
    recipes: dict[int, dict[str, float]] = defaultdict(dict)
    for glaze_id, material, parts in session.execute(
        select(RecipeLine.glaze_id, RecipeLine.material, RecipeLine.parts).where(
            RecipeLine.glaze_id.in_(glaze_ids)
        )
    ):
        recipes[glaze_id][material] = recipes[glaze_id].get(material, 0.0) + parts
    stock: Mapping[str, StockLine] = read_stock(session)
    forms = {row.name: row.id for row in session.execute(select(Form.id, Form.name))}
    found: dict[int, dict[int | None, Decimal]] = {}
    for glaze in session.scalars(select(Glaze).where(Glaze.id.in_(glaze_ids))):
        cost = cost_recipe(recipes.get(glaze.id, {}), stock)
        if cost.per_kg is None:
            continue
        use = read_use(session, glaze)
        told: dict[int | None, Decimal] = {}
        if use.use is not None:
            told[None] = cost.of(use.use.median_g) or Decimal(0)
        for one in use.by_form:
            told[forms[one.form]] = cost.of(one.use.median_g) or Decimal(0)
        if told:
            found[glaze.id] = told
    return found


def _litres(form: Form | None, limits: Limits) -> float:
    """The room a piece takes in a kiln: of the box around it."""
    usual = limits["ware_usual_mm"]
    if form is None:
        return usual**3 / 1e6
    across = form.fired_across_mm or usual
    return across * (form.fired_deep_mm or across) * (form.fired_height_mm or usual) / 1e6


def _kiln_shares(session: Session, forms: Sequence[Form], limits: Limits) -> _Shares:
    """What each place cost in the newest firings whose cost is known, by the room it takes."""
    most = int(limits["cost_firings"])
    all_forms = {form.id: form for form in session.scalars(select(Form))}
    wanted = {form.id for form in forms}
    by_form: dict[tuple[str, int | None], list[tuple[Decimal, int]]] = defaultdict(list)
    per_litre: dict[str, list[tuple[Decimal, float]]] = defaultdict(list)
    for part, kinds in _FIRED_AS.items():
        newest = list(
            session.scalars(
                select(Firing.id)
                .where(Firing.kind.in_(kinds))
                .order_by(Firing.started_at.desc(), Firing.id.desc())
                .limit(most)
            )
        )
        costs = {
            firing_id: energy.cost_value
            for firing_id, energy in read_energy_of(session, newest).items()
            if energy.cost_value is not None
        }
        loads: dict[int, dict[int | None, int]] = defaultdict(dict)
        for firing_id, form_id, pieces in session.execute(
            select(Placement.firing_id, Piece.form_id, func.count())
            .join(Piece, Piece.id == Placement.piece_id)
            .where(Placement.firing_id.in_(list(costs)))
            .group_by(Placement.firing_id, Piece.form_id)
        ):
            loads[firing_id][form_id] = pieces
        for firing_id, load in loads.items():
            room = {form_id: _litres(all_forms.get(form_id or 0), limits) for form_id in load}
            litres = sum(room[form_id] * pieces for form_id, pieces in load.items())
            cost = costs[firing_id]
            if not litres or cost is None:
                continue
            per_litre[part].append((cost, litres))
            for form_id, pieces in load.items():
                if form_id in wanted:
                    each = cost * exact(room[form_id] / litres)
                    by_form[part, form_id].append((each, pieces))
    return _Shares(
        {
            key: (
                add_up(each * pieces for each, pieces in found) / sum(n for _, n in found),
                len(found),
            )
            for key, found in by_form.items()
        },
        {
            part: (
                add_up(cost for cost, _ in found) / exact(sum(litres for _, litres in found)),
                len(found),
            )
            for part, found in per_litre.items()
        },
    )


def _place(part: str, form: Form, shares: _Shares, limits: Limits) -> Spent:
    own = shares.by_form.get((part, form.id))
    if own is not None:
        each, firings = own
        counted = "1 firing" if firings == 1 else f"{firings} firings"
        return Spent(part, each, f"its share by size of the {counted} it stood in")
    general = shares.per_litre.get(part)
    if general is not None:
        per_litre, firings = general
        counted = "1 firing" if firings == 1 else f"{firings} firings"
        each = per_litre * exact(_litres(form, limits))
        return Spent(part, each, f"by its size, as in {counted} of other ware")
    kind = "bisque" if part == "bisque" else "glaze firing"
    return Spent(part, None, f"no {kind} has both a load and a cost")


def _work(session: Session, forms: Sequence[Form]) -> dict[int, tuple[Worked, ...]]:
    """Minutes by step: the median of what was logged for a piece where three were, else as planned.

    A piece's minutes are added up first: glazed zone by zone it was glazed once. Tools are no ware.
    """
    ids = [form.id for form in forms]
    planned: dict[int, list[tuple[str, str | None, float | None, int]]] = defaultdict(list)
    for row in session.scalars(
        select(FormStep).where(FormStep.form_id.in_(ids)).order_by(FormStep.position)
    ):
        planned[row.form_id].append((row.name, row.stage, row.minutes, row.persons))
    logged: dict[int, list[tuple[int, str, float]]] = defaultdict(list)
    for form_id, piece_id, name, minutes in session.execute(
        select(func.coalesce(Piece.form_id, Run.form_id), Piece.id, Step.name, Step.minutes)
        .join(Piece, Piece.id == Step.piece_id)
        .outerjoin(Run, Run.id == Piece.run_id)
        .where(
            Step.minutes.is_not(None),
            Step.rework.is_(False),
            Piece.kind == "ware",
            func.coalesce(Piece.form_id, Run.form_id).in_(ids),
        )
    ):
        logged[form_id].append((piece_id, name, minutes or 0.0))
    found: dict[int, tuple[Worked, ...]] = {}
    for form in forms:
        steps: list[Worked] = []
        plan = plan_steps(planned[form.id])
        parts: dict[str, Mapping[int, float]] = {}
        took: list[dict[int, float]] = [defaultdict(float) for _ in plan]
        for piece_id, name, minutes in logged[form.id]:
            if name not in parts:
                parts[name] = _parts_of(name, plan)
            for place, part in parts[name].items():
                took[place][piece_id] += minutes * part
        for step, of_pieces in zip(plan, took, strict=True):
            times = list(of_pieces.values())
            if len(times) >= 3:
                basis = f"middle of {len(times)} logged"
                steps.append(Worked(step.name, step.stage, median(times), basis))
            else:
                said = _planned_minutes(step)
                basis = "as the form plans it" if said is not None else "nobody said"
                steps.append(Worked(step.name, step.stage, said, basis))
        found[form.id] = tuple(steps)
    return found


def _planned_minutes(step: PlannedStep) -> float | None:
    return None if step.minutes is None else step.minutes * step.persons


def _parts_of(name: str, plan: Sequence[PlannedStep]) -> Mapping[int, float]:
    """Which steps of a plan a logged name means, by their place, and what part of it is each.

    "Jar thrown" is that step; "thrown" alone is the jar and the lid, as the plan shares them.
    """
    fits = [place for place, step in enumerate(plan) if same_work(name, step.name)]
    words = len(roots_of(name))
    exact = [place for place in fits if len(roots_of(plan[place].name)) == words]
    fits = exact or fits
    minutes = [_planned_minutes(plan[place]) or 0.0 for place in fits]
    if not all(minutes):
        minutes = [1.0] * len(fits)
    return {place: each / sum(minutes) for place, each in zip(fits, minutes, strict=True)}


def _losses(times: StageTimes, form_id: int) -> tuple[dict[str, float], str]:
    """The share lost at each stage, and how it is known."""
    rates = {stage: times.loss(stage, form_id) for stage in PATH}
    # Where the form got no further yet, a rate counts the studio's other ware.
    own = [rate for rate in rates.values() if rate.of == "form"]
    told = own or list(rates.values())
    lost, counted = sum(rate.lost for rate in told), max(rate.pieces for rate in told)
    left = 1.0
    for rate in rates.values():
        left *= 1.0 - rate.mean
    share = show_quantity((1.0 - left) * 100, "%")
    if not counted:
        words = f"{share} lost, as stated: none is counted yet"
    elif own:
        words = f"{share} lost: {lost} of {counted} of this form, and the studio's other ware"
    else:
        words = f"{share} lost: {lost} of {counted} pieces of the studio's other ware"
    return {stage: rate.mean for stage, rate in rates.items()}, words


def _remarks(
    lines: Sequence[FormCostLine],
    clays: Mapping[int, Sequence[_ClayShare]],
    hour_rate: Decimal | None,
) -> tuple[str, ...]:
    said: list[str] = []
    if hour_rate is None:
        said.append("What an hour is to earn is not said: the cost is without work.")
    unpriced = sorted(
        {clay.name for some in clays.values() for clay in some if clay.price_per_kg is None}
    )
    if unpriced:
        said.append(f"No price of {join_words(unpriced[:4])}: enter it on the page of the clay.")
    without = [line.name for line in lines if line.cost.price is None and line.pieces]
    if without:
        said.append(f"No selling price: {join_words(without[:4])}.")
    return tuple(said)
