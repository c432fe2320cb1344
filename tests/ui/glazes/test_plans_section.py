"""The page of a glaze leads to the test plans it stands in."""

from datetime import date

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton

from studiolog.craft.glaze.plans import PlanOptions
from studiolog.desktop.desk import Desk
from studiolog.journal.glazes import list_glazes
from studiolog.journal.plans import CornerDraft, PlanDraft, add_plan
from studiolog.ui.glazes.plans_section import PlansSection
from tests.small_studio import SmallStudio


def test_plans_are_listed_with_what_of_them_carries_the_glaze(
    desk: Desk, studio: SmallStudio
) -> None:
    one, two, *others = (line.glaze_id for line in desk.read(list_glazes))
    draft = PlanDraft(
        name="Each over each",
        kind="over_under",
        corners=(CornerDraft(glaze_id=one), CornerDraft(glaze_id=two)),
        made_on=date(2026, 10, 1),
        options=PlanOptions(),
    )
    section = PlansSection(desk)
    section.show_glaze(one)
    assert section.isHidden(), "it stands in none yet"
    plan_id = desk.edits.run("Plan tests", lambda session: add_plan(session, draft))
    section.show_glaze(one)
    section.show()
    QApplication.processEvents()
    (link,) = (one for one in section.findChildren(QPushButton) if one.isVisible())
    assert link.text() == "A  Each over each"
    assert "4 planned" in [label.text() for label in section.findChildren(QLabel)]
    asked: list[tuple[str, int]] = []
    desk.asked_for.connect(lambda kind, row_id, _: asked.append((kind, row_id)))
    QTest.keyClick(link, Qt.Key.Key_Space)
    assert asked == [("plan", plan_id)]
    assert others, "a glaze of no plan"
    section.show_glaze(others[0])
    assert section.isHidden()
    section.close()
