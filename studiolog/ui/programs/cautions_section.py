"""What to beware of in a program, with the way to the limits it is judged by."""

from collections.abc import Sequence

from PySide6.QtWidgets import QHBoxLayout, QWidget

from studiolog.craft.firing.program_cautions import ProgramCaution
from studiolog.ui.parts.program_cautions import CautionRow, CautionRows
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Text


class CautionsSection(Section):
    """Warnings first; what holds for every such firing after them, folded to a line each."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Cautions", parent=parent)
        self._whole = False
        self.none = Text("", "secondary", tone="ink2", wrap=True)
        self._cautions = CautionRows()
        self.limits = link_button("Limits of these cautions")
        feet = QHBoxLayout()
        feet.addWidget(self.limits)
        feet.addStretch(1)
        self.add(self.none)
        self.add(self._cautions)
        self.add(feet)
        self.link_opened.connect(self._turn)

    def rows(self) -> tuple[CautionRow, ...]:
        """What is shown, warnings first."""
        return self._cautions.rows()

    def show_cautions(self, cautions: Sequence[ProgramCaution], none: str) -> None:
        """Show these, or the sentence ``none`` where there are none."""
        self.none.setText(none)
        self.none.setVisible(not cautions)
        self._cautions.show_cautions(cautions)
        warnings = sum(one.weight == "warn" for one in cautions)
        words = {0: "", 1: "1 to look at"}.get(warnings, f"{warnings} to look at")
        self.set_quiet(words, "ochre" if warnings else "ink3")
        self._name_link()

    def _name_link(self) -> None:
        folds = any(row.caution.weight == "note" for row in self.rows())
        self.set_link(("Notes in short" if self._whole else "Notes in full") if folds else "")

    def _turn(self) -> None:
        self._whole = not self._whole
        self._cautions.show_whole(self._whole)
        self._name_link()
