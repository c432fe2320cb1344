"""The kilns: a list, and the page of one."""

from collections.abc import Sequence
from datetime import date

from studiolog.journal.kiln_page import KilnPage, read_kiln_page
from studiolog.journal.kiln_tasks import TaskLine, read_overdue
from studiolog.journal.kilns import (
    KilnDraft,
    KilnLine,
    add_kiln,
    change_kiln,
    delete_kiln,
    list_kilns,
)
from studiolog.journal.session import Session
from studiolog.ui.kilns.kiln_view import KilnView
from studiolog.ui.parts.list_and_page import ListAndPage
from studiolog.ui.parts.side_list import ListRow
from studiolog.ui.parts.task_words import task_title


def _quiet(line: KilnLine, overdue: Sequence[TaskLine]) -> str:
    if len(overdue) == 1:
        return f"overdue: {task_title(overdue[0])}"
    if overdue:
        return f"{len(overdue)} tasks overdue"
    return "1 level" if len(line.levels) == 1 else f"{len(line.levels)} levels"


class KilnsScreen(ListAndPage):
    """Kilns with their levels, what each level reads against the sensor, and their firings."""

    kinds = frozenset(
        {"kiln", "kiln_level", "firing", "curve", "cone_pack", "cone_reading", "placement"}
        | {"inspection", "fault_reading", "limit"}
    )
    title = "Kilns"
    noun, plural, counted = "kiln", "Kilns", "firings"
    empty = (
        "Name your kiln.",
        "Its levels, thermocouple and power. Its page then tells what each level reads against the "
        "sensor, and where things go wrong.",
    )

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        overdue = read_overdue(session, date.today())
        return [
            ListRow(
                line.kiln_id,
                line.name,
                _quiet(line, overdue.get(line.kiln_id, ())),
                line.firings,
                line.archived,
                "kiln",
                "firings",
            )
            for line in list_kilns(session, archived=archived)
        ]

    def read_page(self, session: Session, ident: int, start: int) -> KilnPage | None:
        return read_kiln_page(session, ident, start)

    def make_page(self) -> KilnView:
        return KilnView(self.desk)

    def add(self, session: Session, name: str) -> int:
        return add_kiln(session, KilnDraft(name=name))

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        change_kiln(session, ident, archived=archived)

    def delete(self, session: Session, ident: int) -> None:
        delete_kiln(session, ident)
