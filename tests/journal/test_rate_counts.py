"""Rates of a whole journal, counted in columns, against a count by hand over the records."""

import random
import shutil
from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import literal, select
from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import wilson, wilson_all
from studiolog.craft.words import FAULTS
from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.glazes import GlazeDraft, add_glaze
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.opening import Journal, open_journal
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece
from studiolog.journal.question import Question
from studiolog.journal.rate_counts import count_pair_rates, count_rates
from studiolog.journal.rates_report import read_rates
from studiolog.journal.tally import UNKNOWN, Field, Places, read_columns, seen_marks, tally
from studiolog.records.facts import NO_CLAY, piece_fact

CONES = ("04", "5", "6", None)
BANDS = {"04": -6, "5": 10, "6": 12, None: None}  # half cones: 04 is -3, 5 is 5, 6 is 6


def fill(session: Session, chance: random.Random) -> list[dict[str, Any]]:
    """Forty pieces made up by chance; gives what was said of each."""
    clays = [add_clay(session, ClayDraft(name=name)) for name in ("Buff", "Red")]
    glazes = [add_glaze(session, GlazeDraft(name=f"Glaze {n}")) for n in range(4)]
    add_kiln(session, KilnDraft(name="Big", levels=("Top",)))
    kiln = list_kilns(session)[0]
    firings = {
        cone: log_firing(
            session,
            FiringDraft(kiln_id=kiln.kiln_id, started_at=datetime(2026, 3, 1, 8), cone=cone),
        )
        for cone in CONES
    }
    said = []
    for _ in range(40):
        zones = {
            zone: [chance.choice(glazes) for _ in range(chance.randint(1, 3))]
            for zone in chance.sample(("outside", "inside"), chance.randint(0, 2))
        }
        faults = {
            (fault, zone): chance.randint(0, 3)
            for fault in chance.sample(("crazing", "running", "speck"), chance.randint(0, 3))
            for zone in chance.sample(("", "outside", "inside"), chance.randint(0, 2))
        }
        one = {
            "clay": chance.choice((None, *clays)),
            "cone": chance.choice(CONES),
            "zones": zones,
            "faults": faults,
        }
        one["id"] = log_piece(
            session,
            PieceDraft(
                clay_id=one["clay"],
                layers=tuple(
                    LayerDraft(zone=zone, glaze_id=glaze)
                    for zone, laid in zones.items()
                    for glaze in laid
                ),
                placements=(
                    PlacementDraft(
                        firing_id=firings[one["cone"]], level_id=kiln.levels[0].level_id
                    ),
                ),
                inspections=(
                    InspectionDraft(
                        looked_on=date(2026, 8, 1),
                        faults=tuple(
                            FaultDraft(fault, severity, zone)
                            for (fault, zone), severity in faults.items()
                        ),
                    ),
                )
                if faults
                else (),
            ),
        )
        said.append(one)
    return said


@pytest.fixture(scope="module", params=(1, 2, 3))
def journal(
    tmp_path_factory: pytest.TempPathFactory, _empty_journal: Path, request: pytest.FixtureRequest
) -> Iterator[tuple[Journal, list[Any]]]:
    """Filled once for all the tests here: they only read it."""
    folder = tmp_path_factory.mktemp("counted") / "journal"
    opened = open_journal(shutil.copytree(_empty_journal, folder))
    chance = random.Random(request.param)
    yield opened, opened.edit("Fill", lambda session: fill(session, chance)).value
    opened.close()


def worst(piece: dict[str, Any], fault: str, zone: str) -> int | None:
    """The worst said of a fault on a zone, or of the whole piece."""
    found = [
        severity
        for (about, where), severity in piece["faults"].items()
        if about == fault and where in ("", zone)
    ]
    return max(found, default=None)


@pytest.mark.parametrize("least", [1, 2, 3])
def test_rates_of_pairs_equal_a_count_by_hand(
    journal: tuple[Journal, list[Any]], least: int
) -> None:
    opened, pieces = journal
    wanted: dict[tuple[Any, ...], dict[int, int]] = defaultdict(dict)
    for piece in pieces:
        for zone, laid in piece["zones"].items():
            pairs = {(laid[0], 0), *zip(laid[1:], laid[:-1], strict=True)}
            for fault in FAULTS:
                severity = worst(piece, fault, zone)
                for over, under in pairs if severity is not None else ():
                    key = (over, under, piece["clay"], BANDS[piece["cone"]], fault)
                    before = wanted[key].get(piece["id"], 0)
                    wanted[key][piece["id"]] = max(before, severity or 0)
    asked = Question(severity=least)
    counts = opened.read(lambda session: count_pair_rates(session, asked))
    columns = (counts.over, counts.under, counts.clay, counts.band, counts.fault)
    lines = zip(
        *(column.tolist() for column in (*columns, counts.inspected, counts.seen)),
        *(edge.tolist() for edge in counts.intervals),
        strict=True,
    )
    assert {
        (
            over,
            under,
            None if clay == NO_CLAY else clay,
            None if band == UNKNOWN else band,
            list(FAULTS)[fault],
        ): (inspected, seen, (low, high))
        for over, under, clay, band, fault, inspected, seen, low, high in lines
    } == {
        key: (
            len(found),
            (seen := sum(severity >= least for severity in found.values())),
            wilson(seen, len(found)),
        )
        for key, found in wanted.items()
    }
    assert len(counts) == len(wanted)


def test_rates_name_the_pieces_they_count(journal: tuple[Journal, list[Any]]) -> None:
    opened, pieces = journal
    rows = opened.read(read_rates)
    assert len(rows) == len(opened.read(count_rates))
    assert all(row.inspected == len(set(row.pieces)) for row in rows)
    assert all((row.low, row.high) == wilson(row.seen, row.inspected) for row in rows)
    bare = [piece for piece in pieces if not piece["zones"]]
    looked = sum(len({fault for fault, _ in piece["faults"]}) for piece in bare)
    assert sum(row.inspected for row in rows if not row.layers) == looked


def test_a_word_with_an_odd_sign_in_it_is_one_word(tmp_path: Path) -> None:
    journal = open_journal(tmp_path / "journal")
    journal.edit("Log", lambda session: log_piece(session, PieceDraft()))
    words = Places()

    def ask(session: Session) -> list[Any]:
        field = Field(piece_fact.c.piece_id, 0, 99)
        return read_columns(
            session, select(piece_fact.c.piece_id), (field,), ((literal("rim\x1ffoot"), words),)
        )

    piece, place = journal.read(ask)
    assert (piece.tolist(), place.tolist()) == ([1], [0])
    assert words.words == ("rim foot",)
    journal.close()


WIDE = 1 << 40  # three such keys do not fit into one number


@given(
    st.lists(
        st.tuples(
            st.sampled_from((0, 1, WIDE)),
            st.sampled_from((-5, WIDE)),
            st.integers(0, 6),
            st.integers(0, 7),
            st.integers(0, 63),
        )
    )
)
def test_a_tally_equals_sets_of_pieces(rows: list[tuple[int, ...]]) -> None:
    """Faults one to three as bits; a piece met twice in a group counts once, with the worst."""
    columns = [np.array(column, np.int64) for column in zip(*rows, strict=True)]
    first, second, piece, looked, severities = columns or [np.zeros(0, np.int64)] * 5
    counted = tally((first, second), piece, looked, seen_marks(severities, 2))
    inspected: dict[tuple[int, int], set[int]] = defaultdict(set)
    seen: dict[tuple[int, int], set[int]] = defaultdict(set)
    there: dict[tuple[int, int], set[int]] = defaultdict(set)
    for one, other, who, mask, packed in rows:
        there[one, other].add(who)
        if mask >> 1 & 1:
            inspected[one, other].add(who)
        if packed >> 2 & 3 >= 2:
            seen[one, other].add(who)
    keys = sorted(there)
    assert list(zip(*(key.tolist() for key in counted.keys), strict=True)) == keys
    assert counted.pieces.tolist() == [len(there[key]) for key in keys]
    fault = list(FAULTS)[1]
    assert counted.inspected_for(fault).tolist() == [len(inspected[key]) for key in keys]
    assert counted.seen_on(fault).tolist() == [len(seen[key] & inspected[key]) for key in keys]


@given(st.lists(st.integers(0, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))))
def test_many_intervals_are_those_of_one(counts: list[tuple[int, int]]) -> None:
    lows, highs = wilson_all([seen for seen, _ in counts], [tried for _, tried in counts])
    assert list(zip(lows.tolist(), highs.tolist(), strict=True)) == [
        wilson(seen, tried) for seen, tried in counts
    ]


def test_more_events_than_trials_are_refused() -> None:
    with pytest.raises(ValueError, match="counted"):
        wilson_all([3], [2])
