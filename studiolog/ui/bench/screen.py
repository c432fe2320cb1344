"""The bench: what was made, where each lot stands, and one line to say what was done."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QScrollArea, QStackedWidget, QVBoxLayout, QWidget

from studiolog.craft.words import STAGES
from studiolog.problems import UserProblem
from studiolog.ui.bench.board import FOOT, BenchBoard
from studiolog.ui.bench.wait_filter import ALL
from studiolog.ui.parts.screen import Screen

if TYPE_CHECKING:
    # The first screen stands before these are loaded.
    from studiolog.desktop.desk import Desk
    from studiolog.journal.bench import BenchPage
    from studiolog.journal.bench_actions import Reading
    from studiolog.journal.bench_rows import BenchRow
    from studiolog.journal.first_look import FirstLook
    from studiolog.ui.bench.run_view import RunView

_ORDER = tuple(STAGES)
_ROWS, _NOTHING, _NONE_WAIT, _UNREAD = range(4)  # what stands where the rows are


class BenchScreen(Screen):
    """Runs with work in hand; Enter opens one, in this screen."""

    kinds = frozenset(
        {"run", "piece", "firing", "order", "form", "clay", "kiln", "load", "glaze"}
        | {"limit", "studio"}
    )
    title = "Bench"

    def __init__(self, desk: "Desk | None", parent: QWidget | None = None) -> None:
        super().__init__(None, parent)
        self.page: BenchPage | None = None
        self._run_id = 0  # the run shown as a page; 0 shows the bench
        self._chosen = 0
        self._run_view: RunView | None = None
        self.board = BenchBoard()
        self.line, self.list = self.board.line, self.board.list
        self.start_button = self.board.start_button
        self.rows_or_nothing = self.board.rows_or_nothing
        self.stack = QStackedWidget()
        self.stack.addWidget(self.board)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.stack)
        if desk is None:
            self._stale = False  # there is nothing to read from
        else:
            self.take_up(desk)

    def look_ahead(self, first: "FirstLook") -> None:
        """Show the first rows, before there is a journal to read."""
        self.board.show_runs(first.rows)
        if first.whole:
            self.board.sum_up(sum(row.in_hand for row in first.rows), len(first.rows))

    def take_up(self, desk: "Desk") -> None:
        for _ in self.taking_up(desk):
            pass
        self._stale = True

    def taking_up(self, desk: "Desk", page: "BenchPage | None" = None) -> Iterator[None]:
        """Work with this desk, in steps that are each short; ``page`` is shown if it was read."""
        from studiolog.ui.bench.later import LaterReads
        from studiolog.ui.bench.side import BenchSide

        super().take_up(desk)
        self.side = BenchSide(desk)
        self.later = LaterReads(desk, self)
        self.rows_or_nothing.addWidget(self._say_how_to_begin())
        self.rows_or_nothing.addWidget(self._say_none_wait())
        self.rows_or_nothing.addWidget(self._say_unread())
        self._connect()
        yield
        if page is not None and not self.board.every_run.isChecked():
            chosen = self.current_row()
            self._chosen = chosen.run_id if chosen else 0
            self.side.hide_sections()
            self.side.show_page(page, date.today())
            yield
            self.show_page(page, at_once=False)
        self.board.side_view.setWidget(self.side)
        # Qt dresses what is shown for the first time: one section at a time.
        for _ in self.side.show_sections():
            yield

    def _say_how_to_begin(self) -> QWidget:
        from PySide6.QtWidgets import QPushButton

        from studiolog.ui.parts.section import EmptyState
        from studiolog.ui.parts.text import Text

        self.empty = EmptyState(
            "Nothing on the bench. Start a run.",
            "A run is pieces of one form made together: twelve bowls thrown on Monday.",
            "Start a run",
        )
        self.quick_button = QPushButton("Quick log")
        self.name_button = QPushButton("Name clays and glazes")
        self.name_button.setAccessibleName("Name clays and glazes")
        holder = QWidget()
        rows = QVBoxLayout(holder)
        rows.setContentsMargins(0, 24, 0, 0)
        rows.setSpacing(0)
        rows.addWidget(self.empty)
        rows.addWidget(
            Text("A single piece is logged at once, with its glazes and photos.", tone="ink2")
        )
        rows.addSpacing(8)
        rows.addWidget(self.quick_button, 0, Qt.AlignmentFlag.AlignLeft)
        rows.addSpacing(24)
        rows.addWidget(Text("In a new journal, first name what you work with.", tone="ink2"))
        rows.addSpacing(8)
        rows.addWidget(self.name_button, 0, Qt.AlignmentFlag.AlignLeft)
        rows.addStretch(1)
        return holder

    def _say_none_wait(self) -> QWidget:
        from studiolog.ui.parts.section import EmptyState

        self.none_wait = EmptyState("No run waits for this.", "", "Show every run")
        return _held(self.none_wait)

    def _say_unread(self) -> QWidget:
        from studiolog.ui.parts.section import ErrorState

        self.unread = ErrorState("The bench can't be read.", "Read it again")
        return _held(self.unread)

    @property
    def run_view(self) -> "RunView":
        """The page of a run, made when the first is opened."""
        if self._run_view is None:
            from studiolog.ui.bench.run_view import RunView

            view = self._run_view = RunView(self.desk)
            scroll = QScrollArea()
            scroll.setWidgetResizable(True)
            scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
            scroll.setWidget(view)
            self.stack.addWidget(scroll)
            view.left.connect(self.close_run)
            view.opened.connect(self._open)
            view.pack_asked.connect(self.pack)
            view.start_asked.connect(self.start_run)
        return self._run_view

    def _connect(self) -> None:
        self.board.every_run.toggled.connect(lambda _on: self.mark_stale())
        self.start_button.clicked.connect(lambda: self.start_run())
        self.empty.acted.connect(lambda: self.start_run())
        self.quick_button.clicked.connect(lambda: self.desk.show("quick_log"))
        self.name_button.clicked.connect(lambda: self.desk.show("glazes"))
        self.line.entered.connect(self.do_line)
        self.line.run_asked.connect(self.open_run)
        self.line.given_up.connect(self._to_rows)
        self.list.selectionModel().currentChanged.connect(self._hear_current)
        self.list.key_pressed.connect(self.do_key)
        self.list.dropped.connect(self._drop)
        self.board.filter.picked.connect(self._show_waiting)
        self.board.filter.left.connect(self._to_rows)
        self.none_wait.acted.connect(lambda: self.board.filter.pick(ALL))
        self.unread.acted.connect(self.reload)
        self.later.work_read.connect(self._show_facts)
        self.later.ahead_read.connect(self._show_ahead)
        self.later.done.connect(self._count_waiting)
        self.list.link_opened.connect(self._open)
        self.side.opened.connect(self._open)

    # Reading and showing

    def reload(self) -> None:
        """Read the bench, or the run that is open, anew."""
        if self._run_id:
            if self.run_view.read(self._run_id):
                self.stack.setCurrentIndex(1)
                return
            self._run_id = 0
        from studiolog.journal.bench import read_bench

        every = self.board.every_run.isChecked()
        try:
            page = self.desk.read(partial(read_bench, every_run=every))
        except UserProblem as problem:
            self.unread.set_sentence(problem.sentence)
            self.stack.setCurrentIndex(0)
            self.rows_or_nothing.setCurrentIndex(_UNREAD)
            return
        self.show_page(page)

    def show_page(self, page: "BenchPage", at_once: bool = True) -> None:
        """Show the bench; the run chosen stays chosen.

        ``at_once`` with what its runs wait for; else that comes in turns of its own.
        """
        self.page = page
        self._stale = False
        self.stack.setCurrentIndex(0)
        self.board.show_runs(page.rows, self._chosen)
        self.board.sum_up(page.pieces_in_hand, page.runs_in_hand)
        self.board.every_run.setVisible(bool(page.runs_ever))
        self.side.show_page(page, date.today())
        self._show_rows_or_nothing()
        self.later.begin(page.rows, self.board.seen_runs(), at_once)

    def _show_rows_or_nothing(self) -> None:
        none = self.page is None or not self.page.rows
        shown = _NOTHING if none else _ROWS if self.board.shown else _NONE_WAIT
        self.board.filter.setVisible(not none)
        self.rows_or_nothing.setCurrentIndex(shown)

    def _show_facts(self) -> None:
        later = self.later
        self.board.show_facts(later.work, later.windows, later.promises, datetime.now())

    def _show_ahead(self) -> None:
        self._show_facts()
        if self.later.leaving is not None:
            self.side.leaving.show_page(self.later.leaving)

    def _count_waiting(self) -> None:
        """All of the work is known: count it, and read typed lines by it."""
        from studiolog.journal.bench_work import count_waiting, words_of
        from studiolog.journal.glazes import read_glaze_names

        if self.page is None:
            return
        self.board.filter.show_counts(count_waiting(self.later.work.values()))
        self.line.set_runs(words_of(self.page.rows, self.later.work))
        self.line.set_glazes(self.desk.read(read_glaze_names))
        if self.board.filter.chosen != ALL:
            self._show_waiting(self.board.filter.chosen)

    def _show_waiting(self, waits: str) -> None:
        """Show the runs of which pieces wait for this."""
        from studiolog.journal.waiting_for import WAITING_FOR

        if waits != ALL:
            self.none_wait.set_sentence(f"No run waits for {WAITING_FOR[waits]} any more.")
            self.list.stage_of = None
        self.board.show_some(self._chosen)
        self._show_rows_or_nothing()

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
        return FOOT

    # What a person does

    def current_row(self) -> "BenchRow | None":
        """The run chosen on the bench."""
        return self.list.current_run()

    def do_line(self, reading: "Reading") -> None:
        """Do what the bench line says, as one edit."""
        from studiolog.journal.runs import do_bench_line

        at = self.line.when()
        self._chosen = reading.run_id or self._chosen
        self.list.stage_of = None
        try:
            self.desk.edits.run(reading.label, partial(do_bench_line, reading=reading, at=at))
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
        how_many = self.list.how_many(row, stage) if stage else 1
        self.list.set_count(None)
        if what == "open":
            self.open_run(row.run_id)
        elif what in ("stage before", "stage after"):
            self._turn_stage(row, 1 if what == "stage after" else -1)
        elif stage is None:
            self.desk.notices.warn(f"Run {row.number} has no piece in hand.")
        elif what in ("on", "back"):
            self._move_on(row, stage, 1 if what == "on" else -1, how_many)
        elif what == "lose" and stage == "lost":
            self.desk.notices.warn("These are lost already. [ takes one back.")
        elif what == "lose":
            self._begin_loss(row, stage, how_many)
        elif what == "single":
            self._single_out(row, stage)
        elif what == "pack":
            self.pack(row, stage, how_many if how_many > 1 else 0)

    def _begin_loss(self, row: "BenchRow", stage: str, how_many: int) -> None:
        """Ask for the cause in the line; without one nothing is lost."""
        self.line.begin(f"{row.number} lost {max(1, how_many)} {STAGES[stage]} ")

    def _drop(self, run_id: int, from_stage: str, to_stage: str, how_many: int) -> None:
        """A part of a bar was let go over another stage."""
        row = next((row for row in self.board.rows if row.run_id == run_id), None)
        if row is None:
            return
        self.list.set_count(None)
        if to_stage == "lost":
            self._begin_loss(row, from_stage, how_many)
        else:
            self._move(row, from_stage, to_stage, how_many)

    def start_run(self, given: Mapping[str, Any] | None = None) -> None:
        """Open the sheet that starts a run."""
        from studiolog.ui.bench.sheets import StartRunSheet

        sheet = StartRunSheet(self.desk, given, self)
        sheet.started.connect(self._show_started)
        sheet.open()

    def pack(self, row: "BenchRow", stage: str, how_many: int = 0) -> None:
        """Open the sheet that puts pieces into a firing; 0 are all that stand there."""
        from studiolog.ui.bench.sheets import PackSheet

        PackSheet(self.desk, row, stage, self, how_many).open()

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

    def _move_on(self, row: "BenchRow", stage: str, step: int, how_many: int) -> None:
        place = _ORDER.index(stage) + step
        if stage == "lost" and step < 0:
            self._find_again(row, how_many)
        elif stage == "lost":
            self.desk.notices.warn("What is lost goes no further. [ takes it back.")
        elif place < 0 or _ORDER[place] == "lost":
            end = "the first" if place < 0 else "the last"
            self.desk.notices.warn(f"{STAGES[stage].capitalize()} is {end} stage.")
        else:
            self._move(row, stage, _ORDER[place], how_many)

    def _move(self, row: "BenchRow", stage: str, to_stage: str, how_many: int) -> None:
        from studiolog.journal.runs import move_pieces

        at = datetime.now().replace(microsecond=0)
        on = _ORDER.index(to_stage) > _ORDER.index(stage)
        label = (
            f"Run {row.number}: {how_many} {STAGES[stage]} {'on' if on else 'back'} to "
            f"{STAGES[to_stage]}"
        )
        kept = self.desk.edits.try_run(
            label,
            lambda session: move_pieces(session, row.run_id, stage, to_stage, how_many, at),
        )
        if kept and how_many > 1:
            self.desk.notices.say(f"{label}.", "Undo", self.desk.edits.undo)

    def _find_again(self, row: "BenchRow", how_many: int) -> None:
        from studiolog.journal.runs import find_again

        self.desk.edits.try_run(
            f"Run {row.number}: {how_many} not lost after all",
            lambda session: [find_again(session, row.run_id) for _ in range(how_many)],
        )

    def _single_out(self, row: "BenchRow", stage: str) -> None:
        from studiolog.journal.runs import single_out_one

        try:
            piece_id, number = self.desk.edits.run(
                f"Single out a piece of run {row.number}",
                lambda session: single_out_one(session, row.run_id, stage),
            )
        except UserProblem as problem:
            self.desk.notices.warn(problem.sentence)
            return
        self.desk.notices.say(f"It is piece {number} now.", "Undo", self.desk.edits.undo)
        self.desk.show("piece", piece_id)

    def _turn_stage(self, row: "BenchRow", step: int) -> None:
        stages = [stage for stage in _ORDER if row.counts.get(stage)]
        if not stages:
            return
        now = self.list.stage_of
        place = stages.index(now) + step if now in stages else 0
        self.list.stage_of = stages[max(0, min(len(stages) - 1, place))]
        self.list.viewport().update()

    def _hear_current(self, index: QModelIndex, _before: QModelIndex) -> None:
        row = self.current_row()
        if index.isValid() and row is not None:
            if row.run_id != self._chosen:
                self._chosen = row.run_id
                self.list.stage_of = None
            self.board.keep_stage()

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
        elif event.key() == Qt.Key.Key_F and not self._run_id:
            self.board.filter.begin()
        elif event.key() == Qt.Key.Key_N:
            self.start_run()
        elif event.key() == Qt.Key.Key_H:
            self.side.leaving.ask_how_many()
        else:
            super().keyPressEvent(event)


def _held(state: QWidget) -> QWidget:
    """A sentence at the top of the room for the rows."""
    holder = QWidget()
    rows = QVBoxLayout(holder)
    rows.setContentsMargins(0, 24, 0, 0)
    rows.addWidget(state)
    rows.addStretch(1)
    return holder
