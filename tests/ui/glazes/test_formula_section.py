"""The formula on the page of a glaze: read, followed while typing, and its rules set in place."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze
from studiolog.journal.limits import read_limits
from studiolog.journal.materials import LotDraft, add_lot, list_materials
from studiolog.ui.glazes.formula_section import FormulaSection
from studiolog.ui.glazes.glaze_view import GlazeView
from studiolog.ui.glazes.screen import GlazesScreen
from studiolog.ui.parts.caution_line import CautionLine
from tests.ui.conftest import OpenScreen

RECIPE = (
    RecipePart("Potash feldspar (orthoclase/microcline)", 40),
    RecipePart("Silica", 30),
    RecipePart("Whiting", 20),
    RecipePart("Kaolin (kaolinite)", 10),
)


@pytest.fixture
def view(desk: Desk, open_screen: OpenScreen) -> GlazeView:
    desk.edits.run("Add", lambda s: add_glaze(s, GlazeDraft(name="Base", recipe=RECIPE)))
    page = open_screen(GlazesScreen, 1216, 1400).page
    assert isinstance(page, GlazeView)
    return page


def words_in(root: QWidget) -> str:
    QApplication.processEvents()
    return "\n".join(one.text() for one in root.findChildren(QLabel) if one.isVisibleTo(root))


def cautions(section: FormulaSection) -> list[str]:
    QApplication.processEvents()
    shown = [one for one in section.findChildren(CautionLine) if one.isVisibleTo(section)]
    return [one.sentence() for one in shown]


def type_into(view: GlazeView, row: int, column: int, text: str) -> QLineEdit:
    grid = view.recipe.grid.grid
    grid.setCurrentCell(row, column)
    grid.editItem(grid.item(row, column))
    editor = grid.findChildren(QLineEdit)[-1]
    editor.selectAll()
    QTest.keyClicks(editor, text)
    return editor


def test_the_formula_stands_under_the_recipe_and_follows_what_is_typed(view: GlazeView) -> None:
    section = view.formula
    # The 4:3:2:1 recipe (common practice; figures of our own arithmetic).
    assert "K₂O 0.26, CaO 0.74; Al₂O₃ 0.41; SiO₂ 3.71" in section.view.sentence()
    assert section.silica.accessibleName().startswith("SiO₂ : Al₂O₃: 9.1")
    assert "±1" in section.expansion.accessibleName()
    assert "Appen" in section.expansion.accessibleName()
    assert section.loss.accessibleName().startswith("Loss on ignition: 10.2")
    assert "Theoretical" in words_in(section)

    editor = type_into(view, 1, 1, "60")
    assert section.quiet.text() == "as typed"
    assert "SiO₂ 5.5" in section.view.sentence()
    QTest.keyClick(editor, Qt.Key.Key_Escape)
    QApplication.processEvents()
    assert "SiO₂ 3.71" in section.view.sentence(), "given up: as it was"

    type_into(view, 1, 1, "60")
    QTest.keyClick(view.recipe.grid.grid.findChildren(QLineEdit)[-1], Qt.Key.Key_Return)
    QApplication.processEvents()
    assert "SiO₂ 5.5" in section.view.sentence()
    assert section.quiet.text() == ""


def test_a_material_without_analysis_is_named_with_the_way_to_add_one(
    view: GlazeView, desk: Desk
) -> None:
    section = view.formula
    shown: list[tuple[str, int]] = []
    desk.asked_for.connect(lambda kind, ident, _more: shown.append((kind, ident)))
    editor = type_into(view, len(RECIPE), 0, "Ash")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    QApplication.processEvents()
    editor = type_into(view, len(RECIPE), 1, "9")
    assert cautions(section)[0] == "No analysis of Ash is known: add one in Materials."
    assert "incomplete" in section.silica.accessibleName()
    assert not section.to_materials.isVisible(), "the name may be half typed"
    QTest.keyClick(editor, Qt.Key.Key_Return)
    QApplication.processEvents()

    assert section.to_materials.text() == "Add it"
    section.to_materials.setFocus()
    QTest.keyClick(section.to_materials, Qt.Key.Key_Space)
    (ash,) = [one for one in desk.read(list_materials) if one.name == "Ash"]
    assert shown == [("material", ash.material_id)]
    lot = LotDraft(oxides={"CaO": 50.0, "SiO2": 20.0}, loi_percent=30.0)
    desk.edits.run("Analysis", lambda session: add_lot(session, ash.material_id, lot))
    assert cautions(section) == []
    assert "incomplete" not in section.silica.accessibleName()


def test_the_rules_are_set_in_place_for_the_studio_and_undone(view: GlazeView, desk: Desk) -> None:
    section = view.formula
    box = section.rules["colourants_as_flux"]
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Space)
    assert desk.read(read_limits)["colourants_as_flux"] == 1.0
    assert "MnO and FeO count among the fluxes" in words_in(section)
    assert "every glaze of the studio" in words_in(section)
    desk.edits.undo()
    assert not box.isChecked()


def test_percentages_are_one_key_away(view: GlazeView) -> None:
    section = view.formula
    assert not section.percents.isVisible()
    section.link.setFocus()
    QTest.keyClick(section.link, Qt.Key.Key_Space)
    shown = words_in(section.percents)
    assert "67.43" in shown, "silica by weight, of the fired glaze"
    assert "72.50" in shown, "and in moles"
    assert "English–Turner" in shown
    assert section.link.text().startswith("Hide")


def test_a_slip_without_flux_shows_mole_per_cent(view: GlazeView, desk: Desk) -> None:
    slip = GlazeDraft(name="Slip", kind="slip", recipe=(RecipePart("Kaolin (kaolinite)", 100),))
    view.version_asked.emit(desk.edits.run("Add", lambda session: add_glaze(session, slip)))
    section = view.formula
    assert section.view.sentence().startswith("No flux, so there is no unity formula. Mole per")
    assert "SiO₂ 66.67" in section.view.sentence(), "two of silica to one of alumina"
    assert section.silica.accessibleName().startswith("SiO₂ : Al₂O₃: 2.0")
    assert any(one.startswith("Expansion: fluxes are 0") for one in cautions(section))
