"""A kiln shelf seen from above: what stands where, which piece is meant, where faults were seen.

The door is at the bottom edge. A fault is a cross in its piece, the piece meant a ring with a dot,
so that neither needs its colour.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QToolTip, QWidget

from studiolog.desktop.tokens import CAPTION, MARK_LINE, SECONDARY
from studiolog.ui.parts.drawing import Drawing, colour, elided, path_of, pen, width_of, write


@dataclass(frozen=True)
class ShelfPiece:
    """One piece. ``shape`` is ``round``, ``hex`` or ``box``; its middle is at ``x_mm``, ``y_mm``
    from the back left corner, or not known."""

    ident: int
    label: str
    shape: str = "round"
    width_mm: float = 90.0
    depth_mm: float | None = None
    x_mm: float | None = None
    y_mm: float | None = None
    fault: str = ""
    """What was seen, in words; empty means no fault seen."""


@dataclass(frozen=True)
class ShelfLevel:
    """One level. ``cones`` are the labels of its cone pack, ``aimed_cone`` one of them."""

    name: str
    width_mm: float
    depth_mm: float
    pieces: tuple[ShelfPiece, ...] = ()
    round_shelf: bool = False
    cones: tuple[str, ...] = ()
    aimed_cone: str = ""
    fill_percent: float | None = None


Spot = tuple[ShelfPiece, float, float]
"""A piece with its middle in mm."""
_COLUMN_MM = 10.0
_GAPS_MM = (6.0, 2.0)


def placed(level: ShelfLevel) -> list[Spot]:
    """Every piece with its middle in mm; those without a place are set from the back, widest first.

    They stand round the pieces whose place is known, in the rearmost room that is free. If they do
    not all fit they are set closer; if they do not fit even so, the last ones stand in the rows
    they would need, pressed onto the shelf, and `overlapping` tells so.
    """
    known = [(p, p.x_mm, p.y_mm) for p in level.pieces if p.x_mm is not None and p.y_mm is not None]
    rest = sorted(
        (p for p in level.pieces if p.x_mm is None or p.y_mm is None), key=lambda p: -p.width_mm
    )
    spots: list[Spot] = []
    for gap in _GAPS_MM:
        spots = _lay(level, known, rest, gap)
        if all(_on_shelf(level, spot) for spot in spots):
            break
    return [*known, *(spot if _on_shelf(level, spot) else _pressed(level, spot) for spot in spots)]


def overlapping(spots: Sequence[Spot]) -> int:
    """How many pieces lie over another by more than a drawing shows, 1 mm."""
    over: set[int] = set()
    for place, one in enumerate(spots):
        for number, other in enumerate(spots[place + 1 :], place + 1):
            if _overlap(one, other):
                over |= {place, number}
    return len(over)


def _overlap(one: Spot, other: Spot) -> bool:
    across, along = abs(one[1] - other[1]), abs(one[2] - other[2])
    wide = (one[0].width_mm + other[0].width_mm) / 2
    deep = (_deep(one[0]) + _deep(other[0])) / 2
    if one[0].shape == other[0].shape == "round":
        return math.hypot(across, along) < wide - 1
    return across < wide - 1 and along < deep - 1


def _deep(piece: ShelfPiece) -> float:
    return piece.depth_mm or piece.width_mm


def _lay(level: ShelfLevel, known: list[Spot], rest: list[ShelfPiece], gap: float) -> list[Spot]:
    """Set pieces one by one where they come to stand farthest back, in columns of 10 mm.

    Each column keeps the spans along it that are taken; a piece goes where all its columns have
    room. A level fuller than the shelf runs over its front edge.
    """
    columns = max(int(level.width_mm / _COLUMN_MM), 1)
    taken: list[list[tuple[float, float]]] = [[] for _ in range(columns)]

    def take(spot: Spot) -> None:
        piece, x, y = spot
        first = int((x - piece.width_mm / 2 - gap) / _COLUMN_MM)
        last = math.ceil((x + piece.width_mm / 2 + gap) / _COLUMN_MM)
        half = _deep(piece) / 2 + gap
        for column in range(max(first, 0), min(last, columns)):
            taken[column].append((y - half, y + half))

    for spot in known:
        take(spot)
    spots: list[Spot] = []
    for piece in rest:
        wide = min(math.ceil(piece.width_mm / _COLUMN_MM), columns)
        best: tuple[bool, float, float] | None = None
        for first in range(columns - wide + 1):
            x = max(first * _COLUMN_MM + piece.width_mm / 2, gap + piece.width_mm / 2)
            if x + piece.width_mm / 2 > level.width_mm - gap and first:
                continue
            spans = sorted(span for column in taken[first : first + wide] for span in column)
            y = _rearmost(level, piece, x, spans, gap)
            tried = (not _on_shelf(level, (piece, x, y)), y, x)
            if best is None or tried < best:
                best = tried
        _, y, x = best or (True, level.depth_mm, level.width_mm / 2)
        spot = (piece, x, y)
        spots.append(spot)
        take(spot)
    return spots


def _rearmost(
    level: ShelfLevel,
    piece: ShelfPiece,
    x: float,
    spans: Sequence[tuple[float, float]],
    gap: float,
) -> float:
    """The middle farthest back at which a piece at ``x`` clears the spans and the shelf's edge."""
    half = _deep(piece) / 2
    y = gap + half
    if level.round_shelf:
        radius = min(level.width_mm, level.depth_mm) / 2 - gap - max(piece.width_mm / 2, half)
        away = x - level.width_mm / 2
        if radius < abs(away):
            return 2 * level.depth_mm + abs(away)
        y = level.depth_mm / 2 - math.sqrt(radius**2 - away**2)
    for low, high in spans:
        if y + half > low and y - half < high:
            y = high + half
    return y


def _on_shelf(level: ShelfLevel, spot: Spot) -> bool:
    piece, x, y = spot
    if level.round_shelf:
        off = math.hypot(x - level.width_mm / 2, y - level.depth_mm / 2)
        return off + max(piece.width_mm, _deep(piece)) / 2 <= level.width_mm / 2 + 1
    return y + _deep(piece) / 2 <= level.depth_mm + 1


def _pressed(level: ShelfLevel, spot: Spot) -> Spot:
    """A piece that found no room, moved in over the edge of the shelf."""
    piece, x, y = spot
    half = _deep(piece) / 2
    if level.round_shelf:
        return piece, level.width_mm / 2, level.depth_mm / 2
    return piece, x, max(min(y, level.depth_mm - half), half)


def place_words(level: ShelfLevel, x_mm: float, y_mm: float) -> str:
    """Roughly where: ``back left``, ``middle``, ``front right``."""
    across = ("left", "", "right")[min(int(3 * x_mm / max(level.width_mm, 1)), 2)]
    along = ("back", "middle", "front")[min(max(int(3 * y_mm / max(level.depth_mm, 1)), 0), 2)]
    return f"{along} {across}".strip()


class KilnShelf(Drawing):
    """A level of the load. Arrows step through the pieces, Enter or a click chooses one."""

    piece_chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Kiln shelf", parent)
        self._level = ShelfLevel("Shelf", 400, 400)
        self._placed: list[tuple[ShelfPiece, float, float]] = []
        self._meant: int | None = None
        self._at: int | None = None
        self.tell()

    def show_level(self, level: ShelfLevel, meant: int | None = None) -> None:
        """Show a level; ``meant`` is the ident of the piece to point out."""
        self._level, self._meant = level, meant
        self._placed = sorted(placed(level), key=lambda spot: (round(spot[2] / 60), spot[1]))
        self._at = None
        self.setAccessibleName(f"{level.name} shelf, seen from above")
        self.tell()

    def sentence(self) -> str:
        """``Bottom: 15 pieces, 69 % full. Piece 412 stands back right. Fault seen on 1: …``"""
        level = self._level
        count = len(level.pieces)
        words = f"{level.name}: {count} piece{'' if count == 1 else 's'}"
        if level.fill_percent is not None:
            words += f", {level.fill_percent:.0f} % full"
        parts = [words]
        for piece, x, y in self._placed:
            if piece.ident == self._meant:
                parts.append(f"{piece.label} stands {place_words(level, x, y)}")
        faults = [f"{piece.label}, {piece.fault}" for piece, _, _ in self._placed if piece.fault]
        if faults:
            parts.append(f"Fault seen on {len(faults)}: {'; '.join(faults)}")
        if level.cones:
            pack = ", ".join(
                f"{cone} (aimed at)" if cone == level.aimed_cone else cone for cone in level.cones
            )
            parts.append(f"Cone pack {pack}")
        unplaced = sum(1 for p in level.pieces if p.x_mm is None or p.y_mm is None)
        if unplaced:
            parts.append(f"{unplaced} without a recorded place, set in rows")
        over = overlapping(self._placed)
        if over:
            parts.append(f"{over} drawn over each other: they do not all fit")
        return ". ".join(parts) + "."

    # Places

    def shelf_rect(self) -> QRectF:
        """The shelf in widget pixels, the true proportions kept."""
        room = QRectF(1, 1, self.wide() - 2, self.tall() - 26)
        scale = min(
            room.width() / max(self._level.width_mm, 1),
            room.height() / max(self._level.depth_mm, 1),
        )
        wide, deep = self._level.width_mm * scale, self._level.depth_mm * scale
        return QRectF(room.left(), room.top(), wide, deep)

    def _piece_rect(self, spot: tuple[ShelfPiece, float, float]) -> QRectF:
        shelf = self.shelf_rect()
        scale = shelf.width() / max(self._level.width_mm, 1)
        piece, x, y = spot
        wide, deep = piece.width_mm * scale, (piece.depth_mm or piece.width_mm) * scale
        middle = QPointF(shelf.left() + x * scale, shelf.top() + y * scale)
        return QRectF(middle.x() - wide / 2, middle.y() - deep / 2, wide, deep)

    def _spot_at(self, at: QPointF) -> int | None:
        for place, spot in enumerate(self._placed):
            if self._piece_rect(spot).contains(at):
                return place
        return None

    def sizeHint(self) -> QSize:
        return self.asked(124, 150)

    def minimumSizeHint(self) -> QSize:
        return self.asked(96, 118)

    # Input

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            place = self._spot_at(self.spot(QPointF(event.pos())))
            QToolTip.showText(event.globalPos(), self._said(place), self)
            return True
        return super().event(event)

    def _said(self, place: int | None) -> str:
        if place is None:
            return self.sentence()
        piece, x, y = self._placed[place]
        fault = f", {piece.fault}" if piece.fault else ""
        return f"{piece.label}, {place_words(self._level, x, y)}{fault}"

    def mousePressEvent(self, event: QMouseEvent) -> None:
        place = self._spot_at(self.spot(event.position()))
        if place is None:
            super().mousePressEvent(event)
            return
        self._at = place
        self.update()
        self.piece_chosen.emit(self._placed[place][0].ident)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, count = event.key(), len(self._placed)
        if count and key in (Qt.Key.Key_Right, Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Up):
            step = 1 if key in (Qt.Key.Key_Right, Qt.Key.Key_Down) else -1
            now = self._at if self._at is not None else (-1 if step > 0 else 0)
            self._at = (now + step) % count
            self.setAccessibleDescription(self._said(self._at))
            self.update()
        elif self._at is not None and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.piece_chosen.emit(self._placed[self._at][0].ident)
        else:
            super().keyPressEvent(event)

    # Paint

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        shelf = self.shelf_rect()
        painter.setPen(pen("ink", 1.5))
        painter.setBrush(QBrush(colour("sheet")))
        if self._level.round_shelf:
            painter.drawEllipse(shelf)
        else:
            painter.drawRoundedRect(shelf, 4, 4)
        for place, spot in enumerate(self._placed):
            self._paint_piece(painter, spot, self.hasFocus() and place == self._at)
        self._paint_cones(painter, shelf)
        self._paint_caption(painter, shelf)
        if self._at is None:
            self.paint_focus(painter, 4)
        painter.end()

    def _paint_piece(
        self, painter: QPainter, spot: tuple[ShelfPiece, float, float], focused: bool
    ) -> None:
        piece = spot[0]
        box = self._piece_rect(spot)
        meant = piece.ident == self._meant
        token = "cobalt" if meant else "rust" if piece.fault else "ink2"
        ground = "cobaltwash" if meant else "rustwash" if piece.fault else "paper"
        painter.setPen(pen(token, 2.0 if meant else MARK_LINE))
        painter.setBrush(QBrush(colour(ground)))
        self._body(painter, piece, box)
        middle = box.center()
        if piece.fault:
            arm = max(min(box.width(), box.height()) * 0.14, 3.0)
            painter.setPen(pen("rust", 1.75))
            painter.drawLine(middle + QPointF(-arm, -arm), middle + QPointF(arm, arm))
            painter.drawLine(middle + QPointF(-arm, arm), middle + QPointF(arm, -arm))
        elif meant:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QBrush(colour("cobalt")))
            painter.drawEllipse(middle, 3.5, 3.5)
        if focused:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen("cobalt", 2.0))
            painter.drawRoundedRect(box.adjusted(-2, -2, 2, 2), 4, 4)

    @staticmethod
    def _body(painter: QPainter, piece: ShelfPiece, box: QRectF) -> None:
        if piece.shape == "hex":
            quarter = box.width() / 4
            painter.drawPath(
                path_of(
                    [
                        (box.left(), box.center().y()),
                        (box.left() + quarter, box.top()),
                        (box.right() - quarter, box.top()),
                        (box.right(), box.center().y()),
                        (box.right() - quarter, box.bottom()),
                        (box.left() + quarter, box.bottom()),
                    ]
                )
            )
        elif piece.shape == "box":
            painter.drawRect(box)
            painter.drawLine(
                QPointF(box.left(), box.center().y()), QPointF(box.right(), box.center().y())
            )
        else:
            painter.drawEllipse(box)
            line = painter.pen()
            line.setWidthF(1.0)
            painter.setPen(line)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            wall = max(box.width() * 0.06, 2.0)
            painter.drawEllipse(box.adjusted(wall, wall, -wall, -wall))
            if box.width() > 34 and not piece.fault:
                # A wide pot shows the ring of its floor.
                ring = box.width() * 0.3
                painter.drawEllipse(box.adjusted(ring, ring, -ring, -ring))

    def _paint_cones(self, painter: QPainter, shelf: QRectF) -> None:
        """The cone pack at the front right corner, the aimed cone solid."""
        count = len(self._level.cones)
        for index, cone in enumerate(self._level.cones):
            x = shelf.right() - 11 - (count - 1 - index) * 10
            y = shelf.bottom() - 7
            if self._level.round_shelf:
                x = shelf.center().x() + (index - (count - 1) / 2) * 10
            aimed = cone == self._level.aimed_cone
            painter.setPen(pen("cobalt" if aimed else "ink2", 1.0))
            painter.setBrush(QBrush(colour("cobalt" if aimed else "sheet")))
            painter.drawPath(path_of([(x - 4, y), (x + 4, y), (x, y - 9)]))

    def _paint_caption(self, painter: QPainter, shelf: QRectF) -> None:
        y = shelf.bottom() + 14
        fill = self._level.fill_percent
        count = f"{len(self._level.pieces)}" + ("" if fill is None else f", {fill:.0f} %")
        right = QPointF(max(shelf.right(), 90), y)
        write(painter, right, count, "ink3", CAPTION, 400, "right")
        room = right.x() - width_of(count, CAPTION) - 8
        name = elided(self._level.name, SECONDARY, room, 600)
        write(painter, QPointF(shelf.left(), y), name, "ink", SECONDARY, 600)
