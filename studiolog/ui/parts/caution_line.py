"""A usual caution: a sign and a sentence in ink, not the rust of a mistake."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QWidget

from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.text import Text


class CautionLine(QWidget):
    """Hidden while it has nothing to say; ``basis`` is the tool-tip."""

    def __init__(self, sentence: str = "", basis: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = Text("", "secondary", tone="ink2", wrap=True)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(IconLabel("warning", "ochre", 16), 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self._words, 1)
        self.say(sentence, basis)

    def say(self, sentence: str, basis: str = "") -> None:
        """Show a caution, or nothing."""
        self._words.setText(sentence)
        self._words.setToolTip(basis)
        self.setAccessibleName(f"Caution: {sentence}" if sentence else "")
        self.setAccessibleDescription(basis)
        # Shown before it has a parent, it would flash up as a window of its own.
        if not sentence or self.parentWidget() is not None:
            self.setVisible(bool(sentence))

    def sentence(self) -> str:
        return self._words.text()
