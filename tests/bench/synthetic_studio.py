"""A synthetic studio of any size, written straight to the tables; its facts are derived as ever.

Proportions, a hundred pieces: 5 firings with a curve of 800 readings each, 240 coats on one or two
zones, 300 photos, 80 inspected pieces. Glazes are chosen as potters choose them: a few often, most
rarely. Nothing goes to the history, which grows with what was changed and not with what there is.
"""

import hashlib
import inspect
import random
import secrets
import shutil
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np

from studiolog.craft.words import FAULTS
from studiolog.journal.facts import rebuild_facts
from studiolog.journal.opening import FILE, Journal, open_journal
from studiolog.records import Record
from studiolog.transfer.curve_blob import pack_readings

GLAZES, CLAYS, LEVELS = 30, 6, 3
READINGS = 800
CONES = ("04", "5", "5", "6", "6", "6", "6", "7", "9", "10")
_STARTS = datetime(2006, 1, 2, 8)
_HOUSE = Path(__file__).resolve().parents[2]


def firings_of(pieces: int) -> int:
    """How many firings a studio of so many pieces logged."""
    return max(4, pieces // 20)


def build(
    folder: Path, pieces: int, seed: int = 1, writer: "type[StudioWriter] | None" = None
) -> Journal:
    """A journal of ``pieces`` pieces in ``folder``; the one already there if it is of today's make.

    The mark beside it names the code that wrote it: once records or facts change, it is built anew.
    ``writer`` writes another studio than this one's.
    """
    writer = writer or StudioWriter
    mark = folder.with_suffix(".made")
    made = _made_by(pieces, seed, writer)
    if (folder / FILE).is_file() and mark.is_file() and mark.read_text() == made:
        return open_journal(folder)
    mark.unlink(missing_ok=True)
    shutil.rmtree(folder, ignore_errors=True)
    journal = open_journal(folder)
    with journal.engine.begin() as connection:
        driver = connection.connection.driver_connection
        if not isinstance(driver, sqlite3.Connection):
            raise TypeError("a synthetic studio is a SQLite file")
        writer(driver, random.Random(seed), pieces).write()
        rebuild_facts(connection)
        connection.exec_driver_sql("ANALYZE")
    with journal.engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("VACUUM")
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.exec_driver_sql("BEGIN")
    mark.write_text(made)
    return journal


def _made_by(pieces: int, seed: int, writer: "type[StudioWriter]") -> str:
    said = hashlib.sha256(f"{pieces} {seed}".encode())
    sources = [Path(__file__), Path(inspect.getfile(writer))]
    sources += [_HOUSE / f"studiolog/journal/{name}.py" for name in ("facts", "curve_fact")]
    sources += sorted((_HOUSE / "studiolog/records").rglob("*.py"))
    sources += [_HOUSE / f"studiolog/{name}.py" for name in ("journal/level_heat", "craft/words")]
    sources.append(_HOUSE / "studiolog/transfer/curve_blob.py")
    for source in sources:
        said.update(source.read_bytes())
    return said.hexdigest()


class StudioWriter:
    """Writes the records of one studio, table by table, from one stream of chance."""

    def __init__(self, driver: sqlite3.Connection, chance: random.Random, pieces: int) -> None:
        self.driver = driver
        self.chance = chance
        self.pieces = pieces
        self.firings = firings_of(pieces)
        self.favour = [1 / (1 + place) ** 0.8 for place in range(GLAZES)]

    def write(self) -> None:
        self._shelf()
        self._firings()
        self._pieces()
        self._coats()
        self._inspections()
        self._photos()

    def put(self, name: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        """Insert rows with the defaults of their record and a version each, a batch at a time."""
        table = Record.metadata.tables[name]
        given = {
            column.name: column.default.arg
            for column in table.columns
            if column.name not in columns
            and column.default is not None
            and column.default.is_scalar
            and column.default.arg is not None
        }
        named = [*columns, *given, "version"]
        held = ", ".join("?" * len(columns) + "?" * len(given) + "?")
        text = f"INSERT INTO {name} ({', '.join(named)}) VALUES ({held})"
        defaults = tuple(given.values())
        left = iter(rows)
        while batch := [(*row, *defaults, secrets.randbits(53)) for row in islice(left, 20_000)]:
            self.driver.executemany(text, batch)

    def _shelf(self) -> None:
        self.put("clay", ("id", "name"), ((n, f"Clay {n}") for n in range(1, CLAYS + 1)))
        self.put(
            "glaze",
            ("id", "name", "pattern"),
            ((n, f"Glaze {n}", n % 8) for n in range(1, GLAZES + 1)),
        )
        self.put("form", ("id", "name"), ((n, f"Form {n}") for n in range(1, 9)))
        self.put("kiln", ("id", "name"), [(1, "Big kiln"), (2, "Test kiln")])
        levels = [(n, 1 + n // (LEVELS + 1), n, f"level {n}") for n in range(1, 2 * LEVELS + 1)]
        self.put("kiln_level", ("id", "kiln_id", "position", "name"), levels)

    def _firings(self) -> None:
        cones = [self.chance.choice(CONES) for _ in range(self.firings)]
        self.put(
            "firing",
            ("id", "number", "kiln_id", "started_at", "cone", "kind"),
            (
                (n, n, 1 + (n % 4 == 0), at(n), cones[n - 1], "glaze")
                for n in range(1, self.firings + 1)
            ),
        )
        self.put(
            "curve",
            (
                *("id", "firing_id", "channel", "packed", "readings", "duration_s"),
                *("peak_c", "cone", "cone_low", "cone_high"),
            ),
            self._curves(),
        )

    def _curves(self) -> Iterator[tuple[Any, ...]]:
        """Heating to the peak, an hour's hold, cooling; a sensor's noise of half a degree."""
        noise = np.random.default_rng(self.chance.randrange(2**32))
        at_s = 60.0 * np.arange(READINGS)
        for n in range(1, self.firings + 1):
            cone = self.chance.gauss(6.0, 1.2)
            peak_c = 1110 + 19 * cone
            shape = np.interp(
                at_s, [0, 24_000, 27_600, at_s[-1]], [20, peak_c, peak_c + 5, 90 + peak_c / 20]
            )
            curve_c = np.round(shape + noise.normal(0, 0.5, READINGS), 1)
            packed = pack_readings(at_s, curve_c)
            peak = float(curve_c.max())
            yield n, n, "kiln", packed, READINGS, at_s[-1], peak, cone, cone - 0.3, cone + 0.3

    def _pieces(self) -> None:
        chance = self.chance
        self.put(
            "piece",
            ("id", "number", "clay_id", "form_id", "stage", "made_on"),
            (
                (n, n, chance.randint(1, CLAYS), chance.randint(1, 8), "fired", _day(n))
                for n in range(1, self.pieces + 1)
            ),
        )
        self.put(
            "placement",
            ("piece_id", "firing_id", "level_id"),
            ((n, *self._place(n)) for n in range(1, self.pieces + 1)),
        )

    def _place(self, piece: int) -> tuple[int, int]:
        """Twenty pieces a firing, in the order they were made."""
        firing = min(self.firings, 1 + (piece - 1) // 20)
        level = self.chance.randint(1, LEVELS)
        return firing, level + (LEVELS if firing % 4 == 0 else 0)

    def _coats(self) -> None:
        self.put(
            "layer", ("piece_id", "zone", "position", "glaze_id", "method"), self._every_coat()
        )

    def _every_coat(self) -> Iterator[tuple[Any, ...]]:
        chance, glazes = self.chance, range(1, GLAZES + 1)
        for n in range(1, self.pieces + 1):
            coats = chance.choices(glazes, self.favour, k=chance.choice((1, 2, 2, 2, 3)))
            for position, glaze in enumerate(coats, 1):
                yield n, "outside", position, glaze, chance.choice(("dip", "brush", "pour"))
            if chance.random() < 0.4:
                yield n, "inside", 1, chance.choices(glazes, self.favour)[0], "pour"

    def _inspections(self) -> None:
        """Four of five pieces are inspected, for two faults; three in ten readings see one."""
        inspected = [n for n in range(1, self.pieces + 1) if self.chance.random() < 0.8]
        self.put(
            "inspection", ("id", "piece_id", "looked_on"), ((n, n, _day(n)) for n in inspected)
        )
        self.put(
            "fault_reading",
            ("inspection_id", "fault", "severity", "zone"),
            (row for n in inspected for row in self._look(n)),
        )

    def _look(self, inspection: int) -> Iterator[tuple[Any, ...]]:
        chance = self.chance
        looked = ["crazing", chance.choice(list(FAULTS)[1:])]
        for fault in looked:
            severity = chance.choices((0, 1, 2, 3), (62, 20, 12, 6))[0]
            zone = chance.choices(("", "outside", "inside"), (8, 1, 1))[0]
            yield inspection, fault, severity, zone

    def _photos(self) -> None:
        moments = ("glazed", "fired", "later")
        count = 3 * self.pieces
        self.put(
            "photo",
            ("id", "sha256", "suffix", "name", "width", "height", "byte_count", "taken_at"),
            (
                (
                    *(n, self.chance.randbytes(32).hex(), ".jpg", f"IMG_{n % 10_000:04}.jpg"),
                    *(4000, 3000, self.chance.randint(2_000_000, 5_000_000), at(n // 60)),
                )
                for n in range(1, count + 1)
            ),
        )
        self.put(
            "picture",
            ("photo_id", "piece_id", "moment"),
            ((n, 1 + (n - 1) // 3, moments[n % 3]) for n in range(1, count + 1)),
        )


def at(day: int) -> str:
    return f"{_STARTS + timedelta(days=day):%Y-%m-%d %H:%M:%S.000000}"


def _day(piece: int) -> str:
    return f"{_STARTS + timedelta(days=piece // 20):%Y-%m-%d}"
