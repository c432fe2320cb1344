"""Beside the matrix: the smallest next test, what was never tried, what to read with care."""

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QLayout, QSizePolicy, QSpinBox, QVBoxLayout, QWidget

from studiolog.craft.units import THIN
from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.journal.findings_page import CellPage
from studiolog.journal.matrix import Matrix
from studiolog.journal.question import Question
from studiolog.journal.remarks import NextTest, Remark, plan_next_test
from studiolog.ui.findings.matrix_view import clay_of, looks_of
from studiolog.ui.findings.words import fault_word, say_column, say_row
from studiolog.ui.parts.drawing import Drawing
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import Section, link_button, primary_button
from studiolog.ui.parts.swatch import CombinationSwatch
from studiolog.ui.parts.text import Text, Words

_SHOWN = 4  # never-tried cells listed


class TestOutcomes(Drawing):
    """What the rate would come to: now, if none, some or all of the test pieces show the fault."""

    __test__ = False

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("What the test would show", parent)
        self._lines: list[tuple[str, int, int, float, float]] = []
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_test(self, test: NextTest, fault: str) -> None:
        """Draw a test of ``fault``."""
        now = test.now
        self._lines = []
        if now.trials:
            words = f"now, {now.events} of {now.trials}"
            self._lines.append((words, now.events, now.trials, now.low, now.high))
        last = len(test.outcomes) - 1
        for place, outcome in enumerate(test.outcomes):
            rate = outcome.rate
            if not outcome.seen:
                words = "if none shows it"
            elif place == last:
                words = f"if all {outcome.seen} show it"
            else:
                words = f"if {outcome.seen} show{'s' if outcome.seen == 1 else ''} it"
            self._lines.append((words, rate.events, rate.trials, rate.low, rate.high))
        self.tell()

    def sentence(self) -> str:
        return "; ".join(
            f"{words}: between {round(100 * low)} and {round(100 * high)} in 100"
            for words, _, _, low, high in self._lines
        )

    def sizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(320), look.px(20) + look.px(24) * len(self._lines))

    def minimumSizeHint(self) -> QSize:
        return QSize(theme.current().px(200), self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter = theme.current(), QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        left, right = look.px(118), self.width() - look.px(26)
        top, pitch = look.px(20), look.px(24)
        bottom = top + pitch * len(self._lines)
        painter.setFont(look.font(CAPTION))
        for share, words in ((0.0, "0"), (0.5, "50"), (1.0, f"100{THIN}%")):
            x = left + share * (right - left)
            painter.setPen(QPen(look.color("line"), 1))
            painter.drawLine(QPointF(x, top), QPointF(x, bottom))
            painter.setPen(look.color("ink3"))
            box = QRectF(x - 30, 0, 60, top - 2)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)
        for place, (words, seen, tried, low, high) in enumerate(self._lines):
            y = top + pitch * (place + 0.5)
            painter.setFont(look.font(SECONDARY))
            painter.setPen(look.color("ink"))
            align = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
            painter.drawText(QRectF(0, y - pitch / 2, left, pitch), align, words)
            few = tried < 5
            line = QPen(look.color("ink3" if few else "ink"), 1.75)
            line.setCapStyle(Qt.PenCapStyle.FlatCap)
            if few:
                line.setDashPattern([1, 2])
            painter.setPen(line)
            x1, x2 = (left + share * (right - left) for share in (low, high))
            painter.drawLine(QPointF(x1, y), QPointF(x2, y))
            if not few:
                for x in (x1, x2):
                    painter.drawLine(QPointF(x, y - 4.5), QPointF(x, y + 4.5))
            at = QPointF(left + seen / tried * (right - left), y)
            painter.setPen(QPen(look.color("ink3" if few else "rust"), 1.5))
            painter.setBrush(look.color("paper" if few else "rust"))
            painter.drawEllipse(at, 3.5, 3.5)
        self.paint_focus(painter)


class SideColumn(QWidget):
    """The right column. ``test_asked(row, column, pieces)`` wants a test logged for a cell;
    ``plan_asked(row, column)`` wants a test plan laid out for it; ``cell_asked(row, column)`` wants
    a cell shown."""

    test_asked = Signal(int, int, int)
    plan_asked = Signal(int, int)
    cell_asked = Signal(int, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._matrix: Matrix | None = None
        self._cell: tuple[int, int] | None = None
        self._question = Question()
        self._test: NextTest | None = None
        self.next = Section("Smallest next test", "to settle a cell")
        self.what = Words("", "body", 600)
        self.why = Words("", "secondary", tone="ink2")
        self.outcomes = TestOutcomes()
        self.start = primary_button("Start the test")
        self.start.clicked.connect(self.ask_test)
        self.pieces = QSpinBox()
        self.pieces.setRange(1, 200)
        self.pieces.setAccessibleName("Test pieces")
        self.pieces.setSuffix(" pieces")
        self.pieces.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        self.pieces.valueChanged.connect(self._resize_test)
        buttons = FlowLayout(spacing=8, line_spacing=8)
        buttons.addWidget(self.start)
        buttons.addWidget(self.pieces)
        self.plan = link_button("Lay out a test plan")
        self.plan.clicked.connect(self.ask_plan)
        buttons.addWidget(self.plan)
        for item in (self.what, self.why, self.outcomes, buttons):
            self.next.add(item)
        self.untried = Section("Never tried")
        self.care = Section("Read with care")
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(24)
        for section in (self.next, self.untried, self.care):
            rows.addWidget(section)
        rows.addStretch(1)
        self.setAccessibleName("Next test, never tried, read with care")

    def show_matrix(self, matrix: Matrix, question: Question) -> None:
        """List what was never tried."""
        self._matrix, self._question, self._cell = matrix, question, None
        self.next.hide()
        _empty(self.untried.body)
        never = matrix.never_tried()
        cells = len(matrix.rows) * sum(column.key is not None for column in matrix.columns)
        self.untried.set_quiet(f"{len(never)} of {cells} cells")
        self.untried.setVisible(bool(never))
        for row, column in never[:_SHOWN]:
            self.untried.add(self._untried_line(row, column))
        if len(never) > _SHOWN:
            self.untried.add(Text(f"and {len(never) - _SHOWN} more", "secondary", tone="ink3"))

    def show_cell(self, row: int, column: int, page: CellPage) -> None:
        """The smallest next test of a chosen cell, and what to read it with."""
        self._cell = (row, column)
        self.next.show()
        self._show_test(page.test)
        title = f"{say_row(page.row)} {say_column(page.column)}"
        wanted = page.test.pieces
        blocked = self.pieces.blockSignals(True)
        self.pieces.setValue(wanted or 6)
        self.pieces.blockSignals(blocked)
        if wanted:
            self.what.setText(f"{wanted} test pieces, {title}")
            self.why.setText(
                "All in one firing with a cone pack beside them, glazed alike and noted. Then "
                "the rate lies on one side of a half, whichever way they fall."
            )
        elif wanted == 0:
            self.what.setText(f"Settled: {title}")
            self.why.setText(self._say_settled(page.test))
        else:
            self.what.setText(f"No small test settles {title}")
            self.why.setText("The rate lies near a half: change something, then test that.")

    def show_remarks(self, remarks: Sequence[Remark]) -> None:
        """What to read the rates with."""
        _empty(self.care.body)
        self.care.setVisible(bool(remarks))
        for remark in remarks:
            self.care.add(_remark_line(remark))

    def ask_test(self) -> None:
        """Want the test of the chosen cell."""
        if self._cell is not None:
            self.test_asked.emit(*self._cell, self.pieces.value())

    def ask_plan(self) -> None:
        """Want a test plan of the glazes of the chosen cell."""
        if self._cell is not None:
            self.plan_asked.emit(*self._cell)

    def _say_settled(self, test: NextTest) -> str:
        clear = test.to_clear
        now = f"Somewhere between {round(100 * test.now.low)} and {round(100 * test.now.high)}"
        if self._question.asks_surface():
            return f"{now} in 100."
        if clear is None:
            return f"{now} in 100. No number of sound pieces clears it: change something first."
        if clear == 0:
            return f"{now} in 100: under one in ten."
        return f"{now} in 100. {clear} more, all sound, would show it to be under one in ten."

    def _resize_test(self, pieces: int) -> None:
        if self._test is not None:
            self._show_test(plan_next_test(self._test.now, pieces))

    def _show_test(self, test: NextTest) -> None:
        self._test = test
        fault = fault_word(self._question)
        self.outcomes.show_test(test, fault)
        self.outcomes.setVisible(bool(test.outcomes or test.now.trials))
        self.start.setText("Log the first of them" if test.pieces else "Log one more like it")
        self.start.setAccessibleName(self.start.text())

    def _untried_line(self, row: int, column: int) -> QWidget:
        assert self._matrix is not None
        head, cut = self._matrix.rows[row], self._matrix.columns[column]
        line = QWidget()
        across = QHBoxLayout(line)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(12)
        across.addWidget(CombinationSwatch(looks_of(head), clay_of(cut)))
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(Words(say_row(head), "secondary", 600))
        words.addWidget(Words(cut.title, "secondary", tone="ink2"))
        across.addLayout(words, 1)
        show = link_button("show")
        show.setAccessibleName(f"Show {say_row(head)} {say_column(cut)}")
        show.clicked.connect(partial(self.cell_asked.emit, row, column))
        across.addWidget(show)
        return line


def _remark_line(remark: Remark) -> QWidget:
    line = QWidget()
    across = QHBoxLayout(line)
    across.setContentsMargins(0, 0, 0, 4)
    across.setSpacing(12)
    across.addWidget(IconLabel(remark.sign, "ink2", 18), 0, Qt.AlignmentFlag.AlignTop)
    words = QVBoxLayout()
    words.setSpacing(0)
    words.addWidget(Words(remark.sentence, "secondary", 600))
    words.addWidget(Words(remark.rests_on, "secondary", tone="ink2"))
    across.addLayout(words, 1)
    line.setAccessibleName(f"{remark.sentence}: {remark.rests_on}")
    return line


def _empty(layout: QLayout) -> None:
    while (item := layout.takeAt(0)) is not None:
        old = item.widget()
        if old is not None:
            old.hide()
            old.deleteLater()
