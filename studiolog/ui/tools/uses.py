"""What a tool was used on: marks with what they are; a run or a piece is added by its number."""

from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.tool_page import ToolPage, ToolUsed
from studiolog.journal.tools import drop_use, use_tool_on
from studiolog.problems import UserProblem
from studiolog.ui.parts.fault_rate_sections import clear_layout, pieces_words
from studiolog.ui.parts.fields import LineField, write_day
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Text, Words


class ToolUsesSection(Section):
    """``opened`` carries a kind and an id."""

    opened = Signal(str, int)

    def __init__(self, desk: Desk) -> None:
        super().__init__("Used on")
        self._desk = desk
        self._page: ToolPage | None = None
        self.line = LineField("It was used on", hint="run 62, or 412 for a piece")
        self.add_button = self.line.add_button("Add")
        self.nothing = Text(
            "Nothing yet: note the runs and pieces it was pressed into or cut with.",
            "secondary",
            tone="ink2",
            wrap=True,
        )
        holder = QWidget()
        self._grid = QGridLayout(holder)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(4)
        self._grid.setColumnStretch(1, 1)
        self.add(self.nothing)
        self.add(holder)
        self.add(self.line)
        self.line.line.returnPressed.connect(self.keep)
        self.add_button.clicked.connect(self.keep)

    def show_page(self, page: ToolPage) -> None:
        """Show what a tool was used on; the same as before is left standing."""
        if self._page is not None and self._page.tool_id != page.tool_id:
            self.line.set_text("")
        same = self._page is not None and self._page.uses == page.uses
        self._page = page
        if same and self._grid.count():
            return
        runs = sum(use.kind == "run" for use in page.uses)
        pieces = len(page.uses) - runs
        words = [f"{runs} run{'' if runs == 1 else 's'}"] if runs else []
        words += [pieces_words(pieces)] if pieces else []
        self.set_quiet(", ".join(words))
        self.nothing.setVisible(not page.uses)
        clear_layout(self._grid)
        for row, use in enumerate(page.uses):
            self._show_use(row, use)

    def _show_use(self, row: int, use: ToolUsed) -> None:
        mark = NumberMark("run" if use.kind == "run" else "piece", use.number, use.ident)
        mark.opened.connect(self.opened)
        told = [use.title] if use.title else []
        if use.kind == "run":
            told.append(pieces_words(use.pieces))
        if use.made_on is not None:
            told.append(write_day(use.made_on))
        if use.note:
            told.append(use.note)
        what = f"{use.kind} {use.number}"
        drop = link_button("Take away")
        drop.setAccessibleName(f"It was not used on {what}")
        drop.clicked.connect(partial(self._drop, use.use_id, what))
        self._grid.addWidget(mark, row, 0, Qt.AlignmentFlag.AlignLeft)
        self._grid.addWidget(Words(", ".join(told), "secondary", tone="ink2"), row, 1)
        self._grid.addWidget(drop, row, 2)

    def keep(self) -> None:
        """Note what was typed, or say what is wrong with it."""
        page, said = self._page, self.line.text()
        if page is None or not said:
            return
        try:
            self._desk.edits.run(
                f"Tool {page.number} was used on {said}",
                partial(use_tool_on, tool_id=page.tool_id, said=said),
            )
        except UserProblem as problem:
            self.line.set_problem(problem.sentence)
            return
        self.line.set_text("")

    def _drop(self, use_id: int, what: str) -> None:
        page = self._page
        if page is not None and self._desk.edits.try_run(
            f"Tool {page.number} was not used on {what}", partial(drop_use, use_id=use_id)
        ):
            self._desk.notices.say("Taken away.", "Undo", self._desk.edits.undo)
