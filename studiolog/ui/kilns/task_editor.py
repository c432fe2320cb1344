"""A task of a kiln being noted or changed, in place."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import KILN_TASKS
from studiolog.journal.kiln_tasks import KilnTaskDraft, TaskLine
from studiolog.problems import UserProblem
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import DayField, LineField, NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.text import Text

MAINS = (
    "Mains current: only with the kiln switched off, locked off and proved dead, by a qualified "
    "person. Local rules go first."
)
RECALIBRATES = "Done, it starts a new calibration: earlier readings correct earlier firings only."
BRICK_DUST = "Brick, wash and fibre dust: wet it, wear a mask that fits, no sweeping dry."
_MAINS = ("elements", "relay", "thermocouple")
_DUST = ("shelf_wash", "bricks")


class TaskEditor(QWidget):
    """``kept`` carries the `KilnTaskDraft`, ``given_up`` leaves it as it was."""

    kept = Signal(object)
    given_up = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.task = PickOne("Task", [Choice(key, word) for key, word in KILN_TASKS.items()])
        self.note = LineField("Note", hint="what, by whom")
        self.done_on = DayField("Done on")
        self.due_on = DayField("Due by", prefer="future")
        self.after = NumberField("Due after", "firings", None, 0, 1, 10_000)
        self.every_firings = NumberField("Again every", "firings", None, 0, 1, 10_000)
        self.every_days = NumberField("Again every", "days", None, 0, 1, 10_000)
        self.every_firings.line.setAccessibleName("Again every so many firings")
        self.every_days.line.setAccessibleName("Again every so many days")
        self.caution = CautionLine()
        self.problem = ProblemLine()
        self.keep_button = QPushButton("Keep task")
        self.leave_button = QPushButton("Leave")
        self.leave_button.setAccessibleName("Leave the task as it was")
        picked = QWidget()
        above = QVBoxLayout(picked)
        above.setContentsMargins(0, 0, 0, 0)
        above.setSpacing(4)
        above.addWidget(Text("Task", "secondary", 500, "ink2"))
        above.addWidget(self.task)
        holder = QWidget()
        fields = FlowLayout(holder, spacing=16, line_spacing=8)
        for field in (
            picked,
            self.due_on,
            self.after,
            self.every_firings,
            self.every_days,
            self.done_on,
        ):
            fields.addWidget(field)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.keep_button)
        buttons.addWidget(self.leave_button)
        buttons.addStretch(1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 4, 0, 8)
        rows.setSpacing(8)
        rows.addWidget(holder)
        rows.addWidget(self.note)
        rows.addWidget(self.caution)
        rows.addWidget(self.problem)
        rows.addLayout(buttons)
        self.task.picked.connect(lambda _key: self._warn())
        self.keep_button.clicked.connect(self.keep)
        self.leave_button.clicked.connect(self.given_up)
        for line in (
            self.note,
            self.done_on,
            self.due_on,
            self.after,
            self.every_firings,
            self.every_days,
        ):
            line.line.returnPressed.connect(self.keep)

    def show_task(self, line: TaskLine | None) -> None:
        """Show a task to change, or an empty one to note."""
        self.task.choose(line.task if line is not None else "shelf_wash")
        self.note.set_text(line.note if line is not None else "")
        self.done_on.set_day(line.done_on if line is not None else None)
        self.due_on.set_day(line.due_on if line is not None else None)
        left = line.firings_left if line is not None else None
        self.after.set_value(max(left, 1) if left is not None else None)
        self.every_firings.set_value(line.repeat_firings if line is not None else None)
        self.every_days.set_value(line.repeat_days if line is not None else None)
        self.problem.say("")
        self._warn()

    def draft(self) -> KilnTaskDraft:
        """What was typed. Raises `UserProblem`; the field shows it too."""
        return KilnTaskDraft(
            task=str(self.task.chosen()),
            note=self.note.text(),
            done_on=self.done_on.day(),
            due_on=self.due_on.day(),
            after_firings=_whole(self.after),
            repeat_days=_whole(self.every_days),
            repeat_firings=_whole(self.every_firings),
        )

    def keep(self) -> None:
        """Hand over what was typed, unless a field can't be read."""
        try:
            draft = self.draft()
        except UserProblem:
            return
        self.kept.emit(draft)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.given_up.emit()
        else:
            super().keyPressEvent(event)

    def _warn(self) -> None:
        task = self.task.chosen()
        words = ""
        if task in _MAINS:
            words = MAINS if task == "relay" else f"{MAINS} {RECALIBRATES}"
        elif task in _DUST:
            words = BRICK_DUST
        self.caution.say(words)


def _whole(field: NumberField) -> int | None:
    value = field.value()
    return None if value is None else round(value)
