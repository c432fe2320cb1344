"""What a program is cautioned for, with the segment and a figure to change it to.

*Common practice*: damp or thick ware 60 to 100 °C an hour at most up to about 120 °C, or a hold
below the boil first; burn out from 700 to 950 °C with air; not opened above 200 °C. Published:
quartz at 573 °C; today's end points against the large-cone chart replaced in 1996.
"""

import pytest

from studiolog.craft.firing.program import Segment
from studiolog.craft.firing.program_cautions import (
    ProgramCaution,
    boiling_c,
    find_program_cautions,
    say_old_chart,
)
from studiolog.craft.limits import Limits

GENTLE = (Segment(60, 120), Segment(100, 700), Segment(100, 950), Segment(60, 1063))


def told(
    *segments: Segment,
    kind: str = "bisque",
    aimed: str | None = None,
    limits: Limits | None = None,
    scale: str = "C",
) -> dict[str, ProgramCaution]:
    found = find_program_cautions(segments, kind, aimed, limits or Limits(), scale)
    return {one.key: one for one in found}


def test_a_gentle_bisque_is_told_only_what_holds_for_every_bisque() -> None:
    found = told(*GENTLE, aimed="04")
    assert set(found) == {"cooling", "fumes"}
    assert {one.weight for one in found.values()} == {"note"}
    assert "Keep it closed to 200\u202f°C, better to 100\u202f°C" in found["cooling"].what


@pytest.mark.parametrize(("rate", "weight"), [(61.0, "note"), (150.0, "warn"), (None, "warn")])
def test_a_fast_start_is_cautioned(rate: float | None, weight: str) -> None:
    steam = told(Segment(rate, 600))["steam"]
    assert steam.weight == weight
    assert steam.segments == (1,)
    assert "can burst" in steam.why
    assert "segment 1 at 60\u202f°C/h to 100\u202f°C/h up to 120\u202f°C" in steam.change


def test_candling_below_the_boil_first_is_enough() -> None:
    assert "steam" not in told(Segment(100, 90, 120), Segment(150, 600))
    assert "steam" in told(Segment(100, 90, 10), Segment(150, 600))
    assert "steam" not in told(Segment(200, 80)), "it never reaches the boil"


def test_water_boils_lower_on_a_mountain() -> None:
    # Common practice, about 1 °C every 300 m; steam tables have 95.1 °C at 1500 m.
    assert boiling_c(0) == 100.0
    assert boiling_c(1500) == pytest.approx(95.1, abs=0.3)
    high = Limits({"altitude_m": 1500.0})
    candled = (Segment(60, 97, 120), Segment(150, 600))
    assert "steam" not in told(*candled)
    assert (
        "95\u202f°C, where water boils at your height" in told(*candled, limits=high)["steam"].what
    )


def test_a_bisque_that_races_through_burn_out_is_told_to_slow_that_segment() -> None:
    found = told(Segment(60, 600), Segment(250, 1000))["burn_out"]
    assert found.weight == "warn"
    assert "Segment 2 at 150\u202f°C/h or slower from 700\u202f°C to 950\u202f°C" in found.change
    assert "burn_out" not in told(Segment(60, 600), Segment(250, 1000), kind="glaze")


def test_quartz_is_told_up_and_down() -> None:
    found = told(Segment(60, 120), Segment(200, 1060), Segment(300, 100), kind="glaze")
    assert found["quartz_up"].segments == (2,)
    assert found["quartz_down"].weight == "warn"
    # A kiln left to cool is nobody's rate.
    assert "quartz_down" not in told(Segment(60, 1060), Segment(None, 100), kind="glaze")


def test_a_dip_on_the_way_up_is_no_cooling() -> None:
    found = told(Segment(60, 600), Segment(60, 500), Segment(60, 1063))
    assert found["dip"].segments == (2, 3)
    assert "a target above 600\u202f°C" in found["dip"].change
    slow_cool = (Segment(60, 1222), Segment(None, 1040), Segment(60, 800))
    assert "dip" not in told(*slow_cool, kind="glaze")


def test_a_program_off_the_cone_aimed_at_is_told_the_top_that_meets_it() -> None:
    found = told(*GENTLE[:3], Segment(60, 1120), aimed="04")["aim"]
    assert "hotter than the cone 04" in found.what
    # The chart has cone 04 at 1063 °C for 60 °C/h.
    assert "Segment 4 with a target of 1063\u202f°C comes to cone 04" in found.change
    assert "aim" not in told(*GENTLE, aimed="04")


def test_a_figure_of_the_old_chart_is_recognised() -> None:
    # Cone 6 stood at 1222 °C for 150 °C/h; today that is its end point at 60 °C/h.
    program = (Segment(60, 1100), Segment(150, 1222))
    found = told(*program, kind="glaze", aimed="6")["old_chart"]
    assert "1243\u202f°C for the last 150\u202f°C/h" in found.why
    at_sixty = (Segment(60, 1100), Segment(60, 1222))
    assert "old_chart" not in told(*at_sixty, kind="glaze", aimed="6")
    assert say_old_chart("6", 1221) == ""


def test_a_last_climb_beyond_the_chart_and_a_long_hold_are_told() -> None:
    assert (
        "as fast as the kiln goes" in told(Segment(60, 900), Segment(None, 1063))["last_rate"].what
    )
    assert "slower than 10" in told(Segment(60, 1000), Segment(5, 1063))["last_rate"].what
    held = told(Segment(60, 1063, 150))["long_hold"]
    assert "Segment 1 holds 2\u202fh 30\u202fmin at the top" in held.what


def test_limits_a_potter_set_count_and_are_called_that() -> None:
    mine = Limits({"gentle_c_per_h": 120.0, "damp_c_per_h": 150.0})
    assert "steam" not in told(Segment(110, 600), limits=mine)
    assert told(Segment(130, 600), limits=mine)["steam"].standing == "set by you"
    assert told(Segment(130, 600))["steam"].standing == "common practice"


def test_a_segment_that_ends_at_the_inversion_passes_it_once() -> None:
    up = told(Segment(200, 573), Segment(60, 1063))
    assert up["quartz_up"].segments == (1,)
    assert "quartz_up" not in told(Segment(60, 573), Segment(200, 1063))


def test_it_is_told_in_the_unit_the_potter_reads() -> None:
    everything = find_program_cautions((Segment(None, 1063),), "bisque", scale="F")
    assert not any("°C" in one.what + one.why + one.change for one in everything)
    found = told(Segment(150, 600), scale="F")["steam"]
    assert "270\u202f°F/h" in found.what
    assert "212\u202f°F" in found.what


def test_a_program_with_problems_is_told_those_instead() -> None:
    assert find_program_cautions(()) == ()
    assert find_program_cautions([Segment(100, 2000)]) == ()
