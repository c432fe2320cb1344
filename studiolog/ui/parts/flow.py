"""A layout that runs like words: left to right, then on to the next line."""

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class FlowLayout(QLayout):
    """Items in a row, wrapped at the width given; each line's items are centred on it."""

    def __init__(
        self, parent: QWidget | None = None, spacing: int = 8, line_spacing: int = 8
    ) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._line_spacing = line_spacing
        self._high: dict[int, int] = {}  # by width, until an item changes
        self.setSpacing(spacing)
        self.setContentsMargins(0, 0, 0, 0)

    def addItem(self, item: QLayoutItem) -> None:
        self._items.append(item)
        # Qt asks anew only when a widget comes into sight: one that was there already would be
        # left where it stood, over the others.
        self.update()

    def insertWidget(self, index: int, widget: QWidget) -> None:
        """Put a widget before the one at ``index``."""
        self.addWidget(widget)
        self._items.insert(index, self._items.pop())
        self.invalidate()

    def count(self) -> int:
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        if not 0 <= index < len(self._items):
            return None
        item = self._items.pop(index)
        self.invalidate()
        return item

    def clear(self) -> None:
        """Take every item out and let its widget go."""
        while (item := self.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()

    def invalidate(self) -> None:
        """Qt: an item came, went or wants another size."""
        self._high.clear()
        super().invalidate()

    def expandingDirections(self) -> Qt.Orientation:
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        if width not in self._high:
            self._high[width] = self._lay(QRect(0, 0, width, 0), move=False)
        return self._high[width]

    def setGeometry(self, rect: QRect) -> None:
        super().setGeometry(rect)
        self._lay(rect, move=True)

    def sizeHint(self) -> QSize:
        margins = self.contentsMargins()
        wide = sum(item.sizeHint().width() for item in self._shown())
        wide += max(0, len(self._shown()) - 1) * self.spacing()
        high = max((item.sizeHint().height() for item in self._shown()), default=0)
        return QSize(
            wide + margins.left() + margins.right(), high + margins.top() + margins.bottom()
        )

    def minimumSize(self) -> QSize:
        smallest = QSize()
        for item in self._shown():
            smallest = smallest.expandedTo(item.minimumSize())
        margins = self.contentsMargins()
        return smallest + QSize(margins.left() + margins.right(), margins.top() + margins.bottom())

    def _shown(self) -> list[QLayoutItem]:
        return [item for item in self._items if not item.isEmpty()]

    def _lay(self, rect: QRect, move: bool) -> int:
        inside = rect.marginsRemoved(self.contentsMargins())
        lines: list[list[tuple[QLayoutItem, QSize]]] = [[]]
        x = 0
        for item in self._shown():
            size = item.sizeHint()
            if size.width() > inside.width() > 0:
                # Alone on its line and still too wide: words break, anything else is narrowed.
                size.setWidth(inside.width())
                if item.hasHeightForWidth():
                    size.setHeight(item.heightForWidth(inside.width()))
            if lines[-1] and x + size.width() > inside.width():
                lines.append([])
                x = 0
            lines[-1].append((item, size))
            x += size.width() + self.spacing()
        y = inside.top()
        for line in lines:
            high = max((size.height() for _item, size in line), default=0)
            left = inside.left()
            for item, size in line:
                if move:
                    top = y + (high - size.height()) // 2
                    item.setGeometry(QRect(QPoint(left, top), size))
                left += size.width() + self.spacing()
            y += high + self._line_spacing
        bottom = y - self._line_spacing if self._shown() else inside.top()
        return bottom - rect.top() + self.contentsMargins().bottom()
