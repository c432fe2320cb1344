"""From the bytes of a temperature log to its reading."""

from studiolog.problems import LogUnreadable
from studiolog.transfer.temperature_log.values import Choices, LogReading


def read_temperature_log(data: bytes, name: str, choices: Choices | None = None) -> LogReading:
    """Read a log from its bytes. Raises `LogUnreadable` when nothing can be read."""
    raise LogUnreadable(f"{name} cannot be read yet.")
