"""The load as it is printed: the whole, then a page for each shelf."""

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.load_page import LoadPage
from studiolog.journal.studio import read_studio
from studiolog.paper.load_sheet import lay_out_load_sheet
from studiolog.paper.page import Page, PageSize
from studiolog.ui.parts.paper_sheet import PaperSheet


def show_load_sheet(desk: Desk, page: LoadPage, parent: QWidget) -> PaperSheet:
    """Open the loading sheet over a screen."""
    studio = desk.read(read_studio).name

    def make(size: PageSize) -> Sequence[Page]:
        return lay_out_load_sheet(page, size, studio)

    sheet = PaperSheet(desk, f"Loading sheet, {page.title}", make, parent=parent)
    sheet.finished.connect(sheet.deleteLater)
    sheet.open()
    return sheet
