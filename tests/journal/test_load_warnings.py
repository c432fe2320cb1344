"""What a load warns of, each against what the journal holds: never of what nobody saw."""

import itertools
from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import select

from studiolog.craft.days import write_day
from studiolog.craft.firing.cone_range import read_cone_span
from studiolog.craft.limits import SHIPPED
from studiolog.craft.words import fault_bit
from studiolog.journal.clays import change_clay
from studiolog.journal.glazes import GlazeDraft, add_glaze
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.load_days import days_taken
from studiolog.journal.load_likings import LevelHeat, Look, like_levels, pairs_of
from studiolog.journal.load_pieces import add_pieces, add_to_load
from studiolog.journal.load_places import set_catch_tile
from studiolog.journal.load_warnings import URGENT
from studiolog.journal.loads import LoadDraft, begin_load, change_load
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    RunDraft,
    log_piece,
    log_run,
)
from studiolog.journal.session import Session
from studiolog.journal.studio import set_terms
from studiolog.journal.studio_days import add_away
from studiolog.records.firings import Firing
from studiolog.records.inspections import FaultReading, Inspection
from studiolog.records.pieces import Layer, Piece, Placement
from tests.planned_loads import TODAY, PlannedLoads, fill_loads, page_of
from tests.small_studio import SmallStudio

Yard = tuple[SmallStudio, PlannedLoads]


@pytest.fixture
def yard(journal: Journal) -> Yard:
    return fill_loads(journal)


def keys(journal: Journal, load_id: int) -> dict[str, str]:
    warnings = journal.read(lambda session: page_of(session, load_id)).warnings
    return {one.key: one.words for one in warnings}


def ran(session: Session, over: int, under: int) -> tuple[set[int], set[int]]:
    """Pieces with one glaze over another that were looked at for running, and those that ran.

    Asked of the records themselves, zone by zone, not of the facts.
    """
    with_pair = set()
    for piece_id in session.scalars(select(Piece.id).where(Piece.stage == "fired")):
        layers = session.execute(
            select(Layer.zone, Layer.glaze_id)
            .where(Layer.piece_id == piece_id)
            .order_by(Layer.zone, Layer.position)
        ).all()
        for (zone, below), (other, above) in itertools.pairwise(layers):
            if zone == other and (above, below) == (over, under):
                with_pair.add(piece_id)
    looked, seen = set(), set()
    for piece_id, severity in session.execute(
        select(Inspection.piece_id, FaultReading.severity)
        .join(FaultReading, FaultReading.inspection_id == Inspection.id)
        .where(FaultReading.fault == "running", Inspection.piece_id.in_(with_pair))
    ):
        looked.add(piece_id)
        if severity:
            seen.add(piece_id)
    return looked, seen


def test_layers_that_ran_before_ask_for_a_catch_tile_with_their_evidence(
    journal: Journal, yard: Yard
) -> None:
    studio, loads = yard
    looked, seen = journal.read(lambda session: ran(session, studio.chalk, studio.kelp))
    assert (len(looked), len(seen)) == (11, 3)
    page = journal.read(lambda session: page_of(session, loads.glaze))
    meant = {key for one in page.warnings if one.cure == "tile" for key in one.pieces}
    assert meant == set(page.pieces)
    evidence = {
        mark.ident
        for one in page.warnings
        if one.cure == "tile"
        for mark in one.evidence
        if mark.kind == "piece"
    }
    assert evidence
    assert evidence <= seen
    journal.edit(
        "Tiles", lambda session: set_catch_tile(session, loads.glaze, list(page.pieces), True)
    )
    after = journal.read(lambda session: page_of(session, loads.glaze))
    assert not [one for one in after.warnings if one.cure == "tile"]


def test_a_level_where_layers_ran_last_time_is_named_with_pieces_and_firing(
    journal: Journal, yard: Yard
) -> None:
    studio, loads = yard
    page = journal.read(lambda session: page_of(session, loads.glaze))
    warned = [one for one in page.warnings if one.key == "ran there"]
    for one in warned:
        (firing,) = [mark for mark in one.evidence if mark.kind == "firing"]
        pieces = [mark.ident for mark in one.evidence if mark.kind == "piece"]

        def stood(session: Session, firing: int = firing.ident) -> set[int]:
            return set(
                session.scalars(select(Placement.piece_id).where(Placement.firing_id == firing))
            )

        assert set(pieces) <= journal.read(stood)
        assert f"in firing {firing.number}" in one.words
    # Pieces at a level where the newest ones with the same layers did not run are not accused.
    levels = {shelf.level_id for shelf in page.plan.shelves if shelf.places}
    accused = {level for level in levels if _ran_last(journal, studio, level)}
    named = {one.words.split(" level last time")[0].rsplit(" ", 1)[-1] for one in warned}
    assert named == {page.plan.kiln.level_name(level) for level in accused}


def _ran_last(journal: Journal, studio: SmallStudio, level: int | None) -> bool:
    looked, seen = journal.read(lambda session: ran(session, studio.chalk, studio.kelp))

    def newest(session: Session) -> list[int]:
        rows = session.execute(
            select(Placement.piece_id, Firing.started_at)
            .join(Firing, Firing.id == Placement.firing_id)
            .where(Placement.level_id == level, Placement.piece_id.in_(looked))
        ).all()
        last = max((at for _, at in rows), default=None)
        return [piece for piece, at in rows if at == last]

    return bool(set(journal.read(newest)) & seen)


def test_what_was_never_looked_for_warns_of_nothing(journal: Journal, yard: Yard) -> None:
    studio, _loads = yard

    def enter(session: Session) -> int:
        tide = add_glaze(session, GlazeDraft(name="Tide", colour="#27407D", cone_range="5 to 7"))
        for number in range(6):
            # Fired, and looked at for crazing only.
            log_piece(
                session,
                PieceDraft(
                    form_id=studio.tumbler,
                    clay_id=studio.buff,
                    stage="fired",
                    layers=(LayerDraft(zone="outside", glaze_id=tide, method="dip"),),
                    placements=(
                        PlacementDraft(firing_id=studio.firings[0], level_id=studio.levels[2]),
                    ),
                    inspections=(
                        InspectionDraft(
                            looked_on=date(2026, 10, 4),
                            faults=(FaultDraft(fault="crazing", severity=number % 2),),
                        ),
                    ),
                ),
            )
        piece = log_piece(
            session,
            PieceDraft(
                form_id=studio.tumbler,
                clay_id=studio.buff,
                stage="glazed",
                layers=(LayerDraft(zone="outside", glaze_id=tide, method="dip"),),
            ),
        )
        load = begin_load(session, LoadDraft(kiln_id=studio.kiln, kind="glaze", cone="6"), TODAY)
        add_pieces(session, load, [piece])
        return load

    load = journal.edit("Enter", enter).value
    assert set(keys(journal, load)) == {"fumes"}


def test_wet_and_raw_ware_unfit_cones_and_hot_clay_are_told(journal: Journal, yard: Yard) -> None:
    studio, loads = yard

    def enter(session: Session) -> None:
        damp = log_run(
            session,
            RunDraft(
                made_on=TODAY - timedelta(days=2),
                form_id=studio.bowl,
                clay_id=studio.buff,
                how_many=2,
                stage="leather_hard",
            ),
        )
        add_to_load(session, loads.bisque, damp, "leather_hard", 2)
        raw = log_run(
            session,
            RunDraft(
                made_on=TODAY - timedelta(days=9), form_id=studio.bowl, how_many=1, stage="bone_dry"
            ),
        )
        add_to_load(session, loads.glaze, raw, "bone_dry", 1)

    journal.edit("Enter", enter)
    bisque = keys(journal, loads.bisque)
    assert "2 pieces are still leather-hard: steam bursts ware" in bisque["wet"]
    glaze = keys(journal, loads.glaze)
    assert glaze["raw beside glazed"].startswith("One of run 5 is not bisque-fired yet")
    assert "cone" not in glaze
    journal.edit("Hotter", lambda session: change_load(session, loads.glaze, TODAY, cone="8"))
    hot = keys(journal, loads.glaze)
    assert "8 pieces want cone 6 (by its glazes: Kelp 5 to 7, Chalk 6)" in hot["cone"]
    assert "Buff stoneware is for cone 5 to 7; 8 pieces of it would come to about" in hot["bloats"]
    assert "Nobody looked for bloating" in hot["bloats"]
    journal.edit("Clay", lambda session: change_clay(session, studio.buff, cone_range=""))
    assert "bloats" not in keys(journal, loads.glaze)


def test_urgent_warnings_come_first_and_fumes_are_always_told(journal: Journal, yard: Yard) -> None:
    _, loads = yard
    warnings = journal.read(lambda session: page_of(session, loads.glaze)).warnings
    weights = [one.weight == URGENT for one in warnings]
    assert weights == sorted(weights, reverse=True)
    assert "vent the kiln to the outside" in warnings[-1].words


def test_the_heat_of_a_level_is_that_of_the_load_moved_by_the_kiln_s_map(
    journal: Journal, yard: Yard
) -> None:
    _studio, loads = yard
    page = journal.read(lambda session: page_of(session, loads.glaze))
    heats = {level.name: level.cone for level in page.levels}
    # Its cones at the bottom bent least, firing after firing.
    top, middle, bottom = heats["top"], heats["middle"], heats["bottom"]
    assert top is not None
    assert middle is not None
    assert bottom is not None
    assert top > middle > bottom
    journal.edit("No cone", lambda s: change_load(s, loads.glaze, TODAY, cone="", program_id=None))
    bare = journal.read(lambda session: page_of(session, loads.glaze))
    assert {level.cone for level in bare.levels} == {None}
    assert bare.likings == ()


def test_the_first_day_waits_for_a_kiln_that_is_hot_and_for_ware_that_is_damp(
    journal: Journal, yard: Yard
) -> None:
    studio, loads = yard
    day, why = journal.read(lambda session: page_of(session, loads.bisque)).earliest
    assert (day, why) == (TODAY, "The kiln is free.")
    from studiolog.journal.firings import FiringDraft, log_firing

    lit = datetime.combine(TODAY, datetime.min.time()) + timedelta(hours=9)
    journal.edit("Light", lambda s: log_firing(s, FiringDraft(kiln_id=studio.kiln, started_at=lit)))
    later, told = journal.read(lambda session: page_of(session, loads.bisque)).earliest
    assert later > TODAY
    assert "is usually out of the kiln" in told


def test_the_first_day_is_one_that_somebody_works_and_no_other_load_has_the_kiln(
    journal: Journal, yard: Yard
) -> None:
    _studio, loads = yard

    def earliest() -> tuple[date | None, str]:
        return journal.read(lambda session: page_of(session, loads.bisque)).earliest

    def set_week(session: Session) -> None:
        set_terms(session, work_days="245")  # Tuesdays, Thursdays and Fridays

    assert TODAY.isoweekday() == 4
    journal.edit("Away", lambda s: add_away(s, TODAY, TODAY + timedelta(days=1), "market"))
    assert earliest() == (
        TODAY + timedelta(days=2),
        f"Nobody is in the studio until {write_day(TODAY + timedelta(days=1))} (market).",
    )
    journal.edit("Week", set_week)
    assert earliest() == (TODAY + timedelta(days=5), "Monday is no working day of the studio.")

    # Another load is planned for that Tuesday, and stays in the kiln for a day or two.
    tuesday = TODAY + timedelta(days=5)
    journal.edit("Plan", lambda s: change_load(s, loads.glaze, TODAY, planned_on=tuesday))
    day, why = earliest()
    assert day == tuesday + timedelta(days=2)
    assert why.startswith("Wednesday")
    friday = TODAY + timedelta(days=8)
    journal.edit("Plan", lambda s: change_load(s, loads.glaze, TODAY, planned_on=friday))
    assert earliest()[0] == tuesday  # out of it again in time
    journal.edit("Week", lambda s: set_terms(s, work_days="5"))
    assert earliest() == (friday + timedelta(days=7), "Thursday is no working day of the studio.")
    year = TODAY + timedelta(days=500)
    journal.edit("Away", lambda s: add_away(s, TODAY, year))
    nothing = earliest()
    assert nothing[0] is None
    assert "look at the days away" in nothing[1]


def test_a_load_keeps_its_kiln_until_the_day_before_it_comes_out() -> None:
    lit = date(2026, 10, 24)  # the clocks go back in the night: the calendar does not
    assert days_taken(lit, 12) == lit
    assert days_taken(lit, 30) == lit
    assert days_taken(lit, 40) == lit + timedelta(days=1)
    assert days_taken(lit, 64.5) == lit + timedelta(days=2)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("5–7", "5 to 7"),
        ("cone 6", "6"),
        ("06-04", "06 to 04"),
        ("7 to 5", "5 to 7"),
        ("5½–6", "5½ to 6"),
        ("", None),
        ("as hot as it gets", None),
        ("5, 6, 7", None),
    ],
)
def test_cones_are_read_as_potters_write_them(text: str, words: str | None) -> None:
    span = read_cone_span(text)
    assert (span.words if span is not None else None) == words


def test_a_level_hotter_than_one_where_a_glaze_ran_is_never_liked_better(
    journal: Journal, yard: Yard
) -> None:
    _, loads = yard
    page = journal.read(lambda session: page_of(session, loads.glaze))
    tumbler = next(iter(page.pieces.values())).ware
    pair = next(key for key, words in pairs_of(tumbler.layers).items() if " over " in words)
    running = fault_bit("running")

    def look(number: int, cone10: int, ran: bool) -> Look:
        seen = running if ran else 0
        return Look(number, number, 1, 1, 1, 1, 0.0, cone10, running, seen)

    # Ran at 7 on eight of ten, never at 6; nobody fired it to 7½.
    looks = {
        pair: tuple(
            [look(n, 70, n < 8) for n in range(10)] + [look(20 + n, 60, False) for n in range(10)]
        )
    }
    levels = [
        LevelHeat(1, "top", 7.5, True, ""),
        LevelHeat(2, "middle", 7.0, True, ""),
        LevelHeat(3, "bottom", 6.0, True, ""),
    ]
    liking = like_levels(tumbler, levels, looks, SHIPPED)
    assert liking.dislikes[3] == 0.0
    assert liking.dislikes[1] >= liking.dislikes[2] > 0.3
    assert "ran on 8 of 10 at cone 7" in liking.why
    assert len(liking.evidence) == 8
