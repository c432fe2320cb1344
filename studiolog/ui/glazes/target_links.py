"""The ways from a recipe to a search for one: from a formula, or without a material."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.glaze_page import GlazePage
from studiolog.ui.glazes.target_sheet import TargetSheet
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import link_button


class TargetLinks(QWidget):
    """``kept`` carries the id of a glaze whose recipe was found and kept."""

    kept = Signal(int)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._glaze_id = 0
        self.from_formula = link_button("Recipe from a formula")
        self.replace = link_button("Replace a material")
        row = FlowLayout(self, spacing=20, line_spacing=4)
        for link in (self.from_formula, self.replace):
            row.addWidget(link)
        self.from_formula.clicked.connect(lambda: self.search(replacing=False))
        self.replace.clicked.connect(lambda: self.search(replacing=True))

    def show_page(self, page: GlazePage) -> None:
        """Whose recipe it is; one without a base has nothing to replace."""
        self._glaze_id = page.glaze_id
        self.replace.setVisible(any(not part.addition for part in page.recipe))

    def search(self, *, replacing: bool) -> TargetSheet:
        """Open the sheet."""
        sheet = TargetSheet(self._desk, self._glaze_id, replacing, self.window())
        sheet.kept.connect(self.kept)
        sheet.open()
        return sheet
