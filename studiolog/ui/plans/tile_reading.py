"""The tile under the cursor, told whole: photo, glaze, formula, cone, what was seen on it."""

from functools import partial

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QImage, QPainter, QPainterPath, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from studiolog.craft.firing.cones import label_reached
from studiolog.craft.glaze.blend import BlendPart
from studiolog.craft.words import CONE_BASES, FAULTS, SURFACES
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.pictures import Pictures
from studiolog.desktop.tokens import CAPTION, RADIUS_CARD
from studiolog.journal.analyses import read_analyses
from studiolog.journal.plan_page import PlanPage, PlanTileLine
from studiolog.journal.plan_work import keep_glaze
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import LineField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.severity import SeverityLabel
from studiolog.ui.parts.text import Text
from studiolog.ui.plans.cells import cell_of_tile, say_layer
from studiolog.ui.plans.marks import stage_words
from studiolog.ui.plans.preview_words import formula_lines, recipe_words
from studiolog.ui.plans.tile_picture import TileCell, paint_glazes

_HIGH, _LOW = 236, 132  # px of a photo, and of a glaze that is only drawn
_PHOTO = 480


class TilePhoto(QWidget):
    """The newest photo of a tile, or its glaze as it is drawn."""

    def __init__(self, pictures: Pictures) -> None:
        super().__init__()
        self._pictures = pictures
        self._cell: TileCell | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        pictures.ready.connect(self._hear_picture)
        pictures.missing.connect(self._hear_picture)
        theme.current().changed.connect(self.updateGeometry)

    def _hear_picture(self, _sha256: str, _longest: int, _why: str = "") -> None:
        self.update()

    def show_cell(self, cell: TileCell | None) -> None:
        """Show this tile; a screen reader is told which."""
        self._cell = cell
        words = f"Picture of {cell.code}" if cell is not None else "No tile"
        self.setAccessibleName(words)
        self.setAccessibleDescription(cell.sentence if cell is not None else "")
        self.updateGeometry()
        self.update()

    def _high(self) -> int:
        pictured = self._cell is not None and self._cell.picture is not None
        return theme.current().px(_HIGH if pictured else _LOW)

    def sizeHint(self) -> QSize:
        return QSize(theme.current().px(280), self._high())

    def minimumSizeHint(self) -> QSize:
        return QSize(160, self._high())

    def paintEvent(self, event: QPaintEvent) -> None:
        cell = self._cell
        if cell is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        look = theme.current()
        frame = QRectF(self.rect())
        image: QImage | None = None
        words = ""
        if cell.picture is not None:
            sha256, suffix = cell.picture
            image = self._pictures.picture(sha256, suffix, _PHOTO)
            missing = self._pictures.problem(sha256, _PHOTO) is not None
            words = "photo file missing" if missing else "reading the photo"
        elif cell.stage in ("fired", "finished"):
            words = "no photo yet"
        if image is not None:
            self._paint_image(painter, frame, image)
            return
        paint_glazes(painter, frame, cell)
        if words:
            low = QRectF(frame.left() + 8, frame.top() + 8, look.px(150), look.px(22))
            painter.fillRect(low, look.color("sheet"))
            painter.setPen(look.color("ink2"))
            painter.setFont(look.font(CAPTION))
            painter.drawText(low, Qt.AlignmentFlag.AlignCenter, words)

    def _paint_image(self, painter: QPainter, frame: QRectF, image: QImage) -> None:
        """The photo whole, in the middle of a sunk ground."""
        path = QPainterPath()
        path.addRoundedRect(frame, RADIUS_CARD, RADIUS_CARD)
        painter.fillPath(path, theme.current().color("sunk"))
        painter.setClipPath(path)
        scale = min(frame.width() / image.width(), frame.height() / image.height())
        wide, high = image.width() * scale, image.height() * scale
        painter.drawImage(
            QRectF((frame.width() - wide) / 2, (frame.height() - high) / 2, wide, high), image
        )


class TileReading(Section):
    """``kept`` carries the glaze a tile's trial became."""

    kept = Signal(int)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Tile", parent=parent)
        self._desk = desk
        self._tile: PlanTileLine | None = None
        self.photo = TilePhoto(desk.pictures)
        self.words = Text("", "body", 600, wrap=True)
        self.layers = Text("", "secondary", wrap=True)
        self.formula = Text("", "secondary", tone="ink2", wrap=True)
        self.piece = NumberMark("piece")
        self.firing = NumberMark("firing")
        self.went = Text("", "secondary", tone="ink2", wrap=True)
        self.none_seen = Text("", "secondary", tone="celadon", wrap=True)
        self.surface = Text("", "secondary", wrap=True)
        self.note = Text("", "secondary", tone="ink2", wrap=True)
        self.open_glaze = link_button("Open its glaze")
        self.keep_link = link_button("Keep this tile's glaze")
        self.keep_name = LineField("Name of the glaze", hint="Enter keeps, Esc gives up")
        self.keep_button = self.keep_name.add_button("Keep")
        self.keep_problem = ProblemLine()
        self._faults = FlowLayout(spacing=16, line_spacing=2)
        marks = QHBoxLayout()
        marks.setSpacing(8)
        marks.addWidget(self.piece)
        marks.addWidget(self.firing)
        marks.addStretch(1)
        links = FlowLayout(spacing=16, line_spacing=4)
        links.addWidget(self.open_glaze)
        links.addWidget(self.keep_link)
        for widget in (self.photo, self.words, self.layers):
            self.add(widget)
        self.add(marks)
        self.add(self.went)
        self.add(self._faults)
        for widget in (self.none_seen, self.surface, self.note, self.formula):
            self.add(widget)
        self.add(links)
        self.add(self.keep_name)
        self.keep_name.hide()
        self.piece.opened.connect(desk.show)
        self.firing.opened.connect(desk.show)
        self.open_glaze.clicked.connect(self._open_glaze)
        self.keep_link.clicked.connect(self._ask_name)
        self.keep_button.clicked.connect(self.keep)
        self.keep_name.line.returnPressed.connect(self.keep)

    def show_tile(self, page: PlanPage, tile: PlanTileLine | None) -> None:
        """Tell of one tile of the plan."""
        changed = self._tile is None or tile is None or self._tile.tile_id != tile.tile_id
        self._tile = tile
        if changed:
            self.keep_name.hide()
        if tile is None:
            return
        self.set_title(f"Tile {tile.code}")
        self.set_quiet(stage_words(tile))
        self.photo.show_cell(cell_of_tile(page, tile))
        self.words.setText(tile.words)
        _say(self.layers, self._layer_words(tile))
        _say(self.formula, "\n".join(_formula_words(tile)))
        self.piece.set_number(tile.piece_number, tile.piece_id)
        self.piece.setVisible(tile.piece_id is not None)
        self.firing.set_number(tile.firing_number, tile.firing_id)
        self.firing.setVisible(tile.firing_id is not None)
        _say(self.went, _cone_words(tile))
        self._show_faults(tile)
        _say(self.surface, ", ".join(SURFACES[word] for word in tile.surface))
        _say(self.note, "\n".join(filter(None, (tile.note, tile.lesson))))
        self.open_glaze.setVisible(tile.glaze_id is not None)
        self.keep_link.setVisible(tile.trial)
        self.keep_link.setAccessibleName(f"Keep the glaze of tile {tile.code}")

    def _layer_words(self, tile: PlanTileLine) -> str:
        said = [say_layer(layer) for layer in tile.layers]
        lines = []
        if len(said) > 1:
            lines.append(" over ".join(reversed(said)))
        elif said and said[0] != tile.glaze_title:
            lines.append(said[0])
        if tile.glaze_id is not None and len(said) <= 1:
            lines.append(self._recipe_words(tile.glaze_id))
        return "\n".join(filter(None, lines))

    def _recipe_words(self, glaze_id: int) -> str:
        """The recipe of its glaze; what is added on top stands after a plus."""
        found = self._desk.read(partial(read_analyses, glaze_ids=[glaze_id])).get(glaze_id)
        if found is None:
            return ""
        return recipe_words(
            [
                BlendPart(material, parts, material not in found.base_parts)
                for material, parts in found.parts.items()
            ]
        )

    def _show_faults(self, tile: PlanTileLine) -> None:
        self._faults.clear()
        seen = dict(tile.seen)
        looked = sorted(tile.looked, key=lambda fault: (-seen.get(fault, 0), list(FAULTS).index(
            fault)))  # fmt: skip
        clear = [FAULTS[fault] for fault in looked if not seen.get(fault)]
        said = f"Looked for, none seen: {', '.join(clear)}" if clear else ""
        _say(self.none_seen, said)
        for fault in looked:
            if not seen.get(fault):
                continue
            words = FAULTS[fault]
            row = QWidget()
            line = QVBoxLayout(row)
            line.setContentsMargins(0, 0, 0, 0)
            line.setSpacing(0)
            line.addWidget(Text(words.capitalize(), "caption", tone="ink2"))
            line.addWidget(SeverityLabel(seen.get(fault, 0), words.capitalize()))
            self._faults.addWidget(row)

    def _open_glaze(self) -> None:
        if self._tile is not None and self._tile.glaze_id is not None:
            self._desk.show("glaze", self._tile.glaze_id)

    def _ask_name(self) -> None:
        self.keep_name.set_text("")
        self.keep_name.show()
        self.keep_name.line.setFocus(Qt.FocusReason.OtherFocusReason)

    def keep(self) -> None:
        """The trial of this tile becomes a glaze of its own."""
        tile, name = self._tile, self.keep_name.text()
        if tile is None:
            return
        if not name:
            self.keep_name.set_problem("Give the glaze a name: it then stands among the others.")
            return
        try:
            glaze_id = self._desk.edits.run(
                f"Keep the glaze of {tile.code} as {name}",
                partial(keep_glaze, tile_id=tile.tile_id, name=name),
            )
        except UserProblem as problem:
            self.keep_name.set_problem(problem.fields.get("name", problem.sentence))
            return
        self.keep_name.hide()
        self._desk.notices.say(
            f"{name} stands among the glazes now.", "Open",
            lambda: self._desk.show("glaze", glaze_id),
        )  # fmt: skip
        self.kept.emit(glaze_id)


def _say(words: Text, said: str) -> None:
    words.setText(said)
    words.setVisible(bool(said))


def _formula_words(tile: PlanTileLine) -> list[str]:
    return formula_lines(tile.formula) if tile.formula is not None else []


def _cone_words(tile: PlanTileLine) -> str:
    if tile.piece_id is None:
        return ""
    if tile.cone is None:
        return "" if tile.firing_id is None else "no cone known"
    basis = CONE_BASES.get(tile.cone_basis or "", "")
    return f"cone {label_reached(tile.cone)}" + (f", {basis}" if basis else "")
