"""A log file is looked at, asked about and corrected before anything of it is kept."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PySide6.QtWidgets import QApplication

from studiolog.craft.units import THIN
from studiolog.journal.firing_page import read_firing_page
from studiolog.transfer.temperature_log import read_temperature_log
from studiolog.ui.firings.log_import import LogImport

LOGS = Path(__file__).parents[2] / "transfer" / "logs"


@pytest.fixture
def look_at(yard: Any, qtbot: Any, opened: Callable[..., Any]) -> Callable[[Path | str], Any]:
    """Opens a log file for the firing that has none, and waits until it is read."""

    def look(path: Path | str) -> Any:
        yard.screen.show_thing(yard.planned)
        yard.screen.add_log(LOGS / path)
        dialog = opened(yard.screen, LogImport)
        wait(yard, qtbot)
        return dialog

    return look


def wait(yard: Any, qtbot: Any) -> None:
    qtbot.waitUntil(lambda: not yard.desk.jobs.is_running("read a log"), timeout=8000)


def stored(yard: Any) -> Any:
    return yard.desk.read(lambda s: read_firing_page(s, yard.planned))


def test_nothing_is_kept_until_it_is_saved_then_the_page_shows_the_file(
    yard: Any, look_at: Callable[..., Any]
) -> None:
    dialog = look_at("01_bom_semicolon_comma.csv")
    assert stored(yard).curves == ()
    told = [
        dialog.lines.itemAtPosition(row, 0).widget().text()
        for row in range(dialog.lines.rowCount())
    ]
    assert {"encoding", "separator", "decimal mark", "unit", "span", "gaps"} <= set(told)
    assert "158 readings" in dialog.said.text()
    dialog.start_choice.pick("log")
    dialog.keep()
    content = (LOGS / "01_bom_semicolon_comma.csv").read_bytes()
    reading = read_temperature_log(content, "01_bom_semicolon_comma.csv")
    shown = yard.screen.view.plot.firing
    np.testing.assert_allclose(shown.curve_c, reading.primary.temperature_c, atol=1e-9)
    assert f"{stored(yard).started_at:%Y-%m-%d %H:%M}" == "2025-06-03 08:15"
    assert yard.desk.edits.undo_label() == "Add the log of firing 2"
    yard.desk.edits.undo()
    assert stored(yard).curves == ()
    assert f"{stored(yard).started_at:%Y-%m-%d}" == "2026-10-09"


def test_a_peak_of_2233_is_asked_about_and_not_saved_before_it_is_answered(
    yard: Any, qtbot: Any, look_at: Callable[..., Any]
) -> None:
    dialog = look_at("02_fahrenheit_unlabelled.csv")
    assert dialog.open_questions() == ["unit"]
    assert not dialog.keep_button.isEnabled()
    assert "Which unit is it?" in dialog.why_not.sentence()
    dialog.keep()
    assert stored(yard).curves == ()
    dialog.question("unit").pick("F")
    wait(yard, qtbot)
    assert dialog.keep_button.isEnabled()
    dialog.keep()
    # The file comes with its peak in expected.json: 1221.7 °C.
    assert stored(yard).facts.peak_c == pytest.approx(1221.7, abs=0.1)


def test_an_answer_can_be_taken_back_for_another(
    yard: Any, qtbot: Any, look_at: Callable[..., Any]
) -> None:
    dialog = look_at("02_fahrenheit_unlabelled.csv")
    dialog.form.unit.choose("C")
    dialog.form.overrule(unit="C")
    wait(yard, qtbot)
    assert dialog.open_questions() == []
    assert "left out" in dialog.said.text()
    dialog.question("unit").pick("F")
    wait(yard, qtbot)
    assert f"peak 1222{THIN}°C" in dialog.said.text()
    dialog.form.overrule(unit=None)
    wait(yard, qtbot)
    assert dialog.open_questions() == ["unit"]


def test_the_off_time_of_a_restarted_logger_is_asked_for(
    yard: Any, qtbot: Any, look_at: Callable[..., Any]
) -> None:
    dialog = look_at("07_logger_restart.csv")
    assert "restart_gap_s" in dialog.open_questions()
    dialog.question("restart_gap_s").pick("3600")
    wait(yard, qtbot)
    longer = dialog._reading.duration_h
    dialog.question("restart_gap_s").pick("300")
    wait(yard, qtbot)
    assert longer - dialog._reading.duration_h == pytest.approx(3300 / 3600, abs=0.01)
    assert dialog.keep_button.isEnabled()


def test_the_main_channel_is_chosen_and_a_column_left_out(
    yard: Any, qtbot: Any, look_at: Callable[..., Any]
) -> None:
    dialog = look_at("10_long_three_channels.csv")
    dialog.question("primary_channel").pick("bottom")
    wait(yard, qtbot)
    dialog.keep()
    page = stored(yard)
    assert page.main_curve.channel == "bottom"
    assert {curve.channel for curve in page.curves} == {"bottom", "middle", "top"}
    assert [c.name for c in yard.screen.view.plot.firing.extra_channels] != []


def test_left_out_readings_are_shown_with_the_reason(look_at: Callable[..., Any]) -> None:
    dialog = look_at("09_open_thermocouple_spikes.csv")
    assert "15 left out" in dialog.said.text()
    assert "open thermocouple" in dialog.notes.text()
    assert len(dialog.plot._log.dropped) == 15


def test_a_file_that_is_no_log_is_told_in_a_sentence(
    yard: Any, tmp_path: Path, look_at: Callable[..., Any]
) -> None:
    nothing = tmp_path / "notes.csv"
    nothing.write_text("dear diary\nthe kiln was warm\n")
    for path in (LOGS / "20_header_only.csv", nothing, tmp_path / "gone.csv"):
        dialog = look_at(path)
        assert path.name in dialog.trouble.sentence()
        assert not dialog.keep_button.isEnabled()
        dialog.reject()
    assert stored(yard).curves == ()


def test_the_same_file_twice_is_said(
    yard: Any, qtbot: Any, look_at: Callable[..., Any], opened: Callable[..., Any]
) -> None:
    dialog = look_at("09_open_thermocouple_spikes.csv")
    dialog.keep()
    again = look_at("09_open_thermocouple_spikes.csv")
    assert "log of firing 2 already" in again.why_not.sentence()
    again.reject()
    yard.screen.show_thing(yard.logged)
    yard.screen.add_log(LOGS / "09_open_thermocouple_spikes.csv")
    elsewhere = opened(yard.screen, LogImport)
    wait(yard, qtbot)
    assert "already the log of firing 2" in elsewhere.why_not.sentence()
    assert not elsewhere.keep_button.isEnabled()


def test_lines_are_pasted_and_reading_can_be_stopped(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.planned)
    dialog = yard.screen.make_import(yard.screen.page)
    dialog.show()
    lines = "\n".join(f"{m};{20 + m * 2}" for m in range(0, 400, 5))
    QApplication.clipboard().setText(f"minutes;temp\n{lines}")
    dialog.paste()
    wait(yard, qtbot)
    QApplication.clipboard().clear()
    assert "80 readings" in dialog.said.text()
    dialog.read_file(LOGS / "curve_G01.csv")
    dialog.cancel_reading()
    assert not dialog.keep_button.isEnabled()
    dialog.reject()
    assert stored(yard).curves == ()
