"""Where crazing and shivering begin on a clay, as its own pieces have shown."""

from collections.abc import Sequence
from functools import lru_cache

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.firing.cones import label_of, say_band
from studiolog.craft.glaze.fit import Fault, GlazeResult, Threshold, stand
from studiolog.craft.glaze.fit_words import (
    HOW_COUNTED,
    HOW_LOOKED,
    SHARED_ERROR,
    UNIT,
    counted,
    say_evidence,
    say_own_pieces,
    say_tests,
    say_threshold,
    show_chance,
    show_chance_interval,
    show_expansion,
)
from studiolog.craft.units import THIN
from studiolog.desktop.desk import Desk
from studiolog.journal.fit import (
    EVERY_CONE,
    ClayFit,
    ConeSpan,
    FaultFit,
    FitGlaze,
    LeftOut,
    read_clay_fit,
)
from studiolog.journal.question import Combination, ConeRange, Question
from studiolog.ui.parts.cone_span import ConeSpanPick
from studiolog.ui.parts.fault_rate_sections import clear_layout, pieces_words
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.plan_wanted import PlanWanted
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.swatch import GlazeLook, GlazeSwatch
from studiolog.ui.parts.text import Caption, Text, Words
from studiolog.ui.plots.fit_plot import FitPlot, PlotChance, PlotGlaze, PlotThreshold

HINT = "Left and Right go from glaze to glaze, Enter opens its pieces in Findings."
_POINTS = 61  # of the curve
_MOST_MARKS = 30
_COATS = (1.0, 2.0)
"""Of each glaze to test: a thick coat crazes before a thin one (common practice)."""


class ClayFitSections(QWidget):
    """A section for crazing, and one for shivering where anybody ever looked for it."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._clay_id = 0
        self._span = EVERY_CONE
        self.crazing = FaultFitSection(desk, "crazing")
        self.shivering = FaultFitSection(desk, "shivering")
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(24)
        for section in (self.crazing, self.shivering):
            rows.addWidget(section)
            section.span_asked.connect(self._take_span)
        self.shivering.hide()

    def show_clay(self, clay_id: int) -> None:
        """Read and show the fit on a clay."""
        if clay_id != self._clay_id:
            self._clay_id, self._span = clay_id, EVERY_CONE
        found = self._desk.read(lambda session: read_clay_fit(session, clay_id, self._span))
        if found is None:
            return
        self.crazing.show_fit(found, found.crazing)
        self.shivering.setVisible(found.shivering is not None)
        if found.shivering is not None:
            self.shivering.show_fit(found, found.shivering)

    def _take_span(self, low10: int | None, high10: int | None) -> None:
        self._span = ConeSpan(low10, high10)
        self.show_clay(self._clay_id)


class FaultFitSection(Section):
    """``span_asked`` carries the edges of another cone span in tenths, None where open."""

    span_asked = Signal(object, object)

    def __init__(self, desk: Desk, fault: Fault, parent: QWidget | None = None) -> None:
        super().__init__(f"Where {fault} begins", parent=parent)
        self._desk, self.fault = desk, fault
        self._clay: ClayFit | None = None
        self._fit: FaultFit | None = None
        self.sentences = QVBoxLayout()
        self.sentences.setSpacing(2)
        self.span = ConeSpanPick(f"Evidence of {fault}")
        self.plot = FitPlot(f"Chance of {fault} by calculated expansion")
        self.hint = Caption(HINT, "ink2", wrap=True)
        self.stood = _StoodOn(desk)
        self.tests = Text("", "body", 500, wrap=True)
        self.plan = link_button("Lay out a test plan")
        self.plan.setAccessibleName(f"Lay out a test plan: {fault}")
        self.bands = _BandTable()
        self.left_out = QVBoxLayout()
        self.left_out.setSpacing(2)
        self.basis = Caption("", wrap=True)
        self.limits = link_button("The judgements behind it")
        self.limits.setAccessibleName(f"The judgements behind it: {fault}")
        beside = QHBoxLayout()
        beside.addWidget(self.plan)
        beside.addStretch(1)
        under = QHBoxLayout()
        under.addWidget(self.limits)
        under.addStretch(1)
        for item in (
            self.sentences, self.tests, beside, self.span, self.plot, self.hint, self.stood,
            self.bands, self.left_out, self.basis, under,
        ):  # fmt: skip
            self.add(item)
        self.plan.clicked.connect(self._plan_tests)
        self.span.picked.connect(self.span_asked)
        self.plot.chosen.connect(self._stand)
        self.plot.opened.connect(self._open)
        self.stood.asked.connect(self._open)
        self.limits.clicked.connect(lambda: desk.show("limits", 0, "fit"))

    def show_fit(self, clay: ClayFit, fit: FaultFit) -> None:
        """Show what is known of the fault on a clay."""
        if self._clay is None or self._clay.clay_id != clay.clay_id:
            self.plot.choose(0)
        self._clay, self._fit = clay, fit
        known = fit.known
        self._say(known)
        titles = [
            _named(fit.glaze(glaze_id)) for glaze_id in (fit.tests.glazes if fit.tests else ())
        ]
        self.tests.setText(say_tests(fit.tests, titles, self.fault))
        self.tests.setVisible(known.is_thin)
        telling = fit.tests is not None and bool(fit.tests.glazes) and fit.tests.tells_enough
        self.plan.setVisible(known.is_thin and telling)
        self.span.show_span([one.band for one in fit.bands], clay.span.low10, clay.span.high10)
        self.span.setVisible(bool(fit.bands))
        self._draw(fit)
        self.bands.show_bands([(one.band, one.known) for one in fit.bands])
        clear_layout(self.left_out)
        for one in fit.left_out:
            for words in say_left_out(one, self.fault):
                self.left_out.addWidget(Caption(words, "ink2", wrap=True))
        self.basis.setText(
            f"Expansions are calculated (Appen, 20 to 400 °C) and may be off by about "
            f"±{known.limits['expansion_error_ppm_k']:g}{THIN}{UNIT}; {UNIT} is 10⁻⁶/K. "
            f"{SHARED_ERROR} {HOW_COUNTED} {HOW_LOOKED}"
        )
        stood = self.plot.selected()
        self._stand(stood.glaze_id if stood else 0)

    def _say(self, known: Threshold) -> None:
        clear_layout(self.sentences)
        first, *more = say_threshold(known)
        self.sentences.addWidget(Text(first, "body", 500, wrap=True))
        if known.glazes:
            evidence = say_evidence(known)
            more.insert(0, f"It rests on {evidence}.")
        for words in more:
            self.sentences.addWidget(Text(words, "secondary", tone="ink2", wrap=True))

    def _draw(self, fit: FaultFit) -> None:
        known = fit.known
        glazes = sorted((*fit.looked, *fit.others), key=lambda one: one.expansion_ppm_k)
        ends = [known.low, known.high, *(one.expansion_ppm_k for one in glazes)]
        low, high = min(ends) - 0.4, max(ends) + 0.4
        curve = _curve(known, round(low, 2), round(high, 2))
        span = f"{known.low:.1f} to {known.high:.1f}"
        words = f"half of them from {known.mean:.1f} ({span})"
        if not known.glazes:
            words = f"expected, not seen: half of them from {known.mean:.1f} ({span})"
        self.plot.show_fit(
            [_plotted(one, self.fault) for one in glazes],
            curve,
            PlotThreshold(known.mean, known.low, known.high, words),
            " ".join(say_threshold(known)),
        )

    def _stand(self, glaze_id: int) -> None:
        assert self._fit is not None
        point = self._fit.glaze(glaze_id)
        self.stood.show_glaze(point, self._fit.known)

    def _plan_tests(self) -> None:
        """A plan with the glazes to test, each alone on the clay, thin and thick."""
        assert self._clay is not None
        assert self._fit is not None
        glazes = self._fit.tests.glazes if self._fit.tests is not None else ()
        titles = [point.title for point in map(self._fit.glaze, glazes) if point is not None]
        verb = {"crazing": "craze", "shivering": "shiver"}[self.fault]
        asked = (
            f"{'Do' if len(titles) > 1 else 'Does'} {' and '.join(titles)} {verb} on "
            f"{self._clay.name}, stress-tested?"
        )
        clay_id = self._clay.clay_id
        self._desk.show("plan", 0, PlanWanted("thickness", glazes, clay_id, asked, _COATS))

    def _open(self, glaze_id: int) -> None:
        """Its pieces and their pictures, in Findings."""
        assert self._clay is not None
        span = self._clay.span
        cone = None
        if not span.is_open:
            cone = ConeRange(
                None if span.low10 is None else span.low10 / 10,
                # A span ends below its edge, a question with it.
                None if span.high10 is None else (span.high10 - 1) / 10,
            )
        self._desk.show(
            "findings",
            0,
            Question(
                fault=self.fault,
                clay_id=self._clay.clay_id,
                combination=Combination("only", glaze_id),
                cone=cone,
            ),
        )


def say_left_out(one: LeftOut, fault: Fault) -> tuple[str, ...]:
    """What does not count, and why: a sentence, and more where a glaze has its own reason."""
    pieces = pieces_words(one.pieces)
    named = ", ".join(one.glazes)
    match one.why:
        case "no formula":
            return (f"Left out: {pieces} with {named}, whose expansion can't be calculated.",
                    *one.told)  # fmt: skip
        case "out of range":
            return (f"Left out: {pieces} with {named}, outside what the factors hold for.",
                    *one.told)  # fmt: skip
        case "no glass":
            return (
                f"Left out: {pieces} called matt, with crystals or not melted ({named}): the "
                "expansion is calculated for a glass.",
            )
        case "unclear":
            return (
                f"Left out: {pieces} on which {fault} was seen without saying in which zone, where "
                f"several glazes lie ({named}).",
            )
        case "other cone":
            return (f"Left out: {pieces} that got another cone.",)
        case _:
            return (f"Left out: {pieces} whose cone is not known.",)


def _named(point: FitGlaze | None) -> str:
    if point is None:
        return "a glaze"
    return f"{point.title} ({point.expansion_ppm_k:.1f})"


def _say_own(point: FitGlaze, fault: Fault) -> str:
    return say_own_pieces(
        fault, point.count("seen"), point.count("stressed"), point.count("unstressed")
    )


def _plotted(point: FitGlaze, fault: Fault) -> PlotGlaze:
    return PlotGlaze(
        point.glaze_id,
        GlazeLook(point.title, point.colour, point.pattern),
        point.expansion_ppm_k,
        point.count("seen"),
        point.count("stressed"),
        point.count("unstressed"),
        f"{point.title}, {show_expansion(point.expansion_ppm_k)}: {_say_own(point, fault)}.",
    )


@lru_cache(maxsize=8)
def _curve(known: Threshold, low: float, high: float) -> tuple[PlotChance, ...]:
    """Thresholds are shared as long as nothing changes, so the curve is, too."""
    at = [low + (high - low) * n / (_POINTS - 1) for n in range(_POINTS)]
    return tuple(
        PlotChance(alpha, one.mean, one.low, one.high)
        for alpha, one in zip(at, known.chances(at), strict=True)
    )


class _StoodOn(QWidget):
    """The glaze stood on, with its pieces as marks; ``asked`` carries it to open its pictures."""

    asked = Signal(int)

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._glaze_id = 0
        self._head = QHBoxLayout()
        self._head.setSpacing(8)
        self.words = Words("", "secondary", 500)
        self.more = Text("", "secondary", tone="ink2", wrap=True)
        self.open = link_button("Their pictures")
        marks = QWidget()
        self._marks = FlowLayout(marks, spacing=4, line_spacing=4)
        self._holder = marks
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addLayout(self._head)
        rows.addWidget(self.more)
        rows.addWidget(marks)
        self._swatch = GlazeSwatch(GlazeLook("", "#908574"))
        self._head.addWidget(self._swatch)
        self._head.addWidget(self.words, 1)
        self._head.addWidget(self.open)
        self.open.clicked.connect(lambda: self.asked.emit(self._glaze_id))
        self.hide()

    def show_glaze(self, point: FitGlaze | None, known: Threshold) -> None:
        """Show a glaze, None hides it all."""
        self.setVisible(point is not None)
        if point is None:
            return
        self._glaze_id = point.glaze_id
        self._swatch.set_glaze(GlazeLook(point.title, point.colour, point.pattern))
        self.words.setText(f"{point.title}, calculated {show_expansion(point.expansion_ppm_k)}")
        told = _say_own(point, known.fault)
        own = _chance(known, point.expansion_ppm_k, point.result)
        cones = point.cones10
        if cones is not None:
            low, high = label_of(cones[0] / 10), label_of(cones[1] / 10)
            told += f", at cone {low}" + (f" to {high}" if high != low else "")
        self.more.setText(f"{told[0].upper()}{told[1:]}. {own}")
        self.open.setVisible(bool(point.pieces))
        self.open.setAccessibleName(f"Pictures of the pieces with {point.title}: {known.fault}")
        self._marks.clear()
        order = {"seen": 0, "stressed": 1, "unstressed": 2}
        numbered = sorted(
            (one for one in point.pieces if one.number is not None),
            key=lambda one: (order.get(one.told, 3), one.number),
        )
        for piece in numbered[:_MOST_MARKS]:
            mark = NumberMark("piece", piece.number, piece.piece_id)
            said = {"seen": "seen", "stressed": "none seen, stress-tested"}.get(
                piece.told, "none seen"
            )
            mark.setToolTip(f"Open piece {piece.number}: {said}")
            mark.opened.connect(self._desk.show)
            self._marks.addWidget(mark)
        left = len(point.pieces) - min(len(numbered), _MOST_MARKS)
        if left and point.pieces:
            self._marks.addWidget(Caption(f"and {left} more in Findings", "ink2"))
        self._holder.setVisible(bool(point.pieces))


@lru_cache(maxsize=64)
def _chance(known: Threshold, expansion_ppm_k: float, own: GlazeResult | None) -> str:
    chance = stand(known, expansion_ppm_k, own).chance()
    which = "Another piece of it" if own is not None else "A piece of it"
    verb = {"crazing": "craze", "shivering": "shiver"}[known.fault]
    return (
        f"{which} would {verb} in a stress test, or in time, with a chance of "
        f"{show_chance(chance.mean)} (90{THIN}% interval {show_chance_interval(chance)})."
    )


def _say_band_evidence(known: Threshold) -> str:
    thin = "thin: " if known.is_thin else ""
    glazes, pieces = counted(known.glazes, "glaze"), counted(known.pieces, "piece")
    return f"{thin}{glazes}, {pieces}, seen on {known.pieces_seen or 'none'}"


class _BandTable(QWidget):
    """What each half cone alone tells."""

    def __init__(self) -> None:
        super().__init__()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 4, 0, 0)
        self._grid.setHorizontalSpacing(20)
        self._grid.setVerticalSpacing(2)

    def show_bands(self, bands: Sequence[tuple[int, Threshold]]) -> None:
        """A row for each half cone with evidence; nothing where there is only one."""
        clear_layout(self._grid)
        self.setVisible(len(bands) > 1)
        if len(bands) < 2:
            return
        for column, head in enumerate(("By the cone at the piece", "half of them from", "")):
            self._put(0, column, head, "ink3")
        for row, (band, known) in enumerate(bands, start=1):
            self._put(row, 0, say_band(band), "ink2")
            self._put(row, 1, f"{known.mean:.1f} ({known.low:.1f} to {known.high:.1f})", "ink")
            self._put(row, 2, _say_band_evidence(known), "ink2")
        self._grid.setColumnStretch(2, 1)

    def _put(self, row: int, column: int, words: str, tone: str) -> None:
        made = Words(words, "secondary", tone=tone) if column == 2 else Text(words, "secondary")
        made.set_tone(tone)
        self._grid.addWidget(made, row, column)
