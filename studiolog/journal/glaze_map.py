"""Where the glazes of a journal sit: silica against alumina, and what was looked for and seen."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from sqlalchemy import ColumnElement, case, func, literal_column, select
from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import Rate, rate_of
from studiolog.craft.firing.cones import band_of
from studiolog.craft.glaze.formula_words import say_moles
from studiolog.craft.words import FAULTS, SURFACES
from studiolog.journal.finding_scope import (
    cone10_in,
    is_described,
    looked_in,
    severity_in_facts,
    shows_surface,
)
from studiolog.journal.glaze_formula import GlazeFormula, read_formulas
from studiolog.journal.glazes import title_of
from studiolog.journal.tables import table
from studiolog.records.facts import NO_CONE, pair_fact

Lying = Literal["alone", "anywhere"]
USUAL_FAULT: Final = "crazing"


@dataclass(frozen=True)
class MapAsk:
    """What the rings of the map speak of.

    ``fault`` or, without one, ``surface`` (keys of `FAULTS` and `SURFACES`); on which clay, between
    which tenths of a cone (the upper edge does not count as inside), and whether only pieces count
    on which the glaze lies alone on the clay, or wherever it lies.
    """

    fault: str | None = USUAL_FAULT
    surface: str | None = None
    clay_id: int | None = None
    low10: int | None = None
    high10: int | None = None
    lying: Lying = "alone"

    @property
    def words(self) -> str:
        """The fault or the surface in a word."""
        return FAULTS[self.fault] if self.fault else SURFACES[self.surface or "glossy"]


@dataclass(frozen=True)
class MapGlaze:
    """A glaze on the map. ``silica`` and ``alumina`` are moles per mole of flux.

    ``rate``: of the pieces looked at for what is asked, those it was seen on; ``pieces`` is how
    many there are, looked at or not. ``parent_id`` is the nearest version before it that is on the
    map too. ``formula`` is the whole formula in a line.
    """

    glaze_id: int
    title: str
    colour: str
    pattern: int
    trial: bool
    archived: bool
    parent_id: int | None
    silica: float
    alumina: float
    ratio: float
    expansion_ppm_k: float | None
    formula: str
    pieces: int
    rate: Rate


@dataclass(frozen=True)
class WithoutFormula:
    """A glaze that is not on the map, and why in a sentence."""

    glaze_id: int
    title: str
    why: str


@dataclass(frozen=True)
class GlazeMap:
    """All glazes that have a place, and those that have none.

    ``clays`` are by id in order of name; ``bands`` the half-cone bands that pieces got.
    """

    ask: MapAsk
    glazes: tuple[MapGlaze, ...]
    without: tuple[WithoutFormula, ...]
    clays: Mapping[int, str]
    bands: tuple[int, ...]

    def glaze(self, glaze_id: int) -> MapGlaze | None:
        """A glaze of the map by its id."""
        return next((one for one in self.glazes if one.glaze_id == glaze_id), None)


def read_glaze_map(session: Session, ask: MapAsk | None = None) -> GlazeMap:
    """The map of every glaze version, trials of test plans among them."""
    asked = ask or MapAsk()
    glaze, clay = table("glaze"), table("clay")
    rows = session.execute(select(glaze).order_by(glaze.c.name, glaze.c.version_number)).all()
    formulas = read_formulas(session, [row.id for row in rows])
    counts = _counts(session, asked)
    placed = {row.id for row in rows if _why_not(formulas[row.id]) is None}
    parents = {row.id: row.parent_id for row in rows}
    glazes: list[MapGlaze] = []
    without: list[WithoutFormula] = []
    for row in rows:
        found, title = formulas[row.id], title_of(row.name, row.version_number)
        why = _why_not(found)
        unity = found.formula
        if why is not None or unity is None or unity.silica_alumina is None:
            if not row.trial:
                without.append(WithoutFormula(row.id, title, why or ""))
            continue
        pieces, looked, seen = counts.get(row.id, (0, 0, 0))
        glazes.append(
            MapGlaze(
                glaze_id=row.id,
                title=title,
                colour=row.colour,
                pattern=row.pattern,
                trial=row.trial,
                archived=row.archived,
                parent_id=_before(row.parent_id, parents, placed),
                silica=unity.oxides["SiO2"],
                alumina=unity.oxides["Al2O3"],
                ratio=unity.silica_alumina,
                expansion_ppm_k=found.expansion_ppm_k,
                formula=say_moles(unity),
                pieces=pieces,
                rate=rate_of(seen, looked),
            )
        )
    clays = session.execute(select(clay.c.id, clay.c.name).order_by(clay.c.name)).all()
    cones = session.scalars(
        select(pair_fact.c.cone10).where(pair_fact.c.cone10 > NO_CONE).distinct()
    ).all()
    return GlazeMap(
        asked,
        tuple(glazes),
        tuple(without),
        {row.id: row.name for row in clays},
        tuple(sorted({band_of(cone10) for cone10 in cones})),
    )


def _why_not(found: GlazeFormula) -> str | None:
    """Why a glaze has no place on the map, in a sentence; None if it has one."""
    unity = found.formula
    if unity is None:
        return found.problem
    if not unity.is_defined:
        return "It holds no flux, so nothing can be told per mole of flux."
    if not unity.oxides.get("SiO2") or not unity.oxides.get("Al2O3"):
        return "It holds no silica or no alumina."
    return None


def _before(parent: int | None, parents: Mapping[int, int | None], placed: set[int]) -> int | None:
    """The nearest version a glaze came from that is on the map."""
    met: set[int] = set()
    while parent is not None and parent not in placed and parent not in met:
        met.add(parent)
        parent = parents.get(parent)
    return parent if parent in placed else None


def _counts(session: Session, ask: MapAsk) -> dict[int, tuple[int, int, int]]:
    """By glaze: pieces, pieces looked at, pieces it was seen on; a piece counts once a glaze."""
    facts = pair_fact
    looked: ColumnElement[int] = looked_in(facts, ask.fault)
    seen: ColumnElement[int] = case((severity_in_facts(facts, ask.fault) > 0, 1), else_=0)
    if ask.fault is None:
        words = (ask.surface or "glossy",)
        looked = case((is_described(facts.c.surfaces, words), 1), else_=0)
        seen = case((shows_surface(facts.c.surfaces, words), 1), else_=0)
    # A sum has no index: the pairs are read as they lie, by glaze, and not piece by piece.
    piece = facts.c.piece_id + literal_column("0")
    each = select(
        facts.c.over_id, func.max(looked).label("looked"), func.max(seen).label("seen")
    ).group_by(facts.c.over_id, piece)
    if ask.lying == "alone":
        each = each.where(facts.c.under_id == 0, facts.c.alone == 1)
    if ask.clay_id is not None:
        each = each.where(facts.c.clay_id == ask.clay_id)
    if ask.low10 is not None:
        each = each.where(cone10_in(facts) >= ask.low10)
    if ask.high10 is not None:
        each = each.where(cone10_in(facts) < ask.high10)
    pieces = each.subquery()
    rows = session.execute(
        select(
            pieces.c.over_id, func.count(), func.sum(pieces.c.looked), func.sum(pieces.c.seen)
        ).group_by(pieces.c.over_id)
    )
    return {over: (count, looked_at, seen_on) for over, count, looked_at, seen_on in rows}


def say_map_glaze(glaze: MapGlaze, ask: MapAsk) -> str:
    """A glaze of the map in a sentence, for the readout and for a screen reader."""
    return f"{say_place(glaze)}. {say_seen(glaze, ask)}"


def say_place(glaze: MapGlaze) -> str:
    """Where it sits: "Chalk: SiO₂ 2.71, Al₂O₃ 0.43, ratio 6.3"."""
    kind = ", a test tile's glaze" if glaze.trial else ""
    return (
        f"{glaze.title}{kind}: SiO₂ {glaze.silica:.2f}, Al₂O₃ {glaze.alumina:.2f}, "
        f"ratio {glaze.ratio:.1f}"
    )


def say_seen(glaze: MapGlaze, ask: MapAsk) -> str:
    """What was looked for and seen on it, with how far so few can be trusted."""
    rate, words = glaze.rate, ask.words
    if not glaze.pieces:
        return "No such piece yet: untested."
    if not rate.trials:
        verb = "described it" if ask.fault is None else f"looked for {words}"
        pieces = "1 piece" if glaze.pieces == 1 else f"{glaze.pieces} pieces"
        return f"On {pieces}, but nobody {verb} yet."
    said = f"{words.capitalize()} seen on {rate.events} of {rate.trials} looked at"
    if not rate.says_enough:
        return f"{said}: too few to tell."
    return f"{said}, somewhere between {round(100 * rate.low)} and {round(100 * rate.high)} in 100."
