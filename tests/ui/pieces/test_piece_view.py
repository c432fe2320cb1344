"""A potter opens the page of a cup and puts right, by keys, what is on it."""

from datetime import date
from functools import partial

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget

from studiolog.journal.allocation import ForLine, allocate_pieces
from studiolog.journal.inspections import change_inspection
from studiolog.journal.orders import (
    OrderDraft,
    OrderLineDraft,
    add_order,
    change_order,
    read_order_page,
)
from studiolog.journal.piece_list import PieceFilter, find_piece_ids
from studiolog.journal.pieces import change_piece, delete_piece, set_layers
from studiolog.journal.surfaces import say_surfaces
from studiolog.journal.tools import ToolDraft, add_tool, use_tool
from studiolog.ui.parts.fields import EditableText
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.severity import SeverityPicker
from studiolog.ui.pieces.screen import PiecesScreen


def shown_words(widget: QWidget) -> str:
    QApplication.processEvents()  # Qt shows newly laid out widgets from its event loop
    labels = widget.findChildren(QLabel)
    return " | ".join(label.text() for label in labels if label.isVisible())


def type_in_place(qtbot, field: EditableText, text: str) -> None:
    field.edit()
    qtbot.keyClick(field._line, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    qtbot.keyClicks(field._line, text)
    qtbot.keyClick(field._line, Qt.Key.Key_Return)


def test_the_page_says_what_is_known(screen: PiecesScreen) -> None:
    words = shown_words(screen)
    for told in ("Buff stoneware, thrown 11 Sep", "shrinkage 12.7", "usual 12.5", "Running"):
        assert told in words
    assert "Chalk, dip 3 s, over Kelp, dip 4 s" in screen.view.layers.section.sentence()
    assert "witness cone at the bottom level" in screen.view.firings.block.scale.sentence()


def test_a_piece_of_which_nothing_is_known_has_a_page(screen: PiecesScreen, studio) -> None:
    screen.show_thing(studio.ids["bare"])
    words = shown_words(screen)
    for told in ("Clay not said", "Not in a firing yet.", "Not looked at yet."):
        assert told in words
    assert screen.view.photos.frame.sentence() == "No photo yet."
    assert screen.view.layers.section.sentence().startswith("Bare wall")


@pytest.mark.parametrize(("width", "height"), [(1100, 716), (1280, 716), (1440, 816), (1920, 996)])
def test_nothing_runs_out_of_the_window(screen: PiecesScreen, qtbot, width, height) -> None:
    screen.view.layers.toggle_editor()
    screen.view.inspections.inspect_again()
    screen.view.toggle_details()
    screen.resize(width, height)
    room = screen.view.scroller.viewport()
    qtbot.waitUntil(lambda: screen.view._page.width() == room.width())
    assert screen.view._page.minimumSizeHint().width() <= room.width()
    below = screen.view._right.y() > screen.view._left.y()
    assert below == (width < 1280)


def test_rename_and_renumber_in_place_and_undo(screen: PiecesScreen, studio, qtbot) -> None:
    type_in_place(qtbot, screen.view.header.title, "Quay tumbler")
    assert studio.page().title == "Quay tumbler"
    qtbot.keyClick(screen.view, Qt.Key.Key_E)
    details = screen.view.details
    assert details.isVisible()
    details.number.line.setText("413")
    details.number.line.setModified(True)
    qtbot.keyClick(details.number.line, Qt.Key.Key_Return)
    # Told beside the field, and nothing was changed.
    assert details.number.problem() == "There is a piece 413 already."
    assert studio.page().number == 412
    details.number.line.setText("500")
    qtbot.keyClick(details.number.line, Qt.Key.Key_Return)
    assert studio.page().number == 500
    studio.desk.edits.undo()
    studio.desk.edits.undo()
    assert (studio.page().number, studio.page().title) == (412, "")


def test_clay_form_day_and_origin_are_changed_at_once(screen, studio, qtbot) -> None:
    screen.view.toggle_details()
    details = screen.view.details
    details.clay.pick.lineEdit().setText("Iron-red stoneware")
    details.clay.pick._settle()
    assert studio.page().clay.name == "Iron-red stoneware"
    details.form.pick.lineEdit().setText("not said")
    details.form.pick._settle()
    assert studio.page().form is None
    details.made_on.line.setText("2026-09-12")
    qtbot.keyClick(details.made_on.line, Qt.Key.Key_Return)
    assert studio.page().made_on == date(2026, 9, 12)
    details.parent_number.line.setText("999")
    qtbot.keyClick(details.parent_number.line, Qt.Key.Key_Return)
    assert details.parent_number.problem() == "There is no piece 999."
    details.parent_number.line.setText("413")
    qtbot.keyClick(details.parent_number.line, Qt.Key.Key_Return)
    assert [link.number for link in studio.page().came_from] == [413]
    qtbot.keyClick(details, Qt.Key.Key_Escape)
    assert not details.isVisible()


def test_layers_are_ordered_and_added_by_keys(screen, studio, qtbot) -> None:
    qtbot.keyClick(screen.view, Qt.Key.Key_L)
    editor = screen.view.layers.editor
    first, second = editor.rows()
    qtbot.keyClick(second, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    assert "Kelp, dip 4 s, over Chalk" in screen.view.layers.section.sentence()
    qtbot.keyClick(first, Qt.Key.Key_Delete, Qt.KeyboardModifier.ControlModifier)
    assert editor.rows() == (second,)
    third = editor.add_row()
    third.zone.setEditText("handle")
    editor.keep()
    assert editor.problem.sentence() == "Layer 2: choose its glaze."
    third.glaze.lineEdit().setText("Oat")
    third.glaze._settle()
    third.bucket.choose(studio.ids["bucket"])
    third.coats.line.setText("2")
    qtbot.keyClick(editor, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert not editor.isVisible()
    told = [(x.zone, x.glaze_name, x.coats, x.bucket_id) for x in studio.page().layers]
    assert told == [("outside", "Chalk", None, None), ("handle", "Oat", 2, studio.ids["bucket"])]


def test_another_desk_changed_the_layers_meanwhile(screen, studio) -> None:
    screen.view.layers.toggle_editor()
    piece = studio.ids["cup"]
    studio.journal.edit("Elsewhere", lambda session: set_layers(session, piece, ()))
    screen.view.layers.editor.keep()
    assert "changed somewhere else" in studio.said[-1].sentence
    assert studio.page().layers == ()
    assert screen.view.edits.page.layers == ()  # the page shows them as they are now


def test_a_title_changed_elsewhere_is_not_overwritten(screen, studio, qtbot) -> None:
    piece = studio.ids["cup"]
    studio.journal.edit("Elsewhere", lambda s: change_piece(s, piece, title="Theirs"))
    type_in_place(qtbot, screen.view.header.title, "Mine")
    assert studio.page().title == "Theirs"
    assert screen.view.header.title.text() == "Theirs"


def test_a_note_typed_during_a_conflict_is_not_lost(screen, studio, qtbot) -> None:
    piece = studio.ids["cup"]
    qtbot.keyClick(screen.view, Qt.Key.Key_N)
    note = screen.view.next_time.note
    assert note.is_editing()
    note._note.setPlainText("Dip Chalk 2 s")
    studio.journal.edit("Elsewhere", lambda s: change_piece(s, piece, next_time="Middle shelf"))
    qtbot.keyClick(note._note, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert note.is_editing()
    assert note._note.toPlainText() == "Middle shelf\nDip Chalk 2 s"
    qtbot.keyClick(note._note, Qt.Key.Key_Escape)


def test_inspecting_again_by_keys(screen, studio, qtbot) -> None:
    qtbot.keyClick(screen.view, Qt.Key.Key_I)
    editor = screen.view.inspections.editor
    assert editor.isVisible()
    crazing = editor.findChild(SeverityPicker, "severity_crazing")
    assert crazing.hasFocus()
    qtbot.keyClick(crazing, Qt.Key.Key_2)
    row = editor.rows[0]
    row.zone.line.setText("inside")
    editor.add_zone("crazing")
    qtbot.keyClick(editor.rows[1].picker, Qt.Key.Key_0)
    editor.rows[1]._follow()
    qtbot.keyClick(editor, Qt.Key.Key_D, Qt.KeyboardModifier.ControlModifier)
    editor.stress.setChecked(True)
    qtbot.keyClick(editor, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert not editor.isVisible()
    last = studio.page().inspections[-1]
    assert last.stress_tested
    assert last.looked_on == date.today()
    crazed = [(one.severity, one.zone) for one in last.faults if one.fault == "crazing"]
    assert crazed == [(2, "inside"), (0, "")]
    assert {one.severity for one in last.faults if one.fault != "crazing"} == {0}
    assert len({one.fault for one in last.faults}) == 13


def test_the_surface_is_described_by_letters_and_read_on_the_page(screen, studio, qtbot) -> None:
    section = screen.view.inspections
    section.inspect_again()
    surface = section.editor.surface
    surface.setFocus()
    qtbot.keyClicks(surface, "gzs")
    section.editor.keep()
    last = studio.page().inspections[-1]
    assert [(one.word, one.zone) for one in last.surfaces] == [("glossy", ""), ("satin", "outside")]
    assert "surface: glossy; outside: satin" in shown_words(section)
    section.change(last)
    qtbot.keyClicks(section.editor.surface, "m")
    section.editor.keep()
    assert say_surfaces(studio.page().inspections[-1].surfaces) == "matt; outside: satin"
    studio.desk.edits.undo()
    assert say_surfaces(studio.page().inspections[-1].surfaces) == "glossy; outside: satin"


def test_an_inspection_is_changed_and_deleted(screen, studio) -> None:
    section = screen.view.inspections
    section.change(studio.page().inspections[0])
    running = next(row for row in section.editor.rows if row.fault == "running")
    assert running.zone.text() == "foot"
    running.picker.pick(3)
    section.editor.keep()
    faults = {one.fault: one.severity for one in studio.page().inspections[0].faults}
    assert faults == {"crazing": 0, "running": 3}
    section.change(studio.page().inspections[0])
    section.editor.delete_it()
    assert studio.page().inspections == ()
    studio.desk.edits.undo()
    assert len(studio.page().inspections) == 1


def test_an_inspection_needs_a_day_and_something_looked_for(screen, studio) -> None:
    editor = screen.view.inspections.editor
    screen.view.inspections.inspect_again()
    editor.keep()
    assert "at least one fault" in editor.problem.sentence()
    editor.look_for_all()
    editor.day.line.setText("2199-01-01")
    editor.keep()
    assert "still to come" in editor.day.problem()
    assert len(studio.page().inspections) == 1


def test_an_inspection_changed_elsewhere_is_not_overwritten(screen, studio) -> None:
    line = studio.page().inspections[0]
    screen.view.inspections.change(line)
    studio.journal.edit(
        "Elsewhere", lambda s: change_inspection(s, line.inspection_id, note="pinging")
    )
    screen.view.inspections.editor.look_for_all()
    screen.view.inspections.editor.keep()
    assert studio.page().inspections[0].note == "pinging"
    assert len(studio.page().inspections[0].faults) == 2


def test_sizes_are_typed_where_they_stand(screen, studio, qtbot) -> None:
    cells = screen.view.sizes.cells
    type_in_place(qtbot, cells[("mass_g", "wet")], "412 g")
    type_in_place(qtbot, cells[("height_mm", "bisque")], "112,5")
    assert studio.page().size("wet").mass_g == 412
    assert studio.page().size("bisque").height_mm == 112.5
    type_in_place(qtbot, cells[("height_mm", "fired")], "tall")
    assert "is not a number" in screen.view.sizes.problem.sentence()
    assert cells[("height_mm", "fired")].text() == "103"
    type_in_place(qtbot, cells[("height_mm", "bisque")], "")
    # An empty field is taken away; with it goes a line of which nothing is left.
    cells[("height_mm", "bisque")].edit()
    cells[("height_mm", "bisque")]._line.clear()
    qtbot.keyClick(cells[("height_mm", "bisque")]._line, Qt.Key.Key_Return)
    assert studio.page().size("bisque").height_mm is None


def test_a_piece_about_to_be_fired_is_weighed_with_its_raw_glaze(screen, studio, qtbot) -> None:
    assert ("mass_g", "glazed") not in screen.view.sizes.cells, "it is fired: too late to weigh"
    screen.view.stages.move_to("glazed")
    cells = screen.view.sizes.cells
    assert ("height_mm", "glazed") not in cells, "it is weighed then, not measured"
    type_in_place(qtbot, cells[("mass_g", "bisque")], "310")
    type_in_place(qtbot, cells[("mass_g", "glazed")], "341,5")
    assert studio.page().size("glazed").mass_g == 341.5
    told = [label.text() for label in screen.view.sizes.findChildren(QLabel)]
    assert "+31.5 g" in told


def test_stages_and_steps(screen, studio, qtbot) -> None:
    stages = screen.view.stages
    stages.move_to("finished")
    assert studio.page().stage == "finished"
    line = studio.page().stages[0]
    day = stages.findChild(EditableText, f"stage_day_{line.change_id}")
    type_in_place(qtbot, day, "2026-09-10")
    assert studio.page().stages[0].at.date() == date(2026, 9, 10)
    stages.move_to("lost")
    last = studio.page().stages[-1]
    why = stages.findChild(EditableText, f"stage_note_{last.change_id}")
    assert why.is_editing()
    qtbot.keyClicks(why._line, "dropped at packing")
    qtbot.keyClick(why._line, Qt.Key.Key_Return)
    assert studio.page().lost_why == "dropped at packing"
    steps = screen.view.steps
    steps.begin()
    qtbot.keyClicks(steps.new.name.line, "trimmed")
    qtbot.keyClick(steps.new.name.line, Qt.Key.Key_Return)
    (step,) = studio.page().steps
    assert (step.name, step.done_on) == ("trimmed", date.today())
    minutes = steps.findChild(EditableText, f"step_minutes_{step.step_id}")
    type_in_place(qtbot, minutes, "3.5")
    assert studio.page().steps[0].minutes == 3.5


def test_its_place_in_a_firing_is_moved_and_taken_out(screen, studio) -> None:
    section = screen.view.firings
    section._edit_place(section._main)
    section.editor.level.pick.choose(studio.ids["top"])
    section.editor.position.set_text("front left")
    section.editor.keep()
    place = studio.page().firings[0]
    assert (place.level_name, place.position) == ("top", "front left")
    section._edit_place(section._main)
    section.editor.take_out()
    assert studio.page().firings == ()
    section._edit_place(None)
    section.editor.keep()
    assert "Choose the firing" in section.editor.problem.sentence()
    section.editor.firing.pick.choose(studio.ids["firing"])
    section.editor._offer_levels(studio.ids["middle"])
    section.editor.keep()
    assert studio.page().firings[0].level_name == "middle"


def test_left_and_right_follow_the_list_one_came_from(screen, studio, qtbot) -> None:
    ids = studio.ids
    screen.show_thing(ids["cup"], {"ids": (ids["bare"], ids["cup"], ids["red cup"])})
    qtbot.keyClick(screen.view, Qt.Key.Key_Left)
    assert screen.piece_id() == ids["bare"]
    qtbot.keyClick(screen.view, Qt.Key.Key_Right)
    qtbot.keyClick(screen.view, Qt.Key.Key_Right)
    assert screen.piece_id() == ids["red cup"]
    qtbot.keyClick(screen.view, Qt.Key.Key_Right)
    assert screen.piece_id() == ids["red cup"]


def test_without_a_list_left_and_right_go_by_number(screen, studio, qtbot) -> None:
    qtbot.keyClick(screen.view, Qt.Key.Key_Right)
    assert screen.piece_id() == studio.ids["red cup"]


def test_divider_and_scale_keys(screen, qtbot) -> None:
    frame = screen.view.photos.frame
    qtbot.keyClick(screen.view, Qt.Key.Key_D)
    assert frame.divider() == pytest.approx(0.52)
    qtbot.keyClick(screen.view, Qt.Key.Key_A)
    assert frame.divider() == pytest.approx(0.5)
    qtbot.keyClick(screen.view, Qt.Key.Key_S)
    assert not frame.is_true_scale()


def test_a_letter_typed_into_a_field_is_no_command(screen, qtbot) -> None:
    title = screen.view.header.title
    title.edit()
    qtbot.keyClicks(title._line, "indeed")
    assert not screen.view.inspections.editor.isVisible()
    assert not screen.view.details.isVisible()
    qtbot.keyClick(title._line, Qt.Key.Key_Escape)


def test_deleting_leads_to_the_list_and_undo_brings_it_back(screen, studio) -> None:
    screen.view.delete()
    assert screen.piece_id() == 0
    assert studio.ids["cup"] not in screen.list.ids()
    studio.desk.edits.undo()
    assert studio.ids["cup"] in screen.list.ids()
    assert len(studio.page().layers) == 2


def test_a_piece_deleted_elsewhere_is_told(screen, studio) -> None:
    piece = studio.ids["cup"]
    studio.desk.edits.run("Elsewhere", lambda session: delete_piece(session, piece))
    assert screen.piece_id() == 0
    assert "no longer in the journal" in studio.said[-1].sentence


def test_another_like_this_and_links_are_asked_of_the_frame(screen, studio) -> None:
    screen.view.log_like()
    assert studio.asked[-1] == ("quick_log", 0, {"like": studio.ids["cup"]})
    screen.view.firings._open()
    assert studio.asked[-1] == ("firing", studio.ids["firing"], None)
    screen.view.layers.section.layer_chosen.emit(0)
    assert studio.asked[-1] == ("glaze", studio.ids["kelp"], None)


def test_everything_has_a_name_for_a_screen_reader(screen, studio) -> None:
    screen.view.layers.toggle_editor()
    screen.view.inspections.inspect_again()
    screen.view.toggle_details()
    nameless = [
        child
        for child in screen.view.findChildren(QWidget)
        if child.isVisible()
        and child.focusPolicy() & Qt.FocusPolicy.TabFocus
        and not child.accessibleName()
        and not getattr(child, "text", lambda: "")()
        and not child.focusProxy()
    ]
    assert [type(child).__name__ for child in nameless] == []


def test_a_piece_names_the_tools_it_was_made_with_and_can_be_one(
    screen: PiecesScreen, studio
) -> None:
    draft = ToolDraft(title="Wave stamp", made_on=date(2026, 3, 2), number=88)
    stamp = studio.desk.edits.run("Tool", partial(add_tool, draft=draft))
    studio.desk.edits.run("Use", partial(use_tool, tool_id=stamp, piece_id=studio.ids["cup"]))
    assert "made with | Wave stamp" in shown_words(screen)
    (mark,) = [mark for mark in screen.view.header.findChildren(NumberMark) if mark.text == "88"]
    mark.open()
    assert studio.asked[-1][:2] == ("tool", stamp)
    assert find_piece_ids_of(studio, "tool") == (stamp,)
    screen.show_thing(studio.ids["bare"])
    screen.view.turn_kind()
    assert studio.page("bare").kind == "tool"
    assert set(find_piece_ids_of(studio, "tool")) == {stamp, studio.ids["bare"]}
    screen.view.turn_kind()
    assert studio.page("bare").kind == "ware"


def test_a_piece_says_what_it_is_set_aside_for_as_the_order_is_called_by_now(
    screen: PiecesScreen, studio
) -> None:
    cup = studio.ids["cup"]
    edit = studio.desk.edits.run
    lines = (OrderLineDraft(what="cup", wanted=1),)
    order = edit("Order", partial(add_order, draft=OrderDraft(whom="Quay café", lines=lines)))
    line = studio.journal.read(partial(read_order_page, order_id=order)).lines[0].line_id
    edit("Set aside", partial(allocate_pieces, holder=ForLine(line), piece_ids=[cup]))
    assert set_aside_words(screen) == ["Set aside for order 1"]
    edit("Number", partial(change_order, order_id=order, number=31))
    assert set_aside_words(screen) == ["Set aside for order 31"]


def set_aside_words(screen: PiecesScreen) -> list[str]:
    QApplication.processEvents()
    buttons = screen.view.header.findChildren(QAbstractButton)
    return [one.text() for one in buttons if one.isVisible() and "aside for" in one.text()]


def find_piece_ids_of(studio, text: str) -> tuple[int, ...]:
    return studio.journal.read(partial(find_piece_ids, wanted=PieceFilter(text=text)))
