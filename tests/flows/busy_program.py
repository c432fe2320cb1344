"""A program at work that can be ended at any moment: warm once, forked for every end.

It reads orders as JSON lines and forks a program for each; that program says every step it has
saved, as a line, and works on until it is killed: from outside, or by itself at a chosen call
into the interpreter's C code (the ``calls`` of the order), which repeats exactly.
"""

import itertools
import json
import os
import signal
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from types import FrameType
from typing import Any

from photo_files import phone_jpeg
from sqlalchemy import event, select

from studiolog.journal.firing_log import keep_log_file, log_from_typed
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.opening import Journal, open_journal
from studiolog.journal.photos import PictureDraft
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece, set_layers
from studiolog.photos import PhotoStore, take_in
from studiolog.records import upgrade
from studiolog.records.pieces import Piece
from tests.journal.conftest import enter_studio


@dataclass(frozen=True)
class Step:
    """One thing done: log, photograph, log a curve, glaze anew, undo, redo; of piece ``number``."""

    kind: str
    number: int = 0

    @property
    def label(self) -> str:
        return f"{self.kind} {self.number}"


PATTERNS = {
    "pieces": ("log",),
    "photos": ("photograph",),
    "curves": ("log", "curve"),
    "undo": ("log", "unglaze", "undo", "redo", "undo", "undo", "photograph", "undo", "curve"),
}


def steps_of(work: str, turn: int) -> Iterator[Step]:
    """What the program does in this turn, without end."""
    for at in itertools.count(1):
        for kind in PATTERNS[work]:
            yield Step(kind, turn * 1000 + at)


def readings_of(number: int) -> list[tuple[float, float]]:
    """The curve that step ``number`` types in: seconds, °C."""
    return [(0, 20), (3600 + number, 900), (9000 + number, 1222)]


class Program:
    """The program of one order."""

    def __init__(self, order: dict[str, Any]) -> None:
        self.order = order
        self.journal: Journal | None = None

    def run(self) -> None:
        work, turn = self.order["work"], self.order["turn"]
        opens = work in ("new", "upgrade")
        if opens:
            self._say("begun")
            self._end_at(self.order["calls"])
            open_journal(self.order["folder"])
            self._say("opened")
            return
        self.journal = open_journal(self.order["folder"])
        if work == "long edit":
            self._long_edit()
        self._say("begun")
        self._end_at(self.order["calls"])
        for step in steps_of(work, turn):
            self._do(step)
            self._say(step.label)

    def _say(self, word: str) -> None:
        # One write of a short line reaches the pipe whole.
        os.write(
            sys.stdout.fileno(), (json.dumps({"pid": os.getpid(), "said": word}) + "\n").encode()
        )

    def _end_at(self, calls: int | None) -> None:
        if calls is None:
            return
        left = calls

        def count(_frame: FrameType, what: str, _of: object) -> None:
            nonlocal left
            if what == "c_call":
                left -= 1
                if left <= 0:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.setprofile(count)

    def _do(self, step: Step) -> None:
        journal, ids = self.journal, self.order["ids"]
        assert journal is not None
        if step.kind == "undo":
            assert journal.undo() is not None
        elif step.kind == "redo":
            assert journal.redo() is not None
        elif step.kind == "curve":
            log = log_from_typed(readings_of(step.number))
            journal.edit(step.label, lambda s: keep_log_file(s, ids["firing"], log))
        elif step.kind == "unglaze":
            journal.edit(
                step.label,
                lambda s: set_layers(
                    s, s.scalars(select(Piece.id).where(Piece.number == step.number)).one(), ()
                ),
            )
        else:
            pictures = (self._picture(step.number),) if step.kind == "photograph" else ()
            draft = PieceDraft(
                number=step.number,
                clay_id=ids["clay"],
                stage="fired",
                pictures=pictures,
                layers=(LayerDraft(zone="outside", glaze_id=ids["glaze"]),),
                placements=(PlacementDraft(firing_id=ids["firing"]),),
                inspections=(
                    InspectionDraft(
                        looked_on=date(2026, 10, 4), faults=(FaultDraft("crazing", 1),)
                    ),
                ),
            )
            journal.edit(step.label, lambda s: log_piece(s, draft))

    def _picture(self, number: int) -> PictureDraft:
        assert self.journal is not None
        shot = phone_jpeg(60, 40, datetime(2026, 10, 4, 9, number % 60), shade=number)
        store = PhotoStore(self.journal.photo_folder)
        (facts,) = take_in([(f"cup {number}.jpg", shot)], store).kept
        return PictureDraft(
            sha256=facts.sha256,
            suffix=facts.suffix,
            name=facts.name,
            width=facts.width,
            height=facts.height,
            byte_count=facts.byte_count,
            taken_at=None,
            moment="fired",
        )

    def _long_edit(self) -> None:
        """One edit of many pieces, ended before its last word: certain, whatever the machine."""
        assert self.journal is not None
        engine, keeping = self.journal.engine, self.order["keeping"]
        engine.dispose()

        @event.listens_for(engine, "connect")
        def _keep_little(connection: Any, _record: object) -> None:
            if not keeping:
                for pragma in ("journal_mode=DELETE", "journal_mode=OFF", "synchronous=OFF"):
                    connection.execute(f"PRAGMA {pragma}").fetchall()
            # So little is held in memory that the file is written long before the commit.
            connection.execute("PRAGMA cache_size=10")

        @event.listens_for(engine, "commit")
        def _end(_connection: object) -> None:
            os.kill(os.getpid(), signal.SIGKILL)

        def log_many(session: Any) -> None:
            for at in range(60):
                log_piece(
                    session,
                    PieceDraft(
                        number=500 + at, notes="long " * 100, clay_id=self.order["ids"]["clay"]
                    ),
                )

        self.journal.edit("log many", log_many)


def warm_up() -> None:
    """Do everything once, so that no end falls into loading a module or into making a statement."""
    with TemporaryDirectory() as folder:
        program = Program({"folder": folder, "ids": {}})
        program.journal = open_journal(Path(folder) / "journal")
        studio = enter_studio(program.journal)
        program.order["ids"] = {
            "firing": studio.firing,
            "clay": studio.buff,
            "glaze": studio.kelp,
        }
        for step in itertools.islice(steps_of("undo", 1), len(PATTERNS["undo"])):
            program._do(step)
        program.journal.close()


def serve(tell: Callable[[str], object]) -> None:
    for line in sys.stdin:
        order = json.loads(line)
        child = os.fork()
        if child == 0:
            try:
                if "scripts" in order:
                    upgrade._SCRIPTS, upgrade.NEWEST = Path(order["scripts"]), "planted"
                Program(order).run()
            finally:
                sys.setprofile(None)
                sys.stderr.flush()
            os._exit(0)
        _, status = os.waitpid(child, 0)
        tell(json.dumps({"ended": status}) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    warm_up()
    serve(sys.stdout.write)
