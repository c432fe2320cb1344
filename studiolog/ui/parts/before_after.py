"""Two pictures of one piece in one frame: before on the left of a divider, after on the right.

Both are laid on each other at the centre of the foot. At true scale each is drawn at its own
millimetres, so that shrinkage is seen; matched, the later one is drawn as tall as the earlier.
"""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QDragEnterEvent,
    QDropEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QPushButton, QWidget

from studiolog.desktop.handed_over import local_paths
from studiolog.desktop.tokens import CAPTION, RADIUS_CARD, SECONDARY
from studiolog.ui.parts.drawing import (
    Drawing,
    colour,
    path_of,
    pen,
    width_of,
    write,
)
from studiolog.ui.parts.half_section import FormShape
from studiolog.ui.parts.picture import (
    Picture,
    PictureState,
    loaded,
    paint_chip,
    paint_loading,
    paint_nothing_yet,
    paint_scale_bar,
    paint_wanting,
)

__all__ = ["BeforeAfter", "Picture", "PictureState", "loaded"]

HANDLE_PX = 34.0
KEY_STEP = 0.02
_MOST_ZOOM = 8.0


class BeforeAfter(Drawing):
    """The frame. Divider by mouse, A and D or arrows; S true scale or matched; wheel zooms."""

    files_dropped = Signal(list)
    find_asked = Signal(str)
    """``"before"`` or ``"after"``: the person wants to say where the file is, or choose one."""
    divider_moved = Signal(float)
    true_scale_changed = Signal(bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Before and after", parent)
        self.setAcceptDrops(True)
        self.setMouseTracking(True)
        self._before = Picture("raw glaze")
        self._after = Picture("fired")
        self._outline: tuple[tuple[float, float], ...] = ()
        self._shape = FormShape()
        self._share = 0.5
        self._true_scale = True
        self._zoom = 1.0
        self._pan = QPointF(0, 0)
        self._grabbed: str | None = None
        self._last = QPointF()
        self._scaled: dict[tuple[int, int, int], QPixmap] = {}
        self._buttons = {side: self._make_button(side) for side in ("before", "after")}
        self.tell()

    def grow(self) -> None:
        """Colours or text size changed: the buttons move with the words."""
        super().grow()
        self._scaled.clear()
        self._place_buttons()

    def _make_button(self, side: str) -> QPushButton:
        button = QPushButton("Find it", self)
        button.clicked.connect(lambda: self.find_asked.emit(side))
        button.hide()
        return button

    # What is shown

    def show_pictures(
        self,
        before: Picture,
        after: Picture,
        outline: Sequence[tuple[float, float]] = (),
        shape: FormShape | None = None,
    ) -> None:
        """Show two pictures. ``outline`` is the piece before firing: ``(x_mm, height_mm)`` from
        the foot's centre; ``shape`` is drawn while there is no photo at all."""
        self._before, self._after = before, after
        self._outline = tuple(outline)
        self._shape = shape or FormShape()
        self._scaled.clear()
        self.reset_view()
        self._place_buttons()
        self.tell()

    def sentence(self) -> str:
        """``Raw glaze, 30 Sep, on the left; fired, 4 Oct, on the right, at true scale.``"""
        if self._both(PictureState.NONE):
            return "No photo yet."
        parts = []
        for picture, side in ((self._before, "on the left"), (self._after, "on the right")):
            named = picture.moment + (f", {picture.date_text}" if picture.date_text else "")
            match picture.state:
                case PictureState.NONE:
                    parts.append(f"no {picture.moment} photo {side}")
                case PictureState.MISSING:
                    parts.append(f"{named}, {side}: file missing, last at {picture.last_path}")
                case PictureState.LOADING:
                    parts.append(f"{named}, {side}, loading")
                case PictureState.SHOWN:
                    parts.append(f"{named}, {side}")
        words = "; ".join(parts)
        if self._shown(self._before) and self._shown(self._after):
            words += f", {self._scale_words()}"
        return words[:1].upper() + words[1:] + "."

    def _scale_words(self) -> str:
        if not self.can_be_true():
            return "not to scale"
        return "at true scale" if self._true_scale else "matched in height"

    @staticmethod
    def _shown(picture: Picture) -> bool:
        return picture.state is PictureState.SHOWN and picture.image is not None

    def _both(self, state: PictureState) -> bool:
        return self._before.state is state and self._after.state is state

    def can_be_true(self) -> bool:
        """Whether both pictures know their millimetres."""
        return bool(self._before.mm_per_px and self._after.mm_per_px)

    # The divider and the view

    def divider(self) -> float:
        """Where the divider stands, 0 left to 1 right."""
        return self._share

    def set_divider(self, share: float) -> None:
        """Move the divider; kept within the frame."""
        share = min(max(share, 0.0), 1.0)
        if share != self._share:
            self._share = share
            self.update()
            self.divider_moved.emit(share)

    def is_true_scale(self) -> bool:
        """Whether shrinkage is shown as it is."""
        return self._true_scale

    def set_true_scale(self, true_scale: bool) -> None:
        """True scale, or both drawn equally tall."""
        if true_scale != self._true_scale:
            self._true_scale = true_scale
            self.tell()
            self.true_scale_changed.emit(true_scale)

    def zoom_by(self, factor: float, at: QPointF | None = None) -> None:
        """Zoom both pictures about a point of the frame, its middle by default."""
        at = at or QPointF(self.wide() / 2, self.tall() / 2)
        wanted = min(max(self._zoom * factor, 1.0), _MOST_ZOOM)
        change = wanted / self._zoom
        foot = self._foot_at()
        # The point under the pointer stays where it is.
        moved = at + (foot - at) * change
        self._zoom = wanted
        self._pan += moved - self._foot_at()
        if wanted == 1.0:
            self._pan = QPointF(0, 0)
        self.update()

    def reset_view(self) -> None:
        """Back to the whole pictures."""
        self._zoom, self._pan = 1.0, QPointF(0, 0)
        self.update()

    def px_per_mm(self) -> float | None:
        """The frame's scale, if a picture knows its millimetres."""
        lead = self._lead()
        if lead is None or not lead.mm_per_px:
            return None
        return self._cover(lead) * self._zoom / lead.mm_per_px

    def _lead(self) -> Picture | None:
        """The picture that decides the frame's scale."""
        for picture in (self._before, self._after):
            if self._shown(picture):
                return picture
        return None

    def _room(self) -> QRectF:
        """Where pictures are laid: the frame, or one half while the other picture is wanting."""
        before, after = self._shown(self._before), self._shown(self._after)
        half = self.wide() / 2
        if before and not after:
            return QRectF(0, 0, half, self.tall())
        if after and not before:
            return QRectF(half, 0, half, self.tall())
        return self.frame()

    def _cover(self, picture: Picture) -> float:
        """Frame pixels per image pixel so that the picture covers its room."""
        assert picture.image is not None
        room = self._room()
        wide = room.width() / max(picture.image.width(), 1)
        tall = room.height() / max(picture.image.height(), 1)
        # A picture alone in a half is shown whole; two are laid over the whole frame.
        return min(wide, tall) if room.width() < self.wide() else max(wide, tall)

    def _foot_at(self) -> QPointF:
        """Where the centre of both feet is on the frame."""
        lead = self._lead()
        if lead is None or lead.image is None:
            return QPointF(self.wide() / 2, self.tall() * 0.9) + self._pan
        scale = self._cover(lead) * self._zoom
        room = self._room()
        left = room.center().x() - lead.image.width() * scale / 2
        top = room.center().y() - lead.image.height() * scale / 2
        foot = QPointF(
            left + lead.foot[0] * lead.image.width() * scale,
            top + lead.foot[1] * lead.image.height() * scale,
        )
        return foot + self._pan

    def picture_rect(self, side: str) -> QRectF:
        """Where the whole of a picture lies in frame pixels, cut or not."""
        picture = self._before if side == "before" else self._after
        if picture.image is None:
            return QRectF()
        scale = self._cover(picture) * self._zoom
        per_mm = self.px_per_mm()
        if self.can_be_true() and per_mm is not None and picture.mm_per_px:
            scale = picture.mm_per_px * per_mm
            if side == "after" and not self._true_scale:
                heights = (self._before.height_mm, self._after.height_mm)
                if heights[0] and heights[1]:
                    scale *= heights[0] / heights[1]
        foot = self._foot_at()
        width, height = picture.image.width() * scale, picture.image.height() * scale
        return QRectF(
            foot.x() - picture.foot[0] * width, foot.y() - picture.foot[1] * height, width, height
        )

    # Input

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.modifiers() & (
            Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
        ):
            super().keyPressEvent(event)
            return
        match event.key():
            case Qt.Key.Key_A | Qt.Key.Key_Left:
                self.set_divider(self._share - KEY_STEP)
            case Qt.Key.Key_D | Qt.Key.Key_Right:
                self.set_divider(self._share + KEY_STEP)
            case Qt.Key.Key_S:
                self.set_true_scale(not self._true_scale)
            case Qt.Key.Key_Plus | Qt.Key.Key_Equal:
                self.zoom_by(1.25)
            case Qt.Key.Key_Minus:
                self.zoom_by(0.8)
            case Qt.Key.Key_0:
                self.reset_view()
            case _:
                super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton:
            super().mousePressEvent(event)
            return
        self._last = self.spot(event.position())
        self._grabbed = "divider" if self._on_divider(self.spot(event.position())) else "pictures"

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at = self.spot(event.position())
        if self._grabbed == "divider":
            self.set_divider(at.x() / max(self.wide(), 1))
        elif self._grabbed == "pictures" and self._zoom > 1.0:
            self._pan += at - self._last
            self.update()
        elif self._grabbed is None:
            over = self._on_divider(at)
            shape = Qt.CursorShape.SplitHCursor if over else Qt.CursorShape.ArrowCursor
            if self._zoom > 1.0 and not over:
                shape = Qt.CursorShape.OpenHandCursor
            self.setCursor(shape)
        self._last = at

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self._grabbed = None
        super().mouseReleaseEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        self.reset_view()

    def wheelEvent(self, event: QWheelEvent) -> None:
        if self._lead() is None:
            super().wheelEvent(event)
            return
        self.zoom_by(1.0015 ** event.angleDelta().y(), self.spot(event.position()))
        event.accept()

    def _handle_at(self) -> QPointF:
        return QPointF(self._share * self.wide(), self.tall() * 0.585)

    def _on_divider(self, at: QPointF) -> bool:
        handle = self._handle_at()
        near = at - handle
        if near.x() ** 2 + near.y() ** 2 <= (HANDLE_PX / 2) ** 2:
            return True
        return abs(near.x()) <= 6

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        paths = local_paths(event.mimeData())
        if paths:
            event.acceptProposedAction()
            self.files_dropped.emit(paths)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._scaled.clear()
        self._place_buttons()

    def _place_buttons(self) -> None:
        """A button only where a picture is missing; the keyboard reaches it by Tab."""
        for side, picture in (("before", self._before), ("after", self._after)):
            button = self._buttons[side]
            wanted = picture.state in (PictureState.MISSING, PictureState.NONE)
            missing = picture.state is PictureState.MISSING
            button.setText("Find it" if missing else "Choose a photo")
            verb = "Find the" if missing else "Choose a"
            button.setAccessibleName(f"{verb} {picture.moment} photo")
            size = button.sizeHint()
            middle = self.width() * (0.25 if side == "before" else 0.75)
            button.setGeometry(
                round(middle - size.width() / 2),
                round(self.height() * 0.5 + 34 * self.grown()),
                size.width(),
                size.height(),
            )
            button.setVisible(wanted)
        if self._both(PictureState.NONE):
            self._buttons["after"].hide()
            lone = self._buttons["before"]
            lone.setAccessibleName("Choose photos")
            lone.setText("Choose photos")
            size = lone.sizeHint()
            lone.setGeometry(
                round((self.width() - size.width()) / 2),
                round(self.height() * 0.5 + 56 * self.grown()),
                size.width(),
                size.height(),
            )

    # Paint

    def sizeHint(self) -> QSize:
        return self.asked(520, 512)

    def minimumSizeHint(self) -> QSize:
        return self.asked(260, 240)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        frame = self.frame()
        clip = QPainterPath()
        clip.addRoundedRect(frame, RADIUS_CARD, RADIUS_CARD)
        painter.setClipPath(clip)
        painter.fillRect(frame, QBrush(colour("sunk")))
        lone = not (self._shown(self._before) and self._shown(self._after))
        x = self.wide() * (0.5 if lone else self._share)
        left, right = (
            QRectF(0, 0, x, frame.height()),
            QRectF(x, 0, frame.width() - x, frame.height()),
        )
        if self._both(PictureState.NONE):
            paint_nothing_yet(painter, frame, self._shape)
        else:
            self._paint_side(painter, "before", self._before, left)
            self._paint_side(painter, "after", self._after, right)
        painter.setClipPath(clip)
        if not lone:
            self._paint_outline(painter, right)
            painter.setClipPath(clip)
            self._paint_divider(painter, x)
        self._paint_chips(painter)
        per_mm = self.px_per_mm()
        if per_mm is not None:
            both = self._shown(self._before) and self._shown(self._after)
            # Off true scale the bar holds for one picture only, and says for which.
            for_one = both and not (self._true_scale and self.can_be_true())
            room = self._room()
            paint_scale_bar(painter, room, per_mm, self._before.moment if for_one else "")
        painter.setClipping(False)
        self.paint_focus(painter, RADIUS_CARD)
        painter.end()

    def _paint_side(self, painter: QPainter, side: str, picture: Picture, half: QRectF) -> None:
        painter.save()
        painter.setClipRect(half, Qt.ClipOperation.IntersectClip)
        if self._shown(picture):
            self._paint_picture(painter, side, picture)
        elif picture.state is PictureState.LOADING:
            paint_loading(painter, half, self._shape)
        elif picture.state is PictureState.MISSING:
            paint_wanting(painter, half, "The photo is not where it was", picture.last_path)
        else:
            paint_wanting(painter, half, f"Drop the {picture.moment} photo here")
        painter.restore()

    def _paint_picture(self, painter: QPainter, side: str, picture: Picture) -> None:
        assert picture.image is not None
        target = self.picture_rect(side)
        ratio = self.ratio()
        wide, tall = round(target.width() * ratio), round(target.height() * ratio)
        if wide * tall > 12_000_000 or wide < 1 or tall < 1:
            painter.drawImage(target, picture.image)
            return
        key = (picture.image.cacheKey(), wide, tall)
        if key not in self._scaled:
            if len(self._scaled) > 3:
                self._scaled.clear()
            self._scaled[key] = QPixmap.fromImage(
                picture.image.scaled(
                    wide,
                    tall,
                    Qt.AspectRatioMode.IgnoreAspectRatio,
                    Qt.TransformationMode.SmoothTransformation,
                )
            )
        painter.drawPixmap(target, self._scaled[key], QRectF(0, 0, wide, tall))

    def _paint_outline(self, painter: QPainter, right: QRectF) -> None:
        """The piece before firing, dashed over the fired half: white under ink."""
        per_mm = self.px_per_mm()
        if len(self._outline) < 2 or per_mm is None or not self._true_scale:
            return
        foot = self._foot_at()
        path = path_of(
            [(foot.x() + x * per_mm, foot.y() - h * per_mm) for x, h in self._outline], closed=False
        )
        painter.setClipRect(right, Qt.ClipOperation.IntersectClip)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor("#FFFFFF"), 2.6))
        painter.drawPath(path)
        dashed = QPen(QColor("#1C1917"), 1.3)
        dashed.setDashPattern([3.2, 2.4])
        painter.setPen(dashed)
        painter.drawPath(path)

    def _paint_divider(self, painter: QPainter, x: float) -> None:
        painter.setPen(QPen(QColor("#FFFFFF"), 2.0))
        painter.drawLine(QPointF(x, 0), QPointF(x, self.tall()))
        handle = self._handle_at()
        painter.setBrush(QBrush(colour("cobalt")))
        painter.drawEllipse(handle, HANDLE_PX / 2 - 1, HANDLE_PX / 2 - 1)
        painter.setPen(pen("oncobalt", 1.75))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for side in (-1, 1):
            arrow = [
                (handle.x() + side * 4, handle.y() - 5),
                (handle.x() + side * 9, handle.y()),
                (handle.x() + side * 4, handle.y() + 5),
            ]
            painter.drawPath(path_of(arrow, closed=False))

    def _paint_chips(self, painter: QPainter) -> None:
        for picture, on_left in ((self._before, True), (self._after, False)):
            if picture.state is PictureState.NONE:
                continue
            moment = picture.moment[:1].upper() + picture.moment[1:]
            first = width_of(moment, SECONDARY, 600)
            second = width_of(picture.date_text, SECONDARY) + 6 if picture.date_text else 0.0
            wide = first + second + 17
            x = 12.0 if on_left else self.wide() - 12 - wide
            paint_chip(painter, QRectF(x, 12, wide, 24))
            write(painter, QPointF(x + 8, 24), moment, "ink", SECONDARY, 600)
            write(painter, QPointF(x + 14 + first, 24), picture.date_text, "ink2", SECONDARY)
        if not (self._shown(self._before) and self._shown(self._after)):
            return
        words = self._scale_words().removeprefix("at ")
        dashed = len(self._outline) > 1 and self.can_be_true() and self._true_scale
        if dashed:
            words = f"outline before firing, {words}"
        wide = width_of(words, CAPTION) + (46 if dashed else 17)
        rect = QRectF(self.wide() - 12 - wide, self.tall() - 36, wide, 24)
        paint_chip(painter, rect)
        if dashed:
            painter.setPen(pen("ink", 1.5, (5, 3)))
            y = rect.center().y()
            painter.drawLine(QPointF(rect.left() + 8, y), QPointF(rect.left() + 30, y))
        at = QPointF(rect.right() - 8, rect.center().y())
        write(painter, at, words, "ink2", CAPTION, 400, "right")
