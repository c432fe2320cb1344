"""The test plans: a list, the page of one, and a new one laid out as it is typed."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from studiolog.craft.words import PLAN_KINDS
from studiolog.journal.plan_page import PlanLine, PlanPage, list_plans, read_plan_page
from studiolog.journal.plans import archive_plan, delete_plan
from studiolog.journal.session import Session
from studiolog.ui.parts.list_and_page import ListAndPage
from studiolog.ui.parts.plan_wanted import PlanWanted
from studiolog.ui.parts.side_list import ListRow
from studiolog.ui.plans.plan_editor import PlanEditor
from studiolog.ui.plans.plan_view import PlanView


class PlansScreen(ListAndPage):
    """Plans by the newest, and one of them; N lays out a new one."""

    kinds = frozenset(
        {"plan", "test_plan", "plan_corner", "plan_tile", "plan_layer", "glaze", "recipe_line"}
        | {"piece", "layer", "stage_change", "placement", "firing", "inspection", "fault_reading"}
        | {"surface_reading", "picture", "material", "material_lot", "lot_oxide", "stock_change"}
        | {"clay", "form", "program", "limit"}
    )
    title = "Test plans"
    noun, plural, counted = "plan", "Test plans", "tiles"
    empty = (
        "Plan your tests before you weigh.",
        "Blends between glazes, additions in steps, one glaze over another, thicker and thicker: "
        "a plan makes the tiles with codes and recipes, tells the fewest weighings, and becomes "
        "the picture grid of what came out.",
    )

    def build(self) -> None:
        super().build()
        self.editor = PlanEditor(self.desk)
        self.stack.addWidget(self.editor)
        # A new plan is laid out on a page of its own, not named in the list first.
        for signal in (self.side.new_button.clicked, self.nothing.acted):
            signal.disconnect()
            signal.connect(lambda: self.start_plan())
        self.editor.made.connect(self._show_made)
        self.editor.left.connect(self._leave_new)

    def start_plan(self, wanted: PlanWanted | None = None) -> None:
        """Lay out a new plan; ``wanted`` is filled in already."""
        self.stack.setCurrentWidget(self.editor)
        self.editor.begin(wanted or PlanWanted())
        self.foot_changed.emit()

    def _show_made(self, plan_id: int) -> None:
        self.stack.setCurrentWidget(self.page_view)
        self.show_thing(plan_id)
        assert isinstance(self.page, PlanView)
        self.page.tiles.setFocus()
        self.foot_changed.emit()

    def _leave_new(self) -> None:
        self.stack.setCurrentIndex(1 if self._ident else 0)
        first = self.side.list if self._ident else self.nothing.action
        first.setFocus(Qt.FocusReason.OtherFocusReason)
        self.foot_changed.emit()

    def show_thing(self, row_id: int, more: object = None) -> None:
        """Show one plan; ``more`` "new" or a `PlanWanted` lays out a new one."""
        if row_id and self.stack.currentWidget() is self.editor:
            self.stack.setCurrentWidget(self.page_view)
        super().show_thing(row_id, None)
        if more == "new" or isinstance(more, PlanWanted):
            self.start_plan(more if isinstance(more, PlanWanted) else None)

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        return [
            ListRow(
                line.plan_id,
                f"{line.code}  {line.name}",
                _quiet(line),
                line.tiles,
                line.archived,
                None,
                "tiles",
            )
            for line in list_plans(session, archived=archived)
        ]

    def read_page(self, session: Session, ident: int, start: int) -> PlanPage | None:
        return read_plan_page(session, ident)

    def make_page(self) -> PlanView:
        view = PlanView(self.desk)
        view.looking_changed.connect(self.foot_changed)
        return view

    def add(self, session: Session, name: str) -> int:
        raise TypeError("a plan is laid out first: see PlanEditor")

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        archive_plan(session, ident, archived)

    def delete(self, session: Session, ident: int) -> None:
        delete_plan(session, ident)

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        if self.stack.currentWidget() is self.editor:
            return (
                (("←", "→"), "kind"),
                (("Tab",), "field by field"),
                (("Ctrl", "Enter"), "make the plan"),
                (("Esc",), "leave it"),
            )
        assert isinstance(self.page, PlanView)
        if self.page.inspect.isVisibleTo(self.page):
            return (
                (("0", "3"), "how much is seen"),
                (("Ctrl", "D"), "all others none seen"),
                (("Ctrl", "Enter"), "save, next tile"),
                (("Esc",), "end"),
            )
        return (
            (("N",), "new plan"),
            (("↑", "↓"), "through the list, or the tiles"),
            (("Enter",), "open the piece"),
            (("Space",), "choose tiles"),
            (("I",), "inspect"),
            (("Ctrl", "Z"), "undo"),
        )

    def reload(self) -> None:
        """Read the list and what is shown anew; a new plan being laid out stays as it is typed."""
        laying_out = self.stack.currentWidget() is self.editor
        super().reload()
        if laying_out:
            self.stack.setCurrentWidget(self.editor)
            self.editor.refresh()
            self.editor.lay_out_now()

    def _show(self, page: Any) -> None:
        super()._show(page)
        if page is not None:
            self._title = f"plan {page.name}"

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_N and not event.modifiers():
            self.start_plan()
        elif event.key() == Qt.Key.Key_I and not event.modifiers():
            assert isinstance(self.page, PlanView)
            if self.stack.currentWidget() is self.page_view:
                self.page.start_inspecting()
        else:
            super().keyPressEvent(event)


def _quiet(line: PlanLine) -> str:
    kind = PLAN_KINDS[line.kind]
    return f"{kind}, {line.progress}"
