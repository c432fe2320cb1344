"""Sets and assemblies: a list, and the page of one."""

from collections.abc import Sequence
from datetime import date

from studiolog.journal.session import Session
from studiolog.journal.set_counts import count_sets
from studiolog.journal.set_page import SetPage, read_set_page
from studiolog.journal.sets import SetDraft, add_set, change_set, delete_set, list_sets
from studiolog.ui.parts.due import say_day
from studiolog.ui.parts.list_and_page import ListAndPage, ThingPage
from studiolog.ui.parts.side_list import ListRow
from studiolog.ui.sets.set_view import SetView


class SetsScreen(ListAndPage):
    """Ware that belongs together, by the day it is due, with how far each set is."""

    kinds = frozenset({"set", "piece", "run", "form", "clay", "glaze", "order"})
    title = "Sets"
    noun, plural = "set", "Sets"
    counted = "pieces in one"
    empty = (
        "No sets yet.",
        "Ten of each of five forms for a table, twelve small lamps on one string, tiles for a "
        "wall: a set says what belongs to it, and then what is done, at which stage, and what "
        "must be made again. An order may ask for it.",
    )

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        lines = list_sets(session, archived=archived)
        counts = count_sets(session, [line.set_id for line in lines])
        today = date.today()
        rows = []
        for line in lines:
            whole = counts[line.set_id]
            told = [f"{min(whole.finished, line.wanted)} of {line.wanted} whole"]
            if line.due_on is not None:
                told.append(f"due {say_day(line.due_on, today)}")
            if line.order_number is not None:
                told.append(f"order {line.order_number}")
            quiet = ", ".join(told)
            rows.append(ListRow(line.set_id, line.name, quiet, line.pieces, line.archived))
        return rows

    def read_page(self, session: Session, ident: int, start: int) -> SetPage | None:
        return read_set_page(session, ident)

    def make_page(self) -> ThingPage:
        view = SetView(self.desk)
        view.run_asked.connect(lambda given: self.desk.show("bench", 0, {"start run": given}))
        return view

    def add(self, session: Session, name: str) -> int:
        return add_set(session, SetDraft(name=name))

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        change_set(session, ident, archived=archived)

    def delete(self, session: Session, ident: int) -> None:
        delete_set(session, ident)

    def add_named(self, name: str) -> None:
        """Enter a new set; the keyboard goes on to its first part."""
        before = self._ident
        super().add_named(name)
        if self._ident != before and isinstance(self.page, SetView):
            self.page.new_part.wanted.setFocus()
