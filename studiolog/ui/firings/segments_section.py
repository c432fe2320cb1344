"""What the kiln did: each step asked and done, time at heat, how it cooled, and a lid opened."""

from collections.abc import Sequence
from datetime import datetime

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.firing.curve import COOLING_BANDS_C, LAST_CLIMB_C, CurveSummary
from studiolog.craft.limits import Limits
from studiolog.craft.units import (
    fahrenheit_from_celsius,
    show_degrees,
    show_duration,
    show_number,
    show_rate,
    show_temperature,
)
from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION
from studiolog.journal.curve_steps import CurveSteps, FollowedStep, FoundSegment
from studiolog.journal.firing_page import FiringPage
from studiolog.ui.firings.step_words import (
    CARE,
    DASH,
    SIGNS,
    UNTOLD,
    asked_words,
    behind_words,
    done_words,
    found_words,
    lid_words,
    rate_words,
    step_sentence,
    verdict_words,
)
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.marks import paint_focus_ring
from studiolog.ui.parts.section import Hairline, Section
from studiolog.ui.parts.text import Caption, Text, Words
from studiolog.ui.plots.plot_ticks import Unit, write_clock

_MARK = 18
_STEP_HEADS = ("", "Asked", "Done", "Most behind", "")
_FOUND_HEADS = ("", "Stretch", "Rate", "Lasted", "")
_BASIS = "Common practice; what your kiln's maker says comes first."


class StepMark(QAbstractButton):
    """The black number of a step, as on the plot. Up and Down go from one to the next."""

    def __init__(self, number: int, sentence: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.number = number
        self.is_here = False
        self.setAccessibleName(sentence)
        self.setToolTip("Show it on the plot")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        theme.current().changed.connect(self.updateGeometry)

    def set_here(self, here: bool) -> None:
        """Whether the cursor of the plot stands in this step."""
        if here != self.is_here:
            self.is_here = here
            self.update()

    def sizeHint(self) -> QSize:
        """Qt: a round of 18 px with room for the focus round it."""
        side = theme.current().px(_MARK) + 6
        return QSize(side, side)

    def paintEvent(self, event: QPaintEvent) -> None:
        look = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        side = look.px(_MARK)
        box = QRectF((self.width() - side) / 2, (self.height() - side) / 2, side, side)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.color("cobalt" if self.is_here else "ink"))
        painter.drawEllipse(box)
        painter.setFont(look.font(CAPTION, 600))
        painter.setPen(look.color("oncobalt" if self.is_here else "paper"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, str(self.number))
        if self.hasFocus():
            paint_focus_ring(painter, box, side / 2 + 2)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.focusNextPrevChild(event.key() == Qt.Key.Key_Down)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()


class SegmentsSection(Section):
    """``step_asked`` asks the plot to show a step, by its start and end in seconds of the log."""

    step_asked = Signal(float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("What the kiln did", parent=parent)
        self.said = Text("", tone="ink2", wrap=True)
        self.rows = QWidget()
        self.grid = QGridLayout(self.rows)
        self.grid.setContentsMargins(0, 0, 0, 0)
        self.grid.setHorizontalSpacing(12)
        self.grid.setVerticalSpacing(2)
        for column, stretch in enumerate((0, 5, 4, 2, 7)):
            self.grid.setColumnStretch(column, stretch)
        self.times = _Figures("Time at heat")
        self.cooling = _Figures("Cooling")
        self.figures = QWidget()
        beside = QHBoxLayout(self.figures)
        beside.setContentsMargins(0, 8, 0, 0)
        beside.setSpacing(24)
        beside.addWidget(self.times, 1, Qt.AlignmentFlag.AlignTop)
        beside.addWidget(self.cooling, 1, Qt.AlignmentFlag.AlignTop)
        self.lid = Text("", wrap=True)
        self.caution = CautionLine()
        for part in (self.said, self.rows, self.figures, self.lid, self.caution):
            self.add(part)
        self.marks: list[tuple[StepMark, float, float]] = []
        self._laid: CurveSteps | None = None
        self._written: tuple[Unit, datetime | None] = ("C", None)

    def show_page(self, page: FiringPage, unit: Unit) -> None:
        """Tell the steps of a firing; without a log or a program, what there is to tell."""
        self.show_steps(page.steps, unit, page.started_at)

    def show_steps(
        self, laid: CurveSteps | None, unit: Unit, started_at: datetime | None = None
    ) -> None:
        """Tell an analysis; the same one again, in the same unit, is left as it stands."""
        if laid is self._laid and self._written == (unit, started_at):
            return
        self._laid, self._written = laid, (unit, started_at)
        analysis = laid.analysis if laid is not None else None
        self._clear()
        told = analysis is not None
        for part in (self.rows, self.figures):
            part.setVisible(told)
        self.said.setVisible(True)
        self.lid.hide()
        self.caution.say("")
        self.set_quiet("")
        if laid is None or analysis is None:
            problem = laid.problem if laid is not None else ""
            self.said.setText(problem or "No log yet: what the kiln did is told from its curve.")
            self.said.set_tone("rust" if problem else "ink2")
            return
        self.said.set_tone("ink2")
        if analysis.steps:
            self.said.hide()
            self.set_quiet(
                "against the set point as logged"
                if analysis.setpoint == "logged"
                else "against the program, from where each step began"
            )
            self._fill_steps(analysis.steps, unit)
        else:
            why = laid.program_problem or "No program was set for this firing."
            self.said.setText(f"{why} These are the straight stretches of its curve.")
            self._fill_found(laid.stretches, unit)
        ended_c = analysis.found[-1].end_c if analysis.found else analysis.summary.peak_c
        self._fill_figures(analysis.summary, laid, ended_c, unit)
        if analysis.lids:
            lines = [
                lid_words(lid, write_clock(started_at, lid.at_s), unit) for lid in analysis.lids
            ]
            self.lid.setText("\n".join(lines))
            self.lid.show()
            self.caution.say(_opening(laid.limits, unit), _BASIS)

    def mark_moment(self, at_s: float | None) -> str:
        """Mark the step in which the cursor of the plot stands; its sentence if it is another."""
        inside = [
            mark
            for mark, start_s, end_s in self.marks
            if at_s is not None and start_s <= at_s <= end_s
        ]
        here = inside[-1] if inside else None
        said = here.accessibleName() if here is not None and not here.is_here else ""
        for mark, _, _ in self.marks:
            mark.set_here(mark is here)
        return said

    def _clear(self) -> None:
        self.marks = []
        while (item := self.grid.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()

    def _fill_steps(self, steps: Sequence[FollowedStep], unit: Unit) -> None:
        self._head(_STEP_HEADS)
        for row, step in enumerate(steps, start=1):
            signed = SIGNS[step.verdict]
            words = (asked_words(step, unit), done_words(step, unit), behind_words(step, unit))
            span = (step.start_s, step.end_s)
            self._put(
                row, step.number, step_sentence(step, unit), words, span,
                (signed, verdict_words(step, unit)),
            )  # fmt: skip

    def _fill_found(self, found: Sequence[FoundSegment], unit: Unit) -> None:
        self._head(_FOUND_HEADS)
        for row, stretch in enumerate(found, start=1):
            words, lasted = found_words(stretch, unit)
            rate = rate_words(stretch.rate, unit)
            if stretch.kind in ("hold", "slowing"):
                rate = DASH if stretch.kind == "hold" else "ever more slowly"
            said = "after a gap of the log" if stretch.after_gap else ""
            told = f"Stretch {row}: {words}; {rate}; {lasted}. {said}".strip()
            span = (stretch.start_s, stretch.end_s)
            sign = CARE if said else UNTOLD
            self._put(row, row, told, (words, rate, lasted), span, (sign, said))

    def _head(self, heads: Sequence[str]) -> None:
        for column, head in enumerate(heads):
            if head:
                self.grid.addWidget(Caption(head), 0, column)

    def _put(
        self,
        row: int,
        number: int,
        sentence: str,
        words: Sequence[str],
        span: tuple[float | None, float | None],
        verdict: tuple[tuple[str, str], str],
    ) -> None:
        line = row * 2
        self.grid.addWidget(Hairline(), line - 1, 0, 1, len(_STEP_HEADS))
        top = Qt.AlignmentFlag.AlignTop
        start_s, end_s = span
        mark = StepMark(number, sentence)
        mark.setEnabled(start_s is not None)
        if start_s is not None and end_s is not None:
            self.marks.append((mark, start_s, end_s))
            mark.clicked.connect(lambda _=False, a=start_s, b=end_s: self.step_asked.emit(a, b))
        self.grid.addWidget(mark, line, 0, top)
        for column, text in enumerate(words, start=1):
            cell = Words(text)
            cell.setMargin(3)
            self.grid.addWidget(cell, line, column, top)
        (sign, colour), said = verdict
        holder = QWidget()
        told = QHBoxLayout(holder)
        told.setContentsMargins(0, 3, 0, 0)
        told.setSpacing(6)
        if sign:
            told.addWidget(IconLabel(sign, colour, 16), 0, top)
        tone = colour if sign and colour != "celadon" else "ink2"
        told.addWidget(Words(said, "body", 400, tone), 1, top)
        self.grid.addWidget(holder, line, 4, top)

    def _fill_figures(
        self, summary: CurveSummary, laid: CurveSteps, ended_c: float, unit: Unit
    ) -> None:
        below_top_c = (summary.peak_c if laid.top_c is None else laid.top_c) - 50.0
        near_c = laid.limits["near_peak_c"]
        times = [
            (f"above {show_temperature(level_c, unit)}", _about(summary, level_c, seconds))
            for level_c, seconds in (
                (100.0, summary.above_100_s),
                (573.0, summary.above_573_s),
                (1000.0, summary.above_1000_s),
                (below_top_c, summary.near_top_s),
            )
            if seconds > 0.0
        ]
        times.append(
            (
                f"within {show_degrees(near_c, unit)} of the peak",
                show_duration(summary.hold_min * 60),
            )
        )
        if summary.final_rate_c_per_h is not None:
            rate = show_rate(summary.final_rate_c_per_h, unit)
            times.append((f"the last {show_degrees(LAST_CLIMB_C, unit)}", f"at {rate}"))
        self.times.show_lines(times)
        cooling = []
        for (_, upper, lower), (_, rate_c_per_h) in zip(
            COOLING_BANDS_C, summary.cooling_c_per_h, strict=True
        ):
            from_words = "the peak" if upper is None else _plain(upper, unit)
            band = f"{from_words} to {show_temperature(lower, unit)}"
            told = _untold_band(summary, ended_c, upper, lower)
            if rate_c_per_h is not None:
                told = show_rate(abs(rate_c_per_h), unit)
            cooling.append((band, told))
        self.cooling.show_lines(cooling)


class _Figures(QWidget):
    """A few figures under a small head, each with what it is."""

    def __init__(self, head: str) -> None:
        super().__init__()
        self.head = Text(head, "secondary", 600, "ink2")
        self.lines = QGridLayout()
        self.lines.setHorizontalSpacing(12)
        self.lines.setVerticalSpacing(2)
        self.lines.setColumnStretch(0, 1)
        self.lines.setColumnStretch(1, 1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addWidget(self.head)
        rows.addLayout(self.lines)

    def show_lines(self, lines: Sequence[tuple[str, str]]) -> None:
        """Show these figures in place of the ones before."""
        while (item := self.lines.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        for row, (about, figure) in enumerate(lines):
            self.lines.addWidget(Words(about, "body", 400, "ink2"), row, 0)
            self.lines.addWidget(Words(figure, "body", 400, "ink"), row, 1)
        self.setAccessibleName(
            f"{self.head.text()}: " + "; ".join(f"{about} {figure}" for about, figure in lines)
        )


def _about(summary: CurveSummary, level_c: float, seconds: float) -> str:
    """A time above a heat; "about" where a gap hides when the curve passed it."""
    hidden = any((gap.start_c > level_c) != (gap.end_c > level_c) for gap in summary.gaps)
    return f"about {show_duration(seconds)}" if hidden else show_duration(seconds)


def _untold_band(
    summary: CurveSummary, ended_c: float, upper_c: float | None, lower_c: float
) -> str:
    """Why a band of the cooling has no rate."""
    if summary.peak_c <= max(lower_c, upper_c or lower_c):
        return "never so hot"
    if ended_c > lower_c:
        return "not logged"
    ends = [end for end in (upper_c, lower_c) if end is not None]
    hidden = any(gap.end_c < end < gap.start_c for gap in summary.gaps for end in ends)
    return "hidden by a gap" if hidden else "too quick to tell a rate"


def _plain(temperature_c: float, unit: Unit) -> str:
    """A temperature without its unit, before another that has it."""
    return show_number(fahrenheit_from_celsius(temperature_c) if unit == "F" else temperature_c)


def _opening(limits: Limits, unit: Unit) -> str:
    usual, best = (show_temperature(limits[key], unit) for key in ("open_usual_c", "open_best_c"))
    return (
        "Opened hot, ware can dunt and glazes craze, and hot air and ware burn: wait until the "
        f"kiln is below {usual}, better {best}."
    )
