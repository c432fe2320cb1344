"""The next kiln on the screen: packed, moved by hand and by keys, warned of, lit."""

import math
from datetime import date, timedelta

import pytest
from PySide6.QtCore import QCoreApplication, QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QPushButton
from pytestqt.qtbot import QtBot

from studiolog.craft.ware.plan_check import check_plan
from studiolog.desktop.desk import Desk
from studiolog.journal.forms import change_form
from studiolog.journal.load_page import LoadPage
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.problems import UserProblem
from studiolog.ui.loads.board import LoadBoard
from studiolog.ui.loads.light_sheet import LightSheet, read_time
from studiolog.ui.loads.screen import LoadsScreen
from tests.planned_loads import TODAY, PlannedLoads, fill_loads, page_of
from tests.ui.conftest import OpenScreen


class Yard:
    """The screen over the small studio with its loads, on the day they were planned."""

    def __init__(self, desk: Desk, screen: LoadsScreen, loads: PlannedLoads) -> None:
        self.desk, self.screen, self.loads = desk, screen, loads

    @property
    def board(self) -> LoadBoard:
        return self.screen.view.board

    def show(self, load_id: int) -> None:
        self.screen.show_thing(load_id)

    def page(self, load_id: int = 0) -> LoadPage:
        ident = load_id or self.loads.glaze
        return self.desk.read(lambda session: page_of(session, ident))

    def spot(self, key: int) -> QPoint:
        """Where a piece is drawn, in the board's pixels."""
        for spot in self.board.layout_of_board().spots:
            for place in spot.shelf.places:
                if place.key == key:
                    return (spot.at(place.x_mm, place.y_mm) * self.board.grown()).toPoint()
        raise AssertionError(f"{key} is not drawn")


@pytest.fixture
def yard(desk: Desk, open_screen: OpenScreen, monkeypatch: pytest.MonkeyPatch) -> Yard:
    loads = fill_loads(desk.journal)[1]
    monkeypatch.setattr(LoadsScreen, "today", staticmethod(lambda: TODAY))
    screen = open_screen(LoadsScreen, 1216, 900)
    made = Yard(desk, screen, loads)
    made.show(loads.glaze)
    return made


def packed(yard: Yard, qtbot: QtBot) -> None:
    """Wait until packing has settled."""
    qtbot.waitUntil(lambda: not yard.screen.view.packing.is_packing(), timeout=30_000)


def test_a_load_shows_its_shelves_how_full_it_is_and_what_to_look_at(yard: Yard) -> None:
    page, view = yard.page(), yard.screen.view
    assert view.title.title.text() == "Glaze 6, Big kiln"
    assert "Planned for 15 Nov 2026" in view.title.quiet.text()
    for shelf in page.shelves:
        assert f"Shelf {shelf.position}, {shelf.level}: {shelf.pieces}" in view.board.sentence()
    assert f"{100 * page.fill.by_area:.0f} % full by area" in view.fill.sentence()
    assert "worth firing from 85 %" in view.fill.sentence()
    assert "It becomes fired ware" in view.fill.sentence()
    assert "8 pieces" in view.board.sentence() or len(page.shelves) > 1


def test_arrows_move_a_piece_and_undo_brings_it_back(yard: Yard) -> None:
    board, before = yard.board, yard.page().plan
    yard.screen.side.list.setFocus()
    QTest.keyClick(yard.screen.side.list, Qt.Key.Key_Space)
    assert board.hasFocus()
    assert board.chosen is not None
    board.choose(None)
    QTest.keyClick(board, Qt.Key.Key_Space)
    key = board.chosen
    assert key is not None
    moved = 0
    for arrow in (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down):
        QTest.keyClick(board, arrow)
        if yard.page().plan != before:
            moved += 1
            break
    assert moved, "it can go no way at all"
    page = yard.page()
    assert page.pieces[key].by_hand
    assert check_plan(page.plan) == ()
    assert board.chosen == key
    yard.desk.edits.undo()
    assert yard.page().plan == before


def test_shift_moves_one_millimetre(yard: Yard) -> None:
    board = yard.board
    board.setFocus()
    QTest.keyClick(board, Qt.Key.Key_Space)
    key = board.chosen
    was = _place(yard.page(), key)
    for arrow in (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down):
        QTest.keyClick(board, arrow, Qt.KeyboardModifier.ShiftModifier)
        now = _place(yard.page(), key)
        if now != was:
            assert 0.05 <= math.hypot(now[1] - was[1], now[2] - was[2]) <= 2.0
            return
    raise AssertionError("it can go no way at all")


def _place(page: LoadPage, key: int | None) -> tuple[int, float, float]:
    for shelf in page.plan.shelves:
        for place in shelf.places:
            if place.key == key:
                return shelf.position, place.x_mm, place.y_mm
    raise AssertionError(f"{key} stands nowhere")


def test_keys_set_tiles_pin_and_take_out_each_with_its_own_undo(yard: Yard) -> None:
    board = yard.board
    board.setFocus()
    QTest.keyClick(board, Qt.Key.Key_Space)
    key = board.chosen
    assert key is not None
    QTest.keyClick(board, Qt.Key.Key_P)
    assert yard.page().pieces[key].by_hand
    QTest.keyClick(board, Qt.Key.Key_T)
    assert yard.page().pieces[key].on_tile
    QTest.keyClick(board, Qt.Key.Key_R)
    assert "It is round" in yard.screen.view.told.text()
    QTest.keyClick(board, Qt.Key.Key_Delete)
    assert key not in yard.page().pieces
    for _ in range(3):
        yard.desk.edits.undo()
    page = yard.page()
    assert not page.pieces[key].on_tile
    assert not page.pieces[key].by_hand


def test_page_keys_bring_a_piece_to_another_shelf_or_say_why_not(yard: Yard) -> None:
    board = yard.board
    board.setFocus()
    page = yard.page()
    key = page.plan.shelves[0].places[0].key
    board.choose(key)
    QTest.keyClick(board, Qt.Key.Key_PageDown)
    assert "No lower shelf has room for it." in yard.screen.view.told.text()
    if len(page.plan.shelves) > 1:
        QTest.keyClick(board, Qt.Key.Key_PageUp)
        assert _place(yard.page(), key)[0] > 1 or "No higher" in yard.screen.view.told.text()


def test_a_piece_is_dragged_to_the_nearest_room_and_never_onto_another(yard: Yard) -> None:
    board, page = yard.board, yard.page()
    shelf = max(page.plan.shelves, key=lambda one: len(one.places))
    one, other = shelf.places[:2]
    start, end = yard.spot(one.key), yard.spot(other.key)
    QTest.mousePress(board, Qt.MouseButton.LeftButton, pos=start)
    for step in range(1, 6):
        QTest.mouseMove(board, start + (end - start) * step / 5)
    QTest.mouseRelease(board, Qt.MouseButton.LeftButton, pos=end)
    after = yard.page()
    assert check_plan(after.plan) == ()
    assert _place(after, other.key) == _place(page, other.key)
    assert board.chosen == one.key
    # Let go outside every shelf it stays where it is, and the words say so.
    start = yard.spot(one.key)
    QTest.mousePress(board, Qt.MouseButton.LeftButton, pos=start)
    QTest.mouseMove(board, QPoint(2, 2))
    QTest.mouseRelease(board, Qt.MouseButton.LeftButton, pos=QPoint(2, 2))
    assert yard.page().plan == after.plan
    assert "it stays where it was" in yard.screen.view.told.text()


def test_packing_shows_a_first_plan_keeps_the_best_and_is_one_undo(
    yard: Yard, qtbot: QtBot
) -> None:
    view = yard.screen.view
    yard.show(yard.loads.bisque)
    assert view.packing.pack_button.text() == "Pack the load"
    assert not view.light.isEnabled()
    shown: list[object] = []
    view.packing.proposed.connect(shown.append)
    view.packing.pack_button.click()
    qtbot.waitUntil(lambda: bool(shown) or not view.packing.is_packing(), timeout=30_000)
    view.packing.take_best()
    packed(yard, qtbot)
    page = yard.page(yard.loads.bisque)
    assert shown
    assert (page.placed, check_plan(page.plan)) == (6, ())
    assert view.light.isEnabled()
    assert view.packing.pack_button.text() == "Pack anew"
    yard.desk.edits.undo()
    assert yard.page(yard.loads.bisque).placed == 0


def test_packing_given_up_leaves_the_load_as_it_was(yard: Yard, qtbot: QtBot) -> None:
    view = yard.screen.view
    before = yard.page().plan
    view.packing.pack_button.click()
    view.packing.cancel_button.click()
    assert not view.packing.is_packing()
    yard.desk.jobs.wait()
    qtbot.wait(1)
    assert yard.page().plan == before


def test_what_was_set_by_hand_stays_while_the_rest_is_packed(yard: Yard, qtbot: QtBot) -> None:
    page = yard.page()
    key = page.plan.shelves[0].places[0].key
    yard.board.setFocus()
    yard.board.choose(key)
    QTest.keyClick(yard.board, Qt.Key.Key_P)
    yard.screen.view.packing.pack()
    packed(yard, qtbot)
    after = yard.page()
    assert _place(after, key) == _place(page, key)
    assert after.pieces[key].by_hand
    assert check_plan(after.plan) == ()


def test_what_waits_is_put_in_in_part_and_by_number(yard: Yard, qtbot: QtBot) -> None:
    desk, view = yard.desk, yard.screen.view
    yard.screen.begin()
    sheet = next(one for one in yard.screen.window().findChildren(QDialog))
    view.delete.setFocus()
    sheet.begun.emit(yard.page().load_id)  # type: ignore[attr-defined]
    sheet.close()
    # Once a load is begun, Space must not meet the button that deletes it.
    assert yard.screen.window().focusWidget() is yard.screen.side.list
    run = desk.edits.run(
        "Make",
        lambda session: log_run(
            session,
            RunDraft(made_on=TODAY - timedelta(days=9), form_id=1, how_many=4, stage="glazed"),
        ),
    )
    assert run
    before = len(yard.page().pieces)
    (field,) = [
        one
        for one in view.waiting.findChildren(type(view.waiting.numbers))
        if one.line.accessibleName().startswith("How many")
    ]
    field.line.setText("9")
    field.line.returnPressed.emit()
    assert field.problem() == "1 to 4"
    field.line.setText("3")
    field.line.returnPressed.emit()
    packed(yard, qtbot)
    assert len(yard.page().pieces) == before + 3
    view.waiting.numbers.line.setText("9999")
    view.waiting.numbers.line.returnPressed.emit()
    assert "There is no piece 9999" in view.waiting.numbers.problem()
    assert view.waiting.all_button.isHidden()
    draft = RunDraft(made_on=TODAY - timedelta(days=9), how_many=2, title="Cups", stage="glazed")
    desk.edits.run("Make", lambda session: log_run(session, draft))
    assert view.waiting.all_button.accessibleName() == "Put in all 3 that wait"
    view.waiting.all_button.click()
    packed(yard, qtbot)
    assert len(yard.page().pieces) == before + 6
    assert not yard.page().waiting


def test_a_warning_is_followed_and_cured(yard: Yard, qtbot: QtBot) -> None:
    view = yard.screen.view
    warnings = yard.page().warnings
    tile = next(one for one in warnings if one.cure == "tile")
    opened: list[tuple[str, int]] = []
    yard.desk.asked_for.connect(lambda kind, ident, _more: opened.append((kind, ident)))
    view.warnings.pieces_meant.emit(tile.pieces)
    assert view.board.chosen == tile.pieces[0]
    view.warnings.cure_asked.emit(tile)
    after = yard.page()
    assert all(after.pieces[key].on_tile for key in tile.pieces)
    assert after.unplaced  # a tile is wider than its piece
    # Who had no room for the tile where it stood finds another place.
    packed(yard, qtbot)
    assert not yard.page().unplaced
    view.warnings.opened.emit("firing", 1)
    assert opened == [("firing", 1)]


def test_a_load_is_lit_from_its_sheet(yard: Yard) -> None:
    yard.screen.light()
    sheet = next(one for one in yard.screen.window().findChildren(LightSheet))
    shown: list[tuple[str, int]] = []
    yard.desk.asked_for.connect(lambda kind, ident, _more: shown.append((kind, ident)))
    sheet.time.set_text("half past")
    sheet.keep()
    assert "“half past” is no time of the day" in sheet.why_not.sentence()
    sheet.time.set_text("7.30")
    sheet.day.set_day(date.today() + timedelta(days=2))
    sheet.keep()
    assert "is still to come" in sheet.why_not.sentence()
    sheet.day.set_day(date.today())
    sheet.keep()
    ((kind, firing),) = shown
    assert kind == "firing"
    page = yard.page()
    assert page.firing is not None
    assert page.firing[0] == firing
    assert not yard.screen.view.light.isVisible()
    assert not yard.screen.view.warnings.isVisible()


def test_without_a_load_the_first_step_is_offered(desk: Desk, open_screen: OpenScreen) -> None:
    screen = open_screen(LoadsScreen)
    assert screen.stack.currentIndex() == 0
    assert "Plan the next kiln." in screen.nothing.accessibleName()
    assert "Nothing waits for a kiln." in screen.nothing.step.text()
    screen.nothing.action.click()
    sheet = next(one for one in screen.window().findChildren(QDialog))
    sheet.keep()  # type: ignore[attr-defined]
    assert "Choose the kiln it is for" in sheet.why_not.sentence()  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("typed", "read"), [("7:30", "07:30"), ("0730", "07:30"), ("7", "07:00"), ("21.05", "21:05")]
)
def test_a_time_is_read_as_it_is_typed(typed: str, read: str) -> None:
    assert f"{read_time(typed):%H:%M}" == read


@pytest.mark.parametrize("typed", ["", "24:00", "7:61", "noon", "-1"])
def test_what_is_no_time_is_said(typed: str) -> None:
    with pytest.raises(UserProblem, match="is no time of the day"):
        read_time(typed)


def test_shelves_are_set_by_hand_and_what_can_not_stand_is_refused(yard: Yard) -> None:
    yard.show(yard.loads.bisque)
    rows = yard.screen.view.shelf_rows
    rows.high.line.setText("150")
    rows.add_button.click()
    rows.add_button.click()
    page = yard.page(yard.loads.bisque)
    assert [shelf.level for shelf in page.shelves] == ["bottom", "middle"]
    QCoreApplication.processEvents()
    (height,) = [
        one
        for one in rows.findChildren(type(rows.high))
        if one.line.accessibleName() == "Posts above shelf 1, mm" and one.isVisibleTo(rows)
    ]
    height.line.setText("137")
    height.line.editingFinished.emit()
    assert "137" in rows.problem.sentence()
    assert height.text() == "150"
    for said in ("Set a cone pack: shelf 1", "Remove shelf 2"):
        QCoreApplication.processEvents()
        (link,) = [
            one
            for one in rows.findChildren(QPushButton)
            if one.accessibleName() == said and one.isVisibleTo(rows)
        ]
        link.click()
    page = yard.page(yard.loads.bisque)
    assert [shelf.pack_mm is not None for shelf in page.plan.shelves] == [True]


def test_raw_ware_is_stacked_by_a_key_and_by_dragging_onto_its_like(
    yard: Yard, qtbot: QtBot
) -> None:
    desk, board = yard.desk, yard.board
    bowl = next(iter(yard.page(yard.loads.bisque).pieces.values())).ware.form_id
    assert bowl is not None
    desk.edits.run(
        "Flat bowls",
        lambda session: change_form(
            session, bowl, fired_across_mm=90, fired_height_mm=40, stack_mm=15
        ),
    )
    yard.show(yard.loads.bisque)
    yard.screen.view.packing.pack()
    packed(yard, qtbot)
    page = yard.page(yard.loads.bisque)
    # Five in a stack, which is as many as stand on each other, and one beside them.
    places = [place for shelf in page.plan.shelves for place in shelf.places]
    under = {place.on_key for place in places}
    (lone,) = [p.key for p in places if p.on_key is None and p.key not in under]
    (top,) = [p.key for p in places if p.on_key is not None and p.key not in under]
    board.setFocus()
    board.choose(lone)
    QTest.keyClick(board, Qt.Key.Key_S)
    assert "would be number 6 of a stack: 5 is the most" in yard.screen.view.told.text()
    board.choose(top)
    QTest.keyClick(board, Qt.Key.Key_Delete)
    board.setFocus()
    board.choose(lone)
    QTest.keyClick(board, Qt.Key.Key_S)
    stands = {
        place.key: place.on_key
        for shelf in yard.page(yard.loads.bisque).plan.shelves
        for place in shelf.places
    }
    assert stands[lone] is not None
    assert check_plan(yard.page(yard.loads.bisque).plan) == ()
    yard.show(yard.loads.glaze)
    QTest.keyClick(board, Qt.Key.Key_Space)
    QTest.keyClick(board, Qt.Key.Key_S)
    assert "Only raw ware of one form is stacked" in yard.screen.view.told.text()
