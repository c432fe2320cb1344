"""The kilns screen: levels renamed, moved, added; refusals said beneath; °F where wanted."""

import pytest
from PySide6.QtWidgets import QApplication

from studiolog.desktop.desk import Desk
from studiolog.journal.kiln_page import KilnPage, read_kiln_page
from studiolog.ui.kilns.kiln_view import KilnView
from studiolog.ui.kilns.levels import offset_words
from studiolog.ui.kilns.screen import KilnsScreen
from studiolog.ui.parts.fields import NumberField
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def view(studio: SmallStudio, open_screen: OpenScreen) -> KilnView:
    page = open_screen(KilnsScreen).page
    assert isinstance(page, KilnView)
    return page


def page_of(desk: Desk, kiln_id: int) -> KilnPage:
    page = desk.read(lambda session: read_kiln_page(session, kiln_id))
    assert page is not None
    return page


def names(desk: Desk, studio: SmallStudio) -> list[str]:
    return [level.name for level in page_of(desk, studio.kiln).levels]


def test_levels_are_added_moved_and_dropped_while_nothing_stood_there(
    desk: Desk, studio: SmallStudio, view: KilnView
) -> None:
    view.levels.new_name.line.setText("floor")
    view.levels.add_level()
    assert names(desk, studio) == ["top", "middle", "bottom", "floor"]
    view.levels.move_level(3, 2)
    assert names(desk, studio) == ["top", "middle", "floor", "bottom"]
    view.levels.remove_level(2)
    assert names(desk, studio) == ["top", "middle", "bottom"]
    view.levels.remove_level(0)
    assert "8 pieces stood there" in view.levels.problem.sentence()
    assert names(desk, studio) == ["top", "middle", "bottom"]


def test_a_level_is_renamed_where_it_stands(
    desk: Desk, studio: SmallStudio, view: KilnView
) -> None:
    view.levels._rename(studio.levels[1], "waist")
    assert names(desk, studio) == ["top", "waist", "bottom"]
    assert page_of(desk, studio.kiln).levels[1].readings == 4


def test_an_offset_says_how_many_readings_stand_behind_it(
    desk: Desk, studio: SmallStudio, view: KilnView
) -> None:
    top = page_of(desk, studio.kiln).levels[0]
    assert offset_words(top, "C").endswith("4 readings")
    assert "°F" in offset_words(top, "F")


def test_the_thermocouple_offset_is_typed_in_the_unit_read(
    desk: Desk, studio: SmallStudio, view: KilnView, qapp: QApplication
) -> None:
    desk.settings.temperature_unit = "F"
    qapp.processEvents()
    sheet = view.sensors["F"]
    assert sheet.isVisible()
    assert not view.sensors["C"].isVisible()
    field = sheet.field("thermocouple_offset_c")
    assert isinstance(field, NumberField)
    field.line.setText("−9")
    field._finish()
    assert page_of(desk, studio.kiln).thermocouple_offset_c == pytest.approx(-5)
    field.line.setText("")
    field._finish()
    assert page_of(desk, studio.kiln).thermocouple_offset_c == 0, "emptied is no offset"


def test_energy_is_told_by_the_firing(view: KilnView) -> None:
    assert view.energy.text().startswith("63 kWh a firing, over 4 firings")
