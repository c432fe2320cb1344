"""Logs that come in by the folder: each kept once, described at leisure, and all of it undone."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from studiolog.journal.firing_list import list_firings
from studiolog.journal.firing_log import find_log, log_from_reading
from studiolog.journal.firing_page import read_firing_page
from studiolog.journal.firings import FiringDraft, LogDraft, log_firing
from studiolog.journal.kilns import KilnDraft, add_kiln
from studiolog.journal.log_intake import IncomingLog, incoming_log, read_incoming
from studiolog.journal.opening import Journal
from studiolog.journal.programs import ProgramDraft, SegmentDraft, add_program
from studiolog.journal.session import Session
from studiolog.journal.waiting import (
    Kept,
    bring_back_waiting,
    count_waiting,
    delete_waiting,
    describe_together,
    describe_waiting,
    give_to_firing,
    keep_waiting,
    list_waiting,
    read_waiting,
    set_aside_waiting,
)
from studiolog.journal.waiting_guess import (
    find_empty_firings,
    find_firing_gone_on,
    guess_programs,
)
from studiolog.problems import UserProblem
from studiolog.transfer.temperature_log import read_temperature_log

NOW = datetime(2026, 10, 5, 9, 0)
LOGS = Path(__file__).parents[1] / "transfer" / "logs"


def csv_of(start: datetime, rows: int = 120, peak: float = 1222.0, separator: str = ",") -> bytes:
    """A log every five minutes up to a peak and a little down again."""
    up = int(rows * 0.9)
    lines = [f"time{separator}temp (°C)"]
    for at in range(rows):
        heat = 20 + (peak - 20) * min(1.0, at / up) - max(0, at - up) * 8
        moment = start + timedelta(minutes=5 * at)
        lines.append(f"{moment:%Y-%m-%d %H:%M:%S}{separator}{heat:.1f}")
    return "\n".join([*lines, ""]).encode()


def come_in(name: str, content: bytes) -> IncomingLog:
    return incoming_log(read_temperature_log(content, name), content, came_from="/logs")


def keep(journal: Journal, *logs: IncomingLog) -> tuple[Kept, ...]:
    return journal.edit("Take in logs", lambda s: keep_waiting(s, logs, NOW)).value


def log_of(journal: Journal, waiting_id: int) -> LogDraft:
    page = journal.read(lambda s: read_waiting(s, waiting_id))
    return log_from_reading(read_temperature_log(page.content, page.line.name), page.content)


@pytest.fixture
def kiln(journal: Journal) -> int:
    def enter(session: Session) -> int:
        for name, rate in (("Glaze 6", 130.0), ("Bisque", 130.0), ("Glaze 6 slow", 60.0)):
            top = 1000.0 if name == "Bisque" else 1222.0
            add_program(
                session, ProgramDraft(name=name, cone="6", segments=(SegmentDraft(rate, top),))
            )
        return add_kiln(session, KilnDraft(name="Big kiln"))

    return journal.edit("Set up", enter).value


def firings(journal: Journal) -> Sequence[int]:
    from sqlalchemy import select

    from studiolog.records.firings import Firing

    return journal.read(
        lambda s: list(s.scalars(select(Firing.number).order_by(Firing.started_at)))
    )


def test_the_same_file_and_the_same_curve_come_in_once(journal: Journal, kiln: int) -> None:
    start = datetime(2026, 9, 1, 8)
    first = come_in("one.csv", csv_of(start))
    again = come_in("copy of one.csv", csv_of(start))
    otherwise = come_in("one, by semicolons.csv", csv_of(start, separator=";"))
    undated = come_in("15.csv", (LOGS / "curve_R02.csv").read_bytes())
    kept = keep(journal, first, again, otherwise, undated)
    assert [one.outcome for one in kept] == ["waits", "here", "same", "asks"]
    assert "one.csv" in kept[2].words
    assert kept[3].words.startswith("Open: The file names no date")
    assert journal.read(count_waiting) == (2, 0)

    # Described, it is a firing's log: the file and the curve are known again as that.
    waiting_id = kept[0].waiting_id
    assert waiting_id is not None
    draft = FiringDraft(kiln_id=kiln, started_at=start, log=log_of(journal, waiting_id))
    journal.edit("Describe", lambda s: describe_waiting(s, waiting_id, draft))
    assert journal.read(lambda s: find_log(s, first.sha256)) == 1
    kept = keep(journal, first, otherwise)
    assert [(one.outcome, one.firing) for one in kept] == [("here", 1), ("same", 1)]
    journal.undo()  # nothing was kept by that: the newest edit is the description
    assert journal.read(count_waiting) == (2, 0)
    assert firings(journal) == []


def test_a_log_that_grew_takes_the_place_of_its_earlier_state(journal: Journal) -> None:
    start = datetime(2026, 9, 1, 8)
    whole = csv_of(start, rows=120)
    lines = whole.splitlines(keepends=True)
    first, later = b"".join(lines[:40]), b"".join(lines[:90])
    (early,) = keep(journal, come_in("kiln.csv", first))
    (grown,) = keep(journal, come_in("kiln.csv", later))
    (other,) = keep(journal, come_in("kiln2.csv", csv_of(start, rows=120, peak=1060.0)))
    assert (grown.outcome, grown.waiting_id) == ("grown", early.waiting_id)
    assert "50 readings" in grown.words
    assert other.outcome == "waits"
    assert {line.readings for line in journal.read(list_waiting)} == {89, 120}
    # An old copy of it is no second firing either.
    (old,) = keep(journal, come_in("backup of kiln.csv", first))
    assert (old.outcome, old.waiting_id) == ("same", early.waiting_id)
    journal.undo()
    journal.undo()
    (line,) = journal.read(list_waiting)
    assert line.readings == 39
    assert journal.read(lambda s: read_waiting(s, line.waiting_id)).content == first


def test_many_are_described_together_in_the_order_of_their_starts(
    journal: Journal, kiln: int
) -> None:
    days = [datetime(2026, 9, day, 8) for day in (20, 3, 11)]
    kept = keep(journal, *(come_in(f"{at}.csv", csv_of(day)) for at, day in enumerate(days)))
    drafts = []
    for one, day in zip(kept, days, strict=True):
        assert one.waiting_id is not None
        log = log_of(journal, one.waiting_id)
        drafts.append(
            (one.waiting_id, FiringDraft(kiln_id=kiln, started_at=day, program_id=1, log=log))
        )
    journal.edit("Describe 3 logs", lambda s: describe_together(s, drafts))
    assert firings(journal) == [1, 2, 3]
    assert journal.read(count_waiting) == (0, 0)
    journal.undo()
    assert firings(journal) == []
    assert journal.read(count_waiting) == (3, 0)
    page = journal.read(lambda s: read_waiting(s, drafts[0][0]))
    assert page.content == csv_of(days[0])


def test_a_log_goes_to_the_firing_that_had_none(journal: Journal, kiln: int) -> None:
    start = datetime(2026, 9, 1, 8)
    firing_id = journal.edit(
        "Log", lambda s: log_firing(s, FiringDraft(kiln_id=kiln, started_at=start))
    ).value
    (kept,) = keep(journal, come_in("late.csv", csv_of(start + timedelta(hours=2))))
    assert kept.waiting_id is not None
    waiting_id = kept.waiting_id
    later = start + timedelta(hours=2)
    (near,) = journal.read(lambda s: find_empty_firings(s, later))
    assert (near.firing_id, near.kiln) == (firing_id, "Big kiln")
    assert journal.read(lambda s: find_empty_firings(s, later, kiln + 1)) == ()
    assert journal.read(lambda s: find_empty_firings(s, start + timedelta(days=2))) == ()
    log = log_of(journal, waiting_id)
    journal.edit("Put", lambda s: give_to_firing(s, waiting_id, firing_id, log))
    assert journal.read(count_waiting) == (0, 0)
    assert journal.read(lambda s: find_empty_firings(s, later)) == ()
    with pytest.raises(UserProblem, match="no longer"):
        journal.edit("Put", lambda s: give_to_firing(s, waiting_id, firing_id, log))


def test_a_log_that_went_on_after_it_was_described_finds_its_firing(
    journal: Journal, kiln: int
) -> None:
    start = datetime(2026, 9, 1, 8)
    whole = csv_of(start)
    early = b"".join(whole.splitlines(keepends=True)[:60])
    reading = read_temperature_log(early, "kiln.csv")
    draft = FiringDraft(kiln_id=kiln, started_at=start, log=log_from_reading(reading, early))
    firing_id = journal.edit("Log", lambda s: log_firing(s, draft)).value
    (kept,) = keep(journal, come_in("kiln.csv", whole))
    waiting_id = int(kept.waiting_id or 0)
    page = journal.read(lambda s: read_waiting(s, waiting_id))
    found = journal.read(
        lambda s: find_firing_gone_on(s, page.elapsed_s, page.temperature_c, start)
    )
    assert found is not None
    assert (found.firing_id, found.goes_on) == (firing_id, True)
    log = log_of(journal, waiting_id)
    journal.edit("Put", lambda s: give_to_firing(s, waiting_id, firing_id, log))
    assert journal.read(lambda s: find_log(s, log.sha256)) == 1
    other = [value + 5 for value in page.temperature_c]
    assert journal.read(lambda s: find_firing_gone_on(s, page.elapsed_s, other, start)) is None


@pytest.mark.parametrize(("started", "ended"), [(1, None), (2199, None), (2026, 2206)])
def test_a_year_no_kiln_knew_is_asked_back(
    journal: Journal, kiln: int, started: int, ended: int | None
) -> None:
    end = datetime(ended, 1, 2) if ended else None
    draft = FiringDraft(kiln_id=kiln, started_at=datetime(started, 1, 1), ended_at=end)
    with pytest.raises(UserProblem, match=r"can't be meant: it lies between 1900 and 2100"):
        journal.edit("Log", lambda s: log_firing(s, draft))


def test_a_night_of_drying_came_to_no_cone(journal: Journal, kiln: int) -> None:
    start = datetime(2026, 9, 1, 20)
    (kept,) = keep(journal, come_in("drying.csv", csv_of(start, peak=110.0)))
    (line,) = journal.read(list_waiting)
    assert (line.cone, line.interval) == ("below 022", "below 022")
    waiting_id = int(kept.waiting_id or 0)
    draft = FiringDraft(kiln_id=kiln, started_at=start, log=log_of(journal, waiting_id))
    firing = journal.edit("Describe", lambda s: describe_waiting(s, waiting_id, draft)).value
    page = journal.read(lambda s: read_firing_page(s, firing))
    told = {(level.heat.label, level.heat.interval_label) for level in page.levels if level.heat}
    assert told == {("below 022", "below 022")}
    (row,) = journal.read(list_firings).rows
    assert (row.computed, row.computed_interval) == ("below 022", "below 022")


def test_what_is_set_aside_asks_no_more_and_is_known_again(journal: Journal) -> None:
    log = come_in("drying.csv", csv_of(datetime(2026, 9, 1, 8), peak=110.0))
    (kept,) = keep(journal, log)
    ids = [int(kept.waiting_id or 0)]
    journal.edit("Set aside", lambda s: set_aside_waiting(s, ids))
    assert journal.read(count_waiting) == (0, 1)
    (again,) = keep(journal, log)
    assert again.words == "This very file was set aside."
    journal.edit("Bring back", lambda s: bring_back_waiting(s, ids))
    journal.edit("Delete", lambda s: delete_waiting(s, ids))
    assert journal.read(count_waiting) == (0, 0)
    journal.undo()
    assert journal.read(lambda s: read_waiting(s, ids[0])).sha256 == log.sha256


def test_a_program_is_proposed_with_what_speaks_for_it(journal: Journal, kiln: int) -> None:
    up_s = np.array([0.0, 9.2 * 3600, 9.5 * 3600])
    seconds = np.arange(0.0, up_s[-1], 300.0)
    celsius = np.interp(seconds, up_s, [20.0, 1220.0, 1150.0])
    guesses = journal.read(lambda s: guess_programs(s, seconds, celsius))
    assert [guess.name for guess in guesses] == ["Glaze 6"]
    assert "Peak 1216 °C, planned 1222 °C" in guesses[0].evidence().replace("\u202f", " ")
    assert "2228 °F" not in guesses[0].evidence("F")
    assert journal.read(lambda s: guess_programs(s, seconds, celsius / 2)) == ()


PHOTOS = b"name,taken,kB\n" + b"".join(
    b"IMG_%d.jpg,2026-09-01 08:%02d,%d\n" % (at, at, at * 7919 % 1400) for at in range(40)
)
ROOM = b"time,temp\n" + b"".join(b"%d,%.1f\n" % (at * 60, 20 + at % 3) for at in range(99))


@pytest.mark.parametrize(
    ("name", "content", "word"),
    [
        ("photos.csv", PHOTOS, "no firing"),
        ("room.csv", ROOM, "never passes"),
        ("one.csv", b"time,temp (C)\n2026-09-01 08:00,20\n", "one reading"),
        ("head.csv", b"time,temp\n", "no readings"),
        ("empty.csv", b"", "empty"),
        ("bowl.jpg", b"\xff\xd8\xff\xe0", "picture"),
    ],
)  # fmt: skip
def test_what_is_no_log_is_told_and_not_kept(
    tmp_path: Path, name: str, content: bytes, word: str
) -> None:
    (tmp_path / name).write_bytes(content)
    came = read_incoming(tmp_path / name)
    assert came.log is None
    assert word in came.problem
    assert read_incoming(tmp_path / "gone.csv").problem
