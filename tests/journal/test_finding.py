"""Answers from the facts are those a patient potter would count by hand from the records."""

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import rate_of, wilson
from studiolog.craft.words import FAULTS, ONE_OF, SURFACE_GROUPS
from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.finding import (
    Page,
    find_blocker,
    find_pieces,
    read_answer,
    read_hits,
    read_names,
)
from studiolog.journal.firings import (
    ConeDraft,
    CurveDraft,
    FiringDraft,
    LogDraft,
    PackDraft,
    log_firing,
)
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze
from studiolog.journal.inspections import FaultDraft, InspectionDraft, SurfaceDraft
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.matrix import cell_pieces, read_matrix
from studiolog.journal.opening import Journal, open_journal
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    RunDraft,
    delete_piece,
    log_piece,
    log_run,
    set_layers,
)
from studiolog.journal.question import Combination, ConeRange, Question
from studiolog.journal.question_chemistry import ChemistryRange
from studiolog.journal.question_reading import read_question
from studiolog.journal.questions import (
    delete_question,
    keep_question,
    read_kept_questions,
    rename_question,
)
from studiolog.journal.rates_report import rates_as_json, read_rates
from studiolog.journal.remarks import plan_next_test, read_remarks
from studiolog.records import Record
from tests.wandering import WANDERING

GLAZES = 13  # enough that 1 and 12 are hidden in 11, 12 and 112
MINERALS = ("Orthoclase", "Whiting", "Kaolinite", "Silica")
RECIPES = {0: (40, 20, 10, 30), 1: (40, 20, 35, 5), 11: (0, 0, 60, 40), 12: (70, 10, 5, 15)}
"""Parts of each mineral by glaze: a bright one, a matt one, a slip without flux, an alkaline one;
the others have no recipe."""


@dataclass(frozen=True)
class Yard:
    """What stands ready. ``heat`` says by hand what each place got: (cone, basis) or None."""

    journal: Journal
    clays: tuple[int, ...]
    glazes: tuple[int, ...]
    places: tuple[tuple[int, int], ...]
    heat: dict[tuple[int, int], tuple[float, str] | None]
    firings: dict[int, tuple[str, date]]
    levels: dict[int, str]


def recipe_of(glaze: int) -> tuple[RecipePart, ...]:
    parts = zip(MINERALS, RECIPES.get(glaze, ()), strict=False)
    return tuple(RecipePart(name, grams, False) for name, grams in parts if grams)


def figure_by_hand(glaze: int, measure: str) -> float | None:
    """From the ideal formulas of the four minerals and their molar masses, g/mol."""
    if glaze not in RECIPES:
        return None
    grams = RECIPES[glaze]
    masses = (556.66, 100.09, 258.16, 60.08)
    feldspar, whiting, kaolin, silica = (g / m for g, m in zip(grams, masses, strict=True))
    if measure == "LOI":
        return 100 * (44.01 * whiting + 36.03 * kaolin) / sum(grams)
    flux, alumina = feldspar + whiting, feldspar + kaolin
    silica += 6 * feldspar + 2 * kaolin
    if measure == "silica_alumina":
        return silica / alumina
    moles = {"SiO2": silica, "Al2O3": alumina, "CaO": whiting, "R2O": feldspar, "B2O3": 0.0}
    return moles[measure] / flux if flux else None


def set_up(journal: Journal) -> Yard:
    def enter(session: Session) -> Yard:
        clays = tuple(add_clay(session, ClayDraft(name=name)) for name in ("Buff", "Red", "P2"))
        glazes = tuple(
            add_glaze(session, GlazeDraft(name=f"Glaze {n}", recipe=recipe_of(n)))
            for n in range(GLAZES)
        )
        add_kiln(session, KilnDraft(name="Big", levels=("Top", "Bottom")))
        add_kiln(session, KilnDraft(name="Small", levels=("top",)))
        kilns = {kiln.name: kiln for kiln in list_kilns(session)}
        top, bottom = (level.level_id for level in kilns["Big"].levels)
        small = kilns["Small"].levels[0].level_id
        flat = ConeDraft(cone="6", bend_low_deg=90, bend_high_deg=90)
        read = log_firing(
            session,
            FiringDraft(
                kiln_id=kilns["Big"].kiln_id,
                started_at=datetime(2026, 3, 1, 8),
                cone="5",
                packs=(PackDraft(level_id=bottom, cones=(flat,)),),
            ),
        )
        curve = CurveDraft(
            channel="1", packed=b"", readings=0, duration_s=1.0, cone=7.2, cone_low=6.8,
            cone_high=7.6,
        )  # fmt: skip
        log = LogDraft(sha256="0" * 64, name="log.csv", content=b"", curves=(curve,))
        computed = log_firing(
            session,
            FiringDraft(
                kiln_id=kilns["Small"].kiln_id,
                started_at=datetime(2026, 6, 1, 8),
                atmosphere="reduction",
                log=log,
            ),
        )
        unknown = log_firing(
            session,
            FiringDraft(kiln_id=kilns["Small"].kiln_id, started_at=datetime(2026, 7, 1, 8)),
        )
        return Yard(
            journal,
            clays,
            glazes,
            ((read, top), (read, bottom), (computed, small), (unknown, small)),
            {
                (read, top): (5.0, "aimed"),
                (read, bottom): (6.0, "read"),
                (computed, small): (7.2, "computed"),
                (unknown, small): None,
            },
            {
                read: ("oxidation", date(2026, 3, 1)),
                computed: ("reduction", date(2026, 6, 1)),
                unknown: ("oxidation", date(2026, 7, 1)),
            },
            {top: "top", bottom: "bottom", small: "top"},
        )

    return journal.edit("Set up", enter).value


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Yard]:
    journal = open_journal(Path(tmp_path_factory.mktemp("yard")) / "journal")
    yield set_up(journal)
    journal.close()


# Counting by hand ----------------------------------------------------------------------------


def records_of(session: Session, name: str) -> list[Any]:
    source = Record.metadata.tables[name]
    return list(session.execute(select(source).order_by(source.c.id)))


def covers(zone: str, wanted: str) -> bool:
    return not wanted or zone == wanted or zone.startswith(wanted + ",")


def concerns(fault: str, said: str, laid: str) -> bool:
    """Whether a reading at ``said`` is about the glaze on ``laid``, in a potter's words."""
    if said in ("", laid):
        return True
    if fault == "running":
        side = said.split(",")[0]
        return ("outside" if side == "foot" else side) == laid.split(",")[0]
    return said.startswith(laid + ",") or laid.startswith(said + ",")


class ByHand:
    """Reads the normalised tables whole, and answers piece by piece."""

    def __init__(self, session: Session, yard: Yard) -> None:
        self.yard = yard
        self.pieces = records_of(session, "piece")
        self.zones: dict[int, dict[str, list[Any]]] = defaultdict(lambda: defaultdict(list))
        laid = sorted(records_of(session, "layer"), key=lambda row: row.id)
        for layer in laid:
            self.zones[layer.piece_id].setdefault(layer.zone, [])
        for layer in laid:
            for zone, upon in self.zones[layer.piece_id].items():
                if zone == layer.zone or zone.startswith(f"{layer.zone},"):
                    upon.append(layer)
        of_inspection = {row.id: row.piece_id for row in records_of(session, "inspection")}
        self.looks: dict[int, list[Any]] = defaultdict(list)
        for reading in records_of(session, "fault_reading"):
            self.looks[of_inspection[reading.inspection_id]].append(reading)
        self.said: dict[int, list[Any]] = defaultdict(list)
        for word in records_of(session, "surface_reading"):
            self.said[of_inspection[word.inspection_id]].append(word)
        self.stood: dict[int, tuple[int, int]] = {
            row.piece_id: (row.firing_id, row.level_id) for row in records_of(session, "placement")
        }

    def cone(self, piece: Any) -> tuple[float, str] | None:
        return self.yard.heat[self.stood[piece.id]] if piece.id in self.stood else None

    def meets(self, piece: Any, question: Question) -> bool:
        stood = self.stood.get(piece.id)
        atmosphere, day = self.yard.firings[stood[0]] if stood else (None, None)
        if question.clay_id is not None and piece.clay_id != question.clay_id:
            return False
        if question.atmosphere is not None and atmosphere != question.atmosphere:
            return False
        if question.since and not (day and day >= question.since):
            return False
        if question.until and not (day and day <= question.until):
            return False
        if question.level and not (stood and self.yard.levels[stood[1]] == question.level):
            return False
        return not (question.notes and question.notes.lower() not in piece.notes.lower())

    def in_cones(self, piece: Any, cone: ConeRange | None) -> bool:
        if cone is None:
            return True
        known = self.cone(piece)
        return (
            known is not None
            and (cone.basis is None or known[1] == cone.basis)
            and (cone.low is None or known[0] >= cone.low)
            and (cone.high is None or known[0] <= cone.high)
        )

    def lies(self, laid: list[int], combination: Combination | None) -> bool:
        if combination is None:
            return True
        pairs = list(zip(laid[1:], laid[:-1], strict=True))
        match combination.kind:
            case "over":
                return (combination.glaze_id, combination.under_id) in pairs
            case "only":
                return laid == [combination.glaze_id]
            case "anywhere":
                return combination.glaze_id in laid
            case _:
                return any(over != under for over, under in pairs)

    def words(self, piece: Any, zone: str) -> set[str]:
        """What was said of the surface of a zone, of a part of it, or of the whole piece."""
        return {one.word for one in self.said[piece.id] if concerns("glossy", one.zone, zone)}

    def shows(self, piece: Any, zone: str, words: tuple[str, ...]) -> bool | None:
        """Whether a surface is so; None where one of the respects was not described."""
        said, fits = self.words(piece, zone), True
        for group, members in SURFACE_GROUPS.items():
            asked = {word for word in words if word in members}
            if asked and not said & set(members):
                return None
            fits &= bool(asked & said) or not asked if group in ONE_OF else asked <= said
        return fits

    def made_so(self, laid: list[int], asked: tuple[ChemistryRange, ...]) -> bool:
        """Whether one of the glazes that lie here meets all that is asked of a formula."""

        def meets(glaze_id: int) -> bool:
            glaze = self.yard.glazes.index(glaze_id)
            figures = [figure_by_hand(glaze, one.measure) for one in asked]
            return all(
                figure is not None
                and (one.low is None or figure >= one.low)
                and (one.high is None or figure <= one.high)
                for one, figure in zip(asked, figures, strict=True)
            )

        return not asked or any(meets(glaze) for glaze in laid)

    def zones_meeting(self, piece: Any, question: Question, surfaces: bool = True) -> list[str]:
        narrows = surfaces and question.surfaces and not question.asks_surface()
        return [
            zone
            for zone, layers in self.zones[piece.id].items()
            if covers(zone, question.zone)
            and (not narrows or self.shows(piece, zone, question.surfaces))
            and self.made_so([row.glaze_id for row in layers], question.chemistry)
            and (question.method is None or question.method in [row.method for row in layers])
            and self.lies([row.glaze_id for row in layers], question.combination)
        ]

    def severity(self, piece: Any, fault: str | None, zones: list[str] | None) -> int | None:
        """The worst seen in these zones (None: on the whole piece); None if nobody looked."""
        found = [
            look.severity
            for look in self.looks[piece.id]
            if fault in (None, look.fault)
            and (zones is None or any(concerns(look.fault, look.zone, zone) for zone in zones))
        ]
        return max(found) if found else None

    def answer(self, question: Question) -> dict[int, int | None]:
        layered = bool(
            question.zone
            or question.combination
            or question.method
            or question.surfaces
            or question.chemistry
        )
        found: dict[int, int | None] = {}
        for piece in self.pieces:
            zones = self.zones_meeting(piece, question) if layered else None
            if zones == [] or not self.meets(piece, question):
                continue
            if not self.in_cones(piece, question.cone):
                continue
            if question.surfaces and question.fault is None and question.severity == 1:
                shown = [self.shows(piece, zone, question.surfaces) for zone in zones or ()]
                told = [one for one in shown if one is not None]
                found[piece.id] = int(any(told)) if told else None
            else:
                found[piece.id] = self.severity(piece, question.fault, zones)
        return found

    def without_surface(self, question: Question) -> set[int]:
        """Pieces that would be in the answer if somebody had described a zone of theirs."""
        if not question.surfaces or (question.fault is None and question.severity == 1):
            return set()
        return {
            piece.id
            for piece in self.pieces
            if self.meets(piece, question)
            and self.in_cones(piece, question.cone)
            and any(
                self.shows(piece, zone, question.surfaces) is None
                for zone in self.zones_meeting(piece, question, surfaces=False)
            )
        } - set(self.answer(question))


# Made-up journals ----------------------------------------------------------------------------

ZONE_WORDS = ("outside", "inside", "outside, upper", "outside, lower", "rim")
LOOKED_FOR = ("crazing", "crawling", "running", "dry")


@st.composite
def specs(draw: st.DrawFn) -> dict[str, Any]:
    zones = draw(st.lists(st.sampled_from(ZONE_WORDS), max_size=2, unique=True))
    fault = st.tuples(
        st.sampled_from(LOOKED_FOR), st.integers(0, 3), st.sampled_from(("", "foot", *ZONE_WORDS))
    )
    layer = st.tuples(st.sampled_from((0, 1, 10, 11, 12)), st.sampled_from((None, "dip", "brush")))
    word = st.tuples(
        st.sampled_from(("glossy", "matt", "clear", "mottled", "crystals")),
        st.sampled_from(("", "outside", "outside, lower", "inside")),
    )
    return {
        "surfaces": draw(st.lists(word, max_size=3, unique=True)),
        "clay": draw(st.sampled_from((None, 0, 1))),
        "zones": {zone: draw(st.lists(layer, min_size=1, max_size=3)) for zone in zones},
        "place": draw(st.sampled_from((None, 0, 1, 2, 3))),
        "faults": draw(st.lists(fault, max_size=3, unique_by=lambda f: (f[0], f[2]))),
        "notes": draw(st.sampled_from(("", "Pinging for days"))),
    }


@st.composite
def questions(draw: st.DrawFn, yard_like: int = GLAZES) -> dict[str, Any]:
    glaze = st.sampled_from((0, 1, 10, 11, 12))
    return {
        "fault": draw(st.none() | st.sampled_from(LOOKED_FOR)),
        "severity": draw(st.integers(1, 3)),
        "zone": draw(st.sampled_from(("", "outside", "outside, lower", "inside"))),
        "clay": draw(st.sampled_from((None, None, 0))),
        "combination": draw(
            st.none()
            | st.tuples(st.just("over"), glaze, glaze)
            | st.tuples(st.sampled_from(("anywhere", "only")), glaze, st.none())
            | st.just(("overlap", None, None))
        ),
        "method": draw(st.sampled_from((None, None, "dip"))),
        "cone": draw(
            st.sampled_from(
                (
                    None,
                    ConeRange(5.5, 6.5),
                    ConeRange(5.0, None, "read"),
                    ConeRange(None, 6.0),
                    ConeRange(None, None, "aimed"),
                )
            )
        ),
        "atmosphere": draw(st.sampled_from((None, None, "oxidation"))),
        "level": draw(st.sampled_from(("", "", "top"))),
        "since": draw(st.sampled_from((None, None, date(2026, 4, 1)))),
        "until": draw(st.sampled_from((None, None, date(2026, 6, 30)))),
        "notes": draw(st.sampled_from(("", "", "pinging"))),
        "surfaces": draw(
            st.sampled_from(
                (
                    *((), (), (), ("matt",), ("glossy", "matt"), ("glossy", "clear")),
                    ("mottled", "crystals"),
                )
            )
        ),
        "chemistry": draw(
            st.sampled_from(
                (
                    *((), (), (), (ChemistryRange("silica_alumina", 8.0),)),
                    (ChemistryRange("silica_alumina", None, 6.0),),
                    (ChemistryRange("SiO2", 3.0, 4.0), ChemistryRange("CaO", 0.6)),
                    (ChemistryRange("LOI", None, 9.0),),
                    (ChemistryRange("R2O", 0.5), ChemistryRange("B2O3", None, 0.1)),
                    (ChemistryRange("B2O3", 0.1),),
                )
            )
        ),
    }


def as_question(yard: Yard, made: dict[str, Any]) -> Question:
    kind = made["combination"]
    combination = (
        Combination(kind[0], *(0 if part is None else yard.glazes[part] for part in kind[1:]))
        if kind
        else None
    )
    clay = None if made["clay"] is None else yard.clays[made["clay"]]
    rest = {key: value for key, value in made.items() if key not in ("clay", "combination")}
    return Question(clay_id=clay, combination=combination, **rest)


def log_specs(session: Session, yard: Yard, made: list[dict[str, Any]]) -> list[int]:
    return [log_piece(session, as_draft(yard, spec)) for spec in made]


def layers_of(yard: Yard, spec: dict[str, Any]) -> tuple[LayerDraft, ...]:
    return tuple(
        LayerDraft(zone=zone, glaze_id=yard.glazes[glaze], method=method)
        for zone, layers in spec["zones"].items()
        for glaze, method in layers
    )


def as_draft(yard: Yard, spec: dict[str, Any]) -> PieceDraft:
    place = spec["place"]
    faults = tuple(FaultDraft(*fault) for fault in spec["faults"])
    surfaces = tuple(SurfaceDraft(*word) for word in spec.get("surfaces", ()))
    looked = InspectionDraft(looked_on=date(2026, 8, 1), faults=faults, surfaces=surfaces)
    return PieceDraft(
        clay_id=None if spec["clay"] is None else yard.clays[spec["clay"]],
        layers=layers_of(yard, spec),
        placements=(
            ()
            if place is None
            else (PlacementDraft(firing_id=yard.places[place][0], level_id=yard.places[place][1]),)
        ),
        inspections=(looked,) if faults or surfaces else (),
        notes=spec["notes"],
    )


def assert_agrees(yard: Yard, asked: list[Question]) -> None:
    def compare(session: Session) -> None:
        by_hand = ByHand(session, yard)
        for question in asked:
            wanted = by_hand.answer(question)
            found = {hit.piece_id: hit.severity for hit in read_hits(session, question)}
            assert found == wanted, question
            answer = read_answer(session, question)
            counts = answer.counts
            looked = [severity for severity in wanted.values() if severity is not None]
            assert counts.answering == len(looked)
            assert counts.seen == sum(severity >= question.severity for severity in looked)
            assert counts.not_looked == len(wanted) - len(looked)
            assert counts.no_cone == _without_cone(by_hand, question)
            no_surface = {h.piece_id for h in answer.left_out if h.left_out == "no surface"}
            assert no_surface == by_hand.without_surface(question), question
            assert answer.no_formula == _without_formula(by_hand, question)
            _assert_matrix_agrees(session, by_hand, question)
        _assert_rates_agree(session, by_hand)

    yard.journal.read(compare)


def _without_formula(by_hand: ByHand, question: Question) -> set[int]:
    """Glazes on a piece of which some figure that is asked for can't be told."""
    lie = {
        row.glaze_id for zones in by_hand.zones.values() for some in zones.values() for row in some
    }
    return {
        glaze_id
        for glaze_id in lie
        for one in question.chemistry
        if figure_by_hand(by_hand.yard.glazes.index(glaze_id), one.measure) is None
    }


def _without_cone(by_hand: ByHand, question: Question) -> int:
    if question.cone is None:
        return 0
    open_cone = replace(question, cone=None)
    known = (
        by_hand.cone(piece) for piece in by_hand.pieces if piece.id in by_hand.answer(open_cone)
    )
    return sum(cone is None or question.cone.basis not in (None, cone[1]) for cone in known)


def _assert_matrix_agrees(session: Session, by_hand: ByHand, question: Question) -> None:
    matrix = read_matrix(session, question, columns="clay")
    if matrix.suggested:
        return
    for row, line in zip(matrix.rows, matrix.cells, strict=True):
        over, under = row.key
        kind = Combination("over", over, under) if under else Combination("only", over)
        for column, cell in zip(matrix.columns, line, strict=True):
            wanted = by_hand.answer(replace(question, combination=kind))
            clays = {piece.id: piece.clay_id for piece in by_hand.pieces}
            here = {p: s for p, s in wanted.items() if clays[p] == column.key}
            looked = [s for s in here.values() if s is not None]
            assert cell.pieces == len(here)
            assert cell.rate.trials == len(looked)
            assert cell.rate.events == sum(s >= question.severity for s in looked)
            assert (cell.rate.low, cell.rate.high) == wilson(cell.rate.events, len(looked))
            evidence = cell_pieces(session, question, row.key, "clay", column.key)
            assert {hit.piece_id: hit.severity for hit in evidence} == here


def _assert_rates_agree(session: Session, by_hand: ByHand) -> None:
    wanted: dict[tuple[Any, ...], list[int]] = defaultdict(list)
    for piece in by_hand.pieces:
        cone = by_hand.cone(piece)
        band = None if cone is None else int(cone[0] * 2) / 2
        laid: dict[str, Any] = by_hand.zones[piece.id] or {"": []}
        for zone, layers in laid.items():
            path = tuple(row.glaze_id for row in layers)
            for fault in FAULTS:
                severity = by_hand.severity(piece, fault, [zone] if layers else None)
                if severity is not None:
                    wanted[piece.clay_id, path, zone, band, fault].append(severity)
    names = read_names(session)
    said = {
        (
            names.clays.get(clay),
            tuple(names.glazes[glaze] for glaze in path),
            zone,
            band,
            fault,
        ): (len(found), sum(severity > 0 for severity in found))
        for (clay, path, zone, band, fault), found in wanted.items()
    }
    rates = read_rates(session)
    assert {
        (row.clay, tuple(row.layers), row.zone, row.cone_low, row.fault): (
            row.inspected,
            row.seen,
        )
        for row in rates
    } == said
    assert len(rates) == len(said)


@settings(
    max_examples=60 if WANDERING else 6,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    made=st.lists(specs(), min_size=1, max_size=6),
    changed=specs(),
    asked=st.lists(questions(), min_size=3, max_size=6),
)
def test_facts_and_records_never_disagree(
    yard: Yard, made: list[dict[str, Any]], changed: dict[str, Any], asked: list[dict[str, Any]]
):
    journal = yard.journal
    wanted = [as_question(yard, question) for question in asked]
    logged = journal.edit("Log", lambda session: log_specs(session, yard, made))
    ids = logged.value
    assert_agrees(yard, wanted)
    glazed = journal.edit(
        "Glaze", lambda session: set_layers(session, ids[0], layers_of(yard, changed))
    )
    assert_agrees(yard, wanted)
    lost = journal.edit("Lose", lambda session: delete_piece(session, ids[-1]))
    assert_agrees(yard, wanted)
    for done in (lost, glazed, logged):
        # An edit that changed nothing leaves nothing to undo.
        if done.entry_id is not None:
            assert journal.undo() is not None
            assert_agrees(yard, wanted)
    assert_agrees(yard, wanted)
    assert journal.read(lambda session: read_hits(session, Question())) == ()


# Told as stories -----------------------------------------------------------------------------


@pytest.fixture
def small_yard(journal: Journal) -> Yard:
    return set_up(journal)


def log_one(
    yard: Yard,
    zones: dict[str, list[int]],
    *faults: FaultDraft,
    clay: int = 0,
    place: int | None = 1,
    **more: Any,
) -> int:
    spec = {
        "clay": clay,
        "zones": {zone: [(glaze, "dip") for glaze in laid] for zone, laid in zones.items()},
        "place": place,
        "faults": [],
        "notes": "",
    }
    draft = as_draft(yard, spec)
    if faults:
        looked = InspectionDraft(looked_on=date(2026, 8, 1), faults=faults)
        draft = replace(draft, inspections=(looked,))
    draft = replace(draft, **more)
    return yard.journal.edit("Log", lambda session: log_piece(session, draft)).value


def test_glaze_112_over_45_is_not_glaze_12_over_4(small_yard: Yard):
    """A key searched as text finds 12>4 inside 112>45: delimited at both ends it does not."""
    yard = small_yard

    def number_glazes(session: Session) -> None:
        for n in range(GLAZES + 1, 113):
            add_glaze(session, GlazeDraft(name=f"Test {n}"))

    yard.journal.edit("Many test glazes", number_glazes)
    many = replace(yard, glazes=tuple(range(113)))
    wide = log_one(many, {"outside": [45, 112]}, FaultDraft("crazing", 1))
    near = log_one(many, {"outside": [4, 12]}, FaultDraft("crazing", 0))

    def ask(*kind: Any) -> list[int]:
        question = Question(fault="crazing", combination=Combination(*kind))
        return [hit.piece_id for hit in yard.journal.read(lambda s: read_hits(s, question))]

    assert ask("over", 12, 4) == [near]
    assert ask("over", 112, 45) == [wide]
    assert ask("anywhere", 12) == [near]
    assert ask("anywhere", 45) == [wide]
    assert ask("anywhere", 5) == []


def test_a_piece_counts_once_and_nobody_looked_is_not_sound(small_yard: Yard):
    yard = small_yard
    both_sides = {"outside": [0, 1], "inside": [0, 1]}
    log_one(yard, both_sides, FaultDraft("crazing", 2, "inside"), FaultDraft("crazing", 0))
    log_one(yard, both_sides)
    question = Question(
        fault="crazing", combination=Combination("over", yard.glazes[1], yard.glazes[0])
    )
    counts = yard.journal.read(lambda s: read_answer(s, question)).counts
    assert (counts.answering, counts.seen, counts.not_looked) == (1, 1, 1)
    cell = yard.journal.read(lambda s: read_matrix(s, question)).cell(0, 0)
    assert (cell.pieces, cell.rate.events, cell.rate.trials) == (2, 1, 1)


def test_the_other_order_stands_beside_and_is_never_tried(small_yard: Yard):
    yard = small_yard
    for severity in (1, 0, 0, 0, 0):
        log_one(yard, {"outside": [0, 1]}, FaultDraft("running", severity))
    log_one(yard, {"outside": [0]}, FaultDraft("running", 0))
    matrix = yard.journal.read(lambda s: read_matrix(s, Question(fault="running")))
    assert [row.title for row in matrix.rows] == [
        "Glaze 0",
        "Glaze 1 over Glaze 0",
        "Glaze 0 over Glaze 1",
    ]
    asked = Question(fault="running", combination=Combination("overlap"))
    compared = yard.journal.read(lambda s: read_matrix(s, asked)).rows[-1]
    assert (compared.title, compared.compared) == ("Glaze 0", True)
    by_title = dict(zip((row.title for row in matrix.rows), matrix.cells, strict=True))
    assert by_title["Glaze 1 over Glaze 0"][0].rate == rate_of(1, 5)
    assert not by_title["Glaze 0 over Glaze 1"][0].tried
    assert len(matrix.never_tried()) == 7
    assert matrix.never_tried()[0] == (1, 1)


def test_columns_by_cone_and_by_level(small_yard: Yard):
    yard = small_yard
    for place in (0, 1, 2, 3):
        log_one(yard, {"outside": [0]}, FaultDraft("running", 1), place=place)
    cones = yard.journal.read(lambda s: read_matrix(s, Question(), columns="cone"))
    assert [column.title for column in cones.columns] == [
        "cone 5 to 5½",
        "cone 5½ to 6",
        "cone 6 to 6½",
        "cone 6½ to 7",
        "cone 7 to 7½",
        "no cone known",
    ]
    levels = yard.journal.read(lambda s: read_matrix(s, Question(), columns="level"))
    assert {
        c.title.lower(): cell.pieces
        for c, cell in zip(levels.columns, levels.cells[0], strict=True)
    } == {
        "top": 3,
        "bottom": 1,
    }


def test_rows_of_the_gallery_say_what_a_potter_wants_to_know(small_yard: Yard):
    yard = small_yard
    log_one(yard, {"outside": [0, 1], "inside": [2]}, FaultDraft("crazing", 3), number=412)
    page = yard.journal.read(lambda s: find_pieces(s, Question(fault="crazing"), Page(0, 10)))
    row = page.rows[page.hits[0].piece_id]
    assert row.called == "412"
    assert row.layers == "Outside: Glaze 1 over Glaze 0. Inside: Glaze 2"
    assert (row.cone, row.cone_basis, row.level) == (6.0, "read", "Bottom")
    assert page.hits[0].severity == 3


def test_the_token_that_nothing_can_meet_is_named(small_yard: Yard):
    yard = small_yard
    log_one(yard, {"outside": [0]}, FaultDraft("crazing", 0))
    question = Question(fault="crazing", zone="outside", cone=ConeRange(9.0, 10.0))
    names = yard.journal.read(read_names)
    blocker = yard.journal.read(lambda s: find_blocker(s, question, names))
    assert blocker is not None
    assert (blocker.key, blocker.pieces) == ("cone", 1)
    assert yard.journal.read(lambda s: find_blocker(s, replace(question, cone=None), names)) is None


def test_an_empty_journal_suggests_a_first_test(small_yard: Yard):
    matrix = small_yard.journal.read(lambda s: read_matrix(s, Question()))
    assert matrix.suggested
    assert len(matrix.never_tried()) == len(matrix.rows) * 3
    test = plan_next_test(matrix.cell(0, 0).rate)
    assert test.pieces == 5


def test_the_smallest_next_test_clears_one_half_either_way():
    """1 of 2 now: six more settle it, as on the drawing board; wilson is checked elsewhere."""
    test = plan_next_test(rate_of(1, 2))
    assert test.pieces == 6
    none, _, every = test.outcomes
    assert none.rate.high < 0.5 < every.rate.low
    assert plan_next_test(rate_of(0, 40)).pieces == 0
    assert plan_next_test(rate_of(0, 40)).to_clear == 0
    assert plan_next_test(rate_of(1, 2), 3).outcomes[-1].rate == rate_of(4, 5)


def test_remarks_are_worked_out_from_the_pieces(small_yard: Yard):
    yard = small_yard
    for n in range(12):
        runs, sound = FaultDraft("running", 2), FaultDraft("running", 0)
        log_one(yard, {"outside": [1, 0]}, runs if n < 11 else sound, place=1)
        log_one(yard, {"outside": [0, 1]}, sound if n < 11 else runs, place=0)
    question = Question(fault="running")

    def remarks(session: Session) -> list[str]:
        matrix = read_matrix(session, question)
        hits = read_answer(session, question).hits
        return [
            f"{r.sentence}: {r.rests_on}" for r in read_remarks(session, question, matrix, hits)
        ]

    said = yard.journal.read(remarks)
    assert said[0].startswith("Glaze 0 over Glaze 1 shows running more than Glaze 1 over Glaze 0")
    assert said[0].endswith(": 11 of 12 against 1 of 12")
    assert any(line.startswith("The bottom level holds most of the running") for line in said)
    assert any("24 pieces come from one firing" in line for line in said)
    assert any(line.startswith("How the glaze went on was not fully noted on 24") for line in said)
    assert any(line.startswith("On 12 pieces the cone is only the one aimed at") for line in said)


def test_rates_as_other_programs_read_them(small_yard: Yard):
    yard = small_yard
    log_one(yard, {"outside": [0, 1]}, FaultDraft("crazing", 2), number=7)
    run = yard.journal.edit(
        "Run", lambda s: log_run(s, RunDraft(made_on=date(2026, 2, 1), number=58))
    ).value
    log_one(yard, {"outside": [0, 1]}, FaultDraft("crazing", 0), numbered=False, run_id=run)
    (row,) = json.loads(rates_as_json(yard.journal.read(read_rates)))
    low, high = wilson(1, 2)
    assert row == {
        "clay": "Buff",
        "layers": ["Glaze 0", "Glaze 1"],
        "zone": "outside",
        "cone_low": 6.0,
        "cone_high": 6.5,
        "fault": "crazing",
        "inspected": 2,
        "seen": 1,
        "rate": 0.5,
        "low": low,
        "high": high,
        "pieces": [7, "run 58"],
    }


def test_a_kept_question_is_found_renamed_and_forgotten(small_yard: Yard):
    journal = small_yard.journal
    question = Question(fault="running", combination=Combination("only", small_yard.glazes[3]))
    kept = journal.edit("Keep", lambda s: keep_question(s, " Runny ", question)).value
    (line,) = journal.read(read_kept_questions)
    assert (line.question_id, line.name) == (kept, "Runny")
    assert read_question(line.sentence, journal.read(read_names)).question == question
    assert journal.edit("Keep", lambda s: keep_question(s, "runny", Question())).value == kept
    journal.edit("Rename", lambda s: rename_question(s, kept, "What runs"))
    assert [line.name for line in journal.read(read_kept_questions)] == ["What runs"]
    journal.edit("Forget", lambda s: delete_question(s, kept))
    assert journal.read(read_kept_questions) == ()
    journal.undo()
    assert [line.name for line in journal.read(read_kept_questions)] == ["What runs"]


def said(*words: str, zone: str = "outside") -> tuple[InspectionDraft, ...]:
    surfaces = tuple(SurfaceDraft(word, zone) for word in words)
    return (InspectionDraft(looked_on=date(2026, 8, 2), surfaces=surfaces),)


def test_how_often_a_glaze_comes_out_glossy_or_satin(small_yard: Yard):
    """Two of three described; the fourth was only looked at for its figure, the fifth for none."""
    yard = small_yard
    shown = [log_one(yard, {"outside": [0]}, inspections=said(w)) for w in ("glossy", "satin")]
    matt = log_one(yard, {"outside": [0]}, inspections=said("matt", "clear"))
    mottled = log_one(yard, {"outside": [0]}, inspections=said("mottled"))
    log_one(yard, {"outside": [0]})
    question = Question(surfaces=("glossy", "satin"))

    def counted(session: Session) -> None:
        answer = read_answer(session, question)
        assert (answer.counts.answering, answer.counts.seen, answer.counts.not_looked) == (3, 2, 2)
        assert {hit.piece_id for hit in answer.hits if hit.seen} == set(shown)
        matrix = read_matrix(session, question)
        assert (matrix.cell(0, 0).rate, matrix.cell(0, 0).pieces) == (rate_of(2, 3), 5)
        hits = read_hits(session, Question(surfaces=("matt", "clear")))
        assert {hit.piece_id for hit in hits if hit.seen} == {matt}
        both = Question(surfaces=("mottled", "crystals"))
        assert [hit.seen for hit in read_hits(session, both) if hit.left_out is None] == [False]
        assert {h.piece_id for h in read_hits(session, both) if h.severity == 0} == {mottled}

    yard.journal.read(counted)


def test_crazing_on_matt_surfaces_leaves_out_what_nobody_described(small_yard: Yard):
    yard = small_yard
    crazed = (FaultDraft("crazing", 2, "outside"),)
    look = InspectionDraft(looked_on=date(2026, 8, 2), faults=crazed)
    matt = (SurfaceDraft("matt", "outside"),)
    log_one(yard, {"outside": [0]}, inspections=(replace(look, surfaces=matt),))
    log_one(yard, {"outside": [0]}, inspections=(look, *said("glossy")))
    untold = log_one(yard, {"outside": [0], "inside": [1]}, inspections=(look,))
    answer = yard.journal.read(
        lambda s: read_answer(s, Question(fault="crazing", surfaces=("matt",)))
    )
    assert (answer.counts.answering, answer.counts.seen, answer.counts.no_surface) == (1, 1, 1)
    assert [hit.piece_id for hit in answer.left_out] == [untold]


def test_crazed_and_above_a_ratio_whichever_layer_it_is(small_yard: Yard):
    """4:3:2:1 (orthoclase, silica, whiting, kaolin; common practice) has SiO₂:Al₂O₃ 9.1."""
    yard = small_yard
    crazing = FaultDraft("crazing", 1)
    alone = log_one(yard, {"outside": [0]}, crazing)
    under = log_one(yard, {"outside": [0, 1]}, crazing)
    log_one(yard, {"outside": [1]}, crazing)
    # Bright outside, matt inside: its inside is no matt glaze with a bright layer.
    both = log_one(yard, {"outside": [0], "inside": [1]}, crazing)
    log_one(yard, {"outside": [5]}, crazing)  # a bought glaze: no recipe
    bright = ChemistryRange("silica_alumina", 8.0)
    question = Question(fault="crazing", chemistry=(bright,))

    def asked(session: Session) -> None:
        answer = read_answer(session, question)
        assert {hit.piece_id for hit in answer.hits} == {alone, under, both}
        assert answer.no_formula == {yard.glazes[5]}
        assert answer.counts.no_formula == 1
        over = replace(question, combination=Combination("over", yard.glazes[1], yard.glazes[0]))
        assert [hit.piece_id for hit in read_hits(session, over)] == [under]
        only = replace(question, combination=Combination("only", yard.glazes[1]))
        assert read_hits(session, only) == ()
        inside = replace(question, zone="inside")
        assert read_hits(session, inside) == ()
        blocker = find_blocker(session, only, read_names(session))
        assert blocker is not None
        assert (blocker.key, blocker.pieces) == ("combination", 3)
        keep_question(session, "Bright and crazed", question)

    yard.journal.edit("Ask", asked)
    (kept,) = yard.journal.read(read_kept_questions)
    assert kept.sentence == (
        "How often does crazing show where any layer is a glaze with SiO₂:Al₂O₃ above 8?"
    )
    names = yard.journal.read(read_names)
    assert read_question(kept.sentence, names).question == question
