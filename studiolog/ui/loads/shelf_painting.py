"""How a shelf and what stands on it are drawn from above."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPainterPath, QPen, QPolygonF

from studiolog.craft.ware.load_plan import PACK, POST, PROBE, PlannedShelf
from studiolog.craft.ware.shelf import Footprint, Kept
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.ui.loads.board_layout import CAPTION_HIGH, ShelfSpot
from studiolog.ui.parts.drawing import colour, elided, font, path_of, pen, width_of, write
from studiolog.ui.parts.marks import mark_path
from studiolog.ui.parts.pattern import stage_brush, stage_fill, stage_number_color

_MARK_LEAST = 26.0  # px; a narrower piece carries no number


@dataclass(frozen=True)
class PieceLook:
    """How a piece is drawn and told. ``mark`` is "piece", "run" or "", ``number`` stands in it."""

    label: str
    name: str
    stage: str
    mark: str = ""
    number: str = ""
    on_tile: bool = False
    by_hand: bool = False
    alarm: str = ""
    """Why it is drawn as something to look at; "" where nothing is."""


def outline_of(
    footprint: Footprint, middle: QPointF, scale: float, turned_deg: float
) -> QPainterPath:
    """The outline of a piece in the drawing."""
    path = QPainterPath()
    if footprint.shape == "circle":
        reach = footprint.across_mm / 2 * scale
        path.addEllipse(middle, reach, reach)
        return path
    corners = footprint.core(turned_deg)
    path.addPolygon(
        QPolygonF([QPointF(middle.x() + x * scale, middle.y() + y * scale) for x, y in corners])
    )
    path.closeSubpath()
    return path


def shelf_path(spot: ShelfSpot) -> QPainterPath:
    """The outline of a shelf in the drawing."""
    points = spot.shelf.outline.points()
    return path_of([(spot.at(x, y).x(), spot.at(x, y).y()) for x, y in points])


def paint_shelf(painter: QPainter, spot: ShelfSpot, name: str, told: str, meant: bool) -> None:
    """A shelf with its caption over it, and what is kept clear on it."""
    painter.setPen(pen("cobalt" if meant else "ink", 2.0 if meant else 1.5))
    painter.setBrush(QBrush(colour("sheet")))
    painter.drawPath(shelf_path(spot))
    y = spot.box.top() - CAPTION_HIGH / 2 - 1
    right = QPointF(spot.box.right(), y)
    wide = width_of(told, CAPTION)
    write(painter, right, told, "ink2", CAPTION, align="right")
    room = spot.box.width() - wide - 8
    tone = "cobalt" if meant else "ink"
    write(
        painter,
        QPointF(spot.box.left(), y),
        elided(name, SECONDARY, room, 600),
        tone,
        SECONDARY,
        600,
    )
    for kept in spot.shelf.kept:
        paint_kept(painter, spot, kept)


def paint_kept(painter: QPainter, spot: ShelfSpot, kept: Kept) -> None:
    """A post, the thermocouple or a cone pack, each by its own sign."""
    middle = spot.at(kept.x_mm, kept.y_mm)
    if kept.what == POST:
        box = QRectF(
            0, 0, kept.footprint.across_mm * spot.scale, kept.footprint.across_mm * spot.scale
        )
        box.moveCenter(middle)
        painter.setPen(pen("ink2", 1.25))
        painter.setBrush(QBrush(colour("sunk")))
        painter.drawEllipse(box)
        painter.drawLine(
            box.center() - QPointF(box.width() / 4, 0), box.center() + QPointF(box.width() / 4, 0)
        )
        painter.drawLine(
            box.center() - QPointF(0, box.width() / 4), box.center() + QPointF(0, box.width() / 4)
        )
    elif kept.what == PROBE:
        reach = kept.footprint.across_mm / 2 * spot.scale
        painter.setPen(pen("rust", 1.0, (3, 3)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.save()
        painter.setClipPath(shelf_path(spot))
        painter.drawEllipse(middle, reach, reach)
        painter.restore()
        painter.setPen(pen("rust", 1.75))
        painter.setBrush(QBrush(colour("rust")))
        painter.drawEllipse(middle, 2.5, 2.5)
    elif kept.what == PACK:
        wide, deep = kept.footprint.across_mm * spot.scale, kept.footprint.other_mm * spot.scale
        box = QRectF(middle.x() - wide / 2, middle.y() - deep / 2, wide, deep)
        painter.setPen(pen("cobalt", 1.25))
        painter.setBrush(QBrush(colour("cobaltwash")))
        painter.drawRoundedRect(box, 2, 2)
        third = box.width() / 3
        painter.setBrush(QBrush(colour("cobalt")))
        painter.setPen(Qt.PenStyle.NoPen)
        for n in range(3):
            x = box.left() + third * (n + 0.5)
            half, foot = min(third * 0.28, 4.0), box.center().y() + min(deep * 0.32, 5.0)
            painter.drawPath(path_of([(x - half, foot), (x + half, foot), (x, foot - 2.4 * half)]))


def paint_piece(
    painter: QPainter,
    footprint: Footprint,
    middle: QPointF,
    scale: float,
    turned_deg: float,
    look: PieceLook,
    *,
    tile_beyond_mm: float = 0.0,
    stacked: int = 1,
    chosen: bool = False,
    faint: bool = False,
    ratio: float = 1.0,
) -> None:
    """A piece in the pattern of its stage; its number in its mark where there is the room."""
    painter.save()
    if faint:
        painter.setOpacity(0.45)
    path = outline_of(footprint, middle, scale, turned_deg)
    if look.on_tile and tile_beyond_mm:
        painter.setPen(pen("ochre", 1.25, (4, 3)))
        painter.setBrush(QBrush(colour("ochrewash")))
        painter.drawPath(outline_of(footprint.widened(tile_beyond_mm), middle, scale, turned_deg))
    box = path.boundingRect()
    painter.setBrushOrigin(box.topLeft())
    painter.setBrush(stage_brush(look.stage, ratio))
    painter.setPen(pen("rust", 2.0) if look.alarm else pen("ink", 1.25))
    painter.drawPath(path)
    if footprint.shape == "circle" and box.width() > 34:
        wall = max(box.width() * 0.07, 2.0)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(stage_number_color(look.stage), 0.75))
        painter.drawEllipse(box.adjusted(wall, wall, -wall, -wall))
    _paint_number(painter, box, look, stacked)
    if look.by_hand:
        painter.setPen(pen("ink", 1.0))
        painter.setBrush(QBrush(colour("paper")))
        corner = QPointF(box.center().x(), box.top() + 5)
        painter.drawRect(QRectF(corner.x() - 2.5, corner.y() - 2.5, 5, 5))
    if chosen:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen("cobalt", 2.5))
        painter.drawPath(outline_of(footprint.widened(2.5 / scale), middle, scale, turned_deg))
    painter.restore()


def _paint_number(painter: QPainter, box: QRectF, look: PieceLook, stacked: int) -> None:
    words = f"{stacked}×" if stacked > 1 else look.number
    if not words or box.width() < _MARK_LEAST:
        return
    wide = width_of(words, CAPTION, 600)
    kind = "" if stacked > 1 else look.mark
    patch = QRectF(0, 0, wide + (14 if kind == "run" else 9), 16)
    if patch.width() > box.width() - 6:
        return
    patch.moveCenter(box.center())
    painter.setBrush(stage_fill(look.stage))
    painter.setPen(QPen(stage_number_color(look.stage), 1.0) if kind else Qt.PenStyle.NoPen)
    if kind:
        painter.drawPath(mark_path(kind, patch))
    else:
        painter.drawRoundedRect(patch, 2, 2)
    shift = QPointF(2.5, 0) if kind == "run" else QPointF()
    _write_on(painter, patch.center() + shift, words, look.stage)


def _write_on(painter: QPainter, middle: QPointF, words: str, stage: str) -> None:
    painter.setFont(font(CAPTION, 600))
    painter.setPen(stage_number_color(stage))
    box = QRectF(0, 0, 200, 20)
    box.moveCenter(middle)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)


def shelf_name(shelf: PlannedShelf, level: str) -> str:
    """ "Shelf 2, bottom"; a half says which."""
    part = {"left": ", left half", "right": ", right half"}.get(shelf.part, "")
    return f"Shelf {shelf.position}{part}{f', {level}' if level else ''}"
