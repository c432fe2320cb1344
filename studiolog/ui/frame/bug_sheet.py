"""Something went wrong that should not: one dialog, with a report that can be copied."""

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QPlainTextEdit, QPushButton, QWidget

from studiolog.ui.frame.sheet import Sheet
from studiolog.ui.parts.text import Text


class BugSheet(Sheet):
    """Says that nothing was half-written, and offers the report."""

    def __init__(self, report: str, parent: QWidget | None = None) -> None:
        super().__init__("Something went wrong", parent, width=640)
        self.body.addWidget(
            Text(
                "This is a fault of the program, not yours. What you were doing was not saved; "
                "everything saved before is safe. The report below helps to mend it.",
                wrap=True,
            )
        )
        self._report = QPlainTextEdit(report)
        self._report.setReadOnly(True)
        self._report.setAccessibleName("Report")
        self._report.setMinimumHeight(200)
        self.body.addWidget(self._report)
        copy = QPushButton("Copy the report")
        copy.setAccessibleName("Copy the report")
        copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(report))
        self.feet.insertWidget(0, copy)
