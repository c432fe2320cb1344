"""Dragging a part of a stage bar to another stage: what is held, where it can go, how it looks."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen

from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.journal.bench_rows import BenchRow
from studiolog.ui.parts.pattern import STAGE_WORDS, STAGES
from studiolog.ui.parts.stage_bar import paint_stage, stage_segments


@dataclass
class Grab:
    """Pieces of a run held at one stage. ``most`` is how many of them are counted.

    What lies between the place that was pressed and the end of the stage is held: pressed in the
    middle, half of it.
    """

    run_id: int
    stage: str
    pieces: int
    most: int
    pressed: QPointF
    moved: bool = False
    to_stage: str | None = None


def grab_at(place: QPointF, bar: QRectF, row: BenchRow) -> Grab | None:
    """What is held if the mouse is pressed here; None where nothing can be."""
    if not bar.contains(place):
        return None
    for stage, pieces, left, wide in stage_segments(row.counts, bar.width()):
        within = place.x() - bar.left() - left
        most = row.counted.get(stage, 0)
        if 0 <= within <= wide and most and stage != "lost":
            held = max(1, math.ceil(pieces * (1 - within / wide)))
            return Grab(row.run_id, stage, min(held, most), most, place)
    return None


def _cells(under: QRectF) -> list[tuple[str, QRectF]]:
    """The stages side by side, in equal parts of the room."""
    gap = 4.0
    wide = (under.width() - gap * (len(STAGES) - 1)) / len(STAGES)
    return [
        (stage, QRectF(under.left() + place * (wide + gap), under.top() + 4, wide,
                       under.height() - 6))
        for place, stage in enumerate(STAGES)
    ]  # fmt: skip


def target_at(
    place: QPointF, bar: QRectF, under: QRectF, counts: Mapping[str, int], grab: Grab
) -> str | None:
    """The stage the pieces would go to if they were let go here."""
    if bar.contains(place):
        for stage, _, left, wide in stage_segments(counts, bar.width()):
            if left <= place.x() - bar.left() <= left + wide:
                return stage if stage != grab.stage else None
    for stage, cell in _cells(under):
        if cell.contains(place):
            return stage if stage != grab.stage else None
    return None


def paint_targets(
    painter: QPainter, bar: QRectF, under: QRectF, counts: Mapping[str, int], grab: Grab
) -> None:
    """Every stage as a place to let go, and how many are held where they come from."""
    look = theme.current()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for stage, cell in _cells(under):
        patch = QRectF(cell.left(), cell.top(), cell.width(), cell.height() * 0.5)
        paint_stage(painter, patch, stage, "")
        here = stage == grab.to_stage
        font = look.font(CAPTION, 600 if here else 400)
        painter.setFont(font)
        tone = "cobalt" if here else "ink3" if stage == grab.stage else "ink2"
        painter.setPen(look.color(tone))
        words = QFontMetricsF(font).elidedText(
            STAGE_WORDS[stage], Qt.TextElideMode.ElideRight, cell.width()
        )
        room = QRectF(cell.left(), patch.bottom(), cell.width(), cell.bottom() - patch.bottom())
        painter.drawText(room, Qt.AlignmentFlag.AlignCenter, words)
        if here:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(look.color("cobalt"), 2))
            painter.drawRoundedRect(patch.adjusted(-1, -1, 1, 1), 3, 3)
    _paint_held(painter, bar, counts, grab)
    painter.restore()


def _paint_held(painter: QPainter, bar: QRectF, counts: Mapping[str, int], grab: Grab) -> None:
    look = theme.current()
    for stage, pieces, left, wide in stage_segments(counts, bar.width()):
        if stage != grab.stage:
            continue
        part = wide * grab.pieces / pieces
        held = QRectF(bar.left() + left + wide - part, bar.top(), part, bar.height())
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(look.color("cobalt"), 2))
        painter.drawRoundedRect(held.adjusted(1, 1, -1, -1), 3, 3)
        to = f" to {STAGE_WORDS[grab.to_stage].lower()}" if grab.to_stage else ""
        words = f"{grab.pieces} of {pieces}{to}"
        font = look.font(SECONDARY, 600)
        patch = QRectF(0, 0, QFontMetricsF(font).horizontalAdvance(words) + 14, bar.height() - 4)
        patch.moveCenter(held.center())
        patch.moveLeft(max(bar.left(), min(patch.left(), bar.right() - patch.width())))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.color("cobalt"))
        painter.drawRoundedRect(patch, 4, 4)
        painter.setPen(look.color("oncobalt"))
        painter.setFont(font)
        painter.drawText(patch, Qt.AlignmentFlag.AlignCenter, words)
