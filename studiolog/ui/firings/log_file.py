"""A log file read off the window's thread, for the sheet that shows it before it is kept."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from studiolog.craft.limits import Limits
from studiolog.desktop.jobs import Progress
from studiolog.journal.curve_facts import CurveFacts, facts_of_curve
from studiolog.problems import LogUnreadable, UserProblem
from studiolog.transfer.log_folder import MOST_BYTES
from studiolog.transfer.temperature_log import Choices, LogReading, read_temperature_log


@dataclass(frozen=True)
class ReadFile:
    """What came of reading: the bytes, and the reading or the sentence why there is none."""

    content: bytes
    reading: LogReading | None = None
    facts: CurveFacts | None = None
    problem: str = ""


def read_log_path(path: Path, choices: Choices, limits: Limits, progress: Progress) -> ReadFile:
    """Read a file. Raises `LogUnreadable` for one that can't be opened or is far too large."""
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise LogUnreadable(
                f"{path.name} is {size / 1e6:,.0f} MB, more than any temperature log: "
                "export the one firing by itself."
            )
        content = path.read_bytes()
    except OSError as problem:
        raise LogUnreadable(
            f"{path.name} cannot be opened ({problem.strerror}): check its place and permissions."
        ) from problem
    return read_log_content(path.name, content, choices, limits, progress)


def read_log_content(
    name: str, content: bytes, choices: Choices, limits: Limits, progress: Progress
) -> ReadFile:
    """Read the bytes of a log, and what its main curve says by the studio's limits."""
    progress.step(1, 3, "reading")
    try:
        reading = read_temperature_log(content, name, choices)
    except UserProblem as problem:
        # The bytes are handed back: read otherwise they may well make a log.
        return ReadFile(content, problem=problem.sentence)
    progress.step(2, 3, "working out the cone")
    facts: CurveFacts | None = None
    if not progress.cancelled() and reading.primary.elapsed_s.size >= 2:
        try:
            main = reading.primary
            facts = facts_of_curve(main.elapsed_s, main.temperature_c, limits=limits)
        except UserProblem:
            facts = None  # too hot or too cold in the unit taken: the question about it is open
    progress.step(3, 3, "")
    return ReadFile(content, reading, facts)
