"""The sheet of the map: where our glazes sit, and what their rings speak of."""

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from studiolog.craft.words import FAULTS, SURFACES
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.glaze_map import (
    GlazeMap,
    MapAsk,
    read_glaze_map,
    say_place,
    say_seen,
)
from studiolog.journal.history import Touched
from studiolog.ui.parts.choice import Choice, PickOne, SegmentedChoice
from studiolog.ui.parts.cone_span import ConeSpanPick
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import EmptyState
from studiolog.ui.parts.text import Caption, Text, Words
from studiolog.ui.plots.glaze_map_marks import MapLegend
from studiolog.ui.plots.glaze_map_plot import GlazeMapPlot

_EDGE, _MOST_WIDE, _MOST_HIGH = 24, 1560, 1040
_ANY_CLAY = 0
_SHOWN_BY = frozenset(
    {"glaze", "recipe_line", "material", "material_lot", "lot_oxide", "limit", "inspection"}
    | {"fault_reading", "surface_reading", "layer", "placement", "firing", "piece", "clay"}
)
_NAMED = 6
"""Glazes without a formula that are named one by one."""

CAPTION = (
    "Axes after Stull, 1912. His chart is for one set of fluxes, 0.3 K₂O and 0.7 CaO, at cone 11: "
    "its regions do not carry over, so none are drawn. Of the ratio SiO₂:Al₂O₃ it is said (from "
    "memory): matt under about 5, semi-matt from 5 to 7, bright from 7 or 8 on; Binns, 1910, "
    "prints a matt glaze of 4.4 and a bright one of 8.0. Your own fired pieces tell more."
)


class GlazeMapSheet(QDialog):
    """``opened`` carries the glaze to show. Esc closes it."""

    opened = Signal(int)

    def __init__(self, desk: Desk, glaze_id: int = 0, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._ask = MapAsk()
        self._map: GlazeMap | None = None
        self._marked = glaze_id
        self.setWindowTitle("Where our glazes sit")
        self.setWindowModality(Qt.WindowModality.WindowModal)
        self._build()
        self._lay_out()
        self._connect()
        self.refresh()
        self._take_size()
        first: QWidget = self.plot if self.plot.isVisibleTo(self) else self.close_button
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def _build(self) -> None:
        self.heading = Words("Where our glazes sit", "figure", 600)
        faults = [Choice(("fault", key), words) for key, words in FAULTS.items()]
        surfaces = [Choice(("surface", key), f"surface: {w}") for key, w in SURFACES.items()]
        self.about = PickOne("Rings speak of", [*faults, *surfaces])
        self.clay = PickOne("Clay")
        self.clay.setMaximumWidth(theme.current().px(240))
        self.cones = ConeSpanPick("Cone the piece got")
        self.lying = SegmentedChoice(
            "Pieces that count",
            [Choice("alone", "alone on the clay"), Choice("anywhere", "with others too")],
            keys="",
        )
        self.trials = QCheckBox("Test tiles too")
        self.trials.setToolTip("Glazes made for single tiles of test plans, drawn smaller")
        self.plot = GlazeMapPlot()
        self.place = Words("", "body", 600)
        self.formula = Words("", "secondary", tone="ink2")
        self.seen = Words("", "secondary", tone="ink2")
        self.legend = MapLegend()
        self.caption = Caption(CAPTION, wrap=True)
        self.without = Caption("", wrap=True)
        self.empty = EmptyState(
            "No glaze has a formula yet.",
            "Type a recipe on the page of a glaze. Once every material in it has an analysis, the "
            "glaze stands here; Materials says which have none.",
            "Go to the glazes",
        )
        self.open_button = QPushButton("Open its page")
        self.close_button = QPushButton("Close")
        self.close_button.setAccessibleName("Close")
        for button in (self.open_button, self.close_button, self.empty.action):
            button.setAutoDefault(False)

    def _lay_out(self) -> None:
        asked = FlowLayout(spacing=16, line_spacing=8)
        for words, control in (
            ("Rings speak of", self.about),
            ("on", self.clay),
            ("", self.cones),
            ("where it lies", self.lying),
            ("", self.trials),
        ):
            holder = QWidget()
            row = QHBoxLayout(holder)
            row.setContentsMargins(0, 0, 0, 0)
            row.setSpacing(8)
            if words:
                row.addWidget(Text(words, "secondary", 500, "ink2"))
            row.addWidget(control)
            asked.addWidget(holder)
        self._controls = QWidget()
        self._controls.setLayout(asked)
        told = QVBoxLayout()
        told.setSpacing(0)
        for line in (self.place, self.formula, self.seen):
            told.addWidget(line)
        self._told = QWidget()
        self._told.setLayout(told)
        told.setContentsMargins(0, 0, 0, 0)
        feet = QHBoxLayout()
        feet.setSpacing(8)
        feet.addWidget(self._told, 1)
        feet.addWidget(self.open_button, 0, Qt.AlignmentFlag.AlignBottom)
        feet.addWidget(self.close_button, 0, Qt.AlignmentFlag.AlignBottom)
        page = QWidget()
        body = QVBoxLayout(page)
        body.setContentsMargins(0, 0, 0, 0)
        body.setSpacing(10)
        body.addWidget(self._controls)
        body.addWidget(self.empty)
        body.addWidget(self.plot, 1)
        body.addWidget(self.legend)
        body.addWidget(self.caption)
        body.addWidget(self.without)
        body.addStretch(0)
        # With large text in a small window the plot keeps its least height, and all is scrolled.
        self.reel = QScrollArea()
        self.reel.setWidget(page)
        self.reel.setWidgetResizable(True)
        self.reel.setFrameShape(QScrollArea.Shape.NoFrame)
        self.reel.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.reel.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.reel.viewport().setAutoFillBackground(False)
        page.setAutoFillBackground(False)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(24, 20, 24, 16)
        rows.setSpacing(10)
        rows.addWidget(self.heading)
        rows.addWidget(self.reel, 1)
        rows.addLayout(feet)

    def _connect(self) -> None:
        self.about.picked.connect(lambda _what: self._ask_anew())
        self.clay.picked.connect(lambda _clay: self._ask_anew())
        self.cones.picked.connect(lambda _low, _high: self._ask_anew())
        self.lying.picked.connect(lambda _how: self._ask_anew())
        self.trials.clicked.connect(lambda _on: self._show_glazes())
        self.plot.stood_on.connect(lambda _glaze: self._say_current())
        self.plot.opened.connect(self._open)
        self.open_button.clicked.connect(self._open_current)
        self.empty.acted.connect(self.reject)
        self.close_button.clicked.connect(self.reject)
        self._desk.edits.edited.connect(self._hear_edit)

    # Reading

    def refresh(self) -> None:
        """Read the map anew."""
        asked = self._ask
        found = self._map = self._desk.read(lambda session: read_glaze_map(session, asked))
        what = ("fault", asked.fault) if asked.fault else ("surface", asked.surface)
        self.about.choose(what)
        clays = [Choice(_ANY_CLAY, "any clay")]
        clays += [Choice(clay_id, name) for clay_id, name in found.clays.items()]
        self.clay.set_choices(clays)
        self.clay.choose(asked.clay_id or _ANY_CLAY)
        self.cones.show_span(found.bands, asked.low10, asked.high10)
        self.lying.choose(asked.lying)
        self.legend.show_words(asked.words, asked.fault is None)
        nothing = not found.glazes
        for part in (self._controls, self.plot, self.legend, self.caption, self._told):
            part.setVisible(not nothing)
        self.open_button.setVisible(not nothing)
        self.empty.setVisible(nothing)
        self.trials.setVisible(any(one.trial for one in found.glazes))
        self._say_without(found)
        marked = found.glaze(self._marked)
        if marked is not None and marked.trial:
            self.trials.setChecked(True)
        self._show_glazes()

    def _show_glazes(self) -> None:
        found = self._map
        if found is None:
            return
        trials = self.trials.isChecked()
        shown = [one for one in found.glazes if trials or not one.trial]
        self.plot.show_map(shown, found.ask, self._marked)
        self._marked = 0
        self._say_current()

    def _ask_anew(self) -> None:
        chosen = self.about.chosen()
        kind, key = chosen if isinstance(chosen, tuple) else ("fault", self._ask.fault)
        clay = self.clay.chosen()
        low10, high10 = self.cones.span()
        self._ask = MapAsk(
            fault=key if kind == "fault" else None,
            surface=key if kind == "surface" else None,
            clay_id=clay if isinstance(clay, int) and clay != _ANY_CLAY else None,
            low10=low10,
            high10=high10,
            lying="anywhere" if self.lying.chosen() == "anywhere" else "alone",
        )
        self.refresh()

    def _say_without(self, found: GlazeMap) -> None:
        count = len(found.without)
        named = [f"{one.title}: {one.why}" for one in found.without[:_NAMED]]
        more = f" And {count - _NAMED} more." if count > _NAMED else ""
        words = "1 glaze has no place" if count == 1 else f"{count} glazes have no place"
        self.without.setText(f"{words} on the map. {' '.join(named)}{more}" if count else "")
        self.without.setVisible(bool(count))

    def _say_current(self) -> None:
        here = self.plot.current()
        self.open_button.setEnabled(here is not None)
        if here is None:
            self.place.setText("Go through the glazes by the arrow keys, or point at one.")
            self.formula.setText("Enter opens its page. Plus, minus and 0 zoom.")
            self.seen.setText("")
            return
        self.place.setText(say_place(here))
        expansion = here.expansion_ppm_k
        told = f"; expansion {expansion:.2f}, calculated" if expansion is not None else ""
        self.formula.setText(f"{here.formula}{told}")
        self.seen.setText(say_seen(here, self._ask))

    # What one does here

    def _open(self, glaze_id: int) -> None:
        self.accept()
        self.opened.emit(glaze_id)

    def _open_current(self) -> None:
        here = self.plot.current()
        if here is not None:
            self._open(here.glaze_id)

    def _hear_edit(self, touched: Touched) -> None:
        if touched.kinds & _SHOWN_BY and self.isVisible():
            self.refresh()

    def _take_size(self) -> None:
        look = theme.current()
        size = QSize(look.px(_MOST_WIDE), look.px(_MOST_HIGH))
        parent = self.parentWidget()
        if parent is not None:
            size = size.boundedTo(parent.window().size() - QSize(2 * _EDGE, 2 * _EDGE))
        self.resize(size)
