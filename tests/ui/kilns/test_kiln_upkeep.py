"""The page of a kiln: its map, its wear and its upkeep, by mouse and by keys."""

from datetime import date, datetime, timedelta

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from studiolog.craft.firing.kiln_wear import FiringWork, judge_wear
from studiolog.craft.firing.sensor_drift import SensorDrift
from studiolog.craft.units import THIN
from studiolog.desktop.desk import Desk
from studiolog.journal.kiln_map import say_in_cones
from studiolog.journal.kiln_tasks import KilnTaskDraft, add_task, read_tasks
from studiolog.journal.kiln_wear import KilnWearPage
from studiolog.journal.kilns import KilnDraft, add_kiln
from studiolog.ui.firings.upkeep_line import UpkeepLine
from studiolog.ui.kilns.kiln_view import KilnView
from studiolog.ui.kilns.map_section import NOTHING
from studiolog.ui.kilns.screen import KilnsScreen
from studiolog.ui.kilns.wear_section import NO_LOG
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def screen(studio: SmallStudio, open_screen: OpenScreen) -> KilnsScreen:
    return open_screen(KilnsScreen)


@pytest.fixture
def view(screen: KilnsScreen) -> KilnView:
    assert isinstance(screen.page, KilnView)
    return screen.page


def note(desk: Desk, studio: SmallStudio, **fields: object) -> int:
    draft = KilnTaskDraft(**{"task": "shelf_wash", **fields})  # type: ignore[arg-type]
    return desk.edits.run("Task", lambda s: add_task(s, studio.kiln, draft, date.today()))


def test_the_map_the_sensor_and_the_wear_are_told_and_walked_through_by_keys(
    desk: Desk, studio: SmallStudio, screen: KilnsScreen, view: KilnView, qtbot: QtBot
) -> None:
    plot = view.map.plot
    told = plot.accessibleDescription()
    assert "top: " in told
    assert "4 readings" in told
    assert view.map.spread.text().startswith("From top to bottom 0.")
    qtbot.keyClick(plot, Qt.Key.Key_Right)
    reading = plot.selected()
    assert reading is not None
    assert reading.number == 4, "the newest first"
    assert view.map.told.text().startswith("top, firing 4, ")
    qtbot.keyClick(plot, Qt.Key.Key_Down)
    qtbot.keyClick(plot, Qt.Key.Key_Left)
    assert view.map.told.text().startswith("middle, firing 3, ")
    qtbot.keyClick(plot, Qt.Key.Key_Home)
    with qtbot.waitSignal(plot.opened) as opened:
        qtbot.keyClick(plot, Qt.Key.Key_Return)
    assert opened.args == ["firing", studio.firings[0]]
    check_sensor(view)
    check_wear(view, qtbot)
    desk.settings.temperature_unit = "F"
    screen.reload()
    assert "°F" in plot.accessibleDescription()


def test_new_elements_end_what_was_read_before_and_a_new_kiln_says_what_is_missing(
    desk: Desk, studio: SmallStudio, screen: KilnsScreen, view: KilnView
) -> None:
    note(desk, studio, task="elements", done_on=date(2026, 9, 20))
    assert "readings count from 20 Sep 2026, new elements" in view.map.quiet.text()
    assert "1 reading: too few to trust" in view.map.plot.accessibleDescription()
    assert "20 Sep 2026: new elements." in view.map.plot.accessibleDescription()
    assert view.wear.quiet.text() == "1 firing since new elements, 20 Sep 2026"
    assert "too few to trust" in view.map.plot.accessibleDescription()
    assert "from 20 Sep 2026, new elements" in view.sensor_lines.counts.text()
    small = desk.edits.run("Kiln", lambda s: add_kiln(s, KilnDraft(name="Test kiln")))
    screen.show_thing(small)
    assert view.map.nothing.isVisible()
    assert view.map.nothing.text() == NOTHING
    assert not view.map.plot.isVisible()
    assert view.wear.sentence.text() == NO_LOG
    assert not view.wear.plot.isVisible()
    assert view.upkeep.nothing.isVisible()
    assert "Give the letter" in view.sensor_lines.tolerance.text()


def test_upkeep_is_noted_changed_done_and_undone_in_place(
    desk: Desk, studio: SmallStudio, screen: KilnsScreen, view: KilnView, qtbot: QtBot
) -> None:
    def tasks() -> tuple[list[str], list[str]]:
        found = desk.read(lambda s: read_tasks(s, studio.kiln, date.today()))
        return [one.task for one in found.to_do], [one.task for one in found.done]

    upkeep, editor = view.upkeep, view.upkeep.editor
    upkeep.link.click()
    assert editor.isVisible()
    editor.task.choose("relay")
    editor._warn()
    assert "locked off" in editor.caution.sentence()
    editor.after.line.setText("none")
    editor.keep_button.click()
    assert tasks() == ([], []), "a number that is none is said at its field"
    assert editor.after.problem()
    editor.after.line.setText("12")
    editor.every_firings.line.setText("30")
    editor.done_on.line.setText(f"{date.today() + timedelta(days=3):%Y-%m-%d}")
    editor.keep_button.click()
    assert "on a day to come" in editor.problem.sentence()
    editor.done_on.line.clear()
    qtbot.keyClick(editor.note.line, Qt.Key.Key_Return)
    assert tasks() == (["relay"], [])
    assert not editor.isVisible()
    line = desk.read(lambda s: read_tasks(s, studio.kiln, date.today())).to_do[0]
    upkeep.finish(line)
    assert tasks() == (["relay"], ["relay"]), "and the next one"
    desk.edits.undo()
    assert tasks() == (["relay"], [])
    upkeep.change(line)
    assert editor.after.text() == "12"
    qtbot.keyClick(editor, Qt.Key.Key_Escape)
    assert not editor.isVisible()
    upkeep.remove(line)
    assert tasks() == ([], [])
    note(desk, studio, due_on=date.today() - timedelta(days=2))
    assert "wash the shelves: overdue since" in view.head.quiet.text()
    assert upkeep.quiet.text() == "1 overdue"
    rows = desk.read(lambda s: screen.read_rows(s, False))
    assert rows[0].quiet == "overdue: wash the shelves"
    line = UpkeepLine(desk)
    qtbot.addWidget(line)
    line.read()
    assert line.words.text().startswith("Big kiln: wash the shelves, overdue since ")
    with qtbot.waitSignal(desk.asked_for) as shown:
        line.open_kiln()
    assert shown.args[:2] == ["kiln", studio.kiln]


def check_sensor(view: KilnView) -> None:
    """What the thermocouple may be off when new, and what a meter shows."""
    told = view.sensor_lines
    assert told.tolerance.text().startswith(f"Type K at 1210{THIN}°C, when new: class 1 ends at")
    assert "mV at 1210" in told.voltage.text()
    assert "mains" in told.care.sentence()


def check_wear(view: KilnView, qtbot: QtBot) -> None:
    """A made-up kiln whose climb has grown by half."""
    start = datetime(2026, 1, 10, 8)
    work = [
        FiringWork(n, n, start + timedelta(days=n), "six", "Glaze 6", 48.0 + 2.2 * n, 1.0, kwh=60.0)
        for n in range(12)
    ]
    page = KilnWearPage(judge_wear(work), SensorDrift(2, 8), None, ())
    view.wear.show_wear(page, "S", "C")
    assert "Elements +10 % in resistance" in view.wear.sentence.text()
    assert "more than chance" in view.wear.trend.text()
    plot = view.wear.plot
    assert plot.isVisibleTo(view)
    qtbot.keyClick(plot, Qt.Key.Key_End)
    assert view.wear.told.text().replace(THIN, " ").endswith(": 72 min.")
    view.wear.pick.pick("energy")
    assert view.wear.measure() == "energy"
    assert "about the same" in plot.accessibleDescription()
    view.wear.pick.pick("hold")
    assert "0 of 8 firings" in view.wear.trend.text()
    assert plot.selected() is None


def test_how_hot_a_level_runs_is_said_in_cones() -> None:
    """17 °C part cones 6 and 7 at 60 °C/h on the chart."""
    assert say_in_cones(0.5) == "as the sensor says"
    assert say_in_cones(8.5) == "about half a cone hotter"
    assert say_in_cones(-36.0) == "about a cone cooler"
    assert say_in_cones(4.0) == "about a quarter cone hotter"
