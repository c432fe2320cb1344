"""A potter lays firings over each other, from the list, with the keyboard alone."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from studiolog.craft.limits import SHIPPED
from studiolog.craft.units import THIN
from studiolog.journal.compare import ComparedFiring, Comparing, read_comparison
from studiolog.journal.firing_log import log_from_typed
from studiolog.journal.firings import FiringDraft, delete_firing, log_firing
from studiolog.journal.limits import set_limit
from studiolog.transfer.curve_blob import pack_readings
from studiolog.ui.firings import compare_view
from studiolog.ui.firings.compare_reading import take_firings
from studiolog.ui.kilns.screen import KilnsScreen

DAY = datetime(2026, 9, 1, 7)


def readings(week: int, stall_min: float) -> list[tuple[float, float]]:
    """To 1222 °C at 130 °C/h, once with a stall at 1080 °C; typed every twenty minutes."""
    hours = np.cumsum([0, 1, 960 / 130, stall_min / 60, 142 / 130, 0.25, 14])
    heats = [20 + week, 120, 1080, 1080.5, 1222, 1222, 80]
    grid = np.unique(np.concatenate([np.arange(0, hours[-1] * 3600, 1200), hours * 3600]))
    return list(zip(grid.tolist(), np.interp(grid, hours * 3600, heats).tolist(), strict=True))


@pytest.fixture
def fired(yard: Any) -> Callable[..., list[int]]:
    """More firings of the yard's program, the last one stalled; their ids from the oldest."""

    def enter(session: Any) -> list[int]:
        return [
            log_firing(
                session,
                FiringDraft(
                    kiln_id=yard.kiln,
                    program_id=yard.program,
                    started_at=DAY + timedelta(days=80 + 7 * week),
                    log=log_from_typed(readings(week, stall)),
                ),
            )
            for week, stall in enumerate((0, 0, 0, 40))
        ]

    return lambda: yard.desk.journal.edit("Fire", enter).value  # type: ignore[no-any-return]


def numbers(view: Any) -> list[int]:
    return [line.number for line in view.plot.lines.lines]


def settle(yard: Any, qtbot: Any) -> None:
    qtbot.waitUntil(lambda: not yard.desk.jobs.is_running("compare firings"), timeout=8000)


def test_three_firings_are_compared_with_the_keyboard(yard: Any, fired: Any, qtbot: Any) -> None:
    ids = fired()
    screen, view = yard.screen, yard.screen.compare
    screen.show_thing(0)
    table = screen.table.table
    table.selectRow(0)
    for _ in range(2):
        qtbot.keyClick(table, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    screen._press_c()
    assert screen.stack.currentWidget() is view
    settle(yard, qtbot)
    assert numbers(view) == [6, 5, 4]
    assert view.said.text().startswith(
        f"Firing 6 was 40{THIN}min longer between 1000 and 1150{THIN}°C than the median of 3"
    )
    assert view.group.text() == "Median of 3 firings. The hatched band is their whole range."
    assert view.plot.lines.has_band

    # Laid together by a temperature of the potter's, in the unit that is read.
    qtbot.keyClick(view.by, Qt.Key.Key_2)
    assert view.level.isVisible()
    view.level.line.setFocus()
    view.level.line.selectAll()
    qtbot.keyClicks(view.level.line, "9000")
    qtbot.keyClick(view.level.line, Qt.Key.Key_Return)
    assert "between 0 and 1450" in view.level.problem()
    view.level.line.selectAll()
    qtbot.keyClicks(view.level.line, "900")
    qtbot.keyClick(view.level.line, Qt.Key.Key_Return)
    assert view.plot.lines.moment == f"900{THIN}°C"
    at_zero = [view.plot.lines.value(row, 0.0) for row in range(3)]
    assert at_zero == pytest.approx([900, 900, 900], abs=0.1)

    # One is left out: two make no band, and the one is told from the other.
    view.list.setFocus()
    qtbot.keyClick(view.list, Qt.Key.Key_Down)
    assert view.open_chosen.text() == "Open firing 5"
    qtbot.keyClick(view.list, Qt.Key.Key_Down)
    qtbot.keyClick(view.list, Qt.Key.Key_Space)
    assert numbers(view) == [6, 5]
    assert not view.plot.lines.has_band
    assert "Two curves make no band, it needs 3" in view.group.text()
    assert view.plot.lines.usual_words.startswith("firing")
    qtbot.keyClick(view.list, Qt.Key.Key_Up)
    qtbot.keyClick(view.list, Qt.Key.Key_Space)
    assert "One curve makes neither" in view.group.text()
    qtbot.keyClick(view.list, Qt.Key.Key_Up)
    qtbot.keyClick(view.list, Qt.Key.Key_Space)
    assert numbers(view) == []
    assert view.plot.accessibleDescription() == "Take a firing in: Space, or a click on its box"
    view.listed.link.click()
    assert numbers(view) == [6, 5, 4]
    qtbot.keyClick(view.list, Qt.Key.Key_Return)
    assert screen.page is not None
    assert screen.page.firing_id == ids[-1]


def test_the_plot_is_read_with_the_arrows_and_names_the_firing(
    yard: Any, fired: Any, qtbot: Any
) -> None:
    ids = fired()
    view = yard.screen.compare
    yard.screen.show_thing(0, Comparing("same program", ids[-1], chosen=ids[-1]))
    assert view.plot.accessibleDescription().startswith("Reading 5 curves")
    settle(yard, qtbot)
    assert numbers(view) == [6, 5, 4, 3, 1]
    rows = view.list.rows()
    assert [row.why_not for row in rows if row.number == 2] == ["no log yet"]
    assert rows[-1].number == 2
    plot = view.plot
    plot.setFocus()
    for _ in range(60):
        qtbot.keyClick(plot, Qt.Key.Key_Right)
    assert plot.reading().line.number == 6
    assert plot.accessibleDescription().startswith("Firing 6, 11 Dec 2026")
    assert "against the median of 5" in plot.accessibleDescription()
    qtbot.keyClick(plot, Qt.Key.Key_Home)
    qtbot.keyClick(plot, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    plot.move_cursor_to(9.5 * 3600)
    qtbot.keyClick(plot, Qt.Key.Key_Up)
    above = plot.reading()
    assert above.line.number != 6
    assert above.chosen.number == 6
    qtbot.keyClick(plot, Qt.Key.Key_Return)
    assert view.open_chosen.text() == f"Open firing {above.line.number}"
    assert view.list.current_row().number == above.line.number
    whole = plot.frames()[0]
    yard.screen._zoom_to_top()
    top = plot.frames()[0]
    assert top.high_s - top.low_s < whole.high_s - whole.low_s
    assert top.low > 1000
    yard.desk.settings.temperature_unit = "F"
    assert "°F" in plot.accessibleDescription()
    assert "°F" in view.figures.cells[0][0].text()
    yard.desk.settings.temperature_unit = "C"


def test_the_mouse_picks_takes_in_and_zooms(yard: Any, fired: Any, qtbot: Any) -> None:
    ids = fired()
    view = yard.screen.compare
    yard.screen.show_thing(0, Comparing("program", yard.program))
    settle(yard, qtbot)
    QApplication.processEvents()
    plot = view.plot
    heat, _off = plot.frames()
    rows = plot.lines.row_of(ids[0])
    at_s = 9.5 * 3600
    spot = heat.point(at_s, plot.lines.value(rows, at_s)).toPoint()
    qtbot.mouseMove(plot, spot)
    qtbot.mouseClick(plot, Qt.MouseButton.LeftButton, pos=spot)
    assert abs(plot.reading().value_c - plot.lines.value(rows, plot.reading().at_s)) < 25
    box = view.list.visualRect(view.list.model().index(1, 0))
    qtbot.mouseClick(
        view.list.viewport(), Qt.MouseButton.LeftButton,
        pos=box.center() - (box.center() - box.topLeft()) + type(spot)(14, box.height() // 2),
    )  # fmt: skip
    assert view.list.rows()[1].number not in numbers(view)
    corner = heat.point(8 * 3600, 900).toPoint()
    end = heat.point(11 * 3600, 1200).toPoint()
    qtbot.mousePress(plot, Qt.MouseButton.LeftButton, pos=corner)
    qtbot.mouseMove(plot, (corner + end) / 2)
    qtbot.mouseMove(plot, end)
    qtbot.mouseRelease(plot, Qt.MouseButton.LeftButton, pos=end)
    closer = plot.frames()[0]
    assert closer.low_s == pytest.approx(8 * 3600, abs=200)
    assert closer.high == pytest.approx(1200, abs=5)
    qtbot.mouseDClick(plot, Qt.MouseButton.LeftButton, pos=end)
    assert plot.frames()[0].low_s == heat.low_s


def test_a_limit_of_the_potters_holds_and_what_is_gone_is_told(
    yard: Any, fired: Any, qtbot: Any
) -> None:
    ids = fired()
    view = yard.screen.compare
    yard.screen.show_thing(0, Comparing("last", ids[-1], chosen=ids[-1]))
    settle(yard, qtbot)
    assert view.plot.lines.has_band
    yard.desk.edits.run("Set", lambda s: set_limit(s, "compare_band", 8))
    settle(yard, qtbot)
    assert not view.plot.lines.has_band
    assert view.group.text().endswith("A band needs 8.")
    yard.desk.edits.run("Delete", lambda s: delete_firing(s, firing_id=ids[-1]))
    assert yard.screen.error.isVisible()


def test_with_no_curve_at_all_it_says_what_to_do(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(0, Comparing("firings", ids=(yard.planned,)))
    view = yard.screen.compare
    assert "add a log file or type readings" in view.plot.accessibleDescription()
    assert not view.figures.isVisible()
    yard.screen.show_thing(0, Comparing("firings", ids=(999,)))
    assert view.empty.isVisible()
    view.empty.action.click()
    assert yard.screen.stack.currentWidget() is yard.screen.table


def test_more_curves_than_are_laid_at_once_come_from_a_thread(
    yard: Any, fired: Any, qtbot: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compare_view, "_AT_ONCE", 2)
    ids = fired()
    view = yard.screen.compare
    yard.screen.show_thing(0, Comparing("program", yard.program))
    qtbot.waitUntil(lambda: len(numbers(view)) == 5, timeout=8000)
    view.toggle(ids[0])
    qtbot.waitUntil(lambda: len(numbers(view)) == 4, timeout=8000)


def test_the_page_of_a_kiln_leads_to_all_its_firings(yard: Any, open_screen: Any) -> None:
    kilns = open_screen(KilnsScreen)
    kilns.show_thing(yard.kiln)
    asked: list[Any] = []
    yard.desk.asked_for.connect(lambda kind, row_id, more: asked.append((kind, row_id, more)))
    kilns.page.uses.link.click()
    assert asked == [("firing", 0, Comparing("kiln", yard.kiln))]
    kilns.hide()


def test_a_desk_that_reads_fahrenheit_opens_with_it(yard: Any, fired: Any, qtbot: Any) -> None:
    ids = fired()
    yard.desk.settings.temperature_unit = "F"
    view = compare_view.CompareView(yard.desk)
    qtbot.addWidget(view)
    view.resize(1216, 700)
    view.show()
    asked = Comparing("same program", ids[-1], chosen=ids[-1])
    view.show_comparison(asked, yard.desk.read(lambda s: read_comparison(s, asked)), SHIPPED)
    settle(yard, qtbot)
    view.plot.setFocus()
    view.plot.move_cursor_to(9.5 * 3600)
    qtbot.keyClick(view.plot, Qt.Key.Key_Right)
    assert "°F" in view.plot.accessibleDescription()


def test_a_damaged_curve_is_left_out_with_why() -> None:
    def firing(ident: int, packed: bytes | None) -> ComparedFiring:
        return ComparedFiring(ident, ident, "Slow 6", "Big", 1, "Slow 6", DAY, 6.0, packed, False)

    good = pack_readings(*zip(*readings(0, 0), strict=True))
    firings = [firing(1, good), firing(2, good[:20]), firing(3, None)]
    taken = take_firings(firings, SHIPPED, {}, lambda _done, _total: False)
    assert list(taken.curves) == [1]
    assert taken.why_not[2].startswith("its log can't be read")
    assert taken.why_not[3] == "no log yet"
    stopped = take_firings(firings, SHIPPED, {}, lambda done, _total: done == 1)
    assert list(stopped.curves) == [1]
    assert not stopped.why_not
