"""What the journal's inspections tell of fit: which looks count, which do not, and why."""

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime

import pytest
from sqlalchemy.orm import Session

from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.firings import ConeDraft, FiringDraft, PackDraft, log_firing
from studiolog.journal.fit import ConeSpan, read_clay_fit, read_glaze_fit
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze, change_glaze
from studiolog.journal.inspections import (
    FaultDraft,
    InspectionDraft,
    SurfaceDraft,
    log_inspection,
)
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.limits import set_limit
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece
from tests.crazed_yard import enter_once

CHALK = (
    RecipePart("Nepheline syenite", 56),
    RecipePart("Silica", 14),
    RecipePart("Whiting", 18),
    RecipePart("Kaolin", 6),
    RecipePart("Talc", 6),
)
OAT = (
    RecipePart("Potash feldspar", 40),
    RecipePart("Whiting", 17),
    RecipePart("Kaolin", 27),
    RecipePart("Silica", 16),
)


@dataclass(frozen=True)
class Yard:
    journal: Journal
    red: int
    glazes: dict[str, int]
    hot: int
    cool: int


_kept: list[tuple[sqlite3.Connection, Yard]] = []


@pytest.fixture
def yard(journal: Journal) -> Yard:
    def enter(session: Session) -> Yard:
        kiln = add_kiln(session, KilnDraft(name="Big kiln", power_kw=8))
        level = list_kilns(session)[0].levels[0].level_id

        def fire(day: int, cone: str) -> int:
            cones = (ConeDraft(cone=cone, bend_low_deg=90, bend_high_deg=90),)
            return log_firing(
                session,
                FiringDraft(
                    kiln_id=kiln,
                    started_at=datetime(2026, 10, day, 7),
                    cone=cone,
                    packs=(PackDraft(level_id=level, cones=cones),),
                ),
            )

        return Yard(
            journal,
            add_clay(session, ClayDraft(name="Iron-red stoneware")),
            {
                "Chalk": add_glaze(session, GlazeDraft(name="Chalk", recipe=CHALK)),
                "Oat": add_glaze(session, GlazeDraft(name="Oat", recipe=OAT)),
                "Shop white": add_glaze(session, GlazeDraft(name="Shop white", bought=True)),
                "Slip": add_glaze(session, GlazeDraft(name="Slip", kind="slip", recipe=OAT)),
                "Soda": add_glaze(
                    session, GlazeDraft(name="Soda", recipe=(RecipePart("Soda ash", 100),))
                ),
            },
            fire(1, "7"),
            fire(2, "5"),
        )

    return replace(enter_once(journal, _kept, enter), journal=journal)


Lay = tuple[str, str]
Look = tuple[int, bool, tuple[FaultDraft, ...]]


@pytest.fixture
def log(yard: Yard) -> Callable[..., int]:
    """A piece with layers (zone, glaze) and looks (day of November, stress-tested, faults)."""

    def log_one(*layers: Lay, looks: tuple[Look, ...], firing: int | None = None) -> int:
        draft = PieceDraft(
            clay_id=yard.red,
            made_on=date(2026, 9, 1),
            stage="fired",
            layers=tuple(
                LayerDraft(zone=zone, glaze_id=yard.glazes[glaze], method="dip")
                for zone, glaze in layers
            ),
            placements=(PlacementDraft(firing_id=firing or yard.hot),),
            inspections=tuple(
                InspectionDraft(looked_on=date(2026, 11, day), stress_tested=tested, faults=faults)
                for day, tested, faults in looks
            ),
        )
        return int(yard.journal.edit("Log", lambda session: log_piece(session, draft)).value)

    return log_one


def crazing(severity: int, zone: str = "") -> FaultDraft:
    return FaultDraft("crazing", severity, zone)


SOUND = ((1, False, (crazing(0),)),)
CRAZED = ((1, False, (crazing(2),)),)


def fit_of(yard: Yard, span: ConeSpan = ConeSpan()):  # noqa: B008 - frozen
    found = yard.journal.read(lambda session: read_clay_fit(session, yard.red, span))
    assert found is not None
    return found


def told(yard: Yard, glaze: str) -> dict[str, int]:
    point = fit_of(yard).crazing.glaze(yard.glazes[glaze])
    assert point is not None
    kinds = ("seen", "stressed", "unstressed")
    return {kind: point.count(kind) for kind in kinds if point.count(kind)}


def test_crazing_found_weeks_later_counts_as_seen(yard, log):
    piece = log(("outside", "Chalk"), looks=SOUND)
    assert told(yard, "Chalk") == {"unstressed": 1}
    later = InspectionDraft(looked_on=date(2026, 12, 20), faults=(crazing(1),))
    yard.journal.edit("Look again", lambda session: log_inspection(session, piece, later))
    assert told(yard, "Chalk") == {"seen": 1}
    (point,) = fit_of(yard).crazing.looked
    assert [one.piece_id for one in point.pieces] == [piece]


def test_a_later_stress_test_counts_in_full(yard, log):
    log(("outside", "Chalk"), looks=(*SOUND, (9, True, (crazing(0),))))
    assert told(yard, "Chalk") == {"stressed": 1}


def test_a_piece_nobody_looked_at_for_crazing_is_no_evidence(yard, log):
    log(("outside", "Chalk"), looks=((1, True, (FaultDraft("running", 0),)),))
    assert fit_of(yard).crazing.looked == ()
    assert fit_of(yard).crazing.known.glazes == 0


def test_glaze_over_glaze_tells_nothing_of_either(yard, log):
    log(("outside", "Oat"), ("outside", "Chalk"), looks=CRAZED)
    assert fit_of(yard).crazing.looked == ()


def test_a_fault_that_may_be_on_another_glaze_is_left_out_and_said(yard, log):
    # Crazed somewhere, and two glazes alone on their sides: neither can be blamed.
    log(("outside", "Chalk"), ("inside", "Oat"), looks=CRAZED)
    found = fit_of(yard).crazing
    assert found.looked == ()
    (left,) = found.left_out
    assert (left.why, left.pieces, left.glazes) == ("unclear", 1, ("Chalk", "Oat"))
    # Sound as a whole is sound on both; crazed inside is crazed on Oat alone.
    log(("outside", "Chalk"), ("inside", "Oat"), looks=SOUND)
    log(
        ("outside", "Chalk"),
        ("inside", "Oat"),
        looks=((1, False, (crazing(2, "inside"), crazing(0, "outside"))),),
    )
    assert told(yard, "Chalk") == {"unstressed": 2}
    assert told(yard, "Oat") == {"seen": 1, "unstressed": 1}
    # The same glaze inside and out: wherever it crazed, it was this one.
    log(("outside", "Chalk"), ("inside", "Chalk"), looks=CRAZED)
    assert told(yard, "Chalk") == {"seen": 1, "unstressed": 2}


def test_what_can_not_be_calculated_is_left_out_and_said(yard, log):
    log(("outside", "Shop white"), looks=CRAZED)
    log(("outside", "Soda"), looks=CRAZED)
    log(("outside", "Slip"), looks=CRAZED)
    found = fit_of(yard).crazing
    assert found.looked == ()
    reasons = {left.why: left for left in found.left_out}
    assert reasons["no formula"].glazes == ("Shop white",)
    assert "no recipe" in reasons["no formula"].told[0]
    assert reasons["out of range"].glazes == ("Soda",)
    assert any("R₂O is" in sentence for sentence in reasons["out of range"].told)
    assert {one.title for one in found.others} == {"Chalk", "Oat"}


def test_a_surface_that_is_no_glass_is_left_out_and_said(yard, log):
    log(("outside", "Chalk"), looks=SOUND)
    piece = log(("outside", "Chalk"), ("inside", "Oat"), looks=SOUND)
    matt = InspectionDraft(looked_on=date(2026, 12, 1), surfaces=(SurfaceDraft("matt", "outside"),))
    yard.journal.edit("Say", lambda session: log_inspection(session, piece, matt))
    found = fit_of(yard).crazing
    assert {one.title: len(one.pieces) for one in found.looked} == {"Chalk": 1, "Oat": 1}
    assert [(left.why, left.glazes) for left in found.left_out] == [("no glass", ("Chalk",))]


def test_cones_limit_what_counts(yard, log):
    log(("outside", "Chalk"), looks=CRAZED, firing=yard.cool)
    log(("outside", "Chalk"), looks=SOUND, firing=yard.hot)
    whole = fit_of(yard).crazing
    assert whole.looked[0].cones10 == (50, 70)
    assert [band.band for band in whole.bands] == [10, 14]
    assert whole.bands[0].known.mean < whole.bands[1].known.mean
    cool = fit_of(yard, ConeSpan(None, 60)).crazing
    assert (cool.looked[0].count("seen"), cool.looked[0].count("unstressed")) == (1, 0)
    assert [(left.why, left.pieces) for left in cool.left_out] == [("other cone", 1)]
    assert cool.known.mean < whole.known.mean


def test_shivering_is_shown_once_somebody_looked_for_it(yard, log):
    log(("outside", "Chalk"), looks=SOUND)
    assert fit_of(yard).shivering is None
    log(("outside", "Oat"), looks=((1, False, (FaultDraft("shivering", 1),)),))
    shivering = fit_of(yard).shivering
    assert shivering is not None
    assert [one.title for one in shivering.looked] == ["Oat"]
    assert shivering.known.mean > 4.5


def test_the_next_tests_are_glazes_of_the_studio(yard, log):
    found = fit_of(yard).crazing
    assert found.tests is not None
    assert set(found.tests.glazes) == {yard.glazes["Chalk"], yard.glazes["Oat"]}
    yard.journal.edit("Archive", lambda s: change_glaze(s, yard.glazes["Oat"], archived=True))
    found = fit_of(yard).crazing
    assert found.tests is not None
    assert found.tests.glazes == (yard.glazes["Chalk"],)
    # Sound without a stress test it may still be tested; crazed it has said what it can.
    log(("outside", "Chalk"), looks=SOUND)
    assert fit_of(yard).crazing.tests is not None
    log(("outside", "Chalk"), looks=CRAZED)
    assert fit_of(yard).crazing.tests is None


def test_the_page_of_a_glaze_tells_each_clay(yard, log):
    for _ in range(3):
        log(("outside", "Chalk"), looks=CRAZED)
    log(("outside", "Oat"), looks=((1, True, (crazing(0),)),))
    other = yard.journal.edit("Clay", lambda s: add_clay(s, ClayDraft(name="Buff"))).value
    found = yard.journal.read(lambda session: read_glaze_fit(session, yard.glazes["Chalk"]))
    red, buff = found.chances
    assert (red.clay_id, buff.clay_id) == (yard.red, other)
    assert red.chance.mean > buff.chance.mean
    assert red.own.count("seen") == 3
    assert buff.own.pieces == ()
    assert buff.known.glazes == 0
    assert red.cones10 == (70, 70)
    assert found.problems == ()
    bought = yard.journal.read(lambda session: read_glaze_fit(session, yard.glazes["Shop white"]))
    assert bought.chances == ()
    assert "no recipe" in bought.problems[0]
    assert yard.journal.read(lambda session: read_glaze_fit(session, 999)) is None
    assert yard.journal.read(lambda session: read_clay_fit(session, 999)) is None


def test_the_limits_of_the_studio_are_used(yard):
    yard.journal.edit("Limit", lambda session: set_limit(session, "craze_mean_ppm_k", 6.2))
    assert fit_of(yard).crazing.known.mean == pytest.approx(6.2)
