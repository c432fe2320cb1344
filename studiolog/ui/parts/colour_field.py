"""The potter's own colour of a glaze or a clay: as #RRGGBB, or picked from the colour circle."""

import re

from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QColorDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.swatch import ClayLook, ClaySwatch, GlazeLook, GlazeSwatch


def read_colour(text: str) -> str:
    """``#RRGGBB`` in capitals of a colour as typed. Raises `UserProblem`."""
    plain = text.strip().lstrip("#")
    if re.fullmatch(r"[0-9a-fA-F]{3}", plain):
        plain = "".join(2 * letter for letter in plain)
    if not re.fullmatch(r"[0-9a-fA-F]{6}", plain):
        raise UserProblem(f"“{text.strip()}” is not a colour: write it like #48654C.")
    return f"#{plain.upper()}"


class ColourField(QWidget):
    """A colour with its swatch; ``colour_changed`` carries ``#RRGGBB``."""

    colour_changed = Signal(str)

    def __init__(self, label: str = "Swatch colour", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.line = LineField(label, hint="#48654C")
        self.pick = QPushButton("Pick…")
        self.pick.setAccessibleName(f"Pick the {label.lower()}")
        self._colour = ""
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.line, 1)
        beside = QVBoxLayout()
        beside.setContentsMargins(0, 0, 0, 0)
        beside.addSpacing(self.line.label.sizeHint().height() + 4)
        beside.addWidget(self.pick)
        beside.addStretch(1)
        row.addLayout(beside)
        self.setFocusProxy(self.line)
        self.line.edited.connect(self._hear_text)
        self.pick.clicked.connect(self._pick)

    def set_colour(self, colour: str) -> None:
        """Show a colour without telling anyone."""
        self._colour = colour
        self.line.set_text(colour)

    def _hear_text(self, text: str) -> None:
        try:
            colour = read_colour(text)
        except UserProblem as problem:
            self.line.set_problem(problem.sentence)
            return
        self.line.set_text(colour)
        self.colour_changed.emit(colour)

    def _pick(self) -> None:
        colour = QColorDialog.getColor(QColor(self._colour), self, "Swatch colour")
        if colour.isValid():
            self.set_colour(colour.name().upper())
            self.colour_changed.emit(colour.name().upper())


class LargeGlazeSwatch(GlazeSwatch):
    """A glaze's swatch before a title."""

    def __init__(self) -> None:
        super().__init__(GlazeLook("", "#8A8A80"), size=QSize(64, 48))


class LargeClaySwatch(ClaySwatch):
    """A clay's swatch before a title."""

    def __init__(self) -> None:
        super().__init__(ClayLook("", "#C6A67C"), size=QSize(48, 48))
