"""A folder of logs as it comes in: how far it is, and what became of every file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QGuiApplication, QPainter
from PySide6.QtWidgets import QProgressBar, QPushButton, QWidget

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.log_intake import LogIntake, Told
from studiolog.desktop.tokens import SECONDARY
from studiolog.transfer.log_folder import natural_order
from studiolog.ui.firings.dialog import FiringDialog
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.painted_list import PaintedList, PaintedRows, write
from studiolog.ui.parts.text import Text

_ROW_HIGH = 44
OUTCOMES = {
    "waits": ("waits", ("waits to be described", "wait to be described"), "ink"),
    "asks": ("waits, asks", ("waits with a question", "wait with open questions"), "ochre"),
    "grown": ("has grown", ("has grown", "have grown"), "ink"),
    "here": ("here already", ("was here already", "were here already"), "ink2"),
    "same": ("same curve", ("has the curve of another", "have the curve of another"), "ink2"),
    "unread": ("not read", ("can't be read", "can't be read"), "rust"),
    "skipped": ("passed over", ("passed over as no log", "passed over as no logs"), "ink3"),
}
"""An outcome on its line, in the counts for one and for more, and the colour of its word."""
_FILTERS = (
    ("all", "All", tuple(OUTCOMES)),
    ("came", "Came in", ("waits", "asks", "grown")),
    ("known", "Known", ("here", "same")),
    ("not", "No log", ("unread", "skipped")),
)
_KEYS = {Qt.Key.Key_Return: "open", Qt.Key.Key_Enter: "open"}


class FolderReport(FiringDialog):
    """Takes in folders and files, and tells of each. Stopped, what came in until then stays.

    ``firing_asked`` carries the number of a firing that already has a file's curve.
    """

    firing_asked = Signal(int)

    def __init__(self, desk: Desk, places: Sequence[Path], parent: QWidget | None = None) -> None:
        self._places = tuple(places)
        named = places[0].name if len(places) == 1 else f"{len(places)} files and folders"
        super().__init__(f"Logs from {named}", "Close", parent)
        self._told: list[Told] = []
        self._files = 0
        self._base = _common_folder(places)
        self.intake = LogIntake(desk, "take in logs", self)
        self._build()
        self.take_size(820, 620)
        self.intake.found.connect(self._show_found)
        self.intake.told.connect(self._show_told)
        self.intake.ended.connect(self._show_end)
        self.finished.connect(lambda _result: self.intake.stop())

    def _build(self) -> None:
        self.progress = QProgressBar()
        self.progress.setTextVisible(False)
        self.progress.setFixedHeight(4)
        self.progress.setAccessibleName("Files read")
        self.said = Text("Looking through the folder…", weight=600, wrap=True)
        self.counts = Text("", "secondary", tone="ink2", wrap=True)
        self.filter = SegmentedChoice(
            "Files shown", [Choice(key, words) for key, words, _ in _FILTERS]
        )
        self.filter.choose("all")
        self.filter.picked.connect(lambda _key: self._refill())
        self.list = PaintedList(
            "What became of each file",
            _ROW_HIGH,
            self._paint,
            PaintedRows(self._say, lambda told: told.path.name),
            _KEYS,
        )
        self.list.key_pressed.connect(lambda _what: self._open())
        self.list.doubleClicked.connect(lambda _index: self._open())
        self.stop_button = QPushButton("Stop")
        self.stop_button.setAccessibleName("Stop taking in logs")
        self.stop_button.setAutoDefault(False)
        self.stop_button.clicked.connect(self.stop)
        self.copy_button = QPushButton("Copy as text")
        self.copy_button.setAccessibleName("Copy the report as text")
        self.copy_button.setAutoDefault(False)
        self.copy_button.clicked.connect(self.copy)
        self.leave_button.hide()
        self.feet.insertWidget(2, self.copy_button)
        self.feet.insertWidget(3, self.stop_button)
        for part in (self.progress, self.said, self.counts, self.filter):
            self.body.addWidget(part)
        self.body.addWidget(self.list, 1)

    def begin(self) -> None:
        """Begin taking in."""
        self.progress.setRange(0, 0)
        self.intake.take_in(self._places)
        self.list.setFocus()

    def stop(self) -> None:
        """Stop after the file at hand."""
        self.stop_button.setEnabled(False)
        self.intake.stop()

    def keep(self) -> None:
        """Close; nothing more is to be kept."""
        self.accept()

    def told(self) -> tuple[Told, ...]:
        """What became of the files so far."""
        return tuple(self._told)

    def shown(self) -> tuple[Told, ...]:
        """The files listed under the filter chosen."""
        return self.list.rows()

    def _show_found(self, files: int) -> None:
        self._files = files
        self.progress.setRange(0, max(1, files))
        self._settle()

    def _show_told(self, told: tuple[Told, ...]) -> None:
        self._told.extend(told)
        self.progress.setValue(len(self._told))
        self._settle()
        self._refill()

    def _show_end(self, stopped: bool) -> None:
        self.progress.hide()
        self.stop_button.hide()
        self._told.sort(key=lambda one: natural_order(one.path))
        self._settle(stopped)
        self._refill()

    def _settle(self, stopped: bool = False) -> None:
        count = Counter(one.outcome for one in self._told)
        came = count["waits"] + count["asks"] + count["grown"]
        if self.intake.running:
            self.said.setText(f"{len(self._told)} of {self._files} files read.")
        elif stopped:
            self.said.setText(
                f"Stopped after {len(self._told)} of {self._files} files. "
                f"{_logs(came)} came in until then and {'stays' if came == 1 else 'stay'}."
            )
        elif not self._files:
            self.said.setText("There is no file here that could be a log.")
        else:
            self.said.setText(f"{_logs(came)} of {self._files} files came in.")
        self.counts.setText(
            ", ".join(
                f"{count[key]} {one if count[key] == 1 else more}"
                for key, (_, (one, more), _) in OUTCOMES.items()
                if count[key]
            )
        )

    def _refill(self) -> None:
        chosen = str(self.filter.chosen() or "all")
        wanted = next(outcomes for key, _, outcomes in _FILTERS if key == chosen)
        rows = [one for one in self._told if one.outcome in wanted]
        current = self.list.current_row()
        place = rows.index(current) if current in rows else 0 if rows else -1
        self.list.show_rows(rows, place)
        if not self.intake.running:
            self.list.scrollTo(self.list.currentIndex())

    def _open(self) -> None:
        told = self.list.current_row()
        if told is not None and told.firing is not None:
            self.accept()
            self.firing_asked.emit(told.firing)

    def copy(self) -> None:
        """The whole report as text, a line for each file under its counts."""
        QGuiApplication.clipboard().setText(self.as_text())

    def as_text(self) -> str:
        """The report as text."""
        lines = [self.heading.text(), self.said.text(), self.counts.text(), ""]
        lines += [
            f"{self._where(one)}\t{OUTCOMES[one.outcome][0]}\t{one.words}" for one in self._told
        ]
        return "\n".join(lines) + "\n"

    def _where(self, told: Told) -> str:
        try:
            return str(told.path.relative_to(self._base))
        except ValueError:
            return told.path.name

    def _say(self, told: Told) -> str:
        return f"{self._where(told)}, {OUTCOMES[told.outcome][0]}: {told.words}"

    def _paint(self, painter: QPainter, box: QRectF, told: Told, _chosen: bool) -> None:
        word, _, tone = OUTCOMES[told.outcome]
        px = theme.current().px
        left, half = box.left() + 12, (box.height() - 6) / 2
        wide = px(112)
        write(painter, QRectF(left, box.top() + 3, wide, half), word, 600, tone)
        room = box.right() - 12 - left - wide
        write(painter, QRectF(left + wide, box.top() + 3, room, half), self._where(told), 600)
        write(
            painter,
            QRectF(left + wide, box.top() + 3 + half, room, half),
            told.words,
            tone="ink2",
            size=SECONDARY,
        )


def _logs(count: int) -> str:
    return "1 log" if count == 1 else f"{count} logs"


def _common_folder(places: Sequence[Path]) -> Path:
    first = places[0]
    return first if first.is_dir() else first.parent
