"""One handle of a what-if: a number to type and a slider for it, in the unit of the potter."""

from PySide6.QtCore import QEvent, QObject, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QWheelEvent
from PySide6.QtWidgets import QGridLayout, QSlider, QWidget

from studiolog.craft.firing.what_if import HANDLES, Handle
from studiolog.craft.units import (
    celsius_from_fahrenheit,
    celsius_step_from_fahrenheit,
    fahrenheit_from_celsius,
    fahrenheit_step_from_celsius,
)
from studiolog.desktop import theme
from studiolog.desktop.tokens import FOCUS_LINE
from studiolog.ui.parts.fields import NumberField

_HIGH, _KNOB, _TRACK = 28, 14, 3  # px before scaling
_FIELD = 168  # px before scaling: a number with the longest of the units


def shown(handle: Handle, value: float, unit: str) -> float:
    """A value in °C, minutes or °C/h as the potter reads it."""
    if unit == "C" or handle == "hold":
        return value
    return (fahrenheit_from_celsius if handle == "peak" else fahrenheit_step_from_celsius)(value)


def stored(handle: Handle, value: float, unit: str) -> float:
    """The other way round."""
    if unit == "C" or handle == "hold":
        return value
    return (celsius_from_fahrenheit if handle == "peak" else celsius_step_from_fahrenheit)(value)


class _Slider(QSlider):
    """A level slider: a line, the part gone in ink, and a round knob. A mark shows where the
    program itself stands."""

    def __init__(self) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self.mark = 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        theme.current().changed.connect(self.updateGeometry)

    def sizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(180), look.px(_HIGH))

    def minimumSizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(90), look.px(_HIGH))

    def _x(self, value: int) -> float:
        knob = theme.current().px(_KNOB)
        span = max(self.maximum() - self.minimum(), 1)
        share = (value - self.minimum()) / span
        return knob / 2 + 2 + share * (self.width() - knob - 4)

    def value_at(self, x: float) -> int:
        """The value under a pixel."""
        knob = theme.current().px(_KNOB)
        share = (x - knob / 2 - 2) / max(self.width() - knob - 4, 1)
        return round(self.minimum() + min(max(share, 0.0), 1.0) * (self.maximum() - self.minimum()))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = theme.current()
        on = self.isEnabled()
        middle, knob, thick = self.height() / 2, look.px(_KNOB), _TRACK
        left, right, here = self._x(self.minimum()), self._x(self.maximum()), self._x(self.value())
        track = QRectF(left, middle - thick / 2, right - left, thick)
        painter.fillRect(track, look.color("line2" if on else "line"))
        if on and self.minimum() <= self.mark <= self.maximum():
            painter.fillRect(
                QRectF(self._x(self.mark) - 1, middle - knob / 2, 2, knob), look.color("ink")
            )
        painter.setPen(QPen(look.color("cobalt" if on else "line2"), 1.5))
        painter.setBrush(look.color("cobalt" if on and self.value() != self.mark else "sheet"))
        box = QRectF(here - knob / 2 + 1, middle - knob / 2 + 1, knob - 2, knob - 2)
        painter.drawEllipse(box)
        if self.hasFocus():
            painter.setPen(QPen(look.color("cobalt"), FOCUS_LINE))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 4, 4)
        painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.setValue(self.value_at(event.position().x()))
            event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if event.buttons() & Qt.MouseButton.LeftButton:
            self.setValue(self.value_at(event.position().x()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        # Scrolling a page must not change what stands under the pointer.
        event.ignore()


class HandleRow(QWidget):
    """``turned`` carries the handle's new value in °C, minutes or °C/h.

    The arrows step by one, in the field as on the slider; Page Up and Page Down by ten.
    """

    turned = Signal(float)

    def __init__(self, handle: Handle, unit: str) -> None:
        super().__init__()
        self.handle: Handle = handle
        words = HANDLES[handle]
        self._name = words[0].upper() + words[1:]
        self._value = self._low = self._high = 0.0
        self._unit = unit
        self._filling = False
        self.slider = _Slider()
        self.slider.setAccessibleName(f"{self._name}, slider")
        self.slider.setPageStep(10)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(16)
        self._grid.setVerticalSpacing(2)
        self._grid.addWidget(self.slider, 0, 1, Qt.AlignmentFlag.AlignBottom)
        self._grid.setColumnStretch(1, 1)
        self.field = self._make_field()
        self.slider.valueChanged.connect(self._slide)
        theme.current().changed.connect(self._rescale)

    def set_unit(self, unit: str) -> None:
        """Read and write in another unit; show the value anew afterwards."""
        if unit != self._unit:
            self._unit = unit
            self._grid.removeWidget(self.field)
            self.field.deleteLater()
            self.field = self._make_field()

    def show_value(self, value: float, own: float, low: float, high: float) -> None:
        """Show a value, with the program's own and the reach, without telling anyone."""
        self._value, self._low, self._high = value, min(low, own, value), max(high, own, value)
        self._filling = True
        self.slider.setRange(round(self._shown(self._low)), round(self._shown(self._high)))
        self.slider.mark = round(self._shown(own))
        self.slider.setValue(round(self._shown(value)))
        self.slider.update()
        if not self.field.line.hasFocus() or self.field.text() != self._typed(value):
            self.field.set_value(round(self._shown(value)))
        self._filling = False

    def _make_field(self) -> NumberField:
        field = NumberField(self._name, self._unit_words(), None, 0)
        field.line.installEventFilter(self)
        field.value_changed.connect(self._type)
        field.setFixedWidth(theme.current().px(_FIELD))
        self._grid.addWidget(field, 0, 0)
        QWidget.setTabOrder(field.line, self.slider)
        return field

    def _rescale(self) -> None:
        self.field.setFixedWidth(theme.current().px(_FIELD))

    def _shown(self, value: float) -> float:
        return shown(self.handle, value, self._unit)

    def _typed(self, value: float) -> str:
        return f"{round(self._shown(value))}"

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Qt: the arrows step the number being typed."""
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            by = {
                Qt.Key.Key_Up: 1,
                Qt.Key.Key_Down: -1,
                Qt.Key.Key_PageUp: 10,
                Qt.Key.Key_PageDown: -10,
            }.get(Qt.Key(event.key()))
            if by is not None and not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
                self.slider.setValue(self.slider.value() + by)
                return True
        return super().eventFilter(watched, event)

    def _slide(self, value: int) -> None:
        if not self._filling:
            self.turned.emit(stored(self.handle, float(value), self._unit))

    def _type(self, value: object) -> None:
        if value is None:
            self.field.set_value(round(self._shown(self._value)))
            return
        typed = float(str(value))
        low, high = self._shown(self._low), self._shown(self._high)
        if not low - 0.5 <= typed <= high + 0.5:
            self.field.set_problem(
                f"The {HANDLES[self.handle]} is tried from {low:.0f} to {high:.0f} "
                f"{self._unit_words()} here."
            )
            return
        self.turned.emit(stored(self.handle, typed, self._unit))

    def _unit_words(self) -> str:
        return {"peak": f"°{self._unit}", "hold": "min", "rate": f"°{self._unit}/h"}[self.handle]
