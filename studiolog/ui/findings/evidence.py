"""What a cell rests on: its pieces by cone, and their pictures."""

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.pictures import Pictures
from studiolog.desktop.tokens import CAPTION
from studiolog.journal.findings_page import CellPage
from studiolog.journal.question import Question, say_asked
from studiolog.ui.findings.piece_grid import PieceGrid
from studiolog.ui.findings.piece_source import PieceSource
from studiolog.ui.findings.words import fault_word, say_column, say_pieces, say_row
from studiolog.ui.parts.rate_bar import describe_rate
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Words
from studiolog.ui.plots.dot_strip import DotStrip, InspectedPiece

_STRIP_WIDE = 248


class _Legend(QWidget):
    """A rust square: the fault; a celadon ring: looked for, none seen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFixedHeight(theme.current().px(18))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Square: fault seen. Ring: looked for, none seen.")
        self._surface = ""
        theme.current().changed.connect(self.update)

    def speak_of(self, question: Question) -> None:
        """Say what the marks mean for this question."""
        self._surface = say_asked(question) if question.asks_surface() else ""
        seen, none = self._words()
        self.setAccessibleName(f"Square: {seen}. Ring: {none}.")
        self.update()

    def _words(self) -> tuple[str, str]:
        if self._surface:
            return self._surface, "described otherwise"
        return "seen", "looked for, none seen"

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter = theme.current(), QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = self.height() / 2
        seen, none = self._words()
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.color("ink" if self._surface else "rust"))
        painter.drawRect(QRectF(1, middle - 4, 8, 8))
        painter.setFont(look.font(CAPTION))
        left = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        painter.setPen(look.color("ink3"))
        measures = painter.fontMetrics()
        room = self.width() - 45 - measures.horizontalAdvance(none)
        seen = measures.elidedText(seen, Qt.TextElideMode.ElideRight, max(room, 40))
        wide = measures.horizontalAdvance(seen)
        painter.drawText(QRectF(15, 0, wide + 4, self.height()), left, seen)
        at = 15 + wide + 16
        painter.drawText(QRectF(at + 14, 0, self.width(), self.height()), left, none)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(look.color("ink3" if self._surface else "celadon"), 1.5))
        painter.drawEllipse(QRectF(at, middle - 3.5, 7.5, 7.5))


class Evidence(QWidget):
    """One cell's pieces. ``opened`` carries a piece id, ``all_asked`` wants them all."""

    opened = Signal(int)
    all_asked = Signal()

    def __init__(
        self, source: PieceSource, pictures: Pictures, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._source = source
        self.section = Section("Evidence")
        self.section.link_opened.connect(self.all_asked)
        self._said = Words("", "secondary", tone="ink2")
        self.dots = DotStrip()
        self.dots.setFixedWidth(theme.current().px(_STRIP_WIDE))
        self.grid = PieceGrid(source, pictures, strip=True)
        self.grid.opened.connect(self.opened)
        self._no_cone = Caption("", wrap=True)
        by_cone = QVBoxLayout()
        by_cone.setSpacing(2)
        by_cone.addWidget(Caption("by the cone at its level"))
        by_cone.addWidget(self.dots)
        self._legend = _Legend()
        by_cone.addWidget(self._legend)
        by_cone.addWidget(self._no_cone)
        by_cone.addStretch(1)
        row = QHBoxLayout()
        row.setSpacing(16)
        row.addLayout(by_cone)
        self._in_view = Caption()
        pictures_of_them = QVBoxLayout()
        pictures_of_them.setSpacing(2)
        pictures_of_them.addWidget(self.grid)
        pictures_of_them.addWidget(self._in_view)
        pictures_of_them.addStretch(1)
        row.addLayout(pictures_of_them, 1)
        bar = self.grid.horizontalScrollBar()
        bar.valueChanged.connect(self._say_in_view)
        bar.rangeChanged.connect(self._say_in_view)
        self.section.add(self._said)
        self.section.add(row)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.addWidget(self.section)

    def show_cell(self, question: Question, page: CellPage) -> None:
        """Show what one cell rests on."""
        self.section.set_title(f"{say_row(page.row)} {say_column(page.column)}")
        rate = page.test.now
        if rate.trials:
            looked = "described" if question.asks_surface() else "inspected"
            said = f"{say_pieces(rate.trials)} {looked}, {fault_word(question)} " + describe_rate(
                rate.events, rate.trials, rate.low, rate.high
            )
        elif page.not_looked:
            said = (
                "Nobody has described the surface here yet."
                if question.asks_surface()
                else f"Nobody has looked for {fault_word(question)} here yet."
            )
        else:
            said = "Never tried."
        if rate.trials and page.not_looked:
            verb = "described it" if question.asks_surface() else "looked"
            said += f". {say_pieces(len(page.not_looked))} more, where nobody {verb}"
        self._said.setText(said)
        everything = page.all_hits
        self.section.set_link(f"Open all {len(everything)}" if everything else "")
        placed = [hit for hit in page.hits if hit.cone is not None]
        self.dots.show_pieces(
            [InspectedPiece(hit.cone, hit.seen) for hit in placed if hit.cone is not None],
            say_asked(question) if question.asks_surface() else "",
        )
        self._legend.speak_of(question)
        unplaced = len(page.hits) - len(placed)
        self._no_cone.setText(f"no cone known for {unplaced} more" if unplaced else "")
        self._no_cone.setVisible(bool(unplaced))
        self._source.show_hits(everything)
        self.grid.setVisible(bool(everything))
        self.grid.show_again()
        self._say_in_view()

    def _say_in_view(self) -> None:
        """Which of the pictures the strip shows, where it does not show them all."""
        first, last, count = self.grid.shown_places()
        all_seen = last - first + 1 >= count
        self._in_view.setText("" if all_seen else f"{first + 1} to {last + 1} of {count}")
        self._in_view.setVisible(self.grid.isVisibleTo(self) and not all_seen)
