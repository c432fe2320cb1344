"""Where a fault begins on a clay: the curve of its chance over the calculated expansion.

The studio's glazes stand along the axis as their own swatches. Above the curve are the pieces the
fault was seen on, on the axis those looked at on which none was seen; a glaze nobody looked at on
this clay has a grey dash.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop import theme, tokens
from studiolog.ui.parts.swatch import GlazeLook, paint_glaze_swatch
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    TextLine,
    cut_name,
    draw_card,
    draw_line_of_text,
    ink,
    pen,
    px,
)
from studiolog.ui.plots.plot_ticks import nice_step

_ROWS = 6  # of swatches under the axis, at the most
_NEAR = 18.0


@dataclass(frozen=True)
class PlotGlaze:
    """A glaze on the axis: pieces with the fault, and without, in a stress test or not."""

    glaze_id: int
    look: GlazeLook
    expansion: float
    seen: int = 0
    stressed: int = 0
    unstressed: int = 0
    words: str = ""

    @property
    def was_looked_at(self) -> bool:
        return bool(self.seen or self.stressed or self.unstressed)


@dataclass(frozen=True)
class PlotChance:
    """The chance at one expansion, with its interval, 0 to 1."""

    expansion: float
    mean: float
    low: float
    high: float


@dataclass(frozen=True)
class PlotThreshold:
    """Where half the glazes show the fault, with its interval and its words."""

    mean: float
    low: float
    high: float
    words: str


@dataclass(frozen=True)
class _Placed:
    """A glaze, the middle of its column, and where its swatch and its name stand (if they do)."""

    glaze: PlotGlaze
    x: float
    row: int
    box: QRectF
    name: bool


class FitPlot(QWidget):
    """Left and Right go from glaze to glaze, Enter opens the pieces of the one stood on.

    ``chosen`` carries the id of the glaze stood on, ``opened`` that of one opened.
    """

    chosen = Signal(int)
    opened = Signal(int)

    def __init__(self, about: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._glazes: tuple[PlotGlaze, ...] = ()
        self._curve: tuple[PlotChance, ...] = ()
        self._threshold: PlotThreshold | None = None
        self._sentence = ""
        self._at: int | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(about)
        theme.current().changed.connect(self._rescale)
        self._rescale()

    def show_fit(
        self,
        glazes: Sequence[PlotGlaze],
        curve: Sequence[PlotChance],
        threshold: PlotThreshold,
        sentence: str,
    ) -> None:
        """Draw glazes by rising expansion over the curve; ``sentence`` says it in words."""
        stood = self.selected()
        self._glazes, self._curve = tuple(glazes), tuple(curve)
        self._threshold, self._sentence = threshold, sentence
        ids = [one.glaze_id for one in self._glazes]
        self._at = ids.index(stood.glaze_id) if stood and stood.glaze_id in ids else None
        self._describe()
        self._rescale()

    def selected(self) -> PlotGlaze | None:
        """The glaze that is stood on."""
        return self._glazes[self._at] if self._at is not None else None

    def choose(self, glaze_id: int) -> None:
        """Stand on a glaze without telling anyone; 0 stands on none."""
        ids = [one.glaze_id for one in self._glazes]
        self._at = ids.index(glaze_id) if glaze_id in ids else None
        self._describe()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(520, self.height())

    def minimumSizeHint(self) -> QSize:
        return QSize(round(px(260)), self.height())

    def _rescale(self) -> None:
        """As high as the rows of swatches need at this width."""
        rows = 1 + max((one.row for one in self._place(self._frame())), default=0)
        self.setFixedHeight(round(px(216) + px(rows * 20)))
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._rescale()

    def _describe(self) -> None:
        stood = self.selected()
        told = f"{stood.words} {self._sentence}" if stood is not None else self._sentence
        self.setAccessibleDescription(told)

    # What a person does

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, last = event.key(), len(self._glazes) - 1
        stood = self.selected()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and stood is not None:
            self.opened.emit(stood.glaze_id)
        elif key == Qt.Key.Key_Home and last >= 0:
            self._stand(0)
        elif key == Qt.Key.Key_End and last >= 0:
            self._stand(last)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right) and last >= 0:
            way = 1 if key == Qt.Key.Key_Right else -1
            first = 0 if way > 0 else last
            self._stand(first if self._at is None else min(max(self._at + way, 0), last))
        else:
            super().keyPressEvent(event)

    def _stand(self, place: int) -> None:
        self._at = place
        self._describe()
        self.chosen.emit(self._glazes[place].glaze_id)
        self.update()

    def focusInEvent(self, event: object) -> None:
        self.update()

    def focusOutEvent(self, event: object) -> None:
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = self._under(event.position())
        if found is not None:
            self._stand(found)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        found = self._under(event.position())
        if found is not None:
            self.opened.emit(self._glazes[found].glaze_id)

    def _under(self, spot: QPointF) -> int | None:
        """The glaze whose swatch is under the pointer, else the one whose column is near."""
        if not self._glazes:
            return None
        frame = self._frame()
        placed = self._place(frame)
        for one in placed:
            if one.box.contains(spot):
                return self._glazes.index(one.glaze)
        if spot.y() > frame.rect.bottom() + px(20):
            return None
        best = min(placed, key=lambda one: abs(one.x - spot.x()))
        return self._glazes.index(best.glaze) if abs(best.x - spot.x()) < _NEAR else None

    # How it is drawn

    def _frame(self) -> Frame:
        """Expansions across, chances up, as shares of one."""
        rect = QRectF(px(46), px(28), self.width() - px(62), px(148))
        low = min((one.expansion for one in self._curve), default=5.0)
        high = max((one.expansion for one in self._curve), default=9.0)
        return Frame(rect, low, max(high, low + 0.5), 0.0, 1.0)

    def _place(self, frame: Frame) -> list[_Placed]:
        """Each glaze's swatch in the first row with room; a name where there is room for it."""
        caption = TextLine("", "ink2", tokens.CAPTION)
        wide, high = px(22), px(14)
        top = frame.rect.bottom() + px(24) + caption.height() * 0.5
        ends = [float("-inf")] * _ROWS
        found = []
        for glaze in self._glazes:
            x = frame.x(glaze.expansion)
            left = x - wide / 2
            name = TextLine(cut_name(glaze.look.name), "ink2", tokens.CAPTION)
            long = wide + px(5) + name.width()
            row = next((n for n in range(_ROWS) if ends[n] < left - px(6)), None)
            fits = row is not None and left + long < self.width() - px(6)
            # At the right edge the name stands before the swatch.
            before = row is not None and not fits and ends[row] < x - long - px(6)
            place = _ROWS - 1 if row is None else row
            box = QRectF(left, top + place * px(20), wide, high)
            ends[place] = box.right() + (long - wide if fits else 0.0)
            found.append(_Placed(glaze, x, place, box, fits or before))
        return found

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        draw_card(painter, QRectF(self.rect()))
        frame = self._frame()
        placed = self._place(frame)
        self._draw_axes(painter, frame)
        self._draw_curve(painter, frame)
        if self._threshold is not None:
            self._draw_threshold(painter, frame, self._threshold)
        for one in placed:
            self._draw_leader(painter, frame, one)
        for one in placed:
            self._draw_glaze(painter, frame, one)
        ceiling, floor = frame.rect.top() - px(8), frame.rect.bottom()
        seen = [(one, one.glaze.seen) for one in placed]
        sound = [(one, one.glaze.stressed + one.glaze.unstressed) for one in placed]
        self._draw_counts(painter, seen, ceiling, ceiling, "rust")
        self._draw_counts(painter, sound, floor, floor - px(9), "celadon")
        if self.hasFocus():
            painter.setPen(pen("cobalt", 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 6, 6)
        painter.end()

    def _draw_axes(self, painter: QPainter, frame: Frame) -> None:
        rect = frame.rect
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            y = frame.y(share)
            painter.setPen(pen("ink" if share == 0.0 else "line", 1.0))
            painter.drawLine(QPointF(rect.left(), y), QPointF(rect.right(), y))
            words = f"{share * 100:.0f}" + ("\N{NARROW NO-BREAK SPACE}%" if share == 1.0 else "")
            text = TextLine(words, "ink3", tokens.CAPTION)
            draw_line_of_text(painter, rect.left() - text.width() - 7, y - text.height() / 2, text)
        step = nice_step(frame.high_s - frame.low_s, max(2, int(rect.width() / px(64))))
        n = int(frame.low_s // step) + 1
        top = rect.bottom() + px(14)
        unit = TextLine("ppm/K", "ink3", tokens.CAPTION)
        room = rect.right() - unit.width() - px(10)
        while n * step <= frame.high_s:
            x = frame.x(n * step)
            painter.setPen(pen("line2", 1.0))
            painter.drawLine(QPointF(x, rect.bottom()), QPointF(x, rect.bottom() + 4))
            text = TextLine(f"{n * step:.{0 if step >= 1 else 1}f}", "ink3", tokens.CAPTION)
            if x + text.width() / 2 < room:
                draw_line_of_text(painter, x - text.width() / 2, top, text)
            n += 1
        draw_line_of_text(painter, rect.right() - unit.width(), top, unit)

    def _draw_curve(self, painter: QPainter, frame: Frame) -> None:
        if len(self._curve) < 2:
            return
        upper = [frame.point(one.expansion, one.high) for one in self._curve]
        lower = [frame.point(one.expansion, one.low) for one in self._curve]
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(ink("sunk"))
        painter.drawPolygon(QPolygonF([*upper, *reversed(lower)]))
        # Over the band the grid shows again.
        painter.setPen(pen("line", 1.0))
        for share in (0.25, 0.5, 0.75):
            painter.drawLine(
                QPointF(frame.rect.left(), frame.y(share)),
                QPointF(frame.rect.right(), frame.y(share)),
            )
        painter.setPen(pen("ink", 2.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolyline(
            QPolygonF([frame.point(one.expansion, one.mean) for one in self._curve])
        )

    def _draw_threshold(self, painter: QPainter, frame: Frame, one: PlotThreshold) -> None:
        rect, y = frame.rect, frame.y(0.5)
        left, right = max(frame.x(one.low), rect.left()), min(frame.x(one.high), rect.right())
        painter.setPen(pen("ink", 1.75))
        painter.drawLine(QPointF(left, y), QPointF(right, y))
        for x in (left, right):
            painter.drawLine(QPointF(x, y - 4.5), QPointF(x, y + 4.5))
        middle = QPointF(min(max(frame.x(one.mean), rect.left()), rect.right()), y)
        painter.setBrush(ink("sheet"))
        reach = 5.5
        painter.drawPolygon(
            QPolygonF(
                [
                    middle + QPointF(0, -reach),
                    middle + QPointF(reach, 0),
                    middle + QPointF(0, reach),
                    middle + QPointF(-reach, 0),
                ]
            )
        )
        text = TextLine(one.words, "ink", tokens.CAPTION)
        # Beside the curve, where there is room: it rises to the right, or falls.
        rises = self._curve[-1].mean >= self._curve[0].mean if self._curve else True
        at = rect.left() + px(6) if rises else rect.right() - text.width() - px(6)
        free = (left - rect.left()) if rises else (rect.right() - right)
        top = y - text.height() - 2 if free < text.width() + px(14) else y - text.height() / 2
        draw_line_of_text(painter, at, top, text, "sheet")

    def _draw_leader(self, painter: QPainter, frame: Frame, one: _Placed) -> None:
        stood = one.glaze is self.selected()
        top = frame.rect.top() if stood else frame.rect.bottom() + 4
        painter.setPen(pen("cobalt" if stood else "line2", 1.25 if stood else 0.75, (2, 3)))
        painter.drawLine(QPointF(one.x, top), QPointF(one.x, one.box.top() - 1))

    def _draw_glaze(self, painter: QPainter, frame: Frame, one: _Placed) -> None:
        glaze, x = one.glaze, one.x
        stood = glaze is self.selected()
        floor, ceiling = frame.rect.bottom(), frame.rect.top()
        if glaze.seen:
            half = 4.0
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(ink("rust"))
            painter.drawRect(QRectF(x - half, ceiling - px(8) - half, 2 * half, 2 * half))
        sound = glaze.stressed + glaze.unstressed
        if sound:
            painter.setPen(QPen(ink("celadon"), 1.75))
            painter.setBrush(ink("sheet"))
            painter.drawEllipse(QPointF(x, floor), 4.5, 4.5)
            if glaze.stressed:
                painter.setBrush(ink("celadon"))
                painter.setPen(Qt.PenStyle.NoPen)
                painter.drawEllipse(QPointF(x, floor), 2.0, 2.0)
        if not glaze.was_looked_at:
            painter.setPen(QPen(ink("ink3"), 1.75))
            painter.drawLine(QPointF(x - 4.5, floor - px(7)), QPointF(x + 4.5, floor - px(7)))
        paint_glaze_swatch(painter, one.box, glaze.look)
        if stood:
            painter.setPen(pen("cobalt", 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(one.box.adjusted(-3, -3, 3, 3), 5, 5)
        if one.name:
            tone = "ink" if stood else "ink2" if glaze.was_looked_at else "ink3"
            text = TextLine(cut_name(glaze.look.name), tone, tokens.CAPTION)
            left = one.box.right() + px(5)
            if left + text.width() > self.width() - px(4):
                left = one.box.left() - px(5) - text.width()
            draw_line_of_text(
                painter, left, one.box.center().y() - text.height() / 2, text, "sheet"
            )

    def _draw_counts(
        self,
        painter: QPainter,
        counts: Sequence[tuple[_Placed, int]],
        marks: float,
        level: float,
        colour: str,
    ) -> None:
        """How many pieces each mark stands for, where there is room; the keyboard tells them all.

        The glaze stood on goes first, then those with the most pieces. ``marks`` is the height of
        the marks, ``level`` that of the numbers.
        """
        there = [(one, count) for one, count in counts if count]
        taken = [QRectF(one.x - 5, marks - 5, 10, 10) for one, _ in there]
        stood = self.selected()
        for one, count in sorted(there, key=lambda pair: (pair[0].glaze is not stood, -pair[1])):
            text = TextLine(str(count), colour, tokens.CAPTION, 600)
            box = QRectF(one.x + px(7), level - px(6), text.width(), px(12))
            if any(box.adjusted(-2, 0, 2, 0).intersects(other) for other in taken):
                continue
            taken.append(box)
            top = level - text.height() / 2
            draw_line_of_text(painter, box.left(), top, text, "sheet")
