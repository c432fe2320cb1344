"""The page of a firing says when its heat-work was done, and shows what was left out of its log."""

from pathlib import Path
from typing import Any

from studiolog.craft.units import THIN
from studiolog.journal.firing_log import keep_log_file, log_from_reading, log_from_typed
from studiolog.journal.writing import change
from studiolog.records.firings import Curve
from studiolog.transfer.temperature_log import read_temperature_log

LOGS = Path(__file__).parents[2] / "transfer" / "logs"
SPIKY = "09_open_thermocouple_spikes.csv"


def test_heat_work_is_told_with_its_interval_and_when_it_was_done(yard: Any) -> None:
    yard.screen.show_thing(yard.logged)
    heat = yard.screen.view.heat
    assert ", from " in heat.said.text()
    assert f"thermocouple not calibrated, ±12{THIN}°C" in heat.said.text()
    assert "The same work as a steady" in heat.worked.text()
    assert "of the work was done after the peak" in heat.worked.text()
    short = heat.passed.text().splitlines()
    assert len(short) == 5
    assert short[1].startswith("cone 7 at ")
    assert short[1].endswith("cooling")
    assert short[2].startswith("cone 6 at ")
    heat.link.click()
    assert len(heat.passed.text().splitlines()) > 25
    assert "cone 5½ at" in heat.passed.text()
    assert heat.link.text() == "Last cones"
    # Read in °F every figure of it is in °F.
    yard.desk.settings.temperature_unit = "F"
    yard.screen.reload()
    told = " ".join(text.text() for text in heat._words())
    assert "°C" not in told
    assert f"±22{THIN}°F" in told
    # A firing taken from its heat at once, held long before, and in reduction.
    held = [(0.0, 20.0), (8 * 3600.0, 1200.0), (10 * 3600.0, 1200.0), (20 * 3600.0, 300.0)]
    log = log_from_typed(held)

    def hold(session: Any) -> None:
        keep_log_file(session, yard.planned, log)

    yard.desk.edits.run("Log", hold)
    yard.screen.show_thing(yard.planned)
    yard.screen.reload()
    assert "one to two hours of soak" in heat.worked.text()


def test_what_was_left_out_of_a_log_is_drawn_and_the_menu_shows_the_log_as_it_came(
    yard: Any, qtbot: Any
) -> None:
    content = (LOGS / SPIKY).read_bytes()
    log = log_from_reading(read_temperature_log(content, SPIKY), content)
    yard.desk.edits.run("Log", lambda s: keep_log_file(s, yard.planned, log))
    yard.screen.show_thing(yard.planned)
    view = yard.screen.view
    assert len(view.plot.firing.left_out.at_s) == 15
    assert view.plot.firing.left_out_words == ""
    view.as_logged.trigger()
    assert view.plot.as_logged
    assert "15 left out" in view.log_line.text()
    view.plot.toggle_as_logged()
    assert not view.as_logged.isChecked()

    # A journal of before has only their count: they are read again from the original file.
    def forget(session: Any) -> None:
        for row in session.query(Curve).filter(Curve.firing_id == yard.planned).all():
            change(session, Curve, row.id, left_out=None)

    yard.desk.edits.run("As it was", forget)
    assert "in the original file only" in view.log_line.text()
    qtbot.waitUntil(lambda: view.plot.firing.left_out is not None, timeout=5000)
    assert len(view.plot.firing.left_out.at_s) == 15
    assert yard.screen.page.main_curve.left_out is not None
    assert "in the original file" not in view.log_line.text()
