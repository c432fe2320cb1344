"""The kilns screen: levels renamed, moved, added; refusals said beneath; °F where wanted."""

from datetime import date
from decimal import Decimal

import pytest
from PySide6.QtWidgets import QApplication

from studiolog.craft.units import THIN
from studiolog.desktop.desk import Desk
from studiolog.journal.kiln_page import KilnPage, read_kiln_page
from studiolog.journal.kilns import change_kiln
from studiolog.ui.kilns.day_strip import say_days
from studiolog.ui.kilns.energy_section import say_bases, say_kind
from studiolog.ui.kilns.kiln_view import KilnView
from studiolog.ui.kilns.levels import offset_words
from studiolog.ui.kilns.screen import KilnsScreen
from studiolog.ui.kilns.shelves_section import SHELVES
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


def test_the_year_of_a_kiln_is_told_by_kind_with_how_it_is_known(
    desk: Desk, studio: SmallStudio, view: KilnView
) -> None:
    (glaze,) = page_of(desk, studio.kiln).energy.kinds
    assert say_bases(glaze.by_basis) == "4 by the meter"
    # 61.5, 62.5, 63.5 and 64.5 kWh at 0.31; 190 litres; six cups in each.
    assert say_kind(glaze).replace(THIN, " ") == (
        "Glaze, 4 firings; 63.0 kWh each; cost 19.53 each; 0.10 a litre; 3.26 a piece."
    )
    assert view.energy.total.text().replace(THIN, " ") == "In all 252 kWh, 78.12."


def test_prices_are_typed_as_on_the_bill_and_drawn_over_the_day(
    desk: Desk, studio: SmallStudio, view: KilnView
) -> None:
    section = view.tariffs
    assert section.strip.sentence() == "Every day: 0:00 to 24:00 0.31."
    section.grid.type_cell(0, 0, "0,19")
    section.grid.type_cell(0, 1, "21.30 - 6")
    (line,) = page_of(desk, studio.kiln).tariffs
    assert (line.band.per_kwh, line.band.starts_min, line.band.ends_min) == (
        Decimal("0.19"),
        1290,
        360,
    )
    assert section.strip.sentence() == (
        "Every day: 0:00 to 6:00 0.19, 6:00 to 21:30 0.31, 21:30 to 24:00 0.19."
    )
    assert section.grid.rows()[0] == (Decimal("0.19"), "21:30 to 6:00", "every day", None)
    section.grid.type_cell(0, 1, "at night")
    assert "Price 1: “at night” is no stretch of hours" in section.grid.problem()
    assert page_of(desk, studio.kiln).tariffs == (line,), "what stood is kept"


def test_new_prices_begin_on_a_day_and_leave_the_old_ones(
    desk: Desk, studio: SmallStudio, view: KilnView
) -> None:
    section = view.tariffs
    section.begin_prices()
    assert "Give the day" in section.begin_day.problem()
    section.begin_day.set_text("1 Jan 2099")
    section.begin_prices()
    (line,) = page_of(desk, studio.kiln).tariffs
    assert (line.band.per_kwh, line.band.valid_from) == (Decimal("0.31"), date(2099, 1, 1))
    assert "others from 1 Jan 2099" in section.quiet.text()
    section.begin_day.set_text("1 Jan 2099")
    section.begin_prices()
    assert "begin on that day already" in section.problem.sentence()
    section.base.line.setText("")
    section.base._finish()
    assert section.none.isHidden(), "a price that begins later is a price"
    assert section.strip.sentence() == "Every day: 0:00 to 24:00 no price."


def test_days_of_the_week_are_said_from_first_to_last() -> None:
    assert [say_days(days) for days in (range(7), (0, 1, 2, 3, 4), (5,), (0, 2, 3))] == [
        "Every day", "Monday to Friday", "Saturday", "Monday, Wednesday to Thursday",
    ]  # fmt: skip


def test_only_a_rectangular_shelf_has_a_depth_and_the_other_fields_close_up(
    desk: Desk, studio: SmallStudio, view: KilnView
) -> None:
    sheet = view.shelves.sheet
    fields = {prop.key: sheet.field(prop.key) for prop in SHELVES}

    def shown() -> list[str]:
        return [key for key, field in fields.items() if field.isVisible()]

    def place_of(key: str) -> int:
        return sheet.layout().indexOf(fields[key])  # type: ignore[union-attr]

    desk.edits.run("Round", lambda s: change_kiln(s, studio.kiln, shelf_shape="round"))
    assert shown() == [key for key in fields if key != "shelf_deep_mm"]
    assert place_of("shelf_deep_mm") == -1
    desk.edits.run("Square", lambda s: change_kiln(s, studio.kiln, shelf_shape="rectangle"))
    assert shown() == list(fields)
    assert place_of("shelf_deep_mm") == place_of("shelf_across_mm") + 1
