"""Silica against alumina, moles per mole of flux: each glaze as its own swatch among ratio rays.

Axes after R. T. Stull, Trans. Am. Ceram. Soc. 14, 1912 (the year and axes from the reference; the
volume from memory). No region is drawn: his were for one flux set and one heat.
"""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.units import show_number
from studiolog.desktop import theme, tokens
from studiolog.journal.glaze_map import MapAsk, MapGlaze, say_map_glaze
from studiolog.ui.parts.marks import paint_focus_ring
from studiolog.ui.plots.glaze_map_marks import (
    look_of,
    mark_reach,
    paint_descent,
    paint_glaze_mark,
    spots_between,
)
from studiolog.ui.plots.label_room import LabelRoom, PlacedLabel
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    TextLine,
    cut_name,
    draw_card,
    draw_line_of_text,
    draw_lines,
    ink,
    lines_size,
    pen,
    px,
)
from studiolog.ui.plots.plot_ticks import nice_step

RATIOS: Final = (3, 4, 5, 6, 7, 8, 10, 12, 14, 18)
SAID: Final = ((4.4, "matt"), (6.45, "semi-matt"), (8.9, "bright"))
"""What the ratio is said to mean, and a ratio in its middle; from memory, see the caption."""
_LEAST_X, _LEAST_Y = 1.2, 0.18  # moles: no closer at first, so that few glazes keep their scale
_MOST_ZOOM = 12.0


class GlazeMapPlot(QWidget):
    """Arrows walk the glazes: left and right by silica, up and down by alumina. Enter opens one.

    ``stood_on`` carries the id under the pointer or the keyboard, 0 for none; ``opened`` the id of
    the glaze to open. Plus, minus and 0 zoom, so does the wheel; dragging moves the ground.
    """

    stood_on = Signal(int)
    opened = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._ask = MapAsk()
        self._glazes: tuple[MapGlaze, ...] = ()
        self._current = 0
        self._hover = 0
        self._view = (0.0, 4.0, 0.0, 0.6)
        self._whole = self._view
        self._drag: tuple[QPointF, tuple[float, float, float, float]] | None = None
        self._placed: dict[int, PlacedLabel] = {}
        self._placed_for: object = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Map of glazes: silica across, alumina up, moles per mole of flux")
        theme.current().changed.connect(self.update)

    # What is shown

    def show_map(self, glazes: Sequence[MapGlaze], ask: MapAsk, marked: int = 0) -> None:
        """Show glazes; ``marked`` is stood on. What was looked at closely stays so."""
        before = {one.glaze_id for one in self._glazes}
        self._glazes, self._ask = tuple(glazes), ask
        ids = {one.glaze_id for one in self._glazes}
        if marked in ids:
            self._current = marked
        elif self._current not in ids:
            self._current = 0
        self._hover = 0
        self._placed_for = None
        if ids != before:
            self._whole = self._view = _view_of(self._glazes)
        self._tell()
        self.update()

    def current(self) -> MapGlaze | None:
        """The glaze the pointer is over, or else the one the keyboard stands on."""
        return self._glaze(self._hover) or self._glaze(self._current)

    def zoom(self, factor: float, at: QPointF | None = None) -> None:
        """Come closer (above 1) or go back, keeping what lies at a pixel where it is."""
        x0, x1, y0, y1 = self._view
        frame = self._frame()
        spot = at or frame.rect.center()
        x, y = frame.time_at(spot.x()), self._value_at(frame, spot.y())
        widest = self._whole[1] - self._whole[0]
        factor = min(max(factor, (x1 - x0) / (1.6 * widest)), (x1 - x0) * _MOST_ZOOM / widest)
        self._view = (
            *(x - (x - x0) / factor, x + (x1 - x) / factor),
            *(y - (y - y0) / factor, y + (y1 - y) / factor),
        )
        self.update()

    def show_whole(self) -> None:
        """Show all glazes again."""
        self._view = self._whole
        self.update()

    def _glaze(self, glaze_id: int) -> MapGlaze | None:
        return next((one for one in self._glazes if one.glaze_id == glaze_id), None)

    def _tell(self) -> None:
        here = self.current()
        named = [say_map_glaze(one, self._ask) for one in self._glazes if not one.trial]
        trials = sum(one.trial for one in self._glazes)
        if here is not None:
            named.insert(0, say_map_glaze(here, self._ask))
        if trials:
            named.append(f"And {trials} of test tiles.")
        self.setAccessibleDescription(" ".join(named) or "No glaze is on the map.")
        self.stood_on.emit(here.glaze_id if here is not None else 0)

    def sizeHint(self) -> QSize:
        return QSize(round(px(860)), self.minimumSizeHint().height())

    def minimumSizeHint(self) -> QSize:
        """Qt: it takes what is left of its sheet, and this at the least."""
        return QSize(round(px(260)), round(px(190)))

    # Keys and the mouse

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        ways = {
            Qt.Key.Key_Left: ("silica", -1),
            Qt.Key.Key_Right: ("silica", 1),
            Qt.Key.Key_Up: ("alumina", 1),
            Qt.Key.Key_Down: ("alumina", -1),
        }
        if Qt.Key(key) in ways and self._glazes:
            self._walk(*ways[Qt.Key(key)])
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End) and self._glazes:
            order = self._in_order("silica")
            self._stand_on(order[0 if key == Qt.Key.Key_Home else -1])
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._current:
            self.opened.emit(self._current)
        elif event.text() in ("+", "="):
            here = self._glaze(self._current)
            self.zoom(1.4, self._spot(self._frame(), here) if here is not None else None)
        elif event.text() in ("-", "−"):
            self.zoom(1 / 1.4)
        elif event.text() == "0":
            self.show_whole()
        else:
            super().keyPressEvent(event)

    def _in_order(self, by: str) -> list[MapGlaze]:
        other = "alumina" if by == "silica" else "silica"
        return sorted(self._glazes, key=lambda g: (getattr(g, by), getattr(g, other), g.glaze_id))

    def _walk(self, by: str, step: int) -> None:
        order = self._in_order(by)
        here = next((n for n, g in enumerate(order) if g.glaze_id == self._current), None)
        if here is None:
            self._stand_on(order[0 if step > 0 else -1])
            return
        self._stand_on(order[max(0, min(len(order) - 1, here + step))])

    def _stand_on(self, glaze: MapGlaze) -> None:
        self._current, self._hover = glaze.glaze_id, 0
        spot = self._spot(self._frame(), glaze)
        if not self._frame().rect.contains(spot):
            # Out of sight while looked at closely: the ground moves to it.
            x0, x1, y0, y1 = self._view
            across, up = (x1 - x0) / 2, (y1 - y0) / 2
            self._view = (
                *(glaze.silica - across, glaze.silica + across),
                *(glaze.alumina - up, glaze.alumina + up),
            )
        self._tell()
        self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._drag is not None:
            start, (x0, x1, y0, y1) = self._drag
            frame = self._frame()
            moved = event.position() - start
            across = moved.x() / frame.rect.width() * (x1 - x0)
            up = moved.y() / frame.rect.height() * (y1 - y0)
            self._view = (x0 - across, x1 - across, y0 + up, y1 + up)
            self.update()
            return
        under = self._under(event.position())
        if under != self._hover:
            self._hover = under
            self.setCursor(
                Qt.CursorShape.PointingHandCursor if under else Qt.CursorShape.ArrowCursor
            )
            self._tell()
            self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        under = self._under(event.position())
        glaze = self._glaze(under)
        if glaze is not None:
            self._stand_on(glaze)
        elif event.button() == Qt.MouseButton.LeftButton:
            self._drag = (event.position(), self._view)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self._drag = None

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        under = self._under(event.position())
        if under:
            self.opened.emit(under)

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.zoom(1.15 ** (event.angleDelta().y() / 120), event.position())
        event.accept()

    def leaveEvent(self, event: QEvent) -> None:
        if self._hover:
            self._hover = 0
            self._tell()
            self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.update()

    def _under(self, spot: QPointF) -> int:
        frame = self._frame()
        best: tuple[float, int] | None = None
        for glaze in self._glazes:
            apart = (self._spot(frame, glaze) - spot).manhattanLength()
            if apart < 1.4 * mark_reach(glaze.trial) and (best is None or apart < best[0]):
                best = (apart, glaze.glaze_id)
        if best is not None:
            return best[1]
        # A name stands for its glaze.
        named = (i for i, placed in self._placed.items() if placed.box.contains(spot))
        return next(named, 0)

    # Where things are

    def _frame(self) -> Frame:
        box = QRectF(self.rect())
        rect = box.adjusted(px(58), px(30), -px(46), -px(46))
        x0, x1, y0, y1 = self._view
        return Frame(rect, x0, x1, y0, y1)

    @staticmethod
    def _value_at(frame: Frame, y: float) -> float:
        share = (frame.rect.bottom() - y) / frame.rect.height()
        return frame.low + share * (frame.high - frame.low)

    @staticmethod
    def _spot(frame: Frame, glaze: MapGlaze) -> QPointF:
        return frame.point(glaze.silica, glaze.alumina)

    @staticmethod
    def _ray(frame: Frame, ratio: float) -> tuple[QPointF, QPointF, bool] | None:
        """A ray of one ratio inside the frame: where it enters, where it leaves, if by the top."""
        x0, x1 = max(frame.low_s, frame.low * ratio, 0.0), min(frame.high_s, frame.high * ratio)
        if x1 <= x0:
            return None
        return frame.point(x0, x0 / ratio), frame.point(x1, x1 / ratio), x1 < frame.high_s

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        draw_card(painter, QRectF(self.rect()))
        frame = self._frame()
        self._draw_axes(painter, frame)
        said = self._draw_rays(painter, frame)
        painter.save()
        painter.setClipRect(frame.rect.adjusted(-1, -1, 1, 1))
        self._draw_descent(painter, frame)
        neutral = self._ask.fault is None
        here = self.current()
        for glaze in sorted(self._glazes, key=lambda g: (g is here, not g.trial)):
            paint_glaze_mark(painter, self._spot(frame, glaze), look_of(glaze), neutral)
        self._draw_names(painter, frame, said)
        self._draw_current(painter, frame)
        painter.restore()
        if self.hasFocus():
            box = QRectF(self.rect()).adjusted(3, 3, -3, -3)
            paint_focus_ring(painter, box, tokens.RADIUS_CARD)
        painter.end()

    def _draw_axes(self, painter: QPainter, frame: Frame) -> None:
        rect = frame.rect
        for across, low, high, pitch in (
            (True, frame.low_s, frame.high_s, px(84)),
            (False, frame.low, frame.high, px(48)),
        ):
            length = rect.width() if across else rect.height()
            step = nice_step(high - low, max(2, int(length / pitch)))
            places = next(n for n in range(9) if math.isclose(round(step, n), step))
            for n in range(math.ceil(low / step), math.floor(high / step) + 1):
                text = TextLine(show_number(n * step, places), "ink3", tokens.CAPTION)
                painter.setPen(pen("line2", 1.0))
                if across:
                    x = frame.x(n * step)
                    painter.drawLine(QPointF(x, rect.bottom()), QPointF(x, rect.bottom() + 4))
                    draw_line_of_text(painter, x - text.width() / 2, rect.bottom() + 5, text)
                else:
                    level = frame.y(n * step)
                    painter.drawLine(QPointF(rect.left() - 4, level), QPointF(rect.left(), level))
                    left = rect.left() - 8 - text.width()
                    draw_line_of_text(painter, left, level - text.height() / 2, text)
        painter.setPen(pen("ink", 1.0))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        painter.drawLine(rect.topLeft(), rect.bottomLeft())
        below = TextLine("SiO₂, moles per mole of flux", "ink2", tokens.CAPTION)
        low_y = rect.bottom() + px(22)
        draw_line_of_text(painter, rect.right() - below.width(), low_y, below)
        up = TextLine("Al₂O₃", "ink2", tokens.CAPTION)
        draw_line_of_text(painter, rect.left() - up.width() / 2, px(8), up)

    def _draw_rays(self, painter: QPainter, frame: Frame) -> list[QRectF]:
        """Hairlines with their ratio at the end; gives the boxes of the words said of them."""
        last: QPointF | None = None
        for ratio in RATIOS:
            ray = self._ray(frame, ratio)
            if ray is None:
                continue
            start, end, top = ray
            painter.setPen(pen("line2", 1.0))
            painter.drawLine(start, end)
            crowded = last is not None and (end - last).manhattanLength() < px(18)
            if crowded or (top and end.x() < frame.rect.left() + px(30)):
                continue
            last = end
            text = TextLine(str(ratio), "ink2", tokens.CAPTION)
            if top:
                draw_line_of_text(painter, end.x() - text.width() / 2, end.y() - px(17), text)
            else:
                draw_line_of_text(painter, end.x() + 5, end.y() - text.height() / 2, text)
        corner = TextLine("SiO₂:Al₂O₃", "ink2", tokens.CAPTION)
        draw_line_of_text(painter, self.width() - corner.width() - px(10), px(4), corner)
        boxes: list[QRectF] = []
        for middle, words in SAID:
            ray = self._ray(frame, middle)
            line = TextLine(words, "ink3", tokens.CAPTION)
            if ray is None or (ray[1] - ray[0]).manhattanLength() < px(120):
                continue
            _, end, top = ray
            left = end.x() - line.width() / 2 if top else end.x() - line.width() - px(6)
            box = QRectF(
                min(max(left, frame.rect.left() + 4), frame.rect.right() - line.width() - 4),
                end.y() + px(3) if top else end.y() - line.height() / 2,
                line.width(),
                line.height(),
            )
            if any(box.intersects(other) for other in boxes):
                continue
            draw_line_of_text(painter, box.left(), box.top(), line, "sheet")
            boxes.append(box)
        return boxes

    def _lines_of_descent(self, frame: Frame) -> list[tuple[MapGlaze, MapGlaze]]:
        by_id = {one.glaze_id: one for one in self._glazes}
        return [
            (by_id[one.parent_id], one)
            for one in self._glazes
            if one.parent_id is not None and one.parent_id in by_id and not one.trial
        ]

    def _draw_descent(self, painter: QPainter, frame: Frame) -> None:
        for parent, child in self._lines_of_descent(frame):
            paint_descent(
                painter,
                self._spot(frame, parent),
                self._spot(frame, child),
                mark_reach(parent.trial),
                mark_reach(child.trial),
            )

    def _words_of(self, glaze: MapGlaze) -> list[TextLine]:
        tone = "ink3" if glaze.archived else "ink"
        lines = [TextLine(cut_name(glaze.title), tone, tokens.SECONDARY, 600)]
        if glaze.rate.trials:
            count = f"{glaze.rate.events} of {glaze.rate.trials}"
            lines.append(TextLine(count, "ink2", tokens.CAPTION))
        return lines

    def _draw_names(self, painter: QPainter, frame: Frame, said: Sequence[QRectF]) -> None:
        self._place_names(frame, said)
        for glaze_id, placed in self._placed.items():
            glaze = self._glaze(glaze_id)
            if glaze is None:
                continue
            if placed.needs_leader():
                painter.setPen(QPen(ink("line2"), 1.0))
                painter.drawLine(placed.leader_end(), placed.anchor)
            draw_lines(painter, placed.box, self._words_of(glaze), "sheet")

    def _place_names(self, frame: Frame, said: Sequence[QRectF]) -> None:
        """Find each name a place; those of test tiles are told when one stands on them."""
        key = (self._view, self.width(), self.height(), theme.current().text_scale, self._glazes)
        if key == self._placed_for:
            return
        self._placed_for = key
        lines = [
            (self._spot(frame, parent), self._spot(frame, child))
            for parent, child in self._lines_of_descent(frame)
        ]
        spots = spots_between(lines)
        room = LabelRoom(frame.rect, [np.array(spots)] if spots else [])
        for box in said:
            room.take(box)
        shown = [g for g in self._glazes if frame.shows(g.silica, g.alumina)]
        for glaze in shown:
            at, reach = self._spot(frame, glaze), mark_reach(glaze.trial)
            room.take(QRectF(at.x() - reach, at.y() - reach, 2 * reach, 2 * reach))
        self._placed = {}
        for glaze in sorted(shown, key=lambda g: (-g.rate.trials, -g.pieces, g.glaze_id)):
            if glaze.trial:
                continue
            at, reach = self._spot(frame, glaze), mark_reach(False)
            size = lines_size(self._words_of(glaze))
            beside = [at + QPointF(reach, 0), at - QPointF(reach, 0), at - QPointF(0, reach)]
            placed = room.place_along(
                [*beside, at + QPointF(0, reach)], QSizeF(size.width(), size.height()), (1, 0), 90.0
            )
            if placed is not None:
                self._placed[glaze.glaze_id] = placed

    def _draw_current(self, painter: QPainter, frame: Frame) -> None:
        here = self.current()
        if here is None:
            return
        at, reach = self._spot(frame, here), mark_reach(here.trial) + 3
        painter.setPen(QPen(ink("cobalt"), 2.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(at, reach, reach)
        painter.setPen(pen("cobalt", 1.0, (2, 3)))
        painter.drawLine(QPointF(at.x(), at.y() + reach), QPointF(at.x(), frame.rect.bottom()))
        painter.drawLine(QPointF(frame.rect.left(), at.y()), QPointF(at.x() - reach, at.y()))
        if here.glaze_id not in self._placed:
            line = TextLine(cut_name(here.title), "ink", tokens.SECONDARY, 600)
            left = min(at.x() + reach + 5, frame.rect.right() - line.width() - 4)
            top = max(at.y() - line.height() / 2, frame.rect.top())
            draw_line_of_text(painter, left, top, line, "sheet")


def _view_of(glazes: Sequence[MapGlaze]) -> tuple[float, float, float, float]:
    """From and to which moles of silica and of alumina the map goes."""
    if not glazes:
        return 0.0, 4.5, 0.0, 0.7
    low_x, high_x = min(g.silica for g in glazes), max(g.silica for g in glazes)
    low_y, high_y = min(g.alumina for g in glazes), max(g.alumina for g in glazes)
    across = max(_LEAST_X, (high_x - low_x) * 1.35)
    up = max(_LEAST_Y, (high_y - low_y) * 1.35)
    left = max(0.0, (low_x + high_x - across) / 2)
    low = max(0.0, (low_y + high_y - up) / 2)
    return left, left + across, low, low + up
