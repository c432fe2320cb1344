"""The stamps, rollers and templates a run was made with; one is added by its number."""

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.session import Session
from studiolog.journal.tools import ToolMark, drop_run_use, tools_of_run, use_numbered_tool
from studiolog.problems import UserProblem
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Words


class MadeWith(Section):
    """A line a tool. ``opened`` carries a kind and an id."""

    opened = Signal(str, int)

    def __init__(self, desk: Desk) -> None:
        super().__init__("Made with", link="All tools")
        self._desk = desk
        self._run_id, self._number = 0, 0
        self._tools: tuple[ToolMark, ...] = ()
        self._row = QWidget()
        self._grid = QGridLayout(self._row)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(4)
        self._grid.setColumnStretch(1, 1)
        self.line = LineField("Number of a tool it was made with", hint="456")
        self.add_button = self.line.add_button("Add")
        self.add(self._row)
        self.add(self.line)
        self.line.line.returnPressed.connect(self.keep)
        self.add_button.clicked.connect(self.keep)
        self.link_opened.connect(lambda: self.opened.emit("tools", 0))

    def show_run(self, run_id: int, number: int) -> None:
        """Show the tools of a run."""
        tools = self._desk.read(lambda session: tools_of_run(session, run_id))
        if run_id != self._run_id:
            self.line.set_text("")
        elif tools == self._tools:
            return
        self._run_id, self._number, self._tools = run_id, number, tools
        clear_layout(self._grid)
        self._row.setVisible(bool(tools))
        for row, tool in enumerate(tools):
            mark = NumberMark("piece", tool.number, tool.tool_id)
            mark.setAccessibleName(f"Tool {tool.number}, {tool.title}")
            mark.setToolTip(f"Open tool {tool.number}")
            mark.opened.connect(partial(self._open_tool, tool.tool_id))
            drop = link_button("Take away")
            drop.setAccessibleName(f"It was not made with tool {tool.number}")
            drop.clicked.connect(partial(self._drop, tool))
            self._grid.addWidget(mark, row, 0)
            self._grid.addWidget(Words(tool.title, "secondary", tone="ink2"), row, 1)
            self._grid.addWidget(drop, row, 2)

    def keep(self) -> None:
        """Note the tool whose number was typed, or say what is wrong with it."""
        said, run_id = self.line.text(), self._run_id
        if not said:
            return

        def edit(session: Session) -> int:
            return use_numbered_tool(session, run_id, said)

        try:
            self._desk.edits.run(f"Run {self._number} was made with tool {said}", edit)
        except UserProblem as problem:
            self.line.set_problem(problem.sentence)
            return
        self.line.set_text("")

    def _drop(self, tool: ToolMark, _checked: bool = False) -> None:
        run_id = self._run_id
        self._desk.edits.try_run(
            f"Run {self._number} was not made with tool {tool.number}",
            lambda session: drop_run_use(session, run_id, tool.tool_id),
        )

    def _open_tool(self, tool_id: int, _kind: str, _ident: int) -> None:
        self.opened.emit("tool", tool_id)
