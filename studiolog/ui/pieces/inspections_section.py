"""Faults by inspections, over time: none seen is never drawn like not looked."""

from functools import partial

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from studiolog.craft.words import FAULTS
from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION, RADIUS_CHIP
from studiolog.journal.piece_lines import FaultRow, InspectionLine
from studiolog.journal.piece_page import PiecePage
from studiolog.journal.surfaces import say_surfaces
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import Caption, Hairline, Section, Text, link_button
from studiolog.ui.parts.severity import SEVERITY_TONES, SEVERITY_WORDS, paint_severity
from studiolog.ui.pieces.inspection_editor import InspectionEditor
from studiolog.ui.pieces.looks import after_words, short_day
from studiolog.ui.pieces.page_edits import PageEdits, clear, keeping_focus

_SHOWN = 3


class SeverityCell(QWidget):
    """A sign above its word; seen faults stand on their wash."""

    def __init__(self, severity: int | None, says: str) -> None:
        super().__init__()
        self._severity = severity
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(f"{says}: {SEVERITY_WORDS[severity]}")
        self.setToolTip(self.accessibleName())
        theme.current().changed.connect(self.update)

    def sizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(64), look.px(38))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        look = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect())
        if self._severity:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(look.color("rustwash"))
            painter.drawRoundedRect(box.adjusted(1, 1, -1, -1), RADIUS_CHIP, RADIUS_CHIP)
        middle = box.center().y()
        sign = QRectF(box.left(), middle - look.px(16), box.width(), look.px(16))
        paint_severity(painter, sign, self._severity)
        painter.setPen(look.color(SEVERITY_TONES[self._severity]))
        painter.setFont(look.font(CAPTION))
        words = QRectF(box.left(), middle + 1, box.width(), look.px(16))
        painter.drawText(words, Qt.AlignmentFlag.AlignCenter, SEVERITY_WORDS[self._severity])


class InspectionsSection(Section):
    """The matrix; *Inspect again* opens the rows beneath it, a date opens that inspection."""

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__("Inspections", link="Inspect again", parent=parent)
        self._edits = edits
        self._first = 0
        self._shown: object = None
        self._matrix = QWidget()
        self._grid = QGridLayout(self._matrix)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(4)
        self._grid.setVerticalSpacing(0)
        self._notes = QVBoxLayout()
        self._notes.setSpacing(2)
        self.earlier = link_button("Earlier")
        self.later = link_button("Later")
        self.earlier.clicked.connect(lambda: self._turn(-1))
        self.later.clicked.connect(lambda: self._turn(+1))
        self._turns = QWidget()
        row = QHBoxLayout(self._turns)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        self._count = Caption("")
        row.addWidget(self._count)
        row.addStretch(1)
        row.addWidget(self.earlier)
        row.addWidget(self.later)
        self._none = Text("", "body", tone="ink3", wrap=True)
        self.editor = InspectionEditor(edits)
        self.editor.hide()
        self.editor.closed.connect(self.close_editor)
        self.link_opened.connect(self.inspect_again)
        self.link.setToolTip("I")
        for item in (self._none, self._matrix, self._turns):
            self.add(item)
        self.add(self._notes)
        self.add(self.editor)

    def show_page(self, page: PiecePage, anew: bool) -> None:
        """Show the inspections; one being filled in stays unless another piece is shown."""
        if anew:
            self.editor.hide()
        if page.inspections == self._shown and not anew:
            return
        self._shown = page.inspections
        self._first = max(0, len(page.inspections) - _SHOWN)
        self._lay_out(page)

    def inspect_again(self) -> None:
        """Begin a new inspection."""
        self.editor.show()
        self.editor.open(None)

    def change(self, line: InspectionLine) -> None:
        """Change an inspection that was made."""
        self.editor.show()
        self.editor.open(line)

    def close_editor(self) -> None:
        """Leave the rows; the matrix stands."""
        self.editor.hide()
        self.link.setFocus(Qt.FocusReason.OtherFocusReason)

    def _turn(self, way: int) -> None:
        page = self._edits.page
        if page is None:
            return
        last = max(0, len(page.inspections) - _SHOWN)
        self._first = min(max(self._first + way, 0), last)
        self._lay_out(page)

    def _lay_out(self, page: PiecePage) -> None:
        with keeping_focus(self):
            clear(self._grid)
            clear(self._notes)
            count = len(page.inspections)
            self._none.setVisible(not count)
            self._none.setText(
                "Not looked at yet. Inspect it fresh from the kiln, then again after some weeks: "
                "crazing may come late."
                if page.stage in ("fired", "finished")
                else "Not looked at yet."
            )
            self.set_link("Inspect again" if count else "Inspect")
            self._matrix.setVisible(bool(count))
            self._turns.setVisible(count > _SHOWN)
            last = min(self._first + _SHOWN, count)
            self._count.setText(f"{self._first + 1} to {last} of {count}")
            self.earlier.setEnabled(self._first > 0)
            self.later.setEnabled(last < count)
            shown = page.inspections[self._first : last]
            for column, line in enumerate(shown, start=2):
                self._grid.addWidget(
                    self._date_head(line, count > 1), 0, column, Qt.AlignmentFlag.AlignHCenter
                )
            for place, fault in enumerate(page.fault_rows):
                self._put_fault(fault, shown, 1 + 2 * place)
            self._grid.setColumnStretch(1, 1)
            for line in shown:
                self._put_note(line)

    def _date_head(self, line: InspectionLine, several: bool) -> QWidget:
        head = QWidget()
        day = link_button(short_day(line.looked_on))
        day.setObjectName(f"inspection_{line.inspection_id}")
        day.setAccessibleName(f"Change the inspection of {short_day(line.looked_on)}")
        day.setToolTip("Change or delete this inspection")
        day.clicked.connect(partial(_call, self.change, line))
        rows = QVBoxLayout(head)
        rows.setContentsMargins(0, 0, 0, 4)
        rows.setSpacing(0)
        rows.addWidget(day, 0, Qt.AlignmentFlag.AlignHCenter)
        words = after_words(line.days_after_firing)
        if line.stress_tested:
            words = "stress test"
        rows.addWidget(Caption(words), 0, Qt.AlignmentFlag.AlignHCenter)
        return head

    def _put_fault(self, fault: FaultRow, shown: tuple[InspectionLine, ...], row: int) -> None:
        columns = len(shown)
        self._grid.addWidget(Hairline(), row, 0, 1, columns + 2)
        name = FAULTS[fault.fault].capitalize()
        self._grid.addWidget(IconLabel(fault.fault, "ink", 16), row + 1, 0)
        words = QWidget()
        lines = QVBoxLayout(words)
        lines.setContentsMargins(2, 4, 0, 4)
        lines.setSpacing(0)
        lines.addWidget(Text(name, "body", 600))
        if fault.where:
            lines.addWidget(Text(fault.where, "caption", tone="ink2", wrap=True))
        self._grid.addWidget(words, row + 1, 1)
        severities = fault.severities[self._first : self._first + columns]
        for column, (line, severity) in enumerate(zip(shown, severities, strict=True), start=2):
            says = f"{name}, {short_day(line.looked_on)}"
            self._grid.addWidget(SeverityCell(severity, says), row + 1, column)

    def _put_note(self, line: InspectionLine) -> None:
        if line.surfaces:
            said = f"{short_day(line.looked_on)}, surface: {say_surfaces(line.surfaces)}"
            self._notes.addWidget(Text(said, "secondary", tone="ink2", wrap=True))
        if line.note:
            self._notes.addWidget(
                Text(
                    f"{short_day(line.looked_on)}: {line.note}", "secondary", tone="ink2", wrap=True
                )
            )


def _call(do: object, line: InspectionLine, _checked: bool = False) -> None:
    do(line)  # type: ignore[operator]
