"""Every guess of the log reader as a field that the potter can overrule."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from studiolog.craft.units import parse_duration, show_duration
from studiolog.desktop import theme
from studiolog.problems import UserProblem
from studiolog.transfer.temperature_log import Choices, LogReading, Question
from studiolog.ui.parts.choice import Choice, PickOne, SegmentedChoice
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.text import Caption, Text, Words

UNITS = {"C": "°C", "F": "°F", "K": "K"}
_ENCODINGS = ("utf-8", "utf-16-le", "utf-16-be", "cp1252", "cp1250", "iso-8859-1", "cp437")
_SEPARATORS = {";": "semicolon", ",": "comma", "\t": "tab", "|": "pipe", " ": "spaces", "": "none"}
_MARKS = {".": "point", ",": "comma"}
_ROLES = {
    "measured": "measured temperature",
    "setpoint": "set point",
    "duty": "duty, per cent",
    "ignored": "leave it out",
}
_TIME_KINDS = (
    "elapsed s", "elapsed min", "elapsed h", "elapsed ms", "elapsed days", "elapsed h:mm",
    "elapsed m:ss", "clock", "timestamp", "epoch s", "epoch ms", "epoch us", "epoch ns",
    "serial days", "row count",
)  # fmt: skip
_ORDERS = ("day first", "month first", "year first")


def show_option(key: str, option: str) -> str:
    """An option of a question as a person says it: "5 min" for "300" seconds, "°F" for "F"."""
    if key == "unit":
        return UNITS.get(option, option)
    if key in ("restart_gap_s", "sampling_s"):
        return show_duration(float(option))
    return option


def answer(choices: Choices, key: str, option: str) -> Choices:
    """The choices with a question answered."""
    value: Any = option
    if key in ("restart_gap_s", "sampling_s"):
        value = float(option)
    elif key == "clock_change":
        value = option == "yes"
    elif key == "start":
        value = datetime.fromisoformat(option)
    changes: dict[str, Any] = {key: value}
    return replace(choices, **changes)


class QuestionBox(QWidget):
    """One open question with its options; nothing is chosen until the potter does."""

    answered = Signal(str, str)

    def __init__(self, question: Question) -> None:
        super().__init__()
        self.question = question
        self.words = Text(question.sentence, weight=600, wrap=True)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 4)
        rows.setSpacing(6)
        rows.addWidget(self.words)
        options = [Choice(option, show_option(question.key, option)) for option in question.options]
        self.picker: SegmentedChoice | PickOne
        if len(options) <= 4:
            self.picker = SegmentedChoice(question.sentence, options)
        else:
            self.picker = PickOne(question.sentence, options, "Choose one")
        self.picker.picked.connect(lambda option: self.answered.emit(question.key, str(option)))
        rows.addWidget(self.picker)
        proposed = show_option(question.key, question.proposed)
        rows.addWidget(Caption(f"Most likely {proposed}.", "ink2"))

    def pick(self, option: str) -> None:
        """Answer it, as a click does."""
        self.picker.choose(option)
        self.answered.emit(self.question.key, option)


class ChoicesForm(QWidget):
    """The guesses as fields. ``changed`` carries the `Choices` when one of them is overruled."""

    changed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._choices = Choices()
        self._columns: dict[str, PickOne] = {}
        self.encoding = self._pick("Encoding", "encoding")
        self.separator = self._pick("Separator", "separator")
        self.decimal_mark = self._pick("Decimal mark", "decimal_mark")
        self.unit = self._pick("Unit", "unit")
        self.time_column = self._pick("Time column", "time_column")
        self.time_kind = self._pick("Time counts as", "time_kind")
        self.date_order = self._pick("Date order", "date_order")
        self.primary_channel = self._pick("Main channel", "primary_channel")
        self.header_row = LineField("", hint="as read")
        self.restart_gap = LineField("", hint="as read")
        self.between = LineField("", hint="as read")
        self.start = LineField("", hint="2026-10-02 07:10")
        for typed, about in (
            (self.header_row, "Header line, 0 for none"),
            (self.restart_gap, "Logger off at a restart"),
            (self.between, "Time between rows"),
            (self.start, "Start of the log"),
        ):
            typed.line.setAccessibleName(about)
            typed.edited.connect(self._type)
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(0, 0, 0, 0)
        self.grid.setHorizontalSpacing(12)
        self.grid.setVerticalSpacing(8)
        self.grid.setColumnStretch(1, 1)
        fields: Sequence[tuple[str, QWidget]] = (
            ("Unit", self.unit),
            ("Main channel", self.primary_channel),
            ("Time column", self.time_column),
            ("Time counts as", self.time_kind),
            ("Date order", self.date_order),
            ("Start", self.start),
            ("Separator", self.separator),
            ("Decimal mark", self.decimal_mark),
            ("Encoding", self.encoding),
            ("Header line", self.header_row),
            ("Off at a restart", self.restart_gap),
            ("Between rows", self.between),
        )
        for row, (label, field) in enumerate(fields):
            self.grid.addWidget(Text(label, "secondary", tone="ink2"), row, 0)
            self.grid.addWidget(field, row, 1)
        self._first_column_row = len(fields)
        self.show_nothing()

    @property
    def choices(self) -> Choices:
        """What has been overruled."""
        return self._choices

    def overrule(self, **changes: Any) -> None:
        """Overrule guesses, as the fields do."""
        self._choices = replace(self._choices, **changes)
        self.changed.emit(self._choices)

    def column(self, name: str) -> PickOne:
        """The field that says what a column is."""
        return self._columns[name]

    def show_reading(self, reading: LogReading, choices: Choices) -> None:
        """Offer what can be overruled, each guess named as it was read."""
        self._choices = choices
        names = [column.name for column in reading.columns]
        measured = [c.name for c in reading.channels if c.role == "measured"]
        self._offer(
            self.encoding,
            choices.encoding,
            reading.encoding,
            {name: name for name in dict.fromkeys((*_ENCODINGS, reading.encoding))},
        )
        separator = _SEPARATORS.get(reading.separator, reading.separator)
        self._offer(self.separator, choices.separator, separator, _SEPARATORS)
        self._offer(self.decimal_mark, choices.decimal_mark, _MARKS[reading.decimal_mark], _MARKS)
        self._offer(self.unit, choices.unit, UNITS[reading.unit], UNITS)
        times = [c.name for c in reading.columns if c.taken_as in ("time", "date")]
        self._offer(
            self.time_column,
            choices.time_column,
            " and ".join(times) or "none",
            {name: name for name in names},
        )
        self._offer(
            self.time_kind, choices.time_kind, reading.time_kind, {k: k for k in _TIME_KINDS}
        )
        self._offer(self.date_order, choices.date_order, "", {k: k for k in _ORDERS})
        self._offer(
            self.primary_channel,
            choices.primary_channel,
            reading.primary.name,
            {name: name for name in measured},
        )
        for field, value in (
            (self.header_row, choices.header_row),
            (self.restart_gap, choices.restart_gap_s),
            (self.between, choices.sampling_s),
        ):
            if not field.line.hasFocus():
                field.set_text("" if value is None else _plain(field is self.header_row, value))
        if not self.start.line.hasFocus():
            self.start.set_text(f"{reading.start:%Y-%m-%d %H:%M}" if reading.start else "")
        self._show_columns(reading, choices)

    def show_nothing(self, choices: Choices | None = None) -> None:
        """Nothing could be read yet: offer what may help to read it."""
        self._choices = choices or Choices()
        self._offer(self.encoding, self._choices.encoding, "", {e: e for e in _ENCODINGS})
        self._offer(self.separator, self._choices.separator, "", _SEPARATORS)
        self._offer(self.decimal_mark, self._choices.decimal_mark, "", _MARKS)
        self._offer(self.unit, self._choices.unit, "", UNITS)
        self._offer(self.time_kind, self._choices.time_kind, "", {k: k for k in _TIME_KINDS})
        self._offer(self.date_order, self._choices.date_order, "", {k: k for k in _ORDERS})

    def _pick(self, about: str, field: str) -> PickOne:
        picker = _picker(about)
        picker.picked.connect(
            lambda ident: self.overrule(**{field: None if ident == "as read" else ident})
        )
        return picker

    @staticmethod
    def _offer(picker: PickOne, chosen: Any, read: str, options: dict[str, str]) -> None:
        as_read = "as read" if chosen is not None or not read else f"{read}, as read"
        picker.set_choices(
            [Choice("as read", as_read), *(Choice(key, text) for key, text in options.items())]
        )
        picker.choose("as read" if chosen is None else chosen)
        line = picker.lineEdit()
        if line is not None:
            line.setCursorPosition(0)  # of a long name the beginning is shown

    def _show_columns(self, reading: LogReading, choices: Choices) -> None:
        names = [c.name for c in reading.columns if c.taken_as not in ("time", "date")]
        if list(self._columns) != names:
            for place in range(self._first_column_row, self.grid.rowCount()):
                for at in range(2):
                    item = self.grid.itemAtPosition(place, at)
                    widget = item.widget() if item is not None else None
                    if widget is not None:
                        self.grid.removeWidget(widget)
                        widget.hide()
                        widget.deleteLater()
            self._columns = {}
            for number, name in enumerate(names):
                row = self._first_column_row + number
                picker = _picker(f"Column {name}")
                picker.picked.connect(lambda ident, name=name: self._set_role(name, ident))
                self._columns[name] = picker
                label = Words(f"“{name}” is", "secondary", tone="ink2")
                label.setMaximumWidth(theme.current().px(150))
                label.setToolTip(name)
                self.grid.addWidget(label, row, 0)
                self.grid.addWidget(picker, row, 1)
        taken = {column.name: column.taken_as for column in reading.columns}
        for name, picker in self._columns.items():
            self._offer(
                picker, choices.columns.get(name), _ROLES.get(taken[name], taken[name]), _ROLES
            )

    def _set_role(self, name: str, ident: object) -> None:
        columns = {key: role for key, role in self._choices.columns.items() if key != name}
        if ident != "as read":
            columns[name] = ident  # type: ignore[assignment]
        self.overrule(columns=columns)

    def _type(self) -> None:
        try:
            changes: dict[str, Any] = {
                "header_row": _read(self.header_row, _line_number),
                "restart_gap_s": _read(self.restart_gap, _seconds),
                "sampling_s": _read(self.between, _seconds),
            }
            start = _read(self.start, _moment)
        except UserProblem:
            return
        if self.start.line.isModified():
            changes["start"] = start
        self.overrule(**changes)


def _picker(about: str) -> PickOne:
    """A field that is as narrow as its column: long names are read in its list."""
    picker = PickOne(about, hint="as read")
    picker.setSizeAdjustPolicy(PickOne.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    picker.setMinimumContentsLength(6)
    return picker


def _plain(whole: bool, value: float) -> str:
    return f"{value:g}" if whole else show_duration(value).replace(" ", " ")


def _read(field: LineField, reader: Any) -> Any:
    try:
        return reader(field.text()) if field.text() else None
    except UserProblem as problem:
        field.set_problem(problem.sentence)
        raise


def _line_number(text: str) -> int:
    if not text.isdigit():
        raise UserProblem(f"“{text}” is not a line of the file: give its number, 0 for none.")
    return int(text)


def _seconds(text: str) -> float:
    plain = text.strip()
    # A bare number counts seconds here, as loggers do.
    return float(plain) if re.fullmatch(r"\d+(\.\d+)?", plain) else parse_duration(plain)


def _moment(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise UserProblem(
            f"“{text}” is not a day and time: write it like 2026-10-02 07:10."
        ) from None
