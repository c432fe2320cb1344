"""One tile of a plan as it is drawn: its photo or its glaze, its code, and what was seen on it.

What was seen is a sign and a word, never a colour alone: an open ring for looked for and none
seen, bars for how much, a short dash for not looked.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QImage, QPainter, QPainterPath, QPen

from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION, RADIUS_CHIP, SECONDARY
from studiolog.ui.parts.pattern import glaze_brush
from studiolog.ui.parts.severity import SEVERITY_TONES, paint_severity
from studiolog.ui.parts.swatch import GlazeLook, paint_combination, paint_glaze_swatch

LINES = 3
"""Lines of words under a tile."""
_LINE_PX = 16
_STRIP = 0.2
"""How much of a blend's swatch the strip of its shares takes."""


@dataclass(frozen=True)
class TileMark:
    """What a tile says of what the marks speak of: a sign of severity, or words alone."""

    words: str
    severity: int | None = None
    signed: bool = False


@dataclass(frozen=True)
class TileCell:
    """A tile of a layout, whether planned or made.

    ``spot`` is its middle in tiles from the upper left corner. A blend has ``look`` and the
    ``shares`` of its corners; a layered one ``layers`` from the clay outward.
    """

    position: int
    row: int
    column: int
    spot: tuple[float, float]
    code: str
    words: str
    sentence: str
    look: GlazeLook | None = None
    shares: tuple[tuple[GlazeLook, float], ...] = ()
    layers: tuple[GlazeLook, ...] = ()
    picture: tuple[str, str] | None = None
    """Hash and suffix of its newest photo."""
    mark: TileMark | None = None
    stage: str = ""
    ident: int = 0

    @property
    def lost(self) -> bool:
        return self.stage == "lost"


def words_height() -> float:
    """How much room the words under a tile take."""
    return theme.current().px(_LINE_PX) * LINES + 4


def paint_tile(
    painter: QPainter,
    box: QRectF,
    cell: TileCell,
    image: QImage | None,
    *,
    missing: bool = False,
    chosen: bool = False,
) -> None:
    """Draw a tile filling ``box``; ``image`` is its photo once it is read."""
    look = theme.current()
    frame = QRectF(box.left(), box.top(), box.width(), box.height() - words_height())
    if chosen:
        painter.fillRect(box.adjusted(-3, -3, 3, 3), look.color("cobaltwash"))
    if image is not None:
        _paint_photo(painter, frame, image)
    else:
        paint_glazes(painter, frame, cell)
        if cell.picture is not None:
            _note(painter, frame, "photo file missing" if missing else "reading the photo")
    _paint_frame(painter, frame, cell)
    if chosen:
        _paint_tick(painter, frame)
    _write_under(painter, QRectF(box.left(), frame.bottom() + 4, box.width(), 0), cell)


def paint_glazes(painter: QPainter, frame: QRectF, cell: TileCell) -> None:
    """The glaze of a tile as it is drawn: a blend's own swatch over the strip of its shares, or
    the layers on the clay."""
    if cell.layers:
        paint_combination(painter, frame, cell.layers)
        return
    if cell.look is None:
        painter.fillRect(frame, theme.current().color("sunk"))
        return
    paint_glaze_swatch(painter, frame, cell.look)
    shares = [(glaze, share) for glaze, share in cell.shares if share > 0]
    if len(shares) < 2:
        return
    high = round(frame.height() * _STRIP)
    strip = QRectF(frame.left() + 1, frame.bottom() - high - 1, frame.width() - 2, high)
    paint_shares(painter, strip, shares)


def paint_shares(
    painter: QPainter, strip: QRectF, shares: Sequence[tuple[GlazeLook, float]]
) -> None:
    """Bands as wide as the shares, each in its glaze's colour and pattern."""
    look = theme.current()
    ratio = painter.device().devicePixelRatioF()
    whole = sum(share for _glaze, share in shares) or 1.0
    left = strip.left()
    painter.save()
    for glaze, share in shares:
        band = QRectF(left, strip.top(), strip.width() * share / whole, strip.height())
        painter.setBrushOrigin(band.topLeft())
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(glaze_brush(glaze.colour, glaze.pattern, ratio))
        painter.drawRect(band)
        painter.setPen(QPen(look.color("ink"), 1))
        painter.drawLine(band.topLeft(), band.bottomLeft())
        left += band.width()
    painter.drawLine(strip.topLeft(), strip.topRight())
    painter.restore()


def _paint_photo(painter: QPainter, frame: QRectF, image: QImage) -> None:
    """The middle of the photo in the shape of the frame."""
    scale = min(image.width() / frame.width(), image.height() / frame.height())
    wide, high = frame.width() * scale, frame.height() * scale
    part = QRectF((image.width() - wide) / 2, (image.height() - high) / 2, wide, high)
    path = QPainterPath()
    path.addRoundedRect(frame, RADIUS_CHIP, RADIUS_CHIP)
    painter.save()
    painter.setClipPath(path)
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    painter.drawImage(frame, image, part)
    painter.restore()


def _paint_frame(painter: QPainter, frame: QRectF, cell: TileCell) -> None:
    look = theme.current()
    painter.setBrush(Qt.BrushStyle.NoBrush)
    mark = cell.mark
    seen = mark is not None and mark.signed and bool(mark.severity)
    if cell.lost:
        pen = QPen(look.color("rust"), 1.5)
        pen.setDashPattern([3, 2])
        painter.setPen(pen)
        painter.drawLine(frame.bottomLeft(), frame.topRight())
    elif seen:
        pen = QPen(look.color("rust"), 2)
    else:
        pen = QPen(look.color("line2"), 1)
    painter.setPen(pen)
    painter.drawRoundedRect(frame.adjusted(0.5, 0.5, -0.5, -0.5), RADIUS_CHIP, RADIUS_CHIP)


def _paint_tick(painter: QPainter, frame: QRectF) -> None:
    """The sign that a tile is chosen: a tick in its corner."""
    look = theme.current()
    side = look.px(18)
    box = QRectF(frame.right() - side - 4, frame.top() + 4, side, side)
    painter.setPen(QPen(look.color("cobalt"), 1.5))
    painter.setBrush(look.color("cobalt"))
    painter.drawRoundedRect(box, 3, 3)
    pen = QPen(look.color("oncobalt"), 2)
    painter.setPen(pen)
    painter.drawPolyline(
        [
            QPointF(box.left() + side * 0.22, box.top() + side * 0.52),
            QPointF(box.left() + side * 0.43, box.top() + side * 0.72),
            QPointF(box.left() + side * 0.78, box.top() + side * 0.28),
        ]
    )


def _note(painter: QPainter, frame: QRectF, words: str) -> None:
    look = theme.current()
    low = QRectF(frame.left() + 1, frame.center().y() - 10, frame.width() - 2, look.px(20))
    painter.fillRect(low, look.color("sheet"))
    painter.setPen(look.color("ink2"))
    painter.setFont(look.font(CAPTION))
    painter.drawText(low, Qt.AlignmentFlag.AlignCenter, _fit(words, painter, low.width()))


def _write_under(painter: QPainter, line: QRectF, cell: TileCell) -> None:
    """Code, what the marks say, and the tile's words: a line each."""
    look = theme.current()
    step = look.px(_LINE_PX)
    line.setHeight(step)
    level = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
    painter.setFont(look.font(SECONDARY, 600))
    painter.setPen(look.color("ink"))
    painter.drawText(line, level, _fit(cell.code, painter, line.width()))
    line.translate(0, step)
    mark = cell.mark if cell.mark is not None and cell.mark.words else None
    room = QRectF(line)
    if mark is not None:
        tone = "ink2"
        if mark.signed:
            tone = SEVERITY_TONES[mark.severity]
            sign = look.px(22)
            paint_severity(painter, QRectF(room.left(), room.top(), sign, step), mark.severity)
            room.setLeft(room.left() + sign + 4)
        painter.setFont(look.font(CAPTION))
        painter.setPen(look.color(tone))
        painter.drawText(room, level, _fit(mark.words, painter, room.width()))
        line.translate(0, step)
    painter.setFont(look.font(CAPTION))
    painter.setPen(look.color("ink3"))
    painter.drawText(line, level, _fit(cell.words, painter, line.width()))


def _fit(words: str, painter: QPainter, room: float) -> str:
    metrics = QFontMetricsF(painter.font())
    return metrics.elidedText(words, Qt.TextElideMode.ElideRight, room)
