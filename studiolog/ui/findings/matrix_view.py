"""The matrix: which glaze over which against clay, cone or level, painted by a delegate."""

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from studiolog.craft.units import THIN
from studiolog.desktop import theme
from studiolog.desktop.tokens import BODY, CAPTION, RADIUS_CARD, SECONDARY
from studiolog.journal.matrix import Matrix, MatrixColumn, MatrixRow
from studiolog.journal.question import Question
from studiolog.ui.findings.words import say_cell, say_column, say_pieces, say_row
from studiolog.ui.parts.marks import paint_focus_ring
from studiolog.ui.parts.rate_bar import paint_rate, track_of
from studiolog.ui.parts.swatch import (
    ClayLook,
    GlazeLook,
    paint_clay_swatch,
    paint_combination,
)

ROW_HIGH, HEAD_HIGH, HEAD_WIDE, NARROWEST = 48, 56, 196, 208
_MOST_ROWS = 8  # shown without scrolling
_Index = QModelIndex | QPersistentModelIndex
_LEFT = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)


def looks_of(row: MatrixRow) -> list[GlazeLook]:
    """The layers of a row from the clay outward, as swatches draw them."""
    laid = [head for head in (row.under, row.over) if head is not None]
    return [GlazeLook(head.title, head.colour, head.pattern) for head in laid]


def clay_of(column: MatrixColumn) -> ClayLook | None:
    """The clay of a column, where the columns are clays."""
    return ClayLook(column.title, column.colour, column.specks) if column.colour else None


class MatrixModel(QAbstractTableModel):
    """A matrix with its row heads in the first column."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.matrix: Matrix | None = None
        self.question = Question()

    def show_matrix(self, matrix: Matrix, question: Question) -> None:
        self.beginResetModel()
        self.matrix, self.question = matrix, question
        self.endResetModel()

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        return len(self.matrix.rows) if self.matrix and not parent.isValid() else 0

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        return 1 + len(self.matrix.columns) if self.matrix and not parent.isValid() else 0

    def flags(self, index: _Index) -> Qt.ItemFlag:
        if index.column() == 0:
            return Qt.ItemFlag.ItemIsEnabled
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if self.matrix is None or role not in (
            Qt.ItemDataRole.DisplayRole,
            Qt.ItemDataRole.ToolTipRole,
            Qt.ItemDataRole.AccessibleTextRole,
        ):
            return None
        row = self.matrix.rows[index.row()]
        if index.column() == 0:
            return say_row(row)
        column = self.matrix.columns[index.column() - 1]
        cell = self.matrix.cell(index.row(), index.column() - 1)
        said = say_cell(self.question, cell)
        if role == Qt.ItemDataRole.DisplayRole:
            return said
        return f"{say_row(row)} {say_column(column)}: {said}"

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> object:
        if role != Qt.ItemDataRole.DisplayRole or self.matrix is None:
            return None
        if orientation == Qt.Orientation.Horizontal:
            return (
                "Glaze on top / under it" if not section else self.matrix.columns[section - 1].title
            )
        return say_row(self.matrix.rows[section])


class _Head(QHeaderView):
    """Column heads: a swatch, the title, and the scale of the bars below."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.setSectionsClickable(False)
        self.setMinimumSectionSize(80)

    def sizeHint(self) -> QSize:
        return QSize(super().sizeHint().width(), theme.current().px(HEAD_HIGH))

    def paintSection(self, painter: QPainter, rect: QRect, section: int) -> None:
        model = self.model()
        if not isinstance(model, MatrixModel) or model.matrix is None:
            return
        look = theme.current()
        box = QRectF(rect)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(
            QRectF(box.left(), box.bottom() - 1.5, box.width(), 1.5), look.color("ink")
        )
        top = QRectF(box.left(), box.top(), box.width(), box.height() / 2)
        low = QRectF(box.left(), top.bottom(), box.width() - 8, box.height() / 2 - 4)
        left = box.left()
        if section:
            column = model.matrix.columns[section - 1]
            clay = clay_of(column)
            left += 14
            if clay is not None:
                side = look.px(14)
                swatch = QRectF(left, top.center().y() - side / 2, side, side)
                paint_clay_swatch(painter, swatch, clay)
                left += side + 8
            self._paint_scale(painter, box, low)
            title = column.title
        else:
            painter.setFont(look.font(CAPTION))
            painter.setPen(look.color("ink3"))
            painter.drawText(low, _LEFT, "the layer named first is on top")
            title = "Glaze on top / under it"
        painter.setFont(look.font(BODY, 600))
        painter.setPen(look.color("ink"))
        room = QRectF(left, top.top(), box.right() - left - 8, top.height())
        metrics = QFontMetricsF(painter.font())
        painter.drawText(
            room, _LEFT, metrics.elidedText(title, Qt.TextElideMode.ElideRight, room.width())
        )
        painter.restore()

    @staticmethod
    def _paint_scale(painter: QPainter, box: QRectF, low: QRectF) -> None:
        look = theme.current()
        track = track_of(box)
        painter.setFont(look.font(CAPTION))
        for share, words in ((0.0, "0"), (0.5, "50"), (1.0, f"100{THIN}%")):
            x = track.left() + share * track.width()
            painter.setPen(look.color("ink3"))
            metrics = QFontMetricsF(painter.font())
            wide = metrics.horizontalAdvance(words)
            if share == 0.5 and track.width() < 4 * wide + look.px(24):
                continue  # it would run into the ends of the scale
            painter.drawText(QPointF(x - wide / 2, low.bottom() - 5), words)
            painter.setPen(QPen(look.color("line2"), 1))
            painter.drawLine(QPointF(x, box.bottom() - 5), QPointF(x, box.bottom() - 2))


class MatrixDelegate(QStyledItemDelegate):
    """Paints row heads as flattened walls, and cells as rates with their whiskers."""

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        return QSize(NARROWEST, theme.current().px(ROW_HIGH))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        model = index.model()
        if not isinstance(model, MatrixModel) or model.matrix is None:
            return
        view = option.widget
        box = QRectF(option.rect)
        look, matrix = theme.current(), model.matrix
        row = matrix.rows[index.row()]
        painter.save()
        painter.fillRect(QRectF(box.left(), box.bottom() - 1, box.width(), 1), look.color("line"))
        above = matrix.rows[index.row() - 1] if index.row() else row
        first_apart = (row.under is None) != (above.under is None)
        if first_apart:
            painter.fillRect(
                QRectF(box.left(), box.top() - 1, box.width(), 1.5), look.color("ink3")
            )
        if index.column() == 0:
            self._paint_head(painter, box, row)
        else:
            painter.fillRect(QRectF(box.left(), box.top(), 1, box.height()), look.color("line"))
            current = isinstance(view, QTableView) and view.currentIndex() == index
            self._paint_cell(painter, box, matrix, index, current)
            if current and isinstance(view, QTableView) and view.hasFocus():
                paint_focus_ring(painter, box.adjusted(5, 6, -5, -6), RADIUS_CARD)
        painter.restore()

    @staticmethod
    def _paint_head(painter: QPainter, box: QRectF, row: MatrixRow) -> None:
        look = theme.current()
        high = look.px(31)
        swatch = QRectF(box.left(), box.center().y() - high / 2, look.px(45), high)
        paint_combination(painter, swatch, looks_of(row))
        left = swatch.right() + 12
        half = box.height() / 2
        wide = box.right() - left - 8
        below = f"over {row.under.title}" if row.under else "alone, to compare"
        if row.under is None and not row.compared:
            below = "alone"
        for words, top, weight, token in (
            (row.over.title, box.top() + 4, 600, "ink"),
            (below, box.top() + half - 2, 400, "ink2"),
        ):
            painter.setFont(look.font(SECONDARY, weight))
            painter.setPen(look.color(token))
            fitted = QFontMetricsF(painter.font()).elidedText(
                words, Qt.TextElideMode.ElideRight, wide
            )
            painter.drawText(QRectF(left, top, wide, half - 2), _LEFT, fitted)

    @staticmethod
    def _paint_cell(
        painter: QPainter, box: QRectF, matrix: Matrix, index: _Index, current: bool
    ) -> None:
        look = theme.current()
        cell = matrix.cell(index.row(), index.column() - 1)
        rate = cell.rate
        model = index.model()
        surface = isinstance(model, MatrixModel) and model.question.asks_surface()
        if cell.tried and not rate.trials:
            if current:
                painter.setRenderHint(QPainter.RenderHint.Antialiasing)
                painter.setPen(QPen(look.color("cobalt"), 2))
                painter.setBrush(look.color("cobaltwash"))
                painter.drawRoundedRect(box.adjusted(2, 3, -2, -3), 6, 6)
            painter.setPen(QPen(look.color("ink3"), 1.5))
            y = box.center().y()
            painter.drawLine(QPointF(box.left() + 14, y), QPointF(box.left() + 23, y))
            painter.setFont(look.font(SECONDARY))
            nobody = "not described" if surface else "nobody looked"
            words = f"{say_pieces(cell.pieces)}, {nobody}"
            painter.drawText(box.adjusted(32, 0, -8, 0), _LEFT, words)
            return
        paint_rate(
            *(painter, box, look, rate.events, rate.trials, rate.low, rate.high),
            selected=current,
            neutral=surface,
        )


class MatrixView(QTableView):
    """The matrix: ``chosen(row, column)`` as one moves by arrows, ``opened`` on Enter."""

    chosen = Signal(int, int)
    opened = Signal(int, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = MatrixModel(self)
        self.setHorizontalHeader(_Head(self))
        self.setModel(self._model)
        self.setItemDelegate(MatrixDelegate(self))
        self.verticalHeader().hide()
        self.setShowGrid(False)
        self.setFrameShape(QTableView.Shape.NoFrame)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setTabKeyNavigation(False)
        # The delegate paints the chosen cell itself.
        self.setStyleSheet(
            "QTableView::item, QTableView::item:focus { border: 0; padding: 0; }"
            "QAbstractScrollArea::corner { border: 0; background: transparent; }"
        )
        self.setAccessibleName("Matrix of findings")
        self.setMouseTracking(True)
        self.doubleClicked.connect(self._open)
        theme.current().changed.connect(self._fit)

    def show_matrix(self, matrix: Matrix, question: Question) -> None:
        """Show a matrix; nothing is chosen."""
        self._model.show_matrix(matrix, question)
        self._fit()

    def choose(self, row: int, column: int) -> None:
        """Move to a cell."""
        self.setCurrentIndex(self._model.index(row, column + 1))

    def current_cell(self) -> tuple[int, int] | None:
        """Row and column of the chosen cell."""
        index = self.currentIndex()
        return (index.row(), index.column() - 1) if index.isValid() and index.column() else None

    def currentChanged(self, current: _Index, previous: _Index) -> None:
        super().currentChanged(current, previous)
        self.viewport().update()
        if current.isValid() and current.column():
            self.setAccessibleDescription(
                str(current.data(Qt.ItemDataRole.AccessibleTextRole) or "")
            )
            self.chosen.emit(current.row(), current.column() - 1)

    def moveCursor(
        self, action: QAbstractItemView.CursorAction, modifiers: Qt.KeyboardModifier
    ) -> QModelIndex:
        index = super().moveCursor(action, modifiers)
        if index.isValid() and index.column() == 0:
            return self._model.index(index.row(), 1)
        return index

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._open()
        elif event.text().isprintable() and event.text():
            # Letters are the screen's own keys, not a search in this table.
            event.ignore()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _open(self) -> None:
        cell = self.current_cell()
        if cell is not None:
            self.opened.emit(*cell)

    def _fit(self) -> None:
        matrix, look = self._model.matrix, theme.current()
        if matrix is None:
            return
        high = look.px(ROW_HIGH)
        self.verticalHeader().setDefaultSectionSize(high)
        head, count = look.px(HEAD_WIDE), len(matrix.columns)
        room = self.viewport().width() - head
        # A lone column needs no bar as wide as the page.
        each = max(look.px(NARROWEST), room // max(1, count))
        if count == 1:
            each = min(each, look.px(360))
        self.horizontalHeader().resizeSection(0, head)
        for column in range(1, count + 1):
            self.horizontalHeader().resizeSection(column, each)
        rows = min(max(1, len(matrix.rows)), _MOST_ROWS)
        bar = self.horizontalScrollBar().sizeHint().height() if each * count > room else 0
        wanted = look.px(HEAD_HIGH) + rows * high + bar + 2
        if self.minimumHeight() != wanted:
            self.setFixedHeight(wanted)
