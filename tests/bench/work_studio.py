"""A studio with thousands of pieces in hand and hundreds of orders, written straight to the tables.

Twenty pieces to a run, forms made in different ways, one order to a run; as many pieces again were
finished and sent before. Every piece has its stages behind it and the steps that belong to them.
"""

import random
import sqlite3
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from tests.bench.synthetic_studio import StudioWriter

NOW = datetime(2026, 11, 12, 9)
PATH = ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired", "finished")
ZONES = ("handle", "panel", "body")
FORMS: tuple[tuple[str, str, tuple[tuple[str, str], ...], tuple[str, ...]], ...] = (
    ("Mug", "thrown", (("throw", "thrown"), ("trim", "trimmed"), ("handle", "handled"),
                       ("glaze", ""), ("grind and check", "ground")), ZONES),
    ("Bowl", "thrown", (("throw", "thrown"), ("trim", "trimmed"), ("glaze", "")), ()),
    ("Lantern", "box", (("roll slabs", "rolled"), ("cut", "cut"), ("join", "joined"),
                        ("carve", "carved"), ("sponge", "sponged"), ("glaze", "")), ("body",)),
    ("Tile", "tile", (("roll", "rolled"), ("cut", "cut"), ("glaze", "")), ()),
    ("Vase", "thrown", (), ()),
)  # fmt: skip
"""Name, shape, (step of the form, as it is logged), zones. A vase's steps nobody wrote down."""

STEP_STAGE = {
    **dict.fromkeys(("thrown", "rolled", "cut"), "wet"),
    **dict.fromkeys(("trimmed", "handled", "joined", "carved"), "leather_hard"),
    "sponged": "bone_dry",
    "ground": "fired",
}
A_RUN = 20
_CHANCES = (10, 20, 20, 20, 15, 10, 5)


class WorkWriter(StudioWriter):
    """Writes the pieces in hand, their runs, orders, stages and steps."""

    def __init__(self, driver: sqlite3.Connection, chance: random.Random, pieces: int) -> None:
        super().__init__(driver, chance, pieces)
        self.runs = max(1, pieces // A_RUN)
        self.stages: list[tuple[int, str, datetime]] = []
        self.steps: list[tuple[int, str, str, str]] = []
        self.laid: list[tuple[int, str, int, int]] = []
        self.rows: list[tuple[Any, ...]] = []

    def write(self) -> None:
        self._shelf()
        self._forms()
        self._orders()
        made = [NOW - timedelta(days=self.chance.randint(3, 60)) for _ in range(2 * self.runs)]
        self.put(
            "run",
            ("id", "number", "made_on", "form_id", "clay_id", "order_line_id", "purpose"),
            (
                (n, n, made[n - 1].date().isoformat(), _form_of(n), 1 + n % 6, n, "order")
                for n in range(1, 2 * self.runs + 1)
            ),
        )
        for n in range(1, 2 * self.runs + 1):
            for _ in range(A_RUN):
                self._piece(n, made[n - 1])
        self.put(
            "piece",
            (
                *("id", "run_id", "form_id", "clay_id", "stage", "made_on", "lost_at", "lost_why"),
                *("order_line_id", "shipment_id"),
            ),
            self.rows,
        )
        self.put(
            "stage_change",
            ("piece_id", "stage", "at"),
            ((piece, stage, str(at)) for piece, stage, at in self.stages),
        )
        self.put("step", ("piece_id", "name", "done_on", "zone"), self.steps)
        self.put("layer", ("piece_id", "zone", "position", "glaze_id"), self.laid)

    def _forms(self) -> None:
        self.put(
            "form",
            ("id", "name", "shape"),
            ((20 + n, name, shape) for n, (name, shape, _, _) in enumerate(FORMS)),
        )
        self.put("form_step", ("form_id", "position", "name"), self._form_steps())
        zones = (
            (20 + n, place, zone)
            for n, (_, _, _, named) in enumerate(FORMS)
            for place, zone in enumerate(named, 1)
        )
        self.put("form_zone", ("form_id", "position", "name"), zones)

    def _form_steps(self) -> Iterator[tuple[int, int, str]]:
        for n, (_, _, steps, _) in enumerate(FORMS):
            for place, (name, _) in enumerate(steps, 1):
                yield 20 + n, place, name

    def _orders(self) -> None:
        """One order to a run; those of the runs that are done are delivered."""
        last = 2 * self.runs
        self.put(
            "orders",
            ("id", "number", "whom", "promised_on", "state"),
            (
                (
                    n,
                    n,
                    f"Shop {n % 40}",
                    str((NOW + timedelta(days=n % 90)).date()),
                    "open" if n <= self.runs else "delivered",
                )
                for n in range(1, last + 1)
            ),
        )
        self.put(
            "order_line",
            ("id", "order_id", "position", "wanted", "form_id"),
            ((n, n, 1, A_RUN - 2, _form_of(n)) for n in range(1, last + 1)),
        )
        self.put(
            "shipment",
            ("id", "order_id", "shipped_on"),
            ((n, n, "2026-06-01") for n in range(self.runs + 1, last + 1)),
        )

    def _piece(self, run: int, made: datetime) -> None:
        piece = len(self.rows) + 1
        sent = run > self.runs
        stage = "finished" if sent else self.chance.choices(PATH, _CHANCES)[0]
        _, _, steps, zones = FORMS[_form_of(run) - 20]
        reached = PATH[: PATH.index(stage) + 1]
        for place, passed in enumerate(reached):
            at = made + (NOW - made) * (place / len(PATH))
            self.stages.append((piece, passed, at.replace(microsecond=0)))
            for _, done in steps:
                there = done and STEP_STAGE[done] == passed
                # What is left behind was done; at the stage it stands, perhaps.
                if there and (passed != stage or passed == "wet" or self.chance.random() < 0.5):
                    self.steps.append((piece, done, str(at.date()), ""))
            if not steps and passed == "leather_hard" and self.chance.random() < 0.5:
                self.steps.append((piece, "turned", str(at.date()), ""))
        if "bisque" in reached:
            for zone in zones:
                if len(reached) > 4 or self.chance.random() < 0.4:
                    if self.chance.random() < 0.5:
                        self.steps.append((piece, "glazed", str(NOW.date()), zone))
                    else:
                        self.laid.append((piece, zone, 1, 1 + piece % 30))
        lost_at, why = None, ""
        if not sent and self.chance.random() < 0.04:
            lost_at, why = stage, self.chance.choice(("crack", "warped", "dropped"))
            stage = "lost"
            self.stages.append((piece, "lost", NOW - timedelta(hours=1)))
        line = run if stage == "finished" else None
        if line is not None and not sent and self.chance.random() < 0.3:
            self.steps.append((piece, "packed", str(NOW.date()), ""))
        form, clay = _form_of(run), 1 + run % 6
        self.rows.append(
            (
                *(piece, run, form, clay, stage, str(made.date()), lost_at, why),
                *(line, run if sent else None),
            )
        )


def _form_of(run: int) -> int:
    return 20 + run % len(FORMS)
