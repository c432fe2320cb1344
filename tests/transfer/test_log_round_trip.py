"""Whatever separator, decimal mark, clock and unit a logger writes, the curve comes back."""

from datetime import datetime, timedelta

import numpy as np
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from studiolog.problems import LogUnreadable
from studiolog.transfer.temperature_log import read_temperature_log

CLOCKS = {
    "s": lambda start, s: f"{s}",
    "min": lambda start, s: f"{s / 60:.4f}",
    "h:mm:ss": lambda start, s: f"{s // 3600:02d}:{s // 60 % 60:02d}:{s % 60:02d}",
    "iso": lambda start, s: (start + timedelta(seconds=s)).isoformat(),
    "iso zone": lambda start, s: (start + timedelta(seconds=s)).isoformat() + "+02:00",
    "points": lambda start, s: f"{start + timedelta(seconds=s):%d.%m.%Y %H:%M:%S}",
    "epoch": lambda start, s: f"{1_748_931_300 + s}",
    "epoch ms": lambda start, s: f"{(1_748_931_300 + s) * 1000}",
    "half days": lambda start, s: f"{start + timedelta(seconds=s):%I:%M:%S %p}",
}
HEADERS = {
    "s": "seconds", "min": "minutes", "h:mm:ss": "elapsed", "epoch": "epoch", "epoch ms": "ts",
}  # fmt: skip
# A failing file of thousands of rows takes minutes to shrink and says no more when it is small.
_QUICK = (Phase.explicit, Phase.reuse, Phase.generate)
UNITS = {
    "C": ("°C", lambda c: c),
    "F": ("°F", lambda c: c * 1.8 + 32),
    "K": ("K", lambda c: c + 273.15),
}
ENCODINGS = ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]


@settings(
    deadline=None, max_examples=60, phases=_QUICK, suppress_health_check=[HealthCheck.too_slow]
)
@given(
    separator=st.sampled_from([";", ",", "\t", "|"]),
    decimal_comma=st.booleans(),
    clock=st.sampled_from(sorted(CLOCKS)),
    unit=st.sampled_from(sorted(UNITS)),
    encoding=st.sampled_from(ENCODINGS),
    line_end=st.sampled_from(["\n", "\r\n"]),
    step_s=st.sampled_from([10, 30, 60, 300]),
    rate=st.integers(60, 300),
    peak=st.integers(700, 1290),
    with_set_point=st.booleans(),
    start=st.datetimes(datetime(2021, 6, 1), datetime(2031, 6, 30)),
)
def test_a_curve_comes_back_from_any_spelling(
    separator: str,
    decimal_comma: bool,
    clock: str,
    unit: str,
    encoding: str,
    line_end: str,
    step_s: int,
    rate: int,
    peak: int,
    with_set_point: bool,
    start: datetime,
) -> None:
    start = start.replace(microsecond=0)
    top_s = (peak - 20) / rate * 3600
    seconds = np.arange(0, top_s + 4 * 3600, step_s).astype(int)
    heat = np.interp(seconds, [0, top_s, top_s + 4 * 3600], [20, peak, peak * 0.4]).round(1)
    sign, convert = UNITS[unit]

    def number(value: float) -> str:
        text = f"{value:.2f}"
        if not decimal_comma:
            return text
        text = text.replace(".", ",")
        return f'"{text}"' if separator == "," else text

    def stamp(s: int) -> str:
        text = CLOCKS[clock](start, int(s))
        if clock == "min" and decimal_comma:
            text = text.replace(".", ",")
            return f'"{text}"' if separator == "," else text
        return text

    names = [HEADERS.get(clock, "time"), f"temp {sign}"] + ["set point"] * with_set_point
    lines = [separator.join(names)]
    for s, c in zip(seconds, heat, strict=True):
        cells = [stamp(s), number(convert(c))] + [number(convert(c + 2))] * with_set_point
        lines.append(separator.join(cells))
    data = (line_end.join(lines) + line_end).encode(encoding)
    reading = read_temperature_log(data, "log.csv")
    assert reading.rows_kept == seconds.size
    np.testing.assert_allclose(reading.primary.elapsed_s, seconds, atol=0.5)
    np.testing.assert_allclose(reading.primary.temperature_c, heat, atol=0.02)
    assert reading.question("unit") is None
    if "iso" in clock or clock == "points":
        assert reading.start is not None
        assert reading.start.replace(tzinfo=None) == start


@settings(deadline=None, max_examples=200)
@given(st.binary(max_size=400))
def test_no_bytes_bring_the_reader_down(data: bytes) -> None:
    _assert_read_or_refused(data, most_rows=(len(data) + 1) // 2)


@settings(deadline=None, max_examples=300)
@given(
    st.lists(
        st.lists(
            st.sampled_from(
                ["", "time", "temp", "0", "12", "1e9", "20.5", "20,5", "08:15", "9:05 PM", "NaN",
                 "2025-06-03", "03/06/2025 08:15", "-999", "1748931300", "x", '"', "#", "°C",
                 "99999999999999999999", "2025-06-03T08:15:00Z", "31.02.2025", "inf", "1.2.3"]
            ),
            max_size=4,
        ),
        max_size=12,
    ),
    st.sampled_from([",", ";", "\t", " "]),
)  # fmt: skip
def test_no_table_of_scraps_brings_the_reader_down(rows: list[list[str]], separator: str) -> None:
    scraps = "\n".join(separator.join(row) for row in rows)
    _assert_read_or_refused(scraps.encode(), most_rows=len(rows))


def _assert_read_or_refused(data: bytes, most_rows: int) -> None:
    """A refusal names the file in a sentence; what is read is finite, in order, not made up."""
    refusal, reading = "", None
    try:
        reading = read_temperature_log(data, "scraps.csv")
    except LogUnreadable as refused:
        refusal = refused.sentence
    if reading is None:
        assert "scraps.csv" in refusal
        assert refusal.endswith((".", "?"))
        return
    assert 0 < reading.rows_kept <= most_rows
    assert reading.rows_kept == reading.primary.temperature_c.size
    assert np.isfinite(reading.primary.temperature_c).all()
    assert (np.diff(reading.primary.elapsed_s) >= 0).all()
