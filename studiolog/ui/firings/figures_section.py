"""The figures of a firing, and what its heat-work amounts to."""

from statistics import median

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.craft.units import show_temperature
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.firing_page import EarlierCurve, FiringPage
from studiolog.ui.firings.energy_lines import EnergyLines, show_cost, show_energy
from studiolog.ui.firings.written import write_elapsed, write_heat
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Figure
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

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Figures", link="Read the meter", parent=parent)
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
        self.lines = EnergyLines(desk)
        self.add(self.lines)
        self.link_opened.connect(self.lines.meter.edit)

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
        show_energy(self.energy, page.energy)
        show_cost(self.cost, page.energy)
        self.lines.show_energy(page.energy, page.number)
        estimate = facts.estimate if facts else None
        if estimate is None:
            self.heat.set_value(_DASH, "no log yet" if not page.curves else "")
        else:
            # "below 022" has no room for more, and two cones have none in a figure.
            told = f"cone {estimate.label}" if estimate.label[0].isdigit() else estimate.label
            if " to " in estimate.label:
                told = "a range"
            self.heat.set_value(told, estimate.interval_label, "rust")
        used = page.energy.used
        self.set_link("Change the meter" if used and used.basis == "meter" else "Read the meter")


def _usual(seconds: list[float]) -> str:
    return f"usual {write_elapsed(median(seconds))}" if seconds else ""
