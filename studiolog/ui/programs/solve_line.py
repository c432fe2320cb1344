"""The other way round: a cone wanted, which handle to solve for, and what was found."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.firing.what_if import Handle
from studiolog.desktop import theme
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.fields import LineField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import link_button
from studiolog.ui.parts.text import Text

_SHORT: dict[Handle, str] = {"peak": "top", "hold": "hold", "rate": "rate"}
_WIDE = 112  # px before scaling, room for the name of a cone


class SolveLine(QWidget):
    """``solve_asked`` carries the cone as typed and the handle; ``near_asked`` says that the
    nearest that can be had is wanted."""

    solve_asked = Signal(str, str)
    near_asked = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.wanted = LineField("", hint="6, 5½ or 04")
        self.wanted.line.setAccessibleName("Cone wanted")
        self.handle = SegmentedChoice(
            "Solve for", [Choice(one, words) for one, words in _SHORT.items()], "123"
        )
        self.handle.choose("peak")
        self.button = QPushButton("Solve")
        self.button.setAccessibleName("Solve for the cone wanted")
        self.answer = Text("", "secondary", tone="ink2", wrap=True)
        self.problem = ProblemLine()
        self.nearest = link_button("Take the nearest")
        line = FlowLayout(spacing=8, line_spacing=8)
        line.addWidget(Text("Cone wanted", "secondary", 500, "ink2"))
        line.addWidget(self.wanted)
        line.addWidget(Text("solve for", "secondary", 500, "ink2"))
        line.addWidget(self.handle)
        line.addWidget(self.button)
        near = QHBoxLayout()
        near.addWidget(self.nearest)
        near.addStretch(1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        rows.addLayout(line)
        rows.addWidget(self.answer)
        rows.addWidget(self.problem)
        rows.addLayout(near)
        self.clear()
        self._rescale()
        self.button.clicked.connect(self.solve)
        self.wanted.line.returnPressed.connect(self.solve)
        self.nearest.clicked.connect(self.near_asked)
        theme.current().changed.connect(self._rescale)

    def solve(self) -> None:
        """Ask for what was typed."""
        self.clear()
        if not self.wanted.text():
            self.problem.say("Type the cone that is wanted, like 6, 5½ or 04.")
            return
        self.solve_asked.emit(self.wanted.text(), str(self.handle.chosen()))

    def clear(self) -> None:
        """Take away what was found the last time."""
        self.say_answer("")
        self.say_problem("")

    def say_answer(self, words: str) -> None:
        """Say what was found."""
        self.answer.setText(words)
        self.answer.setVisible(bool(words))

    def say_problem(self, sentence: str, near: bool = False) -> None:
        """Say why there is no answer, and whether a nearest can be had."""
        self.problem.say(sentence)
        self.nearest.setVisible(near)

    def _rescale(self) -> None:
        self.wanted.line.setFixedWidth(theme.current().px(_WIDE))
