"""The page of one firing: the plot at the left, what was read and loaded at the right."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import (
    QAction,
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QBoxLayout,
    QHBoxLayout,
    QMenu,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from studiolog.craft.firing.program import Segment
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.handed_over import local_paths
from studiolog.desktop.tokens import ANY_WIDTH
from studiolog.journal.compare import compare_choices
from studiolog.journal.firing_log import TYPED
from studiolog.journal.firing_page import EarlierCurve, FiringPage
from studiolog.journal.raw_log import IN_THE_FILE
from studiolog.ui.firings.cones_section import ConesSection
from studiolog.ui.firings.figures_section import FiguresSection
from studiolog.ui.firings.heat_section import HeatworkSection
from studiolog.ui.firings.live_readings import LiveReadings
from studiolog.ui.firings.load_section import LoadSection
from studiolog.ui.firings.photos_section import PhotosSection
from studiolog.ui.firings.plot_of_page import plot_of_page
from studiolog.ui.firings.program_section import ProgramSection
from studiolog.ui.firings.segments_section import SegmentsSection
from studiolog.ui.firings.words_section import WordsSection
from studiolog.ui.firings.written import write_span
from studiolog.ui.parts.firing_paper import on_print, open_sheet_of_firing
from studiolog.ui.parts.icon import give_icon
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import PageTitle, link_button
from studiolog.ui.parts.text import Caption, Text
from studiolog.ui.plots.firing_plot import FiringPlot
from studiolog.ui.plots.plot_ticks import Unit

_SIDE = 394
_UNDER = 1200
"""Narrower than this the right column goes under the plot."""
_RUNS = 4


class FiringView(QWidget):
    """What is asked of the page goes out as signals; its sections keep their own edits."""

    log_asked = Signal(object)
    typing_asked = Signal()
    change_asked = Signal()
    remove_log_asked = Signal()
    delete_asked = Signal()
    list_asked = Signal()
    firing_asked = Signal(int)
    compare_asked = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._page: FiringPage | None = None
        self._earlier: tuple[EarlierCurve, ...] = ()
        self._unit: Unit = desk.settings.temperature_unit
        self.setAcceptDrops(True)
        # The page itself takes the arrows for its plot, so that no ring stands round it at once.
        # It is where the Tab key starts from, and no stop of its own.
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self._build()
        self._connect()

    def _build(self) -> None:
        px = theme.current().px
        self.title = PageTitle("")
        self.mark = NumberMark("firing", None, None, 48)
        self.title.set_mark(self.mark)
        self.add_log = QPushButton("Add log file")
        self.read_cones = QPushButton("Read cones")
        self.more = QPushButton("More")
        self.previous = QPushButton("")
        self.following = QPushButton("")
        give_icon(self.previous, "arrow_left", "ink2", 14)
        give_icon(self.following, "arrow_right", "ink2", 14)
        self.following.setLayoutDirection(Qt.LayoutDirection.RightToLeft)
        self.menu = QMenu(self)
        self.as_logged = QAction("Show readings as logged", self, checkable=True)
        self.more.setMenu(self.menu)
        for button in (
            self.add_log, self.read_cones, self.more, self.previous, self.following
        ):  # fmt: skip
            button.setAccessibleName(button.text())
            self.title.add_action(button)
        self.plot = FiringPlot()
        self.empty = QWidget()
        empty = QHBoxLayout(self.empty)
        empty.setContentsMargins(0, 0, 0, 0)
        empty.setSpacing(16)
        self.drop_link = link_button("Add a log file")
        self.type_link = link_button("Type readings")
        empty.addWidget(Text("No log yet: drop a file or type readings.", tone="ink2"))
        empty.addWidget(self.drop_link)
        empty.addWidget(self.type_link)
        empty.addStretch(1)
        self.live = LiveReadings(self._desk)
        self.log_line = Caption("", "ink3", wrap=True)
        self.figures = FiguresSection(self._desk)
        self.cones = ConesSection(self._desk)
        self.load = LoadSection(self._desk)
        self.heat = HeatworkSection()
        self.program = ProgramSection(self._desk)
        self.steps = SegmentsSection()
        self.words = WordsSection(self._desk)
        self.photos = PhotosSection(self._desk)
        self.left = QVBoxLayout()
        self.left.setSpacing(16)
        for part in (self.live, self.plot, self.empty, self.log_line, self.steps):
            self.left.addWidget(part)
        below = QHBoxLayout()
        below.setSpacing(24)
        told = QVBoxLayout()
        told.setSpacing(16)
        told.addWidget(self.words)
        told.addWidget(self.photos)
        told.addStretch(1)
        below.addWidget(self.program, 1, Qt.AlignmentFlag.AlignTop)
        below.addLayout(told, 1)
        self.left.addLayout(below)
        self.left.addStretch(1)
        self.side = QWidget()
        side = QVBoxLayout(self.side)
        side.setContentsMargins(0, 0, 0, 0)
        side.setSpacing(12)
        for section in (self.figures, self.cones, self.load, self.heat):
            side.addWidget(section)
        side.addStretch(1)
        body = QWidget()
        page = QVBoxLayout(body)
        page.setContentsMargins(32, 0, 22, 24)  # the bar takes the rest
        page.setSpacing(0)
        page.addWidget(self.title)
        self.columns = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self.columns.setContentsMargins(0, 0, 0, 0)
        page.addLayout(self.columns, 1)
        self.columns.setSpacing(24)
        self.columns.addLayout(self.left, 1)
        self.columns.addWidget(self.side)
        self.scroller = QScrollArea()
        self.scroller.setWidgetResizable(True)
        self.scroller.setFrameShape(QScrollArea.Shape.NoFrame)
        self.scroller.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroller.setWidget(body)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.addWidget(self.scroller, 1)
        self.side.setFixedWidth(px(_SIDE))

    def _connect(self) -> None:
        self.add_log.clicked.connect(lambda: self.log_asked.emit(None))
        self.drop_link.clicked.connect(lambda: self.log_asked.emit(None))
        self.type_link.clicked.connect(self.typing_asked)
        self.live.all_asked.connect(self.typing_asked)
        on_print(self, self._print_sheet)
        self.read_cones.clicked.connect(self._turn_cones)
        self.previous.clicked.connect(lambda: self._go("previous"))
        self.following.clicked.connect(lambda: self._go("following"))
        self.program.typed.connect(self._redraw_typed)
        self.steps.step_asked.connect(self._show_step)
        self.plot.cursor_moved.connect(self._mark_step)
        self.as_logged.triggered.connect(self.plot.set_as_logged)
        self.plot.as_logged_changed.connect(self.as_logged.setChecked)
        theme.current().changed.connect(self._lay_out)

    # Showing

    def show_page(
        self, page: FiringPage, earlier: tuple[EarlierCurve, ...], meant: int | None = None
    ) -> None:
        """Show a firing; ``earlier`` are the curves of its program before it."""
        same = self._page is not None and self._page.firing_id == page.firing_id
        old, self._page, self._earlier = self._page, page, earlier
        unit = self._desk.settings.temperature_unit
        self._show_title(page)
        drawn_before = same and old is not None and _same_plot(old, page) and unit == self._unit
        self._unit = unit
        if not drawn_before:
            self.plot.set_unit(unit)
            self.plot.show_firing(plot_of_page(page, unit, None, earlier))
        self.live.show_page(page, unit)
        self._lay_out()
        self.figures.show_page(page, unit, earlier)
        self.cones.show_page(page)
        self.load.show_page(page, meant)
        self.heat.show_page(page, unit)
        self.program.show_page(page, unit)
        self.steps.show_page(page, unit)
        self.words.show_page(page)
        self.photos.show_page(page)
        self.empty.setVisible(page.main_curve is None)
        self._show_log_line(page)
        if not same:
            self.scroller.verticalScrollBar().setValue(0)
            self.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_earlier(self, earlier: tuple[EarlierCurve, ...]) -> None:
        """The curves of earlier firings have come."""
        page = self._page
        self._earlier = earlier
        if page is not None and earlier:
            self.plot.show_firing(plot_of_page(page, self._unit, None, earlier))
            self.figures.show_page(page, self._unit, earlier)

    def show_cones(self) -> None:
        """Read the cones: their lines are shown, and one stands in the first.

        They stay when the page turns to another firing, so asking for them never hides them: what
        is typed next is a bend, and must not fall on the page as commands.
        """
        self.cones.set_reading(True)
        self.scroller.ensureWidgetVisible(self.cones)

    def _turn_cones(self) -> None:
        if self.cones.reading:
            self.cones.set_reading(False)
        else:
            self.show_cones()

    def _show_title(self, page: FiringPage) -> None:
        self.mark.set_number(page.number)
        self.setAccessibleName(f"Firing {page.number}: {page.heading}")
        count = len(page.pieces)
        words = f"{page.kiln_name}, {write_span(page.started_at, page.ended_at)}"
        words += f", {count} piece{'' if count == 1 else 's'}" if count else ", no pieces yet"
        runs = page.runs
        if runs:
            words += " from run" if len(runs) == 1 else " from runs"
        self.title.set_title(page.heading, words)
        while (item := self.title.facts.takeAt(1)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        for run_id, number in runs[:_RUNS]:
            mark = NumberMark("run", number, run_id)
            mark.opened.connect(self._desk.show)
            self.title.facts.addWidget(mark)
        if len(runs) > _RUNS:
            self.title.facts.addWidget(Caption(f"and {len(runs) - _RUNS} more"))
        for button, neighbour, way in (
            (self.previous, page.previous, "before"),
            (self.following, page.following, "after"),
        ):
            button.setVisible(neighbour is not None)
            if neighbour is not None:
                button.setText(str(neighbour.number))
                button.setAccessibleName(f"Firing {neighbour.number}, the one {way}")
        self.add_log.setText("Add log file" if page.main_curve is None else "New log file")
        self.add_log.setAccessibleName(self.add_log.text())
        self._fill_menu(page)
        self.title.arrange()

    def _fill_menu(self, page: FiringPage) -> None:
        self.menu.clear()
        self.menu.addAction("Change …").triggered.connect(lambda: self.change_asked.emit())
        self.menu.addAction("Type readings …").triggered.connect(self.typing_asked)
        self.menu.addAction("Print a firing sheet …").triggered.connect(self._print_sheet)
        keep = self.menu.addAction("Keep as a program …")
        keep.setEnabled(bool(page.segments))
        keep.triggered.connect(self._ask_program_name)
        self.menu.addAction(self.as_logged)
        self.as_logged.setEnabled(page.main_curve is not None)
        compare = self.menu.addMenu("Compare with …")
        for words, asked in compare_choices(page.firing_id, page.program_id, page.cone):
            compare.addAction(words).triggered.connect(partial(self.compare_asked.emit, asked))
        remove = self.menu.addAction("Take the log off")
        remove.setEnabled(page.main_curve is not None)
        remove.triggered.connect(self.remove_log_asked)
        self.menu.addSeparator()
        self.menu.addAction("All firings").triggered.connect(self.list_asked)
        self.menu.addSeparator()
        self.menu.addAction("Delete the firing").triggered.connect(self.delete_asked)

    def _print_sheet(self) -> None:
        if self._page is not None:
            open_sheet_of_firing(self._desk, self._page.firing_id, self)

    def _ask_program_name(self) -> None:
        self.program.ask_name()
        self.scroller.ensureWidgetVisible(self.program)

    def _show_log_line(self, page: FiringPage) -> None:
        curve = page.main_curve
        self.log_line.setVisible(curve is not None)
        if curve is None:
            return
        count = f"{len(curve.elapsed_s):,}".replace(",", " ")
        plural = "" if len(curve.elapsed_s) == 1 else "s"
        words = f"{curve.log_name}: {count} reading{plural}"
        if curve.readings_dropped:
            words += f", {curve.readings_dropped} left out"
            words += f" ({IN_THE_FILE})" if curve.left_out_in_file else ""
        gaps = len(curve.gaps)
        if gaps:
            words += f", {gaps} gap{'' if gaps == 1 else 's'} over ten minutes, hatched"
        notes = ("; " if curve.channel == TYPED else " ").join(curve.notes)
        self.log_line.setText(f"{words}. {notes}".strip())

    def _redraw_typed(self, segments: tuple[Segment, ...] | None) -> None:
        page = self._page
        if page is not None and segments is not None:
            self.plot.show_firing(plot_of_page(page, self._unit, segments, self._earlier))

    def _show_step(self, start_s: float, end_s: float) -> None:
        self.plot.move_cursor_to(start_s)
        self.scroller.ensureWidgetVisible(self.plot)

    def _mark_step(self, sentence: str) -> None:
        readout = self.plot.readout()
        entered = self.steps.mark_moment(readout.at_s if readout is not None else None)
        if entered:
            self.plot.setAccessibleDescription(f"{entered} {sentence}")

    def _go(self, way: str) -> None:
        page = self._page
        neighbour = getattr(page, way) if page is not None else None
        if neighbour is not None:
            self.firing_asked.emit(neighbour.firing_id)

    # Room and drops

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._lay_out()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        keys = Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Home, Qt.Key.Key_End
        if event.key() in keys:
            self.plot.keyPressEvent(event)
        elif event.matches(QKeySequence.StandardKey.Paste):
            # A log that was copied comes in as one that is dropped.
            paths = local_paths(QGuiApplication.clipboard().mimeData())
            if paths:
                self.log_asked.emit(paths[0])
        else:
            super().keyPressEvent(event)

    def _lay_out(self) -> None:
        px = theme.current().px
        wide = self.width()
        under = wide < px(_UNDER)
        way = QBoxLayout.Direction.TopToBottom if under else QBoxLayout.Direction.LeftToRight
        self.columns.setDirection(way)
        if under:
            self.side.setMinimumWidth(0)
            self.side.setMaximumWidth(ANY_WIDTH)
        else:
            self.side.setFixedWidth(px(_SIDE))
        # The plot takes the first sight of the page, less a strip that shows there is more.
        room = self.height() - self.title.sizeHint().height() - px(44)
        if not self.live.isHidden():
            room -= self.live.sizeHint().height()
        self.plot.setFixedHeight(max(px(440), min(room, px(900))))

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        paths = local_paths(event.mimeData())
        if paths:
            event.acceptProposedAction()
            self.log_asked.emit(paths[0])


def _same_plot(old: FiringPage, new: FiringPage) -> bool:
    """Whether two pages draw the same plot: a pack read must not throw the cursor away."""
    if (old.segments, old.started_at, old.cone, old.number) != (
        new.segments,
        new.started_at,
        new.cone,
        new.number,
    ) or old.atmosphere != new.atmosphere:
        return False
    if len(old.curves) != len(new.curves):
        return False
    if old.steps and new.steps and old.steps.limits != new.steps.limits:
        return False
    return all(
        a.channel == b.channel
        and (a.left_out is None) == (b.left_out is None)
        and a.log_name == b.log_name
        and a.elapsed_s.shape == b.elapsed_s.shape
        and bool((a.elapsed_s == b.elapsed_s).all())
        and bool(
            ((a.temperature_c == b.temperature_c) | (a.temperature_c != a.temperature_c)).all()
        )
        for a, b in zip(old.curves, new.curves, strict=True)
    )
