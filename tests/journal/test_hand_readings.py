"""A potter watches the pyrometer of a bisque: six readings, one of them wrong, and the end."""

from datetime import datetime, timedelta

import pytest
from sqlalchemy import func, select

from studiolog.craft.firing.program import Segment
from studiolog.journal.firing_log import TYPED, keep_log_file, log_from_typed
from studiolog.journal.firing_page import read_firing_page
from studiolog.journal.firings import FiringDraft, change_firing, log_firing
from studiolog.journal.hand_readings import (
    Asked,
    add_reading,
    ask_program,
    change_watched_firing,
    end_firing,
    list_watched,
    read_hand_readings,
    runs_now,
    say_against,
    set_hand_readings,
    set_reminder,
)
from studiolog.journal.kilns import KilnDraft, add_kiln
from studiolog.journal.opening import Journal
from studiolog.journal.programs import SegmentDraft
from studiolog.journal.reading_words import (
    HandReading,
    join_notes,
    notes_of,
    read_heat,
    read_lines,
    read_moment,
    write_lines,
)
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.records.firings import Curve, LogFile

START = datetime(2026, 11, 20, 8, 0)
CANDLING = (SegmentDraft(60, 80, 120), SegmentDraft(100, 600), SegmentDraft(150, 1060, 15))


def at(clock: str) -> datetime:
    hour, minute = clock.split(":")
    return START.replace(hour=int(hour), minute=int(minute))


def light(session: Session, started_at: datetime = START) -> int:
    kiln = add_kiln(session, KilnDraft(name=f"Big kiln, {started_at:%d %H}"))
    draft = FiringDraft(kiln_id=kiln, started_at=started_at, kind="bisque", segments=CANDLING)
    return log_firing(session, draft)


@pytest.fixture
def firing(journal: Journal) -> int:
    return journal.edit("Log firing 1", light).value


def type_in(journal: Journal, firing: int, clock: str, heat_c: float, note: str = "") -> None:
    journal.edit(
        f"Reading at {clock}", lambda session: add_reading(session, firing, at(clock), heat_c, note)
    )


def refusal(journal: Journal, firing: int, clock: str, heat_c: float) -> str:
    with pytest.raises(UserProblem) as caught:
        type_in(journal, firing, clock, heat_c)
    return caught.value.sentence


def test_six_readings_of_a_bisque_one_corrected(journal: Journal, firing: int) -> None:
    typed = (
        ("8:00", 18, ""), ("9:00", 80, "lid on a bung"), ("11:00", 82, "candled, lid shut"),
        ("13:00", 280, "both switches medium"), ("15:00", 84, ""), ("16:15", 600, ""),
    )  # fmt: skip
    for number, (clock, heat_c, note) in enumerate(typed, start=1):
        type_in(journal, firing, clock, heat_c, note)
        readings = journal.read(lambda session: read_hand_readings(session, firing))
        assert len(readings) == number
        # Each is on the page, the first one alone too.
        page = journal.read(lambda session: read_firing_page(session, firing))
        assert page.main_curve is not None
        assert page.main_curve.temperature_c[-1] == heat_c
    assert readings[3] == HandReading(5 * 3600, 280, "both switches medium")

    # 84 was 480, read off the wrong line.
    lines = write_lines(readings, "C").replace("7:00 84", "7:00 480")
    corrected = read_lines(lines, START, "C")
    journal.edit("Type readings", lambda session: set_hand_readings(session, firing, corrected))
    journal.edit("End firing 1", lambda session: end_firing(session, firing, at("20:00")))
    page = journal.read(lambda session: read_firing_page(session, firing))
    assert page.main_curve is not None
    assert page.main_curve.temperature_c.tolist() == [18, 80, 82, 280, 480, 600]
    assert page.ended_at == at("20:00")
    assert journal.read(lambda session: read_hand_readings(session, firing)) == tuple(corrected)

    for left in (6, 6, 5):  # the end, the correction, the last reading
        journal.undo()
        readings = journal.read(lambda session: read_hand_readings(session, firing))
        assert len(readings) == left
    assert readings[-1].temperature_c == 84
    journal.redo()
    assert len(journal.read(lambda session: read_hand_readings(session, firing))) == 6


def test_what_cannot_be_is_refused_and_nothing_is_kept(journal: Journal, firing: int) -> None:
    type_in(journal, firing, "9:00", 80)
    assert refusal(journal, firing, "9:00", 81) == (
        "There is a reading at 09:00 already: correct it with “All readings”."
    )
    assert refusal(journal, firing, "8:30", 50) == (
        "08:30 is before the last reading, 80\u202f°C at 09:00: put it in between with "
        "“All readings”."
    )
    assert "07:30 is before firing 1 started, at 08:00" in refusal(journal, firing, "7:30", 20)
    journal.edit("End", lambda session: end_firing(session, firing, at("19:00")))
    assert "Firing 1 ended at 19:00" in refusal(journal, firing, "19:30", 300)
    assert len(journal.read(lambda session: read_hand_readings(session, firing))) == 1


def test_the_end_comes_after_the_last_reading(journal: Journal, firing: int) -> None:
    type_in(journal, firing, "18:00", 1060)
    with pytest.raises(UserProblem, match="last reading is from 18:00, after 17:00"):
        journal.edit("End", lambda session: end_firing(session, firing, at("17:00")))


def test_no_cone_is_told_while_it_still_climbs(journal: Journal, firing: int) -> None:
    def cone() -> float | None:
        return journal.read(
            lambda session: session.scalar(select(Curve.cone).where(Curve.firing_id == firing))
        )

    type_in(journal, firing, "8:00", 20)
    type_in(journal, firing, "12:00", 600)
    type_in(journal, firing, "16:00", 1060)
    assert cone() is None
    # However the end is given, what was read tells its cone then; undo takes that back too.
    for end in (
        lambda session: end_firing(session, firing, at("16:30")),
        lambda session: change_watched_firing(session, firing, ended_at=at("16:30")),
    ):
        journal.edit("End", end)
        told = cone()
        assert told is not None
        # 115 °C/h to 1060 °C: between cones 06 and 03 (the chart of self-supporting cones).
        assert -5 < told < -2
        journal.undo()
        assert cone() is None
    # Or it has cooled well past its peak.
    type_in(journal, firing, "19:00", 800)
    assert cone() is not None


def test_a_log_from_a_file_is_not_written_over(journal: Journal, firing: int) -> None:
    def keep(session: Session) -> None:
        log = log_from_typed([(0, 20), (3600, 120), (7200, 300)])
        curve = log.curves[0]
        from dataclasses import replace

        renamed = replace(log, name="kiln.csv", curves=(replace(curve, channel="kiln"),))
        keep_log_file(session, firing, renamed)

    journal.edit("Keep the log", keep)
    assert "Firing 1 has a log from a file" in refusal(journal, firing, "12:00", 400)
    readings = [HandReading(0, 20), HandReading(3600, 90)]
    journal.edit(
        "Type", lambda session: set_hand_readings(session, firing, readings, replace_log=True)
    )
    page = journal.read(lambda session: read_firing_page(session, firing))
    assert [curve.channel for curve in page.curves] == [TYPED]


def test_two_firings_may_begin_with_the_same_reading(journal: Journal, firing: int) -> None:
    later = START + timedelta(days=1)
    other = journal.edit("Log firing 2", lambda session: light(session, later)).value
    for ident, begun in ((firing, START), (other, later)):
        for minutes, heat_c in ((0, 20.0), (60, 80.0)):
            moment = begun + timedelta(minutes=minutes)
            journal.edit(
                "Read",
                lambda session, i=ident, m=moment, c=heat_c: add_reading(session, i, m, c),
            )
        assert len(journal.read(lambda session, i=ident: read_hand_readings(session, i))) == 2
    # What is typed needs no file of its own.
    assert journal.read(lambda session: session.scalar(select(func.count(LogFile.id)))) == 0


def test_only_what_runs_and_asks_to_be_read_is_watched(journal: Journal, firing: int) -> None:
    def watched(now: datetime) -> list[tuple[int, datetime]]:
        found = journal.read(lambda session: list_watched(session, now))
        return [(one.number, one.due_at) for one in found]

    assert watched(at("9:00")) == []
    journal.edit("Remind", lambda session: set_reminder(session, firing, 30))
    assert watched(at("9:00")) == [(1, at("8:30"))]
    assert watched(at("7:59")) == []
    type_in(journal, firing, "9:10", 80)
    assert watched(at("9:10")) == [(1, at("9:40"))]
    # Nobody ended it: over, some days after the last sign of life.
    assert watched(START + timedelta(days=4)) != []
    assert watched(START + timedelta(days=5)) == []
    journal.edit("End", lambda session: end_firing(session, firing, at("19:00")))
    assert watched(at("19:30")) == []
    for wrong in (0, -5, 2000):
        with pytest.raises(UserProblem, match="every 1 to 1440 minutes"):
            journal.edit("Remind", lambda session, w=wrong: set_reminder(session, firing, w))
    journal.edit("No more", lambda session: set_reminder(session, firing, None))
    journal.edit("Go on", lambda session: change_firing(session, firing, ended_at=None))
    assert watched(at("19:30")) == []


def test_a_firing_runs_from_its_start_until_it_is_ended_or_logged() -> None:
    assert runs_now(START, None, [], None, START)
    assert runs_now(START, None, [TYPED], 3600, START)
    assert not runs_now(START, None, [], None, START - timedelta(minutes=1))
    assert not runs_now(START, at("9:00"), [], None, at("10:00"))
    assert not runs_now(START, None, [TYPED, "kiln"], None, at("10:00"))


def test_a_reading_is_told_against_the_program() -> None:
    steps = [Segment(100, 120), Segment(None, 20)]
    asked = ask_program(steps, START, at("8:30"))
    assert asked == Asked(70.0, falls=False)
    assert say_against(58, asked, "C") == "12\u202f°C behind the program"
    assert say_against(75, asked, "F") == "9\u202f°F ahead of the program"
    assert say_against(70.2, asked, "C") == "with the program"
    cooling = ask_program(steps, START, at("9:30"))
    assert cooling is not None
    assert say_against(cooling.temperature_c + 10, cooling, "C") == "10\u202f°C above the program"
    assert ask_program(steps, START, START + timedelta(days=3)) is None
    assert ask_program([], START, at("9:00")) is None
    assert say_against(70, None, "C") == ""


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("", "14:37"), ("now", "14:37"), ("14:20", "14:20"), ("9.05", "9:05"), ("@14:20", "14:20"),
        ("-5 min", "14:32"), ("−5", "14:32"), ("5 min ago", "14:32"), ("-1:10", "13:27"),
        ("1 h ago", "13:37"),
    ],
)  # fmt: skip
def test_when_it_was_read_is_typed_as_it_is_said(typed: str, meant: str) -> None:
    now = at("14:37") + timedelta(seconds=41)
    assert read_moment(typed, now, START) == at(meant)


def test_a_moment_that_cannot_be_is_told() -> None:
    now = at("14:37")
    for typed, said in (
        ("16:00", "16:00 is still to come: it is 14:37 now"),
        ("7:30", "7:30 is before the firing started, at 08:00"),
        ("-9 h", "before the firing started"),
        ("25:00", "is not a time: write it like 14:20"),
        ("soon", "“soon” is not a time"),
        ("-x", "“-x” is not a time"),
    ):
        with pytest.raises(UserProblem, match=said):
            read_moment(typed, now, START)
    # Past midnight, the evening before is meant.
    night = at("0:30") + timedelta(days=1)
    assert read_moment("23:50", night, START) == at("23:50")
    # Lit within this very minute.
    lit = at("14:37") + timedelta(seconds=20)
    assert read_moment("now", lit + timedelta(seconds=5), lit) == lit
    assert read_moment("14:37", lit + timedelta(seconds=5), lit) == lit


def test_a_heat_that_cannot_be_is_told() -> None:
    assert read_heat("820", "C") == 820
    assert read_heat("1508 F", "C") == pytest.approx(820)
    with pytest.raises(UserProblem, match="“82o” is not a temperature"):
        read_heat("82o", "C")
    with pytest.raises(UserProblem, match=r"1460\s°C is no kiln's temperature.*other unit"):
        read_heat("1460", "C")
    with pytest.raises(UserProblem, match="2700\u202f°F is no kiln's temperature"):
        read_heat("2700", "F")


def test_lines_are_read_back_as_they_are_written() -> None:
    readings = (
        HandReading(0, 18), HandReading(5430, 420, "switch 2 high"), HandReading(9000, 1060.5),
    )  # fmt: skip
    for unit in ("C", "F"):
        again = read_lines(write_lines(readings, unit), START, unit)
        assert [(one.at_s, one.note) for one in again] == [(one.at_s, one.note) for one in readings]
        for one, other in zip(again, readings, strict=True):
            assert one.temperature_c == pytest.approx(other.temperature_c, abs=0.06)
    pairs = [(one.at_s, one.temperature_c) for one in readings]
    assert join_notes(pairs, ["Typed by hand.", *notes_of(readings).split("\n")]) == readings
    with pytest.raises(UserProblem, match="Line 2 is not a reading: “2:00 82o”"):
        read_lines("1:00 80\n2:00 82o", START, "C")
    with pytest.raises(UserProblem, match="Line 1: The note has 200 letters; 120 at most"):
        read_lines("1:00 80 " + "x" * 200, START, "C")
