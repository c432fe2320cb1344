"""A line of five from two glazes, followed by keyboard from an empty list to the picture grid."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.plan_page import list_plans
from studiolog.ui.plans.plan_view import PlanView
from studiolog.ui.plans.screen import PlansScreen
from tests.planned_tiles import give_recipe
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def screen(desk: Desk, studio: SmallStudio, open_screen: OpenScreen) -> PlansScreen:
    """The plans of a studio whose Kelp and Chalk have recipes; none is made yet."""
    desk.edits.run("Enter", lambda session: give_recipe(session, studio))
    return open_screen(PlansScreen, 1216, 700)


def press(screen: QWidget, key: Qt.Key, held: Qt.KeyboardModifier | None = None) -> None:
    """Press a key where the keyboard is."""
    here = QApplication.activePopupWidget() or screen.window().focusWidget() or screen
    QTest.keyClick(here, key, held or Qt.KeyboardModifier.NoModifier)


def type_in(screen: QWidget, words: str) -> None:
    QTest.keyClicks(screen.window().focusWidget() or screen, words)


def pick(screen: QWidget, words: str) -> None:
    """Type part of a name, and leave the field."""
    type_in(screen, words)
    press(screen, Qt.Key.Key_Tab)


def view(screen: PlansScreen) -> PlanView:
    assert isinstance(screen.page, PlanView)
    return screen.page


def line_of_five(screen: PlansScreen) -> PlanView:
    """N, the two glazes, five tiles, Ctrl Enter: nothing else needs to be said."""
    press(screen, Qt.Key.Key_N)
    assert screen.focusWidget() is screen.editor.kind.buttons["line"]
    press(screen, Qt.Key.Key_Tab)
    pick(screen, "Kelp")
    press(screen, Qt.Key.Key_Tab)  # past its specific gravity
    pick(screen, "Chalk")
    press(screen, Qt.Key.Key_Tab)
    type_in(screen, "5")
    press(screen, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    return view(screen)


def test_a_line_of_five_is_made_by_keyboard_alone(screen: PlansScreen, desk: Desk) -> None:
    assert screen.nothing.isVisible()
    page = line_of_five(screen)
    assert screen.editor.problem.sentence() == ""
    (line,) = desk.read(list_plans)
    assert (line.code, line.name, line.progress) == ("A", "Kelp to Chalk", "5 planned")
    assert page.tiles.hasFocus()
    assert [cell.code for cell in page.tiles.cells()] == ["A1", "A2", "A3", "A4", "A5"]
    press(screen, Qt.Key.Key_Right)
    press(screen, Qt.Key.Key_Right)
    assert page.reading.title.text() == "Tile A3"
    # Half and half by dry weight: of Kelp's 106 parts 40 are feldspar, of Chalk's 100 none; 0.5 of
    # 40/106 in a base of 0.5 of 100/106 and 0.5 of 100/100 are 19.4 parts on the hundred.
    assert "Potash feldspar 19.4" in page.reading.layers.text()


def test_a_plan_goes_from_pieces_to_the_grid_of_results_and_each_step_is_undone(
    screen: PlansScreen, desk: Desk, studio: SmallStudio
) -> None:
    page = line_of_five(screen)
    step = page.step
    steps = []

    def done(key: str) -> None:
        """Undo gives back the step before; redo does it again."""
        desk.edits.undo()
        steps.append(step.quiet.text())
        desk.edits.redo()
        assert step.quiet.text() == key

    step.make_button.click()
    done("5 of 5 made")
    page.tiles.choose([1])
    assert step.glaze_button.text() == "Mark the chosen tile as glazed"
    step.glaze_button.click()
    done("1 of 5 glazed")
    page.tiles.choose([])
    step.glaze_button.click()
    done("5 of 5 glazed")
    step.fire_button.click()
    assert step.problem.sentence() == "Choose the firing they go through."
    step.firing.choose(studio.firings[-1])
    step.fire_button.click()
    assert step.out_button.isVisible()
    step.out_button.click()
    done("5 of 5 fired")
    assert steps == ["5 planned", "5 of 5 made", "1 of 5 glazed", "5 of 5 glazed"]

    page.tiles.setFocus()
    assert (("I",), "inspect") in screen.foot()
    press(screen, Qt.Key.Key_I)
    assert (("Ctrl", "Enter"), "save, next tile") in screen.foot()
    assert page.inspect.isVisible()
    assert not step.isVisible()
    page.inspect.keep()
    assert page.inspect.problem.sentence().startswith("Say what you saw")
    for number in range(1, 6):
        assert page.inspect.title.text() == f"Inspect A{number}"
        press(screen, Qt.Key.Key_2 if number == 4 else Qt.Key.Key_0)  # crazing
        page.inspect.surface.toggle("glossy" if number < 3 else "matt")
        press(screen, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert not page.inspect.isVisible()
    assert step.quiet.text() == "5 of 5 looked at"
    marks = [cell.mark for cell in page.tiles.cells()]
    assert [mark.severity for mark in marks if mark] == [0, 0, 0, 2, 0]
    assert [mark.words for mark in marks if mark][3] == "crazing"
    page.marks.picked.emit("surface")
    words = [cell.mark.words for cell in page.tiles.cells() if cell.mark]
    assert words == ["glossy", "glossy", "matt", "matt", "matt"]
    assert page.tiles.cells()[3].sentence == ("A4: 25 Kelp, 75 Chalk, fired, crazing marked, matt")
    desk.edits.undo()
    assert step.quiet.text() == "4 of 5 looked at"


def test_enter_on_a_tile_opens_its_piece(screen: PlansScreen, desk: Desk) -> None:
    page = line_of_five(screen)
    asked: list[tuple[str, int]] = []
    desk.asked_for.connect(lambda kind, ident, _more: asked.append((kind, ident)))
    press(screen, Qt.Key.Key_Return)
    assert asked == []
    page.step.make_button.click()
    page.tiles.setFocus()
    press(screen, Qt.Key.Key_End)
    press(screen, Qt.Key.Key_Return)
    assert [kind for kind, _ in asked] == ["piece"]
    assert asked[0][1] == page.reading.piece._ident
