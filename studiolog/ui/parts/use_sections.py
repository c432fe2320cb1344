"""Where a thing is used: pieces and runs as marks, firings as lines; a page at a time."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QWidget

from studiolog.craft.firing.cones import label_reached, label_reached_between, show_cone
from studiolog.craft.units import show_temperature
from studiolog.craft.words import FIRING_KINDS
from studiolog.desktop import theme
from studiolog.journal.uses import PAGE, FiringUses, PieceUses, UsedFiring
from studiolog.ui.parts.fault_rate_sections import clear_layout, pieces_words
from studiolog.ui.parts.fields import write_day
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text, Words

_CLOSE_FROM = 150  # per cent of text
_TONES = {"read": "cobalt", "computed": "rust"}


class _Paged(Section):
    """A section that shows one page of many; ``page_asked`` carries where the next one starts."""

    page_asked = Signal(int)
    opened = Signal(str, int)

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(title, parent=parent)
        self.newer = QPushButton("Newer")
        self.older = QPushButton("Older")
        self.where = Caption()
        self._start = 0
        self.newer.clicked.connect(lambda: self.page_asked.emit(max(0, self._start - PAGE)))
        self.older.clicked.connect(lambda: self.page_asked.emit(self._start + PAGE))
        self._turn = QWidget()
        row = QHBoxLayout(self._turn)
        row.setContentsMargins(0, 4, 0, 0)
        row.setSpacing(8)
        for widget in (self.newer, self.older, self.where):
            row.addWidget(widget)
        row.addStretch(1)
        for button in (self.newer, self.older):
            button.setAccessibleName(f"{button.text()} {title.lower()}")

    def _show_turn(self, start: int, shown: int, total: int) -> None:
        self._start = start
        self._turn.setVisible(total > PAGE)
        self.newer.setEnabled(start > 0)
        self.older.setEnabled(start + shown < total)
        self.where.setText(f"{start + 1} to {start + shown} of {total}" if shown else "")


class PieceUseSection(_Paged):
    """Numbered pieces as square stamps, newest first; counted pieces under the tag of their run."""

    def __init__(self, title: str = "Pieces", parent: QWidget | None = None) -> None:
        super().__init__(title, parent)
        self._nothing = Text("", "secondary", tone="ink2", wrap=True)
        marks, runs = QWidget(), QWidget()
        self._marks = FlowLayout(marks, spacing=4, line_spacing=4)
        self._runs = FlowLayout(runs, spacing=12, line_spacing=4)
        for widget in (self._nothing, marks, self._turn, runs):
            self.add(widget)
        self._holders = (marks, runs)
        self._shown: tuple[PieceUses, str] | None = None

    def show_uses(self, uses: PieceUses, nothing: str) -> None:
        """Show what uses it; the same as before is left standing, for laying it out is slow."""
        if (uses, nothing) == self._shown:
            return
        self._shown = (uses, nothing)
        self.set_quiet(pieces_words(uses.total) if uses.total else "none yet")
        self._nothing.setText(nothing)
        self._nothing.setVisible(not uses.total)
        self._marks.clear()
        self._runs.clear()
        for piece in uses.numbered:
            mark = NumberMark("piece", piece.number, piece.piece_id)
            if piece.title:
                mark.setToolTip(f"Open piece {piece.number}, {piece.title}")
            mark.opened.connect(self.opened)
            self._marks.addWidget(mark)
        for run in uses.runs:
            holder = QWidget()
            row = QHBoxLayout(holder)
            row.setContentsMargins(0, 0, 0, 0)
            row.setSpacing(4)
            mark = NumberMark("run", run.number, run.run_id)
            mark.opened.connect(self.opened)
            row.addWidget(mark)
            named = f", {run.title}" if run.title else ""
            row.addWidget(Words(f"{run.pieces} counted{named}", "secondary", tone="ink2"), 1)
            self._runs.addWidget(holder)
        left_out = uses.total_runs - len(uses.runs)
        if left_out > 0:
            self._runs.addWidget(Caption(f"and {left_out} earlier runs"))
        self._holders[0].setVisible(bool(uses.numbered))
        self._holders[1].setVisible(bool(uses.runs))
        self._show_turn(uses.start, len(uses.numbered), uses.total_numbered)


class FiringUseSection(_Paged):
    """Firings as round marks with their day, what was aimed at and what the log amounts to."""

    def __init__(
        self, title: str = "Firings", kiln: bool = True, parent: QWidget | None = None
    ) -> None:
        """``kiln`` False leaves its column out, where all were fired in the same."""
        super().__init__(title, parent)
        self._kiln = kiln
        # With large text there is no room for a column each.
        self._close = theme.current().text_scale >= _CLOSE_FROM
        self._heads = ("Fired",) if self._close else ("Kiln", "Aimed", "Peak")[not kiln :]
        holder = QWidget()
        self._grid = QGridLayout(holder)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(16)
        self._grid.setVerticalSpacing(2)
        self.add(holder)
        self.add(self._turn)

    def show_uses(self, uses: FiringUses, unit: str, nothing: str) -> None:
        self.set_quiet("1 firing" if uses.total == 1 else f"{uses.total} firings")
        clear_layout(self._grid)
        if not uses.firings:
            self._grid.addWidget(Text(nothing, "secondary", tone="ink2", wrap=True), 0, 0, 1, -1)
        else:
            heads = ("Day", *self._heads, "Cone it got")
            for place, head in enumerate(heads, start=1):
                self._grid.addWidget(Caption(head), 0, place)
        for row, firing in enumerate(uses.firings, start=1):
            mark = NumberMark("firing", firing.number, firing.firing_id)
            mark.opened.connect(self.opened)
            aimed = FIRING_KINDS[firing.kind]
            if firing.cone:
                aimed += f", cone {show_cone(firing.cone)}"
            peak = show_temperature(firing.peak_c, unit) if firing.peak_c is not None else "no log"
            told = [firing.kiln, aimed, peak] if self._kiln else [aimed, peak]
            if self._close:
                told = [", ".join(told)]
            said: list[QWidget] = [
                mark,
                Text(write_day(firing.started_on), "secondary", tone="ink2"),
                *(Words(word, "secondary", tone="ink2") for word in told),
                Words(_cone_words(firing), "secondary", tone=_TONES.get(firing.got_basis, "ink2")),
            ]
            for place, words in enumerate(said):
                self._grid.addWidget(words, row, place)
        self._grid.setColumnStretch(len(self._heads) + 2, 1)
        self._show_turn(uses.start, len(uses.firings), uses.total)


def _cone_words(firing: UsedFiring) -> str:
    if firing.got_cone is None or firing.got_low is None or firing.got_high is None:
        return "–"
    got = label_reached(firing.got_cone)
    between = label_reached_between(firing.got_low, firing.got_high)
    how = "cones" if firing.got_basis == "read" else "curve"
    return f"{got}, {how}" if between == got else f"{got} ({between}), {how}"
