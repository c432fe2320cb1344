"""Paints what stands still on a plot of compared firings: grounds, axes, band, curves, key.

The many curves are counted into an image (``compare_sums``), darker where more of them run; a few
are stroked. The finished picture is kept until something changes.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from pyqtgraph import functions as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPen

from studiolog.craft.units import THIN, show_number
from studiolog.desktop import tokens
from studiolog.ui.plots.compare_lines import ComparedLines
from studiolog.ui.plots.compare_sums import (
    Columns,
    Singles,
    count_cover,
    cover_between,
    pixels_of,
    read_columns,
)
from studiolog.ui.plots.firing_picture import draw_values, draw_words
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    TextLine,
    draw_card,
    draw_line_of_text,
    ink,
    pen,
    px,
)
from studiolog.ui.plots.plot_ticks import Unit, time_ticks, write_elapsed

FEW = 24
"""Up to so many curves are stroked with soft edges; more are counted."""
_WASH, _HATCH, _EDGE, _LINES = 1, 2, 3, 4
_HATCH_EVERY = 7
_APART, _STRAIGHT = 4, 0.4
"""A thick line is drawn by every fourth column where those between lie on it, in pixels."""
_DENSE = 24
"""Where so many curves cross a pixel it is as dark as it gets."""


@dataclass(frozen=True, eq=False)
class ReadFrame:
    """One of the two plots with its curves in columns of pixels.

    ``usual`` has three rows: what is usual, the lower and the upper edge of the band.
    """

    frame: Frame
    columns: Columns
    usual: Columns


def read_frame(frame: Frame, lines: ComparedLines, differences: bool) -> ReadFrame:
    """The curves of a frame, a column a pixel."""
    wide = max(1, round(frame.rect.width()))
    first = float(lines.clock_s[0]) if len(lines.clock_s) else 0.0

    def columns(table: Singles) -> Columns:
        return read_columns(table, first, lines.step_s, frame.low_s, frame.high_s, wide)

    usual = np.full((3, len(lines.clock_s)), np.nan, dtype=np.float32)
    if lines.has_usual:
        less = lines.usual_c if differences else 0.0
        usual[0] = lines.usual_c - less
        if lines.has_band:
            usual[1], usual[2] = lines.low_c - less, lines.high_c - less
    values = lines.difference_c if differences else lines.temperature_c
    return ReadFrame(frame, columns(values), columns(usual))


def draw_comparison(
    painter: QPainter,
    card: QRectF,
    heat: ReadFrame,
    off: ReadFrame,
    lines: ComparedLines,
    unit: Unit,
) -> None:
    """Everything but the cursor."""
    draw_card(painter, card)
    chosen = lines.row_of(lines.chosen)
    for place, read in enumerate((heat, off)):
        if place and not lines.has_usual:
            draw_words(painter, read.frame.rect, lines.remark)
            continue
        draw_values(painter, read.frame, unit, rates=bool(place))
        _draw_moment(painter, read.frame, lines)
        _draw_curves(painter, read, chosen)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if lines.has_usual and lines.usual_drawn:
            _stroke(painter, read.frame, read.usual.edges[0], pen("ink", 1.5, (5, 4)))
        if chosen is not None:
            width = 2.25 if place == 0 else 1.75
            _stroke(painter, read.frame, read.columns.edges[chosen], pen("rust", width))
    _draw_axis(painter, card, (heat.frame, off.frame), lines)
    _draw_headings(painter, card, heat.frame, lines, unit, chosen)


def _draw_moment(painter: QPainter, frame: Frame, lines: ComparedLines) -> None:
    """An upright line where the curves are laid together."""
    if lines.moment != "start" and frame.low_s < 0 < frame.high_s:
        x = round(frame.x(0.0)) + 0.5
        painter.setPen(pen("ink2", 1.0, (1, 4)))
        painter.drawLine(QPointF(x, frame.rect.top()), QPointF(x, frame.rect.bottom()))


def _draw_curves(painter: QPainter, read: ReadFrame, chosen: int | None) -> None:
    frame = read.frame
    rows, wide = max(1, round(frame.rect.height())), read.columns.edges.shape[1] - 1
    low, high = read.usual.edges[1:, :-1]
    picture = cover_between(low, high, frame.high, frame.low, rows) * _hatching(rows, wide)
    many = len(read.columns.edges) > FEW
    if many:
        counts = count_cover(read.columns, frame.high, frame.low, rows)
        # The colours of lines come after those of the band, so that the higher number is on top.
        np.maximum(picture, _shades(len(read.columns.edges))[counts], out=picture)
    band = read.usual.some(slice(1, 3))
    edge_rows, edge_columns = pixels_of(band, frame.high, frame.low, rows)
    dotted = edge_columns % 3 != 0
    picture[edge_rows[dotted], edge_columns[dotted]] = _EDGE
    image = QImage(picture.data, wide, rows, wide, QImage.Format.Format_Indexed8)
    image.setColorTable(_colours())
    painter.drawImage(QPointF(round(frame.rect.left()), round(frame.rect.top())), image)
    if not many:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for row, edges in enumerate(read.columns.edges):
            if row != chosen:
                _stroke(painter, frame, edges, pen("prev", 1.0))


@lru_cache(maxsize=4)
def _hatching(rows: int, wide: int) -> NDArray[np.uint8]:
    """Slanting lines over the ground of a band."""
    slant = (np.arange(rows)[:, None] + np.arange(wide)) % _HATCH_EVERY == 0
    return np.where(slant, _HATCH, _WASH).astype(np.uint8)


@lru_cache(maxsize=8)
def _shades(most: int) -> NDArray[np.uint8]:
    """The colour's number for each count of curves, from none to ``most``."""
    counts = np.arange(most + 1)
    return np.where(counts, np.minimum(counts, _DENSE) + _LINES - 1, 0).astype(np.uint8)


def _colours() -> list[int]:
    """Nothing, the band's ground, hatching and edge, then one curve up to as many as count."""
    return _colours_between(*(ink(name).rgb() for name in ("sunk", "line2", "prev", "ink2")))


@lru_cache(maxsize=4)
def _colours_between(ground: int, slanting: int, one: int, many: int) -> list[int]:
    wash, hatch, thin, thick = (QColor(rgb) for rgb in (ground, slanting, one, many))
    wash.setAlphaF(0.55)
    hatch.setAlphaF(0.4)
    found = [0, wash.rgba(), hatch.rgba(), thick.rgba()]
    for count in range(_DENSE):
        share = count / (_DENSE - 1)
        mixed = (
            round(a + (b - a) * share)
            for a, b in (
                (thin.red(), thick.red()),
                (thin.green(), thick.green()),
                (thin.blue(), thick.blue()),
            )
        )
        found.append(QColor(*mixed).rgba())
    return found


def _stroke(painter: QPainter, frame: Frame, edges: Singles, with_pen: QPen) -> None:
    """One curve given at the edges of the frame's columns; NaN breaks it."""
    x = np.linspace(frame.rect.left(), frame.rect.right(), len(edges))
    scale = frame.rect.height() / (frame.high - frame.low)
    y = frame.rect.bottom() - (edges.astype(np.float64) - frame.low) * scale
    # Far outside the frame a point must not be farther than a painter can reckon.
    y = np.clip(y, frame.rect.top() - 2000, frame.rect.bottom() + 2000)
    painter.save()
    painter.setClipRect(frame.rect.adjusted(0, -2, 0, 2))
    painter.setPen(with_pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    keep = _corners(y)
    x, y = x[keep], y[keep]
    known = ~np.isnan(y)
    cuts = np.flatnonzero(np.diff(known.astype(np.int8))) + 1
    for part in np.split(np.arange(len(y)), cuts):
        if len(part) > 1 and known[part[0]]:
            painter.drawPolyline(pg.arrayToQPolygonF(x[part], y[part]))
    painter.restore()


def _corners(y: NDArray[np.float64]) -> NDArray[np.intp]:
    """The columns a line needs: every fourth, and those between where it bends or breaks."""
    whole = (len(y) - 1) // _APART * _APART
    if whole < _APART:
        return np.arange(len(y))
    ends = y[: whole + 1 : _APART]
    shares = np.arange(1, _APART) / _APART
    chord = ends[:-1, None] + (ends[1:] - ends[:-1])[:, None] * shares
    inner = y[:whole].reshape(-1, _APART)[:, 1:]
    bends = ~(np.abs(inner - chord).max(axis=1) < _STRAIGHT)
    keep = np.repeat(bends, _APART)
    keep[::_APART] = True
    return np.concatenate([np.flatnonzero(keep), np.arange(whole, len(y))])


def _draw_axis(
    painter: QPainter, card: QRectF, frames: tuple[Frame, Frame], lines: ComparedLines
) -> None:
    """Hours from the shared moment, before it with a minus."""
    lowest = frames[-1]
    painter.setPen(pen("ink", 1.25))
    for frame in frames:
        painter.drawLine(frame.rect.bottomLeft(), frame.rect.bottomRight())
    top = lowest.rect.bottom() + 7
    for tick in time_ticks(lowest.low_s, lowest.high_s, lowest.rect.width(), None):
        x = lowest.x(tick.at_s)
        painter.setPen(pen("line2", 1.0))
        for frame in frames:
            painter.drawLine(
                QPointF(x, frame.rect.bottom() + 1), QPointF(x, frame.rect.bottom() + 5)
            )
        whole = abs(tick.at_s / 3600 - round(tick.at_s / 3600)) < 1e-6
        size = abs(tick.at_s)
        said = f"{show_number(size / 3600)}{THIN}h" if whole else write_elapsed(size)
        text = "0" if size < 1 else said if tick.at_s > 0 else f"\u2212{said}"
        line = TextLine(text, "ink2", tokens.CAPTION)
        left = min(x - line.width() / 2, card.right() - 8 - line.width())
        draw_line_of_text(painter, max(card.left() + 8, left), top, line)


def _draw_headings(
    painter: QPainter,
    card: QRectF,
    heat: Frame,
    lines: ComparedLines,
    unit: Unit,
    chosen: int | None,
) -> None:
    left, right = card.left() + tokens.CARD_INSET, card.right() - tokens.CARD_INSET
    head = TextLine("Temperature", "ink", tokens.HEAD, 600)
    end = draw_line_of_text(painter, left, card.top() + px(14), head)
    the = "" if lines.moment[:1].isdigit() else "the "
    end = draw_line_of_text(
        painter,
        end + 8,
        card.top() + px(18),
        TextLine(f"°{unit}, hours from {the}{lines.moment}", "ink3"),
    )
    _draw_key(painter, right, card.top() + px(18), end, lines, chosen)
    top = heat.rect.bottom() + px(18)
    painter.setPen(pen("line", 1.0))
    painter.drawLine(QPointF(left, top), QPointF(right, top))
    head = TextLine("Difference", "ink", tokens.HEAD, 600)
    end = draw_line_of_text(painter, left, top + px(6), head)
    if lines.has_usual:
        told = TextLine(f"°{unit}, from {lines.usual_words}", "ink3")
        draw_line_of_text(painter, end + 8, top + px(10), told)


def _draw_key(
    painter: QPainter,
    right: float,
    top: float,
    free_from: float,
    lines: ComparedLines,
    chosen: int | None,
) -> None:
    """What each kind of line is; the least needed are dropped where there is no room."""
    entries: list[tuple[str, QPen | None]] = []
    if chosen is not None:
        entries.append((f"firing {lines.lines[chosen].number}", pen("rust", 2.25)))
    if lines.has_usual and lines.usual_drawn:
        entries.append((lines.usual_words.removeprefix("the "), pen("ink", 1.5, (5, 4))))
    if lines.has_band:
        entries.append((lines.band_words, None))
    others = [one.number for row, one in enumerate(lines.lines) if row != chosen]
    if others:
        words = f"firing {others[0]}" if len(others) == 1 else f"{len(others)} others"
        entries.append((words, pen("prev", 1.0)))

    def width() -> float:
        return sum(TextLine(text).width() + 54 for text, _ in entries) - 24

    while entries and width() > right - free_from - 16:
        entries.pop()
    left = right - width()
    for text, line in entries:
        box = QRectF(left, top + px(3), 22, px(10))
        if line is not None:
            painter.setPen(line)
            painter.drawLine(QPointF(left, top + px(8)), QPointF(left + 22, top + px(8)))
        else:
            _draw_band_sample(painter, box)
        left = draw_line_of_text(painter, left + 30, top, TextLine(text, "ink2")) + 24


def _draw_band_sample(painter: QPainter, box: QRectF) -> None:
    rows, wide = round(box.height()), round(box.width())
    picture = _hatching(rows, wide)
    image = QImage(picture.data, wide, rows, wide, QImage.Format.Format_Indexed8)
    image.setColorTable(_colours())
    painter.drawImage(box.topLeft(), image)
    painter.setPen(pen("ink2", 1.0, (1, 2)))
    painter.drawLine(box.topLeft(), box.topRight())
    painter.drawLine(box.bottomLeft(), box.bottomRight())
