"""A over B, on one clay, in a range of cones, crazed: against a sheet, and against brute force."""

import random
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd
from openpyxl import Workbook
from PySide6.QtWidgets import QApplication
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.desktop import theme
from studiolog.journal.finding import read_hits, read_rows, select_hits
from studiolog.journal.opening import Journal
from studiolog.journal.question import Combination, ConeRange, Question
from studiolog.records import Record
from studiolog.ui.findings.piece_source import PieceSource
from studiolog.ui.findings.piece_table import PieceTable
from tests.bench.result import Result
from tests.bench.synthetic_studio import CLAYS, GLAZES
from tests.bench.timing import exponent, p95, seconds_of, settle

QUESTIONS = 200
_PAINTED = 60  # questions painted: a screen of rows is the same work for each
_FILTERED = 40
_CONES = ((55, 65), (45, 60), (60, 75))


@dataclass(frozen=True)
class Asked:
    """One question: glazes, clay and tenths of a cone."""

    over: int
    under: int
    clay: int
    low10: int
    high10: int

    def as_question(self) -> Question:
        return Question(
            fault="crazing",
            clay_id=self.clay,
            combination=Combination("over", self.over, self.under),
            cone=ConeRange(self.low10 / 10, self.high10 / 10),
        )


def make_questions(count: int = QUESTIONS, seed: int = 7) -> list[Asked]:
    """Different questions, the same ones for every size."""
    chance = random.Random(seed)
    asked: dict[Asked, None] = {}
    while len(asked) < count:
        over, under = chance.sample(range(1, GLAZES + 1), 2)
        asked[Asked(over, under, chance.randint(1, CLAYS), *chance.choice(_CONES))] = None
    return list(asked)


@dataclass(frozen=True)
class Zone:
    """A glazed zone read from the records, one after the other."""

    piece_id: int
    clay: int
    cone10: int | None
    glazes: tuple[int, ...]
    crazing: int | None


def read_zones(session: Session) -> Iterator[Zone]:
    """Every glazed zone from the normalised tables, without the facts of pieces."""
    tables = Record.metadata.tables
    laid: dict[int, dict[str, list[tuple[int, int]]]] = defaultdict(lambda: defaultdict(list))
    for row in session.execute(select(tables["layer"])):
        laid[row.piece_id][row.zone].append((row.position, row.glaze_id))
    looks: dict[int, list[tuple[str, int]]] = defaultdict(list)
    reading, inspection = tables["fault_reading"], tables["inspection"]
    for row in session.execute(
        select(inspection.c.piece_id, reading.c.severity, reading.c.zone)
        .join(inspection, inspection.c.id == reading.c.inspection_id)
        .where(reading.c.fault == "crazing")
    ):
        looks[row.piece_id].append((row.zone, row.severity))
    heat, placement = tables["level_heat"], tables["placement"]
    there = (heat.c.firing_id == placement.c.firing_id) & (heat.c.level_id == placement.c.level_id)
    cones = {
        row.piece_id: round(row.cone * 10)
        for row in session.execute(select(placement.c.piece_id, heat.c.cone).join(heat, there))
    }
    for row in session.execute(select(tables["piece"])):
        for zone, layers in laid[row.id].items():
            said = [severity for where, severity in looks[row.id] if where in ("", zone)]
            yield Zone(
                row.id,
                row.clay_id,
                cones.get(row.id),
                tuple(glaze for _, glaze in sorted(layers)),
                max(said, default=None),
            )


def answer_by_hand(zones: Sequence[Zone], asked: Sequence[Asked]) -> list[set[int]]:
    """The crazed pieces of each question, zone by zone."""
    found: list[set[int]] = [set() for _ in asked]
    by_pair: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    for place, one in enumerate(asked):
        by_pair[one.over, one.under, one.clay].append(place)
    for zone in zones:
        if zone.cone10 is None or not zone.crazing:
            continue
        for under, over in zip(zone.glazes, zone.glazes[1:], strict=False):
            for place in by_pair.get((over, under, zone.clay), ()):
                if asked[place].low10 <= zone.cone10 <= asked[place].high10:
                    found[place].add(zone.piece_id)
    return found


def crazed(session: Session, asked: Asked) -> set[int]:
    """The program's answer."""
    return {hit.piece_id for hit in read_hits(session, asked.as_question()) if hit.seen}


# The sheet a potter has ----------------------------------------------------------------------

_HEADS = ("Piece", "Clay", "Glazes", "Cone", "Crazing", "Fired")


def write_sheet(file: Path, zones: Sequence[Zone]) -> None:
    """The same studio as a workbook: a row a piece, its glazes from the outermost in words."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Pieces")
    sheet.append(_HEADS)
    for row in _sheet_rows(zones):
        sheet.append(row)
    book.save(file)


def _sheet_rows(zones: Sequence[Zone]) -> Iterator[list[Any]]:
    pieces: dict[int, list[Zone]] = defaultdict(list)
    for zone in zones:
        pieces[zone.piece_id].append(zone)
    for piece_id, laid in pieces.items():
        words = "; ".join(
            " over ".join(f"Glaze {glaze:02}" for glaze in reversed(zone.glazes)) for zone in laid
        )
        # Crazing of the zone that has more than one glaze: that is what the question is about.
        said = [zone.crazing for zone in laid if len(zone.glazes) > 1]
        seen = said[0] if said else laid[0].crazing
        cone = laid[0].cone10
        yield [
            *(piece_id, f"Clay {laid[0].clay}", words),
            *(None if cone is None else cone / 10, seen, f"Firing {1 + (piece_id - 1) // 20}"),
        ]


def frame_of(zones: Sequence[Zone]) -> pd.DataFrame:
    """The sheet as it is once loaded."""
    return pd.DataFrame(list(_sheet_rows(zones)), columns=list(_HEADS))


def filter_sheet(sheet: pd.DataFrame, asked: Asked) -> pd.DataFrame:
    """The question as it is put to a sheet."""
    return sheet[
        (sheet["Clay"] == f"Clay {asked.clay}")
        & sheet["Glazes"].str.contains(
            f"Glaze {asked.over:02} over Glaze {asked.under:02}", regex=False
        )
        & sheet["Cone"].between(asked.low10 / 10, asked.high10 / 10)
        & (sheet["Crazing"] > 0)
    ]


# Measured ------------------------------------------------------------------------------------


def measure_questions(
    journals: Sequence[tuple[int, Journal]], folder: Path, rounds: int
) -> tuple[list[Result], int]:
    """The ratios at the largest size, the growth to it, and how many answers disagree."""
    asked = make_questions()
    wrong = 0
    medians: list[tuple[int, float]] = []
    results: list[Result] = []
    for size, journal in journals:
        with Session(journal.engine) as session:
            zones = list(read_zones(session))
            by_hand = answer_by_hand(zones, asked)
            found = [crazed(session, one) for one in asked]
            settle()
            wrong += sum(one != other for one, other in zip(found, by_hand, strict=True))
            texts = [_sql(session, one) for one in asked]
            times: list[float] = []
            whole: list[float] = []
            for _ in range(rounds):
                for one, text in zip(asked, texts, strict=True):
                    times.append(seconds_of(lambda s=session, t=text: _run(s, t)))
                    whole.append(
                        seconds_of(lambda s=session, one=one: read_hits(s, one.as_question()))
                    )
            medians.append((size, sorted(times)[len(times) // 2]))
            if (size, journal) == journals[-1]:
                sheet = frame_of(zones)
                filtered = [
                    (one, seconds_of(lambda one=one, sheet=sheet: filter_sheet(sheet, one)))
                    for one in asked[:_FILTERED]
                ]
                wrong += sum(
                    set(filter_sheet(sheet, one)["Piece"]) != by_hand[place]
                    for place, (one, _) in enumerate(filtered)
                )
                answers = sum(map(len, by_hand))
                results.append(
                    Result(
                        "A over B, clay, cone range, crazed: p95",
                        p95(times) / p95([seconds for _, seconds in filtered]),
                        "≤ 0.01",
                        "a pandas filter of the loaded sheet, p95",
                        rounds * len(asked),
                        f"its SQL alone; {answers} pieces answer {len(asked)} questions "
                        f"at {size} pieces",
                    )
                )
                results.append(
                    Result(
                        "the same, built, sent and read as the program does: p95",
                        p95(whole) / p95([seconds for _, seconds in filtered]),
                        "≤ 0.1",
                        "the same filter",
                        rounds * len(asked),
                    )
                )
                results.append(_measure_painted(session, asked, zones, folder / f"{size}.xlsx"))
    if len(medians) > 1:
        results.append(
            Result(
                "A over B, clay, cone range, crazed: growth",
                exponent(*medians[-2:]),
                "≤ 0.3",
                "the pieces, as an exponent",
                rounds * len(asked),
                f"{wrong} of {len(asked) * len(journals)} answers differ from brute force",
            )
        )
    return results, wrong


def _sql(session: Session, asked: Asked) -> str:
    found = select_hits(asked.as_question())
    dialect = session.get_bind().dialect
    return str(found.compile(dialect=dialect, compile_kwargs={"literal_binds": True}))


def _run(session: Session, text: str) -> list[Any]:
    driver = session.connection().connection.driver_connection
    assert driver is not None
    return list(driver.execute(text))


def _measure_painted(
    session: Session, asked: Sequence[Asked], zones: Sequence[Zone], file: Path
) -> Result:
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    theme.current().apply(app)
    source = PieceSource(lambda ids: read_rows(session, ids))
    table = PieceTable(source)
    table.resize(1180, 720)
    table.show()

    def ask(one: Asked) -> None:
        source.show_hits(read_hits(session, one.as_question()))
        table.show_again()
        table.grab()

    ask(asked[0])
    settle()
    times = [seconds_of(lambda one=one: ask(one)) for one in asked[:_PAINTED]]
    table.close()
    if not file.exists():
        write_sheet(file, zones)

    def read_sheet() -> None:
        filter_sheet(pd.read_excel(file, engine="openpyxl"), asked[0])

    baseline_s = seconds_of(read_sheet)
    return Result(
        "the same, to painted rows: p95",
        p95(times) / baseline_s,
        "≤ 0.001",
        "the workbook read by openpyxl and pandas, and filtered",
        len(times),
        "the workbook once: it takes as long as all the rest",
    )
