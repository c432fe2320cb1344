"""Shared by all tests: no display needed, and a small journal to work in."""

import os
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pytest

from studiolog.journal.opening import Journal, open_journal


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    """A new, empty journal in a folder of its own."""
    opened = open_journal(tmp_path / "journal")
    yield opened
    opened.close()
