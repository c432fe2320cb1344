"""The line that layers are typed into, and how it was understood."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QLineEdit, QSizePolicy, QVBoxLayout, QWidget

from studiolog.craft.glaze.layering import number_layers
from studiolog.desktop import theme
from studiolog.desktop.tokens import SECONDARY
from studiolog.journal.layer_words import (
    GlazeName,
    LayerReading,
    Unread,
    WordedLayer,
    how_words,
    read_layers,
)
from studiolog.journal.sheet_choices import GlazeChoice
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.swatch import GlazeLook, paint_glaze_swatch

HINT = "kelp 4s, chalk 3s upper, oat in pour 2s"


class UnderlinedLine(QLineEdit):
    """A line that underlines what could not be read."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unread: tuple[Unread, ...] = ()

    def underline(self, unread: Sequence[Unread]) -> None:
        """Underline these words in rust."""
        self._unread = tuple(unread)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._unread:
            return
        metrics = QFontMetricsF(self.font())
        text = self.text()
        # Where the text begins follows from where the cursor is drawn, also when it has scrolled.
        cursor = self.cursorRect()
        begin = cursor.center().x() + 1 - metrics.horizontalAdvance(text[: self.cursorPosition()])
        painter = QPainter(self)
        painter.setClipRect(self.rect().adjusted(8, 0, -8, 0))
        base = self.height() / 2 + metrics.ascent() / 2 + 2
        for left in self._unread:
            start = begin + metrics.horizontalAdvance(text[: left.start])
            end = begin + metrics.horizontalAdvance(text[: left.end])
            line = QRectF(start, base, max(end - start, 6), 2)
            painter.fillRect(line, theme.current().color("rust"))


class LayerRows(QWidget):
    """The layers as understood, a row each: their number on the swatch, name, zone, how."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: list[tuple[int, GlazeLook, WordedLayer]] = []
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        theme.current().changed.connect(self.updateGeometry)

    def show_layers(self, layers: Sequence[WordedLayer], glazes: Sequence[GlazeChoice]) -> None:
        """Show these; each is numbered where it lies, from the clay outward."""
        looks = {g.glaze_id: GlazeLook(g.title, g.colour, g.pattern) for g in glazes}
        places = number_layers(layer.zone for layer in layers)
        self._rows = [
            (place, looks[layer.glaze_id], layer)
            for place, layer in zip(places, layers, strict=True)
        ]
        said = [
            ", ".join(filter(None, (look.name, layer.zone, how_words(layer))))
            for _, look, layer in self._rows
        ]
        self.setAccessibleName("Layers: " + "; ".join(said) if said else "No layers yet")
        self.setToolTip("\n".join(said))
        self.updateGeometry()
        self.update()

    def _row_height(self) -> int:
        return theme.current().px(22)

    def sizeHint(self) -> QSize:
        return QSize(300, max(1, len(self._rows)) * self._row_height())

    def minimumSizeHint(self) -> QSize:
        return QSize(200, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        look = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        high = self._row_height()
        if not self._rows:
            painter.setFont(look.font(SECONDARY))
            painter.setPen(look.color("ink3"))
            painter.drawText(
                QRectF(0, 0, self.width(), high), middle, "Bare so far: type the glazes in order"
            )
            return
        wide = float(self.width())
        columns = (36.0, wide * 0.42, wide * 0.72, wide)
        for index, (place, glaze, layer) in enumerate(self._rows):
            top = index * high
            chip = QRectF(0, top + (high - 18) / 2, 28, 18)
            paint_glaze_swatch(painter, chip, glaze)
            disc = QRectF(chip.center().x() - 7, chip.center().y() - 7, 14, 14)
            painter.setPen(look.color("ink"))
            painter.setBrush(look.color("sheet"))
            painter.drawEllipse(disc)
            small = look.font((11, 16), 600)
            small.setPixelSize(11)
            painter.setFont(small)
            painter.drawText(disc, Qt.AlignmentFlag.AlignCenter, str(place))
            words = ((glaze.name, 600, "ink"), (layer.zone, 400, "ink2"))
            for column, (text, weight, tone) in enumerate(
                (*words, (how_words(layer), 400, "ink2"))
            ):
                face = look.font(SECONDARY, weight)
                room = columns[column + 1] - columns[column] - 8
                cut = QFontMetricsF(face).elidedText(text, Qt.TextElideMode.ElideRight, room)
                painter.setFont(face)
                painter.setPen(look.color(tone))
                painter.drawText(QRectF(columns[column], top, room + 8, high), middle, cut)


class LayerField(QWidget):
    """Type layers; below stands how they were read, or what could not be. ``changed`` on typing."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.line = UnderlinedLine()
        self.line.setAccessibleName("Glaze, in the order it went on")
        self.line.setPlaceholderText(HINT)
        self.rows = LayerRows()
        self.problem = ProblemLine()
        self._glazes: tuple[GlazeChoice, ...] = ()
        self._reading = LayerReading()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        column.addWidget(self.line)
        column.addWidget(self.problem)
        column.addWidget(self.rows)
        self.line.textEdited.connect(self._hear)

    def show_text(self, text: str, glazes: Sequence[GlazeChoice]) -> None:
        """Show a text without telling anyone."""
        self._glazes = tuple(glazes)
        self.line.setText(text)
        self.line.home(False)
        self._read()

    def text(self) -> str:
        return self.line.text()

    def reading(self) -> LayerReading:
        """How the line is understood now."""
        return self._reading

    def _hear(self) -> None:
        self._read()
        self.changed.emit()

    def _read(self) -> None:
        names = [GlazeName(glaze.glaze_id, glaze.title) for glaze in self._glazes]
        self._reading = read_layers(self.line.text(), names)
        self.line.underline(self._reading.unread)
        sentence = self._reading.unread[0].sentence() if self._reading.unread else ""
        self.problem.say(sentence)
        self.line.setAccessibleDescription(sentence)
        self.rows.show_layers(self._reading.layers, self._glazes)
