"""The sheets of make sizes and of tiles: what is typed is told at once, with its sum."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.clays import list_clays
from studiolog.journal.forms import FormDraft, add_form, change_form
from studiolog.journal.limits import set_limit
from studiolog.problems import UserProblem
from studiolog.ui.parts.make_size_sheet import MakeSizeSheet, open_make_size
from studiolog.ui.parts.paper_sheet import PaperSheet
from studiolog.ui.parts.tile_fields import read_corners
from studiolog.ui.parts.tiles_sheet import TilesSheet, open_tiles
from tests.clay_bars import measure_clay
from tests.small_studio import SmallStudio


@pytest.fixture
def over(qtbot: QtBot) -> QWidget:
    """A window for sheets to lie over."""
    made = QWidget()
    qtbot.addWidget(made)
    made.resize(1280, 800)
    made.show()
    return made


@pytest.fixture
def sheet(desk: Desk, studio: SmallStudio, over: QWidget) -> MakeSizeSheet:
    desk.edits.run("Measure", lambda session: measure_clay(session, studio.buff, 1))
    return open_make_size(desk, studio.buff, 270.0, over)


def told(sheet: MakeSizeSheet) -> str:
    assert sheet.answer is not None
    return sheet.answer.text.replace("\u202f", " ")


def fill(sheet: MakeSizeSheet, **values: str) -> None:
    for key, text in values.items():
        sheet._fields[key].line.setText(text)


def test_a_plate_of_270_with_its_tolerance(sheet: MakeSizeSheet) -> None:
    assert "270.0 mm / (1 − 13.0 %) = 310.2 mm wet." in told(sheet)
    assert "bone dry." in told(sheet)
    assert "One of them lies far from the others" in sheet.basis.text()
    assert "Chance to miss" not in told(sheet)
    fill(sheet, low="268", high="272")
    assert "Chance to miss" in told(sheet)
    fill(sheet, low="271")
    assert "outside what is allowed" in sheet.why_not.sentence()
    assert not sheet.keep_button.isEnabled()
    fill(sheet, low="", high="", fired="0")
    assert "more than 0" in sheet.why_not.sentence()


def test_a_hole_a_lid_and_a_stamp(sheet: MakeSizeSheet, studio: SmallStudio) -> None:
    sheet.kind.pick("hole")
    fill(sheet, bulb="27", clearance="1")
    assert "27.0 mm + 1.0 mm = 28.0 mm at the least" in told(sheet)
    sheet.kind.pick("lid")
    assert "Chance that it jams (under 1.0 mm)" in told(sheet)
    fill(sheet, least="4")
    assert "smaller than the most" in sheet.why_not.sentence()
    sheet.kind.pick("stamp")
    sheet.tool.choose(studio.red)
    sheet.refresh()
    assert "Mark on wet ware: 20.0 mm / (1 − 13.0 %) = 23.0 mm" in told(sheet)
    assert "The stamp itself: 23.0 mm / (1 − 12.0 %) = 26.1 mm" in told(sheet)


def test_a_clay_nobody_measured_is_told_as_such(sheet: MakeSizeSheet, studio: SmallStudio) -> None:
    sheet.clay.choose(studio.red)
    sheet.refresh()
    assert "common practice" in sheet.basis.text()


def test_a_limit_set_while_the_sheet_is_open_is_told_at_once(
    sheet: MakeSizeSheet, desk: Desk, studio: SmallStudio
) -> None:
    sheet.clay.choose(studio.red)
    sheet.refresh()
    assert "12.0 % wet to fired" in sheet.known.text().replace("\u202f", " ")
    desk.edits.run("Limit", lambda session: set_limit(session, "clay_shrinkage_percent", 10))
    assert "10.0 % wet to fired" in sheet.known.text().replace("\u202f", " ")


def test_the_answer_is_copied_with_where_it_comes_from(sheet: MakeSizeSheet) -> None:
    QTest.keyClick(sheet, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    copied = QGuiApplication.clipboard().text()
    assert copied.startswith("Buff stoneware: Make it 310.2")
    assert "Measured on 7 pieces" in copied


def test_without_a_clay_there_is_a_sentence(desk: Desk, over: QWidget) -> None:
    assert desk.read(list_clays) == []
    empty = open_make_size(desk, 0, None, over)
    assert "Name a clay first" in empty.why_not.sentence()
    tiles = open_tiles(desk, 0, 0, over)
    assert tiles.clay.chosen() is None


@pytest.fixture
def tiles(desk: Desk, studio: SmallStudio, over: QWidget, qtbot: QtBot) -> TilesSheet:
    def enter(session: object) -> int:
        form = add_form(session, FormDraft(name="Hexagonal tile", fired_across_mm=100))  # type: ignore[arg-type]
        change_form(session, form, shape="tile")  # type: ignore[arg-type]
        return form

    made = open_tiles(desk, desk.edits.run("Add", enter), studio.buff, over)
    laid(made, qtbot)
    return made


def laid(sheet: TilesSheet, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not sheet._desk.jobs.is_running("lay tiles"), timeout=10_000)


def test_a_hexagonal_tile_begins_as_one_and_is_counted(tiles: TilesSheet) -> None:
    layout, count = tiles.layout_shown, tiles.count
    assert layout is not None
    assert count is not None
    assert (layout.tile.kind, layout.tile.across_mm) == ("hexagon", 100)
    words = tiles.lines.text().replace("\u202f", " ")
    assert f"{layout.whole} whole + {layout.cut} cut = {layout.needed} hexagons" in words
    assert "stated" in words
    assert count.make is not None
    assert count.make > count.good
    assert "100.0 mm / (1 − 12.5 %)" in tiles.made.text().replace("\u202f", " ")


def test_other_tiles_an_l_and_offcuts(tiles: TilesSheet, qtbot: QtBot) -> None:
    fields = tiles.fields
    fields.kind.pick("square")
    fields.area_kind.pick("corner")
    for field, text in ((fields.joint, "0"), (fields.wide, "430"), (fields.high, "400"),
                        (fields.out_wide, "130"), (fields.out_high, "100")):  # fmt: skip
        field.line.setText(text)
    fields.start.choose("corner")
    tiles.refresh()
    laid(tiles, qtbot)
    assert tiles.count is not None
    before = tiles.count.lay
    fields.offcuts.setChecked(True)
    laid(tiles, qtbot)
    assert tiles.count is not None
    assert tiles.count.lay == before - 1, "two strips of 30 mm come from one tile"
    assert "30 × 100 mm" in tiles.cuts.text().replace("\u202f", " ")


@pytest.mark.parametrize(
    ("field", "text", "sentence"),
    [
        ("across", "1", "A tile is 5 mm"),
        ("across", "", "Give “Across, fired”."),
        ("wide", "90000", "up to 10000 are laid out"),
        ("joint", "500", "not wider than the tile"),
        ("edge", "700", "leaves nothing"),
        ("spares", "120", "100 % or less"),
    ],
)
def test_what_can_not_be_laid_is_said_and_nothing_stale_can_be_copied(
    tiles: TilesSheet, qtbot: QtBot, field: str, text: str, sentence: str
) -> None:
    if field == "wide":
        tiles.fields.high.line.setText("90000")
    getattr(tiles.fields, field).line.setText(text)
    laid(tiles, qtbot)
    assert sentence in tiles.why_not.sentence()
    assert not tiles.keep_button.isEnabled()
    assert tiles.head.text() == ""


def test_an_area_by_its_corners(tiles: TilesSheet, qtbot: QtBot) -> None:
    tiles.fields.area_kind.pick("corners")
    tiles.fields.points.line.setText("0 0, 1000 0, 0 1000, 1000 1000")
    laid(tiles, qtbot)
    assert "cross" in tiles.why_not.sentence()
    tiles.fields.points.line.setText("0 0, 1000 0; 1000 1000, 0 1000")
    laid(tiles, qtbot)
    assert tiles.layout_shown is not None
    assert tiles.layout_shown.area_mm2 == pytest.approx(1e6)
    with pytest.raises(UserProblem, match="Corner 2"):
        read_corners("0 0, 12, 5 5")


def test_the_tiles_are_copied_and_printed(tiles: TilesSheet) -> None:
    tiles.keep()
    assert "hexagons to lay" in QGuiApplication.clipboard().text()
    tiles.print_layout()
    (paper,) = tiles.findChildren(PaperSheet)
    assert paper.view.page is not None
    assert "drawn to scale" in paper.view.page.description
    paper.close()
