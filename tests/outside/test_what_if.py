"""A top temperature solved for a cone is the one that the cone's chart prints.

Published: Orton Ceramic Foundation, *Temperature equivalents for pyrometric cones* (°C chart,
022–14, 2016 edition), self-supporting cones at 15, 60 and 150 °C/h over the last 100 °C; 5½ and
05½ were used in no fit.
"""

import pytest

from studiolog.craft.firing.cones import table_rows, whole_cones
from studiolog.craft.firing.program import Segment
from studiolog.craft.firing.what_if import solve

WHOLE = set(whole_cones())
CELLS = [row for row in table_rows() if row.kind == "self-supporting"]


@pytest.mark.parametrize("rate", [15.0, 60.0, 150.0])
def test_the_top_temperature_for_a_cone_is_that_of_the_chart(rate: float) -> None:
    rows = [row for row in CELLS if row.rate_c_per_h == rate and row.cone in WHOLE]
    assert len(rows) >= 30
    for row in rows:
        begun = max(100.0, row.temperature_c - 250.0)
        program = [Segment(150, begun), Segment(rate, begun + 40)]
        answer = solve(program, row.cone, "peak")
        assert answer.value == pytest.approx(row.temperature_c, abs=1.0), (row.cone, rate)
        assert answer.estimate.number == pytest.approx(row.ordinal, abs=0.1)


def test_half_cones_that_no_fit_has_seen_are_found_between_their_neighbours() -> None:
    rows = [row for row in CELLS if row.cone in ("5.5", "05.5")]
    assert len(rows) == 6
    for row in rows:
        program = [Segment(150, row.temperature_c - 250.0), Segment(row.rate_c_per_h, 1300)]
        answer = solve(program, row.cone, "peak")
        assert answer.value == pytest.approx(row.temperature_c, abs=5.0), row
