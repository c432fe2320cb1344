"""The board of the bench: its head, the line, and the runs, with room for what stands beside them.

It needs no open journal, so that a window can show it before there is one; `BenchScreen` then takes
the very same board over.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
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

from studiolog.desktop import theme
from studiolog.desktop.tokens import COLUMN_GAP, PAGE_MARGIN
from studiolog.journal.bench_actions import RunWords
from studiolog.journal.bench_rows import BenchRow
from studiolog.ui.bench.line import BenchLine
from studiolog.ui.bench.rows import BAR_LEFT, WORDS_LEFT, BenchList, Facts, due_wide
from studiolog.ui.bench.scale_head import BESIDE, ScaleHead
from studiolog.ui.bench.wait_filter import ALL, WaitFilter
from studiolog.ui.parts.due import say_day
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Hairline
from studiolog.ui.parts.text import Text

if TYPE_CHECKING:
    # The first rows stand before these are loaded.
    from studiolog.journal.bench_work import RunWork
    from studiolog.journal.promises import RunPromise
    from studiolog.journal.working_time import Window

_FOLD_BELOW = 1200  # px; narrower, the side column stands under the rows
_SIDE_WIDE = 328
_NO_CHANCE = 0.01  # a promise below it is told on top

FOOT: tuple[tuple[tuple[str, ...], str], ...] = (
    (("/",), "say what was done"),
    (("↑", "↓"), "run"),
    (("←", "→"), "stage"),
    (("[", "]"), "one piece a stage back, on"),
    (("5", "A"), "so many, all"),
    (("F",), "waiting for"),
    (("X",), "lose"),
    (("S",), "single out"),
    (("K",), "put in a kiln"),
    (("N",), "start a run"),
    (("H",), "how many at once"),
)
"""What the keys do at the bench."""


class BenchBoard(QWidget):
    """The runs, and the room ``side_view`` beside them; folded, that stands under them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows: tuple[BenchRow, ...] = ()
        self.shown: tuple[BenchRow, ...] | None = None
        self.folded: bool | None = None
        self._day = date.today()
        self.heading = Text("On the bench", "title", 600)
        self.summary = Text("", "body", tone="ink2")
        self.every_run = QCheckBox("Finished runs too")
        self.start_button = QPushButton("Start a run")
        self.start_button.setToolTip("N")
        self.line = BenchLine()
        self.filter = WaitFilter()
        self.columns = self._name_columns()
        self.list = BenchList()
        self.list.resized.connect(self._fit_columns)
        self.rows_or_nothing = QStackedWidget()
        self.rows_or_nothing.addWidget(self.list)
        self.side_view = QScrollArea()
        self.side_view.setWidgetResizable(True)
        self.side_view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.side_view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._main = self._stack_up()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(PAGE_MARGIN, 0, PAGE_MARGIN - 8, 0)
        self._grid.setHorizontalSpacing(COLUMN_GAP + 8)
        self._grid.setVerticalSpacing(0)
        self._lay(False)

    def _stack_up(self) -> QWidget:
        head = QHBoxLayout()
        head.setSpacing(16)
        told = FlowLayout(spacing=16, line_spacing=0)
        told.addWidget(self.heading)
        told.addWidget(self.summary)
        self.standing = {
            "late": Text("", "secondary", 600, "rust"),
            "tight": Text("", "secondary", 600, "ochre"),
            "met": Text("", "secondary", 600, "celadon"),
        }
        for label in self.standing.values():
            label.hide()
            told.addWidget(label)
        head.addLayout(told, 1)
        head.addWidget(self.every_run)
        head.addWidget(self.start_button)
        held = QWidget()
        main = QVBoxLayout(held)
        main.setContentsMargins(0, 16, 0, 8)
        main.setSpacing(10)
        main.addLayout(head)
        # A promise that no likely future keeps is said in words, with the day it could be.
        self.unmet = Text("", "secondary", 600, "rust", wrap=True)
        self.unmet.hide()
        main.addWidget(self.unmet)
        main.addWidget(self.line)
        main.addWidget(self.filter)
        main.addWidget(self.columns)
        main.addWidget(Hairline())
        main.addWidget(self.rows_or_nothing, 1)
        return held

    def _name_columns(self) -> QWidget:
        look = theme.current()
        columns = QWidget()
        row = QHBoxLayout(columns)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addSpacing(look.px(WORDS_LEFT))
        name = Text("Run of ware", "secondary", tone="ink2")
        name.setFixedWidth(look.px(BAR_LEFT - WORDS_LEFT))
        self.scale_head = ScaleHead()
        row.addWidget(name)
        row.addWidget(Text("Where the pieces are", "secondary", tone="ink2"), 1)
        row.addWidget(self.scale_head)
        return columns

    def show_runs(self, rows: Sequence[BenchRow], chosen: int = 0) -> None:
        """Show these runs, that of the id ``chosen`` chosen, else the first."""
        self.rows = tuple(rows)
        self.line.set_runs([RunWords(row.run_id, row.number, row.counted) for row in rows])
        self.show_some(chosen)

    def show_some(self, chosen: int = 0) -> None:
        """Show those of the runs that wait for what is asked for; every run until that is known."""
        today = date.today()
        rows = tuple(row for row in self.rows if self._is_wanted(row))
        self.columns.setVisible(bool(rows))
        if rows != self.shown or today != self._day:
            # The same rows again would be painted anew for nothing, and their list jump.
            self.shown, self._day = rows, today
            self.list.show_bench(rows, today)
        place = next((place for place, row in enumerate(rows) if row.run_id == chosen), 0)
        self.list.setCurrentIndex(self.list.model().index(place, 0))
        self.keep_stage()

    def _is_wanted(self, row: BenchRow) -> bool:
        if self.filter.chosen == ALL or self.list.facts is None:
            return True
        work = self.list.facts.work.get(row.run_id)
        return work is None or work.waits_for(self.filter.chosen) > 0

    def show_facts(
        self,
        work: "Mapping[int, RunWork]",
        windows: "Mapping[int, Window]",
        promises: "Mapping[int, RunPromise]",
        now: datetime,
    ) -> None:
        """Show what was read of the rows meanwhile."""
        from studiolog.ui.bench.promise_line import axis_of_rows

        axis = axis_of_rows(now.date(), self.rows, promises.values()) if promises else None
        self.scale_head.show_axis(axis)
        self.list.show_facts(Facts(work, windows, now, promises, axis))
        self._say_promises(promises)

    def _say_promises(self, promises: "Mapping[int, RunPromise]") -> None:
        """How many promises are late, have no slack, are met; each in its own tone."""
        orders: dict[int, str] = {}
        worst = ("late", "tight", "met")
        for row in self.rows:
            promise = promises.get(row.run_id)
            if promise is None or row.order is None or promise.tone not in worst:
                continue
            before = orders.get(row.order.order_id, "met")
            orders[row.order.order_id] = min(before, promise.tone, key=worst.index)
        self._say_unmet(promises)
        for tone, label in self.standing.items():
            some = sum(kind == tone for kind in orders.values())
            words = {
                "late": f"{some} promise{'' if some == 1 else 's'} late",
                "tight": f"{some} with no slack",
                "met": f"{some} met",
            }
            label.setText(words[tone] if some else "")
            label.setVisible(bool(some))

    def _say_unmet(self, promises: "Mapping[int, RunPromise]") -> None:
        told: dict[int, str] = {}
        for row in self.rows:
            promise = promises.get(row.run_id)
            if promise is None or row.order is None or promise.promised_on is None:
                continue
            if promise.chance is None or promise.chance >= _NO_CHANCE:
                continue
            due = say_day(promise.promised_on, self._day)
            could = (
                f"{say_day(promise.middle_on, self._day)} could be met"
                if promise.middle_on
                else "no day within half a year could"
            )
            told[row.order.order_id] = (
                f"Order {row.order.number}: no likely kiln day meets {due}; {could}."
            )
        more = f" And {len(told) - 1} more like it." if len(told) > 1 else ""
        self.unmet.setText(next(iter(told.values()), "") + more)
        self.unmet.setVisible(bool(told) and not self.folded)

    def seen_runs(self) -> list[int]:
        """The ids of the runs that stand in sight, or are about to."""
        shown = self.shown or ()
        high = max(1, theme.current().px(self.list.row_high))
        first = self.list.verticalScrollBar().value() // high
        some = self.list.viewport().height() // high + 2
        return [row.run_id for row in shown[first : first + some]]

    def sum_up(self, pieces: int, runs: int) -> None:
        """Say how much is in hand."""
        self.summary.setText(f"{say_day(self._day, self._day)}, {_in_hand(pieces, runs)}")

    def keep_stage(self) -> None:
        """The stage keys act on: as before while it has pieces, else that of what is asked for,
        else the youngest."""
        row = self.list.current_run()
        now = self.list.stage_of
        if row is None or not (now and row.counts.get(now)):
            self.list.stage_of = self._stage_wanted(row) if row else None
        self.list.viewport().update()

    def _stage_wanted(self, row: BenchRow) -> str | None:
        work = self.list.facts.work.get(row.run_id) if self.list.facts else None
        if work is not None and self.filter.chosen != ALL:
            for lot in work.waiting:
                if lot.waits == self.filter.chosen:
                    return lot.stage
        return row.youngest

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._lay(event.size().width() < theme.current().px(_FOLD_BELOW))

    def _fit_columns(self) -> None:
        wide = self.list.viewport().width()
        self.scale_head.setFixedWidth(due_wide(wide) + BESIDE)
        self.columns.setContentsMargins(0, 0, max(0, self.list.width() - wide), 0)

    def _lay(self, folded: bool) -> None:
        if folded == self.folded:
            return
        self.folded = folded
        self.filter.set_compact(folded)
        self.line.set_legend(not folded)
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
        self._grid.setRowStretch(0, 3)
        self._grid.setRowStretch(1, 1 if folded else 0)


def _in_hand(pieces: int, runs: int) -> str:
    if not runs:
        return "nothing in hand"
    some = "1 piece" if pieces == 1 else f"{pieces} pieces"
    return f"{some} in {'1 run' if runs == 1 else f'{runs} runs'}"
