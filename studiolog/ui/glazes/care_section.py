"""Take care: what the recipe of a glaze calls for, as it is kept and while it is typed."""

from collections.abc import Sequence

from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.glaze.cautions import LOCAL_RULES, NO_PROOF
from studiolog.craft.glaze.hazards import WHENS, Hazard
from studiolog.desktop.desk import Desk
from studiolog.journal.fault_rates import RateGroup
from studiolog.journal.glaze_hazards import read_hazards, read_typed_hazards
from studiolog.journal.glaze_page import GlazePage
from studiolog.journal.glazes import RecipePart
from studiolog.ui.glazes.laboratory_sheet import LaboratorySheet
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text


class CareSection(Section):
    """What to take care of by when it matters, and the way to ask a laboratory."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Take care", link="Asking a laboratory", parent=parent)
        self._desk = desk
        self._glaze_id = 0
        self._rates = RateGroup(0, 0, ())
        self._lines = QVBoxLayout()
        self._lines.setSpacing(6)
        self.add(self._lines)
        self._shown: tuple[Hazard, ...] | None = None
        self.link_opened.connect(self.ask_laboratory)
        self._show(())

    def show_page(self, page: GlazePage) -> None:
        """Show what the kept recipe calls for."""
        self._glaze_id, self._rates = page.glaze_id, page.rates
        self._show(
            self._desk.read(lambda session: read_hazards(session, page.glaze_id, page.rates))
        )

    def show_typed(self, parts: Sequence[RecipePart]) -> None:
        """Show what a recipe calls for while it is typed."""
        glaze_id, rates = self._glaze_id, self._rates
        self._show(
            self._desk.read(lambda session: read_typed_hazards(session, glaze_id, parts, rates))
        )

    def hazards(self) -> tuple[Hazard, ...]:
        """What is shown."""
        return self._shown or ()

    def ask_laboratory(self) -> None:
        """Open the limits and the request to a laboratory."""
        LaboratorySheet(self._desk, self._glaze_id, self.window()).open()

    def _show(self, hazards: tuple[Hazard, ...]) -> None:
        if hazards == self._shown:
            return
        self._shown = hazards
        clear_layout(self._lines)
        for when, head in WHENS.items():
            of_it = [hazard for hazard in hazards if hazard.when == when]
            if of_it:
                self._lines.addWidget(Text(head, "secondary", 600))
            for hazard in of_it:
                self._lines.addWidget(CautionLine(hazard.sentence, hazard.basis))
        if hazards:
            self._lines.addWidget(Caption(LOCAL_RULES, wrap=True))
        self._lines.addWidget(Text(NO_PROOF, "secondary", tone="ink2", wrap=True))
