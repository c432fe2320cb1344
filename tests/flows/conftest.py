"""The demo journal, made once for all the flows that walk through it."""

import fcntl
import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from sample_data.build_demo import make_demo
from studiolog.journal.opening import Journal, open_journal


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole year of Tern Yard with a tenth of its pictures. Leave it as it is.

    Test processes side by side share one: whoever asks first makes it, the others wait for it.
    """
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    folder, made = shared / "demo" / "tern yard", shared / "demo made"
    with (shared / "demo lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not made.exists():
            make_demo(folder, lambda _: None, photos=0.1)
            made.touch()
    return folder


@pytest.fixture(scope="session")
def demo_journal(demo_folder: Path) -> Iterator[Journal]:
    """The demo journal, opened. Read from it only: every flow of the session shares it."""
    opened = open_journal(demo_folder)
    yield opened
    opened.close()
