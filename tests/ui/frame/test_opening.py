"""The first start: a new journal in a folder that need not be there yet."""

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from studiolog.desktop.notices import Notices
from studiolog.desktop.settings import Settings
from studiolog.journal.opening import is_journal, open_journal
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


def test_a_home_where_nothing_can_be_kept_is_told_and_the_journal_opens(
    qapp: QApplication, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    open_journal(tmp_path / "journal").close()
    said: list[str] = []
    monkeypatch.setattr(Notices, "warn", lambda _self, sentence: said.append(sentence))
    settings = Settings(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))
    opening = Opening(qapp, settings, tmp_path / "file" / "home", lambda: tmp_path)
    try:
        assert opening.start(str(tmp_path / "journal"), None, demo=False)
        assert len(said) == 1
        assert "STUDIOLOG_HOME" in said[0]
    finally:
        opening.close()


def test_a_journal_that_may_only_be_read_says_so_in_the_window(
    qapp: QApplication, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_journal(tmp_path / "journal").close()
    said: list[str] = []
    monkeypatch.setattr(Notices, "warn", lambda _self, sentence: said.append(sentence))
    # Permission as it looks from here; that it truly binds is tested with the journal.
    monkeypatch.setattr("studiolog.journal.opening.may_write", lambda _file: False)
    settings = Settings(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))
    opening = Opening(qapp, settings, tmp_path / "home", lambda: tmp_path)
    try:
        assert opening.start(str(tmp_path / "journal"), None, demo=False)
        assert len(said) == 1
        assert "may only be read" in said[0]
    finally:
        opening.close()
