"""The versions of a glaze, each under the one it came from."""

from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.glaze_page import GlazePage
from studiolog.ui.glazes.version_compare_sheet import VersionCompareSheet
from studiolog.ui.parts.fault_rate_sections import clear_layout, pieces_words
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Caption, Elided

_HEAD, _TAIL = 20, 14
"""Letters of a long title that are shown: how it begins, and which version it is."""


class VersionSection(Section):
    """``opened`` carries the id of a version."""

    opened = Signal(int)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Versions", link="Side by side", parent=parent)
        self._desk = desk
        self._glaze_id = 0
        self.link_opened.connect(self.compare)
        self._rows = QVBoxLayout()
        self._rows.setSpacing(4)
        self.add(self._rows)

    def show_page(self, page: GlazePage) -> None:
        clear_layout(self._rows)
        self._glaze_id = page.glaze_id
        self.setVisible(len(page.versions) > 1)
        self.set_quiet(f"{len(page.versions)} recipes")
        by_id = {one.glaze_id: one for one in page.versions}
        for one in page.versions:
            line = QWidget()
            row = QHBoxLayout(line)
            row.setContentsMargins(16 * one.depth, 0, 0, 0)
            row.setSpacing(8)
            if one.depth:
                row.addWidget(Caption("↳"))
            if one.glaze_id == page.glaze_id:
                row.addWidget(Elided(one.title, "secondary", 600))
                row.addWidget(Caption("shown"))
            else:
                link = link_button(one.title)
                link.setText(_shorten(one.title))
                link.setToolTip(one.title)
                link.clicked.connect(partial(self._open, one.glaze_id))
                row.addWidget(link)
            row.addStretch(1)
            words = pieces_words(one.pieces) + (", archived" if one.archived else "")
            row.addWidget(Caption(words))
            self._rows.addWidget(line)
        parent = by_id.get(page.parent_id) if page.parent_id is not None else None
        if parent is not None:
            self._rows.addWidget(Caption(f"This one came from {parent.title}.", wrap=True))

    def compare(self) -> None:
        """Show the versions side by side, or beside another glaze."""
        sheet = VersionCompareSheet(self._desk, self._glaze_id, self.window())
        sheet.version_asked.connect(self.opened)
        sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        sheet.show()

    def _open(self, glaze_id: int) -> None:
        self.opened.emit(glaze_id)


def _shorten(title: str) -> str:
    """A long title without its middle: versions of one glaze differ in how their names end."""
    if len(title) <= _HEAD + _TAIL + 1:
        return title
    return f"{title[:_HEAD].rstrip()}…{title[-_TAIL:].lstrip()}"
