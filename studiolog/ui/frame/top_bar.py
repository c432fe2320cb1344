"""The top of the window: whose journal, the tabs, find, and quick log."""

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QTabBar, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import BUTTON_HEIGHT
from studiolog.ui.frame.find_box import FindBox
from studiolog.ui.frame.places import TABS
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import Hairline, KeyedButton
from studiolog.ui.parts.text import Elided

_SPACING, _BEFORE_TABS = 12, 28


class TopBar(QWidget):
    """56 px: name, six tabs, the search field, and the one primary action of the window.

    Where they have no room beside each other, with larger text, the tabs go under the rest.
    """

    tab_chosen = Signal(int)
    quick_log_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._name = Elided("", size="head", weight=600)
        self.tabs = QTabBar()
        self.tabs.setExpanding(False)
        self.tabs.setDrawBase(False)
        self.tabs.setUsesScrollButtons(False)
        self.tabs.setElideMode(Qt.TextElideMode.ElideRight)
        self.tabs.setAccessibleName("Parts of the journal")
        for number, tab in enumerate(TABS, start=1):
            self.tabs.addTab(tab.text)
            self.tabs.setTabToolTip(number - 1, f"{tab.text}   Ctrl {number}")
        self.find_box = FindBox()
        self.quick_log = KeyedButton("Quick log", "Ctrl L")
        self.quick_log.setProperty("role", "primary")
        self.quick_log.setAccessibleName("Quick log, Control L")
        self._logo = IconLabel("logo", "ink", 28)
        self._upper, self._lower = QWidget(), QWidget()
        self._first = QHBoxLayout(self._upper)
        self._first.setContentsMargins(32, 0, 32, 0)
        self._first.setSpacing(_SPACING)
        self._first.addWidget(self._logo)
        self._first.addWidget(self._name)
        self._first.addSpacing(_BEFORE_TABS)
        self._first.addWidget(self.tabs, 0, Qt.AlignmentFlag.AlignBottom)
        self._first.addStretch(1)
        self._first.addWidget(self.find_box, 2)
        self._first.addWidget(self.quick_log)
        self._second = QHBoxLayout(self._lower)
        self._second.setContentsMargins(32, 0, 32, 0)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addWidget(self._upper)
        rows.addWidget(self._lower)
        rows.addWidget(Hairline())
        self._under = False
        self._arrange()
        theme.current().changed.connect(self._arrange)
        self.tabs.currentChanged.connect(self._keep_tabs_whole)
        self.tabs.currentChanged.connect(self.tab_chosen)
        self.quick_log.clicked.connect(self.quick_log_asked)

    def set_name(self, name: str) -> None:
        """Whose journal this is."""
        self._name.setText(name or "Studiolog")
        self._arrange()

    def show_tab(self, index: int) -> None:
        """Mark a tab without asking for it again."""
        blocked = self.tabs.blockSignals(True)
        self.tabs.setCurrentIndex(index)
        self.tabs.blockSignals(blocked)
        self._keep_tabs_whole()

    def _keep_tabs_whole(self) -> None:
        """The chosen tab is heavier than the others: another one chosen is another width."""
        self.tabs.updateGeometry()

    def minimumSizeHint(self) -> QSize:
        """Qt: the bar never widens the window; it takes a second row."""
        return QSize(0, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        """The tabs in the first row if it holds them, with a whole name and a narrow search."""
        px = theme.current().px
        beside = (self._logo, self._name, self.tabs, self.quick_log)
        wide = sum(part.sizeHint().width() for part in beside)
        wide += self.find_box.minimumWidth() + 2 * 32 + _BEFORE_TABS + 6 * _SPACING
        under = self.width() < wide
        if under != self._under:
            self._under = under
            (self._first if under else self._second).removeWidget(self.tabs)
            if under:
                self._second.addWidget(self.tabs)
            else:
                self._first.insertWidget(3, self.tabs, 0, Qt.AlignmentFlag.AlignBottom)
        # Beside the rest a tab is as high as the bar: its words level with the others' words.
        sheet = "" if under else f"QTabBar::tab {{ height: {px(55) - 6}px; padding: 3px 2px 0; }}"
        if sheet != self.tabs.styleSheet():
            self.tabs.setStyleSheet(sheet)
        self._upper.setFixedHeight(px(BUTTON_HEIGHT) + 16 if under else px(55))
        self._lower.setFixedHeight(self.tabs.sizeHint().height() if under else 0)
