"""Where the pieces of a run are: a bar cut by stage, each in its pattern, losses included."""

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QHelpEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import RADIUS_CHIP, SECONDARY
from studiolog.ui.parts.pattern import (
    STAGE_WORDS,
    STAGES,
    stage_brush,
    stage_fill,
    stage_number_color,
)

_GAP = 2.0
_NARROWEST_NUMBER = 16.0  # px; a narrower segment drops its number


def paint_stage(
    painter: QPainter, rect: QRectF, stage: str, number: str = "", radius: float = 3
) -> None:
    """Fill ``rect`` with a stage; a number stands on a plain patch so no pattern crosses it."""
    look = theme.current()
    box = rect.adjusted(0.5, 0.5, -0.5, -0.5)
    radius = min(radius, rect.width() / 2)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if stage == "lost":
        pen = QPen(look.color("rust"), 1.25)
        pen.setDashPattern([3, 2])
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(box, radius, radius)
        painter.setPen(QPen(look.color("rust"), 1.25))
        inner = box.adjusted(2, 3, -2, -3)
        if not number:
            painter.drawLine(inner.topLeft(), inner.bottomRight())
    else:
        painter.setBrushOrigin(box.topLeft())
        painter.setBrush(stage_brush(stage, painter.device().devicePixelRatioF()))
        # Raw glaze is nearly paper: it needs its ink outline.
        pale = QPen(look.color("ink"), 1.25)
        painter.setPen(pale if stage == "glazed" else QPen(Qt.PenStyle.NoPen))
        painter.drawRoundedRect(box if stage == "glazed" else rect, radius, radius)
    font = look.font(SECONDARY, 600)
    wide = QFontMetricsF(font).horizontalAdvance(number)
    if number and rect.width() >= max(_NARROWEST_NUMBER, wide + 6):
        if stage != "lost":
            patch = QRectF(0, 0, wide + 8, look.px(16))
            patch.moveCenter(rect.center())
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(stage_fill(stage))
            painter.drawRoundedRect(patch.intersected(rect), 2, 2)
        painter.setPen(stage_number_color(stage))
        painter.setFont(font)
        painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, number)
    painter.restore()


def stage_segments(counts: Mapping[str, int], width: float) -> list[tuple[str, int, float, float]]:
    """(stage, count, left, width) for each stage with pieces, in the fixed order of stages."""
    present = [(stage, counts[stage]) for stage in STAGES if counts.get(stage, 0) > 0]
    total = sum(count for _, count in present)
    if not total:
        return []
    room = width - _GAP * (len(present) - 1)
    narrow = 7.0  # even one lost tile of 120 must be seen
    widths = [max(narrow, room * count / total) for _, count in present]
    spill = sum(widths) - room
    if spill > 0:
        widest = widths.index(max(widths))
        widths[widest] = max(narrow, widths[widest] - spill)
    segments, left = [], 0.0
    for (stage, count), wide in zip(present, widths, strict=True):
        segments.append((stage, count, left, wide))
        left += wide + _GAP
    return segments


def paint_stage_bar(painter: QPainter, rect: QRectF, counts: Mapping[str, int]) -> None:
    """Paint a run's pieces by stage over the whole of ``rect``, for delegates.

    Where there is room for it, the stage is named beside its number.
    """
    measure = QFontMetricsF(theme.current().font(SECONDARY, 600))
    for stage, count, left, wide in stage_segments(counts, rect.width()):
        number = str(count) if stage != "lost" else ""
        named = f"{number} {STAGE_WORDS[stage].lower()}"
        if number and measure.horizontalAdvance(named) + 24 <= wide:
            number = named
        paint_stage(
            painter, QRectF(rect.left() + left, rect.top(), wide, rect.height()), stage, number
        )


def describe_stages(counts: Mapping[str, int]) -> str:
    """The counts in words: ``4 bisque, 8 glazed, 1 lost``."""
    said = [f"{counts[s]} {STAGE_WORDS[s].lower()}" for s in STAGES if counts.get(s, 0) > 0]
    return ", ".join(said) or "no pieces"


class StageBar(QWidget):
    """All pieces ever made in a run, by stage; its tool-tip says each count."""

    def __init__(self, counts: Mapping[str, int], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._counts: dict[str, int] = {}
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.set_counts(counts)
        theme.current().changed.connect(self.update)

    def set_counts(self, counts: Mapping[str, int]) -> None:
        self._counts = dict(counts)
        self.setAccessibleName(describe_stages(counts))
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(340, theme.current().px(26))

    def minimumSizeHint(self) -> QSize:
        return QSize(80, theme.current().px(26))

    def said_at(self, x: float) -> str:
        """What the tool-tip says at a place along the bar."""
        for stage, count, left, wide in stage_segments(self._counts, self.width()):
            if left <= x <= left + wide:
                return f"{count} {STAGE_WORDS[stage].lower()}"
        return ""

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.said_at(event.pos().x()), self)
            return True
        return super().event(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        paint_stage_bar(QPainter(self), QRectF(self.rect()), self._counts)


def paint_stage_chip(painter: QPainter, rect: QRectF, stage: str) -> None:
    """A small patch of the stage and its word, without a frame: for legends and delegates."""
    look = theme.current()
    wide, high = look.px(20), look.px(14)
    patch = QRectF(rect.left(), rect.center().y() - high / 2, wide, high)
    paint_stage(painter, patch, stage)
    painter.save()
    painter.setFont(look.font(SECONDARY))
    painter.setPen(look.color("rust" if stage == "lost" else "ink"))
    painter.drawText(
        rect.adjusted(wide + 8, 0, 0, 0),
        int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft),
        STAGE_WORDS[stage],
    )
    painter.restore()


class StageChip(QWidget):
    """A stage as patch and word; framed beside a title, plain in a legend."""

    def __init__(self, stage: str, framed: bool = True, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._stage, self._framed = stage, framed
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.set_stage(stage)
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def set_stage(self, stage: str) -> None:
        self._stage = stage
        self.setAccessibleName(f"Stage: {STAGE_WORDS[stage].lower()}")
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        look = theme.current()
        wide = QFontMetricsF(look.font(SECONDARY)).horizontalAdvance(STAGE_WORDS[self._stage])
        patch = look.px(20) + 8
        return QSize(round(patch + wide + (18 if self._framed else 2)), look.px(24))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect())
        if self._framed:
            painter.setPen(QPen(theme.current().color("line2"), 1))
            painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), RADIUS_CHIP, RADIUS_CHIP)
            box.translate(QPointF(8, 0))
        paint_stage_chip(painter, box, self._stage)
