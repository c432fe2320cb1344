"""The bench line: typed as it is said, shown as it is read, done with Enter."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLineEdit,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.tokens import RADIUS_CHIP, SECONDARY
from studiolog.journal.bench_actions import Loss, Reading, RunWords, StepDone
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import KeyCap
from studiolog.ui.parts.stage_bar import StageChip
from studiolog.ui.parts.text import Text

if TYPE_CHECKING:
    # The line stands before a glaze is known.
    from studiolog.journal.layer_words import GlazeName

LEGEND = ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired", "lost")


class Chip(QWidget):
    """A few words on a wash."""

    def __init__(
        self, words: str, tone: str = "ink2", wash: str = "sunk", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._words, self._tone, self._wash = words, tone, wash
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(words)

    def sizeHint(self) -> QSize:
        look = theme.current()
        wide = QFontMetricsF(look.font(SECONDARY, 500)).horizontalAdvance(self._words)
        return QSize(round(wide) + 18, look.px(24))

    def paintEvent(self, event: QPaintEvent) -> None:
        look = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.color(self._wash))
        painter.drawRoundedRect(QRectF(self.rect()), RADIUS_CHIP, RADIUS_CHIP)
        painter.setPen(look.color(self._tone))
        painter.setFont(look.font(SECONDARY, 500))
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, self._words)
        painter.end()


class _TypedLine(QLineEdit):
    """The line; words that were not read are underlined in rust."""

    given_up = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.unread: Sequence[tuple[int, int]] = ()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.given_up.emit()
            return
        super().keyPressEvent(event)
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.accept()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self.unread:
            return
        metrics = QFontMetricsF(self.font())
        text = self.text()
        # Where the text starts is known only from the cursor, since the line scrolls.
        cursor = self.cursorRect()
        start = cursor.center().x() - metrics.horizontalAdvance(text[: self.cursorPosition()])
        y = self.height() / 2 + metrics.ascent() / 2 + 4
        painter = QPainter(self)
        painter.setPen(QPen(theme.current().color("rust"), 2))
        for first, last in self.unread:
            left = start + metrics.horizontalAdvance(text[:first])
            right = start + metrics.horizontalAdvance(text[:last])
            painter.drawLine(QPointF(left, y), QPointF(right, y))
        painter.end()


class BenchLine(QWidget):
    """``entered`` carries a reading that can be done; ``run_asked`` the id of a run typed alone.

    Under the line stand the stages as a legend, or how the line is read while one is typed.
    """

    entered = Signal(object)
    run_asked = Signal(int)
    given_up = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._runs: list[RunWords] = []
        self._glazes: Sequence[GlazeName] | None = None
        self.reading = Reading("")
        self._legend = True
        self.line = _TypedLine()
        self.line.setAccessibleName("Say what was done at the bench")
        self.line.setPlaceholderText(
            "Say what was done: 63: 5 trimmed, another split · 63 6 to bisque · 63 wrapped"
        )
        self.line.setTextMargins(28, 0, 0, 0)
        pencil = IconLabel("pencil", "cobalt", 16, parent=self.line)
        pencil.move(12, 9)
        self.setFocusProxy(self.line)
        legend = QWidget()
        stages = QHBoxLayout(legend)
        stages.setContentsMargins(0, 0, 0, 0)
        stages.setSpacing(16)
        for stage in LEGEND:
            stages.addWidget(StageChip(stage, framed=False))
        stages.addStretch(1)
        self._said = QWidget()
        self._chips = FlowLayout(self._said, 8, 4)
        self.under = QStackedWidget()
        self.under.addWidget(legend)
        self.under.addWidget(self._said)
        self.under.setFixedHeight(theme.current().px(30))
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        rows.addWidget(self.line)
        rows.addWidget(self.under)
        self.line.textChanged.connect(lambda _text: self.read())
        self.line.returnPressed.connect(self.enter)
        self.line.given_up.connect(self._give_up)
        theme.current().changed.connect(self._rescale)

    def _rescale(self) -> None:
        self._fit()

    def set_legend(self, shown: bool) -> None:
        """Whether the stages stand under the line while nothing is typed."""
        self._legend = shown
        self._fit()

    def _fit(self) -> None:
        """As high as what is said, where that runs on to a second line."""
        high = theme.current().px(30)
        if self.under.currentIndex() == 1:
            high = max(high, self._chips.heightForWidth(self.under.width()))
        self.under.setFixedHeight(high)
        self.under.setVisible(self._legend or self.under.currentIndex() == 1)

    def set_runs(self, runs: list[RunWords]) -> None:
        """The runs a line can name."""
        self._runs = runs
        self.read()

    def set_glazes(self, glazes: "Sequence[GlazeName]") -> None:
        """The glazes a line can name."""
        self._glazes = glazes
        self.read()

    def begin(self, text: str) -> None:
        """Start a line, to be gone on with by hand."""
        # Any other reason would have Qt select all of it, and the next letter replace it.
        self.line.setFocus(Qt.FocusReason.OtherFocusReason)
        self.line.setText(text)

    def when(self, now: datetime | None = None) -> datetime:
        """The time the line speaks of."""
        at = (now or datetime.now()).replace(second=0, microsecond=0)
        return at - timedelta(days=self.reading.days_back)

    def read(self) -> None:
        """Read the line and show how it is read."""
        self.reading = self._read_text(self.line.text())
        self.line.unread = [(word.start, word.end) for word in self.reading.unread]
        self.line.update()
        typed = bool(self.line.text().strip())
        self.under.setCurrentIndex(1 if typed else 0)
        self._chips.clear()
        self.under.setVisible(typed or self._legend)
        if typed:
            self._show_reading(self.reading)
        else:
            self._fit()

    def _read_text(self, text: str) -> Reading:
        if not text.strip():
            return Reading(text)
        from studiolog.journal.bench_words import read_bench_line

        return read_bench_line(text, self._runs, self._glazes)

    def enter(self) -> None:
        """Do what the line says, or say why not."""
        if self.reading.ready:
            self.entered.emit(self.reading)
        elif self.reading.run_id and not (
            self.reading.actions or self.reading.unread or self.reading.problems
        ):
            self.run_asked.emit(self.reading.run_id)

    def _show_reading(self, reading: Reading) -> None:
        shown: list[QWidget] = [Text("reads as", "secondary", tone="ink3")]
        if reading.run_number is not None:
            shown.append(NumberMark("run", reading.run_number))
        for action in reading.actions:
            lost = isinstance(action, Loss)
            shown.append(
                Chip(
                    action.words,
                    "rust" if lost else "cobalt",
                    "rustwash" if lost else "cobaltwash",
                )
            )
            if isinstance(action, StepDone) and action.then_glazed:
                shown.append(Chip(f"{action.then_glazed} glazed all over, to glazed", "cobalt"))
        for word in reading.unread:
            shown.append(Chip(f"not understood: {word.words}", "rust", "sunk"))
        if reading.problems:
            shown.append(IconLabel("warning", "rust", 16))
            shown.append(Text(reading.problems[0], "secondary", tone="rust"))
        elif reading.ready:
            day = "yesterday" if reading.days_back else "today"
            shown.append(Chip(f"{day} {self.when():%H:%M}"))
            shown.append(KeyCap("Enter"))
            if reading.leaves:
                shown.append(Text("; ".join(reading.leaves), "secondary", tone="ink2"))
        elif reading.run_id and not reading.actions and not reading.unread:
            shown.append(Text("Enter opens the run", "secondary", tone="ink3"))
        for widget in shown:
            self._chips.addWidget(widget)
            widget.show()
        self._fit()
        said = [a.words for a in reading.actions]
        said += [f"not understood: {word.words}" for word in reading.unread]
        self.line.setAccessibleDescription(
            "Reads as " + ", ".join([*said, *reading.problems, *reading.leaves])
            if said or reading.problems
            else ""
        )

    def _give_up(self) -> None:
        self.line.clear()
        self.given_up.emit()
