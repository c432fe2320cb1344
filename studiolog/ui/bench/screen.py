"""The bench: what was made, where each lot stands, and one line to say what was done."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from functools import partial
from typing import Any

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from studiolog.craft.words import STAGES
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import COLUMN_GAP, PAGE_MARGIN
from studiolog.journal.bench import BenchPage, BenchRow, read_bench
from studiolog.journal.bench_words import Reading
from studiolog.journal.runs import do_bench_line, find_again, move_pieces, single_out_one
from studiolog.problems import UserProblem
from studiolog.ui.bench.line import BenchLine
from studiolog.ui.bench.rows import (
    BAR_LEFT,
    DUE_WIDE,
    WORDS_LEFT,
    BenchList,
)
from studiolog.ui.bench.run_view import RunView
from studiolog.ui.bench.sheets import PackSheet, StartRunSheet
from studiolog.ui.bench.side import BenchSide
from studiolog.ui.parts.due import say_day
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import EmptyState, Hairline
from studiolog.ui.parts.text import Text

_FOLD_BELOW = 1200  # px; narrower, the side column stands under the rows
_SIDE_WIDE = 328
_ORDER = tuple(STAGES)


class BenchScreen(Screen):
    """Runs with work in hand; Enter opens one, in this screen."""

    kinds = frozenset({"run", "piece", "firing", "order", "form", "clay", "kiln"})
    title = "Bench"

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self.page: BenchPage | None = None
        self._run_id = 0  # the run shown as a page; 0 shows the bench
        self._chosen = 0
        self._folded: bool | None = None
        self._build()
        self._connect()

    def _build(self) -> None:
        self.heading = Text("On the bench", "title", 600)
        self.summary = Text("", "body", tone="ink2")
        self.every_run = QCheckBox("Finished runs too")
        self.start_button = QPushButton("Start a run")
        self.start_button.setToolTip("N")
        head = QHBoxLayout()
        head.setSpacing(16)
        head.addWidget(self.heading)
        head.addWidget(self.summary, 1, Qt.AlignmentFlag.AlignVCenter)
        head.addWidget(self.every_run)
        head.addWidget(self.start_button)
        self.line = BenchLine()
        self.columns = QWidget()
        self._name_columns()
        self.list = BenchList()
        self.empty = EmptyState(
            "Nothing on the bench. Start a run.",
            "A run is pieces of one form made together: twelve bowls thrown on Monday.",
            "Start a run",
        )
        self.quick_button = QPushButton("Quick log")
        holder = QWidget()
        empty_rows = QVBoxLayout(holder)
        empty_rows.setContentsMargins(0, 24, 0, 0)
        empty_rows.setSpacing(0)
        empty_rows.addWidget(self.empty)
        words = Text("A single piece is logged at once, with its glazes and photos.", tone="ink2")
        empty_rows.addWidget(words)
        empty_rows.addSpacing(8)
        empty_rows.addWidget(self.quick_button, 0, Qt.AlignmentFlag.AlignLeft)
        empty_rows.addSpacing(24)
        empty_rows.addWidget(Text("In a new journal, first name what you work with.", tone="ink2"))
        empty_rows.addSpacing(8)
        self.name_button = QPushButton("Name clays and glazes")
        self.name_button.setAccessibleName("Name clays and glazes")
        empty_rows.addWidget(self.name_button, 0, Qt.AlignmentFlag.AlignLeft)
        empty_rows.addStretch(1)
        self.rows_or_nothing = QStackedWidget()
        self.rows_or_nothing.addWidget(self.list)
        self.rows_or_nothing.addWidget(holder)
        main = QVBoxLayout()
        main.setContentsMargins(0, 16, 0, 8)
        main.setSpacing(8)
        main.addLayout(head)
        main.addWidget(self.line)
        main.addWidget(self.columns)
        main.addWidget(Hairline())
        main.addWidget(self.rows_or_nothing, 1)
        main.setSpacing(10)
        self._main = QWidget()
        self._main.setLayout(main)
        self.side = BenchSide(self.desk)
        self.side_view = QScrollArea()
        self.side_view.setWidgetResizable(True)
        self.side_view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.side_view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.side_view.setWidget(self.side)
        bench = QWidget()
        self._grid = QGridLayout(bench)
        self._grid.setContentsMargins(PAGE_MARGIN, 0, PAGE_MARGIN - 8, 0)
        self._grid.setHorizontalSpacing(COLUMN_GAP + 8)
        self._grid.setVerticalSpacing(0)
        self.run_view = RunView(self.desk)
        self.run_scroll = QScrollArea()
        self.run_scroll.setWidgetResizable(True)
        self.run_scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.run_scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.run_scroll.setWidget(self.run_view)
        self.stack = QStackedWidget()
        self.stack.addWidget(bench)
        self.stack.addWidget(self.run_scroll)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.stack)
        self._lay(False)

    def _name_columns(self) -> None:
        look = theme.current()
        row = QHBoxLayout(self.columns)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addSpacing(look.px(WORDS_LEFT))
        name = Text("Run of ware", "secondary", tone="ink2")
        name.setFixedWidth(look.px(BAR_LEFT - WORDS_LEFT))
        due = Text("Promised", "secondary", tone="ink2")
        due.setFixedWidth(look.px(DUE_WIDE) + 8)
        row.addWidget(name)
        row.addWidget(Text("Where the pieces are", "secondary", tone="ink2"), 1)
        row.addWidget(due)

    def _connect(self) -> None:
        self.every_run.toggled.connect(lambda _on: self.mark_stale())
        self.start_button.clicked.connect(lambda: self.start_run())
        self.empty.acted.connect(lambda: self.start_run())
        self.quick_button.clicked.connect(lambda: self.desk.show("quick_log"))
        self.name_button.clicked.connect(lambda: self.desk.show("glazes"))
        self.line.entered.connect(self.do_line)
        self.line.run_asked.connect(self.open_run)
        self.line.given_up.connect(self._to_rows)
        self.list.selectionModel().currentChanged.connect(self._hear_current)
        self.list.key_pressed.connect(self.do_key)
        self.list.link_opened.connect(self._open)
        self.side.opened.connect(self._open)
        self.run_view.left.connect(self.close_run)
        self.run_view.opened.connect(self._open)
        self.run_view.pack_asked.connect(self.pack)
        self.run_view.start_asked.connect(self.start_run)

    # Reading and showing

    def reload(self) -> None:
        """Read the bench, or the run that is open, anew."""
        if self._run_id:
            if self.run_view.read(self._run_id):
                self.stack.setCurrentIndex(1)
                return
            self._run_id = 0
        every = self.every_run.isChecked()
        self.show_page(self.desk.read(partial(read_bench, every_run=every)))

    def show_page(self, page: BenchPage) -> None:
        """Show the bench; the run chosen stays chosen."""
        self.page = page
        today = date.today()
        self.stack.setCurrentIndex(0)
        self.summary.setText(f"{say_day(today, today)}, {_sum_up(page)}")
        self.line.set_runs(page.run_words())
        self.every_run.setVisible(bool(page.runs_ever))
        self.list.show_bench(page.rows, today)
        self.columns.setVisible(bool(page.rows))
        self.rows_or_nothing.setCurrentIndex(0 if page.rows else 1)
        self.side.show_page(page, today)
        place = next((i for i, row in enumerate(page.rows) if row.run_id == self._chosen), 0)
        self.list.setCurrentIndex(self.list.model().index(place, 0))
        self._keep_stage()

    def show_thing(self, row_id: int, more: object = None) -> None:
        """Open a run; 0 shows the bench. ``more`` "start run" opens the sheet that starts one.

        A mapping ``{"start run": {...}}`` fills it: form_id, clay_id, how_many, order_line_id.
        """
        self._run_id = row_id
        self.mark_stale()
        if more == "start run":
            self.start_run()
        elif isinstance(more, Mapping) and "start run" in more:
            self.start_run(more["start run"])

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        if self._run_id:
            return ((("Esc",), "back to the bench"), (("Enter",), "change in place"))
        return (
            (("/",), "say what was done"),
            (("↑", "↓"), "run"),
            (("←", "→"), "stage"),
            (("[", "]"), "one piece a stage back, on"),
            (("X",), "lose"),
            (("S",), "single out"),
            (("K",), "put in a firing"),
            (("N",), "start a run"),
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._lay(event.size().width() < theme.current().px(_FOLD_BELOW))

    def _lay(self, folded: bool) -> None:
        if folded == self._folded:
            return
        self._folded = folded
        self._grid.removeWidget(self._main)
        self._grid.removeWidget(self.side_view)
        self._grid.addWidget(self._main, 0, 0)
        wide = theme.current().px(_SIDE_WIDE)
        if folded:
            self._grid.addWidget(self.side_view, 1, 0)
            self.side_view.setMinimumWidth(0)
            self.side_view.setMaximumWidth(16_777_215)
        else:
            self._grid.addWidget(self.side_view, 0, 1)
            self.side_view.setFixedWidth(wide)
        self._grid.setColumnStretch(0, 1)
        self._grid.setRowStretch(0, 2)
        self._grid.setRowStretch(1, 1 if folded else 0)

    # What a person does

    def current_row(self) -> BenchRow | None:
        """The run chosen on the bench."""
        return self.list.current_run()

    def do_line(self, reading: Reading) -> None:
        """Do what the bench line says, as one edit."""
        at = self.line.when()
        self._chosen = reading.run_id or self._chosen
        self.list.stage_of = None
        try:
            self.desk.edits.run(
                reading.label, partial(do_bench_line, reading=reading, at=at), asked_by=self
            )
        except UserProblem as problem:
            self.desk.notices.warn(problem.sentence)
            return
        self.line.line.clear()
        self.desk.notices.say(f"{reading.label}.", "Undo", self.desk.edits.undo)

    def do_key(self, what: str) -> None:
        """Do what a key asks for the run chosen."""
        row = self.current_row()
        if row is None:
            return
        stage = self.list.stage_of
        if what == "open":
            self.open_run(row.run_id)
        elif what in ("stage before", "stage after"):
            self._turn_stage(row, 1 if what == "stage after" else -1)
        elif stage is None:
            self.desk.notices.warn(f"Run {row.number} has no piece in hand.")
        elif what in ("on", "back"):
            self._move_one(row, stage, 1 if what == "on" else -1)
        elif what == "lose" and stage == "lost":
            self.desk.notices.warn("These are lost already. [ takes one back.")
        elif what == "lose":
            self.line.begin(f"{row.number} lost 1 {STAGES[stage]} ")
        elif what == "single":
            self._single_out(row, stage)
        elif what == "pack":
            self.pack(row, stage)

    def start_run(self, given: Mapping[str, Any] | None = None) -> None:
        """Open the sheet that starts a run."""
        sheet = StartRunSheet(self.desk, given, self)
        sheet.started.connect(self._show_started)
        sheet.open()

    def pack(self, row: BenchRow, stage: str) -> None:
        """Open the sheet that puts pieces into a firing."""
        PackSheet(self.desk, row, stage, self).open()

    def open_run(self, run_id: int) -> None:
        """Show the page of a run."""
        self.desk.show("run", run_id)

    def close_run(self) -> None:
        """Back to the bench, at the run one comes from."""
        self._chosen = self._run_id or self._chosen
        self.desk.show("bench", 0, "rows")
        if self._run_id:
            # Without a frame to answer, as in a window of its own.
            self.show_thing(0)
        self._to_rows()

    def _show_started(self, run_id: int) -> None:
        self._chosen = run_id
        self._run_id = 0
        self.list.stage_of = None
        self.mark_stale()
        self._to_rows()

    def _move_one(self, row: BenchRow, stage: str, step: int) -> None:
        at = datetime.now().replace(microsecond=0)
        if stage == "lost" and step < 0:
            label = f"Run {row.number}: 1 not lost after all"
            self.desk.edits.try_run(
                label, lambda session: find_again(session, row.run_id), asked_by=self
            )
            return
        place = _ORDER.index(stage) + step
        if stage == "lost":
            self.desk.notices.warn("What is lost goes no further. [ takes it back.")
            return
        if place < 0 or _ORDER[place] == "lost":
            end = "the first" if place < 0 else "the last"
            self.desk.notices.warn(f"{STAGES[stage].capitalize()} is {end} stage.")
            return
        to_stage = _ORDER[place]
        self.desk.edits.try_run(
            f"Run {row.number}: 1 {STAGES[stage]} {'on' if step > 0 else 'back'} to "
            f"{STAGES[to_stage]}",
            lambda session: move_pieces(session, row.run_id, stage, to_stage, 1, at),
            asked_by=self,
        )

    def _single_out(self, row: BenchRow, stage: str) -> None:
        try:
            piece_id, number = self.desk.edits.run(
                f"Single out a piece of run {row.number}",
                lambda session: single_out_one(session, row.run_id, stage),
                asked_by=self,
            )
        except UserProblem as problem:
            self.desk.notices.warn(problem.sentence)
            return
        self.desk.notices.say(f"It is piece {number} now.", "Undo", self.desk.edits.undo)
        self.desk.show("piece", piece_id)

    def _turn_stage(self, row: BenchRow, step: int) -> None:
        stages = [stage for stage in _ORDER if row.counts.get(stage)]
        if not stages:
            return
        now = self.list.stage_of
        place = stages.index(now) + step if now in stages else 0
        self.list.stage_of = stages[max(0, min(len(stages) - 1, place))]
        self.list.viewport().update()

    def _keep_stage(self) -> None:
        """The stage keys act on: as before while it has pieces, else the youngest."""
        row = self.current_row()
        now = self.list.stage_of
        if row is None or not (now and row.counts.get(now)):
            self.list.stage_of = row.youngest if row else None
        self.list.viewport().update()

    def _hear_current(self, index: QModelIndex, _before: QModelIndex) -> None:
        row = self.current_row()
        if index.isValid() and row is not None:
            if row.run_id != self._chosen:
                self._chosen = row.run_id
                self.list.stage_of = None
            self._keep_stage()

    def _open(self, kind: str, row_id: int) -> None:
        self.desk.show(kind, row_id)

    def _to_rows(self) -> None:
        self.list.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self._run_id and event.key() == Qt.Key.Key_Escape:
            self.close_run()
        elif event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
            super().keyPressEvent(event)
        elif event.key() == Qt.Key.Key_Slash and not self._run_id:
            self.line.line.setFocus(Qt.FocusReason.ShortcutFocusReason)
        elif event.key() == Qt.Key.Key_N:
            self.start_run()
        else:
            super().keyPressEvent(event)


def _sum_up(page: BenchPage) -> str:
    if not page.runs_in_hand:
        return "nothing in hand"
    pieces = "1 piece" if page.pieces_in_hand == 1 else f"{page.pieces_in_hand} pieces"
    runs = "1 run" if page.runs_in_hand == 1 else f"{page.runs_in_hand} runs"
    return f"{pieces} in {runs}"
