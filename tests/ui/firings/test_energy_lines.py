"""Energy and cost on the page of a firing: labelled, typed in place, refused in a sentence."""

from decimal import Decimal
from functools import partial
from typing import Any

from PySide6.QtCore import Qt

from studiolog.craft.units import THIN
from studiolog.journal.firing_energy import read_firing_energy
from studiolog.journal.kilns import change_kiln
from studiolog.journal.session import Session
from studiolog.journal.tariffs import TariffDraft, add_tariff


def told(yard: Any) -> str:
    """All that the figures and the lines beneath say, thin spaces made plain."""
    figures = yard.screen.view.figures
    lines = figures.lines
    parts = [figures.energy.accessibleName(), figures.cost.accessibleName()]
    parts += [p.text() for p in (lines.shares, lines.doubt, lines.missing) if p.isVisible()]
    return "; ".join(parts).replace(THIN, " ")


def type_meter(yard: Any, qtbot: Any, text: str) -> None:
    meter = yard.screen.view.figures.lines.meter
    meter.edit()
    meter._line.setText(text)
    qtbot.keyClick(meter._line, Qt.Key.Key_Return)


def test_the_meter_is_typed_in_place_and_a_meter_that_runs_backwards_is_refused(
    yard: Any, qtbot: Any
) -> None:
    yard.screen.show_thing(yard.planned)
    assert "Energy: –, usual 58.4" in told(yard)
    assert "Neither the meter nor the kiln's power is known" in told(yard)
    figures = yard.screen.view.figures
    type_meter(yard, qtbot, "12401 to 12345.6")
    assert "does not run backwards" in figures.lines.problem.sentence()
    assert yard.desk.read(partial(read_firing_energy, firing_id=yard.planned)).used is None
    type_meter(yard, qtbot, "12345.6 to 12401.0")
    assert not figures.lines.problem.sentence()
    assert "Energy: 55.4 kWh, meter; usual 58.4" in told(yard)
    assert "Cost: 16.62, at 0.30 a kWh" in told(yard)
    assert figures.lines.meter.text() == "12345.6 to 12401.0"
    assert "(12345.6 to 12401.0)" in figures.energy.toolTip()
    yard.desk.edits.undo()
    assert figures.lines.meter.text() == ""


def test_an_estimate_says_so_and_prices_by_the_hour_are_read_out(yard: Any, qtbot: Any) -> None:
    def price(session: Session) -> None:
        change_kiln(session, yard.kiln, power_kw=8.0, volume_l=190.0)
        night = TariffDraft(per_kwh=Decimal("0.2"), starts_min=12 * 60, ends_min=6 * 60)
        add_tariff(session, yard.kiln, night)

    yard.desk.edits.run("Power and prices", price)
    yard.screen.show_thing(yard.planned)
    figures = yard.screen.view.figures
    # The plan heats for 8.95 h: 8 kW × 8.95 h × 0.65 = 46.5 kWh, 34.9 to 58.2.
    assert "Energy: 47 kWh, estimated, 35 to 58" in told(yard)
    assert "common practice" in figures.energy.toolTip()
    # From 7:30 half past four hours by day at 0.30, the rest at 0.20: 46.54 × (4.5 × 0.30 +
    # 4.45 × 0.20) / 8.95 = 11.65.
    assert "Cost: 11.65, estimated, 9 to 15" in told(yard)
    said = figures.cost.accessibleDescription().replace(THIN, " ")
    assert "23.1 kWh at 0.20: 4.63 23.4 kWh at 0.30: 7.02" in said
    assert "evenly over the heating" in said
    assert "about 0.061 a litre of kiln (190 l)" in told(yard)
    assert "no piece is noted in this firing" in told(yard)


def test_the_list_says_how_each_energy_is_known_and_too_much_is_doubted(yard: Any) -> None:
    yard.desk.edits.run("Power", partial(change_kiln, kiln_id=yard.kiln, power_kw=8.0))
    yard.screen.show_thing(0)
    model = yard.screen.table.model
    cells = [model.index(row, 9) for row in range(2)]
    assert [cell.data().replace(THIN, " ") for cell in cells] == ["47 kWh, estimate", "58.4 kWh"]
    tips = [cell.data(Qt.ItemDataRole.ToolTipRole).replace(THIN, " ") for cell in cells]
    assert "common practice" in tips[0]
    assert tips[1] == "58.4 kWh, read from the meter; cost 17.52"

    # A kiln of 3 kW draws 27 kWh in its nine hours: 58.4 are told, and doubted.
    yard.desk.edits.run("A small kiln", partial(change_kiln, kiln_id=yard.kiln, power_kw=3.0))
    yard.screen.show_thing(yard.logged)
    assert "Energy: 58.4 kWh, by the meter" in told(yard)
    assert "more than 3.0 kW can draw" in told(yard)
