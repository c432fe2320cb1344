"""A piece before and after its firing: two pictures side by side, read as they come into sight."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QImage, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import CAPTION, RADIUS_CARD, SECONDARY
from studiolog.journal.review_pairs import Pair, Shot
from studiolog.ui.parts.drawing import Drawing, colour, pen, write

_PX = 320
_GAP = 4


class PairView(Drawing):
    """Raw at the left, fired at the right; a picture whose file is missing says so."""

    def __init__(self, desk: Desk, pair: Pair, parent: QWidget | None = None) -> None:
        super().__init__(pair.words, parent)
        self._desk, self._pair = desk, pair
        self._missing: set[str] = set()
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        desk.pictures.ready.connect(self._hear_ready)
        desk.pictures.missing.connect(self._hear_missing)
        self.tell()

    def sentence(self) -> str:
        pair = self._pair
        words = f"{pair.words}. {pair.before.words}, then {pair.after.words}"
        gone = [shot.words for shot in (pair.before, pair.after) if shot.sha256 in self._missing]
        return f"{words}. File missing: {', '.join(gone)}" if gone else words

    def sizeHint(self) -> QSize:
        return self.asked(300, 168)

    def minimumSizeHint(self) -> QSize:
        return self.asked(200, 168)

    def _hear_ready(self, sha256: str, _longest: int) -> None:
        if sha256 in (self._pair.before.sha256, self._pair.after.sha256):
            self.update()

    def _hear_missing(self, sha256: str, _longest: int, _sentence: str) -> None:
        if sha256 in (self._pair.before.sha256, self._pair.after.sha256):
            self._missing.add(sha256)
            self.tell()
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        room = self.frame().adjusted(0.5, 0.5, -0.5, -0.5)
        wide = (room.width() - _GAP) / 2
        for number, shot in enumerate((self._pair.before, self._pair.after)):
            box = QRectF(room.left() + number * (wide + _GAP), room.top(), wide, room.height() - 21)
            image = self._image(shot)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colour("sunk"))
            painter.drawRoundedRect(box, RADIUS_CARD, RADIUS_CARD)
            if image is not None:
                grow = max(box.width() / image.width(), box.height() / image.height())
                part = QRectF(0, 0, box.width() / grow, box.height() / grow)
                part.moveCenter(QRectF(image.rect()).center())
                painter.setRenderHint(painter.RenderHint.SmoothPixmapTransform)
                painter.drawImage(box, image, part)
            elif shot.sha256 in self._missing:
                painter.setPen(pen("line2", 1.5, (5, 4)))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawRoundedRect(box.adjusted(4, 4, -4, -4), 4, 4)
                write(painter, box.center(), "photo missing", "ink2", SECONDARY, 400, "centre")
            at = QPointF(box.left(), box.bottom() + 14)
            write(painter, at, shot.words, "ink3", CAPTION)
        painter.end()

    def _image(self, shot: Shot) -> QImage | None:
        if self._desk.pictures.problem(shot.sha256, _PX) is not None:
            self._missing.add(shot.sha256)
        if shot.sha256 in self._missing:
            return None
        return self._desk.pictures.picture(shot.sha256, shot.suffix, _PX)
