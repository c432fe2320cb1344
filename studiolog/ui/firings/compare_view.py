"""Firings compared: their curves over the median and the band, and where one of them differs."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from studiolog.craft.firing.compare import ALIGNMENTS, TakenCurve
from studiolog.craft.firing.cones import label_reached
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import parse_temperature, show_number, show_temperature
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.jobs import Progress
from studiolog.desktop.tokens import ANY_WIDTH
from studiolog.journal.compare import ComparedFiring, Comparing, Comparison
from studiolog.problems import UserProblem
from studiolog.ui.firings.compare_figures import CompareFigures
from studiolog.ui.firings.compare_list import CompareList, CompareRow
from studiolog.ui.firings.compare_reading import TakenFirings, Told, take_firings, tell_firings
from studiolog.ui.firings.compare_words import lines_of, say_also, say_group, say_told, usual_cone
from studiolog.ui.firings.written import write_heat, write_stamp
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import EmptyState, ErrorState, PageTitle, Section
from studiolog.ui.parts.text import Caption, Text
from studiolog.ui.plots.compare_plot import ComparePlot
from studiolog.ui.plots.plot_ticks import Unit, shown_temperature

_SIDE = 394
_UNDER = 1200
"""Narrower than this the side column goes under the plot."""
_TAKING, _TELLING = "compare firings", "lay firings together"
_AT_ONCE = 400
"""So many curves are laid together at once; more on a thread of their own."""
_FIRST_LEVEL_C = 1000.0
_HOTTEST_C = 1450.0


class CompareView(QWidget):
    """Any number of firings over each other. It edits nothing; a firing is opened by a signal."""

    firing_asked = Signal(int)
    list_asked = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._limits: Limits = SHIPPED
        self._unit: Unit = desk.settings.temperature_unit
        self._asked: Comparing | None = None
        self._firings: dict[int, ComparedFiring] = {}
        self._taken = TakenFirings({}, {})
        self._told: Told | None = None
        self._out: set[int] = set()
        self._chosen: int | None = None
        self._keep_row = False
        self._by = "start"
        self._level_c = _FIRST_LEVEL_C
        self._build()
        self._connect()

    def _build(self) -> None:
        self.title = PageTitle("")
        self.all_firings = QPushButton("All firings")
        self.open_chosen = QPushButton("Open firing")
        for button in (self.open_chosen, self.all_firings):
            button.setAccessibleName(button.text())
            self.title.add_action(button)
        self.said = Text("", "head", wrap=True)
        self.also = Text("", "body", tone="ink2", wrap=True)
        self.plot = ComparePlot()
        self.plot.set_unit(self._unit)
        self.group = Caption("", "ink3", wrap=True)
        self.by = SegmentedChoice(
            "Lay together by", [Choice(key, words) for key, words in ALIGNMENTS.items()]
        )
        self.by.choose(self._by)
        self.level = LineField("Temperature to lay together by")
        self.level.label.hide()
        self.level_unit = Text("", "secondary", tone="ink3")
        self.level.line.setFixedWidth(theme.current().px(80))
        self.align = QWidget()
        row = FlowLayout(self.align, spacing=12, line_spacing=8)
        self._by_words = Text("Lay together by", "secondary", tone="ink2")
        for widget in (self._by_words, self.by, self.level, self.level_unit):
            row.addWidget(widget)
        self.list = CompareList()
        self.listed = Section("Firings", link="Take all in")
        self.listed.add(self.list, 1)
        self.figures = CompareFigures()
        self.main = QWidget()
        left = QVBoxLayout(self.main)
        left.setContentsMargins(0, 0, 0, 0)
        left.setSpacing(8)
        for part in (self.said, self.also, self.align):
            left.addWidget(part)
        left.addWidget(self.plot, 1)
        left.addWidget(self.group)
        self.side = QWidget()
        side = QVBoxLayout(self.side)
        side.setContentsMargins(0, 0, 0, 0)
        side.setSpacing(12)
        side.addWidget(self.listed, 1)
        side.addWidget(self.figures)
        self.body = QWidget()
        self.columns = QBoxLayout(QBoxLayout.Direction.LeftToRight, self.body)
        self.columns.setContentsMargins(0, 0, 0, 0)
        self.columns.setSpacing(24)
        self.columns.addWidget(self.main, 1)
        self.columns.addWidget(self.side)
        self.empty = EmptyState(
            "No firing to compare.",
            "Log some firings first; those with a log or typed readings have a curve.",
            "See all firings",
        )
        self.trouble = ErrorState("", "See the list of firings")
        page = QWidget()
        rows = QVBoxLayout(page)
        rows.setContentsMargins(32, 0, 32, 16)
        rows.setSpacing(0)
        rows.addWidget(self.title)
        for state in (self.body, self.empty, self.trouble):
            rows.addWidget(state, 1)
        self.scroller = QScrollArea()
        self.scroller.setWidgetResizable(True)
        self.scroller.setFrameShape(QScrollArea.Shape.NoFrame)
        self.scroller.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroller.setWidget(page)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.scroller)
        self._write_level()
        self._show_level()
        self._show_state(self.body)

    def _connect(self) -> None:
        self.all_firings.clicked.connect(self.list_asked)
        self.empty.acted.connect(self.list_asked)
        self.trouble.acted.connect(self.list_asked)
        self.open_chosen.clicked.connect(self._open_chosen)
        self.by.picked.connect(self.align_by)
        self.level.edited.connect(self._take_level)
        self.plot.picked.connect(self.choose)
        self.list.picked.connect(self.choose)
        self.list.opened.connect(self.firing_asked)
        self.list.toggled.connect(self.toggle)
        self.listed.link_opened.connect(self.take_all_in)
        self._desk.jobs.progressed.connect(self._hear_progress)
        theme.current().changed.connect(self._lay_out)

    # Showing

    def show_comparison(self, asked: Comparing, comparison: Comparison, limits: Limits) -> None:
        """Show these firings; the curves are drawn when they are read."""
        fresh = asked != self._asked
        if fresh:
            self._asked, self._out, self._chosen = asked, set(), None
            self._keep_row = False
            self.plot.show_lines(type(self.plot.lines)())
        unit = self._desk.settings.temperature_unit
        if unit != self._unit:
            self._unit = unit
            self.plot.set_unit(unit)
            self._write_level()
        self.title.set_title(comparison.heading, comparison.words)
        before = self._firings
        self._firings = {one.firing_id: one for one in comparison.firings}
        if self._chosen not in self._firings:
            self._chosen = comparison.chosen
        if not self._firings:
            self._show_state(self.empty)
            return
        self._show_state(self.body)
        known = {
            ident: curve
            for ident, curve in self._taken.curves.items()
            if limits == self._limits
            and ident in before
            and ident in self._firings
            and _same_curve(before[ident], self._firings[ident])
        }
        self._limits = limits
        self._told = None
        self._take(known)

    def _take(self, known: dict[int, TakenCurve]) -> None:
        for key in (_TAKING, _TELLING):
            self._desk.jobs.cancel(key)
        firings, limits = tuple(self._firings.values()), self._limits

        def work(progress: Progress) -> TakenFirings:
            def step(done: int, total: int) -> bool:
                if done % 20 == 0:
                    progress.step(done, total)
                return progress.cancelled()

            return take_firings(firings, limits, known, step)

        curved = [one for one in firings if one.packed is not None]
        if all(one.firing_id in known for one in curved):
            self._arrive(take_firings(firings, limits, known, lambda _done, _total: False))
            return
        self._taken = TakenFirings({}, {})
        self.plot.set_empty(f"Reading {_curves(len(curved))}")
        self._show_rows()
        self._desk.jobs.start(_TAKING, work, self._arrive, self._fail)

    def _hear_progress(self, key: str, done: int, total: int, _what: str) -> None:
        if key == _TAKING and done:
            self.plot.set_empty(f"Reading {_curves(total)}: {done} done")

    def _arrive(self, taken: TakenFirings) -> None:
        self._taken = taken
        self._tell(fresh=True)

    def _fail(self, problem: Exception) -> None:
        if not isinstance(problem, UserProblem):
            self.trouble.set_sentence("The curves could not be laid together.")
            self._show_state(self.trouble)
            raise problem
        self.trouble.set_sentence(problem.sentence)
        self._show_state(self.trouble)

    def _tell(self, fresh: bool = False) -> None:
        """Lay together what is taken in, and tell the chosen one from its group."""
        self._desk.jobs.cancel(_TELLING)  # what it would bring is out of date
        curves = [c for ident, c in self._taken.curves.items() if ident not in self._out]
        if not curves:
            self._told = None
            self._show_told(fresh)
            return
        by, chosen, limits, before = self._by, self._chosen, self._limits, self._told
        level = self._level_c if by == "passing" else None
        group = self._group_of(chosen, [one.key for one in curves])

        def work(_progress: Progress | None = None) -> Told:
            return tell_firings(curves, group, chosen, by, level, limits, before)

        def done(told: Told) -> None:
            self._told = told
            self._show_told(fresh)

        if len(curves) <= _AT_ONCE:
            done(work())
        else:
            self._desk.jobs.start(_TELLING, work, done, self._fail)

    def _group_of(self, chosen: int | None, keys: Iterable[int]) -> frozenset[int]:
        """Those of the chosen one's program, if they are enough for a band; else all."""
        ids = frozenset(keys)
        own = self._firings[chosen].program_id if chosen in ids and chosen else None
        if own is None:
            return ids
        alike = frozenset(one for one in ids if self._firings[one].program_id == own)
        return alike if len(alike) >= self._limits["compare_band"] else ids

    def _show_told(self, fresh: bool) -> None:
        told = self._told
        if told is not None and told.chosen is not None and self._chosen not in told.laid.keys:
            self._chosen = told.chosen
        if told is None or not told.laid.keys:
            self.plot.show_lines(type(self.plot.lines)())
            self.plot.set_empty(self._why_empty())
        else:
            moment = _moment(self._by, self._level_c, self._unit)
            lines = lines_of(told, self._firings, moment)
            self.plot.show_lines(lines, keep_view=not fresh)
        self.said.setText(say_told(told, self._firings, self._unit))
        self.also.setText(say_also(told, self._unit))
        self.also.setVisible(bool(self.also.text()))
        self.said.setVisible(bool(self.said.text()))
        self.group.setText(say_group(told, self._firings, self._limits))
        self.group.setVisible(bool(self.group.text()))
        self._show_figures(told)
        self._show_rows()
        chosen = self._firings.get(self._chosen or 0)
        self.open_chosen.setVisible(chosen is not None)
        if chosen is not None:
            self.open_chosen.setText(f"Open firing {chosen.number}")
            self.open_chosen.setAccessibleName(self.open_chosen.text())
        self.title.arrange()

    def _why_empty(self) -> str:
        if self._told is not None:
            return "None of these firings came to that temperature"
        if self._taken.curves:
            return "Take a firing in: Space, or a click on its box"
        return "None of these firings has a curve yet: add a log file or type readings"

    def _show_figures(self, told: Told | None) -> None:
        chosen = told.chosen if told is not None else None
        self.figures.setVisible(chosen is not None)
        if told is None or chosen is None:
            return
        firing = self._firings[chosen]
        if told.against is not None:
            other = self._firings[told.against]
            usual_name, cone = f"firing {other.number}", other.cone
        else:
            usual_name = f"median of {len(told.group)}"
            cone = usual_cone([self._firings[one].cone for one in told.group])
        self.figures.show_figures(
            f"firing {firing.number}",
            self._taken.curves[chosen].figures,
            usual_name,
            told.usual,
            (firing.cone, cone),
            (
                "" if firing.cone is None else label_reached(firing.cone),
                "" if cone is None else label_reached(cone),
            ),
            self._unit,
        )

    def _show_rows(self) -> None:
        told = self._told
        never = dict(told.laid.left_out) if told is not None else {}
        rows: list[CompareRow] = []
        for one in self._firings.values():
            ident = one.firing_id
            why = self._taken.why_not.get(ident) or never.get(ident, "")
            curve = self._taken.curves.get(ident)
            peak = f", peak {write_heat(curve.figures.peak_c, self._unit)}" if curve else ""
            rows.append(
                CompareRow(
                    ident,
                    one.number,
                    one.title,
                    f"{write_stamp(one.started_at).rsplit(' ', 1)[0]}{peak}",
                    ident not in self._out and not why,
                    ident == self._chosen and not why,
                    why,
                )
            )
        # Those that can't be shown stand last, so that what is compared is seen together.
        rows.sort(key=lambda row: row.firing_id in self._taken.why_not)
        self.list.show_firings(rows, keep_place=self._keep_row)
        shown = sum(row.taken_in for row in rows)
        self.listed.set_quiet(f"{shown} of {len(rows)}")
        self.listed.set_link("Take all in" if self._out else "")

    # What is done

    def choose(self, firing_id: int) -> None:
        """Make a firing the one that stands out."""
        if firing_id != self._chosen and firing_id in self._taken.curves:
            self._chosen = firing_id
            self._keep_row = False
            self._tell()

    def toggle(self, firing_id: int) -> None:
        """Leave a firing out, or take it in again."""
        self._out ^= {firing_id}
        self._keep_row = True  # the next keys are for its neighbours
        self._tell()

    def take_all_in(self) -> None:
        """Take in every firing that has a curve."""
        self._out.clear()
        self._tell()

    def align_by(self, by: object) -> None:
        """Lay the curves together by another moment."""
        self._by = str(by)
        self._show_level()
        self._tell(fresh=True)

    def _take_level(self, text: str) -> None:
        try:
            level_c = parse_temperature(text, self._unit)
            if not 0.0 < level_c < _HOTTEST_C:
                most = show_temperature(_HOTTEST_C, self._unit)
                raise UserProblem(f"Type a temperature between 0 and {most}.")
        except UserProblem as problem:
            self.level.set_problem(problem.sentence)
            return
        self._level_c = level_c
        self._tell(fresh=True)

    def _write_level(self) -> None:
        self.level.set_text(show_number(shown_temperature(self._level_c, self._unit)))
        self.level_unit.setText(f"°{self._unit}")

    def _show_level(self) -> None:
        for part in (self.level, self.level_unit):
            part.setVisible(self._by == "passing")

    def _open_chosen(self) -> None:
        if self._chosen is not None:
            self.firing_asked.emit(self._chosen)

    # Room

    def _show_state(self, state: QWidget) -> None:
        for part in (self.body, self.empty, self.trouble):
            part.setVisible(part is state)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        px = theme.current().px
        under = self.width() < px(_UNDER)
        way = QBoxLayout.Direction.TopToBottom if under else QBoxLayout.Direction.LeftToRight
        self.columns.setDirection(way)
        self.level.line.setFixedWidth(px(80))
        if under:
            self.side.setMinimumWidth(0)
            self.side.setMaximumWidth(ANY_WIDTH)
            self.plot.setMinimumHeight(max(px(360), min(self.height() - px(160), px(700))))
            self.list.setMinimumHeight(px(44) * 6)
        else:
            self.side.setFixedWidth(px(_SIDE))
            self.plot.setMinimumHeight(360)
            self.list.setMinimumHeight(px(44) * 3)


def _same_curve(one: ComparedFiring, other: ComparedFiring) -> bool:
    return one.typed == other.typed and one.packed == other.packed


def _curves(count: int) -> str:
    return "1 curve" if count == 1 else f"{count} curves"


def _moment(by: str, level_c: float, unit: Unit) -> str:
    if by == "passing":
        return show_temperature(level_c, unit)
    return {"start": "start", "peak": "peak", "leaving": "end of the hold"}[by]
