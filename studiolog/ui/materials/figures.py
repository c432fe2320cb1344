"""The figures of an analysis in a row: each oxide over its per cent, the loss, and the sum."""

from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.glaze.materials import Analysis
from studiolog.craft.glaze.oxides import in_order, pretty
from studiolog.ui.parts.fields import write_number
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.text import Caption, Text


def figures_in_words(analysis: Analysis) -> str:
    """All figures as a sentence: "SiO₂ 67.5, Al₂O₃ 18, LOI 0.6, sum 100 %"."""
    if not analysis.is_given:
        return "no figures"
    parts = [f"{pretty(oxide)} {_figure(value)}" for oxide, value in _ordered(analysis)]
    loss = analysis.loi_percent
    parts.append(f"LOI {'not given' if loss is None else _figure(loss)}")
    return f"{', '.join(parts)}; sum {_figure(analysis.sum_percent)} %"


def _ordered(analysis: Analysis) -> list[tuple[str, float]]:
    return list(in_order(analysis.oxides).items())


def _figure(value: float) -> str:
    return write_number(value, 3)


class FigureRow(QWidget):
    """Shows one analysis. The sum is what the figures come to, never what they should."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._flow = FlowLayout(self, spacing=20, line_spacing=8)

    def show_analysis(self, analysis: Analysis) -> None:
        self._flow.clear()
        for oxide, value in _ordered(analysis):
            self._flow.addWidget(_cell(pretty(oxide), _figure(value)))
        if analysis.is_given:
            loss = analysis.loi_percent
            self._flow.addWidget(_cell("LOI", "not given" if loss is None else _figure(loss)))
            self._flow.addWidget(_cell("Sum, %", _figure(analysis.sum_percent), 600))
        self.setVisible(analysis.is_given)
        self.setAccessibleName(figures_in_words(analysis))


def _cell(head: str, figure: str, weight: int = 400) -> QWidget:
    cell = QWidget()
    rows = QVBoxLayout(cell)
    rows.setContentsMargins(0, 0, 0, 0)
    rows.setSpacing(0)
    rows.addWidget(Caption(head))
    rows.addWidget(Text(figure, "body", weight))
    return cell
