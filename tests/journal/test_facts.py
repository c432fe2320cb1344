"""The facts of a piece: what its glaze got, what was seen on it, always those of the records."""

from dataclasses import replace
from datetime import date, datetime

import pytest
from sqlalchemy import select

from studiolog.craft.firing.cleaning import clean_curve
from studiolog.craft.firing.curve_work import tell_curve_work
from studiolog.journal.facts import FaultLook, masks_of, rebuild_facts, severity_in, speaks_of
from studiolog.journal.firings import (
    ConeDraft,
    CurveDraft,
    FiringDraft,
    LogDraft,
    PackDraft,
    change_firing,
    keep_log,
    log_firing,
    remove_log,
)
from studiolog.journal.kilns import change_kiln, set_levels
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import PieceDraft, PlacementDraft, log_piece
from studiolog.journal.session import Session
from studiolog.records.facts import FACT_TABLES, curve_fact, level_heat, piece_fact
from studiolog.transfer.curve_blob import pack_readings, unpack_readings
from tests.journal.conftest import Studio, snapshot


def flat(cone: str) -> tuple[ConeDraft, ...]:
    """A witness cone whose tip is level with its base: it got just that cone."""
    return (ConeDraft(cone=cone, bend_low_deg=90, bend_high_deg=90),)


def fire(studio: Studio, day: date, draft: FiringDraft) -> int:
    at = datetime(day.year, day.month, day.day, 8)
    wanted = replace(draft, started_at=at)
    return studio.journal.edit("Fire", lambda s: log_firing(s, wanted)).value


def firing_to(studio: Studio, cone: str, level: int, kind: str = "glaze") -> FiringDraft:
    return FiringDraft(
        kiln_id=studio.kiln,
        started_at=datetime(2026, 1, 1),
        kind=kind,
        packs=(PackDraft(level_id=level, cones=flat(cone)),),
    )


def logged_firing(studio: Studio, cone: float, packs: tuple[PackDraft, ...] = ()) -> FiringDraft:
    curve = CurveDraft(
        channel="1", packed=b"", readings=0, duration_s=1.0,
        cone=cone, cone_low=cone - 0.4, cone_high=cone + 0.4,
    )  # fmt: skip
    return FiringDraft(
        kiln_id=studio.kiln,
        started_at=datetime(2026, 1, 1),
        log=LogDraft(sha256=f"{cone:064}", name="log.csv", content=b"", curves=(curve,)),
        packs=packs,
    )


def piece_in(studio: Studio, *places: tuple[int, int | None]) -> int:
    def enter(session: Session) -> int:
        placed = tuple(PlacementDraft(firing_id=f, level_id=level) for f, level in places)
        return log_piece(session, PieceDraft(clay_id=studio.buff, placements=placed))

    return studio.journal.edit("Log", enter).value


def cone_of(journal: Journal, piece_id: int) -> tuple[float | None, str | None, int | None]:
    """The cone at a piece, how it is known, and the firing it is from."""
    row = journal.read(
        lambda s: s.execute(select(piece_fact).where(piece_fact.c.piece_id == piece_id)).one()
    )
    return None if row.cone10 is None else row.cone10 / 10, row.cone_basis, row.firing_id


def heat_of(journal: Journal, firing_id: int) -> dict[int, tuple[float, str]]:
    """Cone and basis by level; level 0 is the kiln as a whole."""
    found = select(level_heat).where(level_heat.c.firing_id == firing_id)
    rows = journal.read(lambda s: s.execute(found).all())
    return {row.level_id: (round(row.cone, 1), row.basis) for row in rows}


def assert_facts_stand(journal: Journal) -> None:
    """What was kept edit by edit is what the records give when all is derived anew."""
    kept = snapshot(journal)
    with journal.engine.begin() as connection:
        rebuild_facts(connection)
    anew = snapshot(journal)
    for table in FACT_TABLES:
        assert kept[table.name] == anew[table.name]


@pytest.mark.parametrize("hot_first", [True, False])
def test_of_two_glaze_firings_the_hotter_says_what_the_glaze_got(
    studio: Studio, hot_first: bool
) -> None:
    six = fire(studio, date(2026, 3, 1), firing_to(studio, "6", studio.top))
    luster = fire(studio, date(2026, 4, 1), firing_to(studio, "018", studio.top))
    places = [(six, studio.top), (luster, studio.top)]
    piece = piece_in(studio, *(places if hot_first else reversed(places)))
    assert cone_of(studio.journal, piece) == (6.0, "read", six)


def test_a_bisque_hotter_than_the_glaze_says_nothing_of_the_glaze(studio: Studio) -> None:
    bisque = fire(studio, date(2026, 3, 1), firing_to(studio, "03", studio.top, "bisque"))
    glaze = fire(studio, date(2026, 4, 1), firing_to(studio, "06", studio.top))
    assert cone_of(studio.journal, piece_in(studio, (bisque, studio.top))) == (None, None, None)
    both = piece_in(studio, (bisque, studio.top), (glaze, studio.top))
    assert cone_of(studio.journal, both) == (-5.0, "read", glaze)


def test_where_the_level_is_not_known_the_mean_is_told_by_the_weakest_basis(
    studio: Studio,
) -> None:
    draft = replace(firing_to(studio, "7", studio.top), cone="6")
    firing = fire(studio, date(2026, 3, 1), draft)
    assert heat_of(studio.journal, firing) == {
        studio.top: (7.0, "read"),
        studio.middle: (6.0, "aimed"),
        studio.bottom: (6.0, "aimed"),
        0: (6.3, "aimed"),
    }
    assert cone_of(studio.journal, piece_in(studio, (firing, None))) == (6.3, "aimed", firing)


def test_a_cone_aimed_at_is_known_to_half_a_cone_either_way(studio: Studio) -> None:
    firing = fire(
        studio,
        date(2026, 3, 1),
        FiringDraft(kiln_id=studio.kiln, started_at=datetime(2026, 1, 1), cone="05"),
    )
    piece = piece_in(studio, (firing, studio.middle))
    row = studio.journal.read(
        lambda s: s.execute(select(piece_fact).where(piece_fact.c.piece_id == piece)).one()
    )
    assert (row.cone10, row.cone_low, row.cone_high) == (-40, -4.5, -3.5)


def test_a_level_added_to_a_kiln_has_the_heat_of_its_firings(studio: Studio) -> None:
    firing = fire(studio, date(2026, 3, 1), logged_firing(studio, 6.2))
    assert len(heat_of(studio.journal, firing)) == 4
    studio.journal.edit(
        "Add a level",
        lambda s: set_levels(s, studio.kiln, ("top", "middle", "bottom", "floor")),
    )
    assert len(heat_of(studio.journal, firing)) == 5
    assert_facts_stand(studio.journal)


def test_readings_correct_later_firings_from_the_day_of_new_elements_on(studio: Studio) -> None:
    read = (PackDraft(level_id=studio.top, cones=flat("7")),)
    changed = date(2026, 3, 1)
    fire(studio, changed, logged_firing(studio, 6.0, read))
    later = fire(studio, date(2026, 4, 1), logged_firing(studio, 6.1))

    def calibrate(day: date) -> float:
        studio.journal.edit(
            "New elements", lambda s: change_kiln(s, studio.kiln, calibrated_from=day)
        )
        return heat_of(studio.journal, later)[studio.top][0]

    # The top read a cone over the sensor on the very day the new elements went in.
    assert calibrate(changed) > 6.3
    assert calibrate(date(2026, 3, 2)) == 6.1
    assert_facts_stand(studio.journal)


def test_seen_once_is_seen_and_the_worst_severity_stands() -> None:
    masks = masks_of(
        [
            FaultLook("crazing", 0, ""),
            FaultLook("running", 1, ""),
            FaultLook("pinhole", 3, "rim"),
            FaultLook("pinhole", 0, "foot"),
        ]
    )
    assert [severity_in(masks.severities, f) for f in ("crazing", "running", "pinhole")] == [
        0,
        1,
        3,
    ]
    assert masks.looked.bit_count() == 3
    assert masks.seen.bit_count() == 2, "slight running is seen, crazing was looked for only"


@pytest.mark.parametrize(
    ("fault", "said", "laid", "speaks"),
    [
        ("crazing", "", "inside", True),
        ("crazing", "Outside", "outside, upper", True),
        ("crazing", "outside, lower", "outside", True),
        ("crazing", "outside, lower", "outside, upper", False),
        ("crazing", "foot", "outside", False),
        ("running", "outside, lower", "outside, upper", True),
        ("running", "foot", "outside", True),
        ("running", "foot", "foot", True),
        ("running", "foot", "inside", False),
    ],
)
def test_which_layers_a_fault_speaks_of(fault: str, said: str, laid: str, speaks: bool) -> None:
    assert speaks_of(FaultLook(fault, 1, said), laid) is speaks


def curve_facts_of(journal: Journal) -> dict[int, tuple[object, ...]]:
    """Rows of the curve facts by firing, without its id."""
    rows = journal.read(lambda s: s.execute(select(curve_fact)).all())
    return {row[0]: tuple(row[1:]) for row in rows}


def log_with_duty(top_c: float) -> LogDraft:
    """An hour of logging every minute, up to a top, at half power."""
    times = [60.0 * minute for minute in range(61)]
    heats = [20 + (top_c - 20) * at_s / 3600 for at_s in times]
    heat = CurveDraft(
        channel="kiln", packed=pack_readings(times, heats), readings=61, duration_s=3600.0
    )
    duty = CurveDraft(
        channel="out", packed=pack_readings(times, [50.0] * 61), readings=61, duration_s=3600.0,
        role="duty", main=False,
    )  # fmt: skip
    return LogDraft(sha256=f"{top_c:064}", name="log.csv", content=b"", curves=(heat, duty))


def test_the_curve_facts_follow_the_log_the_start_undo_and_redo(studio: Studio) -> None:
    journal = studio.journal
    firing = fire(studio, date(2026, 3, 1), replace(firing_to(studio, "6", studio.top)))
    assert curve_facts_of(journal) == {}, "without a log there is nothing to tell"

    journal.edit("Keep the log", lambda s: keep_log(s, firing, log_with_duty(1200)))
    work = tell_curve_work(
        clean_curve(*unpack_readings(log_with_duty(1200).curves[0].packed)),
        [unpack_readings(log_with_duty(1200).curves[1].packed)],
        datetime(2026, 3, 1, 8),
    )
    assert work is not None
    assert work.duty_h == pytest.approx(0.5)
    first = curve_facts_of(journal)
    assert first[firing] == (
        work.begins_h, work.heating_h, work.cooling_h, work.climb_min, work.climb_demand,
        work.hold_duty, work.duty_h, work.duty_gap_h, work.above_100_h, work.above_1000_h,
        "450,450,450,450",
    )  # fmt: skip
    assert_facts_stand(journal)

    journal.edit(
        "It began later", lambda s: change_firing(s, firing, started_at=datetime(2026, 3, 1, 8, 5))
    )
    assert curve_facts_of(journal)[firing][-1] == "300,450,450,450,150"
    journal.edit("Take the log off", lambda s: remove_log(s, firing))
    assert curve_facts_of(journal) == {}
    journal.undo()
    journal.undo()
    assert curve_facts_of(journal) == first
    journal.redo()
    assert curve_facts_of(journal) != first
    assert_facts_stand(journal)
