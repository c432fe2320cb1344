"""Cautions of a program under each other: what, how to change it, why, and how well known."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.firing.program_cautions import DEFER, ProgramCaution
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.text import Caption, Text

_MARKS = {"warn": ("warning", "ochre", "Caution"), "note": ("note", "ink3", "Note")}


class CautionRow(QWidget):
    """One caution: a mark by its weight, and its sentences one under the other."""

    def __init__(self, caution: ProgramCaution, whole: bool) -> None:
        super().__init__()
        self.caution = caution
        icon, tone, word = _MARKS[caution.weight]
        mark = IconLabel(icon, tone, 16)
        mark.setToolTip(word)
        self.what = Text(caution.what, "body", 500, wrap=True)
        self.change = Text(caution.change, "secondary", tone="ink2", wrap=True)
        self.why = Caption(f"{caution.why} ({caution.standing})", "ink2", wrap=True)
        self._words = QVBoxLayout()
        self._words.setSpacing(2)
        self._words.addWidget(self.what)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 4)
        row.setSpacing(8)
        row.addWidget(mark, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(self._words, 1)
        for line in (self.change, self.why):
            self._words.addWidget(line)
        self.setAccessibleName(f"{word}: {caution.what}")
        self.setAccessibleDescription(f"{caution.change} {caution.why}".strip())
        self.show_whole(whole)

    def show_whole(self, whole: bool) -> None:
        """Warnings are always whole; notes are their first line until all is asked for."""
        whole = whole or self.caution.weight == "warn"
        self.change.setVisible(whole and bool(self.caution.change))
        self.why.setVisible(whole)


class CautionRows(QWidget):
    """The cautions given, and under them whose word goes first; nothing where there are none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown: tuple[ProgramCaution, ...] = ()
        self._whole = False
        self._rows: list[CautionRow] = []
        self._defer = Caption(DEFER, wrap=True)
        self._list = QVBoxLayout()
        self._list.setSpacing(8)
        lines = QVBoxLayout(self)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.setSpacing(8)
        lines.addLayout(self._list)
        lines.addWidget(self._defer)
        self._defer.hide()

    def rows(self) -> tuple[CautionRow, ...]:
        """What is shown, warnings first."""
        return tuple(self._rows)

    def show_cautions(self, cautions: Sequence[ProgramCaution]) -> None:
        """Show these in place of the ones before."""
        found = tuple(cautions)
        self._defer.setVisible(bool(found))
        if found == self._shown:
            return
        self._shown = found
        for old in self._rows:
            self._list.removeWidget(old)
            old.hide()
            old.deleteLater()
        self._rows = [CautionRow(one, self._whole) for one in found]
        for row in self._rows:
            self._list.addWidget(row)

    def show_whole(self, whole: bool) -> None:
        """Show the notes in full, or by their first lines."""
        self._whole = whole
        for row in self._rows:
            row.show_whole(whole)
