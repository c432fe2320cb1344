"""A potter draws a bowl, tries it, says no and why, changes it, and makes it in number."""

from datetime import date, datetime
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.desktop.desk import Desk
from studiolog.journal.form_page import FormPage, read_form_page
from studiolog.journal.ideas import read_idea_page
from studiolog.journal.pieces import RunDraft, log_run, move_to_stage
from studiolog.journal.safekeeping import check_journal
from studiolog.journal.tables import table
from studiolog.ui.forms.screen import FormsScreen
from studiolog.ui.frame.window import Window
from studiolog.ui.ideas.screen import IdeasScreen
from tests.photo_files import phone_jpeg


def form_of(desk: Desk, form_id: int) -> FormPage:
    page = desk.read(lambda session: read_form_page(session, form_id))
    assert page is not None
    return page


def make(session: Session, form: int, how_many: int, lost: int) -> None:
    """A run of today, all of it fired but for what was lost while it dried."""
    run = log_run(session, RunDraft(made_on=date.today(), form_id=form, how_many=how_many))
    piece = table("piece")
    for place, ident in enumerate(session.scalars(select(piece.c.id).where(piece.c.run_id == run))):
        stage = "lost" if place < lost else "fired"
        move_to_stage(session, ident, stage, datetime.now(), "rim sank")


def decide(forms: FormsScreen, standing: str, why: str) -> None:
    story = forms.view.story
    story.ask(standing)
    story.reasons.line.setText(why)
    QTest.keyClick(story.reasons.line, Qt.Key.Key_Return)


def test_an_idea_with_a_sketch_becomes_a_form_and_its_version_is_made_in_number(
    desk: Desk, qtbot: QtBot, tmp_path: Path
) -> None:
    window = Window(desk)
    qtbot.addWidget(window)
    window.resize(1280, 800)
    window.show()
    window.actions_by_key["note_idea"].trigger()
    ideas = window.stack.currentWidget()
    assert isinstance(ideas, IdeasScreen)
    ideas.side.new_name.line.setText("Bowl with a deeper rim")
    QTest.keyClick(ideas.side.new_name.line, Qt.Key.Key_Return)
    sketch = tmp_path / "sketch.jpg"
    sketch.write_bytes(phone_jpeg())
    ideas.view.pictures.strip.files_dropped.emit([str(sketch)])
    idea = ideas.view.ident
    page = partial(desk.read, lambda session: read_idea_page(session, idea))
    qtbot.waitUntil(lambda: bool(page().pictures), timeout=8000)  # type: ignore[union-attr]
    QTest.keyClick(ideas, Qt.Key.Key_B)
    QTest.keyClick(ideas.view.settle.line.line, Qt.Key.Key_Return)
    assert window.focusWidget() is ideas.side.list
    ideas.view.settle.form_link.click()

    forms = window.stack.currentWidget()
    assert isinstance(forms, FormsScreen)
    first = forms.view.ident
    assert form_of(desk, first).standing == "trial"
    desk.edits.run("A trial run", partial(make, form=first, how_many=4, lost=2))
    decide(forms, "no_go", "Two of four rims sank while they dried.")
    # The next letter is a key of the screen again, not typed into the next field of the page.
    assert window.focusWidget() is forms.side.list
    story = form_of(desk, first).story
    assert [line.kind for line in story][:2] == ["idea", "decision"]
    assert (story[-1].standing, story[-1].words) == (
        "no_go",
        "Two of four rims sank while they dried.",
    )
    made = next(line for line in story if line.kind == "made")
    assert (made.made, made.lost) == (4, 2)

    QTest.keyClick(forms, Qt.Key.Key_V)
    forms.view.versions.line.line.setText("ribbed firm")
    QTest.keyClick(forms.view.versions.line.line, Qt.Key.Key_Return)
    second = forms.view.ident
    assert second != first
    desk.edits.run("A second run", partial(make, form=second, how_many=6, lost=0))
    decide(forms, "go", "All six stood.")
    family = form_of(desk, second).family
    assert [(one.standing, one.outcome.pieces, one.outcome.lost.events) for one in family] == [
        ("no_go", 4, 2),
        ("go", 6, 0),
    ]
    assert forms.view.story.quiet.text() == "made in number"
    assert check_journal(desk.journal).problems == ()
    for _ in range(3):
        desk.edits.undo()
    assert [one.form_id for one in form_of(desk, first).family] == [first]
    desk.jobs.wait()
