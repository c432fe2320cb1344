"""A desk over a small journal, for every screen."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.settings import Settings
from studiolog.journal.opening import Journal


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
