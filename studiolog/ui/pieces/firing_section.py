"""The firings a piece went through: its level, the curve, the cones aimed at, read, computed."""

from functools import partial

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from studiolog.craft.units import show_rate, show_temperature, show_temperature_step
from studiolog.craft.words import FIRING_KINDS
from studiolog.desktop import theme
from studiolog.journal.piece_firings import PieceFiring, SmallCurveData, read_small_curve
from studiolog.journal.piece_page import PiecePage
from studiolog.ui.parts.cone_scale import ConeScale, ScaleMark, cone_words
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Caption, Section, Text, link_button
from studiolog.ui.parts.typed import write_number
from studiolog.ui.pieces.looks import short_day
from studiolog.ui.pieces.page_edits import PageEdits, clear
from studiolog.ui.pieces.placement_editor import PlacementEditor


def firing_words(firing: PieceFiring) -> str:
    """``glaze, cone 6 slow cool``."""
    words = FIRING_KINDS[firing.kind]
    if firing.title:
        return f"{words}, {firing.title}"
    return f"{words}, cone {firing.aimed_label}" if firing.aimed_label else words


def where_words(firing: PieceFiring) -> str:
    """``bottom level, front left`` or that the level is not known."""
    level = f"{firing.level_name} level" if firing.level_name else "level not said"
    return f"{level}, {firing.position}" if firing.position else level


def basis_sentence(firing: PieceFiring, unit: str = "C") -> str:
    """How sure the best cone is, how it is known, and what this level usually does."""
    best = firing.best
    if best is None:
        return "No cone aimed at, read or computed yet."
    if best.basis == "aimed":
        return "Nothing read or logged says what it got: the cone aimed at stands in."
    how = "by the witness cone" if best.basis == "read" else "computed from the log"
    words = f"{_span(best.low, best.high)} {how}."
    if firing.level_usually_c is not None and abs(firing.level_usually_c) >= 2:
        way = "cooler" if firing.level_usually_c < 0 else "hotter"
        usual = show_temperature_step(abs(firing.level_usually_c), unit).lstrip("+")
        words += f" This level usually reads {usual} {way} than the sensor."
    return words


def _span(low: float, high: float) -> str:
    first, last = cone_words(low), cone_words(high)
    return f"About {first}" if first == last else f"Between {first} and {last}"


class FiringBlock(QWidget):
    """One firing in full: curve, figures, cone scale and its sentence."""

    def __init__(
        self, edits: PageEdits, firing: PieceFiring, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        # The plots bring the slow libraries; only a page with a firing needs them.
        from studiolog.ui.plots.small_curve import SmallCurve

        self._edits, self.firing = edits, firing
        unit = edits.desk.settings.temperature_unit
        self.curve = SmallCurve()
        self.curve.set_unit(unit)
        self.curve.setFixedHeight(theme.current().px(96))
        self.scale = ConeScale()
        self.sentence = Caption(basis_sentence(firing, unit), wrap=True)
        self._peak = Text("", "figure", 600)
        self._lines = QVBoxLayout()
        self._lines.setSpacing(0)
        figures = QVBoxLayout()
        figures.setSpacing(2)
        figures.addWidget(self._peak)
        figures.addLayout(self._lines)
        figures.addStretch(1)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self.curve, 5)
        row.addLayout(figures, 4)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addLayout(row)
        rows.addWidget(self.scale)
        rows.addWidget(self.sentence)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.scale.setSizePolicy(policy)
        self._show_cones()
        self._show_figures(SmallCurveData(peak_c=firing.peak_c))

    def _show_cones(self) -> None:
        firing = self.firing
        place = f"at the {firing.level_name} level" if firing.level_name else "in the kiln"
        read = firing.read
        computed = firing.computed
        self.scale.show_marks(
            firing.aimed,
            ScaleMark(read.cone, read.low, read.high, place) if read else None,
            # The place is said once: both stand for the same level.
            ScaleMark(computed.cone, computed.low, computed.high, "" if read else place)
            if computed
            else None,
        )
        # The sentence beneath says it; where no cone is known there is no scale to draw.
        self.scale.setVisible(firing.best is not None)

    def show_curve(self, data: SmallCurveData) -> None:
        """Draw the unpacked curve and its figures."""
        from studiolog.ui.plots.plotted_firing import PlotFiring

        self.curve.show_firing(
            PlotFiring(
                curve_s=data.curve_s,
                curve_c=data.curve_c,
                program_s=data.program_s,
                program_c=data.program_c,
                gaps=data.gaps,
                hold_band=data.hold_band,
            )
        )
        self._show_figures(data)

    def _show_figures(self, data: SmallCurveData) -> None:
        unit = self._edits.desk.settings.temperature_unit
        clear(self._lines)
        if data.peak_c is None:
            self._peak.setText("")
            self._peak.hide()
            told = ["No log of this firing yet."] if not self.firing.has_log else []
        else:
            self._peak.show()
            self._peak.setText(show_temperature(data.peak_c, unit))
            self._peak.setToolTip("Peak of the logged curve")
            told = ["peak of the log"]
            if data.hold_min is not None and data.hold_min >= 1:
                told.append(f"held {write_number(data.hold_min)} min")
            if data.above_1100_s:
                hours, minutes = divmod(round(data.above_1100_s / 60), 60)
                lasted = f"{hours} h {minutes:02d}" if hours else f"{minutes} min"
                told.append(f"{lasted} above {show_temperature(1100, unit)}")
            if data.quartz_down_c_per_h is not None:
                told.append(f"quartz at {show_rate(data.quartz_down_c_per_h, unit)}")
        for words in told:
            self._lines.addWidget(Text(words, "secondary", tone="ink2", wrap=True))


class FiringSection(Section):
    """The firing that made the glaze in full, the others as a line each; all can be changed."""

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__("Firing", link="Open", parent=parent)
        self._edits = edits
        self._mark = NumberMark("firing")
        self._mark.opened.connect(edits.desk.show)
        self._what = Text("", "body", tone="ink2")
        self.head.insertWidget(1, self._mark)
        self.head.insertWidget(2, self._what)
        self._main: PieceFiring | None = None
        self.block: FiringBlock | None = None
        self._shown: object = None
        self._curves: dict[tuple[int, int], SmallCurveData] = {}
        self._main_place = QVBoxLayout()
        self._others = QVBoxLayout()
        self._others.setSpacing(6)
        self.add_link = link_button("Add a firing")
        self.add_link.clicked.connect(lambda: self._edit_place(None))
        links = QHBoxLayout()
        links.addWidget(self.add_link)
        links.addStretch(1)
        self.editor = PlacementEditor(edits)
        self.editor.hide()
        self.editor.closed.connect(self._close_editor)
        self.add(self._main_place)
        self.add(self._others)
        self.add(links)
        self.add(self.editor)
        self.link_opened.connect(self._open)
        edits.desk.settings.changed.connect(self._unit_changed)

    def show_page(self, page: PiecePage, anew: bool) -> None:
        """Show the firings of a piece; its curve is read once the page stands."""
        if anew:
            self.editor.hide()
            self._curves.clear()
        if self.editor.isVisibleTo(self):
            self.editor.refresh()
        if page.firings == self._shown and not anew:
            return
        self._shown = page.firings
        self._main = main_firing(page)
        clear(self._main_place)
        clear(self._others)
        self.block = None
        main = self._main
        self._mark.setVisible(main is not None)
        self._what.setVisible(main is not None)
        self.set_link("Open" if main is not None else "")
        if main is None:
            words = "Not in a firing yet."
            self._main_place.addWidget(Text(words, "body", tone="ink3"))
            return
        self._mark.set_number(main.number, main.firing_id)
        self._what.setText(firing_words(main))
        self._main_place.addLayout(self._place_line(main))
        self.block = FiringBlock(self._edits, main)
        self._main_place.addWidget(self.block)
        QTimer.singleShot(0, self, self._read_curve)
        for other in page.firings:
            if other is not main:
                self._others.addWidget(self._other_line(other))

    def _place_line(self, firing: PieceFiring) -> QHBoxLayout:
        words = f"{short_day(firing.started_at)}, {firing.kiln_name}, {where_words(firing)}"
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(Text(words, "secondary", tone="ink2", wrap=True), 1)
        row.addWidget(self._change_link(firing))
        return row

    def _change_link(self, firing: PieceFiring) -> QPushButton:
        change = link_button("Change place")
        change.setAccessibleName(f"Change place in firing {firing.number}")
        change.clicked.connect(partial(_call, self._edit_place, firing))
        return change

    def _other_line(self, firing: PieceFiring) -> QWidget:
        line = QWidget()
        row = QHBoxLayout(line)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        mark = NumberMark("firing", firing.number, firing.firing_id)
        mark.opened.connect(self._edits.desk.show)
        row.addWidget(mark)
        told = firing_words(firing)
        if firing.best is not None and firing.best.basis != "aimed":
            told += f", {cone_words(firing.best.cone)} there"
        told += f", {short_day(firing.started_at)}"
        words = Text(told, "secondary", tone="ink2", wrap=True)
        unit = self._edits.desk.settings.temperature_unit
        words.setToolTip(f"{where_words(firing)}. {basis_sentence(firing, unit)}")
        row.addWidget(words, 1)
        row.addWidget(self._change_link(firing))
        return line

    def _read_curve(self) -> None:
        main, block = self._main, self.block
        if main is None or block is None:
            return
        key = (main.firing_id, main.version)
        if key not in self._curves:
            self._curves[key] = self._edits.desk.read(
                lambda session: read_small_curve(session, main.firing_id)
            )
        block.show_curve(self._curves[key])

    def _unit_changed(self, key: str) -> None:
        page = self._edits.page
        if key == "temperature_unit" and page is not None:
            self._shown = None
            self.show_page(page, anew=False)

    def _edit_place(self, firing: PieceFiring | None) -> None:
        self.editor.show()
        self.editor.open(firing)

    def _close_editor(self) -> None:
        self.editor.hide()
        self.add_link.setFocus(Qt.FocusReason.OtherFocusReason)

    def _open(self) -> None:
        if self._main is not None:
            self._edits.desk.show("firing", self._main.firing_id)


def _call(do: object, firing: PieceFiring, _checked: bool = False) -> None:
    do(firing)  # type: ignore[operator]


def main_firing(page: PiecePage) -> PieceFiring | None:
    """The hottest firing that was no bisque: the one that made the glaze; else the last."""
    glazed = [one for one in page.firings if one.kind != "bisque"]
    if glazed:
        return max(glazed, key=lambda one: one.best.cone if one.best is not None else float("-inf"))
    return page.firings[-1] if page.firings else None
