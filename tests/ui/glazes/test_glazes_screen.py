"""The glazes screen: naming the first glaze, typing a recipe, a version, and what is refused."""

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.glaze_page import GlazePage, read_glaze_page
from studiolog.journal.glazes import RecipePart, list_glazes
from studiolog.ui.glazes.glaze_view import GlazeView
from studiolog.ui.glazes.mix_sheet import MixSheet
from studiolog.ui.glazes.screen import GlazesScreen
from studiolog.ui.parts.rate_bar import RateBar
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


def view_of(screen: GlazesScreen) -> GlazeView:
    assert isinstance(screen.page, GlazeView)
    return screen.page


def page_of(desk: Desk, glaze_id: int) -> GlazePage:
    page = desk.read(lambda session: read_glaze_page(session, glaze_id))
    assert page is not None
    return page


def words_in(root: QWidget) -> str:
    QApplication.processEvents()
    return "\n".join(label.text() for label in root.findChildren(QLabel) if label.isVisibleTo(root))


def test_an_empty_journal_asks_for_the_first_glaze_by_name(
    desk: Desk, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    assert "Name your glazes" in words_in(screen.nothing)
    assert not screen.side.list.isVisible(), "an empty list would be an empty frame"
    QTest.keyClick(screen.nothing.action, Qt.Key.Key_N)
    line = screen.side.new_name.line
    assert line.isVisible()
    QTest.keyClicks(line, "Kelp")
    QTest.keyClick(line, Qt.Key.Key_Return)
    assert [row.name for row in desk.read(list_glazes)] == ["Kelp"]
    assert view_of(screen).head.name.text() == "Kelp"
    assert screen.stack.currentIndex() == 1
    assert screen.side.list.hasFocus()


def test_a_name_taken_is_said_at_the_field(studio: SmallStudio, open_screen: OpenScreen) -> None:
    screen = open_screen(GlazesScreen)
    screen.side.start_new()
    screen.add_named("chalk")
    assert "named chalk already" in screen.side.new_name.problem()
    assert screen.side.new_name.isVisible()


def test_a_recipe_is_typed_line_by_line_with_its_total(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    screen.show_thing(studio.chalk)
    recipe = view_of(screen).recipe
    # Chalk is carried but was never written down: its recipe is entered whole, then kept.
    recipe.grid.type_cell(0, 0, "Barium carbonate")
    assert "give the parts" in recipe.grid.problem()
    recipe.grid.type_cell(0, 1, "100")
    recipe.grid.type_cell(1, 0, "Tin oxide")
    recipe.grid.type_cell(1, 1, "5")
    on_top = recipe.grid.grid.item(1, 2)
    assert on_top is not None
    on_top.setCheckState(Qt.CheckState.Checked)
    assert recipe.total.text() == "100 parts, 5 on top, 105 in all"
    assert "poisonous when swallowed" in words_in(view_of(screen).care)
    assert page_of(desk, studio.chalk).recipe == (), "one line alone would have fixed it"
    screen.reload()
    QTest.mouseClick(recipe.keep, Qt.MouseButton.LeftButton)
    assert page_of(desk, studio.chalk).recipe == (
        RecipePart("Barium carbonate", 100),
        RecipePart("Tin oxide", 5, addition=True),
    )
    assert recipe.grid.grid.rowCount() == 2, "18 pieces carry it: now it stays"


def test_a_glaze_nothing_carries_keeps_each_line_as_it_is_typed(
    desk: Desk, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    screen.add_named("Trial")
    recipe = view_of(screen).recipe
    recipe.grid.type_cell(0, 0, "Silica")
    recipe.grid.type_cell(0, 1, "30")
    recipe.grid.type_cell(1, 0, "Kaolin")
    recipe.grid.type_cell(1, 1, "20,5")
    (line,) = desk.read(list_glazes)
    assert [part.parts for part in page_of(desk, line.glaze_id).recipe] == [30, 20.5]
    recipe.grid.drop_row(0)
    assert page_of(desk, line.glaze_id).recipe == (RecipePart("Kaolin", 20.5),)


def test_a_carried_recipe_is_read_only_and_its_new_version_is_not(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    screen.show_thing(studio.kelp)
    view = view_of(screen)
    assert "24 pieces carry Kelp as it is" in words_in(view.recipe)
    assert view.recipe.grid.grid.rowCount() == 6, "no empty line to type into"
    QTest.mouseClick(view.new_version, Qt.MouseButton.LeftButton)
    assert view.head.quiet.text() == "Glaze, version 2, not used yet"
    assert view.recipe.grid.grid.rowCount() == 7
    assert view.recipe.total.text() == "100 parts, 6 on top, 106 in all"
    view.recipe.grid.type_cell(0, 1, "42")
    assert view.recipe.total.text() == "102 parts, 6 on top, 108 in all; the base is not 100"
    second = max(row.glaze_id for row in desk.read(list_glazes))
    assert page_of(desk, second).recipe[0] == RecipePart("Potash feldspar", 42)
    assert page_of(desk, studio.kelp).recipe[0] == RecipePart("Potash feldspar", 40)
    assert view.versions.isVisible()


def test_deleting_a_carried_glaze_is_refused_under_its_name(
    studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    QTest.mouseClick(screen.page.head.delete, Qt.MouseButton.LeftButton)
    assert "24 pieces carry it" in screen.page.head.problem.sentence()
    screen.show_thing(studio.chalk)
    assert screen.page.head.problem.sentence() == "", "another page starts clean"


def test_deleting_needs_no_question_because_undo_brings_it_back(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    screen.add_named("Trial")
    screen.delete_shown()
    assert "Trial" not in [row.title for row in screen.side.rows()]
    desk.edits.undo()
    assert "Trial" in [row.title for row in screen.side.rows()]


def test_archived_glazes_are_shown_on_demand(studio: SmallStudio, open_screen: OpenScreen) -> None:
    screen = open_screen(GlazesScreen)
    screen.toggle_archived()
    assert [row.title for row in screen.side.rows()] == ["Chalk", "Oat"]
    screen.side.archived.setChecked(True)
    assert [row.title for row in screen.side.rows()] == ["Chalk", "Oat", "Kelp"]


def test_the_filter_narrows_the_list(studio: SmallStudio, open_screen: OpenScreen) -> None:
    screen = open_screen(GlazesScreen)
    QTest.keyClick(screen.side.list, Qt.Key.Key_F)
    QTest.keyClicks(screen.side.filter, "cone 5")
    assert [row.title for row in screen.side.rows()] == ["Kelp"]
    QTest.keyClicks(screen.side.filter, "x")
    assert "No glaze answers" in screen.side.none.text()


def test_arrows_go_through_the_list_and_the_page_follows(
    studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    QTest.keyClick(screen.side.list, Qt.Key.Key_Down)
    assert screen.page.head.name.text() == "Chalk"


def test_the_page_says_that_no_record_proves_food_safety(
    studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    for glaze in (studio.kelp, studio.oat):
        screen.show_thing(glaze)
        assert "only a leach test of this glaze on this clay from this firing" in words_in(
            screen.page
        )


def test_colour_is_typed_and_a_wrong_one_is_said_beside_it(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    line = view_of(screen).colour.line
    for typed, problem in (("green", True), ("#345", False)):
        line.line.setText(typed)
        line.line.setModified(True)
        line._finish()
        assert bool(line.problem()) is problem
    assert page_of(desk, studio.kelp).colour == "#334455"


def test_rates_follow_the_fault_chosen(studio: SmallStudio, open_screen: OpenScreen) -> None:
    screen = open_screen(GlazesScreen)
    compare = view_of(screen).combinations
    assert compare.pick.chosen() == "crazing", "the fault seen most comes first"
    QApplication.processEvents()
    said = [bar.accessibleName() for bar in compare.findChildren(RateBar) if bar.isVisible()]
    assert said[0].startswith("seen on 2 of 5")


def test_a_key_mixes_a_bucket_of_the_glaze_shown(
    studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    QTest.keyClick(screen.side.list, Qt.Key.Key_M)
    (sheet,) = screen.findChildren(MixSheet)
    assert sheet.windowTitle() == "Mix a bucket of Kelp"
    sheet.reject()


def test_a_bucket_pieces_were_glazed_from_stays(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    buckets = view_of(screen).buckets
    ((ident, row),) = buckets.rows.items()
    QTest.mouseClick(row.line, Qt.MouseButton.LeftButton)
    QTest.mouseClick(row.delete_link, Qt.MouseButton.LeftButton)
    assert "24 layers were laid from it" in row.problem.sentence()
    QTest.mouseClick(buckets.add_link, Qt.MouseButton.LeftButton)
    assert len(buckets.rows) == 2
    desk.edits.undo()
    assert list(buckets.rows) == [ident]


class HeightsPainted(QObject):
    """How high the page stood each time it was painted."""

    def __init__(self, screen: GlazesScreen) -> None:
        super().__init__(screen)
        self._page = screen.page
        self.heights: set[int] = set()
        screen.page.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint:
            self.heights.add(self._page.height())
        return False


def test_a_page_is_never_painted_squeezed_into_the_height_of_the_one_before(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    QApplication.processEvents()
    painted = HeightsPainted(screen)
    screen.show_thing(studio.kelp)
    for _ in range(5):
        QApplication.processEvents()
    assert painted.heights == {screen.page.height()}


def test_archived_glazes_are_offered_only_where_there_are_some(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    assert screen.side.archived.isHidden()
    screen.show_thing(studio.chalk)
    screen.toggle_archived()
    assert not screen.side.archived.isHidden()
    assert "Chalk" not in [row.title for row in screen.side.rows()]
    screen.side.archived.setChecked(True)
    assert "Chalk" in [row.title for row in screen.side.rows()]


def test_what_a_recipe_calls_for_stands_beside_it_and_needs_no_scrolling(
    desk: Desk, open_screen: OpenScreen
) -> None:
    screen = open_screen(GlazesScreen)
    screen.add_named("Trial")
    recipe = view_of(screen).recipe
    for line in range(14):
        recipe.grid.type_cell(line, 0, f"Silica {line}" if line else "Silica")
        recipe.grid.type_cell(line, 1, "5")
    for _ in range(5):
        QApplication.processEvents()
    top = view_of(screen).care.mapTo(screen, view_of(screen).care.rect().topLeft()).y()
    assert "crystalline silica" in words_in(view_of(screen).care)
    assert 0 < top < screen.height() / 2
