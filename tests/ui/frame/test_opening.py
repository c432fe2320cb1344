"""The first start: a new journal in a folder that need not be there yet."""

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from studiolog.desktop.settings import Settings
from studiolog.journal.opening import is_journal
from studiolog.ui.frame.opening import Opening
from studiolog.ui.frame.start_sheet import StartSheet


def test_a_new_journal_is_named_and_its_folder_made(
    qapp: QApplication, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "pots" / "Studio journal"
    asked: list[str] = []

    def name_it(_parent: object, title: str, *_more: object, **_options: object) -> tuple[str, str]:
        asked.append(title)
        return str(folder), ""

    def choose_new(sheet: StartSheet) -> int:
        sheet.wanted = "new"
        return 1

    monkeypatch.setattr(QFileDialog, "getSaveFileName", name_it)
    monkeypatch.setattr(StartSheet, "exec", choose_new)
    settings = Settings(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))
    opening = Opening(qapp, settings, tmp_path / "home", lambda: tmp_path)
    try:
        assert opening.start("", None, demo=False)
        assert asked == ["Name the new journal's folder"]
        assert is_journal(folder)
        assert settings.last_journal == str(folder)
    finally:
        opening.close()
