"""The rows of the list: read as they are seen, painted by one delegate."""

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QPointF,
    QRectF,
    QSize,
    QSizeF,
    Qt,
)
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen, QPixmap
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from studiolog.craft.words import FAULTS, STAGES
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import BODY, CAPTION, SECONDARY
from studiolog.journal.piece_list import PieceRow, read_piece_rows
from studiolog.ui.parts.cone_scale import cone_words
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.icon import paint_icon
from studiolog.ui.parts.marks import mark_size, paint_mark
from studiolog.ui.parts.severity import SEVERITY_WORDS, paint_severity_word
from studiolog.ui.parts.stage_bar import paint_stage_chip
from studiolog.ui.parts.swatch import (
    ClayLook,
    GlazeLook,
    describe_combination,
    paint_combination,
)
from studiolog.ui.pieces.looks import SMALL_PX, paint_thumbnail

ROW_PX = 72
_CHUNK = 60
_KEPT_ROWS = 3000
_KEPT_PAINTED = 48  # rows, a few screens of them
_ROW_ROLE = int(Qt.ItemDataRole.UserRole)
_WORD_ROLES = frozenset(
    int(role)
    for role in (
        Qt.ItemDataRole.DisplayRole,
        Qt.ItemDataRole.AccessibleTextRole,
        Qt.ItemDataRole.ToolTipRole,
    )
)
Index = QModelIndex | QPersistentModelIndex

BASIS_WORDS = {"read": "read there", "computed": "computed", "aimed": "aimed at"}


def row_sentence(row: PieceRow) -> str:
    """A row in words, for a screen reader and the tool-tip."""
    number = f"Piece {row.number}" if row.number is not None else "Unnumbered piece"
    parts = [f"{number}, {row.name}", row.clay_name or "clay not said", STAGES[row.stage]]
    if row.layers:
        looks = [GlazeLook(part.name, part.colour, part.pattern) for part in row.layers]
        parts.append(f"{row.zone}: {describe_combination(looks)}")
    if row.cone is not None:
        parts.append(f"cone {cone_words(row.cone)} {BASIS_WORDS.get(row.cone_basis or '', '')}")
    parts.append(fault_words(row))
    return ", ".join(parts)


def fault_words(row: PieceRow) -> str:
    """The worst fault, or that none was seen, or that nobody looked; of a tool that it is one."""
    if row.worst_fault is not None:
        return f"{FAULTS[row.worst_fault]} {SEVERITY_WORDS[row.worst_severity]}"
    if row.kind == "tool" and not row.looked:
        return "a tool"
    return "no fault seen" if row.looked else "not looked at"


class PieceListModel(QAbstractListModel):
    """All pieces that answer, by id; their rows are read sixty at a time when first seen."""

    def __init__(self, desk: Desk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._ids: tuple[int, ...] = ()
        self._rows: dict[int, PieceRow] = {}
        self._places: dict[int, int] = {}  # of the rows that were read

    def show_ids(self, ids: Sequence[int]) -> None:
        """List these pieces, in this order."""
        self.beginResetModel()
        self._ids = tuple(ids)
        self._forget_rows()
        self.endResetModel()

    def _forget_rows(self) -> None:
        self._rows.clear()
        self._places.clear()

    def add_ids(self, ids: Sequence[int]) -> None:
        """List these too, after the others."""
        if ids:
            start = len(self._ids)
            self.beginInsertRows(QModelIndex(), start, start + len(ids) - 1)
            self._ids += tuple(ids)
            self.endInsertRows()

    def ids(self) -> tuple[int, ...]:
        """The pieces listed, in order."""
        return self._ids

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self._ids)

    def piece_row(self, place: int) -> PieceRow | None:
        """The row at a place; None if the piece is gone."""
        if not 0 <= place < len(self._ids):
            return None
        piece_id = self._ids[place]
        if piece_id not in self._rows:
            if len(self._rows) > _KEPT_ROWS:
                self._forget_rows()
            start = place - place % _CHUNK
            some = self._ids[start : start + _CHUNK]
            for row in self._desk.read(lambda session: read_piece_rows(session, some)):
                self._rows[row.piece_id] = row
            self._places.update({one: start + step for step, one in enumerate(some)})
        return self._rows.get(piece_id)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        # Roles come by the thousand: plain integers compare in half the time of Qt's enumeration.
        if not index.isValid():
            return None
        if role == _ROW_ROLE:
            return self.piece_row(index.row())
        if role in _WORD_ROLES:
            row = self.piece_row(index.row())
            return row_sentence(row) if row is not None else ""
        return None

    def picture_came(self, sha256: str) -> None:
        """A thumbnail is there now: paint the rows that show it."""
        for piece_id, row in self._rows.items():
            if row.sha256 == sha256:
                index = self.index(self._places[piece_id])
                self.dataChanged.emit(index, index)


@dataclass(frozen=True)
class _Painted:
    """How a row looked when it was painted, and of what."""

    row: PieceRow
    size: QSizeF
    ratio: float
    pixmap: QPixmap


class PieceDelegate(QStyledItemDelegate):
    """Paints a row: picture, mark, name, glazes on their clay, stage, cone there, worst fault."""

    def __init__(self, desk: Desk, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk = desk
        self._painted: OrderedDict[int, _Painted] = OrderedDict()
        theme.current().changed.connect(self._painted.clear)

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(600, theme.current().px(ROW_PX))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        row = index.data(_ROW_ROLE)
        rect = QRectF(option.rect)
        state = option.state
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_ground(painter, rect, state)
        if isinstance(row, PieceRow):
            ratio = painter.device().devicePixelRatioF()
            painter.drawPixmap(rect.topLeft(), self._painted_row(row, rect.size(), ratio))
        painter.restore()

    def _painted_row(self, row: PieceRow, size: QSizeF, ratio: float) -> QPixmap:
        """The row without its ground, painted once while nothing of it changes."""
        known = self._painted.get(row.piece_id)
        if known is not None and known.row is row and known.size == size and known.ratio == ratio:
            self._painted.move_to_end(row.piece_id)
            return known.pixmap
        pixmap = QPixmap((size * ratio).toSize())
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        whole = self._paint_row(painter, QRectF(QPointF(0, 0), size), row)
        painter.end()
        self._painted.pop(row.piece_id, None)
        if whole:
            self._painted[row.piece_id] = _Painted(row, size, ratio, pixmap)
            while len(self._painted) > _KEPT_PAINTED:
                self._painted.popitem(last=False)
        return pixmap

    @staticmethod
    def _paint_ground(painter: QPainter, rect: QRectF, state: QStyle.StateFlag) -> None:
        look = theme.current()
        if state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, look.color("cobaltwash"))
        elif state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(rect, look.color("sunk"))
        painter.fillRect(
            QRectF(rect.left(), rect.bottom() - 1, rect.width(), 1), look.color("line")
        )
        if state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(look.color("cobalt"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(rect.adjusted(1, 1, -1, -2), 4, 4)

    def _paint_row(self, painter: QPainter, rect: QRectF, row: PieceRow) -> bool:
        """Paint all but the ground; False while its picture is not there."""
        look = theme.current()
        middle = rect.center().y()
        side = look.px(56)
        image = None
        missing = False
        if row.sha256 is not None:
            pictures = self._desk.pictures
            image = pictures.picture(row.sha256, row.suffix, SMALL_PX)
            missing = pictures.problem(row.sha256, SMALL_PX) is not None
        shape = form_shape(row.form_shape, row.profile)
        thumb = QRectF(rect.left() + 8, middle - side / 2, side, side)
        paint_thumbnail(painter, thumb, image, shape, missing)
        columns = self._columns(rect, thumb.right() + look.px(16))
        self._paint_name(painter, rect, columns["name"], row)
        self._paint_glazes(painter, rect, columns["glaze"], row)
        chip = QRectF(columns["stage"][0], middle - 12, columns["stage"][1], 24)
        paint_stage_chip(painter, chip, row.stage)
        self._paint_cone(painter, rect, columns["cone"], row)
        self._paint_fault(painter, rect, columns["fault"], row)
        return image is not None or row.sha256 is None

    @staticmethod
    def _columns(rect: QRectF, left: float) -> dict[str, tuple[float, float]]:
        """Left edge and width of each column; names and glazes take what the others leave."""
        look = theme.current()
        stage, cone, fault = look.px(128), look.px(104), look.px(188)
        room = rect.right() - left - stage - cone - fault - 8
        name = max(room * 0.44, 120.0)
        places = {"name": (left, name - 16)}
        at = left + name
        places["glaze"] = (at, max(room - name - 16, 60.0))
        at = left + room
        for column, wide in (("stage", stage), ("cone", cone), ("fault", fault)):
            places[column] = (at, wide - 12)
            at += wide
        return places

    @staticmethod
    def _paint_name(
        painter: QPainter, rect: QRectF, column: tuple[float, float], row: PieceRow
    ) -> None:
        look = theme.current()
        left, wide = column
        middle = rect.center().y()
        kind = "piece" if row.number is not None else "run"
        number = row.number if row.number is not None else row.run_number
        text = "" if number is None else str(number)
        size = mark_size(kind, text or "?")
        box = QRectF(left, middle - look.px(22), size.width(), size.height())
        paint_mark(painter, box, kind, text or "?", known=bool(text))
        font = look.font(BODY, 600)
        room = wide - size.width() - 10
        name = QFontMetricsF(font).elidedText(row.name, Qt.TextElideMode.ElideRight, room)
        _write(painter, QRectF(box.right() + 10, box.top(), room, box.height()), name, "ink", font)
        words = row.clay_name or "clay not said"
        if row.form_name and row.form_name != row.name:
            words = f"{row.form_name}, {words}"
        font = look.font(SECONDARY)
        words = QFontMetricsF(font).elidedText(words, Qt.TextElideMode.ElideRight, wide)
        _write(painter, QRectF(left, middle + 3, wide, look.px(20)), words, "ink2", font)

    @staticmethod
    def _paint_glazes(
        painter: QPainter, rect: QRectF, column: tuple[float, float], row: PieceRow
    ) -> None:
        look = theme.current()
        left, wide = column
        middle = rect.center().y()
        glazes = [GlazeLook(part.name, part.colour, part.pattern) for part in row.layers]
        clay = ClayLook(row.clay_name, row.clay_colour, row.clay_specks) if row.clay_name else None
        swatch = QRectF(left, middle - 15.5, 45, 31)
        if glazes or clay:
            paint_combination(painter, swatch, glazes, clay)
        room = wide - 55
        words = describe_combination(glazes) if glazes else "bare clay"
        font = look.font(SECONDARY, 500 if glazes else 400)
        shown = QFontMetricsF(font).elidedText(words, Qt.TextElideMode.ElideRight, room)
        tone = "ink" if glazes else "ink3"
        if not glazes:
            _write(painter, QRectF(left + 55, middle - 10, room, 20), shown, tone, font)
            return
        high = look.px(18)
        _write(painter, QRectF(left + 55, middle - high, room, high), shown, tone, font)
        where = row.zone
        if row.other_zones:
            where += f", and {row.other_zones} more zone{'' if row.other_zones == 1 else 's'}"
        font = look.font(CAPTION)
        where = QFontMetricsF(font).elidedText(where, Qt.TextElideMode.ElideRight, room)
        _write(painter, QRectF(left + 55, middle, room, high), where, "ink3", font)

    @staticmethod
    def _paint_cone(
        painter: QPainter, rect: QRectF, column: tuple[float, float], row: PieceRow
    ) -> None:
        if row.cone is None:
            return
        look = theme.current()
        middle, high = rect.center().y(), look.px(18)
        left, wide = column
        basis = BASIS_WORDS.get(row.cone_basis or "", "")
        tone = "rust" if row.cone_basis == "computed" else "cobalt"
        _write(
            painter,
            QRectF(left, middle - high, wide, high),
            f"cone {cone_words(row.cone)}",
            tone,
            look.font(SECONDARY, 600),
        )
        _write(painter, QRectF(left, middle, wide, high), basis, "ink3", look.font(CAPTION))

    @staticmethod
    def _paint_fault(
        painter: QPainter, rect: QRectF, column: tuple[float, float], row: PieceRow
    ) -> None:
        look = theme.current()
        middle, high = rect.center().y(), look.px(20)
        left, wide = column
        if row.worst_fault is None:
            severity = 0 if row.looked else None
            paint_severity_word(painter, QRectF(left, middle - high / 2, wide, high), severity)
            return
        paint_icon(
            painter, QRectF(left + 3, middle - 18, 16, 16), row.worst_fault, look.color("rust")
        )
        _write(
            painter,
            QRectF(left + 28, middle - high, wide - 28, high),
            FAULTS[row.worst_fault].capitalize(),
            "rust",
            look.font(SECONDARY, 600),
        )
        paint_severity_word(painter, QRectF(left, middle, wide, high), row.worst_severity)


def _write(painter: QPainter, rect: QRectF, words: str, tone: str, font: QFont) -> None:
    painter.setFont(font)
    painter.setPen(theme.current().color(tone))
    painter.drawText(rect, int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft), words)
