"""One layer while it is changed: where, which glaze, how it went on."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QCompleter, QGridLayout, QHBoxLayout, QWidget

from studiolog.craft.words import METHODS, ZONES
from studiolog.desktop import theme
from studiolog.journal.glazes import GlazeLine
from studiolog.journal.piece_choices import BucketLine
from studiolog.journal.piece_lines import LayerLine
from studiolog.journal.pieces import LayerDraft
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import NumberField
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.section import Hairline, Text
from studiolog.ui.parts.swatch import GlazeLook
from studiolog.ui.parts.typed import write_day

NOT_SAID = ""
NO_BUCKET = 0


@dataclass(frozen=True)
class Offer:
    """What a layer can be made of."""

    glazes: Sequence[GlazeLine]
    buckets: Sequence[BucketLine]
    zones: Sequence[str]


class ZoneField(QComboBox):
    """A zone: one of those offered, or the potter's own word."""

    def __init__(self, zones: Sequence[str], zone: str) -> None:
        super().__init__()
        self.setEditable(True)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        offered = list(dict.fromkeys((*ZONES, *zones)))
        self.addItems(offered)
        completer = QCompleter(QStringListModel(offered, self), self)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.setCompleter(completer)
        self.setEditText(zone)
        self.setAccessibleName("Zone")
        line = self.lineEdit()
        assert line is not None
        line.setAccessibleName("Zone")
        line.setPlaceholderText("Where")

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()


class LayerRow(QWidget):
    """A layer's fields in two lines. Alt with Up and Down asks to move, Ctrl Delete to remove."""

    changed = Signal()
    move_asked = Signal(int)
    remove_asked = Signal()

    def __init__(self, offer: Offer, line: LayerLine | None = None, zone: str = "") -> None:
        super().__init__()
        self._offer = offer
        self._note = line.note if line is not None else ""
        self._build(line, zone)
        self._connect()

    def _build(self, line: LayerLine | None, zone: str) -> None:
        self.place = Text("", "secondary", 600, "ink2")
        self.zone = ZoneField(self._offer.zones, line.zone if line else zone)
        self.glaze = PickOne("Glaze", hint="Glaze")
        kept = line.glaze_id if line else None
        self.glaze.set_choices(
            [
                Choice(one.glaze_id, one.title, GlazeLook(one.title, one.colour, one.pattern))
                for one in self._offer.glazes
                if not one.archived or one.glaze_id == kept
            ]
        )
        self.glaze.choose(kept)
        self.method = PickOne("Method", hint="How")
        self.method.set_choices(
            [Choice(NOT_SAID, "not said"), *(Choice(key, words) for key, words in METHODS.items())]
        )
        self.method.choose((line.method or NOT_SAID) if line else NOT_SAID)
        self.seconds = _number("s", line.seconds if line else None, 1, "Seconds", 0.1)
        self.coats = _number("coats", line.coats if line else None, 0, "Coats", 1)
        self.thickness = _number("mm", line.thickness_mm if line else None, 2, "Thickness", 0.01)
        self.bucket = PickOne("Bucket", hint="Bucket")
        self._offer_buckets(line.bucket_id if line else None)
        self.up = IconButton("arrow_up", "Move towards the clay (Alt Up)")
        self.down = IconButton("arrow_down", "Move outward (Alt Down)")
        self.off = IconButton("cross", "Remove this layer (Ctrl Delete)")
        for picker in (self.zone, self.glaze, self.method, self.bucket):
            picker.setMinimumWidth(theme.current().px(84))
        first = QHBoxLayout()
        first.setSpacing(6)
        self.place.setFixedWidth(theme.current().px(16))
        first.addWidget(self.place)
        first.addWidget(self.zone, 5)
        first.addWidget(self.glaze, 6)
        for button in (self.up, self.down, self.off):
            first.addWidget(button)
        second = QGridLayout()
        second.setContentsMargins(22, 0, 0, 0)
        second.setHorizontalSpacing(6)
        second.setVerticalSpacing(6)
        second.addWidget(self.method, 0, 0)
        second.addWidget(self.seconds, 0, 1)
        second.addWidget(self.coats, 0, 2)
        second.addWidget(self.bucket, 1, 0)
        second.addWidget(self.thickness, 1, 1, 1, 2)
        second.setColumnStretch(0, 1)
        rows = QGridLayout(self)
        rows.setContentsMargins(0, 0, 0, 4)
        rows.setVerticalSpacing(6)
        rows.addLayout(first, 0, 0)
        rows.addLayout(second, 1, 0)
        rows.addWidget(Hairline(), 2, 0)

    def _connect(self) -> None:
        self.zone.currentTextChanged.connect(lambda _text: self.changed.emit())
        self.glaze.picked.connect(self._glaze_picked)
        self.method.picked.connect(lambda _id: self.changed.emit())
        self.bucket.picked.connect(lambda _id: self.changed.emit())
        for field in (self.seconds, self.coats, self.thickness):
            field.edited.connect(lambda _text: self.changed.emit())
        self.up.clicked.connect(lambda: self.move_asked.emit(-1))
        self.down.clicked.connect(lambda: self.move_asked.emit(1))
        self.off.clicked.connect(lambda: self.remove_asked.emit())

    def _glaze_picked(self, _glaze_id: object) -> None:
        self._offer_buckets(None)
        self.changed.emit()

    def _offer_buckets(self, kept: int | None) -> None:
        glaze_id = self.glaze.chosen()
        some = [
            one
            for one in self._offer.buckets
            if one.glaze_id == glaze_id and (not one.used_up or one.bucket_id == kept)
        ]
        self.bucket.set_choices(
            [
                Choice(NO_BUCKET, "no bucket"),
                *(
                    Choice(one.bucket_id, f"mixed {write_day(one.mixed_on, date.today())}")
                    for one in some
                ),
            ]
        )
        self.bucket.choose(kept or NO_BUCKET)

    def number(self, place: int) -> None:
        """Show which row this is, for eye and ear."""
        self.place.setText(str(place))
        self.setAccessibleName(f"Layer {place}")
        self.zone.setObjectName(f"layer_zone_{place}")
        self.glaze.setObjectName(f"layer_glaze_{place}")

    def glaze_line(self) -> GlazeLine | None:
        """The glaze chosen."""
        chosen = self.glaze.chosen()
        return next((one for one in self._offer.glazes if one.glaze_id == chosen), None)

    def draft(self) -> LayerDraft:
        """The layer as it stands. Raises `UserProblem` where something is wanting."""
        glaze = self.glaze.chosen()
        if not self.zone.currentText().strip():
            raise UserProblem(f"Layer {self.place.text()}: say on which zone it lies.")
        if not isinstance(glaze, int):
            raise UserProblem(f"Layer {self.place.text()}: choose its glaze.")
        coats = self.coats.value()
        bucket = self.bucket.chosen()
        return LayerDraft(
            zone=self.zone.currentText().strip(),
            glaze_id=glaze,
            method=str(self.method.chosen() or "") or None,
            coats=round(coats) if coats is not None else None,
            seconds=self.seconds.value(),
            bucket_id=bucket if isinstance(bucket, int) and bucket != NO_BUCKET else None,
            thickness_mm=self.thickness.value(),
            note=self._note,
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        alt = event.modifiers() & Qt.KeyboardModifier.AltModifier
        control = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if alt and event.key() == Qt.Key.Key_Up:
            self.move_asked.emit(-1)
        elif alt and event.key() == Qt.Key.Key_Down:
            self.move_asked.emit(1)
        elif control and event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.remove_asked.emit()
        else:
            super().keyPressEvent(event)


def _number(unit: str, value: float | None, decimals: int, says: str, lowest: float) -> NumberField:
    field = NumberField("", unit, value, decimals, lowest=lowest)
    field.line.setFixedWidth(theme.current().px(52))
    field.line.setAccessibleName(f"{says}, {unit}" if unit != says.lower() else says)
    return field
