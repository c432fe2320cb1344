"""The keys: those of the window, and those of the screen at hand."""

from collections.abc import Sequence

from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.desktop.actions import ACTIONS
from studiolog.ui.frame.sheet import Sheet
from studiolog.ui.parts.section import KeyHint
from studiolog.ui.parts.text import Text


class KeysSheet(Sheet):
    """What the keyboard does here."""

    def __init__(self, parent: QWidget | None, hints: Sequence[tuple[Sequence[str], str]]) -> None:
        super().__init__("Keys", parent, width=640)
        everywhere = [
            (tuple(action.keys[0].split("+")), action.text.rstrip("…"))
            for action in ACTIONS
            if action.keys
        ]
        everywhere.append((("Ctrl", "1–6"), "the six tabs"))
        for title, pairs in (("On this screen", list(hints)), ("Everywhere", everywhere)):
            if not pairs:
                continue
            self.body.addWidget(Text(title, weight=600))
            grid = QGridLayout()
            grid.setHorizontalSpacing(24)
            for number, (keys, does) in enumerate(pairs):
                grid.addWidget(KeyHint(keys, does), number // 2, number % 2)
            self.body.addLayout(grid)
