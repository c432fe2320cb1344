"""A potter asks what ran, looks at the evidence, and plans the next test, by keyboard."""

from datetime import date
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.finding import read_hits
from studiolog.journal.inspections import InspectionDraft, SurfaceDraft, log_inspection
from studiolog.journal.pieces import delete_piece
from studiolog.journal.question import Combination, ConeRange, Question
from studiolog.journal.questions import read_kept_questions
from studiolog.ui.findings.screen import FindingsScreen
from studiolog.ui.parts.choice import TokenButton
from studiolog.ui.parts.plan_wanted import PlanWanted


@pytest.fixture
def screen(qtbot: QtBot, desk: Desk) -> FindingsScreen:
    made = FindingsScreen(desk)
    qtbot.addWidget(made)
    made.resize(1440, 900)
    return made


def show(qtbot: QtBot, screen: FindingsScreen) -> None:
    screen.show()
    screen.activateWindow()
    qtbot.waitExposed(screen)


def tokens(screen: FindingsScreen) -> list[str]:
    return [token.text() for token in screen.bar.findChildren(TokenButton) if not token.isHidden()]


def cell_title(screen: FindingsScreen) -> str:
    return screen.evidence.section.title.text()


def test_it_opens_with_the_fault_seen_most_and_its_worst_cell(
    qtbot: QtBot, screen: FindingsScreen, worked: Any
):
    show(qtbot, screen)
    assert tokens(screen) == ["running"]
    assert screen.counts.text() == "17 pieces answer it. Left out: 2 where nobody looked."
    assert cell_title(screen) == "Kelp over Chalk on Buff stoneware"
    assert screen.matrix.accessibleDescription() == (
        "Kelp over Chalk on Buff stoneware: 7 pieces, running seen on 6 of 7, "
        "somewhere between 49 and 97 in 100"
    )
    assert screen.evidence.grid.isVisible()


def test_arrows_move_o_swaps_and_enter_opens_the_pieces(
    qtbot: QtBot, screen: FindingsScreen, worked: Any, desk: Desk
):
    show(qtbot, screen)
    opened: list[tuple[Any, ...]] = []
    desk.asked_for.connect(lambda *asked: opened.append(asked))
    screen.matrix.setFocus()
    qtbot.keyClick(screen.matrix, Qt.Key.Key_O)
    assert cell_title(screen) == "Chalk over Kelp on Buff stoneware"
    qtbot.keyClick(screen.matrix, Qt.Key.Key_Right)
    assert cell_title(screen) == "Chalk over Kelp on Iron-red stoneware"
    qtbot.keyClick(screen.matrix, Qt.Key.Key_Left)
    qtbot.keyClick(screen.matrix, Qt.Key.Key_Left)
    assert cell_title(screen) == "Chalk over Kelp on Buff stoneware"
    qtbot.keyClick(screen.matrix, Qt.Key.Key_Return)
    assert screen.grid.isVisible()
    assert screen.list_title.text() == "Chalk over Kelp on Buff stoneware: 8 pieces"
    qtbot.keyClick(screen.grid, Qt.Key.Key_Return)
    assert opened[-1][0] == "piece"
    qtbot.keyClick(screen.grid, Qt.Key.Key_Escape)
    assert screen.list_title.text() == "17 pieces, worst first"


def test_t_opens_the_quick_log_filled_in_for_the_test(
    qtbot: QtBot, screen: FindingsScreen, worked: Any, desk: Desk
):
    show(qtbot, screen)
    screen.matrix.setFocus()
    row = next(
        n for n, head in enumerate(screen._page.matrix.rows) if head.title == "Chalk over Kelp"
    )
    screen.matrix.choose(row, 1)
    with qtbot.waitSignal(desk.asked_for) as asked:
        qtbot.keyClick(screen.matrix, Qt.Key.Key_T)
    kind, _, more = asked.args
    assert kind == "quick_log"
    assert more == {"prefill": {"clay_id": worked.red, "layers": "kelp, chalk"}, "pieces": 9}


def test_l_lays_out_a_plan_of_the_glazes_each_way_up(
    qtbot: QtBot, screen: FindingsScreen, worked: Any, desk: Desk
):
    show(qtbot, screen)
    screen.matrix.setFocus()
    rows = screen._page.matrix.rows
    row = next(n for n, head in enumerate(rows) if head.title == "Chalk over Kelp")
    screen.matrix.choose(row, 1)
    with qtbot.waitSignal(desk.asked_for) as asked:
        qtbot.keyClick(screen.matrix, Qt.Key.Key_L)
    kind, _, wanted = asked.args
    assert kind == "plan"
    assert wanted == PlanWanted(
        "over_under",
        (worked.kelp, worked.chalk),
        worked.red,
        "Chalk over Kelp on Iron-red stoneware: running?",
    )


def test_typing_a_question_shows_how_it_is_read(qtbot: QtBot, screen: FindingsScreen, worked: Any):
    show(qtbot, screen)
    screen.matrix.setFocus()
    qtbot.keyClick(screen.matrix, "/")
    line = screen.bar.line
    assert line.isVisible()
    assert line.edit.selectedText() == "How often does running show?"
    qtbot.keyClicks(line.edit, "running, chak over kelp, cone 5-7 as measured")
    assert [word.word for word in line.reading().unread] == ["chak", "over"]
    qtbot.keyClick(line.edit, Qt.Key.Key_Return)
    assert line.isVisible()  # a word that was not understood is not dropped without a say
    near = next(
        button
        for button in line.findChildren(QWidget)
        if button.accessibleName() == "Read chak as Chalk"
    )
    qtbot.mouseClick(near, Qt.MouseButton.LeftButton)
    assert line.reading().unread == ()
    qtbot.keyClick(line.edit, Qt.Key.Key_Return)
    assert not line.isVisible()
    assert tokens(screen) == ["running", "Chalk over Kelp", "cone 5–7 as measured"]
    assert screen.counts.text() == "10 pieces answer it."


def test_escape_leaves_the_question_as_it_was(qtbot: QtBot, screen: FindingsScreen, worked: Any):
    show(qtbot, screen)
    screen.bar.start_typing()
    qtbot.keyClicks(screen.bar.line.edit, "crazing")
    qtbot.keyClick(screen.bar.line.edit, Qt.Key.Key_Escape)
    assert not screen.bar.line.isVisible()
    assert tokens(screen) == ["running"]


def test_a_token_is_removed_by_key_and_the_sentence_still_reads(
    qtbot: QtBot, screen: FindingsScreen, worked: Any
):
    show(qtbot, screen)
    screen.ask(Question(fault="running", zone="outside", clay_id=worked.buff))
    token = next(t for t in screen.bar.findChildren(TokenButton) if t.text() == "outside")
    token.setFocus()
    qtbot.keyClick(token, Qt.Key.Key_Delete)
    assert tokens(screen) == ["running", "Buff stoneware"]
    assert screen.bar.accessibleDescription() == (
        "How often does running show on pieces made of Buff stoneware?"
    )
    assert isinstance(screen.bar.focusWidget(), TokenButton)


def test_the_menu_adds_to_the_question(qtbot: QtBot, screen: FindingsScreen, worked: Any):
    show(qtbot, screen)
    menu = screen.bar.add_button.menu()
    menu.aboutToShow.emit()
    glazes = next(a.menu() for a in menu.actions() if a.text() == "Glazes")
    glazes.actions()[0].trigger()
    assert tokens(screen) == ["running", "two glazes overlap"]
    menu.aboutToShow.emit()
    cones = next(a.menu() for a in menu.actions() if a.text() == "Cone at the piece")
    next(a for a in cones.actions() if a.text() == "only as measured").trigger()
    assert screen.bar.question().cone == ConeRange(None, None, "read")


def test_left_out_pieces_are_listed(qtbot: QtBot, screen: FindingsScreen, worked: Any):
    show(qtbot, screen)
    qtbot.mouseClick(screen.list_left_out, Qt.MouseButton.LeftButton)
    assert screen.list_title.text() == "2 pieces left out"
    qtbot.keyClick(screen.grid, Qt.Key.Key_Right)
    assert screen.grid.accessibleDescription().endswith("not looked")


def test_the_table_says_the_same(qtbot: QtBot, screen: FindingsScreen, worked: Any):
    show(qtbot, screen)
    screen.matrix.setFocus()
    qtbot.keyClick(screen.matrix, Qt.Key.Key_B)
    model = screen.table.model()
    assert model.rowCount() == 17
    assert model.index(0, 1).data() == "severe"
    assert model.index(0, 3).data() == "Outside: Kelp over Chalk"
    assert model.index(0, 5).data().startswith("6")
    assert not screen.side.isVisible()


def test_a_surface_is_asked_for_and_told_on_its_pictures(
    qtbot: QtBot, screen: FindingsScreen, worked: Any, desk: Desk
):
    def describe(session: Any) -> None:
        pieces = [hit.piece_id for hit in read_hits(session, Question(fault="running"))]
        for piece_id, word in zip(pieces, ("matt", "matt", "glossy"), strict=False):
            said = (SurfaceDraft(word, "outside"), SurfaceDraft("opaque"))
            look = InspectionDraft(looked_on=date(2026, 9, 4), surfaces=said)
            log_inspection(session, piece_id, look)

    desk.edits.run("Describe", describe)
    show(qtbot, screen)
    screen.bar.start_typing()
    screen.bar.line.edit.setText("matt outside")
    qtbot.keyClick(screen.bar.line.edit, Qt.Key.Key_Return)
    assert screen.bar.accessibleDescription() == (
        "How often does the surface show matt on the outside?"
    )
    assert screen.counts.text().startswith("3 pieces answer it. Left out: ")
    assert screen.counts.text().endswith("where nobody described it so far.")
    screen.view.pick("gallery")
    assert screen.list_title.text() == "3 pieces, those so first"
    qtbot.keyClick(screen.grid, Qt.Key.Key_Home)
    assert screen.grid.accessibleDescription().endswith("surface: matt, opaque")
    screen.view.pick("table")
    seen = [screen.table.model().index(n, 1).data() for n in range(3)]
    assert seen == ["so", "so", "otherwise"]
    assert screen.table.model().index(2, 4).data() == "glossy, opaque"
    menu = screen.bar.add_button.menu()
    menu.aboutToShow.emit()
    surfaces = next(a for a in menu.actions() if a.text() == "Surface").menu()
    next(a for a in surfaces.actions() if a.text() == "satin").trigger()
    assert tokens(screen) == ["satin or matt", "outside"]


def test_glazes_without_a_formula_are_left_out_and_counted(
    qtbot: QtBot, screen: FindingsScreen, worked: Any
):
    show(qtbot, screen)
    menu = screen.bar.add_button.menu()
    menu.aboutToShow.emit()
    formulas = next(a for a in menu.actions() if a.text() == "Formula of a glaze").menu()
    formulas.actions()[0].trigger()
    assert tokens(screen) == ["running", "SiO₂:Al₂O₃ above 8"]
    assert "glazes have no formula and were left out." in screen.counts.text()
    assert "Kelp" in screen.counts.toolTip(), "which ones they are"
    assert "Without “SiO₂:Al₂O₃ above 8”" in screen.blocked.sentence.text()
    formulas.actions()[-1].trigger()
    assert screen.bar.line.edit.selectedText().startswith("above ")
    screen.bar.line.edit.setText("")
    qtbot.keyClicks(screen.bar.line.edit, "running, sio2:")
    assert screen.bar.line.offers()[0] == "SiO₂:Al₂O₃ above 8"
    qtbot.keyClick(screen.bar.line.edit, Qt.Key.Key_Right)
    assert screen.bar.line.edit.text() == "running, SiO₂:Al₂O₃ above 8"
    screen.bar.line.edit.setText("crazing, SiO2")
    assert screen.bar.line.reading().unread[0].nearest == ("SiO₂ above 3.5",)


def test_what_nothing_can_meet_names_the_token_to_drop(
    qtbot: QtBot, screen: FindingsScreen, worked: Any
):
    show(qtbot, screen)
    screen.ask(Question(fault="running", zone="outside", cone=ConeRange(9.0, 10.0)))
    assert screen.blocked.isVisible()
    assert screen.blocked.sentence.text() == (
        "No piece meets all of this. Without “cone 9–10”, 19 pieces would."
    )
    qtbot.mouseClick(screen.blocked.action, Qt.MouseButton.LeftButton)
    assert tokens(screen) == ["running", "outside"]
    assert not screen.blocked.isVisible()


def test_a_question_is_kept_and_asked_again(
    qtbot: QtBot, screen: FindingsScreen, worked: Any, desk: Desk
):
    show(qtbot, screen)
    asked = Question(fault="running", combination=Combination("over", worked.kelp, worked.chalk))
    screen.ask(asked)
    screen.kept.start_keeping()
    qtbot.keyClicks(screen.kept.name.line, "Kelp on top")
    qtbot.keyClick(screen.kept.name.line, Qt.Key.Key_Return)
    (line,) = desk.read(read_kept_questions)
    assert line.name == "Kelp on top"
    screen.ask(Question(fault="crazing"))
    screen.kept.menu.aboutToShow.emit()
    screen.kept.menu.actions()[0].trigger()
    assert screen.bar.question() == asked
    screen.kept.start_keeping()
    qtbot.keyClick(screen.kept.name.line, Qt.Key.Key_Return)
    assert screen.kept.name.problem() == "Give the name of the question."


def test_an_edit_elsewhere_is_seen_at_once(
    qtbot: QtBot, screen: FindingsScreen, worked: Any, desk: Desk
):
    show(qtbot, screen)
    worst = screen.evidence.grid.current_piece()
    desk.edits.run("Delete piece", lambda session: delete_piece(session, worst))
    assert screen.counts.text().startswith("16 pieces")
    assert cell_title(screen) == "Kelp over Chalk on Buff stoneware"
    desk.edits.undo()
    assert screen.counts.text().startswith("17 pieces")


def test_an_empty_journal_says_what_findings_are_for(
    qtbot: QtBot, screen: FindingsScreen, studio: Any, desk: Desk
):
    show(qtbot, screen)
    assert screen.empty.isVisible()
    assert screen.matrix.isVisible()
    assert "never tried" in screen.matrix.accessibleDescription()
    assert screen.side.what.text().startswith("5 test pieces, Kelp alone on Buff stoneware")
    with qtbot.waitSignal(desk.asked_for):
        qtbot.mouseClick(screen.empty.action, Qt.MouseButton.LeftButton)


def test_a_journal_without_anything_still_opens(qtbot: QtBot, screen: FindingsScreen, journal: Any):
    show(qtbot, screen)
    assert screen.empty.isVisible()
    assert not screen.matrix.isVisible()


def test_another_screen_hands_over_a_question(qtbot: QtBot, screen: FindingsScreen, worked: Any):
    screen.show_thing(0, "crazing on the inside with Kelp")
    show(qtbot, screen)
    assert tokens(screen) == ["crazing", "inside", "Kelp anywhere"]


def test_below_1280_the_side_column_moves_under(qtbot: QtBot, screen: FindingsScreen, worked: Any):
    show(qtbot, screen)
    beside = screen.side.mapTo(screen, screen.side.rect().topLeft())
    screen.resize(1100, 900)
    qtbot.wait(1)
    under = screen.side.mapTo(screen, screen.side.rect().topLeft())
    assert beside.x() > 900
    assert under.x() < 100


def test_everything_that_takes_the_keyboard_has_a_name(
    qtbot: QtBot, screen: FindingsScreen, worked: Any
):
    show(qtbot, screen)
    screen.bar.start_typing()
    unnamed = [
        type(widget).__name__
        for widget in screen.findChildren(QWidget)
        if widget.isVisible()
        and widget.focusPolicy() & Qt.FocusPolicy.TabFocus
        and not widget.accessibleName()
        and widget.objectName() != "qt_spinbox_lineedit"
    ]
    assert unnamed == []
