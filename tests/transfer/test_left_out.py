"""What the log reader set aside comes back as it came, each with its reason."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.transfer.left_out import SAID, left_out_of, pack_left_out, unpack_left_out
from studiolog.transfer.temperature_log import Reason, read_temperature_log

LOGS = Path(__file__).parent / "logs"


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(), st.floats(), st.sampled_from([r for r in Reason if r])), max_size=40
    )
)
def test_whatever_was_set_aside_comes_back_to_the_last_bit(readings) -> None:
    times, values, reasons = (list(part) for part in zip(*readings, strict=True)) if readings else (
        [], [], []
    )  # fmt: skip
    back = unpack_left_out(pack_left_out(times, values, reasons))
    np.testing.assert_array_equal(back.elapsed_s, np.array(times, dtype=float))
    np.testing.assert_array_equal(back.values, np.array(values, dtype=float))
    assert back.reasons.tolist() == [int(reason) for reason in reasons]
    assert set(back.said()) <= set(SAID.values())


def test_every_reason_of_the_log_reader_has_its_words() -> None:
    assert set(SAID) == {reason for reason in Reason if reason != Reason.KEPT}
    assert len(set(SAID.values())) == len(SAID)


def test_an_open_thermocouple_is_kept_with_what_it_said() -> None:
    data = (LOGS / "09_open_thermocouple_spikes.csv").read_bytes()
    main = read_temperature_log(data, "09.csv").primary
    aside = left_out_of(main)
    assert aside.elapsed_s.size == main.raw_reason.size - main.elapsed_s.size == 15
    back = unpack_left_out(pack_left_out(aside.elapsed_s, aside.values, aside.reasons))
    assert {1372.0, 0.0, -200.0, 2500.0, 32767.0} <= set(back.values.tolist())
    # Kept and set aside together are the log as it came.
    whole = np.sort(np.concatenate([main.temperature_c, back.values]))
    np.testing.assert_array_equal(whole, np.sort(main.raw_temperature_c))


@pytest.mark.parametrize(
    "damage", [b"", b"XX\x01\0\0\0\0", b"SL\x09\0\0\0\0", b"SL\x01\x05\0\0\0rubbish"]
)
def test_damage_is_told(damage: bytes) -> None:
    with pytest.raises(ValueError, match="left out"):
        unpack_left_out(damage)


def test_a_blob_cut_anywhere_is_told() -> None:
    blob = pack_left_out([1.0, 2.0], [1372.0, np.nan], [3, 1])
    for length in range(len(blob)):
        with pytest.raises(ValueError, match="left out"):
            unpack_left_out(blob[:length])


def test_each_needs_a_time_a_value_and_a_reason() -> None:
    with pytest.raises(ValueError, match="a time, a value and a reason"):
        pack_left_out([1.0], [20.0, 21.0], [3])
    with pytest.raises(ValueError, match="a reason from 1"):
        pack_left_out([1.0], [20.0], [0])
