"""A recipe from a formula, a material replaced, and a laboratory asked, on their sheets."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QLabel
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.glaze_page import read_glaze_page
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze, list_glazes
from studiolog.ui.glazes.glaze_view import GlazeView
from studiolog.ui.glazes.laboratory_sheet import LaboratorySheet
from studiolog.ui.glazes.screen import GlazesScreen
from studiolog.ui.glazes.target_sheet import TargetSheet
from tests.ui.conftest import OpenScreen

RECIPE = (
    RecipePart("Potash feldspar", 40),
    RecipePart("Silica", 30),
    RecipePart("Whiting", 20),
    RecipePart("Kaolin", 10),
    RecipePart("Cobalt carbonate", 1, addition=True),
)


@pytest.fixture
def glaze(desk: Desk) -> int:
    draft = GlazeDraft(name="Deep Tide", recipe=RECIPE)
    return desk.edits.run("Add Deep Tide", lambda session: add_glaze(session, draft))


@pytest.fixture
def make_sheet(desk: Desk, glaze: int, qtbot: QtBot) -> Iterator[type[TargetSheet]]:
    def make(replacing: bool = False) -> TargetSheet:
        sheet = TargetSheet(desk, glaze, replacing)
        qtbot.addWidget(sheet)
        sheet.show()
        qtbot.waitExposed(sheet)
        return sheet

    return make  # type: ignore[return-value]


def words_in(sheet: QDialog) -> str:
    QApplication.processEvents()
    return "\n".join(one.text() for one in sheet.findChildren(QLabel) if one.isVisibleTo(sheet))


def test_a_formula_typed_on_one_line_finds_its_recipe_which_is_kept_as_a_version(
    desk: Desk, glaze: int, make_sheet
) -> None:
    sheet = make_sheet()
    assert sheet.parts() == pytest.approx(
        {"Potash feldspar": 40, "Silica": 30, "Whiting": 20, "Kaolin": 10}
    )
    assert sheet.found.verdict.text() == "It meets the formula."
    line = sheet.formula.line.line
    assert sheet.focusWidget() is line
    line.setText("0.3 K2O 0.7 CaO 0.5 Al2O3 4,0 SiO2")
    QTest.keyClick(line, Qt.Key.Key_Return)
    assert sheet.formula.field("SiO2").text() == "4"
    assert sheet.isVisible(), "Enter finishes the line and not the sheet"
    # The feldspar of the shelf holds some soda, which was not asked for.
    assert "does not meet the formula" in sheet.found.verdict.text()
    assert "Na₂O, which is not asked for, comes with Potash feldspar" in words_in(sheet.found)
    QTest.mouseClick(sheet.together, Qt.MouseButton.LeftButton)
    assert sheet.found.verdict.text() == "It meets the formula."
    assert sum(sheet.parts().values()) == pytest.approx(100)
    parts = sheet.parts()
    QTest.keyClick(sheet, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert not sheet.isVisible()
    newest = desk.read(list_glazes)[-1]
    page = desk.read(lambda session: read_glaze_page(session, newest.glaze_id))
    assert page is not None
    assert page.title == "Deep Tide, version 2"
    assert {p.material: p.parts for p in page.recipe if not p.addition} == pytest.approx(parts)
    assert [p.material for p in page.recipe if p.addition] == ["Cobalt carbonate"]
    desk.edits.undo()
    assert [line.title for line in desk.read(list_glazes)] == ["Deep Tide"]


def test_what_is_typed_is_followed_letter_by_letter_and_mistakes_are_said(make_sheet) -> None:
    sheet = make_sheet()
    field = sheet.formula.field("Li2O")
    QTest.keyClicks(field, "0.2")
    assert "No material chosen brings Li₂O" in words_in(sheet.found)
    assert "−" in sheet.formula._off["Li2O"].text()
    QTest.keyClicks(field, "x")
    assert "is not a number" in sheet.formula.problem.sentence()
    field.clear()
    QTest.keyClicks(field, "0")
    assert sheet.formula.problem.sentence() == ""
    sheet.formula.line.line.setText("0.3 K2O 0.7 Moonstone")
    QTest.keyClick(sheet.formula.line.line, Qt.Key.Key_Return)
    assert "not among the oxides" in sheet.formula.line.problem()
    for oxide in ("K2O", "Na2O", "CaO", "MgO"):
        sheet.formula.field(oxide).clear()
    QTest.keyClicks(sheet.formula.field("ZnO"), "0")
    assert "has no flux yet" in sheet.found.verdict.text()
    assert not sheet.keep_button.isEnabled()


def test_materials_are_ticked_held_and_added_by_name(make_sheet) -> None:
    sheet = make_sheet()
    row = next(at for at, one in enumerate(sheet.shelf.materials()) if one.name == "Whiting")
    sheet.shelf.type_cell(row, 3, "8")
    assert sheet.parts()["Whiting"] == pytest.approx(8.0)
    assert "Whiting is held at the most you allow" in words_in(sheet.found)
    sheet.shelf.type_cell(row, 2, "9")
    assert "least parts are more than the most" in sheet.shelf.problem() or sheet.recipe()
    sheet.shelf.type_cell(row, 2, "")
    sheet.shelf.type_cell(row, 3, "")
    sheet.shelf.set_used(["Whiting"], False)
    assert "Whiting" not in sheet.parts()
    last = sheet.shelf.grid.rowCount() - 1
    sheet.shelf.type_cell(last, 1, "Dust of the moon")
    QApplication.processEvents()
    assert "Left out, for there is no analysis of it: Dust of the moon" in words_in(sheet.found)
    parts_cell = sheet.shelf.grid.item(0, 4)
    assert parts_cell is not None
    assert not parts_cell.flags() & Qt.ItemFlag.ItemIsEditable
    QTest.keyClicks(sheet.clay.line, "30")
    assert sheet.parts()["Kaolin"] >= 30 - 0.05


def test_rounding_says_what_it_does(make_sheet) -> None:
    sheet = make_sheet()
    sheet.formula.line.line.setText("0.31 K2O 0.1 Na2O 0.59 CaO 0.47 Al2O3 3.93 SiO2")
    QTest.keyClick(sheet.formula.line.line, Qt.Key.Key_Return)
    sheet.found.rounding.pick(1.0)
    assert all(parts == round(parts) for parts in sheet.parts().values())
    assert sum(sheet.parts().values()) == 100
    sheet.found.rounding.pick(0.0)
    assert any(parts != round(parts, 1) for parts in sheet.parts().values())


def test_a_material_that_is_gone_gives_way_and_the_swap_is_told(desk: Desk, make_sheet) -> None:
    sheet = make_sheet(replacing=True)
    assert sheet.gone.chosen() == "Potash feldspar"
    assert sheet.together.isChecked()
    assert "Potash feldspar" not in sheet.parts()
    assert sheet.found.verdict.text() == "It meets the formula."
    assert "became Na₂O" in words_in(sheet.found) or "became K₂O" in words_in(sheet.found)
    sheet.gone.choose("Whiting")
    sheet.take_gone("Whiting")
    assert not sheet.together.isChecked()
    assert "Whiting" not in sheet.parts()
    assert sheet.formula.field("CaO").isReadOnly()
    QTest.keyClicks(sheet.name.line, "Deep Tide")
    sheet.keep_as_new()
    assert "a glaze named Deep Tide already" in sheet.name.problem()
    assert sheet.isVisible()
    sheet.name.set_text("Deep Tide without whiting")
    sheet.keep_as_new()
    assert [line.name for line in desk.read(list_glazes)][-1] == "Deep Tide without whiting"


def test_what_is_on_top_gives_way_and_the_base_keeps_its_lots(desk: Desk, make_sheet) -> None:
    sheet = make_sheet(replacing=True)
    cobalt = sheet.gone.findText("Cobalt carbonate, on top")
    sheet.gone.setCurrentIndex(cobalt)
    sheet.gone.activated.emit(cobalt)
    assert not sheet.clay.isVisible()
    # CoCO₃ is 118.94 g/mol and holds 74.93 of CoO, 63.0 %; a third of Co₃O₄ holds 93.4 %.
    assert sheet.parts() == pytest.approx({"Cobalt oxide (Co3O4)": 0.67})
    assert "CoO stays at 0.63" in words_in(sheet.found)
    assert sheet.found.verdict.text().startswith("It brings as much")
    assert sheet.formula.field("CoO").text()
    assert sheet.formula.field("CoO").isReadOnly()
    sheet.found.rounding.pick(1.0)
    assert "not rounded" in sheet.found.verdict.text()
    sheet.found.rounding.pick(0.01)
    before = desk.read(lambda session: read_glaze_page(session, sheet._start.glaze_id))
    sheet.keep()
    assert not sheet.isVisible()
    newest = desk.read(list_glazes)[-1]
    page = desk.read(lambda session: read_glaze_page(session, newest.glaze_id))
    assert page is not None
    assert before is not None
    base = [part for part in page.recipe if not part.addition]
    assert [(p.material, p.parts, p.lot_id) for p in base] == [
        (p.material, p.parts, p.lot_id) for p in before.recipe if not p.addition
    ]
    assert [p.material for p in page.recipe if p.addition] == ["Cobalt oxide (Co3O4)"]


def test_a_laboratory_is_asked_once_it_is_said_what_the_ware_is(
    desk: Desk, glaze: int, qtbot: QtBot
) -> None:
    sheet = LaboratorySheet(desk, glaze)
    qtbot.addWidget(sheet)
    sheet.show()
    assert "Say what the pieces are used as" in sheet.why_not.sentence()
    assert not sheet.keep_button.isEnabled()
    everything = sheet.table.rowCount()
    sheet.article.choose("cup")
    sheet.refresh()
    assert "Say which clay" in sheet.why_not.sentence()
    QTest.keyClicks(sheet.clay.line, "Buff stoneware")
    QTest.keyClicks(sheet.firing.line, "cone 6")
    assert sheet.why_not.sentence() == ""
    assert 0 < sheet.table.rowCount() < everything
    kinds = {sheet.table.item(row, 4).text() for row in range(sheet.table.rowCount())}  # type: ignore[union-attr]
    assert "not a ceramics rule" in kinds
    sheet.keep()
    copied = QGuiApplication.clipboard().text()
    assert "Glaze: Deep Tide, on Buff stoneware, cone 6." in copied
    assert "cobalt" in copied
    assert sheet.isVisible()


def test_what_is_typed_into_a_recipe_is_cared_for_at_once(
    desk: Desk, glaze: int, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    screen.show_thing(glaze)
    view = screen.page
    assert isinstance(view, GlazeView)
    assert "CoO" in words_in(view.care)  # type: ignore[arg-type]
    view.recipe.grid.type_cell(5, 0, "Manganese dioxide")
    view.recipe.grid.type_cell(5, 1, "8")
    assert "In the kiln" in words_in(view.care)  # type: ignore[arg-type]
    assert any(one.when == "kiln" for one in view.care.hazards())
    sheet = view.searches.search(replacing=False)
    sheet.kept.emit(glaze)
    sheet.close()


def test_a_page_pasted_into_a_field_is_refused_in_a_line(desk: Desk, make_sheet) -> None:
    """Ten thousand lines, as a slip of the clipboard brings them."""
    page = "\n".join(f"line {number}: feldspar {number} %" for number in range(10_000))
    sheet = make_sheet()
    found = sheet.parts()
    sheet.formula.line.line.insert(page)
    QTest.keyClick(sheet.formula.line.line, Qt.Key.Key_Return)
    assert "a formula is a line or two" in sheet.formula.line.problem()
    assert sheet.parts() == found
    field = sheet.formula.field("SiO2")
    for typed in ("9" * 400, "nan", "1e9", "-3"):
        field.setText(typed)
        field.textEdited.emit(typed)
        assert sheet.formula.problem.sentence()
        assert len(sheet.formula.problem.sentence()) < 200
    field.setText("3.7")
    field.textEdited.emit("3.7")
    assert sheet.formula.problem.sentence() == ""
    sheet.name.line.setText(page)
    sheet.keep_as_new()
    assert "200 at most" in sheet.name.problem()
    assert [line.title for line in desk.read(list_glazes)] == ["Deep Tide"]
