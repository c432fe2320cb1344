"""The gallery of pictures: scrolling, first paint and memory at three hundred thousand pictures.

Measured is the program's own `PieceGrid` over rows read from a synthetic studio. Its small
pictures are two thousand files in turn, more than any cache holds, so each is read when it comes
into view.
"""

import io
import os
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from PIL import Image
from PySide6.QtCore import QEventLoop, QSize
from PySide6.QtGui import QIcon, QPixmap
from PySide6.QtWidgets import QApplication, QListWidget, QListWidgetItem

from studiolog.desktop import theme
from studiolog.desktop.pictures import Pictures
from studiolog.journal.finding import FindingRow, Hit, read_rows
from studiolog.journal.opening import Journal, open_journal
from studiolog.photos import SIZES, PhotoStore, thumbnail_path
from studiolog.ui.findings.piece_grid import PieceGrid
from studiolog.ui.findings.piece_source import PieceSource
from tests.bench.result import Result

MANY, FEW = 300_000, 10_000
FRAMES, FRAME_S = 240, 1 / 60
LATE_S = 0.0167
_FILES = 2_000
_SIZE = QSize(1180, 720)
_PIECES = 10_000  # of the studio: each stands for many pictures


def prepare(folder: Path, shas: Sequence[str] = ()) -> list[str]:
    """Small pictures of these, or of two thousand made-up originals; gives their hashes."""
    store = PhotoStore(folder)
    shas = list(shas) or [f"{n * 7919 % 16**8:08x}".ljust(64, "0") for n in range(1, _FILES + 1)]
    y, x = np.mgrid[0:120, 0:160]
    made: dict[int, list[Path]] = {size: [] for size in SIZES[:2]}
    for number, sha in enumerate(shas):
        for size in SIZES[:2]:
            where = thumbnail_path(store, sha, size)
            where.parent.mkdir(parents=True, exist_ok=True)
            if where.is_file():
                made[size].append(where)
                continue
            if number >= 40:
                os.link(made[size][number % 40], where)
                continue
            chance = np.random.default_rng(number)
            waves = 120 + 60 * np.sin(x / 20 + number) + 30 * np.cos(y / 9) + chance.normal(0, 8)
            grain = chance.normal(0, 8, (120, 160, 3))
            pixels = np.clip(waves[..., None] + grain, 0, 255).astype(np.uint8)
            image = Image.fromarray(pixels).resize((size, size * 3 // 4))
            held = io.BytesIO()
            image.save(held, "JPEG", quality=82)
            where.write_bytes(held.getvalue())
            made[size].append(where)
    return shas


@dataclass
class Gallery:
    """A grid over so many pictures, with the services it needs."""

    grid: PieceGrid
    source: PieceSource

    def close(self) -> None:
        self.grid.close()
        self.grid.deleteLater()
        settle()


def settle() -> None:
    """Do what the event loop has to do."""
    QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents)


def list_hits(many: int) -> tuple[Hit, ...]:
    """Made-up answers to a question."""
    return tuple(Hit(n, n % 4, n % 4 > 1, 6.0) for n in range(1, many + 1))


def open_gallery(
    journal: Journal, pictures: Pictures, shas: Sequence[str], hits: tuple[Hit, ...]
) -> Gallery:
    """Show these hits in a grid, up to its first paint."""

    def read(ids: Sequence[int]) -> dict[int, FindingRow]:
        real = [n % _PIECES + 1 for n in ids]
        rows = journal.read(lambda session: read_rows(session, real))
        return {
            n: replace(rows[piece], piece_id=n, sha256=shas[n % len(shas)], suffix=".jpg")
            for n, piece in zip(ids, real, strict=True)
        }

    source = PieceSource(read)
    source.show_hits(hits)
    grid = PieceGrid(source, pictures)
    grid.resize(_SIZE)
    grid.show_again()
    grid.show()
    grid.viewport().repaint()
    return Gallery(grid, source)


def scroll(gallery: Gallery, step_px: int, frames: int = FRAMES) -> list[float]:
    """Scroll at sixty frames a second; the seconds that each frame kept the window busy."""
    bar = gallery.grid.verticalScrollBar()
    busy: list[float] = []
    due = time.perf_counter()
    for _ in range(frames):
        begin = time.perf_counter()
        bar.setValue((bar.value() + step_px) % max(1, bar.maximum()))
        settle()
        busy.append(time.perf_counter() - begin)
        due = max(due + FRAME_S, time.perf_counter())
        while (left := due - time.perf_counter()) > 0:
            time.sleep(min(left, 0.001))
            settle()
    return busy


def measure_grid(folder: Path, studio: Path, rounds: int = 7) -> list[Result]:
    """Frames, first paint and memory of the grid."""
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    theme.current().apply(app)
    shas = prepare(folder)
    journal = open_journal(studio)
    hits = {many: list_hits(many) for many in (MANY, FEW)}
    first: dict[int, list[float]] = {MANY: [], FEW: []}
    for _ in range(rounds + 1):
        for many in first:
            pictures = Pictures(str(folder))
            begin = time.perf_counter()
            gallery = open_gallery(journal, pictures, shas, hits[many])
            first[many].append(time.perf_counter() - begin)
            pictures.close()
            settle()
            gallery.close()
    for times in first.values():
        del times[0]  # everything is imported once
    pictures = Pictures(str(folder))
    gallery = open_gallery(journal, pictures, shas, hits[MANY])
    settle()
    row_px = gallery.grid.verticalScrollBar().singleStep() * 3
    runs = {
        "a row a frame": scroll(gallery, row_px),
        "a third of a row": scroll(gallery, row_px // 3),
        "leaps of 1 000 rows": scroll(gallery, 1000 * row_px),
    }
    pictures.close()
    gallery.close()
    journal.close()
    late = {name: sum(s > LATE_S for s in busy) for name, busy in runs.items()}
    told = ", ".join(
        f"{name}: {late[name]} late, median {statistics.median(busy) * 1000:.1f} ms, "
        f"longest {max(busy) * 1000:.1f}"
        for name, busy in runs.items()
    )
    memory = {kind: _memory_of(kind, folder, studio) for kind in ("grid", "icons")}
    ratio = statistics.median(first[MANY]) / statistics.median(first[FEW])
    return [
        Result(
            "photo grid, late frames of 240 at 300 000 pictures",
            float(late["a row a frame"]),
            "≤ 0",
            "1 frame of 16.7 ms",
            1,
            told,
        ),
        Result("photo grid, first paint at 300 000", ratio, "≤ 1.2", "the same of 10 000", rounds),
        Result(
            "photo grid, memory at 300 000",
            memory["grid"] / memory["icons"],
            "≤ 0.05",
            "a list of 10 000 icons",
            1,
            f"{memory['grid'] / 1e6:.0f} MB of {memory['icons'] / 1e6:.0f} MB",
        ),
    ]


# Memory, each kind in a process of its own


def _memory_of(kind: str, folder: Path, studio: Path) -> float:
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.photo_grid", kind, str(folder), str(studio)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
    )
    return float(done.stdout.split()[-1])


def _resident() -> float:
    """Bytes of memory in use now; where that can't be read, the most there ever was."""
    held = Path("/proc/self/statm")
    if held.is_file():
        return float(held.read_text().split()[1]) * resource.getpagesize()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return float(peak) * (1 if sys.platform == "darwin" else 1024)


def _grow_grid(folder: Path, studio: Path) -> float:
    shas = prepare(folder)
    journal = open_journal(studio)
    hits = list_hits(MANY)
    pictures = Pictures(str(folder))
    open_gallery(journal, pictures, shas, list_hits(8)).close()
    before = _resident()
    gallery = open_gallery(journal, pictures, shas, hits)
    scroll(gallery, gallery.grid.verticalScrollBar().singleStep() * 3)
    grown = _resident() - before
    pictures.close()
    gallery.close()
    journal.close()
    return grown


def _grow_icons(folder: Path) -> float:
    store, shas = PhotoStore(folder), prepare(folder)
    before = _resident()
    icons = QListWidget()
    icons.setViewMode(QListWidget.ViewMode.IconMode)
    icons.setIconSize(QSize(106, 106))
    icons.setUniformItemSizes(True)
    icons.resize(_SIZE)
    for number in range(FEW):
        file = thumbnail_path(store, shas[number % len(shas)], SIZES[0])
        icons.addItem(QListWidgetItem(QIcon(QPixmap(str(file))), f"{number}, cone 6"))
    icons.show()
    icons.viewport().repaint()
    settle()
    return _resident() - before


def main() -> None:
    """Print how many bytes one kind of list takes."""
    kind, folder, studio = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
    app = QApplication([])
    theme.current().apply(app)
    print(_grow_grid(folder, studio) if kind == "grid" else _grow_icons(folder))


if __name__ == "__main__":
    main()
