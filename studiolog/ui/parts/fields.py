"""Fields to type into, each with its label above and its problem, if any, in words beneath."""

from abc import abstractmethod
from collections.abc import Callable
from datetime import date
from typing import Literal

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QEnterEvent, QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.problems import UserProblem
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.text import SIZES, Text, Words
from studiolog.ui.parts.typed import (
    read_day,
    read_number,
    write_day,
    write_number,
)

__all__ = [
    "DayField",
    "EditableNote",
    "EditableText",
    "LineField",
    "NumberField",
    "ProblemLine",
    "read_day",
    "read_number",
    "write_day",
    "write_number",
]


class ProblemLine(QWidget):
    """A sentence in rust with a warning sign; hidden while there is nothing wrong."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = Text("", "secondary", tone="rust", wrap=True)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 2, 0, 0)
        row.setSpacing(6)
        row.addWidget(IconLabel("warning", "rust", 16), 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self._words, 1)
        self.hide()

    def say(self, sentence: str) -> None:
        self._words.setText(sentence)
        self.setAccessibleName(sentence)
        self.setVisible(bool(sentence))

    def sentence(self) -> str:
        return self._words.text()


class LineField(QWidget):
    """A label, a line to type in, a unit at its right, and a problem beneath.

    ``edited`` fires with the text when editing is done and it has changed. The line itself is
    ``line``.
    """

    edited = Signal(str)

    def __init__(
        self,
        label: str,
        text: str = "",
        hint: str = "",
        unit: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._label = label
        self.label = Text(label, "secondary", 500, "ink2")
        if not label:
            self.label.hide()
        self.line = QLineEdit(text)
        self.line.setPlaceholderText(hint)
        self.line.setAccessibleName(f"{label}, {unit}" if unit else label)
        self.label.setBuddy(self.line)
        self._problem = ProblemLine()
        self._told = text
        self._row = QHBoxLayout()
        self._row.setSpacing(8)
        self._row.addWidget(self.line, 1)
        self._unit = Text(unit, "secondary", tone="ink3")
        if not unit:
            self._unit.hide()
        self._row.addWidget(self._unit)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addWidget(self.label)
        rows.addLayout(self._row)
        rows.addWidget(self._problem)
        # Side by side, fields keep their labels level when one of them shows a problem.
        rows.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self.line.editingFinished.connect(self._finish)
        self.line.textEdited.connect(lambda: self.set_problem(""))

    def setFocus(self, reason: Qt.FocusReason = Qt.FocusReason.OtherFocusReason) -> None:
        """Give the line the keyboard.

        Not by a focus proxy: Qt's Tab key takes a field with one for a stop of its own, and where
        an order of tabs has moved the line, it comes back to it from where the field was left.
        """
        self.line.setFocus(reason)

    def add_button(self, words: str) -> QPushButton:
        """A button at the right of the line, for hands that are on the mouse."""
        button = QPushButton(words)
        button.setAccessibleName(f"{words}: {self._label}")
        button.setAutoDefault(False)
        self._row.addWidget(button)
        return button

    def text(self) -> str:
        return self.line.text().strip()

    def set_text(self, text: str) -> None:
        """Show a text without telling anyone; of a long one its beginning."""
        self.line.setText(text)
        if not self.line.hasFocus():
            self.line.setCursorPosition(0)
        self._told = text
        self.set_problem("")

    def problem(self) -> str:
        """The sentence shown beneath, or nothing."""
        return self._problem.sentence()

    def set_problem(self, sentence: str) -> None:
        """Show what is wrong and what to do, or take it away."""
        if sentence == self._problem.sentence():
            return
        self._problem.say(sentence)
        self.line.setAccessibleDescription(sentence)
        self.line.setProperty("problem", "true" if sentence else "false")
        self.line.style().unpolish(self.line)
        self.line.style().polish(self.line)

    def _keep_width(self, wide: int) -> None:
        self._wide = wide
        self._rescale()
        theme.current().changed.connect(self._rescale)

    def _rescale(self) -> None:
        self.line.setFixedWidth(theme.current().px(self._wide))

    def _check(self) -> bool:
        return True

    def _finish(self) -> None:
        good = self._check()
        if good and self.text() != self._told:
            self._told = self.text()
            self._tell()

    def _tell(self) -> None:
        self.edited.emit(self.text())


class NumberField(LineField):
    """A number with its unit; decimal comma or point. ``value_changed`` carries float or None."""

    value_changed = Signal(object)

    def __init__(
        self,
        label: str,
        unit: str = "",
        value: float | None = None,
        decimals: int = 1,
        lowest: float | None = None,
        highest: float | None = None,
        hint: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(label, write_number(value, decimals), hint, unit, parent)
        self._unit_text, self._decimals = unit, decimals
        self._lowest, self._highest = lowest, highest
        self.line.setAlignment(Qt.AlignmentFlag.AlignRight)
        self._keep_width(112)
        self._row.addStretch(1)

    def value(self) -> float | None:
        """The number, ``None`` when empty. Raises `UserProblem`; ``problem()`` shows it too."""
        try:
            number = read_number(self.text(), self._unit_text)
            if number is not None:
                self._hold(number)
        except UserProblem as problem:
            self.set_problem(problem.sentence)
            raise
        return number

    def set_value(self, value: float | None) -> None:
        """Show a number without telling anyone."""
        self.set_text(write_number(value, self._decimals))

    def _hold(self, number: float) -> None:
        what = self._label or "This"
        unit = f" {self._unit_text}" if self._unit_text else ""
        if self._lowest is not None and number < self._lowest:
            least = write_number(self._lowest, self._decimals)
            raise UserProblem(f"{what} must be {least}{unit} or more.")
        if self._highest is not None and number > self._highest:
            most = write_number(self._highest, self._decimals)
            raise UserProblem(f"{what} must be {most}{unit} or less.")

    def _check(self) -> bool:
        try:
            self.value()
        except UserProblem:
            return False
        return True

    def _tell(self) -> None:
        super()._tell()
        self.value_changed.emit(self.value())


class DayField(LineField):
    """A day as typed: ``3 Oct``, ``2026-10-03``, ``today``. ``day_changed`` carries date or None.

    ``prefer`` says on which side of today a day without a year lies.
    """

    day_changed = Signal(object)

    def __init__(
        self,
        label: str,
        day: date | None = None,
        prefer: Literal["past", "future"] = "past",
        today: Callable[[], date] = date.today,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(label, write_day(day), "3 Oct, or today", parent=parent)
        self._prefer: Literal["past", "future"] = prefer
        self._today = today
        self._keep_width(144)
        self._row.addStretch(1)

    def day(self) -> date | None:
        """The day, ``None`` when empty. Raises `UserProblem`; ``problem()`` shows it too."""
        try:
            return read_day(self.text(), self._today(), self._prefer)
        except UserProblem as problem:
            self.set_problem(problem.sentence)
            raise

    def set_day(self, day: date | None) -> None:
        """Show a day without telling anyone."""
        self.set_text(write_day(day))

    def _check(self) -> bool:
        try:
            day = self.day()
        except UserProblem:
            return False
        # What was understood is shown back, so that a wrong guess of the year is seen.
        self.line.setText(write_day(day))
        return True

    def _tell(self) -> None:
        super()._tell()
        self.day_changed.emit(self.day())


class _Line(QLineEdit):
    """A line that gives the old text back on Esc."""

    given_up = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.given_up.emit()
            return
        super().keyPressEvent(event)
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            # Qt lets Enter travel on; it would start the next change, or press a dialog's button.
            event.accept()


class _Note(QPlainTextEdit):
    """A note: Ctrl Enter or leaving keeps it, Esc gives the old text back, Tab goes on."""

    given_up = Signal()
    kept = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if event.key() == Qt.Key.Key_Escape:
            self.given_up.emit()
        elif enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.kept.emit()
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self.kept.emit()


class _InPlace(QWidget):
    """Words that become a field when clicked, or with Enter or F2."""

    edited = Signal(str)

    def __init__(
        self, about: str, text: str, hint: str, label: Text, editor: QWidget, parent: QWidget | None
    ) -> None:
        super().__init__(parent)
        self._about, self._text, self._hint = about, text, hint
        self._shown, self._editor = label, editor
        self._editing = False
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 2)
        rows.addWidget(label)
        rows.addWidget(editor)
        editor.hide()
        self._tone = str(label.property("tone"))
        editor.setAccessibleName(about)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.IBeamCursor)
        self.setAccessibleDescription("Enter or F2 to change, Esc to leave as it was")
        self._show()

    def text(self) -> str:
        return self._text

    def set_text(self, text: str) -> None:
        """Show a text without telling anyone; leaves a change in progress alone."""
        self._text = text
        if not self._editing:
            self._show()

    def is_editing(self) -> bool:
        return self._editing

    def edit(self) -> None:
        """Let the text be changed."""
        if self._editing:
            return
        self._editing = True
        self._fill(self._text)
        self._shown.hide()
        self._editor.show()
        self.setFocusProxy(self._editor)
        self._editor.setFocus(Qt.FocusReason.OtherFocusReason)

    @abstractmethod
    def _fill(self, text: str) -> None:
        """Fill the editor with a text."""

    @abstractmethod
    def _typed(self) -> str:
        """The text in the editor."""

    def _keep(self) -> None:
        if not self._editing:
            return
        typed = self._typed().strip()
        changed = typed != self._text
        self._text = typed
        self._leave()
        if changed:
            self.edited.emit(typed)

    def _give_up(self) -> None:
        if self._editing:
            self._leave()

    def _leave(self) -> None:
        had = self._editor.hasFocus()
        self._editing = False
        self.setFocusProxy(None)  # type: ignore[arg-type]
        self._editor.hide()
        self._shown.show()
        self._show()
        if had:
            self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show(self) -> None:
        self._shown.setText(self._text or self._hint)
        self._shown.set_tone(self._tone if self._text else "ink3")
        self.setAccessibleName(f"{self._about}: {self._text or 'empty'}")
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if not self._editing and event.key() in (
            Qt.Key.Key_Return,
            Qt.Key.Key_Enter,
            Qt.Key.Key_F2,
        ):
            self.edit()
        else:
            super().keyPressEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self.edit()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        event.accept()

    def focusInEvent(self, event: QFocusEvent) -> None:
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._editing:
            return
        look = theme.current()
        painter = QPainter(self)
        box = self.rect().toRectF()
        # The words stand at the edge of their column, so focus is a wash and a rule under them.
        if self.hasFocus():
            painter.fillRect(box, look.color("cobaltwash"))
            painter.fillRect(box.adjusted(0, box.height() - 2, 0, 0), look.color("cobalt"))
        elif self.underMouse():
            painter.fillRect(box.adjusted(0, box.height() - 1, 0, 0), look.color("line2"))

    def enterEvent(self, event: QEnterEvent) -> None:
        self.update()

    def leaveEvent(self, event: QEvent) -> None:
        self.update()


class EditableText(_InPlace):
    """One line that is changed where it stands: click, Enter or F2; Enter keeps, Esc gives back.

    ``edited`` carries the new text.
    """

    def __init__(
        self,
        about: str,
        text: str = "",
        hint: str = "Add",
        size: str = "body",
        weight: int = 400,
        tone: str = "ink",
        parent: QWidget | None = None,
    ) -> None:
        self._line = _Line()
        self._line.setProperty("role", "bare")
        super().__init__(about, text, hint, Words("", size, weight, tone), self._line, parent)
        self._font_of = (SIZES[size], weight)
        self._line.editingFinished.connect(self._keep)
        self._line.given_up.connect(self._give_up)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def _fill(self, text: str) -> None:
        size, weight = self._font_of
        self._line.setFont(theme.current().font(size, weight))
        self._line.setText(text)
        self._line.selectAll()

    def _typed(self) -> str:
        return self._line.text()


class EditableNote(_InPlace):
    """A note of several lines, changed where it stands; Ctrl Enter or leaving keeps it."""

    def __init__(
        self,
        about: str,
        text: str = "",
        hint: str = "Add a note",
        size: str = "body",
        parent: QWidget | None = None,
    ) -> None:
        self._note = _Note()
        self._note.setTabChangesFocus(True)
        label = Text("", size, wrap=True)
        label.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        super().__init__(about, text, hint, label, self._note, parent)
        self._size = SIZES[size]
        self._note.kept.connect(self._keep)
        self._note.given_up.connect(self._give_up)
        self._note.setMinimumHeight(theme.current().px(64))

    def _fill(self, text: str) -> None:
        self._note.setFont(theme.current().font(self._size))
        self._note.setPlainText(text)
        self._note.selectAll()

    def _typed(self) -> str:
        return self._note.toPlainText()
