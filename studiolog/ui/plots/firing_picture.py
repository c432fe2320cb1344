"""Paints what stands still on a firing plot: grounds, axes, marks, labels.

The curves between ground and marks are drawn by the plot's own scene. Everything is in pixels
of the widget; the finished picture is kept until something changes, so that the cursor costs
only one copy of it.
"""

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import QColor, QPainter

from studiolog.craft.units import THIN, show_number, show_rate, show_temperature
from studiolog.desktop import tokens
from studiolog.ui.plots.curve_arrays import CurveArrays
from studiolog.ui.plots.curve_sums import Numbers, thin_between, value_at
from studiolog.ui.plots.firing_inset import choose_inset, cones_in_inset, draw_inset
from studiolog.ui.plots.label_room import LabelRoom
from studiolog.ui.plots.left_out_marks import draw_left_out
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    TextLine,
    draw_card,
    draw_hatching,
    draw_line_of_text,
    draw_lines,
    draw_ring,
    draw_step_mark,
    ink,
    lines_size,
    pen,
    px,
)
from studiolog.ui.plots.plot_ticks import (
    Unit,
    nice_values,
    shown_rate,
    shown_temperature,
    stored_rate,
    stored_temperature,
    time_ticks,
    write_clock,
)
from studiolog.ui.plots.plotted_firing import ConePassing, PlotFiring, PlottedSegment

_COLUMNS = 2000
QUARTZ_C = 573.0
"""Quartz changes form here (common practice: go gently on cooling)."""


def draw_ground(
    painter: QPainter, card: QRectF, heat: Frame, rate: Frame, firing: PlotFiring, unit: Unit
) -> None:
    """The card, bands, gaps and grid: everything under the curves."""
    draw_card(painter, card)
    if firing.slow_cool_band:
        wash = QColor(ink("celadonwash"))
        wash.setAlphaF(0.55 if not wash.lightnessF() < 0.5 else 0.85)
        painter.fillRect(heat.span(*firing.slow_cool_band), wash)
    if firing.hold_band:
        painter.fillRect(heat.span(*firing.hold_band), ink("rustwash"))
    for gap in firing.gaps:
        draw_hatching(painter, heat.span(*gap))
        draw_hatching(painter, rate.span(*gap))
    draw_values(painter, heat, unit, rates=False)
    draw_values(painter, rate, unit, rates=True)


def draw_values(painter: QPainter, frame: Frame, unit: Unit, rates: bool) -> None:
    """Grid lines at round values, with the values at the left."""
    show = shown_rate if rates else shown_temperature
    low, high = show(frame.low, unit), show(frame.high, unit)
    for value in nice_values(low, high, max(2, int(frame.rect.height() / (22 if rates else 60)))):
        stored = stored_rate(value, unit) if rates else stored_temperature(value, unit)
        y = round(frame.y(stored)) + 0.5
        if not frame.rect.top() - 1 <= y <= frame.rect.bottom() + 1:
            continue
        zero = rates and value == 0
        painter.setPen(pen("line2" if zero else "line", 1.0))
        painter.drawLine(QPointF(frame.rect.left(), y), QPointF(frame.rect.right(), y))
        line = TextLine(show_number(value), "ink3", tokens.CAPTION)
        draw_line_of_text(
            painter, frame.rect.left() - 10 - line.width(), y - line.height() / 2, line
        )


def draw_time_axis(
    painter: QPainter, card: QRectF, frames: Sequence[Frame], firing: PlotFiring
) -> None:
    """Hours since the start and the clock under them, below the lowest plot; ticks on each."""
    painter.setPen(pen("ink", 1.25))
    lowest = frames[-1]
    for frame in frames:
        painter.drawLine(frame.rect.bottomLeft(), frame.rect.bottomRight())
    last_clock_end = -1e9
    for tick in time_ticks(lowest.low_s, lowest.high_s, lowest.rect.width(), firing.started_at):
        x = lowest.x(tick.at_s)
        painter.setPen(pen("line2", 1.0))
        for frame in frames:
            painter.drawLine(
                QPointF(x, frame.rect.bottom() + 1), QPointF(x, frame.rect.bottom() + 5)
            )
        top = lowest.rect.bottom() + 7
        line = TextLine(tick.elapsed, "ink2", tokens.CAPTION)
        draw_line_of_text(painter, _held_left(x, line, card), top, line)
        clock = TextLine(tick.clock, "ink3", tokens.CAPTION, 600 if tick.new_day else 400)
        left = _held_left(x, clock, card)
        if tick.clock and left > last_clock_end + 12:
            draw_line_of_text(painter, left, top + px(15), clock)
            last_clock_end = left + clock.width()


def _held_left(x: float, line: TextLine, card: QRectF) -> float:
    half = line.width() / 2
    return max(card.left() + 8, min(x - half, card.right() - 8 - line.width()))


def draw_headings(
    painter: QPainter,
    card: QRectF,
    heat: Frame,
    rate: Frame,
    firing: PlotFiring,
    unit: Unit,
    earlier_shown: bool,
    as_logged: bool = False,
) -> None:
    """The two headings, the key to the lines, and how many readings were left out."""
    left = card.left() + tokens.CARD_INSET
    end = draw_line_of_text(
        painter, left, card.top() + px(14), TextLine("Temperature", "ink", tokens.HEAD, 600)
    )
    unit_line = f"°{unit}" + (f", {firing.where}" if firing.where else "")
    end = draw_line_of_text(painter, end + 8, card.top() + px(18), TextLine(unit_line, "ink3"))
    if as_logged:
        end = _draw_as_logged(painter, card, end, firing)
    _draw_key(
        painter, card.right() - tokens.CARD_INSET, card.top() + px(18), end, firing, earlier_shown
    )
    top = heat.rect.bottom() + px(18)
    painter.setPen(pen("line", 1.0))
    painter.drawLine(QPointF(left, top), QPointF(card.right() - tokens.CARD_INSET, top))
    end = draw_line_of_text(painter, left, top + px(6), TextLine("Rate", "ink", tokens.HEAD, 600))
    end = draw_line_of_text(painter, end + 8, top + px(10), TextLine(f"°{unit} per hour", "ink3"))
    room = card.right() - tokens.CARD_INSET
    if told := say_left_out(firing):
        line = TextLine(told, "ink3", tokens.CAPTION)
        room -= line.width()
        draw_line_of_text(painter, room, top + px(10), line)
    note, advice = firing.rate_note
    if note:
        warning = TextLine(note, "rust", tokens.SECONDARY, 600)
        if end + 24 + warning.width() < room - 16:
            end = draw_line_of_text(painter, end + 24, top + px(10), warning)
            more = TextLine(advice, "ink2")
            if advice and end + 12 + more.width() < room - 16:
                draw_line_of_text(painter, end + 12, top + px(10), more)


def say_left_out(firing: PlotFiring) -> str:
    """How many readings were set aside, and how they are marked; empty if there were none."""
    count = firing.dropped_count if firing.left_out is None else len(firing.left_out.at_s)
    if not count:
        return ""
    many = "1 reading" if count == 1 else f"{count} readings"
    if firing.left_out is None:
        return f"{many} left out"
    if np.isnan(np.asarray(firing.left_out.temperature_c, dtype=np.float64)).all():
        return f"{many} without a value, ticked at the foot"
    return f"{many} left out, marked \N{MULTIPLICATION SIGN}"


def _draw_as_logged(painter: QPainter, card: QRectF, end: float, firing: PlotFiring) -> float:
    """That the log is drawn as it came: in as many words as there is room for."""
    sentences = (
        f"as logged: {firing.left_out_words}" if firing.left_out_words else "",
        "as logged: the figures still come from the cleaned curve",
        "as logged: the figures from the cleaned curve",
        "as logged",
    )
    for words in filter(None, sentences):
        line = TextLine(words, "ochre", tokens.SECONDARY, 600)
        if end + 16 + line.width() < card.right() - tokens.CARD_INSET:
            return draw_line_of_text(painter, end + 16, card.top() + px(18), line)
    return end


def _draw_key(
    painter: QPainter, right: float, top: float, free_from: float, firing: PlotFiring, earlier: bool
) -> None:
    entries: list[tuple[str, str, float, tuple[float, ...]]] = []
    if len(firing.curve_s):
        name = f"logged, {firing.number}" if firing.number else "logged"
        entries.append((name, "rust", 2.25, ()))
    if len(firing.program_s):
        entries.append(("program", "ink", 1.5, (5, 4)))
    if firing.earlier and earlier:
        names = ", ".join(curve.name for curve in firing.earlier[:5])
        more = f" and {len(firing.earlier) - 5} more" if len(firing.earlier) > 5 else ""
        entries.append((f"same program before: {names}{more}", "prev", 1.0, ()))
    entries += [(channel.name, "rust", 1.0, (2, 3)) for channel in firing.extra_channels]

    def width() -> float:
        return sum(TextLine(text).width() + 54 for text, *_ in entries) - 24

    if width() > right - free_from - 16:
        entries = [
            ("before" if text.startswith("same program") else text, colour, line_width, dash)
            for text, colour, line_width, dash in entries
        ]
    while entries and width() > right - free_from - 16:
        entries.pop()
    left = right - width()
    for text, colour, line_width, dash in entries:
        painter.setPen(pen(colour, line_width, dash))
        painter.drawLine(QPointF(left, top + px(8)), QPointF(left + 22, top + px(8)))
        left = draw_line_of_text(painter, left + 30, top, TextLine(text, "ink2")) + 24


def draw_marks(
    painter: QPainter,
    heat: Frame,
    firing: PlotFiring,
    curves: CurveArrays,
    unit: Unit,
    with_inset: bool,
    earlier_shown: bool,
) -> LabelRoom:
    """Quartz line, cone rings, steps and band names over the curves; gives the room left."""
    told = ~np.isnan(curves.joined_c)
    lines = [
        heat.pixels(
            *thin_between(curves.joined_s[told], curves.log_c, heat.low_s, heat.high_s, _COLUMNS)
        ),
        heat.pixels(curves.program_s, curves.program_c),
    ]
    if earlier_shown and len(firing.earlier) <= 12:
        for other in firing.earlier:
            lines.append(heat.pixels(np.asarray(other.at_s), np.asarray(other.temperature_c)))
    room = LabelRoom(heat.rect.adjusted(0, -14, 8, 8), lines)
    inset = choose_inset(heat, room, curves.log_c) if with_inset else QRectF()
    if not inset.isEmpty():
        room.take(inset.adjusted(-8, -8, 8, 8))
    rings = [c for c in firing.cone_passings if heat.shows(c.at_s, c.temperature_c)]
    crossings = [q for q in firing.quartz_crossings if heat.shows(q.at_s, QUARTZ_C)]
    spots = [heat.point(c.at_s, c.temperature_c) for c in rings]
    for spot in [*spots, *(heat.point(q.at_s, QUARTZ_C) for q in crossings)]:
        room.take(QRectF(spot.x() - 3, spot.y() - 3, 6, 6))
    draw_left_out(painter, heat, curves, room, unit)
    _draw_quartz(painter, heat, firing, room, unit)
    elsewhere = cones_in_inset(firing, curves, unit) if not inset.isEmpty() else ()
    _draw_cones(painter, rings, heat, firing, room, elsewhere)
    _draw_segments(painter, heat, firing, curves, room, unit)
    _draw_band_names(painter, heat, firing, room)
    if not inset.isEmpty():
        draw_inset(painter, inset, firing, curves, unit, earlier_shown)
    return room


def _draw_leader(painter: QPainter, start: QPointF, end: QPointF, colour: str = "ink2") -> None:
    painter.setPen(pen(colour, 1.0))
    painter.drawLine(start, end)


def _draw_quartz(
    painter: QPainter, heat: Frame, firing: PlotFiring, room: LabelRoom, unit: Unit
) -> None:
    if not heat.low < QUARTZ_C < heat.high or not (len(firing.curve_s) or len(firing.program_s)):
        return
    y = heat.y(QUARTZ_C)
    painter.setPen(pen("ink2", 1.0, (1, 4)))
    painter.drawLine(QPointF(heat.rect.left(), y), QPointF(heat.rect.right(), y))
    name = [TextLine(f"quartz {show_temperature(QUARTZ_C, unit)}", "ink2")]
    size = lines_size(name)
    box = QRectF(heat.rect.left() + 10, y - 4 - size.height(), size.width(), size.height())
    right = box.translated(heat.rect.right() - 20 - size.width() - heat.rect.left(), 0)
    for choice in (box, right):
        if room.is_free(choice) and not room.crossings(choice):
            room.take(choice)
            draw_lines(painter, choice, name, "sheet")
            break
    for crossing in firing.quartz_crossings:
        if not heat.shows(crossing.at_s, QUARTZ_C):
            continue
        spot = heat.point(crossing.at_s, QUARTZ_C)
        draw_ring(painter, spot, "ink")
        up = crossing.rate_c_per_h > 0
        way = "up" if up else "down"
        text = [TextLine(f"{way} at {show_rate(abs(crossing.rate_c_per_h), unit)}", "ink2")]
        placed = room.place(spot, lines_size(text), (1, 1 if up else -1), 46)
        if placed:
            draw_lines(painter, placed.box, text, "sheet")


def _draw_cones(
    painter: QPainter,
    rings: Sequence[ConePassing],
    heat: Frame,
    firing: PlotFiring,
    room: LabelRoom,
    told_elsewhere: Sequence[ConePassing],
) -> None:
    ordered = sorted(rings, key=lambda c: (c.label != firing.aimed_cone, c.at_s))
    for cone in ordered:
        if cone in told_elsewhere:
            continue
        spot = heat.point(cone.at_s, cone.temperature_c)
        clock = write_clock(firing.started_at, cone.at_s)
        weight = 600 if cone.label == firing.aimed_cone else 400
        text = [TextLine(f"cone {cone.label} {clock}".strip(), "cobalt", tokens.SECONDARY, weight)]
        placed = room.place(spot, lines_size(text), (-1, -1))
        if placed:
            if placed.needs_leader():
                _draw_leader(painter, spot, placed.leader_end(), "cobalt")
            draw_lines(painter, placed.box, text, "sheet")
    for cone in rings:
        draw_ring(painter, heat.point(cone.at_s, cone.temperature_c), "cobalt")


def segment_lines(segment: PlottedSegment, unit: Unit) -> list[TextLine]:
    """What stands beside a step's number: what was planned, and what was logged in rust."""
    planned = _with_rate(segment.planned_text, segment.planned_rate_c_per_h, unit)
    logged = _with_rate(segment.logged_text, segment.logged_rate_c_per_h, unit, "logged", False)
    lines = [TextLine(planned, "ink", tokens.SECONDARY, 600)] if planned else []
    if logged:
        lines.append(TextLine(logged, "rust"))
    return lines


def _with_rate(
    text: str, rate_c_per_h: float | None, unit: Unit, before: str = "", with_unit: bool = True
) -> str:
    if rate_c_per_h is None:
        return text
    rate = show_rate(rate_c_per_h, unit)
    if not with_unit:
        rate = rate.split(THIN)[0]
    return " ".join(filter(None, (before, rate))) + (f", {text}" if text else "")


def _draw_segments(
    painter: QPainter,
    heat: Frame,
    firing: PlotFiring,
    curves: CurveArrays,
    room: LabelRoom,
    unit: Unit,
) -> None:
    at_s, temperature_c = curves.any_curve()
    for segment in sorted(firing.segments, key=lambda s: s.end_s - s.start_s):
        start = max(segment.start_s, heat.low_s)
        end = min(segment.end_s, heat.high_s)
        middle_s = (start + end) / 2
        value = value_at(at_s, temperature_c, middle_s)
        if end <= start or value is None or not heat.shows(middle_s, value):
            continue
        spot = heat.point(middle_s, value)
        lines = segment_lines(segment, unit)
        text = lines_size(lines)
        rate = segment.planned_rate_c_per_h
        prefer = (0, -1) if rate == 0 else (1, -1) if (rate or -1.0) < 0 else (1, 1)
        if rate is not None and rate > 0 and value > 0.75 * heat.high / 1.14:
            prefer = (-1, -1)
        whole = QSizeF(text.width() + px(24), max(text.height(), px(16)))
        spots = [spot, *_along_step(heat, at_s, temperature_c, start, end)]
        # Near if it can be, farther off before it would lie on a curve; else the number alone.
        placed = room.place_along(spots, whole, prefer, px(150), clear=True)
        placed = placed or room.place_along(spots, whole, prefer, px(300), clear=True)
        if placed is None:
            placed = room.place_along(spots, QSizeF(px(16), px(16)), prefer)
            lines = []
        if placed is None:
            continue
        spot = placed.anchor
        mark = placed.box.topLeft() + QPointF(px(8), px(8))
        if placed.needs_leader():
            tip = placed.leader_end()
            if spot.x() <= mark.x() + 16:
                away = QLineF(mark, spot)
                tip = away.pointAt(min(1.0, (px(8) + 1) / max(1.0, away.length())))
            _draw_leader(painter, spot, tip)
        draw_step_mark(painter, mark, segment.number)
        draw_lines(painter, placed.box.adjusted(px(23), 0, 0, 0), lines, "sheet")


def _along_step(
    heat: Frame, at_s: Numbers, temperature_c: Numbers, start_s: float, end_s: float
) -> list[QPointF]:
    """Points of a step beside its middle that its label may stand at."""
    if heat.span(start_s, end_s).width() < px(24):
        return []
    spots = []
    for share in (0.3, 0.7):
        when = start_s + share * (end_s - start_s)
        value = value_at(at_s, temperature_c, when)
        if value is not None and heat.shows(when, value):
            spots.append(heat.point(when, value))
    return spots


def _draw_band_names(painter: QPainter, heat: Frame, firing: PlotFiring, room: LabelRoom) -> None:
    for band, name, colour in (
        (firing.slow_cool_band, "slow cool", "celadon"),
        (firing.hold_band, "hold", "rust"),
    ):
        if band is None:
            continue
        box = heat.span(*band)
        if box.isEmpty():
            continue
        text = [TextLine(name, colour)]
        cut = band[0] < heat.low_s or band[1] > heat.high_s
        if cut and box.width() < lines_size(text).width():
            continue
        spot = QPointF(box.center().x(), heat.rect.bottom() - 4)
        placed = room.place(spot, lines_size(text), (0, -1), 90)
        if placed:
            draw_lines(painter, placed.box, text, "sheet" if name == "hold" else "")


def draw_words(painter: QPainter, box: QRectF, words: str) -> None:
    """A sentence in the middle of a box, on a patch of the ground."""
    line = TextLine(words, "ink2", tokens.BODY)
    size = QSizeF(line.width() + 32, line.height() + 16)
    patch = QRectF(
        box.center().x() - size.width() / 2,
        box.center().y() - size.height() / 2,
        size.width(),
        size.height(),
    )
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(ink("sheet"))
    painter.drawRoundedRect(patch, 4, 4)
    draw_line_of_text(painter, patch.left() + 16, patch.top() + 8, line)
