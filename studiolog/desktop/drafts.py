"""Half-filled sheets, kept on disk as they are typed: they survive closing and a crash."""

import hashlib
import json
import os
from pathlib import Path
from typing import Any

from studiolog.problems import UserProblem


class Drafts:
    """JSON drafts of one journal, a file each, replaced whole at every keeping."""

    def __init__(self, folder: Path, journal: str) -> None:
        # One desk may work in several journals, and a journal may be an URL.
        self._folder = folder / hashlib.sha256(journal.encode()).hexdigest()[:16]

    def keep(self, name: str, content: dict[str, Any]) -> None:
        """Keep a draft; the one before is replaced only once this one is on disk.

        Raises `UserProblem` if it can't be written; the draft before stays.
        """
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            half = self._folder / f"{name}.half"
            with half.open("w", encoding="utf-8") as file:
                json.dump(content, file, ensure_ascii=False)
                file.flush()
                os.fsync(file.fileno())
            half.replace(self._folder / f"{name}.json")
        except OSError as problem:
            raise UserProblem(
                f"A half-filled sheet can't be kept in {self._folder} "
                f"({problem.strerror or problem}): save it before you close it."
            ) from problem

    def read(self, name: str) -> dict[str, Any] | None:
        """The draft, or None if there is none that can be read."""
        try:
            content = json.loads((self._folder / f"{name}.json").read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        return content if isinstance(content, dict) else None

    def drop(self, name: str) -> None:
        """The sheet was saved or thrown away.

        Raises `UserProblem` if its file cannot be deleted.
        """
        try:
            (self._folder / f"{name}.json").unlink(missing_ok=True)
        except OSError as problem:
            raise UserProblem(
                f"The half-filled sheet in {self._folder} can't be thrown away "
                f"({problem.strerror or problem}): it will be offered again."
            ) from problem
