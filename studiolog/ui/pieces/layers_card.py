"""The glaze section as a card, and its layers changed beneath while the drawing follows."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.glaze.layering import number_layers
from studiolog.journal.glazes import list_glazes
from studiolog.journal.piece_changes import relay_layers
from studiolog.journal.piece_choices import list_buckets
from studiolog.journal.piece_page import PiecePage
from studiolog.journal.pieces import LayerDraft
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.glaze_section import GlazeSection, SectionLayer, SectionWall
from studiolog.ui.parts.section import Caption, Card, Text, link_button, primary_button
from studiolog.ui.pieces.layer_row import LayerRow, Offer
from studiolog.ui.pieces.looks import how_text, section_wall
from studiolog.ui.pieces.page_edits import PageEdits


class LayerEditor(QWidget):
    """The layers as rows, in the order they went on. Nothing is kept until *Save layers*."""

    changed = Signal()
    saved = Signal()
    given_up = Signal()

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._edits = edits
        self._rows: list[LayerRow] = []
        self._seen: tuple[int, ...] = ()
        self._offer = Offer((), (), ())
        self._build()

    def _build(self) -> None:
        self._list = QVBoxLayout()
        self._list.setSpacing(4)
        self._none = Text("No layer: the clay is bare.", "secondary", tone="ink3")
        self.problem = ProblemLine()
        self.add = QPushButton("Add a layer")
        self.save = primary_button("Save layers")
        cancel = QPushButton("Cancel")
        self.add.clicked.connect(lambda: self.add_row())
        self.save.clicked.connect(self.keep)
        cancel.clicked.connect(self.given_up)
        foot = QHBoxLayout()
        foot.setSpacing(8)
        foot.addWidget(self.add)
        foot.addStretch(1)
        foot.addWidget(cancel)
        foot.addWidget(self.save)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 4, 0, 0)
        rows.setSpacing(8)
        rows.addWidget(
            Caption("Top to bottom as they went on: the first lies on the clay.", wrap=True)
        )
        rows.addLayout(self._list)
        rows.addWidget(self._none)
        rows.addWidget(self.problem)
        rows.addLayout(foot)

    def open(self, page: PiecePage) -> None:
        """Begin with the layers the page shows."""
        self._offer = Offer(
            self._edits.desk.read(
                lambda session: list_glazes(
                    session,
                    archived=True,
                    counted=False,
                    kept=[layer.glaze_id for layer in page.layers],
                )
            ),
            self._edits.desk.read(list_buckets),
            tuple(layer.zone for layer in page.layers),
        )
        self._seen = tuple(layer.version for layer in page.layers)
        self.problem.say("")
        for row in self._rows:
            row.setParent(None)
            row.deleteLater()
        self._rows = []
        for layer in page.layers:
            self._put(LayerRow(self._offer, layer))
        if not page.layers:
            self.add_row()
        self._renumber()
        if self._rows:
            self._rows[0].zone.setFocus(Qt.FocusReason.OtherFocusReason)

    def rows(self) -> tuple[LayerRow, ...]:
        """The rows in order."""
        return tuple(self._rows)

    def add_row(self) -> LayerRow:
        """One more layer, on the zone of the last."""
        zone = self._rows[-1].zone.currentText() if self._rows else "outside"
        row = LayerRow(self._offer, None, zone)
        self._put(row)
        self._renumber()
        row.glaze.setFocus(Qt.FocusReason.OtherFocusReason)
        return row

    def _put(self, row: LayerRow) -> None:
        row.changed.connect(self.changed)
        row.move_asked.connect(lambda way, row=row: self.shift(row, way))
        row.remove_asked.connect(lambda row=row: self.remove(row))
        self._rows.append(row)
        self._list.addWidget(row)

    def shift(self, row: LayerRow, way: int) -> None:
        """Move a layer one place towards the clay or outward; the keyboard stays with it."""
        at = self._rows.index(row)
        to = at + way
        if not 0 <= to < len(self._rows):
            return
        focused = self.window().focusWidget()
        self._rows.insert(to, self._rows.pop(at))
        self._list.removeWidget(row)
        self._list.insertWidget(to, row)
        self._renumber()
        if focused is not None:
            focused.setFocus(Qt.FocusReason.OtherFocusReason)

    def remove(self, row: LayerRow) -> None:
        """Take a layer out."""
        at = self._rows.index(row)
        self._rows.remove(row)
        row.setParent(None)
        row.deleteLater()
        self._renumber()
        if self._rows:
            near = self._rows[min(at, len(self._rows) - 1)]
            near.zone.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.add.setFocus(Qt.FocusReason.OtherFocusReason)

    def _renumber(self) -> None:
        for place, row in enumerate(self._rows, start=1):
            row.number(place)
            row.up.setEnabled(place > 1)
            row.down.setEnabled(place < len(self._rows))
        self._none.setVisible(not self._rows)
        self.changed.emit()

    def drawn(self) -> tuple[SectionLayer, ...]:
        """The layers as far as they are filled in, for the drawing."""
        filled = [
            (zone, glaze, row)
            for row in self._rows
            if (zone := row.zone.currentText().strip()) and (glaze := row.glaze_line()) is not None
        ]
        places = number_layers(zone for zone, _, _ in filled)
        return tuple(
            SectionLayer(zone, place, glaze.title, glaze.colour, glaze.pattern, _how(row))
            for place, (zone, glaze, row) in zip(places, filled, strict=True)
        )

    def drafts(self) -> tuple[LayerDraft, ...]:
        """The layers to keep. Raises `UserProblem`."""
        return tuple(row.draft() for row in self._rows)

    def keep(self) -> None:
        """Write the layers; what is wrong is said beneath them."""
        page = self._edits.page
        if page is None:
            return
        try:
            drafts = self.drafts()
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        seen = self._seen
        if self._edits.run(
            "Change the layers of",
            lambda session: relay_layers(session, page.piece_id, seen, drafts),
            self.problem,
        ):
            self.saved.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.keep()
        elif event.key() == Qt.Key.Key_Escape:
            self.given_up.emit()
        else:
            super().keyPressEvent(event)


def _how(row: LayerRow) -> str:
    try:
        coats = row.coats.value()
        return how_text(
            str(row.method.chosen() or "") or None,
            round(coats) if coats is not None else None,
            row.seconds.value(),
            row.thickness.value(),
        )
    except UserProblem:
        return ""


class LayersCard(Card):
    """The drawing with its head; *Edit layers* opens the rows beneath it."""

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self._edits = edits
        self.section = GlazeSection()
        self.edit_link = link_button("Edit layers")
        self.edit_link.setToolTip("Add, remove and order the layers (L)")
        self.editor = LayerEditor(edits)
        self.editor.hide()
        head = QHBoxLayout()
        head.addWidget(Text("Glaze section", "head", 600))
        head.addStretch(1)
        head.addWidget(self.edit_link)
        self.body.setContentsMargins(16, 14, 16, 14)
        self.body.setSpacing(4)
        self.add(head)
        self.add(
            Text(
                "Wall cut from rim to foot, glaze drawn thicker than it is. "
                "Numbers give the order applied.",
                "secondary",
                tone="ink3",
                wrap=True,
            )
        )
        self.add(self.section, 1)
        self.add(self.editor)
        self.edit_link.clicked.connect(self.toggle_editor)
        self.editor.changed.connect(self._redraw)
        self.editor.saved.connect(self.close_editor)
        self.editor.given_up.connect(self.close_editor)
        self.section.layer_chosen.connect(self._open_glaze)

    def is_editing(self) -> bool:
        """Whether the rows are open."""
        return self.editor.isVisibleTo(self)

    def show_page(self, page: PiecePage, anew: bool) -> None:
        """Show the wall; layers being changed stay as they are unless another piece is shown."""
        if anew:
            self.close_editor()
        if not self.is_editing():
            self.section.show_wall(self._wall(page))

    @staticmethod
    def _wall(page: PiecePage) -> SectionWall | None:
        if page.clay is None and not page.layers:
            return None
        return section_wall(page)

    def toggle_editor(self) -> None:
        """Open the rows, or leave them without keeping anything."""
        page = self._edits.page
        if self.is_editing():
            self.close_editor()
        elif page is not None:
            self.editor.show()
            self.edit_link.setText("Leave as it was")
            self.editor.open(page)

    def close_editor(self) -> None:
        """Back to the stored layers."""
        if not self.is_editing():
            return
        self.editor.hide()
        self.edit_link.setText("Edit layers")
        if self._edits.page is not None:
            self.section.show_wall(self._wall(self._edits.page))
        self.edit_link.setFocus(Qt.FocusReason.OtherFocusReason)

    def _redraw(self) -> None:
        page = self._edits.page
        if page is not None and self.is_editing():
            self.section.show_wall(section_wall(page, self.editor.drawn()))

    def _open_glaze(self, index: int) -> None:
        page = self._edits.page
        if page is not None and not self.is_editing() and index < len(page.layers):
            self._edits.desk.show("glaze", page.layers[index].glaze_id)
