"""The shopping list: what is low or not enough for what is to be mixed, and what it costs."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.limits import Limits
from studiolog.craft.units import parse_number, show_quantity
from studiolog.journal.glazes import title_of
from studiolog.journal.limits import read_limits
from studiolog.journal.plan_mixing import read_plan_mixing
from studiolog.journal.plan_page import list_plans
from studiolog.journal.stock import StockLine, read_stock
from studiolog.journal.writing import get
from studiolog.problems import UserProblem
from studiolog.records.glazes import Glaze, RecipeLine
from studiolog.records.materials import Material, StockChange
from studiolog.records.plans import TestPlan

_MOST_G = 1_000_000.0
_LEAST_BOUGHT_G = 100.0
_ASKED = re.compile(
    r"(?P<name>\S.*?)[\s:]+(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>kg|g)\b\s*[,;.]?\s*(?:and\b)?",
    re.IGNORECASE | re.DOTALL,
)


@dataclass(frozen=True)
class PlannedMix:
    """So many grams of a glaze, dry and with its additions, that are to be mixed."""

    glaze_id: int
    dry_g: float


@dataclass(frozen=True)
class ShoppingLine:
    """One material to buy.

    ``have_g`` None: never bought or counted. ``bag_g`` is what was bought last time, if known;
    then ``buy_g`` is whole bags of it.
    """

    material_id: int
    name: str
    have_g: float | None
    low_g: float | None
    needed_g: float
    needed_for: tuple[str, ...]
    bag_g: float | None
    buy_g: float
    price_per_kg: Decimal | None
    cost: Decimal | None
    bought_from: str

    @property
    def why(self) -> str:
        """Why it is on the list: "1500 g left, low mark 2000 g; 800 g for Kelp"."""
        left = "never counted" if self.have_g is None else f"{show_mass(self.have_g)} left"
        low = f", low mark {show_mass(self.low_g)}" if self.low_g is not None else ""
        need = ""
        if self.needed_g:
            named = f" for {', '.join(self.needed_for)}" if self.needed_for else ""
            need = f"; {show_mass(self.needed_g)}{named}"
        return f"{left}{low}{need}"

    @property
    def bags(self) -> int | None:
        """How many bags of the size bought last time; None if none was bought yet."""
        return None if self.bag_g is None else round(self.buy_g / self.bag_g)


@dataclass(frozen=True)
class ShoppingList:
    """``total`` adds up what has a price; ``unpriced`` names what has none.

    ``uncounted`` are materials with a low mark that were never counted: nobody knows. ``mixes``
    are what it is bought for, ``remarks`` what could not be reckoned.
    """

    on: date
    lines: tuple[ShoppingLine, ...] = ()
    total: Decimal = Decimal(0)
    unpriced: tuple[str, ...] = ()
    uncounted: tuple[str, ...] = ()
    mixes: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def told_total(self) -> str:
        """What it comes to, in words; empty where nothing on it has a price."""
        priced = any(line.cost is not None for line in self.lines)
        return f"In all about {self.total:.2f}" if priced else ""


@dataclass
class _Need:
    grams: float = 0.0
    of: dict[str, None] = field(default_factory=dict)


@dataclass(frozen=True)
class _Weighing:
    """What is to be weighed for one thing; ``words`` say it on the list."""

    title: str
    words: str
    grams_of: Mapping[str, float]


def read_shopping(session: Session, on: date, mixes: Sequence[PlannedMix] = ()) -> ShoppingList:
    """What to buy so that nothing stands at its low mark once all is mixed that is to be.

    That is the ``mixes`` asked for, and every test plan whose materials are not weighed yet.
    Raises `UserProblem` for a mix that can't be.
    """
    stock = {line.name.casefold(): line for line in read_stock(session).values()}
    wanted = [_weigh_mix(session, one) for one in mixes]
    plans, remarks = _weigh_plans(session)
    needs = _sum_needs([*wanted, *plans])
    bags, sellers = _bags(session), _sellers(session)
    limits = read_limits(session)
    lines, uncounted = [], []
    for key in {**stock, **needs}:
        line = stock.get(key) or StockLine(0, needs[key][0], None, None, None)
        need = needs[key][1] if key in needs else _Need()
        if line.archived and not need.grams:
            continue
        if line.grams is None and line.low_g is not None and not need.grams:
            uncounted.append(line.name)
        if not _is_wanted(line, need.grams):
            continue
        bag_g = bags.get(line.material_id)
        buy_g = _to_buy(line, need.grams, bag_g, limits)
        lines.append(
            ShoppingLine(
                line.material_id,
                line.name,
                line.grams,
                line.low_g,
                need.grams,
                tuple(need.of),
                bag_g,
                buy_g,
                line.price_per_kg,
                _to_cents(line.cost(buy_g)),
                sellers.get(line.material_id, ""),
            )
        )
    lines.sort(key=lambda one: (one.bought_from.casefold(), one.name.casefold()))
    return ShoppingList(
        on,
        tuple(lines),
        sum((one.cost for one in lines if one.cost is not None), Decimal(0)),
        tuple(one.name for one in lines if one.cost is None),
        tuple(uncounted),
        tuple(one.words for one in (*wanted, *plans)),
        tuple(remarks),
    )


def read_mix_words(session: Session, text: str) -> tuple[PlannedMix, ...]:
    """The mixes a person types: "Kelp 5 kg, Chalk 800 g". Empty text is none.

    Raises `UserProblem` naming what is no glaze or no amount.
    """
    titles = {
        title_of(glaze.name, glaze.version_number).casefold(): glaze.id
        for glaze in session.scalars(select(Glaze).order_by(Glaze.archived.desc(), Glaze.id))
    }
    found, rest = [], text.strip()
    while rest:
        match = _ASKED.match(rest)
        if match is None:
            raise UserProblem(
                f"“{rest}” can't be read: write each glaze with its dry weight, "
                "like “Kelp 5 kg, Chalk 800 g”."
            )
        name = " ".join(match["name"].split())
        glaze_id = titles.get(name.casefold())
        if glaze_id is None:
            raise UserProblem(f"There is no glaze named {name}.")
        grams = parse_number(match["number"]) * (1000 if match["unit"].lower() == "kg" else 1)
        found.append(PlannedMix(glaze_id, grams))
        rest = rest[match.end() :].strip()
    return tuple(found)


def _title(session: Session, glaze_id: int) -> str:
    glaze = get(session, Glaze, glaze_id)
    return title_of(glaze.name, glaze.version_number)


def _weigh_mix(session: Session, mix: PlannedMix) -> _Weighing:
    title = _title(session, mix.glaze_id)
    if not (math.isfinite(mix.dry_g) and 0 < mix.dry_g <= _MOST_G):
        raise UserProblem(f"{title}: give how many grams are to be mixed, more than 0.")
    rows = session.scalars(select(RecipeLine).where(RecipeLine.glaze_id == mix.glaze_id)).all()
    if not rows:
        raise UserProblem(f"{title} has no recipe, so nothing can be bought for it.")
    whole = sum(row.parts for row in rows)
    grams: dict[str, float] = {}
    for row in rows:
        grams[row.material] = grams.get(row.material, 0.0) + mix.dry_g * row.parts / whole
    return _Weighing(title, f"{title}, {show_mass(mix.dry_g)} dry", grams)


def _weigh_plans(session: Session) -> tuple[list[_Weighing], list[str]]:
    """What the test plans need whose tiles are not glazed and whose corners are not weighed."""
    weighed = set(
        session.scalars(select(StockChange.plan_id).where(StockChange.plan_id.is_not(None)))
    )
    found, remarks = [], []
    for line in list_plans(session):
        if line.plan_id in weighed or line.next_step not in ("make", "glaze"):
            continue
        title = f"test plan {line.code}"
        try:
            mixing = read_plan_mixing(session, get(session, TestPlan, line.plan_id))
        except UserProblem as problem:
            remarks.append(f"Not reckoned for {title}: {problem.sentence}")
            continue
        if mixing is not None:
            found.append(_Weighing(title, f"{title}, {line.name}", dict(mixing.materials_g)))
    return found, remarks


def _sum_needs(weighings: Sequence[_Weighing]) -> dict[str, tuple[str, _Need]]:
    found: dict[str, tuple[str, _Need]] = {}
    for one in weighings:
        for material, grams in one.grams_of.items():
            _, need = found.setdefault(material.casefold(), (material, _Need()))
            need.grams += grams
            need.of[one.title] = None
    return found


def _is_wanted(line: StockLine, needed_g: float) -> bool:
    if line.grams is None:
        return needed_g > 0
    rest = line.grams - needed_g
    return rest <= line.low_g if line.low_g is not None else rest < 0


def _to_buy(line: StockLine, needed_g: float, bag_g: float | None, limits: Limits) -> float:
    """Grams that lift the stock well over its low mark once the mixes are mixed."""
    wanted = needed_g + (line.low_g or 0.0) * limits["bought_to_low_marks"]
    short = max(wanted - max(line.grams or 0.0, 0.0), 0.0)
    size = bag_g or _LEAST_BOUGHT_G
    return max(1, math.ceil(short / size - 1e-9)) * size


def _to_cents(cost: Decimal | None) -> Decimal | None:
    """As it is shown, so that the total is the sum of what stands above it."""
    return None if cost is None else cost.quantize(Decimal("0.01"), ROUND_HALF_UP)


def _bags(session: Session) -> Mapping[int, float]:
    """What was bought of each material the last time."""
    rows = session.execute(
        select(StockChange.material_id, StockChange.grams)
        .where(StockChange.kind == "bought")
        .order_by(StockChange.changed_on, StockChange.id)
    )
    return {row.material_id: row.grams for row in rows}


def _sellers(session: Session) -> Mapping[int, str]:
    rows = session.execute(select(Material.id, Material.bought_from))
    return {row.id: row.bought_from for row in rows}


def write_shopping(shopping: ShoppingList) -> str:
    """The list as plain text, a line a material, to send or paste."""
    if not shopping.lines:
        return f"Materials to buy, {shopping.on.isoformat()}: nothing."
    written = [f"Materials to buy, {shopping.on.isoformat()}"]
    seller = None
    for line in shopping.lines:
        if line.bought_from != seller:
            seller = line.bought_from
            written += ["", f"{seller or 'No shop noted'}:"]
        cost = f", about {line.cost:.2f}" if line.cost is not None else ""
        written.append(f"  {line.name}: {say_amount(line)}{cost}")
    written.append("")
    if shopping.told_total:
        written.append(f"{shopping.told_total}.")
    if shopping.unpriced:
        written.append(f"Without a price: {', '.join(shopping.unpriced)}.")
    written += shopping.remarks
    return "\n".join(written)


def say_amount(line: ShoppingLine) -> str:
    """How much to buy: two bags as "2 × 25 kg", loose as "300 g"."""
    if line.bag_g is None or line.bags is None:
        return show_mass(line.buy_g)
    return f"{line.bags} × {show_mass(line.bag_g)}"


def show_mass(grams: float) -> str:
    """Grams, from a kilogram on in kilograms, as near as a shelf is known: "6.99 kg", "300 g"."""
    if abs(grams) < 1000:
        whole = abs(grams) >= 100 or abs(grams - round(grams)) < 0.05
        return show_quantity(grams, "g", 0 if whole else 1)
    kilos = grams / 1000.0
    return show_quantity(
        kilos, "kg", next((n for n in (0, 1) if round(kilos, 2) == round(kilos, n)), 2)
    )
