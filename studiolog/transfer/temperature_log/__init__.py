"""Temperature logs of kilns: bytes in, curves, notes and open questions out."""

from studiolog.transfer.temperature_log.reading import read_temperature_log
from studiolog.transfer.temperature_log.values import (
    Choices,
    ColumnTaken,
    LogChannel,
    LogReading,
    Note,
    Question,
    Reason,
    Understood,
)

__all__ = [
    "Choices",
    "ColumnTaken",
    "LogChannel",
    "LogReading",
    "Note",
    "Question",
    "Reason",
    "Understood",
    "read_temperature_log",
]
