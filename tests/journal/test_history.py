"""One edit, one history entry; undo and redo also after a restart."""

import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from studiolog.journal import history
from studiolog.journal.analyses import find_material
from studiolog.journal.clays import change_clay, delete_clay, list_clays
from studiolog.journal.facts import rebuild_facts
from studiolog.journal.firings import ConeDraft, PackDraft, change_firing, set_pack
from studiolog.journal.glazes import (
    GlazeDraft,
    RecipePart,
    add_glaze,
    add_version,
    change_glaze,
    delete_glaze,
    list_glazes,
)
from studiolog.journal.history import read_history
from studiolog.journal.inspections import (
    FaultDraft,
    InspectionDraft,
    SurfaceDraft,
    log_inspection,
)
from studiolog.journal.materials import LotDraft, add_lot, add_material, change_material
from studiolog.journal.opening import Journal, open_journal
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    SizeDraft,
    change_piece,
    delete_piece,
    log_piece,
    move_to_stage,
    place_piece,
    set_layers,
    set_size,
)
from studiolog.journal.stock import take_from_stock
from studiolog.problems import EditConflict, StillUsed, UndoRefused, UserProblem
from studiolog.records.clays import Clay
from studiolog.records.pieces import Piece
from tests.journal.conftest import Studio, enter_studio, snapshot
from tests.wandering import WANDERING

Edit = Callable[[Session], object]


def test_an_edit_is_one_entry_and_undo_takes_all_of_it_back(studio: Studio) -> None:
    journal = studio.journal
    before = snapshot(journal)
    draft = PieceDraft(
        clay_id=studio.buff, layers=(LayerDraft(zone="outside", glaze_id=studio.kelp),)
    )
    journal.edit("Log piece 1", partial(log_piece, draft=draft))
    assert journal.read(read_history)[0].label == "Log piece 1"
    undone = journal.undo()
    assert undone is not None
    assert undone.label == "Undone: Log piece 1"
    assert "piece" in undone.touched.kinds
    assert snapshot(journal) == before


def test_undo_and_redo_work_after_a_restart(studio: Studio) -> None:
    journal = studio.journal
    before = snapshot(journal)
    journal.edit("Rename", lambda s: change_clay(s, studio.buff, name="Buff, new delivery"))
    after = snapshot(journal)
    journal.close()
    again = open_journal(journal.where)
    again.undo()
    assert snapshot(again) == before
    again.close()
    once_more = open_journal(journal.where)
    once_more.redo()
    assert snapshot(once_more) == after
    once_more.close()


def test_a_clock_that_is_set_back_turns_no_history_round(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = studio.journal

    def note(text: str, now: datetime) -> None:
        clock = type("Clock", (), {"now": staticmethod(lambda _zone: now.replace(tzinfo=UTC))})
        monkeypatch.setattr(history, "datetime", clock)
        journal.edit(f"Note {text}", lambda s: change_clay(s, studio.buff, notes=text))

    note("spring", datetime(2027, 4, 1))
    note("battery empty", datetime(1970, 1, 1))
    note("an hour back", datetime(2026, 12, 1))
    labels = [line.label for line in journal.read(read_history)[:3]]
    assert labels == ["Note an hour back", "Note battery empty", "Note spring"]
    for expected in ("battery empty", "spring", ""):
        journal.undo()
        assert journal.read(lambda s: s.get_one(Clay, studio.buff).notes) == expected
    for expected in ("spring", "battery empty", "an hour back"):
        journal.redo()
        assert journal.read(lambda s: s.get_one(Clay, studio.buff).notes) == expected


def test_an_edit_that_fails_leaves_nothing(studio: Studio) -> None:
    before = snapshot(studio.journal, with_history=True)

    def half(session: Session) -> None:
        log_piece(session, PieceDraft(clay_id=studio.buff))
        log_piece(session, PieceDraft(number=1))

    with pytest.raises(UserProblem, match="There is a piece 1 already"):
        studio.journal.edit("Log two", half)
    assert snapshot(studio.journal, with_history=True) == before


def test_a_new_edit_ends_what_could_be_redone(studio: Studio) -> None:
    journal = studio.journal
    journal.edit("First", lambda s: change_clay(s, studio.buff, notes="first"))
    journal.undo()
    journal.edit("Second", lambda s: change_clay(s, studio.buff, notes="second"))
    assert journal.redo() is None


def test_an_edit_at_another_desk_leaves_what_this_one_can_redo(studio: Studio) -> None:
    journal = studio.journal
    journal.edit("First", lambda s: change_clay(s, studio.buff, notes="first"))
    journal.undo()
    other = open_journal(journal.where)
    other.desk = "glaze room"
    other.edit("Elsewhere", lambda s: change_clay(s, studio.red, notes="iron specks"))
    assert other.redo() is None, "what another desk undid is not its to redo"
    assert journal.redo() is not None
    assert journal.read(lambda s: s.get_one(Clay, studio.buff).notes) == "first"
    other.close()


def test_undo_refuses_to_overwrite_what_another_desk_changed(studio: Studio) -> None:
    journal = studio.journal
    journal.edit("Note", lambda s: change_clay(s, studio.buff, notes="short of sand"))
    other = open_journal(journal.where)
    other.desk = "glaze room"
    other.edit("Correct", lambda s: change_clay(s, studio.buff, notes="short of grog"))
    with pytest.raises(UndoRefused, match="by “Correct”"):
        journal.undo()
    assert journal.read(lambda s: s.get_one(Clay, studio.buff).notes) == "short of grog"
    other.undo()
    assert journal.undo() is not None
    other.close()


def test_undo_refuses_to_take_away_what_others_built_on(studio: Studio) -> None:
    journal = studio.journal
    new = journal.edit("Add", lambda s: add_glaze(s, GlazeDraft(name="Deep Tide"))).value
    other = open_journal(journal.where)
    other.desk = "glaze room"
    draft = PieceDraft(layers=(LayerDraft(zone="rim", glaze_id=new),))
    other.edit("Log", partial(log_piece, draft=draft))
    before = snapshot(journal, with_history=True)
    with pytest.raises(UndoRefused, match="depends on it"):
        journal.undo()
    assert snapshot(journal, with_history=True) == before
    other.close()


def test_two_desks_cannot_overwrite_each_other_unseen(studio: Studio) -> None:
    seen = studio.journal.read(list_clays)[0]
    studio.journal.edit("One", lambda s: change_clay(s, studio.buff, seen.version, notes="one"))
    with pytest.raises(EditConflict):
        studio.journal.edit("Two", lambda s: change_clay(s, studio.buff, seen.version, notes="two"))


def test_a_version_never_comes_back_on_other_content(studio: Studio) -> None:
    journal = studio.journal
    seen = journal.read(list_clays)[0]
    journal.edit("One", lambda s: change_clay(s, studio.buff, notes="one"))
    journal.undo()
    # What the desk saw is what stands there again, so it may go on from it ...
    assert journal.read(list_clays)[0].version == seen.version
    journal.edit("Two", lambda s: change_clay(s, studio.buff, notes="two"))
    # ... but not from what was there in between.
    with pytest.raises(EditConflict):
        journal.edit("Three", lambda s: change_clay(s, studio.buff, seen.version, notes="three"))


def test_records_change_only_inside_an_edit(studio: Studio) -> None:
    with Session(studio.journal.engine) as session:
        session.add(Clay(name="Stray"))
        with pytest.raises(RuntimeError, match="outside an edit"):
            session.flush()
    with pytest.raises(RuntimeError, match="one by one"):
        studio.journal.edit("Bulk", lambda s: s.execute(insert(Clay), [{"name": "Bulk"}]))


def test_a_glaze_in_use_is_not_deleted_and_says_what_uses_it(studio: Studio) -> None:
    draft = PieceDraft(number=412, layers=(LayerDraft(zone="rim", glaze_id=studio.chalk),))
    studio.journal.edit("Log", partial(log_piece, draft=draft))
    with pytest.raises(StillUsed, match=r"1 piece carries it \(412\)"):
        studio.journal.edit("Delete", lambda s: delete_glaze(s, studio.chalk))
    studio.journal.edit("Archive", lambda s: change_glaze(s, studio.chalk, archived=True))
    shown = [glaze.name for glaze in studio.journal.read(list_glazes)]
    assert "Chalk" not in shown
    assert "Kelp" in shown


# Any sequence of edits, undone one by one, returns every table to where it was.

MOVES = (
    "log",
    "lot",
    "mix",
    "name material",
    "relayer",
    "inspect",
    "move",
    "measure",
    "place",
    "cones",
    "retime",
    "rename",
    "glaze",
    "version",
    "delete piece",
    "delete clay",
    "note",
)


def _some_piece(session: Session, pick: int) -> int | None:
    ids = list(session.scalars(select(Piece.id).order_by(Piece.id)))
    return ids[pick % len(ids)] if ids else None


def _edit(studio: Studio, move: str, pick: int) -> Edit:
    glazes = (studio.kelp, studio.chalk, studio.oat)
    levels = (studio.top, studio.middle, studio.bottom)

    def on_piece(session: Session, act: Callable[[int], object]) -> None:
        piece_id = _some_piece(session, pick)
        if piece_id is not None:
            act(piece_id)

    def layers() -> tuple[LayerDraft, ...]:
        zones = ("outside", "inside", "rim")
        return tuple(
            LayerDraft(zone=zones[(pick + n) % 3], glaze_id=glazes[(pick >> n) % 3])
            for n in range(pick % 4)
        )

    def log(session: Session) -> None:
        log_piece(
            session,
            PieceDraft(
                clay_id=studio.red if pick % 2 else studio.buff,
                layers=layers(),
                placements=(PlacementDraft(firing_id=studio.firing, level_id=levels[pick % 3]),),
            ),
        )

    faults = (FaultDraft("crazing", pick % 4), FaultDraft("running", pick % 3, "outside"))
    said = (SurfaceDraft("satin"), SurfaceDraft("mottled", "outside"))[: pick % 3]
    looked = InspectionDraft(looked_on=date(2026, 10, 1 + pick % 28), faults=faults, surfaces=said)
    pack = PackDraft(
        level_id=levels[pick % 3],
        cones=(ConeDraft(cone="6", bend_low_deg=pick % 80, bend_high_deg=pick % 80 + 10),)
        * (pick % 5 > 0),
    )
    at = datetime(2026, 9, 1 + pick % 28)
    acts: dict[str, Edit] = {
        "log": log,
        "relayer": lambda s: on_piece(s, lambda p: set_layers(s, p, layers())),
        "inspect": lambda s: on_piece(s, lambda p: log_inspection(s, p, looked)),
        "move": lambda s: on_piece(s, lambda p: move_to_stage(s, p, "bisque", at)),
        "measure": lambda s: on_piece(
            s, lambda p: set_size(s, p, SizeDraft(stage="wet", mass_g=float(pick or 1)))
        ),
        "place": lambda s: on_piece(
            s, lambda p: place_piece(s, p, PlacementDraft(firing_id=studio.firing))
        ),
        "cones": lambda s: set_pack(s, studio.firing, pack),
        "retime": lambda s: change_firing(s, studio.firing, started_at=at, cone=str(5 + pick % 3)),
        "rename": lambda s: change_clay(s, studio.buff, name=f"Buff {pick}"),
        "glaze": lambda s: add_glaze(
            s, GlazeDraft(name=f"Trial {pick}", recipe=(RecipePart("Kaolin", 1 + pick),))
        ),
        "version": lambda s: add_version(s, studio.oat, (RecipePart("Silica", 1 + pick),)),
        "lot": lambda s: add_lot(
            s, _kaolin(s), LotDraft(dated=at.date(), oxides={"SiO2": 40.0 + pick % 50})
        ),
        "mix": lambda s: take_from_stock(s, {"Kaolin": 1.0 + pick, "Silica": 2.5}, at.date()),
        "name material": lambda s: change_material(s, _kaolin(s), name=f"Kaolin {pick}"),
        "delete piece": lambda s: on_piece(s, lambda p: delete_piece(s, p)),
        "delete clay": lambda s: delete_clay(s, studio.red),
        "note": lambda s: on_piece(s, lambda p: change_piece(s, p, notes=f"note {pick}")),
    }
    return acts[move]


@settings(
    max_examples=60 if WANDERING else 7,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    moves=st.lists(st.tuples(st.sampled_from(MOVES), st.integers(0, 60)), min_size=1, max_size=12),
    restart=st.booleans(),
)
def test_edits_undone_one_by_one_return_every_table(
    moves: list[tuple[str, int]], restart: bool
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        journal = open_journal(Path(folder) / "journal")
        studio = enter_studio(journal)
        states = [snapshot(journal)]
        for move, pick in moves:
            try:
                done = journal.edit(move, _edit(studio, move, pick))
            except UserProblem:
                assert snapshot(journal) == states[-1], "a refused edit left something behind"
                continue
            if done.entry_id is not None:
                states.append(snapshot(journal))
        _facts_agree(journal)
        if restart:
            journal.close()
            journal = open_journal(Path(folder) / "journal")
        for state in reversed(states[:-1]):
            assert journal.undo() is not None
            assert snapshot(journal) == state
        for state in states[1:]:
            assert journal.redo() is not None
            assert snapshot(journal) == state
        journal.close()


def _kaolin(session: Session) -> int:
    found = find_material(session, "Kaolin")
    return found.id if found is not None else add_material(session, "Kaolin")


def _facts_agree(journal: Journal) -> None:
    kept = snapshot(journal)
    with journal.engine.begin() as connection:
        rebuild_facts(connection)
    assert snapshot(journal) == kept
