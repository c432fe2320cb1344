"""Where a piece came from and what came of it: pictures with their marks, joined by arrows."""

from PySide6.QtCore import QPointF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.journal.piece_lines import PieceLink, RunLink
from studiolog.journal.piece_page import PiecePage
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.half_section import HalfSection
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Caption, Section, Text
from studiolog.ui.pieces.looks import Thumbnail, shape_of_form
from studiolog.ui.pieces.page_edits import PageEdits, clear, keeping_focus

_SIDE = 48


class _Arrow(QWidget):
    """From what led here to what followed."""

    def __init__(self) -> None:
        super().__init__()
        look = theme.current()
        self.setFixedSize(QSize(look.px(18), look.px(76)))
        theme.current().changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(theme.current().color("ink2"), 1.25))
        y = theme.current().px(_SIDE) / 2 + 1
        painter.drawLine(QPointF(2, y), QPointF(16, y))
        painter.drawLine(QPointF(16, y), QPointF(12, y - 4))
        painter.drawLine(QPointF(16, y), QPointF(12, y + 4))


class _Stop(QWidget):
    """One piece or run on the way: picture, mark, a few words."""

    def __init__(self, picture: QWidget, mark: NumberMark, words: str) -> None:
        super().__init__()
        top = QHBoxLayout()
        top.setSpacing(2)
        top.addWidget(picture)
        top.addWidget(mark, 0, Qt.AlignmentFlag.AlignTop)
        top.addStretch(1)
        said = Caption(words if len(words) <= 18 else f"{words[:17]}…", "ink2")
        said.setToolTip(words)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(6)
        rows.addLayout(top)
        rows.addWidget(said)
        self.setFixedHeight(theme.current().px(76))


class StorySection(Section):
    """The chain of pieces that led here, this one, and the pieces and runs that followed."""

    relate_asked = Signal()

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__("Where it came from", link="Say what led here", parent=parent)
        self._edits = edits
        self._shown: object = None
        self._way = QWidget()
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self._way.setSizePolicy(policy)
        self._flow = FlowLayout(self._way, spacing=2, line_spacing=10)
        self._none = Text(
            "No earlier piece led to this one, and nothing has come of it yet.",
            "body",
            tone="ink3",
            wrap=True,
        )
        self.add(self._way)
        self.add(self._none)
        self.link_opened.connect(self.relate_asked)

    def show_page(self, page: PiecePage) -> None:
        """Show the way of a piece."""
        told = (page.piece_id, page.came_from, page.became_pieces, page.became_runs, page.after)
        if told == self._shown:
            return
        self._shown = told
        alone = not (page.came_from or page.became_pieces or page.became_runs)
        self._way.setVisible(not alone)
        self._none.setVisible(alone)
        self.set_quiet("" if alone else "tests that led here, what followed")
        self.set_link("Say what led here" if not page.came_from else "")
        with keeping_focus(self):
            clear(self._flow)
            if not alone:
                self._lay_out(page)

    def _lay_out(self, page: PiecePage) -> None:
        for link in page.came_from:
            self._flow.addWidget(self._piece(link))
            self._flow.addWidget(_Arrow())
        shown = page.after or page.before
        own = Thumbnail(
            self._edits.desk,
            shown.sha256 if shown else None,
            shown.suffix if shown else "",
            f"This piece, {page.name}",
            _SIDE,
            shape_of_form(page.form),
            framed=True,
        )
        self._flow.addWidget(_Stop(own, NumberMark("piece", page.number), "this piece"))
        for link in page.became_pieces:
            self._flow.addWidget(_Arrow())
            self._flow.addWidget(self._piece(link))
        for run in page.became_runs:
            self._flow.addWidget(_Arrow())
            self._flow.addWidget(self._run(run, page))

    def _piece(self, link: PieceLink) -> QWidget:
        picture = Thumbnail(self._edits.desk, link.sha256, link.suffix, link.name, _SIDE)
        mark = NumberMark("piece", link.number, link.piece_id)
        mark.setObjectName(f"story_piece_{link.piece_id}")
        mark.opened.connect(self._edits.desk.show)
        return _Stop(picture, mark, link.said or link.name)

    def _run(self, run: RunLink, page: PiecePage) -> QWidget:
        picture = HalfSection(run.name, shape_of_form(page.form))
        side = theme.current().px(_SIDE)
        picture.setFixedSize(side, side)
        mark = NumberMark("run", run.number, run.run_id)
        mark.setObjectName(f"story_run_{run.run_id}")
        mark.opened.connect(self._edits.desk.show)
        return _Stop(picture, mark, f"{run.name}, {run.pieces}")
