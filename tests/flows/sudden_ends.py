"""What must be true of a journal after its program ended without warning.

The history that was said is kept as a plain list and compared with what the journal holds; every
table is compared with what its history says it should be; files are compared with their names.
"""

import hashlib
import itertools
import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.opening import Journal
from studiolog.journal.safekeeping import check_journal
from studiolog.photos import PhotoStore
from studiolog.records import Record, upgrade
from studiolog.records.change_recorder import image_from_text
from studiolog.records.facts import FACT_TABLES
from studiolog.records.firings import Curve
from studiolog.records.history import HISTORY_TABLES, history_change, history_entry
from studiolog.records.photos import Photo, Picture
from studiolog.records.pieces import Layer, Piece
from studiolog.transfer.curve_blob import unpack_readings
from tests.flows.busy_program import Step, readings_of, steps_of

ROOT = Path(__file__).resolve().parents[2]
Line = tuple[str, str]  # label and state of one entry of the history


class WarmProgram:
    """A process with everything loaded, which forks a program for each order."""

    def __enter__(self) -> "WarmProgram":
        paths = os.pathsep.join((str(ROOT), str(ROOT / "tests")))
        self.process = subprocess.Popen(
            [sys.executable, "-W", "ignore", str(Path(__file__).with_name("busy_program.py"))],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            # A thread of a numeric library would not live on in the fork.
            env={**os.environ, "PYTHONPATH": paths, "OPENBLAS_NUM_THREADS": "1"},
        )
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _: object, _trace: TracebackType | None
    ) -> None:
        _, errors = self.process.communicate()
        assert errors == "" or _kind is not None, errors

    def end_suddenly(
        self, moment: "Moment", folder: Path, work: str, turn: int, **more: object
    ) -> list[str]:
        """Let the program work until it is killed; returns what it said it had saved."""
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        order = {"folder": str(folder), "work": work, "turn": turn, "calls": moment.calls, **more}
        self.process.stdin.write(json.dumps(order) + "\n")
        self.process.stdin.flush()
        said: list[str] = []
        for line in self.process.stdout:
            heard = json.loads(line)
            if "ended" in heard:
                done = heard["ended"] == 0 and work in ("new", "upgrade")
                assert os.WTERMSIG(heard["ended"]) == signal.SIGKILL or done, heard
                return [word for word in said if word != "begun"]
            said.append(heard["said"])
            if moment.calls is None and len(said) == moment.after:
                time.sleep(moment.wait_s)
                os.kill(heard["pid"], signal.SIGKILL)
        raise AssertionError(f"the program fell over: {self.process.communicate()[1]}")


@dataclass(frozen=True)
class Moment:
    """When a program is ended: at a call counted from its start, or a while after a word."""

    calls: int | None = None
    after: int = 1
    wait_s: float = 0.0


def draw_moment(chance: random.Random, most_calls: int, longest_s: float, words: int) -> Moment:
    """Half the ends at a counted call (these repeat exactly), half in the midst of anything."""
    if chance.random() < 0.5:
        return Moment(calls=chance.randint(1, most_calls))
    return Moment(after=chance.randint(1, words), wait_s=chance.uniform(0, longest_s))


@dataclass
class Expected:
    """The history as it was seen when the journal was last looked at."""

    lines: list[Line] = field(default_factory=list)

    def after(self, steps: list[Step]) -> list[Line]:
        lines = list(self.lines)
        for step in steps:
            if step.kind == "undo":
                at = max(at for at, line in enumerate(lines) if line[1] == "done")
                lines[at] = (lines[at][0], "undone")
            elif step.kind == "redo":
                at = min(at for at, line in enumerate(lines) if line[1] == "undone")
                lines[at] = (lines[at][0], "done")
            else:
                lines = [(label, "passed" if was == "undone" else was) for label, was in lines]
                lines.append((step.label, "done"))
        return lines

    def look(self, journal: Journal, work: str, turn: int, said: list[str]) -> list[str]:
        """What is wrong with the history: exactly what was said must be in it, or one step more."""
        steps = list(itertools.islice(steps_of(work, turn), len(said) + 1))
        if [step.label for step in steps[:-1]] != said:
            return [f"the program said {said}"]
        found = read_lines(journal)
        right = (self.after(steps[:-1]), self.after(steps))
        self.lines = found
        wrong = [] if found in right else [f"history is {found[-6:]}, said was {said[-6:]}"]
        return wrong + journal.read(_differing_from_labels)


def read_lines(journal: Journal) -> list[Line]:
    entry = history_entry.c
    query = select(entry.label, entry.state).order_by(entry.id)
    return [(label, state) for label, state in journal.read(lambda s: s.execute(query).all())]


def find_wrong(journal: Journal) -> list[str]:
    """Everything half-written in a journal, in words; nothing if it is whole."""
    wrong = list(check_journal(journal).problems)
    if wrong and any(line.startswith(("Database", "The database")) for line in wrong):
        return wrong
    wrong += journal.read(_differing_from_history)
    store = PhotoStore(journal.photo_folder)
    for sha256 in journal.read(lambda s: list(s.scalars(select(Photo.sha256)))):
        if hashlib.sha256(store.read(sha256)).hexdigest() != sha256:
            wrong.append(f"photo {sha256} is not what its row says")
    store.sweep(older_than_s=0)
    for path in journal.photo_folder.rglob("*"):
        if path.is_file() and path.name.startswith("."):
            wrong.append(f"left over: {path}")
    return wrong


def _differing_from_history(session: Session) -> list[str]:
    """Play every entry that stands from an empty journal, in plain values; compare all tables."""
    played: dict[tuple[str, int], dict[str, Any]] = {}
    entries = set(
        session.scalars(select(history_entry.c.id).where(history_entry.c.state == "done"))
    )
    for change in session.execute(select(history_change).order_by(history_change.c.id)):
        if change.entry_id in entries:
            image = image_from_text(Record.metadata.tables[change.table_name], change.after)
            if image is None:
                del played[change.table_name, change.row_id]
            else:
                played[change.table_name, change.row_id] = image
    held = {
        (table.name, row["id"]): dict(row)
        for table in Record.metadata.sorted_tables
        if table not in (*HISTORY_TABLES, *FACT_TABLES)
        for row in session.execute(select(table)).mappings()
    }
    return [
        f"{table} {row_id} is {held.get((table, row_id))}, its history says "
        f"{played.get((table, row_id))}"
        for table, row_id in sorted(held.keys() | played.keys())
        if held.get((table, row_id)) != played.get((table, row_id))
    ]


def _differing_from_labels(session: Session) -> list[str]:
    """What stands in the history by name must stand in the tables."""
    standing: dict[str, list[int]] = {}
    query = select(history_entry.c.label).where(history_entry.c.state == "done")
    for label in session.scalars(query.order_by(history_entry.c.id)):
        kind, _, number = label.partition(" ")
        if number.isdecimal():
            standing.setdefault(kind, []).append(int(number))
    pieces: dict[int, int] = {
        number: layers
        for number, layers in session.execute(
            select(Piece.number, select(Layer.id).where(Layer.piece_id == Piece.id).exists())
        )
        if number is not None
    }
    photographed = set(
        session.scalars(select(Piece.number).join(Picture, Picture.piece_id == Piece.id))
    )
    logged = set(standing.get("log", ())) | set(standing.get("photograph", ()))
    wrong = []
    if set(pieces) != logged:
        wrong.append(f"pieces {set(pieces) ^ logged} differ from what was logged")
    if photographed != set(standing.get("photograph", ())):
        wrong.append("pictures differ from what was taken in")
    unglazed = set(standing.get("unglaze", ()))
    wrong += [f"piece {n} has lost its glaze" for n in pieces if bool(pieces[n]) == (n in unglazed)]
    for number in standing.get("curve", [])[-1:]:
        packed = session.scalars(select(Curve.packed)).one()
        times, temperatures = unpack_readings(packed)
        if list(zip(times, temperatures, strict=True)) != readings_of(number):
            wrong.append(f"the curve is not that of step {number}")
    return wrong


def look_at_backups(folder: Path) -> list[str]:
    """A backup is there whole or not at all."""
    wrong = []
    for path in (folder / "backups").iterdir():
        if path.suffix != ".sqlite":
            wrong.append(f"left over: {path.name}")
            continue
        connection = sqlite3.connect(f"{path.as_uri()}?immutable=1", uri=True)
        found = connection.execute("PRAGMA integrity_check").fetchall()
        if found != [("ok",)]:
            wrong.append(f"{path.name}: {found}")
        connection.close()
    return wrong


WAS = upgrade.NEWEST
"""The revision of this program, before a test makes it a newer one."""

# A migration more, that rewrites the table most others refer to, and what is in it.
_PLANTED = f"""
import sqlalchemy as sa
from alembic import op

revision, down_revision, branch_labels, depends_on = "planted", "{WAS}", None, None


def upgrade():
    with op.batch_alter_table("piece", recreate="always") as batch:
        batch.add_column(sa.Column("planted", sa.String(), nullable=True))
    op.execute("UPDATE piece SET planted = 'piece ' || number")
    op.create_index("ix_piece_planted", "piece", ["planted"])
"""


def be_newer(patch: pytest.MonkeyPatch, scripts: Path) -> None:
    """Let this be a program that knows the planted migration."""
    patch.setattr(upgrade, "_SCRIPTS", scripts)
    patch.setattr(upgrade, "NEWEST", "planted")


def plant_migration(at: Path) -> Path:
    """A copy of the migrations with a planted newer one; returns the folder."""
    scripts = Path(shutil.copytree(upgrade._SCRIPTS, at))
    (scripts / "versions" / "planted.py").write_text(_PLANTED, encoding="utf-8")
    return scripts
