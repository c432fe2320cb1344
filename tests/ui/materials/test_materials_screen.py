"""The materials screen by keyboard: a known material put on the shelf, a lot, stock, shopping."""

from datetime import date

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QPushButton, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.material_page import MaterialPage, read_material_page
from studiolog.journal.materials import LotDraft, add_lot, list_materials
from studiolog.journal.stock import StockDraft, add_stock_change
from studiolog.ui.materials.material_view import MaterialView
from studiolog.ui.materials.screen import IDLE, KNOWN, SHELF, MaterialsScreen
from studiolog.ui.materials.shopping_sheet import ShoppingSheet
from studiolog.ui.parts.grid_editor import GridEditor
from studiolog.ui.parts.painted_list import Heading
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


def view_of(screen: MaterialsScreen) -> MaterialView:
    assert isinstance(screen.page, MaterialView)
    return screen.page


def page_of(desk: Desk, ident: int) -> MaterialPage:
    page = desk.read(lambda session: read_material_page(session, ident))
    assert page is not None
    return page


def ident_of(desk: Desk, name: str) -> int:
    (found,) = [line for line in desk.read(list_materials) if line.name == name]
    return found.material_id


def words_in(root: QWidget) -> str:
    QApplication.processEvents()
    return "\n".join(label.text() for label in root.findChildren(QLabel) if label.isVisibleTo(root))


def type_row(editor: GridEditor, row: int, *texts: str) -> None:
    for place, text in enumerate(texts):
        if text:
            editor.type_cell(row, place, text)


def group_of(screen: MaterialsScreen, name: str) -> str:
    return next(
        row.group
        for row in screen.side.list.rows()
        if not isinstance(row, Heading) and row.title == name
    )


def test_what_is_known_is_put_on_the_shelf_with_enter(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(MaterialsScreen)
    headings = [row.title for row in screen.side.list.rows() if isinstance(row, Heading)]
    assert headings == [SHELF, KNOWN]
    QTest.keyClick(screen.side.list, Qt.Key.Key_F)
    QTest.keyClicks(screen.side.filter, "talc")
    shelf = [line.name for line in desk.read(list_materials)]
    QTest.keyClick(screen.side.filter, Qt.Key.Key_Return)
    view = view_of(screen)
    assert [line.name for line in desk.read(list_materials)] == shelf, (
        "Enter only goes to what fits"
    )
    assert (("Enter",), "put on the shelf") in screen.foot()
    assert view.head.name.text() == "Talc"
    assert view.put_on_shelf.isVisible()
    assert not view.head.delete.isVisible()
    assert "3MgO·4SiO₂·H₂O" in words_in(view.known)
    assert "theoretical, computed from the mineral's formula" in words_in(view.lots)
    QTest.keyClick(screen.side.list, Qt.Key.Key_Return)
    assert page_of(desk, ident_of(desk, "Talc")).lots[0].ships
    assert view.stock.isVisible()
    assert not view.put_on_shelf.isVisible()
    assert group_of(screen, "Talc") == IDLE, "no recipe names it and none was bought"
    talc = ident_of(desk, "Talc")
    counted = StockDraft(kind="counted", grams=0, on=date(2026, 11, 1))
    desk.edits.run("Count", lambda session: add_stock_change(session, talc, counted))
    assert group_of(screen, "Talc") == SHELF
    desk.edits.undo()
    desk.edits.undo()
    assert "Talc" not in [line.name for line in desk.read(list_materials)]


def test_a_new_lot_is_typed_and_pasted_and_its_sum_is_told(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(MaterialsScreen)
    material = ident_of(desk, "Potash feldspar")
    screen.show_thing(material)
    lots = view_of(screen).lots
    assert not lots.editor.change_figures.isVisible(), "what ships stays as it is"
    QTest.mouseClick(lots.link, Qt.MouseButton.LeftButton)
    editor = lots.editor
    assert editor.grid.isVisible()
    assert "put in its own" in words_in(editor)

    place = next(
        row for row in range(editor.grid.grid.rowCount())
        if (cell := editor.grid.grid.item(row, 0)) is not None and cell.text() == "K₂O"
    )  # fmt: skip
    editor.grid.type_cell(place, 1, "11,9")
    newest = page_of(desk, material).lots[0]
    assert newest.analysis.oxides["K2O"] == 11.9
    assert "come to 101.4\u202f%, 1.4\u202f% over" in words_in(editor)
    assert "K₂O +1.4" in editor.against.text()

    editor.grid.type_cell(editor.grid.grid.rowCount() - 1, 0, "glass")
    assert "give the per cent" in editor.grid.problem()
    editor.grid.type_cell(editor.grid.grid.rowCount() - 2, 1, "3")
    assert "“glass” is not among the oxides" in editor.grid.problem()

    line = editor.pasted.line
    line.setFocus()
    QTest.keyClicks(line, "SiO2 66 Al2O3 18 Foo")
    QTest.keyClick(line, Qt.Key.Key_Return)
    assert "Foo has no value" in editor.pasted.problem()
    QGuiApplication.clipboard().setText("SiO2\t66.0\nAl2O3\t18.4\nK2O\t11.9\nNa2O\t2.9")
    line.selectAll()
    line.paste()
    QTest.keyClick(line, Qt.Key.Key_Return)
    newest = page_of(desk, material).lots[0]
    assert newest.analysis.oxides == {"SiO2": 66.0, "Al2O3": 18.4, "K2O": 11.9, "Na2O": 2.9}
    assert "by difference it would be 0.8\u202f%" in words_in(editor)
    assert newest.analysis.loi_percent is None

    label = editor.sheet.field("label").findChild(QLineEdit)
    assert label is not None
    label.setFocus()
    QTest.keyClicks(label, "spring bag")
    QTest.keyClick(label, Qt.Key.Key_Return)
    assert page_of(desk, material).lots[0].label == "spring bag"
    QTest.mouseClick(editor.delete, Qt.MouseButton.LeftButton)
    assert len(page_of(desk, material).lots) == 1, "no recipe has it yet"


def test_a_recipe_may_have_the_newest_lot_in_a_new_version(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    material = ident_of(desk, "Potash feldspar")
    draft = LotDraft(
        label="spring", dated=date(2026, 4, 2), oxides={"SiO2": 66.0, "K2O": 12.0}, loi_percent=0.5
    )
    desk.edits.run("Lot", lambda session: add_lot(session, material, draft))
    screen = open_screen(MaterialsScreen)
    screen.show_thing(material)
    lots = view_of(screen).lots
    assert "Computed with it: Kelp" in words_in(lots)
    (show,) = [b for b in lots.findChildren(QPushButton) if b.text() == "Show" and b.isVisible()]
    QTest.mouseClick(show, Qt.MouseButton.LeftButton)
    assert "stays as it is" in words_in(lots.uses)
    assert "with spring, 2026-04-02: " in words_in(lots.uses)
    assert "K₂O 0.17 → 0.21" in words_in(lots.uses)
    asked: list[tuple[str, int]] = []
    desk.asked_for.connect(lambda kind, ident, _more: asked.append((kind, ident)))
    (take,) = [b for b in lots.uses.findChildren(QPushButton) if "newest lot" in b.text()]
    assert take.accessibleName() == "New version of Kelp with the newest lot"
    take.setFocus()
    QTest.keyClick(take, Qt.Key.Key_Space)
    ((kind, version),) = asked
    assert kind == "glaze"
    assert [use.glaze_id for use in page_of(desk, material).lots[0].uses] == [version]


def test_the_ledger_is_typed_line_by_line_and_a_low_shelf_is_marked(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    material = ident_of(desk, "Silica")
    screen = open_screen(MaterialsScreen)
    screen.show_thing(material)
    view = view_of(screen)
    grid = view.stock.grid
    type_row(grid, 0, "2026-03-01", "bou", "25000", "21,25")
    assert page_of(desk, material).stock.grams == 25_000
    assert view.stock.left.accessibleName() == "There is: 25\u202fkg, never counted"
    assert view.stock.price.accessibleName() == "Price a kg: 0.85, last paid or listed"
    type_row(grid, 1, "2026-04-01", "nonsense", "100")
    assert "“nonsense” is none of bought, counted" in grid.problem()
    grid.type_cell(1, 1, "lost")
    assert page_of(desk, material).stock.grams == 24_900
    low = view.sheet.field("low_g").findChild(QLineEdit)
    assert low is not None
    low.setFocus()
    QTest.keyClicks(low, "24950")
    QTest.keyClick(low, Qt.Key.Key_Return)
    assert "on the shopping list" in words_in(view.stock)
    row = next(row for row in screen.side.rows() if row.title == "Silica")
    assert (row.quiet, row.look) == ("low: 24.9\u202fkg", "warning")
    grid.drop_row(1)  # what was lost
    assert page_of(desk, material).stock.grams == 25_000


def test_the_shopping_list_is_opened_by_a_key_and_goes_to_the_clipboard(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    material = ident_of(desk, "Silica")
    bag = StockDraft(kind="bought", grams=5_000, on=date(2026, 3, 1))
    desk.edits.run("Buy", lambda session: add_stock_change(session, material, bag))
    screen = open_screen(MaterialsScreen)
    QTest.keyClick(screen.side.list, Qt.Key.Key_S)
    (sheet,) = screen.findChildren(ShoppingSheet)
    page = sheet.view.page
    assert page is not None
    assert "Nothing to buy." in page.words
    sheet.mixes.line.setFocus()
    QTest.keyClicks(sheet.mixes.line, "Kelp 50 kg, Sand 1 kg")
    QTest.keyClick(sheet.mixes.line, Qt.Key.Key_Return)
    assert "no glaze named Sand" in sheet.mixes.problem()
    sheet.mixes.line.selectAll()
    QTest.keyClicks(sheet.mixes.line, "Kelp 50 kg")
    QTest.keyClick(sheet.mixes.line, Qt.Key.Key_Return)
    page = sheet.view.page
    assert page is not None
    assert "Potash feldspar" in page.words
    QTest.mouseClick(sheet.copy_button, Qt.MouseButton.LeftButton)
    assert "  Silica: 2 × 5\u202fkg" in QGuiApplication.clipboard().text()
    sheet.close()
