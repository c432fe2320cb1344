"""Firings: the list, and the page of one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QFileDialog, QStackedWidget, QVBoxLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.desktop.handed_over import local_paths
from studiolog.desktop.logger_watch import DESCRIBE
from studiolog.journal.compare import Comparing, read_comparison
from studiolog.journal.firing_page import (
    EarlierCurve,
    FiringPage,
    read_earlier_curves,
    read_firing_page,
)
from studiolog.journal.firings import delete_firing, remove_log
from studiolog.journal.limits import read_limits
from studiolog.problems import UserProblem
from studiolog.ui.firings.compare_view import CompareView
from studiolog.ui.firings.firing_sheet import FiringSheet
from studiolog.ui.firings.firing_table import FiringTable
from studiolog.ui.firings.firing_view import FiringView
from studiolog.ui.firings.left_out_reader import LeftOutReader
from studiolog.ui.firings.log_import import LogImport
from studiolog.ui.firings.typed_readings import TypedReadings
from studiolog.ui.firings.upkeep_line import UpkeepLine
from studiolog.ui.firings.waiting_section import WaitingSection
from studiolog.ui.firings.waiting_work import WaitingWork
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import ErrorState

_NO_FIRING = 0
_OF_WAITING = (DESCRIBE, "take in logs", "logger folders", "waiting")


class FiringsScreen(Screen):
    """``show_thing(id)`` shows a firing; 0 with "log firing" opens the sheet for a new one."""

    kinds = frozenset(
        {
            "firing", "firing_segment", "curve", "cone_pack", "cone_reading", "kiln", "kiln_level",
            "program", "placement", "piece", "form", "measurement", "inspection", "fault_reading",
            "picture", "run", "limit", "waiting",
        }
    )  # fmt: skip
    title = "Firings"

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._firing_id = _NO_FIRING
        self._meant: int | None = None
        self._page: FiringPage | None = None
        self._comparing: Comparing | None = None
        self._earlier: tuple[EarlierCurve, ...] = ()
        self._build()
        self._connect()

    def _build(self) -> None:
        self.table = FiringTable(self.desk)
        self.waiting = WaitingSection(self.desk)
        self.upkeep = UpkeepLine(self.desk)
        self.table.above.addWidget(self.upkeep)
        self.table.above.addWidget(self.waiting)
        self.waiting_work = WaitingWork(self.desk, self.waiting, self)
        self.setAcceptDrops(True)
        self.view = FiringView(self.desk)
        self.compare = CompareView(self.desk)
        self.error = ErrorState("", "All firings")
        self.stack = QStackedWidget()
        for part in (self.table, self.view, self.compare, self.error):
            self.stack.addWidget(part)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.addWidget(self.stack)
        self._left_out = LeftOutReader(self.desk, self)
        self._shortcuts: list[QShortcut] = []
        for keys, act in (
            ("A", self.log_firing),
            ("L", self.add_log),
            ("P", self.view.plot.toggle_earlier),
            ("Z", self._zoom_to_top),
            ("R", self.view.plot.toggle_as_logged),
            ("C", self._press_c),
        ):
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(act)
            self._shortcuts.append(shortcut)

    def _connect(self) -> None:
        self.table.opened.connect(self.show_thing)
        self.table.log_asked.connect(self.log_firing)
        self.table.compare_asked.connect(self.compare_firings)
        self.table.take_in_button.clicked.connect(
            lambda: self.waiting_work.offer(self.table.take_in_button)
        )
        self.waiting_work.shown.connect(self.show_thing)
        self.compare.firing_asked.connect(self.show_thing)
        self.compare.list_asked.connect(lambda: self.show_thing(_NO_FIRING))
        self.error.acted.connect(lambda: self.show_thing(_NO_FIRING))
        view = self.view
        view.log_asked.connect(self.add_log)
        view.typing_asked.connect(self.type_readings)
        view.change_asked.connect(self.change)
        view.remove_log_asked.connect(self.remove_log)
        view.delete_asked.connect(self.delete)
        view.list_asked.connect(lambda: self.show_thing(_NO_FIRING))
        view.firing_asked.connect(self.show_thing)
        view.compare_asked.connect(self.compare_firings)
        self._left_out.found.connect(self._show_left_out)
        self.desk.settings.changed.connect(self._hear_setting)

    # What is shown

    @property
    def page(self) -> FiringPage | None:
        """The firing shown, or None on the list."""
        return self._page

    def show_thing(self, row_id: int, more: object = None) -> None:
        """Show a firing, or the list for 0.

        ``more`` is "log firing" for the sheet, alone or with the program to be fired, "read by
        hand" to type a reading, a piece to point out in the load, or which firings to compare.
        """
        if isinstance(more, str) and more in _OF_WAITING:
            self._show_waiting(row_id, more)
            return
        self._meant = more if isinstance(more, int) else None
        self._comparing = more if isinstance(more, Comparing) else None
        if row_id != self._firing_id:
            self._firing_id = row_id
            self._earlier = ()
        self.mark_stale()
        self.foot_changed.emit()
        if more == "read by hand":
            QTimer.singleShot(0, self, self.view.live.stand_in)
        program_id = more[1] if isinstance(more, tuple) and more[0] == "log firing" else None
        if more == "log firing" or program_id is not None:
            # The frame is still showing this screen: the sheet comes when it stands.
            QTimer.singleShot(0, self, partial(self.log_firing, program_id))

    def _show_waiting(self, waiting_id: int, what: str) -> None:
        """Show the list, and over it what is asked of logs that come in."""
        self.show_thing(_NO_FIRING)
        acts: dict[str, Callable[[], object]] = {
            DESCRIBE: partial(self.waiting_work.describe, [waiting_id]),
            "take in logs": self.waiting_work.pick_folder,
            "logger folders": self.waiting_work.name_folders,
            "waiting": self.waiting.list.setFocus,
        }
        self.waiting.choose(waiting_id)
        # The frame is still showing this screen: the sheet comes when it stands.
        QTimer.singleShot(0, self, acts[what])

    def reload(self) -> None:
        """Read the list or the page anew."""
        if self._comparing is not None:
            self._page = None
            self._show_comparison(self._comparing)
            return
        if self._firing_id == _NO_FIRING:
            self._page = None
            self.table.read()
            self.waiting.read()
            self.upkeep.read()
            self.stack.setCurrentWidget(self.table)
            if not self.waiting.list.hasFocus():
                self.table.table.setFocus()
            return
        try:
            page = self.desk.read(partial(read_firing_page, firing_id=self._firing_id))
        except UserProblem as problem:
            # It was deleted, here or at another desk.
            self._page = None
            self.error.set_sentence(problem.sentence)
            self.stack.setCurrentWidget(self.error)
            return
        self.show_page(page)

    def compare_firings(self, asked: object) -> None:
        """Show firings over each other: what a list, a page or a menu asked for."""
        self.show_thing(_NO_FIRING, asked)

    def _show_comparison(self, asked: Comparing) -> None:
        try:
            comparison, limits = self.desk.read(
                lambda session: (read_comparison(session, asked), read_limits(session))
            )
        except UserProblem as problem:
            self.error.set_sentence(problem.sentence)
            self.stack.setCurrentWidget(self.error)
            return
        here = self.stack.currentWidget() is self.compare
        self.stack.setCurrentWidget(self.compare)
        self.compare.show_comparison(asked, comparison, limits)
        if not here:
            self.compare.list.setFocus(Qt.FocusReason.OtherFocusReason)

    def _zoom_to_top(self) -> None:
        comparing = self.stack.currentWidget() is self.compare
        (self.compare.plot if comparing else self.view.plot).zoom_to_top()

    def _press_c(self) -> None:
        """Read the cones on the page of a firing; compare those chosen in the list."""
        shown = self.stack.currentWidget()
        if shown is self.view:
            self.view.show_cones()
        elif shown is self.table:
            self.table.ask_compare()

    def show_page(self, page: FiringPage) -> None:
        """Show a firing; the curves of earlier ones come when the page stands."""
        page = self._left_out.fill(page)
        self._page = page
        known = {earlier.firing_id for earlier in self._earlier}
        wanted = {earlier.firing_id for earlier in page.earlier}
        self.stack.setCurrentWidget(self.view)
        self.view.show_page(page, self._earlier if known == wanted else (), self._meant)
        if wanted and known != wanted:
            QTimer.singleShot(0, self, partial(self._read_earlier, page.firing_id))
        self._left_out.look(page)

    def _show_left_out(self, firing_id: int) -> None:
        if self._page is not None and self._page.firing_id == firing_id:
            self.show_page(self._page)

    def _read_earlier(self, firing_id: int) -> None:
        page = self._page
        if page is None or page.firing_id != firing_id:
            return
        ids = [earlier.firing_id for earlier in page.earlier]
        self._earlier = self.desk.read(partial(read_earlier_curves, firing_ids=ids))
        self.view.show_earlier(self._earlier)

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        """Keys of the list, or of the page."""
        if self._comparing is not None:
            return (
                (("↑", "↓"), "firing"),
                (("Space",), "in or out"),
                (("Enter",), "open"),
                (("←", "→"), "cursor on the plot"),
                (("Z",), "zoom to top"),
                (("Esc",), "all firings"),
            )
        if self._firing_id == _NO_FIRING:
            return (
                (("↑", "↓"), "firing"),
                (("Enter",), "open"),
                (("Shift", "↓"), "choose more"),
                (("C",), "compare"),
                (("A",), "log a firing"),
            )
        return (
            (("←", "→"), "move cursor"),
            (("Shift", "←"), "next segment"),
            (("Esc",), "all firings"),
            (("P",), "earlier firings"),
            (("Z",), "zoom to top"),
            (("R",), "as logged"),
            (("C",), "read cones"),
            (("L",), "log file"),
            (("A",), "log a firing"),
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: what nothing on the page took. Esc leads back to the list."""
        if event.key() == Qt.Key.Key_Escape and self.stack.currentWidget() is not self.table:
            left = self._firing_id
            self.show_thing(_NO_FIRING)
            self.freshen()
            self.table.choose(left)
        else:
            super().keyPressEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Qt: folders and files of logs may be dropped on the list."""
        if self.stack.currentWidget() is self.table and local_paths(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Qt: take in what was dropped."""
        paths = local_paths(event.mimeData())
        if paths:
            event.acceptProposedAction()
            self.waiting_work.take_in([Path(path) for path in paths])

    def _hear_setting(self, key: str) -> None:
        if key == "temperature_unit":
            self.mark_stale()

    # What is done

    def log_firing(self, program_id: int | None = None) -> None:
        """Open the sheet for a new firing, of a program if one is named."""
        sheet = FiringSheet(self.desk, parent=self)
        if program_id is not None:
            sheet.take_program(program_id)
        sheet.logged.connect(self.show_thing)
        self._open(sheet)

    def change(self) -> None:
        """Open the sheet with the facts of the firing shown."""
        if self._page is None:
            return
        sheet = FiringSheet(self.desk, self._page, self)
        self._open(sheet)

    def add_log(self, path: object = None) -> None:
        """Read a log file, shown before anything is kept; without a path one is picked."""
        page = self._page
        if page is None:
            return
        if path is None:
            path, _kind = QFileDialog.getOpenFileName(
                self, f"Log of firing {page.number}", "", "Logs (*.csv *.tsv *.txt *.log);;All (*)"
            )
        if path:
            dialog = self.make_import(page)
            self._open(dialog)
            dialog.read_file(Path(str(path)))

    def make_import(self, page: FiringPage) -> LogImport:
        """The sheet in which a log file of this firing is looked at."""
        return LogImport(
            self.desk, (page.firing_id, page.number, page.started_at, page.atmosphere), self
        )

    def type_readings(self) -> None:
        """Type readings that were noted by hand."""
        if self._page is not None:
            self._open(TypedReadings(self.desk, self._page, self, running=self.view.live.runs))

    def remove_log(self) -> None:
        """Take the curve off the firing; undo brings it back."""
        page = self._page
        if page is not None:
            self.desk.edits.try_run(
                f"Take the log off firing {page.number}",
                partial(remove_log, firing_id=page.firing_id),
            )

    def delete(self) -> None:
        """Delete the firing shown; undo brings it back."""
        page = self._page
        if page is None:
            return
        label = f"Delete firing {page.number}"
        if self.desk.edits.try_run(label, partial(delete_firing, firing_id=page.firing_id)):
            self.show_thing(_NO_FIRING)
            self.desk.notices.say(f"Deleted firing {page.number}.", "Undo", self.desk.edits.undo)

    def _open(self, sheet: FiringSheet | LogImport | TypedReadings) -> None:
        sheet.finished.connect(sheet.deleteLater)
        sheet.open()
