"""The calibration of a kiln's level, worked by hand from the published chart.

End points at 60 °C/h of self-supporting cones, Orton Ceramic Foundation, *Temperature equivalents
for pyrometric cones* (2016): 5 1186 °C, 6 1222 °C, 7 1239 °C, 8 1249 °C. The weights, the three
readings and the limits are judgements of this project (reference sheet *Firing*).
"""

import pytest

from studiolog.craft.firing.bend import BATCH_C, BendReading, read_pack
from studiolog.craft.firing.calibration import (
    LevelOffset,
    correct_number,
    estimate_offsets,
    offset_of_pack,
    offset_of_reading,
)
from studiolog.craft.limits import Limits
from studiolog.craft.units import THIN


def test_the_offset_of_one_pack() -> None:
    """The curve came to cone 6 (1222 °C). Cone 7 is level with its base (90°), cone 6 is down.

    By hand: cone 7 at 90° is at its end point, 1239 °C, give or take the makers' 2 °C: from 1237
    (7 − 2/17 = 6.882) to 1241 °C (7 + 2/10 = 7.2). The middle, 7.041, is 1239.4 °C: +17.4 °C.
    """
    pack = read_pack({"6": BendReading(115, 130, 120, "flat"), "7": BendReading(90, 90, 90, "90°")})
    assert BATCH_C == 2.0
    assert offset_of_pack(pack, 6.0) == pytest.approx(17.41, abs=0.01)
    assert offset_of_reading(5.5, 6.0) == pytest.approx((1186 + 1222) / 2 - 1222)


def test_three_levels_by_hand() -> None:
    """Top +12, +14, +13; middle +2, +1; bottom −9 once.

    By hand: all six, −9 1 2 12 13 14, have the median 7. The top's median 13 counts 3/(3+3):
    7 + ½·6 = 10. The middle's 1.5 counts 2/5: 7 − 0.4·5.5 = 4.8. The bottom's −9 counts ¼:
    7 − ¼·16 = 3. Scatter of the top: median of 1, 1, 0 is 1, times 1.4826.
    """
    found = estimate_offsets({"top": [12, 14, 13], "middle": [2, 1], "bottom": [-9]})
    assert {level: round(one.offset_c, 6) for level, one in found.items()} == {
        "top": 10.0,
        "middle": 4.8,
        "bottom": 3.0,
    }
    assert found["top"].scatter_c == pytest.approx(1.4826)
    assert [one.calibrated for one in found.values()] == [True, False, False]
    assert [one.sigma_c for one in found.values()] == [5.0, 12.0, 12.0]


def test_a_curve_of_cone_6_at_a_level_ten_degrees_hotter() -> None:
    """1222 + 10 = 1232 °C, of the 17 °C from 6 to 7: 6 + 10/17 = 6.59.

    The interval, ±12 °C from a bare sensor, is ±5 °C once the level is calibrated: 1227 °C is
    6 + 5/17 = 6.29, and 1237 °C 6 + 15/17 = 6.88.
    """
    level = LevelOffset("top", 10.0, 3, 1.5, None)
    low, high = 6 - 12 / 36, 6 + 12 / 17
    told = correct_number(6.0, low, high, 12.0, level)
    assert told.number == pytest.approx(6.588, abs=0.01)
    assert told.low == pytest.approx(6.294, abs=0.01)
    assert told.high == pytest.approx(6.882, abs=0.01)


def test_the_alarm_of_a_shift_by_hand() -> None:
    """Median of the last three, 13, over that of the ten before, 5: 8 °C, beyond the 7 allowed."""
    values = [5, 4, 6, 5, 5, 7, 3, 5, 6, 5, 12, 13, 20]
    told = estimate_offsets({"top": values})["top"]
    assert told.shift_c == 8
    assert told.alarm is not None
    assert f"8{THIN}°C hotter" in told.alarm
    assert f"14{THIN}°F hotter" in (told.say_alarm("F") or "")
    assert estimate_offsets({"top": values}, Limits({"drift_c": 9.0}))["top"].alarm is None


def test_limits_of_a_studio_are_counted_with() -> None:
    """Five readings asked for, and nothing drawn in: the median stands as it is."""
    mine = Limits({"enough_readings": 5, "draw_in": 0, "last_readings": 4})
    top = estimate_offsets({"top": [30, 30, 1, 2, 3, 4], "middle": []}, mine)["top"]
    assert (top.readings, top.offset_c, top.calibrated) == (4, 2.5, False)
