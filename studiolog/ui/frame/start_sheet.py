"""The first start: the demo, a new journal, or one that is there."""

from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.icon import IconLabel, window_icon
from studiolog.ui.parts.section import primary_button
from studiolog.ui.parts.text import Text, Words

_WAYS = (
    ("new", "New journal", "In a folder of its own, named by you. Records and photos stay there."),
    ("open", "Open a journal", "A folder that holds a journal already."),
    ("demo", "Look at the demo", "Tern Yard, a made-up studio with a year of work in it."),
)


class StartSheet(QDialog):
    """Three ways to begin; ``wanted`` is the one chosen."""

    def __init__(self, problem: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.wanted = ""
        self.setWindowTitle("Studiolog")
        self.setWindowIcon(window_icon())
        px = theme.current().px
        self.setMinimumWidth(px(560))
        self._problem = ProblemLine()
        rows = QVBoxLayout(self)
        rows.setContentsMargins(32, 28, 32, 28)
        rows.setSpacing(16)
        head = QHBoxLayout()
        head.setSpacing(12)
        head.addWidget(IconLabel("logo", "ink", 40))
        head.addWidget(Words("A journal for your studio", size="title", weight=600), 1)
        rows.addLayout(head)
        rows.addWidget(
            Text(
                "It keeps what was made, how it was glazed, where it stood in the kiln and what "
                "came of it, so that the cause of a fault is still there when it shows.",
                tone="ink2",
                wrap=True,
            )
        )
        rows.addWidget(self._problem)
        for number, (key, words, more) in enumerate(_WAYS):
            button = primary_button(words) if number == 0 else QPushButton(words)
            button.setAccessibleName(words)
            button.setAccessibleDescription(more)
            button.setMinimumWidth(px(160))
            button.clicked.connect(lambda _checked=False, way=key: self._choose(way))
            row = QHBoxLayout()
            row.setSpacing(16)
            row.addWidget(button)
            row.addWidget(Text(more, tone="ink2", wrap=True), 1)
            rows.addLayout(row)
        self.say(problem)

    def say(self, sentence: str) -> None:
        """Say why the last choice came to nothing."""
        self._problem.say(sentence)

    def _choose(self, way: str) -> None:
        self.wanted = way
        self.accept()
