"""A picker under its label, with a problem beneath, as the fields beside it have one."""

from collections.abc import Hashable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.text import Text

NONE = 0
"""The id of the choice that is none."""


class LabelledPick(QWidget):
    """One of many, with a label over it. ``wide`` px at 100 per cent."""

    def __init__(
        self, label: str, choices: Sequence[Choice] = (), hint: str = "", wide: int = 196
    ) -> None:
        super().__init__()
        self._wide = wide
        self.label = Text(label, "secondary", 500, "ink2")
        self.pick = PickOne(label, choices, hint)
        self.pick.setMinimumContentsLength(8)
        self.pick.setSizeAdjustPolicy(
            PickOne.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self._problem = ProblemLine()
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addWidget(self.label)
        rows.addWidget(self.pick)
        rows.addWidget(self._problem)
        rows.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._rescale()
        theme.current().changed.connect(self._rescale)

    def ident(self) -> int | None:
        """The id chosen; None for nothing."""
        chosen = self.pick.chosen()
        return chosen if isinstance(chosen, int) and chosen != NONE else None

    def choose(self, ident: Hashable | None) -> None:
        """Show a choice without telling anyone."""
        self.pick.choose(ident if ident is not None else NONE)

    def set_label(self, label: str) -> None:
        """Call it otherwise, to the eye and to a screen reader."""
        self.label.setText(label)
        self.pick.setAccessibleName(label)
        line = self.pick.lineEdit()
        if line is not None:
            line.setAccessibleName(label)

    def set_problem(self, sentence: str) -> None:
        """Say what is wrong, or take it away."""
        self._problem.say(sentence)
        self.pick.setAccessibleDescription(sentence)

    def problem(self) -> str:
        return self._problem.sentence()

    def _rescale(self) -> None:
        self.setFixedWidth(theme.current().px(self._wide))
