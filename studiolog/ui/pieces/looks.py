"""What the journal says of a piece, as the shared drawings want it."""

from datetime import date, datetime

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QImage, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from studiolog.craft.units import THIN
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import RADIUS_CHIP
from studiolog.journal.piece_lines import FormFacts, LayerLine
from studiolog.journal.piece_page import PiecePage
from studiolog.journal.profiles import Profile
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.glaze_section import SectionLayer, SectionWall
from studiolog.ui.parts.half_section import FormShape, paint_half_section
from studiolog.ui.parts.typed import MINUS, write_day, write_number
from studiolog.ui.parts.wall_geometry import WallProfile

SMALL_PX = 160  # the longer side of a thumbnail in lists and strips
LARGE_PX = 1600


def shape_of_form(form: FormFacts | None) -> FormShape:
    """The same of a piece's form; the plain cup if it has none."""
    if form is None:
        return FormShape()
    return form_shape(form.shape, form.profile, form.fired_height_mm, form.fired_across_mm)


def wall_profile(profile: Profile | None) -> WallProfile | None:
    """A stored profile as the cut wall wants it."""
    return WallProfile(profile.outside, profile.inside) if profile is not None else None


def how_text(
    method: str | None, coats: int | None, seconds: float | None, thickness_mm: float | None
) -> str:
    """How a layer went on: ``dip 3 s``, ``brush, 2 coats``, ``spray, 0.4 mm``."""
    words = method or ""
    if seconds is not None:
        words = f"{words} {write_number(seconds, 1)} s".strip()
    if coats is not None:
        told = f"{coats} coat{'' if coats == 1 else 's'}"
        words = f"{words}, {told}" if words else told
    if thickness_mm is not None:
        told = f"{write_number(thickness_mm, 2)} mm"
        words = f"{words}, {told}" if words else told
    return words


def layer_words(layer: LayerLine) -> str:
    """How a stored layer went on, with its bucket and note."""
    parts = [how_text(layer.method, layer.coats, layer.seconds, layer.thickness_mm)]
    if layer.bucket_mixed_on is not None:
        parts.append(f"mixed {write_day(layer.bucket_mixed_on, date.today())}")
    parts.append(layer.note)
    return ", ".join(filter(None, parts))


def section_wall(page: PiecePage, layers: tuple[SectionLayer, ...] | None = None) -> SectionWall:
    """The cut wall of a piece; ``layers`` stand in for the stored ones while they are changed."""
    if layers is None:
        layers = tuple(
            SectionLayer(
                layer.zone,
                layer.position,
                layer.glaze_name,
                layer.colour,
                layer.pattern,
                layer_words(layer),
            )
            for layer in page.layers
        )
    clay = page.clay
    return SectionWall(
        clay_name=clay.name if clay else "Clay not said",
        clay_colour=clay.colour if clay else "",
        clay_specks=clay.specks if clay else "none",
        wall_mm=page.wall_mm,
        profile=wall_profile(page.form.profile) if page.form else None,
        layers=layers,
        fired=page.stage in ("fired", "finished"),
    )


def short_day(day: date | datetime) -> str:
    """``3 Oct``, with the year if it is not this one."""
    plain = day.date() if isinstance(day, datetime) else day
    return write_day(plain, date.today())


def per_cent(fraction: float) -> str:
    """``12.7 %`` with a thin gap and a true minus."""
    return f"{fraction * 100:.1f}".replace("-", MINUS) + f"{THIN}%"


def after_words(days: int | None) -> str:
    """How long after the firing somebody looked: ``out of kiln``, ``1 week``, ``3 weeks``."""
    if days is None:
        return "before firing"
    if days <= 3:
        return "out of kiln"
    if days < 14:
        return "1 week" if days >= 7 else f"{days} days"
    if days < 60:
        return f"{round(days / 7)} weeks"
    if days < 700:
        return f"{round(days / 30.4)} months"
    return f"{round(days / 365.25)} years"


def paint_thumbnail(
    painter: QPainter, rect: QRectF, image: QImage | None, shape: FormShape, missing: bool = False
) -> None:
    """A picture cut to fill ``rect``; without one the form's half section."""
    look = theme.current()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    frame = QPainterPath()
    frame.addRoundedRect(rect.adjusted(0.5, 0.5, -0.5, -0.5), RADIUS_CHIP, RADIUS_CHIP)
    painter.fillPath(frame, QBrush(look.color("sunk")))
    if image is not None and not image.isNull():
        painter.setClipPath(frame)
        scale = max(rect.width() / image.width(), rect.height() / image.height())
        wide, tall = rect.width() / scale, rect.height() / scale
        part = QRectF((image.width() - wide) / 2, (image.height() - tall) / 2, wide, tall)
        painter.drawImage(rect, image, part)
        painter.setClipping(False)
    else:
        inset = min(rect.width(), rect.height()) * 0.14
        paint_half_section(painter, rect.adjusted(inset, inset, -inset, -inset), shape, "line2")
    painter.setBrush(Qt.BrushStyle.NoBrush)
    pen = QPen(look.color("rust" if missing else "line2"), 1)
    if missing:
        pen.setDashPattern([4, 3])
    painter.setPen(pen)
    painter.drawPath(frame)
    painter.restore()


class Thumbnail(QWidget):
    """A small picture that fetches itself; the form's half section until it is there."""

    def __init__(
        self,
        desk: Desk,
        sha256: str | None,
        suffix: str,
        says: str,
        side: int = 48,
        shape: FormShape | None = None,
        framed: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._desk, self._sha, self._suffix = desk, sha256, suffix
        self._shape = shape or FormShape()
        self._framed = framed
        pixels = theme.current().px(side)
        self.setFixedSize(QSize(pixels, pixels))
        self.setAccessibleName(says)
        self.setToolTip(says)
        desk.pictures.ready.connect(self._arrive)
        theme.current().changed.connect(self.update)

    def _arrive(self, sha256: str, _longest: int) -> None:
        if sha256 == self._sha:
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        image = None
        if self._sha is not None:
            image = self._desk.pictures.picture(self._sha, self._suffix, SMALL_PX)
        painter = QPainter(self)
        rect = QRectF(self.rect())
        paint_thumbnail(painter, rect, image, self._shape)
        if self._framed:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(theme.current().color("cobalt"), 2))
            painter.drawRoundedRect(rect.adjusted(1, 1, -1, -1), RADIUS_CHIP, RADIUS_CHIP)
