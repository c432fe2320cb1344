"""Typing a recipe: names are offered, what has no analysis is told, newer lots are named."""

from datetime import date

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton

from studiolog.desktop.desk import Desk
from studiolog.journal.materials import LotDraft, add_lot, list_materials
from studiolog.ui.glazes.glaze_view import GlazeView
from studiolog.ui.glazes.screen import GlazesScreen
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


def test_materials_are_offered_by_any_part_of_their_names(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    screen.add_named("Trial")
    assert isinstance(screen.page, GlazeView)
    recipe = screen.page.recipe
    recipe.grid.grid.setCurrentCell(0, 0)
    QTest.keyClicks(recipe.grid.grid, "s")
    line = recipe.grid.grid.findChildren(QLineEdit)[-1]
    QTest.keyClicks(line, "yenite")
    completer = line.completer()
    assert completer is not None
    popup = completer.popup()
    assert popup is not None
    assert popup.model().index(0, 0).data() == "Nepheline syenite"
    QTest.keyClick(popup, Qt.Key.Key_Down)
    QTest.keyPress(popup, Qt.Key.Key_Return)
    QApplication.processEvents()
    recipe.grid.type_cell(0, 1, "60")
    recipe.grid.grid.setCurrentCell(1, 0)
    QTest.keyClicks(recipe.grid.grid, "A")
    line = recipe.grid.grid.findChildren(QLineEdit)[-1]
    QTest.keyClicks(line, "sh")
    completer = line.completer()
    assert completer is not None
    popup = completer.popup()
    assert popup is not None
    assert popup.isVisible()
    QTest.keyPress(popup, Qt.Key.Key_Tab)
    QApplication.processEvents()
    assert recipe.grid.grid.currentColumn() == 1, "Tab keeps the name and goes on to its parts"
    recipe.grid.type_cell(1, 0, "Ash from the stove")
    recipe.grid.type_cell(1, 1, "40")
    assert recipe.lacking.text() == "No analysis yet: Ash from the stove."
    assert "Nepheline syenite" in [one.name for one in desk.read(list_materials)]


def test_a_recipe_names_the_materials_that_have_a_newer_lot(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    screen.show_thing(studio.kelp)
    assert isinstance(screen.page, GlazeView)
    recipe = screen.page.recipe
    assert not recipe.newer.isVisible()
    (kaolin,) = [line for line in desk.read(list_materials) if line.name == "Kaolin"]
    draft = LotDraft(
        label="spring", dated=date(2026, 4, 2), oxides={"SiO2": 47.0, "Al2O3": 38.0}, loi_percent=14
    )
    desk.edits.run("Lot", lambda session: add_lot(session, kaolin.material_id, draft))
    assert recipe.newer.isVisible()
    (link,) = recipe.newer.findChildren(QPushButton)
    assert link.accessibleName() == "Newer lot of Kaolin"
    asked: list[tuple[str, int]] = []
    desk.asked_for.connect(lambda kind, ident, _more: asked.append((kind, ident)))
    link.setFocus()
    QTest.keyClick(link, Qt.Key.Key_Space)
    assert asked == [("material", kaolin.material_id)]
