"""What every table of the program has in common: rows under hairlines, heads at the left."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractItemView, QTableView

from studiolog.desktop import theme

ROW = 32  # px before scaling


def dress_table(table: QTableView, row_height: int = ROW) -> None:
    """Whole rows are chosen, no grid but the hairline, no row numbers, Tab leaves the table."""
    table.setShowGrid(False)
    table.setTabKeyNavigation(False)
    table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    table.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
    table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
    table.verticalHeader().hide()
    table.verticalHeader().setDefaultSectionSize(theme.current().px(row_height))
    head = table.horizontalHeader()
    head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
    head.setHighlightSections(False)
    head.setStretchLastSection(True)
