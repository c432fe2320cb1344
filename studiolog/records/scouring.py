"""Rewriting a journal file so that nothing that was taken out of it is left in its bytes."""

import sqlite3
from collections.abc import Iterable
from pathlib import Path

WAIT_MS = 2000
_CHUNK = 1 << 22


def scour_file(file: Path) -> str:
    """Rewrite a journal file and empty what stands beside it; "" or why it could not be done.

    A row that is changed or deleted leaves its old bytes in the pages of the file and in its -wal
    until those are used again. VACUUM writes the file anew from what it holds; the checkpoint then
    cuts the -wal to nothing. Another program that reads the journal just then may hold it up.
    """
    try:
        connection = sqlite3.connect(file, isolation_level=None)
        try:
            connection.execute(f"PRAGMA busy_timeout={WAIT_MS}")
            connection.execute("PRAGMA secure_delete=ON")
            connection.execute("VACUUM")
            held_up, *_ = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        finally:
            connection.close()
    except sqlite3.Error as problem:
        return str(problem)
    return "the journal is open in another window" if held_up else ""


def is_in_bytes(file: Path, words: Iterable[str]) -> bool:
    """Whether any of these words stands in the bytes of a journal file, or of what is beside it."""
    sought = [one.encode() for one in words if one]
    longest = max(map(len, sought), default=0)
    for part in sorted(file.parent.glob(f"{file.name}*")):
        with part.open("rb") as opened:
            before = b""
            while chunk := opened.read(_CHUNK):
                window = before + chunk
                if any(one in window for one in sought):
                    return True
                before = window[-longest:]
    return False
