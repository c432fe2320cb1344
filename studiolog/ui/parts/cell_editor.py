"""How a cell of a small table is painted and typed into."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import (
    QLineEdit,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.ui.parts.cell_offer import CellOffer
from studiolog.ui.parts.icon import paint_icon

Index = QModelIndex | QPersistentModelIndex


class CellEditor(QStyledItemDelegate):
    """Tells each letter as it is typed; ``offers`` are the names a column knows, by its place."""

    typed = Signal(int, int, object)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.offers: dict[int, Callable[[], Sequence[str]]] = {}

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        state = index.data(Qt.ItemDataRole.CheckStateRole)
        if state is None:
            super().paint(painter, option, index)
            return
        # The box is drawn here: the style sheet leaves that of a table to the system.
        focused = bool(option.state & QStyle.StateFlag.State_HasFocus)
        look, box = theme.current(), option.rect
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(box, look.color("cobaltwash"))
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(box.left(), box.bottom(), box.width(), 1, look.color("line"))
        if focused:
            painter.setPen(QPen(look.color("cobalt"), 2))
            painter.drawRect(box.adjusted(1, 1, -1, -2))
        side = look.px(14)
        tick = QRectF(box.left() + 9.5, box.center().y() - side / 2 + 0.5, side, side)
        ticked = Qt.CheckState(state) == Qt.CheckState.Checked
        if index.flags() & Qt.ItemFlag.ItemIsUserCheckable:
            painter.setPen(QPen(look.color("cobalt" if ticked else "ink3"), 1))
            painter.setBrush(look.color("cobalt" if ticked else "sheet"))
            painter.drawRoundedRect(tick, 3, 3)
            if ticked:
                paint_icon(painter, tick, "check", look.color("oncobalt"))
        elif ticked:
            paint_icon(painter, tick, "check", look.color("ink"))
        painter.restore()

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        line = QLineEdit(parent)
        line.setProperty("role", "bare")
        line.setFrame(False)
        line.setAlignment(
            Qt.AlignmentFlag(
                index.data(Qt.ItemDataRole.TextAlignmentRole) or Qt.AlignmentFlag.AlignLeft
            )
        )
        line.setAccessibleName(
            str(index.model().headerData(index.column(), Qt.Orientation.Horizontal))
        )
        row, column = index.row(), index.column()
        line.textEdited.connect(lambda text: self.typed.emit(row, column, text))
        if column in self.offers:
            offer = CellOffer(line, self.offers[column]())
            offer.taken.connect(lambda onward: self._keep(line, onward))
        return line

    def _keep(self, line: QLineEdit, onward: bool) -> None:
        hint = QStyledItemDelegate.EndEditHint
        self.commitData.emit(line)
        self.closeEditor.emit(line, hint.EditNextItem if onward else hint.NoHint)

    def updateEditorGeometry(
        self, editor: QWidget, option: QStyleOptionViewItem, index: Index
    ) -> None:
        editor.setGeometry(option.rect.adjusted(6, 2, -6, -2))

    def destroyEditor(self, editor: QWidget, index: Index) -> None:
        self.typed.emit(-1, -1, None)
        super().destroyEditor(editor, index)
