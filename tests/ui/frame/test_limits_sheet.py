"""The sheet of limits: read, set, refused, put back, and undone."""

from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from studiolog.craft.limits import shipped_limits
from studiolog.desktop.desk import Desk
from studiolog.journal.limits import read_limits
from studiolog.ui.frame.limits_sheet import LimitsSheet


@pytest.fixture
def sheet(desk: Desk, qtbot: QtBot) -> Iterator[LimitsSheet]:
    made = LimitsSheet(desk)
    qtbot.addWidget(made)
    made.show()
    yield made
    made.close()


def row_of(sheet: LimitsSheet, key: str) -> list[str]:
    at = sheet.value_item(key).row()
    texts = []
    for column in range(sheet.table.columnCount()):
        item = sheet.table.item(at, column)
        assert item is not None
        texts.append(item.text())
    return texts


def test_every_limit_is_there_with_its_standing(sheet: LimitsSheet) -> None:
    for key, row in shipped_limits().items():
        words, value, shipped, standing = row_of(sheet, key)
        assert words.casefold() == row.words.casefold()
        assert value == shipped
        assert standing == row.standing


def test_a_limit_is_set_at_once_marked_and_put_back(desk: Desk, sheet: LimitsSheet) -> None:
    sheet.value_item("lag_c").setText("20")
    assert desk.read(read_limits)["lag_c"] == 20.0
    assert row_of(sheet, "lag_c")[1:] == ["20\u202f°C", "10\u202f°C", "set by you (judgement)"]
    sheet.table.setCurrentItem(sheet.value_item("lag_c"))
    assert sheet.as_shipped.isEnabled()
    sheet.as_shipped.click()
    assert not desk.read(read_limits).is_changed("lag_c")
    assert row_of(sheet, "lag_c")[3] == "judgement"
    desk.edits.undo()
    assert row_of(sheet, "lag_c")[1] == "20\u202f°C"
    sheet.all_shipped.click()
    assert not desk.read(read_limits).is_changed("lag_c")
    assert not sheet.all_shipped.isEnabled()


def test_what_can_not_be_is_told_and_nothing_is_changed(desk: Desk, sheet: LimitsSheet) -> None:
    sheet.value_item("lag_c").setText("400")
    assert "lies between 2\u202f°C and 50\u202f°C" in sheet.problem.sentence()
    assert row_of(sheet, "lag_c")[1] == "10\u202f°C"
    sheet.value_item("lag_c").setText("lots")
    assert "“lots” is not a number" in sheet.problem.sentence()
    assert desk.edits.undo_label() is None


def test_fahrenheit_is_only_a_way_of_reading(desk: Desk, qtbot: QtBot) -> None:
    desk.settings.temperature_unit = "F"
    made = LimitsSheet(desk, "program")
    qtbot.addWidget(made)
    assert made.chosen() == "dry_by_c", "it opens at the group asked for"
    assert row_of(made, "dry_by_c")[1] == "248\u202f°F"
    made.value_item("dry_by_c").setText("257")
    assert desk.read(read_limits)["dry_by_c"] == pytest.approx(125.0)
    made.close()
