"""The program ends without warning in the middle of its work. Nothing that was saved is lost."""

import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest
from sqlalchemy import select

from studiolog.journal.opening import open_journal
from studiolog.journal.safekeeping import check_journal
from studiolog.records.pieces import Piece
from tests.journal.conftest import enter_studio

ROUNDS = 6

# Edits, pictures, a log and undo, over and over; each saved piece is said once it is saved.
WORK = """
import itertools, sys
from datetime import date, datetime
from studiolog.journal.firing_log import keep_log_file, log_from_typed
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.opening import open_journal
from studiolog.journal.photos import PictureDraft
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece, set_layers
from studiolog.photos import PhotoStore, take_in
from photo_files import phone_jpeg

folder, turn, firing, clay, glaze = sys.argv[1], *map(int, sys.argv[2:])
journal = open_journal(folder)
store = PhotoStore(journal.photo_folder)
for at in itertools.count():
    number = turn * 10_000 + at + 1
    shot = phone_jpeg(40 + turn, 30 + at % 50, datetime(2026, 10, 4, 9, 30))
    (facts,) = take_in([(f"cup {number}.jpg", shot)], store).kept
    picture = PictureDraft(
        sha256=facts.sha256, suffix=facts.suffix, name=facts.name, width=facts.width,
        height=facts.height, byte_count=facts.byte_count, taken_at=None, moment="fired",
    )
    draft = PieceDraft(
        number=number, clay_id=clay, stage="fired", pictures=(picture,),
        layers=(LayerDraft(zone="outside", glaze_id=glaze),),
        placements=(PlacementDraft(firing_id=firing),),
        inspections=(InspectionDraft(
            looked_on=date(2026, 10, 4), faults=(FaultDraft("crazing", 1),)
        ),),
    )
    piece = journal.edit("Log", lambda s: log_piece(s, draft)).value
    print(number, flush=True)
    log = log_from_typed([(0, 20), (3600 + number, 900), (9000 + number, 1222)])
    journal.edit("Keep log", lambda s: keep_log_file(s, firing, log))
    journal.edit("Glaze", lambda s: set_layers(s, piece, ()))
    journal.undo()
"""


def test_a_sudden_end_loses_nothing_that_was_saved(tmp_path: Path) -> None:
    if not hasattr(os, "kill") or sys.platform == "win32":
        pytest.skip("there is no signal here that ends a program at once")
    folder = tmp_path / "journal"
    opened = open_journal(folder)
    studio = enter_studio(opened)
    opened.close()
    work = tmp_path / "work.py"
    work.write_text(WORK, encoding="utf-8")
    root = Path(__file__).resolve().parents[2]
    paths = os.pathsep.join((str(root), str(root / "tests")))
    ids = [str(studio.firing), str(studio.buff), str(studio.kelp)]
    moments = random.Random(6)
    said: set[int] = set()
    for turn in range(ROUNDS):
        with subprocess.Popen(
            [sys.executable, str(work), str(folder), str(turn), *ids],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": paths},
        ) as program:
            assert program.stdout is not None
            assert program.stderr is not None
            first = program.stdout.readline()
            assert first, program.stderr.read()
            time.sleep(moments.uniform(0.02, 0.2))
            program.kill()
            # A last line that was cut short says nothing.
            said |= {int(line) for line in (first + program.stdout.read()).split("\n")[:-1]}
            assert program.stderr.read() == ""
        journal = open_journal(folder)
        try:
            assert check_journal(journal).problems == ()
            kept = journal.read(lambda session: set(session.scalars(select(Piece.number))))
            assert said <= kept
            # Only the piece that was just being said may be more than was said.
            assert len(kept - said) <= turn + 1
        finally:
            journal.close()
    assert len(said) >= ROUNDS
