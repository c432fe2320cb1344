"""From a form to its sums: the size to make, how many tiles cover an area, what it costs."""

from PySide6.QtWidgets import QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.form_page import FormPage
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.make_size_sheet import MakeSizeSheet, open_make_size
from studiolog.ui.parts.section import link_button
from studiolog.ui.parts.tiles_sheet import TilesSheet, open_tiles


class SizeLinks(QWidget):
    """*Make size* for every form, *Tiles for an area* for a flat tile."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._form: FormPage | None = None
        self.make = link_button("Make size")
        self.make.setToolTip("The size to make for its fired size: M")
        self.tiles = link_button("Tiles for an area")
        self.tiles.setToolTip("How many cover an area, with cuts, losses and spares: T")
        self.costs = link_button("What it costs")
        self.costs.setToolTip("Clay, glaze, firing and work of a good piece, with the losses")
        row = FlowLayout(self, spacing=16, line_spacing=4)
        row.addWidget(self.make)
        row.addWidget(self.tiles)
        row.addWidget(self.costs)
        self.make.clicked.connect(lambda: self.make_size())
        self.tiles.clicked.connect(lambda: self.lay_tiles())
        self.costs.clicked.connect(self._show_costs)

    def show_page(self, page: FormPage) -> None:
        """Show what a form has sums of."""
        self._form = page
        self.tiles.setVisible(page.shape == "tile")

    def _show_costs(self) -> None:
        if self._form is not None:
            self._desk.show("costs", self._form.form_id)

    def make_size(self) -> MakeSizeSheet | None:
        """Open the sheet of make sizes for the width of the form."""
        if self._form is None:
            return None
        fired_mm = self._form.fired_across_mm or self._form.fired_height_mm
        return open_make_size(self._desk, 0, fired_mm, self.window())

    def lay_tiles(self) -> TilesSheet | None:
        """Open the sheet that lays tiles of the form over an area."""
        if self._form is None or self._form.shape != "tile":
            return None
        return open_tiles(self._desk, self._form.form_id, 0, self.window())
