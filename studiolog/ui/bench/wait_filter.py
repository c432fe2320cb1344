"""The runs by what their pieces wait for: a row of chips with counts, one chosen."""

from collections.abc import Mapping

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QMenu, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import FOCUS_LINE, RADIUS_CHIP, SECONDARY
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.text import Text

ALL = ""
"""The chip that shows every run."""


class WaitChip(QAbstractButton):
    """What pieces wait for, and how many do."""

    def __init__(self, waits: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        from studiolog.journal.waiting_for import WAITING_FOR

        self.waits, self.pieces = waits, 0
        self._meaning = WAITING_FOR.get(waits, "all")
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setText(self._meaning[:1].upper() + self._meaning[1:])
        theme.current().changed.connect(self.updateGeometry)

    def set_pieces(self, pieces: int) -> None:
        """Show how many pieces wait for it."""
        self.pieces = pieces
        some = "1 piece" if pieces == 1 else f"{pieces} pieces"
        if self.waits == ALL:
            self.setAccessibleName(f"Every run in hand, {some}")
        else:
            self.setAccessibleName(f"Waiting for: {self._meaning}, {some}")
        self.updateGeometry()
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: only the space bar is the chip's own; the row of chips knows the other keys."""
        if event.key() == Qt.Key.Key_Space:
            super().keyPressEvent(event)
        else:
            event.ignore()

    def sizeHint(self) -> QSize:
        look = theme.current()
        words = QFontMetricsF(look.font(SECONDARY, 500)).horizontalAdvance(self.text())
        count = QFontMetricsF(look.font(SECONDARY, 600)).horizontalAdvance(str(self.pieces))
        return QSize(round(words + count) + 20, look.px(24))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        look = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        on = self.isChecked()
        edge = "cobalt" if on or self.hasFocus() else "line2"
        painter.setPen(QPen(look.color(edge), FOCUS_LINE if self.hasFocus() else 1))
        if on:
            painter.setBrush(look.color("cobaltwash"))
        elif self.underMouse():
            painter.setBrush(look.color("sunk"))
        inset = 0.5 if self.hasFocus() else 0
        painter.drawRoundedRect(
            box.adjusted(inset, inset, -inset, -inset), RADIUS_CHIP, RADIUS_CHIP
        )
        font = look.font(SECONDARY, 500)
        painter.setFont(font)
        painter.setPen(look.color("cobalt" if on else "ink"))
        wide = QFontMetricsF(font).horizontalAdvance(self.text())
        middle = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        painter.drawText(box.adjusted(7, 0, 0, 0), middle, self.text())
        painter.setFont(look.font(SECONDARY, 600))
        painter.setPen(look.color("cobalt" if on else "ink2" if self.pieces else "ink3"))
        painter.drawText(box.adjusted(7 + wide + 5, 0, 0, 0), middle, str(self.pieces))
        painter.end()


class WaitFilter(QWidget):
    """``picked`` carries the key of `WAITING_FOR` that is asked for, `ALL` for every run.

    Arrows go from chip to chip, a digit takes the chip at that place, Esc shows every run again.
    """

    picked = Signal(str)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.chosen = ALL
        self._chips: dict[str, WaitChip] = {}
        self._compact = False
        # Room is kept from the first moment on: the rows must not jump when the counts are known.
        self._hold_room()
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        theme.current().changed.connect(self._hold_room)

    def _hold_room(self) -> None:
        self.setMinimumHeight(0 if self._chips else theme.current().px(24))

    def chips(self) -> list[WaitChip]:
        """The chips that can be seen, in order."""
        return [chip for chip in self._chips.values() if not chip.isHidden()]

    def show_counts(self, counts: Mapping[str, int]) -> None:
        """Show what pieces wait for; what is chosen stays in sight when none do any more."""
        if not self._chips:
            self._make_chips()
        self._chips[ALL].set_pieces(sum(counts.values()))
        for waits, chip in self._chips.items():
            if waits != ALL:
                chip.set_pieces(counts.get(waits, 0))
                chip.setVisible(bool(counts.get(waits)) or waits == self.chosen)
        self._flow.invalidate()
        self._fill_menu()

    def _make_chips(self) -> None:
        # Only once the rows stand: a window is shown before this is loaded.
        from studiolog.journal.waiting_for import WAITING_FOR

        self._row = QWidget()
        self._flow = FlowLayout(self._row, 5, 5)
        self._flow.addWidget(Text("Waiting for", "secondary", tone="ink2"))
        for waits in (ALL, *WAITING_FOR):
            chip = self._chips[waits] = WaitChip(waits)
            chip.setChecked(waits == self.chosen)
            chip.clicked.connect(lambda _on, waits=waits: self.pick(waits))
            self._flow.addWidget(chip)
        # Where there is no room for all chips, they stand in a menu under the one chosen.
        self._menu = QMenu(self)
        self._button = QPushButton()
        self._button.setMenu(self._menu)
        self._rows.addWidget(self._row)
        self._rows.addWidget(self._button, 0, Qt.AlignmentFlag.AlignLeft)
        self.set_compact(self._compact)
        self._hold_room()

    def set_compact(self, compact: bool) -> None:
        """Show one button with a menu in place of the row of chips."""
        self._compact = compact
        if self._chips:
            self._row.setVisible(not compact)
            self._button.setVisible(compact)

    def _fill_menu(self) -> None:
        self._menu.clear()
        for chip in self._chips.values():
            if chip.waits in (ALL, self.chosen) or chip.pieces:
                act = self._menu.addAction(f"{chip.text()} {chip.pieces}")
                act.triggered.connect(lambda _on=False, waits=chip.waits: self.pick(waits))
        chosen = self._chips[self.chosen]
        self._button.setText(f"Waiting for: {chosen.text().lower()} {chosen.pieces}")

    def pick(self, waits: str) -> None:
        """Choose as a person does; what is chosen already shows every run again."""
        waits = ALL if waits == self.chosen else waits
        self.chosen = waits
        for key, chip in self._chips.items():
            chip.setChecked(key == waits)
        if self._chips:
            self._fill_menu()
        self.picked.emit(waits)

    def begin(self) -> None:
        """Take the keyboard, at the chip that is chosen."""
        chip = self._chips.get(self.chosen)
        if chip is not None and self._compact:
            self._button.setFocus(Qt.FocusReason.ShortcutFocusReason)
            self._button.showMenu()
        elif chip is not None:
            chip.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: what a chip did not use."""
        chips = self.chips()
        at = next((place for place, chip in enumerate(chips) if chip.hasFocus()), -1)
        key = event.key()
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Up: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(key), 0)
        if step and at >= 0:
            chips[(at + step) % len(chips)].setFocus(Qt.FocusReason.TabFocusReason)
        elif Qt.Key.Key_0 <= key <= Qt.Key.Key_9:
            place = key - Qt.Key.Key_0
            if place < len(chips):
                chips[place].setFocus(Qt.FocusReason.TabFocusReason)
                self.pick(chips[place].waits)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and at >= 0:
            self.pick(chips[at].waits)
            self.left.emit()
        elif key == Qt.Key.Key_Escape:
            if self.chosen != ALL:
                self.pick(ALL)
            self.left.emit()
        elif key == Qt.Key.Key_Down:
            self.left.emit()
        else:
            super().keyPressEvent(event)
