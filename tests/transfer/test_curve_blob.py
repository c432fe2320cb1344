"""A packed curve comes back the same, and is small."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.transfer.curve_blob import pack_readings, unpack_readings


def _firing(step_s: int) -> tuple[np.ndarray, np.ndarray]:
    times = np.arange(0, 13 * 3600, step_s, dtype=float)
    noise = np.random.default_rng(7).normal(0, 0.8, times.size)
    heat = np.interp(times, [0, 28800, 32400, 46800], [20, 1200, 1222, 500]) + noise
    return times, np.round(heat, 1)


@pytest.mark.parametrize("step_s", [15, 60])
def test_a_firing_takes_under_three_bytes_a_reading(step_s: int) -> None:
    times, heat = _firing(step_s)
    assert len(pack_readings(times, heat)) <= 3 * times.size


@given(
    st.lists(
        st.tuples(
            st.integers(0, 10**9),
            st.one_of(st.none(), st.integers(-(10**5), 10**5)),
        ),
        max_size=60,
    )
)
def test_any_curve_to_a_second_and_a_tenth_comes_back_the_same(
    readings: list[tuple[int, int | None]],
) -> None:
    times = np.array([float(at) for at, _ in readings])
    heat = np.array([np.nan if t is None else t / 10 for _, t in readings])
    back_times, back_heat = unpack_readings(pack_readings(times, heat))
    np.testing.assert_array_equal(back_times, times)
    np.testing.assert_array_equal(back_heat, heat)


def test_milliseconds_and_hundredths_of_a_degree_are_kept_where_a_log_has_them() -> None:
    times = np.array([0.0, 0.25, 0.5, 1.375])
    heat = np.array([20.05, 1222.18, np.nan, 21.0])
    back_times, back_heat = unpack_readings(pack_readings(times, heat))
    np.testing.assert_array_equal(back_times, times)
    np.testing.assert_array_equal(back_heat, heat)


def test_fahrenheit_readings_come_back_to_a_millionth_of_a_degree() -> None:
    heat = (np.arange(70, 2200, 7) - 32) / 1.8
    _, back = unpack_readings(pack_readings(np.arange(heat.size) * 60.0, heat))
    np.testing.assert_allclose(back, heat, atol=1e-6)


def test_an_empty_curve_comes_back_empty() -> None:
    times, heat = unpack_readings(pack_readings([], []))
    assert times.size == heat.size == 0


@pytest.mark.parametrize(
    "damage", [b"", b"XX", b"SC\x09" + b"\0" * 20, b"SC\x01\0\0\x05\0\0\0rubbish"]
)
def test_a_damaged_blob_is_told_from_a_curve(damage: bytes) -> None:
    with pytest.raises(ValueError, match="stored curve"):
        unpack_readings(damage)


def test_a_blob_cut_short_is_told_from_a_curve() -> None:
    blob = pack_readings(*_firing(60))
    for length in range(0, len(blob), 37):
        with pytest.raises(ValueError, match="stored curve"):
            unpack_readings(blob[:length])


def test_times_and_temperatures_must_pair() -> None:
    with pytest.raises(ValueError, match="as many"):
        pack_readings([0, 1], [20])
    with pytest.raises(ValueError, match="finite"):
        pack_readings([0, np.nan], [20, 21])
