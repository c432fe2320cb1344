"""One picture of a piece: what is known of it, and how a frame says what is wanting."""

from dataclasses import dataclass, replace
from enum import Enum

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QImage, QPainter

from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.ui.parts.drawing import colour, elided, pen, width_of, wrapped, write
from studiolog.ui.parts.half_section import FormShape, paint_half_section


class PictureState(Enum):
    """What is known of a picture."""

    NONE = "none"  # never taken
    LOADING = "loading"
    SHOWN = "shown"
    MISSING = "missing"  # its file is not where it was


@dataclass(frozen=True)
class Picture:
    """One side. ``mm_per_px`` and ``height_mm`` (of the piece) may be unknown.

    ``foot`` is the centre of the foot as a share of the image's width and height.
    """

    moment: str
    date_text: str = ""
    state: PictureState = PictureState.NONE
    image: QImage | None = None
    mm_per_px: float | None = None
    height_mm: float | None = None
    foot: tuple[float, float] = (0.5, 0.9)
    last_path: str = ""


def loaded(picture: Picture, image: QImage) -> Picture:
    """The same picture once its file is read; an unreadable image counts as missing."""
    state = PictureState.MISSING if image.isNull() else PictureState.SHOWN
    return replace(picture, image=None if image.isNull() else image, state=state)


def paint_chip(painter: QPainter, rect: QRectF) -> None:
    """A plain ground for words on a picture."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QBrush(colour("sheet")))
    painter.drawRoundedRect(rect, 4, 4)


def _paint_dashed(painter: QPainter, rect: QRectF) -> None:
    painter.setPen(pen("line2", 1.5, (5, 4)))
    painter.setBrush(QBrush(colour("sheet")))
    painter.drawRoundedRect(rect.adjusted(10, 10, -10, -10), 6, 6)


def path_lines(path: str, width: float, most: int = 4) -> list[str]:
    """A path broken at its folders, at most so many lines."""
    spaced = path.replace("/", "/ ").replace("\\", "\\ ")
    lines = wrapped(spaced, CAPTION, width)
    return [line.replace("/ ", "/").replace("\\ ", "\\") for line in lines][-most:]


def paint_wanting(painter: QPainter, half: QRectF, words: str, path: str = "") -> None:
    """A dashed half that says what is wanting, with the last known path."""
    _paint_dashed(painter, half)
    told = [(line, "ink", SECONDARY) for line in wrapped(words, SECONDARY, half.width() - 44)]
    told += [(line, "ink3", CAPTION) for line in path_lines(path, half.width() - 48)]
    y = half.center().y() + 14 - 17 * (len(told) - 1)
    for line, token, size in told:
        fitted = elided(line, size, half.width() - 40)
        write(painter, QPointF(half.center().x(), y), fitted, token, size, 400, "centre")
        y += 17


def paint_loading(painter: QPainter, half: QRectF, shape: FormShape) -> None:
    """The outline of the form while its photo is being read."""
    size = min(half.width() * 0.6, half.height() * 0.5)
    inset = QRectF(half.center().x() - size / 2, half.center().y() - size * 0.6, size, size)
    paint_half_section(painter, inset, shape, "line2")
    at = QPointF(half.center().x(), inset.bottom() + 20)
    write(painter, at, "Loading the photo", "ink2", SECONDARY, 400, "centre")


def paint_nothing_yet(painter: QPainter, frame: QRectF, shape: FormShape) -> None:
    """The form's half section in a pale line, and where to drop photos."""
    _paint_dashed(painter, frame)
    size = min(frame.width(), frame.height()) * 0.42
    middle = frame.center()
    rect = QRectF(middle.x() - size / 2, middle.y() - size * 0.88, size, size * 0.9)
    paint_half_section(painter, rect, shape, "line2")
    at = QPointF(middle.x(), middle.y() + 20)
    write(painter, at, "No photo yet", "ink", SECONDARY, 600, "centre")
    at += QPointF(0, 18)
    write(painter, at, "Drop raw and fired photos here", "ink2", SECONDARY, 400, "centre")


def paint_scale_bar(painter: QPainter, room: QRectF, per_mm: float, whose: str = "") -> None:
    """A round length at the bottom left of ``room``; ``whose`` if it holds for one picture."""
    longest = min(110.0, room.width() - 80)
    length = max((mm for mm in (1, 2, 5, 10, 20, 50, 100) if mm * per_mm <= longest), default=1)
    wide = length * per_mm
    words = f"{length} mm" + (f", {whose}" if whose else "")
    chip = QRectF(room.left() + 12, room.bottom() - 36, wide + width_of(words, CAPTION) + 25, 24)
    paint_chip(painter, chip)
    y = chip.center().y()
    painter.setPen(pen("ink", 1.0))
    painter.setBrush(QBrush(colour("ink")))
    painter.drawRect(QRectF(chip.left() + 8, y - 2, wide / 2, 4))
    painter.setBrush(QBrush(colour("sheet")))
    painter.drawRect(QRectF(chip.left() + 8 + wide / 2, y - 2, wide / 2, 4))
    write(painter, QPointF(chip.left() + wide + 16, y), words, "ink", CAPTION)
