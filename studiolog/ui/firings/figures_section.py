"""The figures of a firing, and what its heat-work amounts to."""

from statistics import median

from PySide6.QtCore import QRectF, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.craft.units import show_duration, show_quantity, show_rate, show_temperature
from studiolog.desktop import theme
from studiolog.journal.firing_page import EarlierCurve, FiringPage, LevelPage
from studiolog.ui.firings.written import write_elapsed, write_heat
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Figure, Text
from studiolog.ui.plots.plot_ticks import Unit

_DASH = "–"


class _Divider(QWidget):
    """A short upright hairline between figures."""

    def __init__(self) -> None:
        super().__init__()
        self.setFixedWidth(1)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(QRectF(self.rect()), theme.current().color("line"))


class FiguresSection(Section):
    """Peak, time at heat, time to cool, energy, cost and heat-work, each with what is usual."""

    energy_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Figures", link="Energy", parent=parent)
        self.link_opened.connect(self.energy_asked)
        self.peak = Figure("Peak", _DASH)
        self.above = Figure("Above 1100", _DASH)
        self.cool = Figure("To 100", _DASH)
        self.energy = Figure("Energy", _DASH)
        self.cost = Figure("Cost", _DASH)
        self.heat = Figure("Heat-work", _DASH)
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 8)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(12)
        figures = (self.peak, self.above, self.cool, self.energy, self.cost, self.heat)
        for place, figure in enumerate(figures):
            row, column = divmod(place, 3)
            grid.addWidget(figure, row, column * 2)
            grid.setColumnStretch(column * 2, 1)
            if column < 2:
                grid.addWidget(_Divider(), row, column * 2 + 1)
        self.add(grid)

    def show_page(self, page: FiringPage, unit: Unit, earlier: tuple[EarlierCurve, ...]) -> None:
        """Show the figures; what is usual is the median of the earlier firings."""
        facts = page.facts
        top = max((s.target_c for s in page.segments), default=None)
        asked = f"asked {show_temperature(top, unit)}" if top is not None else ""
        self.peak.set_value(write_heat(facts.peak_c if facts else None, unit), asked)
        self.above.set_label(f"Above {show_temperature(1100, unit)}")
        self.cool.set_label(f"To {show_temperature(100, unit)}")
        self.above.set_value(
            write_elapsed(facts.above_1100_s) if facts else _DASH,
            _usual([e.above_1100_s for e in earlier]),
        )
        cooled = facts.to_100_s if facts else None
        self.cool.set_value(
            write_elapsed(cooled) if cooled is not None else _DASH,
            _usual([e.to_100_s for e in earlier if e.to_100_s is not None])
            or ("log ends sooner" if facts and cooled is None else ""),
        )
        used = [e.kwh for e in earlier if e.kwh is not None]
        usual = f"usual {median(used):.1f}" if used else ""
        energy = show_quantity(page.kwh, "kWh", 1) if page.kwh is not None else _DASH
        self.energy.set_value(energy, usual or ("" if page.kwh is not None else "not read"))
        rate = page.tariff_per_kwh
        self.cost.set_value(
            f"{page.cost:.2f}" if page.cost is not None else _DASH,
            f"at {rate:.2f} per kWh" if rate is not None else "no tariff of the kiln",
        )
        estimate = facts.estimate if facts else None
        if estimate is None:
            self.heat.set_value(_DASH, "no log yet" if not page.curves else "")
        else:
            self.heat.set_value(f"cone {estimate.label}", estimate.interval_label, "rust")
        self.set_link("Energy used" if page.kwh is None else "Change")


def _usual(seconds: list[float]) -> str:
    return f"usual {write_elapsed(median(seconds))}" if seconds else ""


class HeatworkSection(Section):
    """The heat-work with its interval, what it rests on, and what to beware of."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Heat-work", parent=parent)
        self.said = Text("", wrap=True)
        self.warnings = Text("", tone="ochre", wrap=True)
        self.levels = Text("", "secondary", tone="ink2", wrap=True)
        self.rates = Text("", "secondary", tone="ink2", wrap=True)
        for words in (self.said, self.warnings, self.levels, self.rates):
            self.add(words)

    def show_page(self, page: FiringPage, unit: Unit) -> None:
        """Say the estimate, its basis and its flags."""
        facts = page.facts
        estimate = facts.estimate if facts else None
        if facts is None or estimate is None:
            self.set_quiet("")
            self.said.setText(
                page.curve_problem or "No log yet: the heat-work is told from the curve."
            )
            for words in (self.warnings, self.levels, self.rates):
                words.hide()
            return
        self.set_quiet("told from the curve", "ink3")
        between = ""
        if estimate.interval_label != estimate.label:
            between = f", between {estimate.interval_label}"
        self.said.setText(f"At the sensor: cone {estimate.label}{between} ({estimate.basis}).")
        warnings = list(facts.sentences)
        if facts.ends_at_peak:
            warnings.append("The log ends at its peak: the heat after it is not counted.")
        warnings += [level.history.alarm for level in page.levels if level.history.alarm]
        self.warnings.setText("\n".join(warnings))
        self.warnings.setVisible(bool(warnings))
        lines = [line for level in page.levels if (line := _history_line(level, unit))]
        self.levels.setText("\n".join(lines))
        self.levels.setVisible(bool(lines))
        rates = []
        if facts.final_rate_c_per_h is not None:
            rate = show_rate(facts.final_rate_c_per_h, unit)
            rates.append(f"The last {_step(100, unit)} went at {rate}.")
        rates.append(
            f"Within {_step(5, unit)} of the peak for {show_duration(facts.hold_min * 60)}."
        )
        cooled = [
            f"{name.replace(' to ', '–')} at {show_rate(abs(value), unit)}"
            for name, value in _bands(facts.cooling_c_per_h, unit)
            if value is not None
        ]
        if cooled:
            rates.append(f"Cooling: {'; '.join(cooled)}.")
        self.rates.setText(" ".join(rates))
        self.rates.show()


def _bands(
    bands: tuple[tuple[str, float | None], ...], unit: Unit
) -> list[tuple[str, float | None]]:
    if unit == "C":
        return [(f"{name} °C", value) for name, value in bands]
    written = []
    for name, value in bands:
        ends = [
            f"{float(end) * 1.8 + 32:.0f}" if end.isdigit() else end for end in name.split(" to ")
        ]
        written.append((" to ".join(ends) + " °F", value))
    return written


def _step(step_c: float, unit: Unit) -> str:
    return show_quantity(step_c * 1.8 if unit == "F" else step_c, f"°{unit}")


def _history_line(level: LevelPage, unit: Unit) -> str:
    name, past = level.name.capitalize(), level.history
    parts = []
    if level.offset_c is not None:
        way = "more" if level.offset_c >= 0 else "less"
        parts.append(f"its cones say {_step(abs(level.offset_c), unit)} {way} than the sensor")
    if past.readings:
        way = "over" if past.offset_c >= 0 else "under"
        trust = "" if past.calibrated else ", too few to calibrate it"
        before = "firing" if past.readings == 1 else "firings"
        parts.append(
            f"{_step(abs(past.offset_c), unit)} {way} it in {past.readings} {before} before{trust}"
        )
    return f"{name}: {'; '.join(parts)}." if parts else ""
