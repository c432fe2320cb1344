"""The demo journal, made once for all the flows that walk through it."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from sample_data.build_demo import make_demo
from studiolog.journal.opening import Journal, open_journal


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole year of Tern Yard with a tenth of its pictures. Leave it as it is."""
    return make_demo(tmp_path_factory.mktemp("demo") / "tern yard", lambda _: None, photos=0.1)


@pytest.fixture(scope="session")
def demo_journal(demo_folder: Path) -> Iterator[Journal]:
    """The demo journal, opened. Read from it only: every flow of the session shares it."""
    opened = open_journal(demo_folder)
    yield opened
    opened.close()
