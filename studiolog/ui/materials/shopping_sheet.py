"""The shopping list as a page: what it is for may be typed, and it goes to paper or as text."""

from datetime import date

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QPushButton, QWidget

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.shopping import ShoppingList, read_mix_words, read_shopping, write_shopping
from studiolog.journal.studio import read_studio
from studiolog.paper.page import Page, PageSize
from studiolog.paper.shopping_list import lay_out_shopping_list
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.paper_sheet import PaperSheet

_WIDE = 260
HINT = "Kelp 5 kg, Chalk 800 g"


class ShoppingSheet(PaperSheet):
    """What is low, and what the mixes typed need. *Copy as text* puts it on the clipboard."""

    def __init__(self, desk: Desk, on: date, parent: QWidget | None = None) -> None:
        self._desk_of, self._on = desk, on
        self.mixes = LineField("To be mixed, dry weight", hint=HINT)
        self.mixes.setMinimumWidth(theme.current().px(_WIDE))
        self.copy_button = QPushButton("Copy as text")
        self.copy_button.setAccessibleName("Copy as text")
        self.copy_button.setAutoDefault(False)
        super().__init__(desk, "Shopping list", self._make, (self.mixes, self.copy_button), parent)
        self.mixes.line.editingFinished.connect(self.refresh)
        self.copy_button.clicked.connect(self.copy)

    def shopping(self) -> ShoppingList:
        """The list for what is typed. Raises `UserProblem`."""
        text = self.mixes.text()
        return self._desk_of.read(
            lambda session: read_shopping(session, self._on, read_mix_words(session, text))
        )

    def copy(self) -> None:
        """Put the list on the clipboard as plain text."""
        try:
            text = write_shopping(self.shopping())
        except UserProblem as problem:
            self.mixes.set_problem(problem.sentence)
            return
        QGuiApplication.clipboard().setText(text)
        self._desk_of.notices.say("The shopping list is on the clipboard.")

    def _make(self, size: PageSize) -> Page:
        try:
            shopping = self.shopping()
        except UserProblem as problem:
            self.mixes.set_problem(problem.sentence)
            raise
        self.mixes.set_problem("")
        return lay_out_shopping_list(shopping, size, self._desk_of.read(read_studio).name)


def open_shopping_list(desk: Desk, on: date, parent: QWidget) -> ShoppingSheet:
    """Open the list over a screen."""
    sheet = ShoppingSheet(desk, on, parent)
    sheet.finished.connect(sheet.deleteLater)
    sheet.open()
    return sheet
