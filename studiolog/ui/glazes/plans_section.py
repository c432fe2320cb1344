"""The test plans a glaze stands in, each a way to its page."""

from functools import partial

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.glaze_plans import GlazePlan, read_glaze_plans
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Caption


class PlansSection(Section):
    """Hidden for a glaze that stands in none."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Test plans", parent=parent)
        self._desk = desk
        self._rows = QVBoxLayout()
        self._rows.setSpacing(4)
        self.add(self._rows)

    def show_glaze(self, glaze_id: int) -> None:
        """Read and show the plans of a glaze."""
        plans = self._desk.read(lambda session: read_glaze_plans(session, glaze_id))
        clear_layout(self._rows)
        self.setVisible(bool(plans))
        for plan in plans:
            self._rows.addWidget(self._row(plan))

    def _open(self, plan_id: int) -> None:
        self._desk.show("plan", plan_id)

    def _row(self, plan: GlazePlan) -> QWidget:
        line = QWidget()
        row = QVBoxLayout(line)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        link = link_button(f"{plan.code}  {plan.name}", most=48)
        link.setAccessibleName(f"Plan {plan.code}, {plan.name}")
        link.clicked.connect(partial(self._open, plan.plan_id))
        top = QHBoxLayout()
        top.addWidget(link)
        top.addStretch(1)
        row.addLayout(top)
        row.addWidget(Caption(plan.words, wrap=True))
        return line
