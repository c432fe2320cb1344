"""A log as it came: the readings kept and those set aside, each with its reason.

What was set aside is stored beside each curve. Journals of before had only its count: there it is
read again from the original file, if the file still gives the curve that was kept.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.problems import LogUnreadable
from studiolog.records.firings import Curve, LogFile
from studiolog.transfer.left_out import LeftOut, left_out_of, unpack_left_out
from studiolog.transfer.temperature_log import read_temperature_log

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

IN_THE_FILE = "what was left out is in the original file only"
"""Said where the readings set aside can't be shown."""


@dataclass(frozen=True)
class StoredLog:
    """The original file of a log, still compressed."""

    name: str
    packed: bytes


def read_left_out(blob: bytes | None) -> LeftOut | None:
    """What was set aside of a curve; None if nothing was, or if it can't be unpacked any more."""
    if blob is None:
        return None
    try:
        return unpack_left_out(blob)
    except ValueError:
        return None


def read_stored_log(session: Session, firing_id: int) -> StoredLog | None:
    """The original file of a firing's main curve, or None for one that has none."""
    row = session.execute(
        select(LogFile.name, LogFile.content)
        .join(Curve, Curve.log_file_id == LogFile.id)
        .where(Curve.firing_id == firing_id)
        .order_by(Curve.main.desc(), Curve.id)
        .limit(1)
    ).first()
    return StoredLog(row.name, row.content) if row is not None else None


def find_left_out(
    log: StoredLog, elapsed_s: NDArray[np.float64], temperature_c: NDArray[np.float64]
) -> LeftOut | None:
    """What the original file holds beside a curve that was kept from it (seconds, °C).

    None where the file is read otherwise by now: by other choices of the potter, or by a reader
    that has learned since. Slow for a long log: meant for a job.
    """
    import numpy as np

    try:
        reading = read_temperature_log(zlib.decompress(log.packed), log.name)
    except (zlib.error, LogUnreadable):
        return None
    for channel in reading.channels:
        if channel.elapsed_s.size != elapsed_s.size:
            continue
        same_times = np.allclose(channel.elapsed_s, elapsed_s, rtol=0.0, atol=1e-3)
        if same_times and np.allclose(channel.temperature_c, temperature_c, rtol=0.0, atol=1e-3):
            return left_out_of(channel)
    return None
