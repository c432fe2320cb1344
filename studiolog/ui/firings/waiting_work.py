"""What is done with logs that come in, from the list of firings: taken in, described, set aside."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QPoint, Signal
from PySide6.QtWidgets import QDialog, QFileDialog, QMenu, QPushButton, QWidget

from studiolog.desktop.desk import Desk
from studiolog.desktop.jobs import Progress
from studiolog.journal.waiting import (
    WaitingPage,
    bring_back_waiting,
    delete_waiting,
    firing_of_number,
    read_waiting,
    set_aside_waiting,
)
from studiolog.problems import UserProblem
from studiolog.transfer.temperature_log import LogReading, read_temperature_log
from studiolog.ui.firings.describe_together import DescribeTogether
from studiolog.ui.firings.describe_waiting import DescribeWaiting, WaitingLogImport
from studiolog.ui.firings.folder_report import FolderReport
from studiolog.ui.firings.logger_folders import LoggerFolders
from studiolog.ui.firings.waiting_section import WaitingSection

_KEY = "read a waiting log"


class WaitingWork(QObject):
    """Opens the sheets over the screen, and runs the edits. ``shown`` carries a firing's id."""

    shown = Signal(int)

    def __init__(self, desk: Desk, section: WaitingSection, over: QWidget) -> None:
        super().__init__(over)
        self._desk, self._section, self._over = desk, section, over
        section.describe_asked.connect(self.describe)
        section.aside_asked.connect(self.set_aside)
        section.back_asked.connect(self.bring_back)
        section.delete_asked.connect(self.delete)

    # In

    def offer(self, button: QPushButton) -> None:
        """A menu of the ways in, under a button."""
        menu = QMenu(button)
        menu.addAction("A folder of logs…", self.pick_folder)
        menu.addAction("Log files…", self.pick_files)
        menu.addSeparator()
        menu.addAction("Folders the loggers write to…", self.name_folders)
        menu.aboutToHide.connect(menu.deleteLater)
        menu.popup(button.mapToGlobal(QPoint(0, button.height())))

    def pick_folder(self) -> None:
        """Let a folder be picked, and take it in."""
        folder = QFileDialog.getExistingDirectory(self._over, "A folder of logs")
        if folder:
            self.take_in([Path(folder)])

    def pick_files(self) -> None:
        """Let log files be picked, and take them in."""
        files, _kind = QFileDialog.getOpenFileNames(
            self._over, "Log files", "", "Logs (*.csv *.tsv *.txt *.log);;All (*)"
        )
        if files:
            self.take_in([Path(file) for file in files])

    def take_in(self, places: Sequence[Path]) -> FolderReport:
        """Take in folders and files, told in a report."""
        report = FolderReport(self._desk, places, self._over)
        report.firing_asked.connect(self._show_number)
        self._open(report)
        report.begin()
        return report

    def name_folders(self) -> LoggerFolders:
        """Say which folders the loggers write to."""
        sheet = LoggerFolders(self._desk, self._over)
        self._open(sheet)
        return sheet

    # Described

    def describe(self, waiting_ids: Sequence[int]) -> None:
        """One log: its sheet, or first its open questions. Many: described together."""
        if len(waiting_ids) > 1:
            sheet = DescribeTogether(self._desk, waiting_ids, self._over)
            sheet.logged.connect(self._say_logged)
            self._open(sheet)
            return
        try:
            page = self._desk.read(partial(read_waiting, waiting_id=waiting_ids[0]))
        except UserProblem as problem:
            self._desk.notices.warn(problem.sentence)
            return
        self._desk.jobs.start(
            _KEY, partial(_read, page), partial(self._take_reading, page), self._fail
        )

    def _take_reading(self, page: WaitingPage, reading: LogReading) -> None:
        if any(question.key != "start" for question in reading.questions):
            self.look_at(page)
        else:
            self._describe(page, reading)

    def look_at(self, page: WaitingPage) -> None:
        """Show the log with its questions and guesses, then go on to its firing."""
        sheet = WaitingLogImport(self._desk, page, self._over)
        sheet.settled.connect(partial(self._describe, page))
        self._open(sheet)

    def _describe(self, page: WaitingPage, reading: LogReading) -> None:
        sheet = DescribeWaiting(self._desk, page, reading, self._over)
        sheet.logged.connect(self.shown)
        sheet.look_asked.connect(lambda: self.look_at(page))
        self._open(sheet)

    def _fail(self, problem: Exception) -> None:
        if not isinstance(problem, UserProblem):
            raise problem
        self._desk.notices.warn(problem.sentence)

    def _say_logged(self, firing_ids: Sequence[int]) -> None:
        words = f"Logged {len(firing_ids)} firings from their logs."
        self._desk.notices.say(words, "Undo", self._desk.edits.undo)

    # Set aside

    def set_aside(self, waiting_ids: Sequence[int]) -> None:
        """These are no firings; undo or "Let it wait again" brings them back."""
        self._run("Set aside", "Set aside", set_aside_waiting, waiting_ids)

    def bring_back(self, waiting_ids: Sequence[int]) -> None:
        """Let them wait again."""
        self._run("Let wait again", "Waiting again:", bring_back_waiting, waiting_ids)

    def delete(self, waiting_ids: Sequence[int]) -> None:
        """Take them out of the journal; undo brings them back."""
        self._run("Delete", "Deleted", delete_waiting, waiting_ids)

    def _run(self, label: str, done: str, edit: object, waiting_ids: Sequence[int]) -> None:
        assert callable(edit)
        count = len(waiting_ids)
        logs = "a waiting log" if count == 1 else f"{count} waiting logs"
        if self._desk.edits.try_run(f"{label} {logs}", partial(edit, waiting_ids=waiting_ids)):
            told = "1 log" if count == 1 else f"{count} logs"
            self._desk.notices.say(f"{done} {told}.", "Undo", self._desk.edits.undo)

    def _show_number(self, number: int) -> None:
        firing_id = self._desk.read(partial(firing_of_number, number=number))
        if firing_id is not None:
            self.shown.emit(firing_id)

    def _open(self, sheet: QDialog) -> None:
        sheet.finished.connect(sheet.deleteLater)
        sheet.open()


def _read(page: WaitingPage, _progress: Progress) -> LogReading:
    return read_temperature_log(page.content, page.line.name)
