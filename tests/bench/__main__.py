"""``make bench``: ratios measured in one run, candidates in rotation, medians of rounds.

Times drift from machine to machine and from minute to minute; only a ratio to a baseline of the
same run says something. Exits non-zero on a wrong answer, never on a slow one. The results are
also written to ``build/bench.json``. ``--sizes 1000,10000`` makes it quick, ``--only rates`` runs
one part; growth is that of the two largest sizes.
"""

import argparse
import json
import os
import sys
import time
from collections.abc import Callable
from functools import cached_property
from pathlib import Path

from studiolog.journal.opening import Journal
from tests.bench import (
    amounts,
    compare_plots,
    curve_plots,
    glaze_bench,
    kiln_curve,
    kiln_journal,
    photo_grid,
    photo_import,
    piece_table,
    rates,
    start_up,
    work_in_hand,
)
from tests.bench.result import Result
from tests.bench.synthetic_studio import build

SIZES = (1_000, 10_000, 100_000)
FOLDER = Path("build/bench")
REPORT = Path("build/bench.json")

Measured = tuple[list[Result], int]


class Bench:
    """The studios, and each part that measures something on them."""

    def __init__(self, sizes: list[int], rounds: int) -> None:
        self.rounds = rounds
        self.sizes = sizes
        FOLDER.mkdir(parents=True, exist_ok=True)

    @cached_property
    def studios(self) -> list[tuple[int, Path, Journal]]:
        """A studio of each size, built when a part first asks for it."""
        found = []
        for size in self.sizes:
            folder = FOLDER / str(size)
            begin = time.perf_counter()
            found.append((size, folder, build(folder, size)))
            _say(f"a studio of {size} pieces ({time.perf_counter() - begin:.0f} s)")
        return found

    @property
    def journals(self) -> list[tuple[int, Journal]]:
        """The studios' journals by size."""
        return [(size, journal) for size, _, journal in self.studios]

    def close(self) -> None:
        """Let go of the journals that were opened."""
        for _, _, journal in self.__dict__.get("studios", ()):
            journal.close()

    def questions(self) -> Measured:
        try:
            from tests.bench import questions
        except ImportError as missing:
            sys.exit(
                f"{missing.name} is needed to compare with a sheet: run make bench, which installs "
                "it, or name other parts with --only."
            )
        return questions.measure_questions(self.journals, FOLDER, self.rounds)

    def rates(self) -> Measured:
        return rates.measure_rates(self.journals, self.rounds)

    def size(self) -> Measured:
        return amounts.measure_size(self.studios), 0

    def heat(self) -> Measured:
        return amounts.measure_heat_work(self.journals[-1][1], self.rounds)

    def start(self) -> Measured:
        return start_up.measure_start_up(self.studios[-1][1]), 0

    def table(self) -> Measured:
        few, many = self.studios[0][1], self.studios[-1][1]
        (FOLDER / "table").mkdir(exist_ok=True)
        return piece_table.measure_table(few, many, FOLDER / "table"), 0

    def photos(self) -> Measured:
        return photo_import.measure_photo_import(FOLDER / "photos", self.rounds), 0

    def grid(self) -> Measured:
        return photo_grid.measure_grid(FOLDER / "grid", self.studios[-1][1]), 0

    def curves(self) -> Measured:
        return curve_plots.measure_curves(), 0

    def kiln(self) -> Measured:
        """A curve, a kiln of five thousand firings, and two hundred of them compared."""
        measured = [
            kiln_curve.measure_curve(self.rounds),
            kiln_journal.measure_journal(FOLDER, min(self.rounds, 3)),
            compare_plots.measure_compare(),
        ]
        results = [result for part, _ in measured for result in part]
        return results, sum(wrong for _, wrong in measured)

    def glazes(self) -> Measured:
        """Findings, map and fit by the formulas of glazes, and a recipe searched."""
        return glaze_bench.measure_glazes(self.journals, self.rounds)

    def work(self) -> Measured:
        """The bench, the forecast and the packing at thousands of open pieces."""
        return work_in_hand.measure_work(FOLDER, self.rounds)

    def parts(self) -> dict[str, Callable[[], Measured]]:
        return {
            "questions": self.questions,
            "rates": self.rates,
            "size": self.size,
            "heat": self.heat,
            "start": self.start,
            "table": self.table,
            "photos": self.photos,
            "grid": self.grid,
            "curves": self.curves,
            "kiln": self.kiln,
            "glazes": self.glazes,
            "work": self.work,
        }


def _say(sentence: str) -> None:
    print(sentence, file=sys.stderr, flush=True)


def main() -> int:
    """Run what was asked for; 1 on a wrong answer."""
    asked = argparse.ArgumentParser(prog="bench", description=__doc__)
    asked.add_argument("--sizes", default=",".join(map(str, SIZES)))
    asked.add_argument("--only", default="", help="parts, with commas between")
    asked.add_argument("--rounds", type=int, default=5)
    given = asked.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    bench = Bench([int(size) for size in given.sizes.split(",")], given.rounds)
    only = [part for part in given.only.split(",") if part]
    results: list[Result] = []
    wrong = 0
    for name, part in bench.parts().items():
        if only and name not in only:
            continue
        begin = time.perf_counter()
        measured, differing = part()
        _say(f"{name} ({time.perf_counter() - begin:.0f} s)")
        wrong += differing
        results += measured
        for result in measured:
            print(result.line(), flush=True)
    bench.close()
    libraries = {
        name: sys.modules[name].__version__
        for name in ("pandas", "openpyxl", "numpy", "pyqtgraph")
        if name in sys.modules
    }
    said = {"wrong": wrong, "libraries": libraries, "results": [one.as_plain() for one in results]}
    REPORT.write_text(json.dumps(said, ensure_ascii=False, indent=1), encoding="utf-8")
    print(f"{wrong} wrong answers; written to {REPORT}.")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
