"""Before you leave today: what to trim, wrap, unwrap and turn, each with its reason."""

from datetime import datetime
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.clay.drying import say_cover
from studiolog.craft.words import COVERS
from studiolog.desktop.desk import Desk
from studiolog.journal.before_leaving import BeforeLeaving, Task
from studiolog.journal.covers import cover_run
from studiolog.ui.parts.due import say_day
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.how_many_sheet import open_how_many
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Hairline, Section, link_button
from studiolog.ui.parts.text import Text, Words

_SHOWN = 10


class LeavingSection(Section):
    """The tasks of the day; a cover that is put on is noted here. ``opened`` carries a run."""

    opened = Signal(str, int)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Before you leave today", link="How many at once", parent=parent)
        self._desk = desk
        self._shown: BeforeLeaving | None = None
        self.link_opened.connect(self.ask_how_many)

    def ask_how_many(self) -> None:
        """Open the sheet that says how many can be begun at once."""
        open_how_many(self._desk, None, self)

    def show_page(self, page: BeforeLeaving) -> None:
        """Show the tasks, unless they are shown already."""
        shown = self._shown
        self._shown = page
        if shown is not None and shown.tasks == page.tasks and shown.looked_at == page.looked_at:
            return
        clear_layout(self.body)
        for place, task in enumerate(page.tasks[:_SHOWN]):
            if place:
                self.add(Hairline())
            self.add(self._row(task, page.now))
        more = len(page.tasks) - _SHOWN
        if more > 0:
            self.add(Text(f"and {more} more, less pressing", "secondary", tone="ink3", wrap=True))
        if not page.tasks:
            words = (
                "Nothing dries too far before tomorrow."
                if page.looked_at
                else "No run is wet or leather-hard."
            )
            self.add(Text(words, "secondary", tone="ink3", wrap=True))

    def _row(self, task: Task, now: datetime) -> QWidget:
        row = QWidget()
        across = QHBoxLayout(row)
        across.setContentsMargins(0, 4, 0, 4)
        across.setSpacing(10)
        mark = NumberMark("run", task.number, task.run_id)
        mark.opened.connect(self.opened)
        across.addWidget(mark, 0, Qt.AlignmentFlag.AlignTop)
        lines = QVBoxLayout()
        lines.setSpacing(0)
        when = QHBoxLayout()
        when.setSpacing(8)
        when.addWidget(Words(task.name, weight=600), 1)
        when.addWidget(
            Words(say_by(task, now), "secondary", 600, "rust" if task.pressing else "ink2"),
            0,
            Qt.AlignmentFlag.AlignTop,
        )
        lines.addLayout(when)
        lines.addWidget(Words(task.words[0].upper() + task.words[1:]))
        lines.addWidget(Words(task.why, "caption", tone="ink3"))
        if task.cover is not None:
            done = link_button(f"Done: it stands {say_cover(task.cover)}")
            done.setAccessibleName(f"Run {task.number} stands {say_cover(task.cover)} now")
            done.clicked.connect(partial(self._cover, task))
            lines.addWidget(done, 0, Qt.AlignmentFlag.AlignLeft)
        across.addLayout(lines, 1)
        return row

    def _cover(self, task: Task, _on: bool = False) -> None:
        cover = task.cover
        if cover is None:
            return
        at = datetime.now().replace(second=0, microsecond=0)
        label = f"Run {task.number}: {COVERS[cover]}"
        if self._desk.edits.try_run(
            label, partial(cover_run, run_id=task.run_id, cover=cover, at=at)
        ):
            self._desk.notices.say(f"{label}.", "Undo", self._desk.edits.undo)


def say_by(task: Task, now: datetime) -> str:
    """``by 15:00``, ``now``, ``any time``."""
    if task.by is None:
        return "before you go" if task.kind == "wrap" else "any time"
    if task.by <= now:
        return "now"
    day = "" if task.by.date() == now.date() else f"{say_day(task.by, now.date())} "
    return f"by {day}{task.by.hour}:{task.by.minute:02d}"
