"""What the importer understood of a log, as plain values for ``studiolog curve FILE --json``."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from studiolog.problems import LogUnreadable, UserProblem
from studiolog.transfer.log_folder import find_log_files
from studiolog.transfer.log_sense import find_why_no_firing
from studiolog.transfer.temperature_log import Choices, LogReading, read_temperature_log
from studiolog.transfer.temperature_log.reading import LogWithoutRows

if TYPE_CHECKING:
    from studiolog.craft.firing.heatwork import ConeEstimate

_THIN_S = 1200.0
"""Readings further apart than this have no neighbours to be told a spike by, seconds."""


def describe_curve_folder(folder: Path) -> list[dict[str, Any]]:
    """A report for every file of a folder, by name; each has ``file``, and ``problem`` if any.

    What is no log is told too, with the reason in ``problem`` and nothing kept.
    """
    found = find_log_files([folder])
    reports: list[tuple[Path, dict[str, Any]]] = []
    for place in found.files:
        try:
            report = describe_curve_file(place)
            told = {"file": str(place.relative_to(folder)), "problem": None, **report}
        except UserProblem as problem:
            told = _describe_problem(place, folder, problem.sentence)
        reports.append((place, told))
    for skipped in found.skipped:
        reports.append((skipped.path, _describe_problem(skipped.path, folder, skipped.reason)))
    return [report for _, report in sorted(reports, key=lambda pair: str(pair[0]))]


def _describe_problem(place: Path, folder: Path, sentence: str) -> dict[str, Any]:
    return {
        "file": str(place.relative_to(folder)),
        "problem": sentence,
        **_describe_nothing(sentence),
    }


def describe_curve_file(path: str | Path, choices: Choices | None = None) -> dict[str, Any]:
    """The report of one log file, ready for JSON.

    A file with a header and no rows gives ``rows_kept`` 0 and a note. Raises `LogUnreadable` for
    a file that is empty, binary or cannot be opened.
    """
    place = Path(path)
    try:
        # A pipe or a device may never end.
        if place.exists() and not place.is_file() and not place.is_dir():
            raise LogUnreadable(f"{place.name} is not an ordinary file: pick a file on a disk.")
        data = place.read_bytes()
    except ValueError as problem:
        raise LogUnreadable("A file's name can't hold a NUL: name the log file again.") from problem
    except OSError as problem:
        raise LogUnreadable(
            f"{place.name} cannot be opened ({problem.strerror}): check its place and permissions."
        ) from problem
    try:
        reading = read_temperature_log(data, place.name, choices)
    except LogWithoutRows as problem:
        return _describe_nothing(problem.sentence)
    return describe_reading(reading)


def describe_reading(reading: LogReading) -> dict[str, Any]:
    """The report of a reading. ``cone`` is ordinal (02 = −1, 01 = 0, 1 = 1, 6 = 6), 2 decimals."""
    report = _describe_nothing("")
    report.update(
        rows_kept=reading.rows_kept,
        rows_repaired=reading.rows_repaired,
        rows_dropped=reading.rows_dropped,
        unit=reading.unit,
        start=reading.start.isoformat() if reading.start is not None else None,
        duration_h=round(reading.duration_h, 3),
        sampling_s=round(reading.sampling_s, 3),
        peak_c=round(reading.peak_c, 1),
        sha256=reading.sha256,
        primary=reading.primary.name,
        gaps=[[round(begin, 3), round(end, 3)] for begin, end in reading.gaps],
        channels=[
            {
                "name": channel.name,
                "role": channel.role,
                "unit": channel.unit,
                "rows": int(channel.temperature_c.size),
                # Only a temperature has a peak in °C.
                "peak_c": _rounded(channel.peak_c)
                if channel.role in ("measured", "setpoint")
                else None,
            }
            for channel in reading.channels
        ],
        columns=[
            {"name": column.name, "taken_as": column.taken_as, "evidence": column.evidence}
            for column in reading.columns
        ],
        notes=[
            {"kind": note.kind, "sentence": note.sentence, "line": note.line}
            for note in reading.notes
        ],
        questions=[
            {
                "key": asked.key,
                "sentence": asked.sentence,
                "options": list(asked.options),
                "proposed": asked.proposed,
            }
            for asked in reading.questions
        ],
        understood=[
            {"what": line.what, "how": line.how, "evidence": line.evidence}
            for line in reading.understood
        ],
    )
    reason = find_why_no_firing(reading)
    if reason:
        report["notes"].append({"kind": "no_firing", "sentence": reason, "line": None})
    report.update(_describe_cone(reading))
    return report


def estimate_cone_of(reading: LogReading) -> "ConeEstimate | None":
    """The heat-work of a reading's main curve with its interval; None from fewer than two readings.

    The few readings of a thin log are taken as they stand: they were cleaned when they were read.
    """
    # Imported here: SciPy and the cone tables are slow to load and not needed to read a file.
    from studiolog.craft.firing.cleaning import trust_curve
    from studiolog.craft.firing.heatwork import equivalent_cone, estimate_cone

    t, c = reading.primary.elapsed_s, reading.primary.temperature_c
    if t.size < 2:
        return None
    if reading.sampling_s < _THIN_S:
        try:
            return equivalent_cone(t, c)
        except UserProblem:
            pass
    return estimate_cone(trust_curve(t, c))


def _describe_cone(reading: LogReading) -> dict[str, Any]:
    estimate = estimate_cone_of(reading)
    if estimate is None:
        return {"cone_flags": ["fewer than two readings"]}
    return {
        "cone": _rounded(estimate.number, 2),
        "cone_label": estimate.label,
        "cone_low": _rounded(estimate.low, 2),
        "cone_high": _rounded(estimate.high, 2),
        "cone_flags": [str(flag) for flag in estimate.flags],
    }


def _rounded(value: float | None, decimals: int = 1) -> float | None:
    """A rounded number; None for what is not one (below or above all cones)."""
    if value is None or value != value:
        return None
    return round(float(value), decimals)


def _describe_nothing(sentence: str) -> dict[str, Any]:
    """The shape of every report, with nothing in it but a note."""
    return {
        "rows_kept": 0,
        "rows_repaired": 0,
        "rows_dropped": 0,
        "unit": None,
        "start": None,
        "duration_h": 0.0,
        "peak_c": None,
        "cone": None,
        "cone_label": None,
        "cone_low": None,
        "cone_high": None,
        "channels": [],
        "notes": [{"kind": "no_rows", "sentence": sentence, "line": None}] if sentence else [],
        "questions": [],
    }
