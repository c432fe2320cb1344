"""What stands beside a tall column and comes along as the page is scrolled, so that it is seen."""

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QScrollArea, QVBoxLayout, QWidget

_SETTLE_MS = 50
_ROOM_PX = 12


class Drift(QWidget):
    """An empty stretch at the top of a column; it grows as the page is scrolled down past it.

    It never makes the column higher than the one beside it, so the page's height stays.
    """

    def __init__(self, column: QVBoxLayout, beside: QVBoxLayout) -> None:
        super().__init__()
        self._column, self._beside = column, beside
        self._area: QScrollArea | None = None
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_SETTLE_MS)
        self._soon.timeout.connect(self.follow)
        self.setFixedHeight(0)
        column.insertWidget(0, self)
        column.setSpacing(0)

    def watch(self, area: QScrollArea) -> None:
        """Come along with this scrolled area."""
        if area is not self._area:
            self._area = area
            area.verticalScrollBar().valueChanged.connect(self._soon.start)
            area.viewport().installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Qt: the room has changed."""
        if event.type() in (QEvent.Type.Resize, QEvent.Type.LayoutRequest):
            self._soon.start()
        return False

    def follow(self) -> None:
        """Stand where the page is scrolled to, as far as the column beside reaches."""
        here, there = self._column.parentWidget(), self._beside.parentWidget()
        page = self._area.widget() if self._area is not None else None
        if self._area is None or page is None or here is None or there is None:
            return
        high = 0
        if here.y() == there.y():  # side by side, not one under the other
            top = here.mapTo(page, here.rect().topLeft()).y()
            scrolled = self._area.verticalScrollBar().value() - top
            own = self._column.sizeHint().height() - self.height()
            high = max(0, min(scrolled + _ROOM_PX, there.height() - own))
        if high != self.height():
            self.setFixedHeight(high)
