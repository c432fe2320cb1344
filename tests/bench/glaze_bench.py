"""What is asked of glazes by their formula: findings, the map, fit on a clay, a recipe searched.

The recipes are invented from the table of shipped materials and written into the synthetic studio
inside a transaction that is given up at the end. Each answer is held against the obvious loop over
the records, zone by zone.
"""

import random
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import numpy as np
from scipy.optimize import nnls
from sqlalchemy import insert
from sqlalchemy.orm import Session

from studiolog.craft.glaze.materials import find_shipped
from studiolog.craft.glaze.oxides import MOLAR_MASSES_G
from studiolog.craft.glaze.target import recipe_for_formula
from studiolog.craft.glaze.unity import UnityFormula, unity_formula
from studiolog.journal.finding import read_hits
from studiolog.journal.fit import read_clay_fit, read_glaze_fit
from studiolog.journal.glaze_formula import read_formulas
from studiolog.journal.glaze_map import MapAsk, read_glaze_map
from studiolog.journal.opening import Journal
from studiolog.journal.question import Question
from studiolog.journal.question_chemistry import RATIO, ChemistryRange
from studiolog.records.glazes import RecipeLine
from tests.bench.questions import Zone, read_zones
from tests.bench.result import Result
from tests.bench.synthetic_studio import CLAYS, GLAZES
from tests.bench.timing import exponent, in_rotation

_BASES = ("Potash feldspar", "Soda feldspar", "Nepheline syenite")
_REST = (
    "Silica",
    "Whiting",
    "Kaolin",
    "Talc",
    "Dolomite",
    "Zinc oxide",
    "Ball clay",
    "Wollastonite",
)
_ASKED = tuple(
    (ChemistryRange(RATIO, low), clay) for clay in range(1, CLAYS + 1) for low in (5.0, 7.0, 9.0)
)
Recipes = dict[int, dict[str, float]]


def invent_recipes(seed: int = 5) -> Recipes:
    """A recipe for each glaze of the studio, of materials every studio has."""
    chance = random.Random(seed)
    return {
        glaze: {chance.choice(_BASES): float(chance.randint(20, 60))}
        | {name: float(chance.randint(4, 30)) for name in chance.sample(_REST, 4)}
        for glaze in range(1, GLAZES + 1)
    }


def shipped_analyses(names: Sequence[str]) -> dict[str, dict[str, float]]:
    """Oxides and loss of shipped materials, as the front door of the formula takes them."""
    found = {}
    for name in names:
        shipped = find_shipped(name)
        if shipped is None:
            raise LookupError(f"{name} does not ship")
        found[name] = {**shipped.oxides, "LOI": shipped.loi_percent or 0.0}
    return found


def formulas_plainly(recipes: Recipes) -> dict[int, UnityFormula]:
    """Each recipe on its own."""
    analyses = shipped_analyses((*_BASES, *_REST))
    return {glaze: unity_formula(recipe, analyses) for glaze, recipe in recipes.items()}


@contextmanager
def _with_recipes(journal: Journal, recipes: Recipes) -> Iterator[Session]:
    with journal.engine.execution_options(writing=True).connect() as connection:
        begun = connection.begin()
        lines = [
            {
                "glaze_id": glaze,
                "position": place,
                "material": name,
                "parts": parts,
                "addition": False,
                "version": 1,
            }
            for glaze, recipe in recipes.items()
            for place, (name, parts) in enumerate(recipe.items(), start=1)
        ]
        connection.execute(insert(RecipeLine.__table__), lines)  # type: ignore[arg-type]
        with Session(connection) as session:
            yield session
        begun.rollback()


def crazed_plainly(
    zones: Sequence[Zone], formulas: dict[int, UnityFormula], asked: ChemistryRange, clay: int
) -> set[int]:
    """The pieces of a clay on which a zone crazed that has such a glaze."""
    meeting = {
        glaze
        for glaze, one in formulas.items()
        if one.silica_alumina is not None and asked.holds(one.silica_alumina)
    }
    return {
        zone.piece_id
        for zone in zones
        if zone.clay == clay and zone.crazing and not meeting.isdisjoint(zone.glazes)
    }


def alone_plainly(zones: Sequence[Zone], clay: int) -> dict[int, set[int]]:
    """The pieces looked at for crazing on which a glaze lies alone on a clay, by glaze."""
    found: dict[int, set[int]] = defaultdict(set)
    for zone in zones:
        if zone.clay == clay and len(set(zone.glazes)) == 1 and zone.crazing is not None:
            found[zone.glazes[0]].add(zone.piece_id)
    return found


def measure_glazes(journals: list[tuple[int, Journal]], rounds: int) -> tuple[list[Result], int]:
    """Ratios to the loops at the largest size, and how many answers differ."""
    recipes = invent_recipes()
    formulas = formulas_plainly(recipes)
    wrong = 0
    grown: dict[str, list[tuple[int, float]]] = defaultdict(list)
    ratios: dict[str, float] = {}
    for size, journal in journals:
        with _with_recipes(journal, recipes) as session:
            zones = list(read_zones(session))
            wrong += _wrong_answers(session, zones, formulas)
            works = {
                "questions": lambda s=session: [_ask(s, *one) for one in _ASKED],
                "map": lambda s=session: read_glaze_map(s, MapAsk()),
                "clay fit": lambda s=session: read_clay_fit(s, 1),
                "glaze fit": lambda s=session: read_glaze_fit(s, 1),
            }
            loop, *taken = in_rotation(
                min(rounds, 3), lambda s=session: list(read_zones(s)), *works.values()
            )
            for name, seconds in zip(works, taken, strict=True):
                grown[name].append((size, seconds))
                ratios[name] = seconds / loop
    results = [
        Result(
            f"{words}, {journals[-1][0]} pieces",
            ratios[name] / (len(_ASKED) if name == "questions" else 1),
            target,
            "reading every zone once from the records",
            min(rounds, 3),
            _growth(grown[name]),
        )
        for name, words, target in (
            ("questions", "a formula and crazed, on one clay", "≤ 0.1"),
            ("map", "where our glazes sit", "≤ 0.2"),
            ("clay fit", "where crazing begins on a clay", "≤ 0.2"),
            ("glaze fit", "a glaze on all clays", "≤ 0.3"),
        )
    ]
    found, differing = _measure_search(rounds)
    return [*results, found], wrong + differing


def _growth(points: list[tuple[int, float]]) -> str:
    if len(points) < 2:
        return f"{points[-1][1] * 1000:.4g} ms"
    return f"{points[-1][1] * 1000:.4g} ms, grows as n^{exponent(points[-2], points[-1]):.4g}"


def _ask(session: Session, asked: ChemistryRange, clay: int) -> set[int]:
    question = Question(fault="crazing", clay_id=clay, chemistry=(asked,))
    return {hit.piece_id for hit in read_hits(session, question) if hit.seen}


def _wrong_answers(
    session: Session, zones: Sequence[Zone], formulas: dict[int, UnityFormula]
) -> int:
    wrong = 0
    for asked, clay in _ASKED:
        wrong += _ask(session, asked, clay) != crazed_plainly(zones, formulas, asked, clay)
    for glaze, one in read_formulas(session, list(formulas)).items():
        same = one.formula is not None and all(
            abs(one.formula.oxides[oxide] - moles) < 1e-9
            for oxide, moles in formulas[glaze].oxides.items()
        )
        wrong += not same
    fit = read_clay_fit(session, 1)
    alone = alone_plainly(zones, 1)
    for point in fit.crazing.looked if fit is not None else ():
        wrong += len(point.pieces) > len(alone[point.glaze_id])
    return wrong


def _measure_search(rounds: int) -> tuple[Result, int]:
    """A recipe of a formula among twelve materials, and the bare solver on the same figures."""
    analyses = shipped_analyses((*_BASES, *_REST))
    target = unity_formula(
        {"Nepheline syenite": 40, "Silica": 28, "Whiting": 18, "Kaolin": 14}, analyses
    )
    oxides = list(target.oxides)
    moles = np.array(
        [
            [one.get(oxide, 0.0) / MOLAR_MASSES_G[oxide] for one in analyses.values()]
            for oxide in oxides
        ]
    )
    wanted = np.array([target.oxides[oxide] for oxide in oxides])
    bare, whole = in_rotation(
        rounds,
        lambda: [nnls(moles, wanted) for _ in range(100)],
        lambda: recipe_for_formula(target.oxides, analyses),
    )
    found = recipe_for_formula(target.oxides, analyses)
    off = max(abs(one.off) for one in found.residual)
    result = Result(
        "a recipe searched among eleven materials, with its reasons",
        whole / bare,
        "≤ 10",
        "a hundred bare non-negative least squares",
        rounds,
        f"{whole * 1000:.4g} ms, off by {off:.2g} mol at most",
    )
    return result, int(off > 0.001)
