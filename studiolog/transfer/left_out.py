"""The readings of a log that were set aside, packed with their reasons: nothing of it is hidden.

Layout: header, then zlib of the times and the values as 64-bit floats and the reasons as bytes.
Floats are kept to the last bit: what a broken thermocouple said may be any number, or none.
"""

import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from studiolog.transfer.temperature_log.values import LogChannel, Reason

_MAGIC: Final = b"SL"
_VERSION: Final = 1
_HEADER: Final = struct.Struct("<2sBI")  # magic, version, count
_ONE: Final = 8 + 8 + 1

SAID: Final[Mapping[int, str]] = MappingProxyType(
    {
        Reason.MISSING: "no reading",
        Reason.OUT_OF_RANGE: "no kiln is so hot or cold",
        Reason.OPEN_CIRCUIT: "an open thermocouple",
        Reason.SPIKE: "a leap away from its neighbours",
        Reason.DUPLICATE: "the same row again",
        Reason.SAME_STAMP: "a second reading at the same time",
    }
)
"""Why a reading was set aside, for a reader."""


@dataclass(frozen=True, eq=False)
class LeftOut:
    """Readings that were set aside: seconds, °C (plain values for duty; NaN: none), `Reason`."""

    elapsed_s: NDArray[np.float64]
    values: NDArray[np.float64]
    reasons: NDArray[np.int8]

    def said(self) -> tuple[str, ...]:
        """The reason of each, for a reader."""
        return tuple(SAID.get(int(code), "set aside") for code in self.reasons)


def left_out_of(channel: LogChannel) -> LeftOut:
    """What the log reader set aside of one channel."""
    aside = channel.raw_reason != Reason.KEPT
    return LeftOut(
        channel.raw_elapsed_s[aside],
        channel.raw_temperature_c[aside],
        channel.raw_reason[aside].astype(np.int8),
    )


def pack_left_out(elapsed_s: ArrayLike, values: ArrayLike, reasons: ArrayLike) -> bytes:
    """Pack readings that were set aside (seconds, °C or plain values, codes of `Reason`).

    Every float comes back as it was, NaN and infinities too. Raises ValueError unless there is a
    value and a reason for each time, or for a reason that is none.
    """
    times = np.asarray(elapsed_s, dtype="<f8").ravel()
    found = np.asarray(values, dtype="<f8").ravel()
    codes = np.asarray(reasons, dtype=np.int64).ravel()
    if not times.size == found.size == codes.size:
        raise ValueError("each reading left out needs a time, a value and a reason")
    if codes.size and not (codes.min() > 0 and codes.max() < 128):
        raise ValueError("a reading left out needs a reason from 1 to 127")
    body = times.tobytes() + found.tobytes() + codes.astype(np.int8).tobytes()
    return _HEADER.pack(_MAGIC, _VERSION, times.size) + zlib.compress(body, 9)


def unpack_left_out(blob: bytes) -> LeftOut:
    """The readings of :func:`pack_left_out`. Raises ValueError on a damaged blob."""
    if len(blob) < _HEADER.size:
        raise ValueError("the stored readings left out are cut short")
    magic, version, count = _HEADER.unpack_from(blob)
    if magic != _MAGIC:
        raise ValueError("the stored readings left out have no header of their own")
    if version != _VERSION:
        raise ValueError(
            f"the stored readings left out are of version {version}, newer than this program"
        )
    try:
        body = zlib.decompress(blob[_HEADER.size :])
    except zlib.error as problem:
        raise ValueError("the stored readings left out are damaged") from problem
    if len(body) != count * _ONE:
        raise ValueError("the stored readings left out are cut short")
    times = np.frombuffer(body, dtype="<f8", count=count).astype(np.float64)
    values = np.frombuffer(body, dtype="<f8", count=count, offset=8 * count).astype(np.float64)
    reasons = np.frombuffer(body, dtype=np.int8, count=count, offset=16 * count).copy()
    return LeftOut(times, values, reasons)
