"""What to beware of in a program: what, how to change it, why, and how well that is known."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.firing.program_cautions import DEFER, ProgramCaution
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import Section, link_button
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
        words = QVBoxLayout()
        words.setSpacing(2)
        for line in (self.what, self.change, self.why):
            words.addWidget(line)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 4)
        row.setSpacing(8)
        row.addWidget(mark, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(words, 1)
        self.setAccessibleName(f"{word}: {caution.what}")
        self.setAccessibleDescription(f"{caution.change} {caution.why}".strip())
        self.show_whole(whole)

    def show_whole(self, whole: bool) -> None:
        """Warnings are always whole; notes are their first line until all is asked for."""
        whole = whole or self.caution.weight == "warn"
        self.change.setVisible(whole and bool(self.caution.change))
        self.why.setVisible(whole)


class CautionsSection(Section):
    """Warnings first; what holds for every such firing after them, folded to a line each."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Cautions", parent=parent)
        self._shown: tuple[ProgramCaution, ...] | None = None
        self._whole = False
        self._rows: list[CautionRow] = []
        self.none = Text("", "secondary", tone="ink2", wrap=True)
        self.defer = Caption(DEFER, wrap=True)
        self.limits = link_button("Limits of these cautions")
        self._list = QVBoxLayout()
        self._list.setSpacing(8)
        self.add(self.none)
        self.add(self._list)
        self.add(self.defer)
        feet = QHBoxLayout()
        feet.addWidget(self.limits)
        feet.addStretch(1)
        self.add(feet)
        self.link_opened.connect(self._turn)

    def rows(self) -> tuple[CautionRow, ...]:
        """What is shown, warnings first."""
        return tuple(self._rows)

    def show_cautions(self, cautions: Sequence[ProgramCaution], none: str) -> None:
        """Show these, or the sentence ``none`` where there are none."""
        found = tuple(cautions)
        self.none.setText(none)
        self.none.setVisible(not found)
        self.defer.setVisible(bool(found))
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
        warnings = sum(one.weight == "warn" for one in found)
        words = {0: "", 1: "1 to look at"}.get(warnings, f"{warnings} to look at")
        self.set_quiet(words, "ochre" if warnings else "ink3")
        self._name_link()

    def _name_link(self) -> None:
        folds = any(row.caution.weight == "note" for row in self._rows)
        self.set_link(("Notes in short" if self._whole else "Notes in full") if folds else "")

    def _turn(self) -> None:
        self._whole = not self._whole
        for row in self._rows:
            row.show_whole(self._whole)
        self._name_link()
