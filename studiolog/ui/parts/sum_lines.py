"""A sum in lines: what each part is at the left, what it comes to at the right."""

from collections.abc import Iterable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.ui.parts.section import Hairline
from studiolog.ui.parts.text import Text, Words


class SumLines(QWidget):
    """Rows of words and a value; the whole is read out as sentences."""

    def __init__(self, about: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._about = about
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(16)
        self._grid.setVerticalSpacing(5)
        self._grid.setColumnStretch(0, 1)
        self.setAccessibleName(about)

    def show_lines(self, lines: Iterable[tuple[str, str]], strong: int = -1) -> None:
        """Show pairs of words and a value, the line at ``strong`` in bold."""
        while (item := self._grid.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        told = []
        for place, (words, value) in enumerate(lines):
            weight = 600 if place == strong else 400
            if place:
                self._grid.addWidget(Hairline(), 2 * place - 1, 0, 1, 2)
            said = Text(words, "secondary", weight, "ink2", wrap=True)
            comes_to = Words(value, "secondary", 600)
            comes_to.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)
            self._grid.addWidget(said, 2 * place, 0)
            self._grid.addWidget(comes_to, 2 * place, 1)
            told.append(f"{words}: {value}")
        self.setVisible(bool(told) or self.parentWidget() is None)
        self.setAccessibleName(f"{self._about}. {'; '.join(told)}" if told else self._about)
