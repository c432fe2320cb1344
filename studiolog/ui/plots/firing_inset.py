"""The inset on a wide firing plot: the top of the firing, where each cone was passed."""

import math

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from studiolog.craft.units import THIN, show_number, show_rate
from studiolog.desktop import tokens
from studiolog.ui.plots.curve_arrays import CurveArrays
from studiolog.ui.plots.curve_sums import Numbers, thin_between
from studiolog.ui.plots.label_room import LabelRoom
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    TextLine,
    draw_curve,
    draw_flag,
    draw_line_of_text,
    draw_ring,
    ink,
    pen,
    px,
)
from studiolog.ui.plots.plot_ticks import (
    Unit,
    nice_values,
    shown_temperature,
    stored_temperature,
    write_clock,
    write_elapsed,
)
from studiolog.ui.plots.plotted_firing import ConePassing, PlotFiring, SteadyRise


def choose_inset(heat: Frame, room: LabelRoom, log_c: Numbers) -> QRectF:
    """A box at the upper right that no curve runs through; empty if there is none."""
    if len(log_c) < 20 or heat.rect.width() < 760 or float(np.max(log_c)) < 500:
        return QRectF()
    height = min(px(210), heat.rect.height() * 0.52)
    if height < px(170):
        return QRectF()
    for share in (0.42, 0.38, 0.34):
        width = min(px(440), heat.rect.width() * share)
        box = QRectF(heat.rect.right() - width, heat.rect.top() - 8, width, height)
        if width >= px(290) and room.crossings(box.adjusted(-16, -8, 0, 16)) == 0:
            return box
    return QRectF()


def floor_of_top_c(log_c: Numbers, unit: Unit) -> float:
    """The round temperature about 100 °C under the peak, in °C."""
    peak = shown_temperature(float(np.max(log_c)), unit)
    below = 180.0 if unit == "F" else 100.0
    return stored_temperature(math.floor((peak - below) / 50) * 50, unit)


def top_span_s(at_s: Numbers, log_c: Numbers, floor_c: float) -> tuple[float, float]:
    """First and last moment above a temperature, straight between readings."""
    above = np.flatnonzero(log_c >= floor_c)
    first, last = int(above[0]), int(above[-1])
    start, end = float(at_s[first]), float(at_s[last])
    if first > 0:
        start = float(np.interp(floor_c, log_c[first - 1 : first + 1], at_s[first - 1 : first + 1]))
    if last < len(at_s) - 1:
        end = float(np.interp(-floor_c, -log_c[last : last + 2], at_s[last : last + 2]))
    return start, end


def seconds_above(at_s: Numbers, log_c: Numbers, floor_c: float) -> float:
    """How long the curve stood above a temperature, straight between readings."""
    rise = np.diff(log_c)
    low = np.minimum(log_c[:-1], log_c[1:])
    high = np.maximum(log_c[:-1], log_c[1:])
    flat = np.where(low >= floor_c, 1.0, 0.0)
    share = np.where(rise != 0, (high - floor_c) / np.where(rise != 0, np.abs(rise), 1.0), flat)
    return float(np.sum(np.clip(share, 0.0, 1.0) * np.diff(at_s)))


def cones_in_inset(firing: PlotFiring, curves: CurveArrays, unit: Unit) -> tuple[ConePassing, ...]:
    """The cones whose passing the inset tells."""
    floor_c = floor_of_top_c(curves.log_c, unit)
    start, end = top_span_s(curves.log_s, curves.log_c, floor_c)
    return tuple(
        c for c in firing.cone_passings if start <= c.at_s <= end and c.temperature_c >= floor_c
    )


def draw_inset(
    painter: QPainter,
    box: QRectF,
    firing: PlotFiring,
    curves: CurveArrays,
    unit: Unit,
    earlier_shown: bool,
) -> None:
    """Draw the top of the firing into a box."""
    painter.setPen(pen("line2", 1.0))
    painter.setBrush(ink("sheet"))
    painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), 4, 4)
    title = TextLine("Top of the firing", "ink", tokens.SECONDARY, 600)
    end = draw_line_of_text(painter, box.left() + 12, box.top() + 8, title)
    floor_c = floor_of_top_c(curves.log_c, unit)
    start_s, end_s = top_span_s(curves.log_s, curves.log_c, floor_c)
    peak_c = float(np.max(curves.log_c))
    pad = (end_s - start_s) * 0.05
    cones = cones_in_inset(firing, curves, unit)
    rows = min(3, (len(cones) + 1) // 2)
    plot = QRectF(
        box.left() + px(36) + 12,
        box.top() + px(36 + 17 * rows),
        box.width() - px(36) - 28,
        box.height() - px(72 + 17 * rows),
    )
    frame = Frame(plot, start_s - pad, end_s + pad, floor_c - 8, peak_c + (peak_c - floor_c) * 0.12)
    if cones:
        hint = TextLine("when heat-work passes each cone", "cobalt", tokens.CAPTION)
        if end + 16 + hint.width() < box.right() - 12:
            draw_line_of_text(painter, box.right() - 12 - hint.width(), box.top() + 8, hint)
    low, high = shown_temperature(frame.low, unit), shown_temperature(frame.high, unit)
    for value in nice_values(low, high, 3):
        y = round(frame.y(stored_temperature(value, unit))) + 0.5
        painter.setPen(pen("line", 1.0))
        painter.drawLine(QPointF(plot.left(), y), QPointF(plot.right(), y))
        line = TextLine(show_number(value), "ink3", tokens.CAPTION)
        draw_line_of_text(painter, plot.left() - 8 - line.width(), y - line.height() / 2, line)
    if firing.hold_band:
        painter.fillRect(frame.span(*firing.hold_band), ink("rustwash"))
    if earlier_shown:
        draw_curve(painter, frame, curves.earlier_s, curves.earlier_c, pen("prev", 1.0))
    draw_curve(painter, frame, curves.program_s, curves.program_c, pen("ink", 1.5, (5, 4)))
    log = thin_between(
        curves.joined_s, curves.joined_c, frame.low_s, frame.high_s, int(plot.width())
    )
    if firing.steady_rise is not None:
        _draw_steady_rise(painter, frame, firing.steady_rise, unit)
    draw_curve(painter, frame, *log, pen("rust", 2.25))
    _draw_flags(painter, box, frame, cones, firing)
    _draw_bracket(painter, frame, (start_s, end_s), curves, floor_c, unit)


def _draw_steady_rise(painter: QPainter, frame: Frame, rise: SteadyRise, unit: Unit) -> None:
    """The steady ramp that does the same work by the same peak, as a thin dotted line."""
    down_c = rise.peak_c - frame.low
    start_s = rise.end_s - down_c / rise.rate_c_per_h * 3600.0
    at_s, values = np.array([start_s, rise.end_s]), np.array([frame.low, rise.peak_c])
    draw_curve(painter, frame, at_s, values, pen("ink2", 1.25, (1, 3)))
    words = TextLine(f"as {show_rate(rise.rate_c_per_h, unit)}", "ink2", tokens.CAPTION)
    # Above the line, where it comes into the frame.
    first_s = max(start_s, frame.low_s)
    left = frame.x(first_s) + 4
    along_s = frame.time_at(left + words.width())
    if along_s < rise.end_s:
        entered_c = rise.peak_c - (rise.end_s - first_s) / 3600.0 * rise.rate_c_per_h
        top = frame.y(max(entered_c, frame.low)) - words.height() - 6
        draw_line_of_text(painter, left, top, words, "sheet")


def _draw_bracket(
    painter: QPainter,
    frame: Frame,
    span: tuple[float, float],
    curves: CurveArrays,
    floor_c: float,
    unit: Unit,
) -> None:
    y = frame.rect.bottom() + px(18)
    left, right = frame.x(span[0]), frame.x(span[1])
    seconds = seconds_above(curves.log_s, curves.log_c, floor_c)
    shown = show_number(shown_temperature(floor_c, unit))
    text = TextLine(
        f"{write_elapsed(seconds)} above {shown}{THIN}°{unit}", "ink", tokens.SECONDARY, 600
    )
    begin = (left + right - text.width()) / 2
    painter.setPen(pen("ink", 1.5))
    for x, inner in ((left, begin - 8), (right, begin + text.width() + 8)):
        painter.drawLine(QPointF(x, y - 4), QPointF(x, y + 4))
        if (inner - x) * (1 if x == left else -1) > 4:
            painter.drawLine(QPointF(x, y), QPointF(inner, y))
    draw_line_of_text(painter, begin, y - text.height() / 2, text)


def _draw_flags(
    painter: QPainter,
    box: QRectF,
    frame: Frame,
    cones: tuple[ConePassing, ...],
    firing: PlotFiring,
) -> None:
    bounds = box.adjusted(8, 0, -8, 0)
    half = (len(cones) + 1) // 2
    for place, cone in enumerate(cones):
        # The outer flags are the lower ones, so that no text crosses another's pole.
        side = -1 if place < half else 1
        row = place if place < half else len(cones) - 1 - place
        clock = write_clock(firing.started_at, cone.at_s)
        weight = 600 if cone.label == firing.aimed_cone else 400
        line = TextLine(f"cone {cone.label} {clock}".strip(), "cobalt", tokens.SECONDARY, weight)
        spot = frame.point(cone.at_s, cone.temperature_c)
        top = frame.rect.top() - px(17) * (row + 1)
        beside = (spot.x() - 8 - line.width(), spot.x() + 8)
        left = beside[side > 0]
        if not bounds.contains(QRectF(left, top, line.width(), line.height())):
            left = beside[side < 0]
        text_box = QRectF(left, top, line.width(), line.height())
        if row < 3 and bounds.contains(text_box):
            draw_line_of_text(painter, left, top, line)
        draw_flag(painter, spot, max(top + 2, box.top() + 30))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for cone in cones:
        draw_ring(painter, frame.point(cone.at_s, cone.temperature_c), "cobalt")
