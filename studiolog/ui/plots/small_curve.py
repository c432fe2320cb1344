"""A firing's curve at the size of a stamp, for the page of a piece. Painted straight, no scene."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.units import show_temperature
from studiolog.desktop import theme
from studiolog.ui.plots.curve_arrays import span_of
from studiolog.ui.plots.curve_sums import as_numbers, cut_at_gaps, thin_to_columns
from studiolog.ui.plots.firing_picture import QUARTZ_C
from studiolog.ui.plots.plot_brushwork import Frame, draw_curve, draw_hatching, ink, pen
from studiolog.ui.plots.plot_ticks import Unit, write_elapsed
from studiolog.ui.plots.plotted_firing import PlotFiring


class SmallCurve(QWidget):
    """Log solid, program dashed, hold as a band, 573 °C dotted; its sentence is the tool-tip."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._firing = PlotFiring()
        self._unit: Unit = "C"
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Firing curve")
        theme.current().changed.connect(self.update)

    def sizeHint(self) -> QSize:
        return QSize(240, 96)

    def show_firing(self, firing: PlotFiring) -> None:
        """Draw a firing; what does not fit a small curve is left out."""
        self._firing = firing
        self._describe()
        self.update()

    def set_unit(self, unit: Unit) -> None:
        """Tell the peak in °C or °F."""
        self._unit = unit
        self._describe()

    def _describe(self) -> None:
        firing = self._firing
        if len(firing.curve_c):
            peak = show_temperature(max(firing.curve_c), self._unit)
            lasted = write_elapsed(firing.curve_s[-1] - firing.curve_s[0])
            sentence = f"Logged curve: peak {peak}, {lasted} in all."
        elif len(firing.program_c):
            peak = show_temperature(max(firing.program_c), self._unit)
            sentence = f"Program only, to {peak}: no log yet."
        else:
            sentence = "No program and no log yet."
        self.setAccessibleDescription(sentence)
        self.setToolTip(sentence)

    def paintEvent(self, _event: QPaintEvent) -> None:
        firing = self._firing
        log_s, log_c = as_numbers(firing.curve_s), as_numbers(firing.curve_c)
        program_s, program_c = as_numbers(firing.program_s), as_numbers(firing.program_c)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        rect = QRectF(self.rect()).adjusted(2, 3, -2, -3)
        start, end = span_of((log_s, program_s), (0.0, 3600.0))
        low, high = span_of((log_c, program_c), (0.0, 1250.0))
        low = min(0.0, low)
        frame = Frame(rect, start, max(end, start + 60), low, max(high * 1.04, low + 1))
        if firing.hold_band:
            painter.fillRect(frame.span(*firing.hold_band), ink("rustwash"))
        for gap in firing.gaps:
            draw_hatching(painter, frame.span(*gap))
        if frame.high > QUARTZ_C and (len(log_s) or len(program_s)):
            y = frame.y(QUARTZ_C)
            painter.setPen(pen("ink2", 1.0, (1, 4)))
            painter.drawLine(QPointF(rect.left(), y), QPointF(rect.right(), y))
        painter.setPen(pen("line2", 1.0))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        painter.setBrush(Qt.BrushStyle.NoBrush)
        draw_curve(painter, frame, program_s, program_c, pen("ink", 1.0, (4, 3)))
        for at_s, values in cut_at_gaps(log_s, log_c, firing.gaps):
            thin_s, thin = thin_to_columns(at_s, values, int(rect.width()))
            draw_curve(painter, frame, thin_s, thin, pen("rust", 1.75))
        painter.end()
