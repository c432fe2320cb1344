"""What the kiln did is told under its plot, row by row, and each row leads to the plot."""

from datetime import datetime
from functools import partial
from typing import Any

import numpy as np
from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import QLabel

from studiolog.craft.units import THIN
from studiolog.journal.curve_steps import lay_program
from studiolog.journal.firing_log import keep_log_file, log_from_typed
from studiolog.journal.firings import set_firing_segments
from studiolog.journal.programs import SegmentDraft
from studiolog.ui.firings.segments_section import SegmentsSection


def told(section: SegmentsSection) -> list[str]:
    """Every word that the rows show."""
    QCoreApplication.processEvents()
    return [label.text() for label in section.rows.findChildren(QLabel) if label.isVisible()]


def log_of(*corners: tuple[float, float]) -> Any:
    hours, heats = zip(*corners, strict=True)
    grid = np.arange(0, hours[-1] * 3600 + 1, 120.0)
    values = np.interp(grid, np.array(hours) * 3600, heats)
    return log_from_typed(list(zip(grid.tolist(), values.tolist(), strict=True)))


def test_each_step_is_told_and_shown_on_the_plot(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.logged)
    view = yard.screen.view
    section, plot = view.steps, view.plot
    words = told(section)
    assert f"180{THIN}°C/h to 1080{THIN}°C" in words
    assert f"hold 15{THIN}min at 1222{THIN}°C" in words
    assert words.count("followed") == 3
    assert words.count("held") == 1
    assert f"above 1172{THIN}°C" in section.times.accessibleName()
    assert f"the peak to 1000{THIN}°C" in section.cooling.accessibleName()
    assert [m.number for m, _, _ in section.marks] == [s.number for s in plot.firing.segments]
    mark, start_s, _ = section.marks[2]
    mark.setFocus()
    qtbot.keyClick(mark, Qt.Key.Key_Return)
    assert abs(plot.readout().at_s - start_s) <= 120
    qtbot.keyClick(mark, Qt.Key.Key_Down)
    assert section.marks[3][0].hasFocus()
    # From the plot the row is marked in turn: Shift and an arrow go by a step.
    plot.setFocus()
    qtbot.keyClick(plot, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    (here,) = [m for m, _, _ in section.marks if m.is_here]
    assert plot.accessibleDescription().startswith(f"Step {here.number}: ")

    yard.desk.settings.temperature_unit = "F"
    assert f"324{THIN}°F/h to 1976{THIN}°F" in told(section)
    yard.desk.settings.temperature_unit = "C"
    yard.desk.edits.run(
        "No program", partial(set_firing_segments, firing_id=yard.logged, segments=())
    )
    assert section.said.text().startswith("No program was set")
    assert f"level at 1222{THIN}°C" in told(section)
    assert len(section.marks) == len(plot.firing.segments)


def test_a_stall_and_a_lid_are_told_where_they_happened(yard: Any) -> None:
    yard.screen.show_thing(yard.planned)
    view = yard.screen.view
    section = view.steps
    assert section.said.text().startswith("No log yet")
    assert not section.rows.isVisible()
    assert not section.figures.isVisible()

    stalled = log_of(
        (0, 20), (1, 120), (6.33, 1080), (8, 1180), (10, 1184), (18, 300), (20, 210), (20.5, 90)
    )
    yard.desk.edits.run("Add log", partial(keep_log_file, firing_id=yard.planned, log=stalled))
    assert "not reached" in view.plot.firing.segments[2].logged_text
    note, advice = view.plot.firing.rate_note
    assert note.startswith("stalled at 11")
    assert "elements" in advice
    assert any(words.startswith("not reached: it turned at 11") for words in told(section))
    assert "at 2" in section.lid.text()
    assert "times as fast" in section.lid.text()
    assert "dunt" in section.caution.sentence()


def test_a_curve_that_cannot_be_read_says_so(qtbot: Any) -> None:
    from studiolog.journal.firing_page import LoggedCurve

    nothing = LoggedCurve(
        "temperature",
        "measured",
        True,
        np.array([0.0, 60]),
        np.array([3000.0, 3000]),
        0,
        "x.csv",
        (),
    )
    laid = lay_program([nothing], ())
    section = SegmentsSection()
    qtbot.addWidget(section)
    section.show_steps(laid, "C", datetime(2026, 10, 2))
    assert "check the unit" in section.said.text()
    bad = lay_program([nothing], (SegmentDraft(-5, 100),))  # type: ignore[arg-type]
    assert "rate must be above zero" in bad.program_problem
