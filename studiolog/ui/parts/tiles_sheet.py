"""Tiles for an area: how many to make, laid out to scale, with cuts, losses and spares."""

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from studiolog.craft.clay.shrinkage import KnownShrinkage
from studiolog.craft.clay.shrinkage_words import say_basis
from studiolog.craft.ware.tile_count import (
    TileCount,
    count_tiles,
    say_area,
    say_count,
    say_cuts,
    say_make_size,
    say_remarks,
)
from studiolog.craft.ware.tiles import TILE_KINDS
from studiolog.craft.ware.tiling import Layout, lay_tiles
from studiolog.desktop.desk import Desk
from studiolog.journal.clays import list_clays
from studiolog.journal.history import Touched
from studiolog.journal.sizes import ClayShrinkage, read_shrinkage
from studiolog.journal.tile_forms import read_tile_form
from studiolog.paper.tiling_page import TilingWords, lay_out_tiling
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.keep_sheet import KeepSheet, labelled
from studiolog.ui.parts.list_and_page import TwoColumns
from studiolog.ui.parts.paper_sheet import PaperSheet
from studiolog.ui.parts.section import Card, link_button
from studiolog.ui.parts.swatch import ClayLook
from studiolog.ui.parts.text import Caption, Text, Words
from studiolog.ui.parts.tile_fields import TileFields
from studiolog.ui.parts.tiling_drawing import TilingDrawing

_WIDE, _HIGH = 1180, 900
_JOB = "lay tiles"


class TilesSheet(KeepSheet):
    """Nothing is kept: the count can be copied and printed. Esc closes it."""

    scrolls = True

    def __init__(
        self, desk: Desk, form_id: int = 0, clay_id: int = 0, parent: QWidget | None = None
    ) -> None:
        self._form = desk.read(lambda session: read_tile_form(session, form_id))
        title = f"Tiles for an area: {self._form.name}" if self._form.name else "Tiles for an area"
        super().__init__(title, "Copy", parent)
        self._desk = desk
        self._clays: dict[int, ClayShrinkage] = {}
        self.layout_shown: Layout | None = None
        self.count: TileCount | None = None
        self.leave_button.setText("Close")
        self.leave_button.setAccessibleName("Close")
        self.keep_button.setAccessibleName("Copy the count of tiles with its sum")
        self._build()
        self._offer_clays(clay_id)
        self.fields.show_form(self._form)
        self.fields.edited.connect(self.refresh)
        self.clay.picked.connect(lambda _clay: self._tell())
        self.print_button.clicked.connect(self.print_layout)
        self.judgements.clicked.connect(lambda: self._desk.show("limits", 0, "clay"))
        desk.edits.edited.connect(self._hear_edit)
        self.take_size(_WIDE, _HIGH)
        self.refresh()
        self.fields.across.setFocus()

    def _build(self) -> None:
        self.fields = TileFields()
        self.clay = PickOne("Clay of the tiles")
        self.clay.setMinimumContentsLength(12)
        self.drawing = TilingDrawing()
        self.head = Words("", "title", 600)
        self.lines = Text("", "body", wrap=True)
        self.made = Text("", "body", 500, wrap=True)
        self.remarks = Text("", "body", tone="ochre", wrap=True)
        self.cuts = Text("", "secondary", tone="ink2", wrap=True)
        self.area_line = Text("", "secondary", tone="ink2", wrap=True)
        self.basis = Caption("", "ink2", wrap=True)
        self.judgements = link_button("The judgements behind it")
        self.judgements.setAutoDefault(False)
        self.print_button = QPushButton("Print or save …")
        self.print_button.setAccessibleName("Print or save the tiles")
        self.print_button.setAutoDefault(False)
        columns = TwoColumns(fold_below=760, side_wide=340)
        card = Card(8)
        card.add(self.drawing, 1)
        columns.main.addWidget(card, 1)
        told = QVBoxLayout()
        told.setSpacing(6)
        for widget in (
            self.head, self.made, self.remarks, self.lines, self.cuts, self.area_line, self.basis,
        ):  # fmt: skip
            told.addWidget(widget)
        columns.main.addLayout(told)
        columns.side.addWidget(self.fields)
        columns.side.addLayout(labelled("Clay", self.clay))
        columns.side.addWidget(self.judgements, 0, Qt.AlignmentFlag.AlignLeft)
        columns.side.addStretch(1)
        self.body.addWidget(columns)
        self.body.addStretch(1)
        self.feet.insertWidget(self.feet.indexOf(self.leave_button), self.print_button)

    def _offer_clays(self, clay_id: int) -> None:
        clays = self._desk.read(lambda session: list_clays(session, counted=False))
        self.clay.set_choices(
            [
                Choice(one.clay_id, one.name, ClayLook(one.name, one.colour, one.specks))
                for one in clays
            ]
        )
        ids = [one.clay_id for one in clays]
        self.clay.choose(clay_id if clay_id in ids else next(iter(ids), None))

    def refresh(self) -> None:
        """Lay out what is typed, off the window's thread."""
        try:
            tile, laying, area = self.fields.tile(), self.fields.laying(), self.fields.area()
        except UserProblem as problem:
            self._desk.jobs.cancel(_JOB)
            self._show(None, problem.sentence)
            return
        limits = self._form.limits
        self._desk.jobs.start(
            _JOB,
            lambda _progress: _counted_through(lay_tiles(tile, laying, area, limits)),
            lambda layout: self._show(layout, ""),
            self._hear_problem,
        )

    def done(self, result: int) -> None:
        """Qt: closing drops what is still being laid out."""
        self._desk.jobs.cancel(_JOB)
        super().done(result)

    def _hear_edit(self, touched: Touched) -> None:
        """A limit was set, or a bar measured, while the sheet stood open."""
        if touched.kinds & {"limit", "clay", "piece", "firing", "form"}:
            form_id = self._form.form_id
            self._form = self._desk.read(lambda session: read_tile_form(session, form_id))
            self._clays.clear()
            self.refresh()

    def _hear_problem(self, problem: Exception) -> None:
        if not isinstance(problem, UserProblem):
            raise problem
        self._show(None, problem.sentence)

    def _show(self, layout: Layout | None, problem: str) -> None:
        self.layout_shown = layout
        if layout is None:
            self.drawing.show_layout(None, "Nothing is laid out: see below what to change.")
        else:
            self.drawing.show_layout(layout)
        self.why_not.say(problem)
        self._tell()

    def _tell(self) -> None:
        layout = self.layout_shown
        self.count = None
        if layout is not None:
            try:
                self.count = count_tiles(
                    layout,
                    self._form.loss,
                    self.fields.offcuts.isChecked(),
                    self.fields.spares_share(),
                    self._form.limits,
                )
            except UserProblem as problem:
                self.why_not.say(problem.sentence)
        ready = layout is not None and self.count is not None
        for button in (self.keep_button, self.print_button):
            button.setEnabled(ready)
        if layout is None or self.count is None:
            self.head.setText("")
            for words in (self.lines, self.made, self.remarks, self.cuts, self.area_line):
                words.setText("")
            return
        self.head.setText(self._head(layout, self.count))
        self.lines.setText(" ".join(say_count(layout, self.count)))
        clay = self._clay()
        known = None if clay is None else clay.known()
        self.made.setText(
            "Name a clay for the size to cut them wet."
            if clay is None or known is None
            else say_make_size(layout, known, clay.name)
        )
        self.basis.setText(_basis(clay, known))
        remarks = " ".join(say_remarks(layout))
        self.remarks.setText(remarks)
        self.remarks.setVisible(bool(remarks))
        cuts = say_cuts(layout)
        self.cuts.setText(f"Cuts by number. {'; '.join(cuts)}." if cuts else "")
        self.cuts.setVisible(bool(cuts))
        self.area_line.setText(say_area(layout))

    @staticmethod
    def _head(layout: Layout, count: TileCount) -> str:
        kinds = TILE_KINDS[layout.tile.kind]
        return f"{count.good} {kinds}" if count.make is None else f"Make {count.make} {kinds}"

    def _clay(self) -> ClayShrinkage | None:
        chosen = self.clay.chosen()
        if chosen is None:
            return None
        ident = int(str(chosen))
        if ident not in self._clays:
            self._clays[ident] = self._desk.read(lambda session: read_shrinkage(session, ident))
        return self._clays[ident]

    def words(self) -> TilingWords:
        """What is told, as it is copied and printed."""
        return TilingWords(
            self.windowTitle(),
            self.head.text(),
            (self.made.text(), *filter(None, (self.remarks.text(),)), self.lines.text(),
             self.area_line.text(), self.basis.text()),
            self.cuts.text(),
        )  # fmt: skip

    def keep(self) -> None:
        """Put the count on the clipboard; the sheet stays."""
        if self.layout_shown is None:
            return
        words = self.words()
        lines = (words.title, words.head, *words.lines, words.cuts)
        QGuiApplication.clipboard().setText("\n".join(filter(None, lines)))
        self._desk.notices.say("Copied the count of tiles with its sum.")

    def print_layout(self) -> None:
        """Show the page to print, or to save as a file."""
        if self.layout_shown is None:
            return
        make = partial(lay_out_tiling, self.layout_shown, self.words())
        PaperSheet(self._desk, "Tiles for an area", make, parent=self).open()


def _counted_through(layout: Layout) -> Layout:
    """The layout with its slow sums done where they hold nobody up."""
    _ = layout.needed_with_offcuts, layout.tiles_mm2
    return layout


def _basis(clay: ClayShrinkage | None, known: KnownShrinkage | None) -> str:
    if clay is None or known is None:
        return ""
    return f"Shrinkage: {say_basis(known, clay.stated, clay.limits)}"


def open_tiles(
    desk: Desk, form_id: int = 0, clay_id: int = 0, parent: QWidget | None = None
) -> TilesSheet:
    """Open the sheet over a window."""
    sheet = TilesSheet(desk, form_id, clay_id, parent)
    sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    sheet.open()
    return sheet
