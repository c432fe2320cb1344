"""A number typed into a table stays in it; what opens below the window is scrolled to."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QScrollArea, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from studiolog.ui.parts.grid_editor import GridColumn, GridEditor
from studiolog.ui.parts.sight import show_whole


class _Window(QWidget):
    """Takes the keys that nothing in it took, as the window does for 1 to 5."""

    def __init__(self) -> None:
        super().__init__()
        self.reached: list[str] = []

    def keyPressEvent(self, event: QKeyEvent) -> None:
        self.reached.append(event.text())


def test_the_first_figure_of_a_rate_begins_the_cell_and_turns_no_place(qtbot: QtBot) -> None:
    window = _Window()
    qtbot.addWidget(window)
    columns = (GridColumn("Rate", "number"), GridColumn("Target", "number"))
    editor = GridEditor("Segments", columns, "Segment")
    QVBoxLayout(window).addWidget(editor)
    window.show()
    qtbot.waitExposed(window)
    editor.set_rows([(100.0, 120.0)])
    editor.grid.setCurrentCell(0, 0)
    QTest.keyClicks(editor.grid, "1")
    field = editor.grid.findChild(QLineEdit)
    assert field is not None
    QTest.keyClicks(field, "50")
    assert field.text() == "150"
    assert window.reached == []
    # Where no cell is being written, a key goes on as before.
    QTest.keyClick(field, Qt.Key.Key_Return)
    QTest.keyClick(editor.grid, Qt.Key.Key_F9)
    assert window.reached == [""]


def test_enter_goes_on_down_a_plain_list_and_types_over_nothing(qtbot: QtBot) -> None:
    editor = GridEditor("Zones", (GridColumn("Zone"),), "Zone")
    qtbot.addWidget(editor)
    editor.show()
    qtbot.waitExposed(editor)
    editor.set_rows([])
    editor.grid.setFocus()
    editor.grid.setCurrentCell(0, 0)
    for word in ("inside", "outside"):
        QTest.keyClicks(editor.grid, word[0])
        field = editor.grid.findChild(QLineEdit)
        assert field is not None
        QTest.keyClicks(field, word[1:])
        QTest.keyClick(field, Qt.Key.Key_Return)
        QTest.qWait(0)
    assert [row[0] for row in editor.rows()] == ["inside", "outside"]


def test_an_editor_that_opens_below_the_window_is_scrolled_to(qtbot: QtBot) -> None:
    page, area = QWidget(), QScrollArea()
    qtbot.addWidget(area)
    rows = QVBoxLayout(page)
    head, editor, long = QLabel("Upkeep"), QLabel("Task"), QLabel("All of it")
    for part, high in ((head, 500), (editor, 150), (long, 900)):
        part.setFixedHeight(high)
        rows.addWidget(part)
    area.setWidget(page)
    area.resize(300, 400)
    area.show()
    show_whole(editor)
    top = editor.mapTo(area.viewport(), editor.rect().topLeft()).y()
    assert top >= 0
    assert top + editor.height() <= area.viewport().height()
    # Where it is higher than the window, its head is seen; and back up again.
    show_whole(long)
    assert long.mapTo(area.viewport(), long.rect().topLeft()).y() == 0
    show_whole(editor)
    assert editor.mapTo(area.viewport(), editor.rect().topLeft()).y() >= 0


def test_names_offered_in_a_cell_are_found_by_any_part_and_taken_by_one_enter(
    qtbot: QtBot,
) -> None:
    editor = GridEditor("Recipe", (GridColumn("Material"), GridColumn("Parts", "number")), "Line")
    editor.offer(0, lambda: ["Potash feldspar", "Silica", "Soda feldspar"])
    qtbot.addWidget(editor)
    editor.show()
    qtbot.waitExposed(editor)
    editor.grid.setCurrentCell(0, 0)
    QTest.keyClicks(editor.grid, "f")
    field = editor.grid.findChild(QLineEdit)
    assert field is not None
    QTest.keyClicks(field, "elds")
    completer = field.completer()
    assert completer is not None
    popup = completer.popup()
    assert popup is not None
    offered = [popup.model().index(row, 0).data() for row in range(popup.model().rowCount())]
    assert offered == ["Potash feldspar", "Soda feldspar"]
    QTest.keyClick(popup, Qt.Key.Key_Down)
    QTest.keyClick(popup, Qt.Key.Key_Down)
    QTest.keyPress(popup, Qt.Key.Key_Return)  # the list is gone before the key is let go
    QApplication.processEvents()
    assert editor.rows() == [("Soda feldspar", None)]
    assert editor.grid.state() != editor.grid.State.EditingState
    # What nobody offers is kept as it is typed.
    editor.grid.setCurrentCell(1, 0)
    QTest.keyClicks(editor.grid, "s")
    field = editor.grid.findChildren(QLineEdit)[-1]
    QTest.keyClicks(field, "ilt")
    QTest.keyClick(field, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert editor.rows()[1] == ("silt", None)


def test_a_list_is_typed_by_tab_past_its_tick_box_and_tab_then_leaves_it(qtbot: QtBot) -> None:
    window = _Window()
    qtbot.addWidget(window)
    columns = (
        GridColumn("Material", needed=True),
        GridColumn("Parts", "number", needed=True),
        GridColumn("On top", "tick"),
    )
    editor, after = GridEditor("Recipe", columns, "Line"), QLineEdit()
    rows = QVBoxLayout(window)
    rows.addWidget(editor)
    rows.addWidget(after)
    window.show()
    with qtbot.waitActive(window):
        window.activateWindow()
    editor.grid.setCurrentCell(0, 0)
    editor.grid.setFocus()

    def held() -> QWidget:
        holder = window.focusWidget()
        assert holder is not None
        return holder

    for material, parts in (("Silica", "30"), ("Whiting", "20")):
        QTest.keyClicks(held(), material[0])
        QTest.keyClicks(held(), material[1:])
        QTest.keyClick(held(), Qt.Key.Key_Tab)
        QTest.keyClicks(held(), parts)
        QTest.keyClick(held(), Qt.Key.Key_Tab)
        QTest.keyClick(held(), Qt.Key.Key_Tab)
    assert editor.rows() == [("Silica", 30.0, False), ("Whiting", 20.0, False)]
    assert (editor.grid.currentRow(), editor.grid.currentColumn()) == (2, 0)
    QTest.keyClick(held(), Qt.Key.Key_Tab)
    assert held() is after
    # No letter opens a box that is ticked, and a row taken away leaves the keyboard a cell.
    editor.grid.setCurrentCell(2, 2)
    QTest.keyClicks(editor.grid, "w")
    assert held() is after
    editor.drop_row(1)
    editor.set_rows([])
    assert editor.grid.currentRow() == 0
