"""The top of the window: whose journal, the tabs, find, and quick log."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QTabBar, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.ui.frame.find_box import FindBox
from studiolog.ui.frame.places import TABS
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import Hairline, primary_button
from studiolog.ui.parts.text import Text


class TopBar(QWidget):
    """56 px: name, six tabs, the search field, and the one primary action of the window."""

    tab_chosen = Signal(int)
    quick_log_asked = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._name = Text("", size="head", weight=600)
        self.tabs = QTabBar()
        self.tabs.setExpanding(False)
        self.tabs.setDrawBase(False)
        self.tabs.setUsesScrollButtons(False)
        self.tabs.setElideMode(Qt.TextElideMode.ElideNone)
        self.tabs.setAccessibleName("Parts of the journal")
        for number, tab in enumerate(TABS, start=1):
            self.tabs.addTab(tab.text)
            self.tabs.setTabToolTip(number - 1, f"{tab.text}   Ctrl {number}")
        self.find_box = FindBox(desk)
        self.quick_log: QPushButton = primary_button("Quick log   Ctrl L")
        self.quick_log.setAccessibleName("Quick log, Control L")
        row = QHBoxLayout()
        row.setContentsMargins(32, 0, 32, 0)
        row.setSpacing(12)
        row.addWidget(IconLabel("logo", "ink", 28))
        row.addWidget(self._name)
        row.addSpacing(28)
        row.addWidget(self.tabs, 0, Qt.AlignmentFlag.AlignBottom)
        row.addStretch(1)
        row.addWidget(self.find_box)
        row.addWidget(self.quick_log)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addLayout(row, 1)
        rows.addWidget(Hairline())
        self._rescale()
        theme.current().changed.connect(self._rescale)
        self.tabs.currentChanged.connect(self.tab_chosen)
        self.quick_log.clicked.connect(self.quick_log_asked)

    def set_name(self, name: str) -> None:
        """Whose journal this is."""
        self._name.setText(name or "Studiolog")

    def show_tab(self, index: int) -> None:
        """Mark a tab without asking for it again."""
        blocked = self.tabs.blockSignals(True)
        self.tabs.setCurrentIndex(index)
        self.tabs.blockSignals(blocked)

    def _rescale(self) -> None:
        self.setFixedHeight(theme.current().px(56))
