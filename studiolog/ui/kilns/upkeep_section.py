"""Upkeep of a kiln: what is to do and when, what was done, all changed in place."""

from datetime import date
from functools import partial

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.journal.kiln_tasks import (
    KilnTaskDraft,
    KilnTasks,
    TaskLine,
    add_task,
    change_task,
    finish_task,
    remove_task,
)
from studiolog.journal.session import Session
from studiolog.ui.kilns.task_editor import TaskEditor
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.sight import show_whole
from studiolog.ui.parts.task_words import done_words, due_words, repeat_words, task_title
from studiolog.ui.parts.text import Caption, Text

NOTHING = (
    "Nothing is noted. New elements, a new thermocouple, shelf wash, the vent: by a day, or after "
    "so many firings; what repeats comes back by itself."
)
_DONE_SHOWN = 6
_TONES = {"overdue": "rust", "due": "ochre", "open": "ink2", "done": "ink2"}


class UpkeepSection(Section):
    """To do first, what presses at the top; then what was done, newest first."""

    def __init__(self, page: ThingPage, parent: QWidget | None = None) -> None:
        super().__init__("Upkeep", link="Add a task", parent=parent)
        self._page = page
        self._tasks = KilnTasks()
        self._editing: TaskLine | None = None
        self._every = False
        self.nothing = Text(NOTHING, "secondary", tone="ink2", wrap=True)
        holder = QWidget()
        self._grid = QGridLayout(holder)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(6)
        self.problem = ProblemLine()
        self.editor = TaskEditor()
        self.editor.hide()
        self.older = QPushButton("Show all that was done")
        self.older.hide()
        more = QHBoxLayout()
        more.addWidget(self.older)
        more.addStretch(1)
        for part in (self.nothing, holder, self.problem, self.editor):
            self.add(part)
        self.add(more)
        self.link_opened.connect(self.start)
        self.editor.kept.connect(self._keep)
        self.editor.given_up.connect(self.leave)
        self.older.clicked.connect(self._show_every)

    def show_tasks(self, tasks: KilnTasks) -> None:
        self._tasks = tasks
        there = {line.task_id for line in (*tasks.to_do, *tasks.done)}
        if self._editing is not None and self._editing.task_id not in there:
            self.leave()
        overdue = len(tasks.overdue)
        self.set_quiet(f"{overdue} overdue" if overdue else "", "rust")
        self._show_rows()

    def start(self) -> None:
        """Note a new task."""
        self._edit(None)

    def change(self, line: TaskLine, _checked: bool = False) -> None:
        """Change a task in place."""
        self._edit(line)

    def leave(self) -> None:
        """Put the editor away."""
        had = self.editor.isAncestorOf(self.window().focusWidget() or self.window())
        self._editing = None
        self.editor.hide()
        self.set_link("Add a task")
        if had:
            self.link.setFocus(Qt.FocusReason.OtherFocusReason)

    def finish(self, line: TaskLine, _checked: bool = False) -> None:
        """Mark a task as done today; its day can be changed after."""
        edit = partial(
            finish_task, task_id=line.task_id, version=line.version, done_on=date.today()
        )
        if self._page.run(f"Done: {line.words}", edit, self.problem.say):
            desk = self._page.desk
            desk.notices.say(f"{_begin(task_title(line))}: done.", "Undo", desk.edits.undo)

    def remove(self, line: TaskLine, _checked: bool = False) -> None:
        """Take a task away."""
        edit = partial(remove_task, task_id=line.task_id)
        if self._page.run(f"Remove task: {line.words}", edit, self.problem.say):
            desk = self._page.desk
            desk.notices.say(f"Removed: {task_title(line)}.", "Undo", desk.edits.undo)

    def _edit(self, line: TaskLine | None) -> None:
        self._editing = line
        self.editor.show_task(line)
        self.editor.show()
        self.set_link("")
        self.editor.task.setFocus(Qt.FocusReason.OtherFocusReason)
        # The editor is laid out first: it stands below what the window shows.
        QTimer.singleShot(0, self, partial(show_whole, self.editor))

    def _keep(self, draft: KilnTaskDraft) -> None:
        line, ident = self._editing, self._page.ident
        today = date.today()

        def edit(session: Session) -> None:
            if line is None:
                add_task(session, ident, draft, today)
            else:
                change_task(session, line.task_id, line.version, draft, today)

        label = "Add a task" if line is None else f"Change task: {line.words}"
        if self._page.run(label, edit, self.editor.problem.say):
            self.leave()

    def _show_every(self) -> None:
        self._every = True
        self._show_rows()

    def _show_rows(self) -> None:
        done = self._tasks.done if self._every else self._tasks.done[:_DONE_SHOWN]
        self.nothing.setVisible(not self._tasks.to_do and not self._tasks.done)
        self.older.setVisible(len(done) < len(self._tasks.done))
        clear_layout(self._grid)
        place = 0
        for head, lines in (("To do", self._tasks.to_do), ("Done", done)):
            if lines:
                self._grid.addWidget(Caption(head), place, 0)
                place += 1
            for line in lines:
                self._show_row(place, line)
                place += 1
        self._grid.setColumnStretch(0, 1)

    def _show_row(self, place: int, line: TaskLine) -> None:
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(Text(_begin(task_title(line)), "body", 600, wrap=True))
        todo = line.state != "done"
        told = [due_words(line) if todo else done_words(line)]
        if todo and (again := repeat_words(line)):
            told.append(again)
        words.addWidget(
            Text(_begin("; ".join(told)), "secondary", tone=_TONES[line.state], wrap=True)
        )
        if line.note and line.note != task_title(line):
            words.addWidget(Text(line.note, "secondary", tone="ink2", wrap=True))
        self._grid.addLayout(words, place, 0)
        buttons = QHBoxLayout()
        buttons.setSpacing(0)
        called = f"{task_title(line)}, {told[0]}"
        buttons.addStretch(1)
        if todo:
            done = QPushButton("Done")
            done.setAccessibleName(f"Done today: {called}")
            done.clicked.connect(partial(self.finish, line))
            buttons.addWidget(done)
            buttons.addSpacing(4)
        change = IconButton("pencil", f"Change {called}")
        change.clicked.connect(partial(self.change, line))
        drop = IconButton("cross", f"Remove {called}")
        drop.clicked.connect(partial(self.remove, line))
        buttons.addWidget(change)
        buttons.addWidget(drop)
        self._grid.addLayout(buttons, place, 1, Qt.AlignmentFlag.AlignTop)


def _begin(words: str) -> str:
    """A sentence's capital; the names of months keep theirs."""
    return words[:1].upper() + words[1:]
