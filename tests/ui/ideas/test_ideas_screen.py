"""The ideas screen: noted in seconds, drawn, and settled with what came of them."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.form_decisions import read_story
from studiolog.journal.forms import list_forms
from studiolog.journal.ideas import IdeaPage, list_ideas, read_idea_page
from studiolog.ui.ideas.screen import IdeasScreen
from tests.photo_files import phone_jpeg
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def screen(studio: SmallStudio, open_screen: OpenScreen) -> IdeasScreen:
    return open_screen(IdeasScreen)


def note(screen: IdeasScreen, title: str) -> None:
    """Press N, type a title, press Enter."""
    QTest.keyClick(screen, Qt.Key.Key_N)
    line = screen.side.new_name.line
    line.setText(title)
    QTest.keyClick(line, Qt.Key.Key_Return)


def shown(screen: IdeasScreen) -> IdeaPage:
    page = screen.desk.read(lambda session: read_idea_page(session, screen.view.ident))
    assert page is not None
    return page


def settling(screen: IdeasScreen) -> list[str]:
    """The ways to settle the idea shown that the foot of the window has keys for."""
    return [does for keys, does in screen.foot() if keys[0] in ("A", "B", "D")]


def test_an_idea_and_a_question_are_noted_by_three_keys(screen: IdeasScreen) -> None:
    note(screen, "Bowl with a deeper rim")
    note(screen, "Does Oat hold on porcelain?")
    assert [row.group for row in screen.side.rows()] == ["Ideas", "Open questions"]
    assert shown(screen).kind == "question"
    assert settling(screen) == ["answer", "drop"]
    note(screen, " ")
    assert screen.side.new_name.problem() == "Give the title of the idea."


def test_an_idea_becomes_a_version_of_a_form_by_keys(
    desk: Desk, studio: SmallStudio, screen: IdeasScreen
) -> None:
    note(screen, "Bowl with a deeper rim")
    QTest.keyClick(screen, Qt.Key.Key_B)
    settle = screen.view.settle
    assert settle.line.text() == "Bowl with a deeper rim"
    settle.parent_form.choose(studio.bowl)
    settle.line.line.setText("Soup bowl")
    settle.keep()
    assert "already" in settle.line.problem()
    settle.line.line.setText("Soup bowl, deeper rim")
    QTest.keyClick(settle.line.line, Qt.Key.Key_Return)
    made = next(form for form in desk.read(list_forms) if form.name == "Soup bowl, deeper rim")
    assert (made.parent_id, made.standing) == (studio.bowl, "trial")
    assert settle.form_link.text() == "Soup bowl, deeper rim"
    assert settle.form_words.text() == "It is on trial. None was made yet."
    story = desk.read(lambda session: read_story(session, made.form_id))
    assert [line.kind for line in story] == ["idea", "decision"]
    assert [row.group for row in screen.side.rows()] == ["Settled"]


def test_what_is_dropped_says_why_and_can_be_opened_again(screen: IdeasScreen) -> None:
    assert settling(screen) == [], "there is no idea yet"
    note(screen, "Square plates")
    assert settling(screen) == ["becomes a form", "drop"]
    QTest.keyClick(screen, Qt.Key.Key_D)
    settle = screen.view.settle
    settle.keep()
    assert settle.line.problem() == "Say why it is dropped."
    QTest.keyClick(settle.line.line, Qt.Key.Key_Escape)
    assert settle.asked.isHidden()
    QTest.keyClick(screen, Qt.Key.Key_D)
    settle.line.line.setText("The corners lift.")
    settle.keep()
    assert (shown(screen).state, settle.outcome.text()) == ("dropped", "The corners lift.")
    QTest.keyClick(screen, Qt.Key.Key_A)
    assert settle.asked.isHidden(), "an idea that is dropped has no answer"
    assert settling(screen) == []
    settle.ask("open")
    assert shown(screen).state == "open"


def test_a_dropped_file_is_kept_whole_and_shown_large(
    desk: Desk, screen: IdeasScreen, tmp_path: Path, qtbot: QtBot
) -> None:
    note(screen, "Lantern with a sliding wall")
    file = tmp_path / "IMG_7.jpg"
    file.write_bytes(phone_jpeg())
    pictures = screen.view.pictures
    pictures.frame.files_dropped.emit([str(file)])
    qtbot.waitUntil(lambda: bool(shown(screen).pictures), timeout=8000)
    (kept,) = shown(screen).pictures
    stored = desk.journal.photo_folder.rglob(f"{kept.sha256}*")
    assert next(stored).read_bytes() == file.read_bytes()
    qtbot.waitUntil(lambda: pictures.frame.sentence() == "IMG_7.jpg", timeout=8000)
    pictures.strip.remove_asked.emit(kept.picture_id)
    assert shown(screen).pictures == ()
    desk.edits.undo()
    assert len(shown(screen).pictures) == 1


def test_an_idea_is_deleted_and_comes_back(desk: Desk, screen: IdeasScreen) -> None:
    note(screen, "Square plates")
    screen.delete_shown()
    assert desk.read(list_ideas) == []
    desk.edits.undo()
    assert [line.title for line in desk.read(list_ideas)] == ["Square plates"]
