"""A limit is shown and typed in the unit of the reader, and kept in that of the table."""

import pytest

from studiolog.craft.limit_words import read_limit, say_limit, show_limit
from studiolog.craft.limits import shipped_limits
from studiolog.problems import UserProblem

ROWS = shipped_limits()


@pytest.mark.parametrize("scale", ["C", "F"])
def test_every_limit_reads_back_as_it_is_shown(scale: str) -> None:
    for row in ROWS.values():
        for value in (row.value, row.least, row.most):
            read = read_limit(row, show_limit(row, value, scale), scale)
            assert read == pytest.approx(value, rel=5e-3), (row.key, value)
        assert read_limit(row, show_limit(row, row.value, scale), scale) == row.value, row.key


def test_steps_and_temperatures_turn_differently() -> None:
    # NIST SP 811: t/°F = 1.8 t/°C + 32; an interval of 1 °C is one of 1.8 °F.
    assert show_limit(ROWS["lag_c"], 10.0, "F") == "18\u202f°F"
    assert show_limit(ROWS["open_usual_c"], 200.0, "F") == "392\u202f°F"
    assert read_limit(ROWS["lag_c"], "27", "F") == pytest.approx(15.0)
    assert read_limit(ROWS["short_of_rate"], "75 %") == 0.75


def test_temperatures_in_the_words_turn_too() -> None:
    assert "through 212\u202f°F" in say_limit(ROWS["gentle_c_per_h"], "F")
    assert "from 1292 to 1742\u202f°F" in say_limit(ROWS["burn_out_c_per_h"], "F")


def test_what_a_limit_can_not_be_is_told_in_its_unit() -> None:
    with pytest.raises(UserProblem, match="and 90\u202f°F; 400 °F does not"):
        read_limit(ROWS["lag_c"], "400", "F")
    with pytest.raises(UserProblem, match="is not a number"):
        read_limit(ROWS["lag_c"], "a lot")
    with pytest.raises(UserProblem, match="counts firings: give a whole number"):
        read_limit(ROWS["trend_firings"], "7.5")
