"""How a run stands: under which cover, in what weather, since when; and how it stood before."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.clay.drying import say_cover
from studiolog.craft.words import COVERS, DRYING_WEATHERS
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.covers import CoverLine, cover_run, delete_cover_change, read_covers
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.due import say_day
from studiolog.ui.parts.fields import LineField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import labelled
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Caption, Text

_SHOWN = 5


class CoverSection(Section):
    """Say how a run stands from now on; a change noted wrongly is taken out."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("How it stands", parent=parent)
        self._desk = desk
        self._run = (0, 0)
        self.now = Text("", "body", wrap=True)
        self.cover = PickOne("Cover", [Choice(key, word) for key, word in COVERS.items()])
        self.weather = PickOne(
            "Drying weather", [Choice(key, word) for key, word in DRYING_WEATHERS.items()]
        )
        self.note = LineField("Note on the cover")
        self.say_so = QPushButton("It stands so now")
        self.say_so.setAccessibleName("It stands so now")
        self.problem = ProblemLine()
        self._lines = QVBoxLayout()
        self._lines.setSpacing(2)
        asked = FlowLayout(spacing=12, line_spacing=8)
        for words, pick in (("Cover", self.cover), ("Weather", self.weather)):
            holder = QWidget()
            box = labelled(words, pick)
            box.setContentsMargins(0, 0, 0, 0)
            holder.setLayout(box)
            pick.setMinimumWidth(theme.current().px(140))
            asked.addWidget(holder)
        self.add(self.now)
        self.add(asked)
        self.add(self.note)
        self.body.addWidget(self.say_so, 0, Qt.AlignmentFlag.AlignLeft)
        self.add(self.problem)
        self.add(self._lines)
        self.say_so.clicked.connect(self.keep)

    def show_run(self, run_id: int, number: int, now: datetime) -> None:
        """Read and show how a run stands."""
        fresh = self._run[0] != run_id
        self._run = (run_id, number)
        lines = self._desk.read(partial(read_covers, run_ids=(run_id,))).get(run_id, ())
        self._show(lines, now, fresh)

    def _show(self, lines: Sequence[CoverLine], now: datetime, fresh: bool) -> None:
        self.problem.say("")
        last = lines[-1] if lines else None
        if last is None:
            self.now.setText("Nobody has said how it stands: it is taken as loosely in plastic.")
        else:
            words = say_cover(last.cover, last.weather)
            self.now.setText(f"{words[0].upper()}{words[1:]}, since {_when(last.at, now)}.")
        if fresh:
            self.note.set_text("")
        self.cover.choose(last.cover if last is not None else "loose")
        self.weather.choose(last.weather if last is not None else "usual")
        while (item := self._lines.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        for line in reversed(lines[-_SHOWN:]):
            self._lines.addWidget(self._row(line, now))
        if len(lines) > _SHOWN:
            self._lines.addWidget(Caption(f"and {len(lines) - _SHOWN} earlier changes"))

    def _row(self, line: CoverLine, now: datetime) -> QWidget:
        row = QWidget()
        across = QHBoxLayout(row)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(8)
        words = f"{_when(line.at, now)}: {say_cover(line.cover, line.weather)}"
        if line.note:
            words += f". {line.note}"
        across.addWidget(Text(words, "secondary", tone="ink2", wrap=True), 1)
        out = link_button("Take out")
        out.setAccessibleName(f"Take out: {words}")
        out.clicked.connect(partial(self._take_out, line.change_id))
        across.addWidget(out, 0, Qt.AlignmentFlag.AlignTop)
        return row

    def keep(self) -> None:
        """Note that it stands so from now on."""
        run_id, number = self._run
        cover, weather = str(self.cover.chosen()), str(self.weather.chosen())
        at = datetime.now().replace(second=0, microsecond=0)
        label = f"Run {number}: {say_cover(cover, weather)}"
        try:
            self._desk.edits.run(
                label,
                partial(
                    cover_run, run_id=run_id, cover=cover, at=at, weather=weather,
                    note=self.note.text(),
                ),
            )  # fmt: skip
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self.note.set_text("")
        self._desk.notices.say(f"{label}.", "Undo", self._desk.edits.undo)

    def _take_out(self, change_id: int, _on: bool = False) -> None:
        label = f"Run {self._run[1]}: take out how it stood"
        try:
            self._desk.edits.run(label, partial(delete_cover_change, change_id=change_id))
        except UserProblem as problem:
            self.problem.say(problem.sentence)


def _when(at: datetime, now: datetime) -> str:
    return f"{say_day(at, now.date())} {at.hour}:{at.minute:02d}"
