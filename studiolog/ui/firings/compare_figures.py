"""The figures of one firing beside the median of those it is compared with."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.craft.firing.compare import FiringFigures
from studiolog.craft.units import (
    show_degrees,
    show_duration,
    show_number,
    show_quantity,
    show_rate,
    show_temperature,
)
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Text
from studiolog.ui.plots.plot_ticks import Unit, shown_rate, shown_temperature

_DASH = "–"
_NAMES = ("Peak", "To the top", "Hold at the top", "Last 100 °C", "Top to 100 °C", "Cone")


class CompareFigures(Section):
    """A row a figure: the firing's own, the usual one, and by how much they differ."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Figures", parent=parent)
        self.grid = QGridLayout()
        self.grid.setContentsMargins(0, 0, 0, 8)
        self.grid.setHorizontalSpacing(12)
        self.grid.setVerticalSpacing(4)
        self.grid.setColumnStretch(0, 1)
        self.heads = [Text("", "secondary", tone="ink3") for _ in range(3)]
        right = Qt.AlignmentFlag.AlignRight
        for column, head in enumerate(self.heads, 1):
            self.grid.addWidget(head, 0, column, right)
        self.names: list[Text] = []
        self.cells: list[list[Text]] = []
        for row, name in enumerate(_NAMES, 1):
            label = Text(name, "secondary", tone="ink2")
            cells = [Text(_DASH, "body", 600), Text(_DASH, "body", 400), Text("", "secondary")]
            self.grid.addWidget(label, row, 0)
            for column, cell in enumerate(cells, 1):
                self.grid.addWidget(cell, row, column, right)
            self.names.append(label)
            self.cells.append(cells)
        self.add(self.grid)

    def show_figures(
        self,
        name: str,
        own: FiringFigures | None,
        usual_name: str,
        usual: FiringFigures | None,
        cones: tuple[float | None, float | None],
        cone_words: tuple[str, str],
        unit: Unit,
    ) -> None:
        """Show a firing's figures; ``cones`` on the ordinal scale, own and usual."""
        for head, words in zip(
            self.heads, (name, usual_name if usual else "", "off" if usual else ""), strict=True
        ):
            head.setText(words)
        hundred = show_temperature(100.0, unit)
        step = show_degrees(100.0, unit)
        self.names[3].setText(f"Last {step}")
        self.names[4].setText(f"Top to {hundred}")
        rows = _write(own, unit), _write(usual, unit)
        differences = _differences(own, usual, unit)
        for at, cells in enumerate(self.cells[:-1]):
            cells[0].setText(rows[0][at])
            cells[1].setText(rows[1][at] if usual else "")
            cells[2].setText(differences[at])
        last = self.cells[-1]
        last[0].setText(cone_words[0] or _DASH)
        last[1].setText((cone_words[1] or _DASH) if usual else "")
        mine, theirs = cones
        off = ""
        if mine is not None and theirs is not None:
            off = _signed(mine - theirs, 1)
        last[2].setText(off)
        for at, label in enumerate(self.names):
            words = " ".join(cell.text() for cell in self.cells[at])
            label.setAccessibleDescription(words)


def _write(figures: FiringFigures | None, unit: Unit) -> list[str]:
    if figures is None:
        return [_DASH] * 5
    rate, cool = figures.final_rate_c_per_h, figures.top_to_100_s
    return [
        show_temperature(figures.peak_c, unit),
        show_duration(_minutes(figures.to_top_s)),
        show_quantity(figures.hold_min, "min"),
        _DASH if rate is None else show_rate(rate, unit),
        _DASH if cool is None else show_duration(_minutes(cool)),
    ]


def _differences(own: FiringFigures | None, usual: FiringFigures | None, unit: Unit) -> list[str]:
    """Of the figures as they are shown, so that the sums are right."""
    if own is None or usual is None:
        return [""] * 5

    def rates(one: FiringFigures) -> float | None:
        rate = one.final_rate_c_per_h
        return None if rate is None else round(shown_rate(rate, unit))

    def peak(one: FiringFigures) -> float:
        return round(shown_temperature(one.peak_c, unit))

    mine, theirs = rates(own), rates(usual)
    cool = own.top_to_100_s, usual.top_to_100_s
    return [
        _signed(peak(own) - peak(usual)),
        _signed_time(_minutes(own.to_top_s) - _minutes(usual.to_top_s)),
        _signed(round(own.hold_min) - round(usual.hold_min)),
        "" if mine is None or theirs is None else _signed(mine - theirs),
        ""
        if cool[0] is None or cool[1] is None
        else _signed_time(_minutes(cool[0]) - _minutes(cool[1])),
    ]


def _minutes(seconds: float) -> float:
    """Whole minutes, in seconds."""
    return round(seconds / 60.0) * 60.0


def _signed(value: float, decimals: int = 0) -> str:
    text = show_number(value, decimals)
    return f"+{text}" if float(f"{value:.{decimals}f}") > 0 else text


def _signed_time(seconds: float) -> str:
    if not seconds:
        return "0"
    return ("+" if seconds > 0 else "") + show_duration(seconds)
