"""Random edits, undo and redo on two desks, against a model of the journal made of plain dicts.

The model knows nothing of rows, images or versions: a piece is a value, an edit is what it made
of some values, undo puts the values before it back. What the journal's file holds is read with
SQL written here.
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from copy import copy
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.clays import change_clay
from studiolog.journal.glazes import GlazeDraft, add_glaze, delete_glaze
from studiolog.journal.inspections import FaultDraft, InspectionDraft, log_inspection
from studiolog.journal.opening import FILE, open_journal
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
from studiolog.problems import UndoRefused, UserProblem
from studiolog.records.pieces import Piece
from tests.flows.sudden_ends import find_wrong
from tests.journal.conftest import Studio, enter_studio
from tests.wandering import WANDERING

DESKS = ("wheel", "glaze room")

Key = tuple[str, int]  # ("piece", number), ("glaze", id) or ("clay", id)
State = dict[Key, Any]


@dataclass(frozen=True)
class PlainPiece:
    """All that is known of a piece."""

    clay: int
    stage: str = "wet"
    notes: str = ""
    layers: tuple[tuple[str, int], ...] = ()  # zone, glaze
    masses: tuple[tuple[str, float], ...] = ()  # stage, grams
    seen: tuple[tuple[str, str, int], ...] = ()  # day, fault, severity
    level: int | None = None

    def but(self, **fields: Any) -> "PlainPiece":
        changed = copy(self)
        for name, value in fields.items():
            object.__setattr__(changed, name, value)
        return changed


@dataclass
class PlainEdit:
    """One edit: each value it changed, as it was and as it became."""

    label: str
    before: State
    after: State


@dataclass
class PlainJournal:
    """The model. None for a value says that there is no such thing."""

    state: State = field(default_factory=dict)
    done: dict[str, list[PlainEdit]] = field(default_factory=lambda: {desk: [] for desk in DESKS})
    undone: dict[str, list[PlainEdit]] = field(default_factory=lambda: {d: [] for d in DESKS})

    def edit(self, desk: str, label: str, changes: State) -> None:
        before = {key: self.state.get(key) for key in changes}
        if before == changes:
            return
        self.done[desk].append(PlainEdit(label, before, changes))
        self.undone[desk].clear()
        self._put(changes)

    def turn(self, desk: str, *, back: bool) -> str:
        """Undo or redo: "nothing", "refused" or the label."""
        here, there = (self.done, self.undone) if back else (self.undone, self.done)
        if not here[desk]:
            return "nothing"
        edit = here[desk][-1]
        expected, wanted = (edit.after, edit.before) if back else (edit.before, edit.after)
        kept = dict(self.state)
        if any(kept.get(key) != value for key, value in expected.items()):
            return "refused"
        self._put(wanted)
        if not self._holds_together():
            self.state = kept
            return "refused"
        there[desk].append(here[desk].pop())
        return edit.label

    def _put(self, values: State) -> None:
        self.state = {
            key: value for key, value in {**self.state, **values}.items() if value is not None
        }

    def _holds_together(self) -> bool:
        names = [value for (kind, _), value in self.state.items() if kind == "glaze"]
        return len(names) == len(set(names)) and all(
            ("glaze", glaze) in self.state for glaze in self.glazes_used()
        )

    def glazes_used(self) -> set[int]:
        return {
            glaze
            for (kind, _), piece in self.state.items()
            if kind == "piece"
            for _, glaze in piece.layers
        }

    def glazes(self) -> list[int]:
        return sorted(row_id for kind, row_id in self.state if kind == "glaze")


def read_file(file: Path, firing: int, renamed: dict[str, int]) -> State:
    """The same values out of the journal's file."""
    connection = sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)
    ask = connection.execute
    state: State = {("glaze", row_id): name for row_id, name in ask("SELECT id, name FROM glaze")}
    for row_id, name in ask("SELECT id, name FROM clay"):
        state["clay", row_id] = (name, renamed.get(name, 0))
    for row_id, number, clay, stage, notes in ask(
        "SELECT id, number, clay_id, stage, notes FROM piece"
    ):
        one = (row_id,)
        level = ask(
            "SELECT level_id FROM placement WHERE piece_id = ? AND firing_id = ?", (row_id, firing)
        ).fetchone()
        state["piece", number] = PlainPiece(
            clay=clay,
            stage=stage,
            notes=notes,
            layers=tuple(
                ask("SELECT zone, glaze_id FROM layer WHERE piece_id = ? ORDER BY id", one)
            ),
            masses=tuple(
                ask("SELECT stage, mass_g FROM measurement WHERE piece_id = ? ORDER BY 1", one)
            ),
            seen=tuple(
                ask(
                    "SELECT looked_on, fault, severity FROM inspection i JOIN fault_reading f"
                    " ON f.inspection_id = i.id WHERE piece_id = ? ORDER BY f.id",
                    one,
                )
            ),
            level=level[0] if level else None,
        )
    connection.close()
    return state


desks = st.sampled_from(DESKS)
picks = st.integers(0, 3)
zones = st.lists(st.tuples(st.sampled_from(("outside", "inside", "rim")), picks), max_size=3)


class TwoDesks(RuleBasedStateMachine):
    """The journal and its model side by side. Each desk has its own pieces; glazes are shared."""

    template: Path
    studio: Studio

    @initialize()
    def open_both(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="studiolog-"))
        shutil.copytree(self.template, self.folder / "journal")
        self.journals = {desk: open_journal(self.folder / "journal") for desk in DESKS}
        self._name_desks()
        self.renamed: dict[str, int] = {}
        self.turns = 0
        self.model = PlainJournal(self._read())

    def _name_desks(self) -> None:
        for desk, journal in self.journals.items():
            journal.desk = desk

    def _read(self) -> State:
        file = self.folder / "journal" / FILE
        return read_file(file, self.studio.firing, self.renamed)

    def teardown(self) -> None:
        if not hasattr(self, "journals"):
            return
        try:
            assert find_wrong(self.journals[DESKS[0]]) == []
        finally:
            for journal in self.journals.values():
                journal.close()
            shutil.rmtree(self.folder)

    @invariant()
    def the_file_holds_what_the_model_says(self) -> None:
        if not hasattr(self, "model"):
            return
        assert self._read() == self.model.state
        for desk, journal in self.journals.items():
            done, undone = journal.undo_line(), journal.redo_line()
            tops = [edits[desk][-1:] for edits in (self.model.done, self.model.undone)]
            assert [line.label if line else None for line in (done, undone)] == [
                top[0].label if top else None for top in tops
            ]

    def _edit(self, desk: str, edit: Callable[[Session], Any], changes: State | None) -> Any:
        """Do it on both; ``changes`` None says that the journal must refuse."""
        self.turns += 1
        label = f"Edit {self.turns}"
        if changes is None:
            with pytest.raises(UserProblem):
                self.journals[desk].edit(label, edit)
            return None
        value = self.journals[desk].edit(label, edit).value
        self.model.edit(desk, label, changes)
        return value

    def _number(self, desk: str, pick: int) -> int:
        return 1 + pick + 100 * DESKS.index(desk)

    def _on_piece(
        self, desk: str, pick: int, act: Callable[[Session, int], object], **fields: Any
    ) -> None:
        """Act on a piece of this desk, if there is one; without ``fields`` it is gone after."""
        key = ("piece", self._number(desk, pick))
        piece = self.model.state.get(key)
        if piece is None:
            return
        number = key[1]

        def edit(session: Session) -> object:
            return act(
                session, session.scalars(select(Piece.id).where(Piece.number == number)).one()
            )

        self._edit(desk, edit, {key: piece.but(**fields) if fields else None})

    def _layers(self, zoned: list[tuple[str, int]]) -> tuple[tuple[str, int], ...]:
        glazes = self.model.glazes()
        return tuple((zone, glazes[pick % len(glazes)]) for zone, pick in zoned if glazes)

    @rule(desk=desks, pick=picks, zoned=zones, red=st.booleans())
    def log(self, desk: str, pick: int, zoned: list[tuple[str, int]], red: bool) -> None:
        number, layers = self._number(desk, pick), self._layers(zoned)
        clay = self.studio.red if red else self.studio.buff
        draft = PieceDraft(
            number=number,
            clay_id=clay,
            layers=tuple(LayerDraft(zone=zone, glaze_id=glaze) for zone, glaze in layers),
        )
        taken = ("piece", number) in self.model.state
        fresh: State = {("piece", number): PlainPiece(clay=clay, layers=layers)}
        self._edit(desk, lambda s: log_piece(s, draft), None if taken else fresh)

    @rule(desk=desks, pick=picks, text=st.sampled_from(("", "thin", "رمل 🏺", "e\u0301", "a\0b")))
    def note(self, desk: str, pick: int, text: str) -> None:
        kept = {"e\u0301": "é", "a\0b": "ab"}.get(text, text)
        self._on_piece(desk, pick, lambda s, p: change_piece(s, p, notes=text), notes=kept)

    @rule(desk=desks, pick=picks, zoned=zones)
    def relayer(self, desk: str, pick: int, zoned: list[tuple[str, int]]) -> None:
        layers = self._layers(zoned)
        drafts = tuple(LayerDraft(zone=zone, glaze_id=glaze) for zone, glaze in layers)
        piece = self.model.state.get(("piece", self._number(desk, pick)))
        if piece is None or piece.layers == layers:
            return  # written anew though alike: an edit to the journal, none to the model
        self._on_piece(desk, pick, lambda s, p: set_layers(s, p, drafts), layers=layers)

    @rule(desk=desks, pick=picks, stage=st.sampled_from(("wet", "bisque")), grams=st.integers(0, 2))
    def weigh(self, desk: str, pick: int, stage: str, grams: int) -> None:
        piece = self.model.state.get(("piece", self._number(desk, pick)))
        if piece is None:
            return
        masses = dict(piece.masses)
        masses.pop(stage, None)
        if grams:
            masses[stage] = 100.0 * grams
        size = SizeDraft(stage=stage, mass_g=100.0 * grams if grams else None)
        self._on_piece(
            desk, pick, lambda s, p: set_size(s, p, size), masses=tuple(sorted(masses.items()))
        )

    @rule(desk=desks, pick=picks, stage=st.sampled_from(("leather_hard", "bisque", "fired")))
    def reach(self, desk: str, pick: int, stage: str) -> None:
        piece = self.model.state.get(("piece", self._number(desk, pick)))
        if piece is None or piece.stage == stage:
            return  # a line of the stage history, which the model does not keep
        at = datetime(2026, 9, 1 + self.turns % 28)
        self._on_piece(desk, pick, lambda s, p: move_to_stage(s, p, stage, at), stage=stage)

    @rule(desk=desks, pick=picks, severity=picks, fault=st.sampled_from(("crazing", "running")))
    def inspect(self, desk: str, pick: int, severity: int, fault: str) -> None:
        piece = self.model.state.get(("piece", self._number(desk, pick)))
        if piece is None:
            return
        draft = InspectionDraft(looked_on=date(2026, 10, 4), faults=(FaultDraft(fault, severity),))
        seen = (*piece.seen, ("2026-10-04", fault, severity))
        self._on_piece(desk, pick, lambda s, p: log_inspection(s, p, draft), seen=seen)

    @rule(desk=desks, pick=picks, which=st.integers(0, 2))
    def place(self, desk: str, pick: int, which: int) -> None:
        level = (self.studio.top, self.studio.middle, self.studio.bottom)[which]
        piece = self.model.state.get(("piece", self._number(desk, pick)))
        if piece is None or piece.level == level:
            return
        draft = PlacementDraft(firing_id=self.studio.firing, level_id=level)
        self._on_piece(desk, pick, lambda s, p: place_piece(s, p, draft), level=level)

    @rule(desk=desks, pick=picks)
    def delete(self, desk: str, pick: int) -> None:
        self._on_piece(desk, pick, delete_piece)

    @rule(desk=desks, name=st.sampled_from(("Ash", "Bone", "Celadon")))
    def add_a_glaze(self, desk: str, name: str) -> None:
        taken = any(key[0] == "glaze" and was == name for key, was in self.model.state.items())
        if taken:
            self._edit(desk, lambda s: add_glaze(s, GlazeDraft(name=name)), None)
            return
        changes: State = {}

        def add(session: Session) -> None:
            changes["glaze", add_glaze(session, GlazeDraft(name=name))] = name

        self._edit(desk, add, changes)

    @rule(desk=desks, pick=st.integers(0, 6))
    def delete_a_glaze(self, desk: str, pick: int) -> None:
        glazes = self.model.glazes()
        if not glazes:
            return
        glaze = glazes[pick % len(glazes)]
        used = glaze in self.model.glazes_used()
        gone: State = {("glaze", glaze): None}
        self._edit(desk, lambda s: delete_glaze(s, glaze), None if used else gone)

    @rule(desk=desks)
    def rename_the_clay(self, desk: str) -> None:
        # Every name is new: that two desks change the same clay must be met, by value.
        self.renamed[f"Buff {self.turns}"] = self.turns
        name, buff = f"Buff {self.turns}", self.studio.buff
        self._edit(
            desk,
            lambda s: change_clay(s, buff, name=name),
            {("clay", buff): (name, self.renamed[name])},
        )

    @rule(desk=desks, times=st.integers(1, 4))
    def undo(self, desk: str, times: int) -> None:
        for _ in range(times):
            self._turn(desk, back=True)

    @rule(desk=desks, times=st.integers(1, 3))
    def redo(self, desk: str, times: int) -> None:
        for _ in range(times):
            self._turn(desk, back=False)

    def _turn(self, desk: str, *, back: bool) -> None:
        journal, came = self.journals[desk], self.model.turn(desk, back=back)
        turn = journal.undo if back else journal.redo
        if came == "refused":
            with pytest.raises(UndoRefused):
                turn()
            return
        done = turn()
        assert (done.label.partition(": ")[2] if done else "nothing") == came

    @rule()
    def close_and_open_again(self) -> None:
        for desk in DESKS:
            self.journals[desk].close()
            self.journals[desk] = open_journal(self.folder / "journal")
        self._name_desks()


def test_two_desks_do_what_plain_values_do(tmp_path: Path) -> None:
    journal = open_journal(tmp_path / "studio")
    studio = enter_studio(journal)
    journal.close()
    machine = type("Machine", (TwoDesks,), {"template": tmp_path / "studio", "studio": studio})
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=60 if WANDERING else 8, stateful_step_count=40, deadline=None
        ),
    )
