"""What happened to a run: its numbered pieces, where it was fired, the work, and the moves."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.words import FIRING_KINDS
from studiolog.desktop import theme
from studiolog.journal.run_page import RunPage
from studiolog.journal.waiting_for import is_making
from studiolog.ui.bench.row_words import zones_words
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
        if page.sums:
            self._rows.addWidget(_work_section(page))
        if page.row.losses:
            self._rows.addWidget(_losses_section(page))
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


def _work_section(page: RunPage) -> Section:
    """Every step with how many pieces have it and the time it took, apart from the stages."""
    timed = sum(one.minutes + one.rework_minutes for one in page.sums)
    section = Section("Work done", f"{show_minutes(timed)} logged" if timed else "")
    grid = _grid(("Step", "Pieces", "Minutes for one", "The form says"))
    made = page.row.made
    for row, one in enumerate(page.sums, 1):
        name = f"{one.zone} {one.name}".strip()
        done = f"{one.pieces} of {made}" if one.pieces <= made else str(one.pieces)
        if not one.pieces and is_making(one.name):
            done = "not logged"  # where there is a piece, somebody made it
        again = f", {one.rework} done over" if one.rework else ""
        each = f"{one.each:.3g}" if one.each is not None else "–"
        if one.each is not None and one.timed < one.pieces:
            each = f"{each}, of {one.timed} timed"
        said = "–" if one.planned is None else f"{one.planned:.3g}"
        tone = "ink" if one.pieces or one.rework else "ink3"
        for column, words in enumerate((name.capitalize(), f"{done}{again}", each, said)):
            grid.addWidget(Text(words, "secondary", tone=tone), row, column)
    section.add(grid)
    if page.work is not None:
        zones = zones_words(page.work)
        if zones:
            section.add(Text("Glaze: " + "; ".join(zones), "secondary", tone="ink2", wrap=True))
    return section


def _losses_section(page: RunPage) -> Section:
    """What was lost, by stage and cause. It is counted for good: the record teaches."""
    total = sum(lot.pieces for lot in page.row.losses)
    section = Section("Lost", f"{total} of {page.row.made}")
    grid = _grid(())
    for row, lot in enumerate(page.row.losses):
        at: QWidget = (
            StageChip(lot.stage, framed=False)
            if lot.stage
            else Text("at no known stage", "secondary", tone="ink3")
        )
        grid.addWidget(Text(str(lot.pieces), "secondary", 600, "rust"), row, 0)
        grid.addWidget(at, row, 1)
        grid.addWidget(Words(lot.why or "not said why", "secondary"), row, 2)
    grid.setColumnStretch(2, 1)
    section.add(grid)
    return section


def _grid(heads: Sequence[str]) -> QGridLayout:
    grid = QGridLayout()
    grid.setHorizontalSpacing(20)
    grid.setVerticalSpacing(4)
    for column, head in enumerate(heads):
        grid.addWidget(Text(head, "caption", tone="ink3"), 0, column)
    if heads:
        grid.setColumnStretch(len(heads) - 1, 1)
    return grid


def show_minutes(minutes: float) -> str:
    """So much work: ``40 min``, ``3 h 20 min``."""
    whole = round(minutes)
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{whole}\u202fmin"
    return f"{hours}\u202fh {rest}\u202fmin" if rest else f"{hours}\u202fh"


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
        done = f"{step.zone} {step.name}".strip()
        key = (step.done_on, "", f"{done} again" if step.rework else done, "")
        told[key] = told.get(key, 0) + step.pieces
    lines = [StoryLine(*key[:3], pieces, key[3]) for key, pieces in told.items()]
    return sorted(lines, key=lambda line: (-line.day.toordinal(), not line.step))


def _held(row: QHBoxLayout) -> QWidget:
    holder = QWidget()
    row.setContentsMargins(0, 0, 0, 0)
    holder.setLayout(row)
    return holder
