"""The curves of a journal as plain files: every reading, those set aside with their reasons."""

from __future__ import annotations

import csv
import io
import re
import zipfile
import zlib
from collections.abc import Callable
from itertools import groupby

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.raw_log import read_left_out
from studiolog.records.firings import Curve, Firing, LogFile
from studiolog.transfer.curve_blob import unpack_readings

CURVES, LOGS = "curves", "logs"
"""The folders of an archive."""

_AT_ONCE = 50


def write_curves(
    session: Session,
    archive: zipfile.ZipFile,
    tell: Callable[[int, int, str], None] | None = None,
) -> None:
    """Write each channel as a CSV file, and each log file as it came, into an archive.

    A row a reading in order of time: seconds since the log's start, °C (the plain value for duty),
    and why it was left out, empty for one that counts. A damaged curve is left to its table's row.
    """
    numbers = {row.id: row.number for row in session.execute(select(Firing.id, Firing.number))}
    taken: set[str] = set()
    curves = select(
        Curve.firing_id, Curve.channel, Curve.role, Curve.packed, Curve.left_out
    ).order_by(Curve.firing_id, Curve.id)
    total = session.scalar(select(func.count()).select_from(Curve)) or 0
    for at, row in enumerate(session.execute(curves.execution_options(yield_per=_AT_ONCE)), 1):
        name = _name(f"{CURVES}/firing-{numbers[row.firing_id]}-{row.channel}", ".csv", taken)
        text = _write_curve(row.packed, row.left_out, row.role)
        if text is not None:
            archive.writestr(name, text)
        if tell is not None:
            tell(at, total, f"curve of firing {numbers[row.firing_id]}")
    logs = (
        select(Curve.firing_id, LogFile.id, LogFile.name, LogFile.content)
        .join(LogFile, LogFile.id == Curve.log_file_id)
        .order_by(LogFile.id, Curve.id)
    )
    rows = session.execute(logs.execution_options(yield_per=_AT_ONCE))
    for _file_id, several in groupby(rows, key=lambda row: row.id):
        first = next(several)
        try:
            content = zlib.decompress(first.content)
        except zlib.error:
            continue
        stem, dot, suffix = first.name.rpartition(".")
        ending = f".{re.sub(r'[^A-Za-z0-9]', '', suffix)[:8]}" if dot else ""
        path = f"{LOGS}/firing-{numbers[first.firing_id]}-{stem if dot else first.name}"
        archive.writestr(_name(path, ending, taken), content)


def _write_curve(packed: bytes, left_out: bytes | None, role: str) -> str | None:
    import numpy as np

    try:
        times, values = unpack_readings(packed)
    except ValueError:
        return None
    why = [""] * len(times)
    aside = read_left_out(left_out)
    if aside is not None:
        times = np.concatenate([times, aside.elapsed_s])
        values = np.concatenate([values, aside.values])
        why += aside.said()
    page = io.StringIO(newline="")
    writer = csv.writer(page)
    heat = role in ("measured", "setpoint")
    writer.writerow(["elapsed_s", "temperature_c" if heat else "value", "left_out"])
    for at in np.argsort(times, kind="stable").tolist():
        value = float(values[at])
        writer.writerow(
            [f"{float(times[at]):.10g}", "" if np.isnan(value) else f"{value:.10g}", why[at]]
        )
    return page.getvalue()


def _name(path: str, suffix: str, taken: set[str]) -> str:
    """A name any file system takes, once."""
    folder, _, name = path.partition("/")
    plain = re.sub(r"[^\w .-]+", "_", name).strip(" .")[:100] or "curve"
    made, again = f"{folder}/{plain}{suffix}", 2
    while made.casefold() in taken:
        made, again = f"{folder}/{plain}-{again}{suffix}", again + 1
    taken.add(made.casefold())
    return made
