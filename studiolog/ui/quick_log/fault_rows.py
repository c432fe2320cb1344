"""What was seen on the piece: a fault's letter, then 0 to 3."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QVBoxLayout, QWidget

from studiolog.craft.words import FAULTS, ZONES
from studiolog.journal.sheet_page import EarlierLook
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import KeyCap, link_button
from studiolog.ui.parts.severity import SEVERITY_WORDS, SeverityPicker
from studiolog.ui.parts.text import Elided, Text
from studiolog.ui.parts.typed import write_day
from studiolog.ui.quick_log.sheet_text import FaultRow

LETTERS = {
    "crazing": "C",
    "crawling": "W",
    "pinhole": "I",
    "running": "R",
    "blister": "B",
    "shivering": "S",
    "dunting": "D",
    "bloating": "O",
    "warping": "A",
    "crack": "K",
    "dry": "Y",
    "speck": "E",
    "colour_off": "L",
}
"""The key of each fault; M shows the faults not listed, Z and Shift Z turn through the zones."""

_ZONES = ("", *ZONES)


class FaultRows(QWidget):
    """A row a fault. ``changed`` when something was said. Tab enters and leaves it as one field."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: list[FaultRow] = []
        self._earlier: tuple[EarlierLook, ...] = ()
        self._pickers: list[SeverityPicker] = []
        self._zone_words: list[Text] = []
        self._at = 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Faults")
        self.setAccessibleDescription("A fault's letter, then 0 to 3. Z says where. M shows more.")
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(0)
        self._grid.setColumnStretch(2, 1)
        self._more = link_button("More faults")
        self._more.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._more.clicked.connect(self.show_more)

    def show_rows(self, rows: Sequence[FaultRow], earlier: Sequence[EarlierLook]) -> None:
        """Show these rows; what was seen on an earlier day stands beside them in grey."""
        self._rows = list(rows)
        self._earlier = tuple(earlier)
        self._at = min(self._at, max(len(self._rows) - 1, 0))
        self._build()

    def rows(self) -> tuple[FaultRow, ...]:
        """The rows as they stand."""
        return tuple(self._rows)

    def pickers(self) -> tuple[SeverityPicker, ...]:
        """The severity of each row."""
        return tuple(self._pickers)

    def all_looked(self) -> None:
        """Every fault listed that was not looked for yet: looked, none seen."""
        for index, row in enumerate(self._rows):
            if row.severity is None:
                self._rows[index] = replace(row, severity=0)
                self._pickers[index].set_severity(0)
        self._say_zones()
        self.changed.emit()

    def show_more(self) -> None:
        """List all faults there are."""
        shown = {row.fault for row in self._rows}
        missing = [FaultRow(fault) for fault in FAULTS if fault not in shown]
        if missing:
            self._rows += missing
            had = self.hasFocus() or any(p.hasFocus() for p in self._pickers)
            self._build()
            if had:
                self._go(len(self._rows) - len(missing))
            self.changed.emit()

    def go_first(self) -> None:
        """Give the keyboard to the row in hand."""
        self._go(self._at)

    def _build(self) -> None:
        while (item := self._grid.takeAt(0)) is not None:
            old = item.widget()
            if old is not None and old is not self._more:
                old.hide()
                old.setParent(None)
                old.deleteLater()
        self._pickers, self._zone_words = [], []
        for index, row in enumerate(self._rows):
            name = FAULTS[row.fault]
            picker = SeverityPicker(name.capitalize(), row.severity)
            picker.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
            picker.picked.connect(lambda severity, index=index: self._pick(index, severity))
            picker.installEventFilter(self)
            zone = Elided("", "caption", tone="ink3")
            self._grid.addWidget(KeyCap(LETTERS[row.fault]), index, 0)
            self._grid.addWidget(IconLabel(row.fault, "ink", 16), index, 1)
            words = QWidget()
            lines = QVBoxLayout(words)
            lines.setContentsMargins(0, 0, 0, 0)
            lines.setSpacing(0)
            lines.addWidget(Text(name.capitalize(), "secondary"))
            lines.addWidget(zone)
            lines.setAlignment(Qt.AlignmentFlag.AlignVCenter)
            self._grid.addWidget(words, index, 2)
            self._grid.addWidget(picker, index, 3)
            self._pickers.append(picker)
            self._zone_words.append(zone)
        if len({row.fault for row in self._rows}) < len(FAULTS):
            left = Qt.AlignmentFlag.AlignLeft
            self._grid.addWidget(self._more, len(self._rows), 2, 1, 2, left)
            self._more.setText("More faults (M)")
            self._more.show()
        else:
            self._more.hide()
        self._say_zones()
        if self.isVisible():
            # At once, not when events next run: a row is about to be given the keyboard.
            for place in range(self._grid.count()):
                item = self._grid.itemAt(place)
                shown = item.widget() if item is not None else None
                if shown is not None:
                    shown.show()
        self.updateGeometry()

    def _say_zones(self) -> None:
        for row, words in zip(self._rows, self._zone_words, strict=True):
            said = row.zone
            if row.severity is None and not said:
                last = next(
                    (e for e in self._earlier if (e.fault, e.zone) == (row.fault, row.zone)), None
                )
                if last is not None:
                    day = write_day(last.looked_on, date.today())
                    said = f"{day}: {SEVERITY_WORDS[last.severity]}"
            words.setText(said)
            words.setVisible(bool(said))

    def _pick(self, index: int, severity: int | None) -> None:
        self._at = index
        self._rows[index] = replace(self._rows[index], severity=severity)
        self._say_zones()
        self.changed.emit()

    def _turn_zone(self, step: int) -> None:
        row = self._rows[self._at]
        place = _ZONES.index(row.zone) if row.zone in _ZONES else 0
        taken = {(r.fault, r.zone) for i, r in enumerate(self._rows) if i != self._at}
        for _ in _ZONES:
            place = (place + step) % len(_ZONES)
            if (row.fault, _ZONES[place]) not in taken:
                break
        self._rows[self._at] = replace(row, zone=_ZONES[place])
        self._say_zones()
        self.changed.emit()

    def _go(self, index: int) -> None:
        if self._rows:
            self._at = max(0, min(len(self._rows) - 1, index))
            self._pickers[self._at].setFocus(Qt.FocusReason.OtherFocusReason)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self._go(self._at)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if not self._hear_key(event):
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            return self._hear_key(event)
        if event.type() == QEvent.Type.FocusIn and watched in self._pickers:
            self._at = self._pickers.index(watched)
        return super().eventFilter(watched, event)

    def _hear_key(self, event: QKeyEvent) -> bool:
        shift = Qt.KeyboardModifier.ShiftModifier
        if event.modifiers() & ~(shift | Qt.KeyboardModifier.KeypadModifier):
            return False
        typed = event.text().upper()
        letters = {
            LETTERS[row.fault]: index for index, row in reversed(list(enumerate(self._rows)))
        }
        if typed in letters:
            index = letters[typed]
            same = [i for i, r in enumerate(self._rows) if r.fault == self._rows[index].fault]
            if self._at in same and len(same) > 1 and self._pickers[self._at].hasFocus():
                index = same[(same.index(self._at) + 1) % len(same)]
            self._go(index)
        elif typed and typed in LETTERS.values():
            self.show_more()
            fault = next(key for key, letter in LETTERS.items() if letter == typed)
            self._go(next(i for i, row in enumerate(self._rows) if row.fault == fault))
        elif typed == "M":
            self.show_more()
        elif typed == "Z" and self._rows:
            self._turn_zone(-1 if event.modifiers() & shift else 1)
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._go(self._at + (1 if event.key() == Qt.Key.Key_Down else -1))
        elif event.key() in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab):
            # The pickers are no stops of their own: Tab leaves from the rows as a whole.
            self.leave(onward=event.key() == Qt.Key.Key_Tab)
        else:
            return False
        return True

    def leave(self, *, onward: bool) -> None:
        """Go to the field after, or before, all the rows."""
        widget: QWidget | None = self
        while widget is not None:
            widget = widget.nextInFocusChain() if onward else widget.previousInFocusChain()
            if widget is None or widget is self:
                return
            stop = widget.focusPolicy() & Qt.FocusPolicy.TabFocus
            if stop and not self.isAncestorOf(widget) and widget.isVisible() and widget.isEnabled():
                widget.setFocus(Qt.FocusReason.TabFocusReason)
                return
