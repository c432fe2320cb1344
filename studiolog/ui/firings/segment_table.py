"""The program of a firing as a table of rate, target and hold, typed row by row."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QApplication,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from studiolog.craft.firing.program import Segment, find_problems
from studiolog.craft.units import parse_duration, parse_number, parse_temperature, show_number
from studiolog.desktop import theme
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.section import link_button
from studiolog.ui.parts.text import Caption
from studiolog.ui.plots.plot_ticks import Unit, shown_rate, shown_temperature, stored_rate

_AS_FAST = ("", "full", "max", "free", "as fast as it goes", "left to cool")
_COLUMNS = ("rate_c_per_h", "target_c", "hold_min")


@dataclass
class _Cell:
    """A field, and the value it stands for as long as nobody types into it.

    1222 °C is shown as 2232 °F; reading that back would be 1222.2 °C.
    """

    line: QLineEdit
    shown: str = ""
    value: float | None = None


class _Row:
    """One segment: three cells, what is wrong with them, and taking the row away."""

    def __init__(self) -> None:
        self.cells = {name: _Cell(QLineEdit()) for name in _COLUMNS}
        self.number = Caption("")
        self.remove = IconButton("cross", "Take this segment out")
        self.problem = ProblemLine()

    def lines(self) -> list[QLineEdit]:
        return [cell.line for cell in self.cells.values()]

    def is_empty(self) -> bool:
        return not any(line.text().strip() for line in self.lines())

    def widgets(self) -> list[QWidget]:
        return [self.number, *self.lines(), self.remove, self.problem]


class SegmentTable(QWidget):
    """Rows of a program. Enter, or leaving the row, keeps; Esc gives the row back.

    ``typed`` carries the segments at every key, or None while they can't be read; ``kept`` those
    to be written. Ctrl+Delete takes a row out, Ctrl+Insert sets one in before; Up and Down move.
    """

    typed = Signal(object)
    kept = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit: Unit = "C"
        self._stored: tuple[Segment, ...] = ()
        self._rows: list[_Row] = []
        self._changed = False
        self.grid = QGridLayout()
        self.grid.setContentsMargins(0, 0, 0, 0)
        self.grid.setHorizontalSpacing(8)
        self.grid.setVerticalSpacing(4)
        self._heads = [Caption("") for _ in _COLUMNS]
        for column, head in enumerate(self._heads):
            self.grid.addWidget(head, 0, column + 1)
            self.grid.setColumnStretch(column + 1, 1)
        self.whole = ProblemLine()
        self.add_link = link_button("Add a segment")
        self.add_link.clicked.connect(lambda: self.insert_row(len(self._rows)))
        feet = QHBoxLayout()
        feet.addWidget(self.add_link)
        feet.addStretch(1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(6)
        rows.addLayout(self.grid)
        rows.addWidget(self.whole)
        rows.addLayout(feet)
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        application.focusChanged.connect(self._follow_focus)

    # What others use

    def show_segments(self, segments: Sequence[Segment], unit: Unit) -> None:
        """Show these segments; leaves what is being typed alone unless they differ from before."""
        wanted = tuple(segments)
        if self._changed and wanted == self._stored and unit == self._unit:
            return
        self._stored, self._unit, self._changed = wanted, unit, False
        for column, words in enumerate((f"Rate, °{unit}/h", f"Target, °{unit}", "Hold, min")):
            self._heads[column].setText(words)
        self._set_row_count(len(wanted))
        for row, segment in zip(self._rows, wanted, strict=True):
            self._fill(row, segment)
        self._tell_problems({})

    def segments(self) -> tuple[Segment, ...]:
        """What is typed. Raises UserProblem with a field for each cell that can't be read."""
        found: list[Segment] = []
        problems: dict[str, str] = {}
        place = 0
        for row in self._rows:
            if row.is_empty():
                continue
            values: dict[str, float | None] = {}
            for name, cell in row.cells.items():
                try:
                    values[name] = self._value(name, cell)
                except UserProblem as problem:
                    problems[f"segments.{place}.{name}"] = problem.sentence
            if values.get("target_c") is None:
                problems.setdefault(f"segments.{place}.target_c", "Give a target temperature.")
            found.append(
                Segment(
                    values.get("rate_c_per_h"),
                    values.get("target_c") or 0.0,
                    values.get("hold_min") or 0.0,
                )
            )
            place += 1
        if not problems and found:
            problems = find_problems(found, scale=self._unit)
        if problems:
            raise UserProblem(next(iter(problems.values())), problems)
        return tuple(found)

    def keep(self) -> bool:
        """Hand over what was typed, if anything was and it can be read. True if nothing is open."""
        if not self._changed:
            return True
        try:
            segments = self.segments()
        except UserProblem as problem:
            self._tell_problems(problem.fields)
            return False
        self._changed = False
        if segments != self._stored:
            self._stored = segments
            self.kept.emit(segments)
        return True

    def insert_row(self, place: int) -> None:
        """Set an empty row in before ``place`` and stand in it."""
        row = self._make_row()
        self._rows.insert(place, row)
        self._lay_out()
        row.cells["rate_c_per_h"].line.setFocus()

    def remove_row(self, place: int) -> None:
        """Take a segment out; kept at once."""
        row = self._rows.pop(place)
        self._drop(row)
        self._lay_out()
        self._changed = True
        self._tell_typed()
        self.keep()
        if self._rows:
            self._rows[min(place, len(self._rows) - 1)].lines()[0].setFocus()

    def line(self, place: int, name: str) -> QLineEdit:
        """The field of a row: "rate_c_per_h", "target_c" or "hold_min"."""
        return self._rows[place].cells[name].line

    def row_problem(self, place: int) -> str:
        """What is wrong with a row, in words."""
        return self._rows[place].problem.sentence()

    # Rows

    def _make_row(self) -> _Row:
        row = _Row()
        for cell in row.cells.values():
            cell.line.textEdited.connect(self._type)
            cell.line.installEventFilter(self)
        row.remove.clicked.connect(lambda: self.remove_row(self._rows.index(row)))
        return row

    def _set_row_count(self, count: int) -> None:
        while len(self._rows) > count:
            self._drop(self._rows.pop())
        while len(self._rows) < count:
            self._rows.append(self._make_row())
        self._lay_out()

    def _drop(self, row: _Row) -> None:
        for widget in row.widgets():
            self.grid.removeWidget(widget)
            widget.hide()
            widget.deleteLater()

    def _lay_out(self) -> None:
        for head in self._heads:
            head.setVisible(bool(self._rows))
        names = {"rate_c_per_h": "rate", "target_c": "target", "hold_min": "hold"}
        for place, row in enumerate(self._rows):
            line = 1 + place * 2
            row.number.setText(str(place + 1))
            row.number.setFixedWidth(theme.current().px(18))
            self.grid.addWidget(row.number, line, 0)
            for column, (name, cell) in enumerate(row.cells.items()):
                cell.line.setAccessibleName(f"Segment {place + 1}, {names[name]}")
                self.grid.addWidget(cell.line, line, column + 1)
                cell.line.show()
            self.grid.addWidget(row.remove, line, len(_COLUMNS) + 1)
            row.remove.setAccessibleName(f"Take segment {place + 1} out")
            self.grid.addWidget(row.problem, line + 1, 1, 1, len(_COLUMNS))
        for first, second in zip(self._rows, self._rows[1:], strict=False):
            QWidget.setTabOrder(first.remove, second.lines()[0])
        for row in self._rows:
            for before, after in zip([*row.lines()], [*row.lines()[1:], row.remove], strict=True):
                QWidget.setTabOrder(before, after)

    def _fill(self, row: _Row, segment: Segment) -> None:
        here = self._rows.index(row)
        before = self._stored[here - 1].target_c if here else 20.0
        free = "left to cool" if segment.target_c < before else "as fast as it goes"
        rate = segment.rate_c_per_h
        texts = {
            "rate_c_per_h": "" if rate is None else _write(shown_rate(rate, self._unit), rate),
            "target_c": _write(shown_temperature(segment.target_c, self._unit), segment.target_c),
            "hold_min": _write(segment.hold_min) if segment.hold_min else "",
        }
        for name, cell in row.cells.items():
            cell.value = getattr(segment, name)
            cell.shown = texts[name]
            cell.line.setText(texts[name])
            cell.line.setPlaceholderText(free if name == "rate_c_per_h" else "")

    def _value(self, name: str, cell: _Cell) -> float | None:
        text = cell.line.text().strip()
        if text == cell.shown and cell.value is not None:
            return cell.value
        if name == "rate_c_per_h":
            if text.lower() in _AS_FAST:
                return None
            # A rate is a speed: its target says whether it heats or cools.
            return abs(stored_rate(parse_number(text.split("°")[0]), self._unit))
        if not text:
            return None
        if name == "target_c":
            return parse_temperature(text, self._unit)
        return parse_duration(text) / 60.0

    # Typing

    def _type(self) -> None:
        self._changed = True
        self._tell_typed()

    def _tell_typed(self) -> None:
        try:
            segments = self.segments()
        except UserProblem as problem:
            self._tell_problems(problem.fields)
            self.typed.emit(None)
        else:
            self._tell_problems({})
            self.typed.emit(segments)

    def _tell_problems(self, fields: dict[str, str]) -> None:
        place = 0
        for row in self._rows:
            if row.is_empty():
                row.problem.say("")
                continue
            said = [
                sentence
                for field, sentence in fields.items()
                if field.startswith(f"segments.{place}.")
            ]
            row.problem.say(" ".join(said))
            for name, cell in row.cells.items():
                wrong = "true" if f"segments.{place}.{name}" in fields else "false"
                if cell.line.property("problem") != wrong:
                    cell.line.setProperty("problem", wrong)
                    cell.line.style().unpolish(cell.line)
                    cell.line.style().polish(cell.line)
            place += 1
        self.whole.say(fields.get("segments", ""))

    def _place_of(self, widget: QObject | None) -> tuple[int, int] | None:
        for place, row in enumerate(self._rows):
            lines = row.lines()
            if widget in lines:
                return place, lines.index(widget)
        return None

    def _follow_focus(self, old: QWidget | None, new: QWidget | None) -> None:
        left, entered = self._place_of(old), self._place_of(new)
        if left is not None and (entered is None or entered[0] != left[0]):
            self.keep()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        place = self._place_of(watched)
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent) and place:
            return self._press(place, event)
        return super().eventFilter(watched, event)

    def _press(self, place: tuple[int, int], event: QKeyEvent) -> bool:
        row, column = place
        key = event.key()
        held = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if self.keep():
                if row + 1 < len(self._rows):
                    self._rows[row + 1].lines()[column].setFocus()
                elif not self._rows[row].is_empty():
                    self.insert_row(row + 1)
            return True
        if key == Qt.Key.Key_Escape:
            self._changed = False
            stored, self._stored = self._stored, ()
            self.show_segments(stored, self._unit)
            self.typed.emit(stored)
            return True
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            there = row + (1 if key == Qt.Key.Key_Down else -1)
            if 0 <= there < len(self._rows):
                self._rows[there].lines()[column].setFocus()
            return True
        if held and key == Qt.Key.Key_Delete:
            self.remove_row(row)
            return True
        if held and key == Qt.Key.Key_Insert:
            self.insert_row(row)
            return True
        return False


def _write(value: float, stored: float | None = None) -> str:
    """A figure of a field: whole if it is, or if what is stored is (1222 °C reads 2232 °F)."""
    whole = any(abs(v - round(v)) < 0.05 for v in (value, value if stored is None else stored))
    return show_number(value, 0 if whole else 1)
