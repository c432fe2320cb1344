"""Shared by all tests: no display needed, a small journal to work in, and a desk over it."""

import gc
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# The programs that tests start would each compile all of this one again.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

import pytest
from hypothesis import settings as hypothesis_settings
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from sqlalchemy import Engine

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.settings import Settings
from studiolog.journal import opening
from studiolog.journal.opening import Journal, open_journal

# The same examples at every run of `make test`, so that a change is judged by what it changed;
# HYPOTHESIS_PROFILE=wander (as `make torture` sets it) looks where nobody has looked yet.
hypothesis_settings.register_profile("repeat", derandomize=True, deadline=None)
hypothesis_settings.register_profile("wander", deadline=None)
hypothesis_settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeat"))


def pytest_collection_finish() -> None:
    """Half a million objects of modules and tests live to the end: nobody looks for litter there.

    Looking through them again and again was a seventh of all the time the tests took.
    """
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session", autouse=True)
def _statements_written_once() -> Iterator[None]:
    """One memory of SQL for the journals of all tests.

    SQLAlchemy writes a statement once for each engine, and every test has an engine of its own:
    a fifth of the time the tests of `journal` took went into writing the same statements again.
    """
    make, written, dialects = opening.open_engine, {}, []

    def open_engine(url: str) -> Engine:
        engine = make(url)
        if engine.dialect.name == "sqlite":
            dialects.append(engine.dialect)
            engine.dialect = dialects[0]
            engine.update_execution_options(compiled_cache=written)
        return engine

    patch = pytest.MonkeyPatch()
    patch.setattr(opening, "open_engine", open_engine)
    yield
    patch.undo()


@pytest.fixture(scope="session")
def _empty_journal(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One new journal, migrated once for all the tests that start from one."""
    folder = tmp_path_factory.mktemp("empty") / "journal"
    open_journal(folder).close()
    return folder


@pytest.fixture
def journal(tmp_path: Path, _empty_journal: Path) -> Iterator[Journal]:
    """A new, empty journal in a folder of its own."""
    opened = open_journal(shutil.copytree(_empty_journal, tmp_path / "journal"))
    yield opened
    opened.close()


@pytest.fixture
def desk(qapp: QApplication, journal: Journal, tmp_path: Path) -> Iterator[Desk]:
    """A desk on an empty journal, with settings of its own."""
    look = theme.current()
    look.set_setting("light")
    look.apply(qapp)
    settings = Settings(QSettings(str(tmp_path / "desk.ini"), QSettings.Format.IniFormat))
    made = Desk(journal, settings, look, tmp_path / "drafts")
    yield made
    made.close()
