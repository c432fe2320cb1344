"""How long a start takes, from the command to what is seen, against a bare window of Qt.

Every start is a process of its own; the two kinds take turns. The bare window is what any program
of this kit at least is: a main window with a few words in its middle. Byte code is compiled before
the first round, as an installed program's is.
"""

import json
import os
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from sqlalchemy.orm import Session

from studiolog.journal.opening import FILE, open_journal
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.runs import lose_pieces, move_pieces
from tests.bench.result import Result

ROOT = Path(__file__).resolve().parents[2]
ROWS = 100
_NOON = datetime(2026, 11, 12, 12)
HEAVY = ("sqlalchemy", "alembic", "numpy", "scipy", "pyqtgraph", "PIL")

BARE = """
import os, time
from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication, QLabel, QMainWindow

class Bare(QMainWindow):
    def paintEvent(self, event):
        super().paintEvent(event)
        QTimer.singleShot(0, tell)

def tell():
    print('{"painted": %.9f}' % time.monotonic(), flush=True)
    os._exit(0)

app = QApplication(["bare"])
window = Bare()
words = QLabel("A bare window")
words.setAlignment(Qt.AlignmentFlag.AlignCenter)
window.setCentralWidget(words)
window.resize(1280, 800)
window.show()
app.exec()
"""

# The program as it is started, watched from outside. ``STOP`` names the last thing to see.
WATCHED = """
import json, os, sys, time
from studiolog import __main__, app

STOP, HEAVY = os.environ["BENCH_STOP"], json.loads(os.environ["BENCH_HEAVY"])
seen = {}

def note(what, **more):
    if what not in seen:
        seen[what] = time.monotonic()
        seen.update(more)
        if what == STOP:
            print(json.dumps(seen), flush=True)
            os._exit(0)

def painted():
    loaded = [name for name in HEAVY if name in sys.modules]
    note("painted", heavy=loaded)

def watch_window():
    from PySide6.QtCore import QEvent, QObject, QTimer
    from studiolog.desktop.jobs import Jobs
    from studiolog.ui.frame.window import Window

    class Rows(QObject):
        def eventFilter(self, viewport, event):
            if event.type() == QEvent.Type.Paint:
                rows = viewport.parent().model().rowCount()
                QTimer.singleShot(0, lambda: note("rows", rows_shown=rows))
            return False

    class Beat:
        def __init__(self):
            self.gap, self.last = 0.0, time.monotonic()
            self.timer = QTimer()
            self.timer.timeout.connect(self.beat)
            self.timer.start(1)
        def beat(self):
            now = time.monotonic()
            if now - self.last > self.gap:
                self.gap, self.at = now - self.last, now
            self.last = now

    make, look_ahead, begin = Window.__init__, Window.look_ahead, Window.taking_up
    def made(window, desk=None):
        make(window, desk)
        window.painted.connect(painted)
    Window.__init__ = made
    def watched(window, first):
        look_ahead(window, first)
        if STOP == "loaded":
            # What comes before are the first rows, which have a measure of their own.
            QTimer.singleShot(0, lambda: setattr(window, "beat", Beat()))
        if first is not None:
            window.rows_seen = Rows()
            window.screen_of("bench").list.viewport().installEventFilter(window.rows_seen)
    Window.look_ahead = watched
    def taking_up(window, desk, page):
        def ended(key):
            if key == "load the rest":
                beat = window.beat
                note("loaded", gap_s=beat.gap, gap_at=beat.at - seen["painted"],
                     taken_up=window.taken - seen["painted"])
        desk.jobs.ended.connect(ended)
        yield from begin(window, desk, page)
        window.taken = time.monotonic()
    Window.taking_up = taking_up

make = app._make_application
def make_and_watch():
    made = make()
    watch_window()
    return made
app._make_application = make_and_watch
sys.exit(__main__.main(["--journal", os.environ["BENCH_JOURNAL"]]))
"""


@dataclass(frozen=True)
class Start:
    """One start: seconds from the command, and what was seen besides."""

    seconds: float
    seen: dict[str, object]


def start(
    code: str,
    last: str,
    folder: Path,
    state: Path,
    compiled: Path | None = None,
    heavy: Sequence[str] = HEAVY,
) -> Start:
    """Start ``code`` in a process of its own; it ends once ``last`` was seen.

    ``state`` is the desk's own folder, ``compiled`` where byte code is kept, if not beside the
    sources. Of ``heavy``, those modules are noted that are loaded at first paint.
    """
    kept = {key: value for key, value in os.environ.items() if key != "STUDIOLOG_HOME"}
    if compiled is not None:
        kept.pop("PYTHONDONTWRITEBYTECODE", None)
        kept["PYTHONPYCACHEPREFIX"] = str(compiled)
    surroundings = {
        **kept,
        "DISPLAY": ":0",
        "QT_QPA_PLATFORM": "offscreen",
        "XDG_DATA_HOME": str(state),
        "BENCH_STOP": last,
        "BENCH_HEAVY": json.dumps(heavy),
        "BENCH_JOURNAL": str(folder),
    }
    begun = time.monotonic()
    ended = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=surroundings,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    if ended.returncode != 0 or not ended.stdout.strip():
        raise RuntimeError(f"the start ended before {last} was seen: {ended.stderr[-2000:]}")
    seen = json.loads(ended.stdout.strip().splitlines()[-1])
    return Start(seen[last] - begun, seen)


def measure_start_up(journal_folder: Path, rounds: int = 9) -> list[Result]:
    """First paint, first hundred rows, and the longest gap of the event loop while the rest loads.

    Works on a copy of the journal with a hundred runs in hand. Raises `AssertionError` if something
    slow was loaded at first paint, or fewer rows were shown: then the answer is wrong, not late.
    """
    with tempfile.TemporaryDirectory() as held:
        state, folder = Path(held), Path(held) / "journal"
        fill_bench(journal_folder, folder)
        codes = {"bare": BARE, "painted": WATCHED, "rows": WATCHED, "loaded": WATCHED}

        def begin(way: str) -> Start:
            last = "painted" if way == "bare" else way
            return start(codes[way], last, folder, state, state / "compiled")

        for way in codes:
            begin(way)  # compiles, and warms what the machine keeps of files
        seen: dict[str, list[Start]] = {way: [] for way in codes}
        for _ in range(rounds):
            for way in codes:
                seen[way].append(begin(way))
    for one in seen["painted"]:
        assert one.seen["heavy"] == [], f"loaded at first paint: {one.seen['heavy']}"
    for one in seen["rows"]:
        assert one.seen["rows_shown"] == ROWS, f"{one.seen['rows_shown']} rows were shown"
    middle = {name: statistics.median(one.seconds for one in runs) for name, runs in seen.items()}
    gaps_ms = [1000 * float(str(one.seen["gap_s"])) for one in seen["loaded"]]
    taken = statistics.median(float(str(one.seen["taken_up"])) for one in seen["loaded"])
    bare = "a bare PySide6 window"
    return [
        Result("start: first paint", middle["painted"] / middle["bare"], "≤ 1.5", bare, rounds),
        Result("start: first 100 rows", middle["rows"] / middle["bare"], "≤ 1.6", bare, rounds),
        Result(
            "start: longest gap of the event loop while the rest loads",
            statistics.median(gaps_ms),
            "≤ 33",
            "1 ms",
            rounds,
            f"most {max(gaps_ms):.0f} ms; the whole bench is there after "
            f"{(middle['painted'] + taken) / middle['bare']:.1f} bare windows, "
            f"every screen after {middle['loaded'] / middle['bare']:.1f}",
        ),
    ]


def fill_bench(journal_folder: Path, folder: Path) -> None:
    """A copy of a journal with at least a hundred runs in hand."""
    folder.mkdir()
    with (
        sqlite3.connect(journal_folder / FILE) as source,
        sqlite3.connect(folder / FILE) as target,
    ):
        source.backup(target)
    source.close()
    target.close()
    journal = open_journal(folder)
    try:
        journal.edit("Fill the bench", _add_runs)
    finally:
        journal.close()
    # The copy brought statistics of a time without runs: they would lead every plan astray.
    with closing(sqlite3.connect(folder / FILE)) as filled:
        filled.execute("ANALYZE")


def _add_runs(session: Session) -> None:
    begun = date(2026, 9, 1)
    for place in range(ROWS):
        made = begun + timedelta(days=place // 2)
        run = log_run(
            session, RunDraft(made_on=made, title=f"Lot {place + 1}", how_many=8 + place % 9)
        )
        if place % 3:
            move_pieces(session, run, "wet", "leather_hard", 3 + place % 4, _NOON)
        if place % 5 == 0:
            lose_pieces(session, run, "wet", 1, "rim split", _NOON)


if __name__ == "__main__":
    for result in measure_start_up(Path(sys.argv[1]), int(sys.argv[2])):
        print(result.line())
