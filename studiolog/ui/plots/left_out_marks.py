"""Marks of the readings set aside: crosses, ticks where none was, arrows off the scale."""

import numpy as np
from PySide6.QtCore import QLineF, QPointF
from PySide6.QtGui import QPainter, QPolygonF

from studiolog.desktop import tokens
from studiolog.ui.plots.curve_arrays import CurveArrays
from studiolog.ui.plots.curve_sums import Numbers
from studiolog.ui.plots.firing_readout import write_raw
from studiolog.ui.plots.label_room import LabelRoom
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    TextLine,
    draw_lines,
    ink,
    lines_size,
    pen,
    px,
)
from studiolog.ui.plots.plot_ticks import Unit

_ARM = 3.0
_TICK = 6.0


def draw_left_out(
    painter: QPainter, heat: Frame, curves: CurveArrays, room: LabelRoom, unit: Unit
) -> None:
    """A cross at each reading set aside; a tick at the foot for one that held no value.

    What lies off the scale has an open arrow at that edge, and words say how far it went.
    """
    raw = curves.raw
    seen = (raw.aside_s >= heat.low_s) & (raw.aside_s <= heat.high_s)
    at_s, values = raw.aside_s[seen], raw.aside[seen]
    if not len(at_s):
        return
    missing = np.isnan(values)
    painter.setPen(pen("ink2", 1.25))
    bottom = heat.rect.bottom()
    for x in _columns(heat, at_s[missing]).tolist():
        painter.drawLine(QLineF(x, bottom - _TICK, x, bottom))
    inside = ~missing & (values >= heat.low) & (values <= heat.high)
    spots = _spots(heat, at_s[inside], values[inside])
    for spot in spots:
        painter.drawLine(QLineF(spot.x() - _ARM, spot.y() - _ARM, spot.x() + _ARM, spot.y() + _ARM))
        painter.drawLine(QLineF(spot.x() - _ARM, spot.y() + _ARM, spot.x() + _ARM, spot.y() - _ARM))
    room.avoid(np.array([[spot.x(), spot.y()] for spot in spots]).reshape(-1, 2))
    for above in (True, False):
        beyond = ~missing & (values > heat.high if above else values < heat.low)
        if beyond.any():
            _draw_beyond(painter, heat, at_s[beyond], values[beyond], above, room, unit)


def _draw_beyond(
    painter: QPainter,
    heat: Frame,
    at_s: Numbers,
    values: Numbers,
    above: bool,
    room: LabelRoom,
    unit: Unit,
) -> None:
    edge, way = (heat.rect.top(), -1.0) if above else (heat.rect.bottom(), 1.0)
    columns = _columns(heat, at_s)
    painter.setPen(pen("ink2", 1.25))
    painter.setBrush(ink("sheet"))
    for x in columns.tolist():
        foot = edge - way * 7.0
        painter.drawPolygon(
            QPolygonF([QPointF(x, edge - way), QPointF(x - 3.5, foot), QPointF(x + 3.5, foot)])
        )
    room.avoid(np.column_stack([columns, np.full(len(columns), edge - way * 4.0)]))
    farthest = float(values.max() if above else values.min())
    many = "1 reading" if len(values) == 1 else f"{len(values)} readings"
    told = f"{many} off the scale, {'' if len(values) == 1 else 'to '}{write_raw(farthest, unit)}"
    words = [TextLine(told, "ink2", tokens.CAPTION)]
    spot = QPointF(float(columns[0]), edge - way * 4.0)
    placed = room.place(spot, lines_size(words), (1, 1 if above else -1), px(66))
    if placed:
        draw_lines(painter, placed.box, words, "sheet")


def _columns(heat: Frame, at_s: Numbers) -> Numbers:
    """The pixel columns of some times, each once."""
    x = heat.rect.left() + (at_s - heat.low_s) / (heat.high_s - heat.low_s) * heat.rect.width()
    return np.unique(np.rint(x))


def _spots(heat: Frame, at_s: Numbers, values: Numbers) -> list[QPointF]:
    """The pixels of some readings, those that fall together once."""
    if not len(at_s):
        return []
    x = heat.rect.left() + (at_s - heat.low_s) / (heat.high_s - heat.low_s) * heat.rect.width()
    y = heat.rect.bottom() - (values - heat.low) / (heat.high - heat.low) * heat.rect.height()
    pixels = np.unique(np.rint(np.column_stack([x, y]) / 2.0), axis=0) * 2.0
    return [QPointF(a, b) for a, b in pixels.tolist()]
