"""The page of a firing tells what the log, the cones and the shelves say."""

import json
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from studiolog.craft.firing.bend import parse_bend
from studiolog.journal.firing_list import list_firings, propose_firing
from studiolog.journal.firing_load import put_in_load, read_numbers, take_out_of_load
from studiolog.journal.firing_log import find_log, keep_log_file, log_from_reading, log_from_typed
from studiolog.journal.firing_page import read_earlier_curves, read_firing_page
from studiolog.journal.firings import (
    ConeDraft,
    FiringDraft,
    PackDraft,
    change_firing,
    log_firing,
    set_pack,
)
from studiolog.journal.inspections import FaultDraft
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.programs import ProgramDraft, SegmentDraft, add_program
from studiolog.problems import UserProblem
from studiolog.transfer.temperature_log import read_temperature_log

LOGS = Path(__file__).parents[1] / "transfer" / "logs"
SEGMENTS = (
    SegmentDraft(100, 600),
    SegmentDraft(150, 1100),
    SegmentDraft(60, 1222, 10),
    SegmentDraft(None, 60),
)


def keep(studio, firing_id: int, name: str) -> object:
    content = (LOGS / name).read_bytes()
    reading = read_temperature_log(content, name)
    log = log_from_reading(reading, content)
    studio.journal.edit("Log", lambda s: keep_log_file(s, firing_id, log))
    return reading


def cones(*said: tuple[str, str]) -> tuple[ConeDraft, ...]:
    drafts = []
    for cone, words in said:
        bend = parse_bend(words)
        drafts.append(
            ConeDraft(
                cone=cone, bend_low_deg=bend.low_deg, bend_high_deg=bend.high_deg, said=bend.said
            )
        )
    return tuple(drafts)


def page_of(studio, firing_id: int | None = None):
    return studio.journal.read(lambda s: read_firing_page(s, firing_id or studio.firing))


def test_the_curve_on_the_page_is_the_one_in_the_file(studio) -> None:
    reading = keep(studio, studio.firing, "01_bom_semicolon_comma.csv")
    page = page_of(studio)
    curve = page.main_curve
    np.testing.assert_allclose(curve.temperature_c, reading.primary.temperature_c, atol=1e-9)
    np.testing.assert_allclose(curve.elapsed_s, reading.primary.elapsed_s, atol=1e-9)
    assert [c.role for c in page.curves].count("setpoint") == 1
    # The file comes with what it must give: tests/transfer/logs/expected.json.
    told = json.loads((LOGS / "expected.json").read_text())["files"]["01_bom_semicolon_comma.csv"]
    assert page.facts.peak_c == pytest.approx(told["peak_c"], abs=0.1)
    assert page.facts.estimate.number == pytest.approx(told["cone_ordinal"], abs=0.15)
    assert page.facts.estimate.low < page.facts.estimate.number < page.facts.estimate.high


def test_the_same_file_is_found_again_and_kept_for_one_firing_only(studio) -> None:
    reading = keep(studio, studio.firing, "01_bom_semicolon_comma.csv")
    assert studio.journal.read(lambda s: find_log(s, reading.sha256)) == 1
    other = studio.journal.edit(
        "Log",
        lambda s: log_firing(
            s, FiringDraft(kiln_id=studio.kiln, started_at=datetime(2026, 10, 9, 7, 0))
        ),
    ).value
    with pytest.raises(UserProblem, match="already the log of firing 1"):
        keep(studio, other, "01_bom_semicolon_comma.csv")
    assert page_of(studio, other).main_curve is None


def test_a_reduction_firing_is_told_to_trust_its_cones(studio) -> None:
    keep(studio, studio.firing, "01_bom_semicolon_comma.csv")
    assert page_of(studio).facts.estimate.flags == ()
    studio.journal.edit("", lambda s: change_firing(s, studio.firing, atmosphere="reduction"))
    assert page_of(studio).facts.estimate.flags == ("reduction",)


def test_a_pack_said_as_clock_word_and_degrees_gives_one_interval(studio) -> None:
    pack = PackDraft(
        level_id=studio.top,
        cones=cones(("5", "flat"), ("6", "2 o'clock"), ("7", "10°")),
    )
    studio.journal.edit("Read cones", lambda s: set_pack(s, studio.firing, pack))
    top = page_of(studio).levels[0]
    assert [cone.said for cone in top.cones] == ["flat", "2 o'clock", "10°"]
    # Two o'clock is 60° with half an hour either way (common practice).
    assert (top.cones[1].low_deg, top.cones[1].high_deg) == (45, 75)
    assert top.heat.basis == "read"
    assert 5.5 < top.heat.low < top.heat.cone < top.heat.high < 6.5
    assert top.interval.contradictions == ()


def test_swapped_cones_are_called_a_contradiction(studio) -> None:
    pack = PackDraft(level_id=studio.top, cones=cones(("5", "standing"), ("7", "flat")))
    studio.journal.edit("Read cones", lambda s: set_pack(s, studio.firing, pack))
    (sentence,) = page_of(studio).levels[0].interval.contradictions
    assert "Cone 5 is standing while the hotter cone 7 is down" in sentence


def test_the_level_offset_is_the_reading_over_the_sensor(studio) -> None:
    keep(studio, studio.firing, "01_bom_semicolon_comma.csv")
    bottom = page_of(studio).levels[2]
    # The file's curve is a cone 6 +0.8 firing, the cones at the bottom read short of 6.
    assert bottom.offset_c < 0
    assert bottom.history.readings == 0
    assert not bottom.history.calibrated


def test_three_readings_calibrate_a_level_for_the_next_firing(studio) -> None:
    grid = np.arange(0, 13 * 3600, 300.0)
    for day in range(1, 5):

        def fire(session, day=day) -> int:
            log = log_from_typed(
                [(float(t), float(min(20 + t / 36, 1222 + day))) for t in grid.tolist()]
            )
            return log_firing(
                session,
                FiringDraft(
                    kiln_id=studio.kiln,
                    started_at=datetime(2026, 11, day, 7, 0),
                    log=log,
                    packs=(
                        (PackDraft(level_id=studio.bottom, cones=cones(("6", "45"), ("7", "0"))),)
                        if day < 4
                        else ()
                    ),
                ),
            )

        last = studio.journal.edit("Log", fire).value
    bottom = page_of(studio, last).levels[2]
    assert bottom.history.readings == 3
    assert bottom.history.calibrated
    assert bottom.heat.basis == "computed"
    top = page_of(studio, last).levels[0]
    assert bottom.heat.high - bottom.heat.low < top.heat.high - top.heat.low


def test_the_load_tells_where_each_stood_and_which_had_faults(
    studio, log_tumbler: Callable[..., int]
) -> None:
    sound = log_tumbler()
    log_tumbler(FaultDraft(fault="crazing", severity=2))
    page = page_of(studio)
    bottom = page.levels[2].pieces
    assert [piece.label for piece in bottom] == ["Piece 1", "Piece 2"]
    assert [piece.faults for piece in bottom] == ["", "crazing"]
    studio.journal.edit("Move", lambda s: put_in_load(s, studio.firing, studio.top, "1"))
    assert [p.piece_id for p in page_of(studio).levels[0].pieces] == [sound]
    studio.journal.edit("Out", lambda s: take_out_of_load(s, studio.firing, "1-2"))
    assert page_of(studio).pieces == ()


def test_numbers_are_typed_as_they_are_spoken(studio) -> None:
    assert read_numbers("388, 390-392 and run 57") == ([388, 390, 391, 392], [57])
    for wrong in ("", "bowl", "395-390", "3 x 4"):
        with pytest.raises(UserProblem):
            read_numbers(wrong)
    with pytest.raises(UserProblem, match="no piece 999"):
        studio.journal.edit("", lambda s: put_in_load(s, studio.firing, studio.top, "999"))


def test_a_run_goes_in_whole_and_is_named_on_the_page(studio) -> None:
    draft = RunDraft(made_on=datetime(2026, 9, 1).date(), form_id=studio.tumbler, how_many=12)
    run_id = studio.journal.edit("Run", lambda s: log_run(s, draft)).value
    studio.journal.edit("In", lambda s: put_in_load(s, studio.firing, studio.middle, "run 1"))
    page = page_of(studio)
    assert len(page.levels[1].pieces) == 12
    assert page.runs == ((run_id, 1),)


def test_earlier_firings_of_the_program_come_newest_first(studio) -> None:
    program = studio.journal.edit(
        "Program", lambda s: add_program(s, ProgramDraft(name="Slow 6", segments=SEGMENTS))
    ).value
    ids = []
    for day in (5, 6, 7):
        log = log_from_typed([(0, 20), (8 * 3600, 1200 + day), (20 * 3600, 90)])
        draft = FiringDraft(
            kiln_id=studio.kiln,
            program_id=program,
            started_at=datetime(2026, 10, day, 7),
            log=log,
            kwh=50 + day,
        )
        ids.append(studio.journal.edit("Log", lambda s, d=draft: log_firing(s, d)).value)
    page = page_of(studio, ids[-1])
    assert page.heading == "Slow 6"
    assert [e.firing_id for e in page.earlier] == [ids[1], ids[0]]
    curves = studio.journal.read(lambda s: read_earlier_curves(s, [ids[0], ids[1]]))
    assert page.energy.usual_kwh == 55.5
    assert curves[0].to_100_s == 20 * 3600
    assert page.previous.firing_id == ids[1]
    assert page.following is None


def test_the_list_pages_newest_first_and_narrows_by_words(studio) -> None:
    for day in range(3, 10):
        draft = FiringDraft(
            kiln_id=studio.kiln,
            started_at=datetime(2026, 10, day, 7),
            title="Bisque" if day % 2 else "Glaze",
        )
        studio.journal.edit("Log", lambda s, d=draft: log_firing(s, d))
    first = studio.journal.read(lambda s: list_firings(s, limit=3))
    assert first.total == 8
    assert [row.number for row in first.rows] == [8, 7, 6]
    second = studio.journal.read(lambda s: list_firings(s, offset=3, limit=10))
    assert [row.number for row in second.rows] == [5, 4, 3, 2, 1]
    assert {level.basis for level in second.rows[-1].levels} == {"aimed", "read"}
    narrowed = studio.journal.read(lambda s: list_firings(s, words="bisque big"))
    assert narrowed.total == 4
    assert studio.journal.read(propose_firing).number == 9


def test_typed_readings_become_a_curve(studio) -> None:
    with pytest.raises(UserProblem, match="at least two"):
        log_from_typed([(0, 20)])
    with pytest.raises(UserProblem, match="same time"):
        log_from_typed([(0, 20), (0, 30)])
    log = log_from_typed([(3600, 150), (0, 20), (7200, 300)])
    studio.journal.edit("Type", lambda s: keep_log_file(s, studio.firing, log))
    page = page_of(studio)
    assert page.main_curve.channel == "typed"
    assert page.main_curve.elapsed_s.tolist() == [0, 3600, 7200]
    assert page.main_curve.gaps == ()
    assert "below_chart" in page.facts.estimate.flags
