"""What happened to a run: its numbered pieces, where it was fired, the work, and the moves."""

from dataclasses import dataclass
from datetime import date

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.words import FIRING_KINDS
from studiolog.desktop import theme
from studiolog.journal.run_page import RunPage
from studiolog.ui.parts.due import say_day
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.stage_bar import StageChip
from studiolog.ui.parts.text import Text, Words

_MOST_PIECES = 60
_MOST_LINES = 40


class RunLists(QWidget):
    """Filled anew with each page; ``opened`` carries a kind and an id."""

    opened = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setSpacing(24)

    def show_page(self, page: RunPage, today: date) -> None:
        """Show what happened to the run."""
        while (item := self._rows.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        self._rows.addWidget(self._pieces(page))
        if page.firings:
            self._rows.addWidget(self._firings(page, today))
        self._rows.addWidget(self._story(page, today))

    def _pieces(self, page: RunPage) -> Section:
        numbered = [piece for piece in page.pieces if piece.number is not None]
        counted = len(page.pieces) - len(numbered)
        section = Section("Pieces with a number", f"{counted} more are counted" if counted else "")
        section.body.setSpacing(4)
        if not numbered:
            words = "No piece of this run was singled out. The best and the worst teach most."
            section.add(Text(words, "secondary", tone="ink2", wrap=True))
        for piece in numbered[:_MOST_PIECES]:
            row = QHBoxLayout()
            row.setSpacing(12)
            mark = NumberMark("piece", piece.number, piece.piece_id)
            mark.opened.connect(self.opened)
            row.addWidget(mark)
            row.addWidget(StageChip(piece.stage, framed=False))
            row.addWidget(Words(piece.lost_why or piece.title or piece.kept_where, "secondary"), 1)
            if piece.stage in ("fired", "finished"):
                if piece.inspected:
                    row.addWidget(IconLabel("check", "celadon", 14))
                    row.addWidget(Text("inspected", "secondary", tone="celadon"))
                else:
                    row.addWidget(Text("– nobody has looked", "secondary", tone="ink3"))
            section.add(_held(row))
        if len(numbered) > _MOST_PIECES:
            more = len(numbered) - _MOST_PIECES
            section.add(Text(f"and {more} more, under Pieces", "secondary", tone="ink3"))
        return section

    def _firings(self, page: RunPage, today: date) -> Section:
        section = Section("Fired in")
        section.body.setSpacing(4)
        for firing in page.firings:
            row = QHBoxLayout()
            row.setSpacing(12)
            mark = NumberMark("firing", firing.number, firing.firing_id)
            mark.opened.connect(self.opened)
            kind = FIRING_KINDS.get(firing.kind, firing.kind).capitalize()
            words = f"{kind}, cone {firing.cone}" if firing.cone else kind
            row.addWidget(mark)
            row.addWidget(Words(words, weight=600))
            level = f", {', '.join(firing.levels)}" if firing.levels else ""
            pieces = f"{firing.pieces} piece{'' if firing.pieces == 1 else 's'}{level}"
            row.addWidget(Words(pieces, "secondary", tone="ink2"), 1)
            row.addWidget(Text(say_day(firing.started_at, today), "secondary", tone="ink2"))
            section.add(_held(row))
        return section

    def _story(self, page: RunPage, today: date) -> Section:
        section = Section("How they went")
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(4)
        grid.setColumnMinimumWidth(0, theme.current().px(96))
        grid.setColumnStretch(3, 1)
        lines = _tell_story(page)
        said = None
        for row, line in enumerate(lines[:_MOST_LINES]):
            if line.day != said:
                grid.addWidget(Text(say_day(line.day, today), "secondary", tone="ink2"), row, 0)
            said = line.day
            what: QWidget = (
                StageChip(line.stage, framed=False)
                if line.stage
                else Text(line.step.capitalize(), "secondary")
            )
            grid.addWidget(what, row, 1, Qt.AlignmentFlag.AlignLeft)
            pieces = f"{line.pieces} piece{'' if line.pieces == 1 else 's'}"
            grid.addWidget(Text(pieces, "secondary", tone="ink2"), row, 2)
            grid.addWidget(Words(line.note, "secondary", tone="ink2"), row, 3)
        section.add(grid)
        if len(lines) > _MOST_LINES:
            more = len(lines) - _MOST_LINES
            section.add(Text(f"and {more} earlier lines", "secondary", tone="ink3"))
        if not lines:
            section.add(Text("Nothing logged yet.", "secondary", tone="ink3"))
        return section


@dataclass(frozen=True)
class StoryLine:
    """So many pieces came to a stage, or were worked on, on a day."""

    day: date
    stage: str
    step: str
    pieces: int
    note: str


def _tell_story(page: RunPage) -> list[StoryLine]:
    """Work and moves as one story, the newest day first; pieces alike on a day in one line."""
    told: dict[tuple[date, str, str, str], int] = {}
    for move in page.moves:
        key = (move.at.date(), move.stage, "", move.note)
        told[key] = told.get(key, 0) + move.pieces
    for step in page.steps:
        key = (step.done_on, "", step.name, "")
        told[key] = told.get(key, 0) + step.pieces
    lines = [StoryLine(*key[:3], pieces, key[3]) for key, pieces in told.items()]
    return sorted(lines, key=lambda line: (-line.day.toordinal(), not line.step))


def _held(row: QHBoxLayout) -> QWidget:
    holder = QWidget()
    row.setContentsMargins(0, 0, 0, 0)
    holder.setLayout(row)
    return holder
