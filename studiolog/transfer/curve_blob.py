"""A curve kept as one compressed blob: small, and the same again when unpacked.

Layout: header, then zlib of three byte-shuffled streams. Times and temperatures are whole numbers
(of the time step and of the temperature step), stored as differences in 16 bits; a difference
that does not fit, and a missing reading, is an escape whose 64-bit value follows in the third
stream. Times are stored as second differences, because most loggers keep an even beat.
"""

import struct
import zlib

import numpy as np
from numpy.typing import ArrayLike, NDArray

_MAGIC = b"SC"
_VERSION = 1
_HEADER = struct.Struct("<2sBBBI")  # magic, version, time step code, temperature step code, count
_TIME_STEPS = (1.0, 0.001, 0.000001)
_TEMPERATURE_STEPS = (0.1, 0.01, 0.001, 0.000001)
_ESCAPE = -32768
# The last few bytes of a very long log are not worth a wait.
_MANY = 200_000
_MISSING = np.iinfo(np.int64).min


def pack_readings(elapsed_s: ArrayLike, temperature_c: ArrayLike) -> bytes:
    """Pack readings (seconds, °C; NaN allowed among the temperatures) into a blob.

    Resolution is 1 s and 0.1 °C, or as fine as the readings themselves show: down to a microsecond
    and 0.000001 °C. Raises ValueError unless there is a temperature for each time.
    """
    times = np.asarray(elapsed_s, dtype=np.float64).ravel()
    temperatures = np.asarray(temperature_c, dtype=np.float64).ravel()
    if times.size != temperatures.size:
        raise ValueError("a curve needs as many times as temperatures")
    if not np.isfinite(times).all():
        raise ValueError("a curve needs a finite time for every reading")
    time_code = _finest_step(times, _TIME_STEPS)
    temperature_code = _finest_step(temperatures[np.isfinite(temperatures)], _TEMPERATURE_STEPS)
    ticks = np.rint(times / _TIME_STEPS[time_code]).astype(np.int64)
    readable = np.isfinite(temperatures)
    tenths = np.full(temperatures.size, _MISSING, dtype=np.int64)
    tenths[readable] = np.rint(
        temperatures[readable] / _TEMPERATURE_STEPS[temperature_code]
    ).astype(np.int64)
    beats = np.diff(np.diff(ticks, prepend=np.int64(0)), prepend=np.int64(0))
    time_stream, time_escapes = _narrow(beats, np.zeros(beats.size, dtype=bool))
    temperature_stream, temperature_escapes = _narrow(*_steps_between_readable(tenths))
    body = b"".join(
        (
            struct.pack("<I", time_escapes.size),
            _shuffle(time_stream),
            _shuffle(temperature_stream),
            time_escapes.astype("<i8").tobytes(),
            temperature_escapes.astype("<i8").tobytes(),
        )
    )
    header = _HEADER.pack(_MAGIC, _VERSION, time_code, temperature_code, times.size)
    return header + zlib.compress(body, 9 if times.size < _MANY else 6)


def unpack_readings(blob: bytes) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Elapsed seconds and °C of a packed curve. Raises ValueError on a damaged blob."""
    if len(blob) < _HEADER.size:
        raise ValueError("the stored curve is cut short")
    magic, version, time_code, temperature_code, count = _HEADER.unpack_from(blob)
    if magic != _MAGIC:
        raise ValueError("the stored curve has no header of a curve")
    if version != _VERSION:
        raise ValueError(f"the stored curve is of version {version}, newer than this program")
    if time_code >= len(_TIME_STEPS) or temperature_code >= len(_TEMPERATURE_STEPS):
        raise ValueError("the stored curve names a resolution this program does not know")
    try:
        body = zlib.decompress(blob[_HEADER.size :])
    except zlib.error as problem:
        raise ValueError("the stored curve is damaged") from problem
    if len(body) < 4 + 4 * count or (len(body) - 4 - 4 * count) % 8:
        raise ValueError("the stored curve is cut short")
    (time_escape_count,) = struct.unpack_from("<I", body)
    time_stream = _unshuffle(body[4 : 4 + 2 * count])
    temperature_stream = _unshuffle(body[4 + 2 * count : 4 + 4 * count])
    escapes = np.frombuffer(body, dtype="<i8", offset=4 + 4 * count).astype(np.int64)
    if (time_stream == _ESCAPE).sum() != time_escape_count or (
        (temperature_stream == _ESCAPE).sum() + time_escape_count != escapes.size
    ):
        raise ValueError("the stored curve is damaged")
    beats = time_stream.astype(np.int64)
    beats[time_stream == _ESCAPE] = escapes[:time_escape_count]
    ticks = np.cumsum(np.cumsum(beats))
    steps = temperature_stream.astype(np.int64)
    steps[temperature_stream == _ESCAPE] = escapes[time_escape_count:]
    readable = steps != _MISSING
    temperatures = np.full(count, np.nan)
    # Dividing by a whole number gives the same float a log's text gives; multiplying may not.
    per_degree = round(1 / _TEMPERATURE_STEPS[temperature_code])
    temperatures[readable] = np.cumsum(steps[readable]) / per_degree
    return ticks / round(1 / _TIME_STEPS[time_code]), temperatures


def _finest_step(values: NDArray[np.float64], steps: tuple[float, ...]) -> int:
    """The coarsest step that loses nothing of the values; the finest one if all lose."""
    for code, step in enumerate(steps):
        scaled = values / step
        if np.allclose(scaled, np.rint(scaled), rtol=0, atol=1e-4):
            return code
    return len(steps) - 1


def _steps_between_readable(
    tenths: NDArray[np.int64],
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Differences from the last readable value, the missing ones marked."""
    missing = tenths == _MISSING
    steps = np.full(tenths.size, _MISSING, dtype=np.int64)
    steps[~missing] = np.diff(tenths[~missing], prepend=np.int64(0))
    return steps, missing


def _narrow(
    steps: NDArray[np.int64], missing: NDArray[np.bool_]
) -> tuple[NDArray[np.int16], NDArray[np.int64]]:
    """Steps in 16 bits, and the values of those that do not fit."""
    wide = missing | (steps <= _ESCAPE) | (steps > 32767)
    narrow = np.where(wide, _ESCAPE, steps).astype(np.int16)
    return narrow, steps[wide]


def _shuffle(stream: NDArray[np.int16]) -> bytes:
    # Zigzag first, so that small steps down and up share an empty high byte.
    wide = stream.astype(np.int32)
    zigzag = ((wide << 1) ^ (wide >> 31)).astype(np.uint16)
    return (zigzag & 0xFF).astype(np.uint8).tobytes() + (zigzag >> 8).astype(np.uint8).tobytes()


def _unshuffle(stream: bytes) -> NDArray[np.int16]:
    half = len(stream) // 2
    low = np.frombuffer(stream, dtype=np.uint8, count=half).astype(np.int32)
    high = np.frombuffer(stream, dtype=np.uint8, offset=half).astype(np.int32)
    zigzag = low | (high << 8)
    return ((zigzag >> 1) ^ -(zigzag & 1)).astype(np.int16)
