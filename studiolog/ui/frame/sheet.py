"""A small dialog: a title, a body, and one way out that keeps everything."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import PAGE_MARGIN
from studiolog.ui.parts.text import Text


class Sheet(QDialog):
    """A window-modal sheet with a heading; Esc closes it."""

    def __init__(self, title: str, parent: QWidget | None = None, width: int = 520) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setWindowModality(Qt.WindowModality.WindowModal)
        self._asked_width = width
        self._widen()
        theme.current().changed.connect(self._widen)
        self.body = QVBoxLayout()
        self.body.setSpacing(12)
        self.close_button = QPushButton("Close")
        self.close_button.setAccessibleName("Close")
        self.close_button.clicked.connect(self.accept)
        self.feet = QHBoxLayout()
        self.feet.addStretch(1)
        self.feet.addWidget(self.close_button)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(24, 20, 24, 20)
        rows.setSpacing(16)
        rows.addWidget(Text(title, size="figure", weight=600))
        rows.addLayout(self.body, 1)
        rows.addLayout(self.feet)

    def _widen(self) -> None:
        """As wide as its text asks for, within the window it lies over."""
        wide = theme.current().px(self._asked_width)
        under = self.parentWidget()
        if under is not None:
            wide = min(wide, under.window().width() - 2 * PAGE_MARGIN)
        self.setMinimumWidth(max(self._asked_width, wide))
