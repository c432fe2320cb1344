"""Every shared part on one sheet, light and dark, to be looked at.

QT_QPA_PLATFORM=offscreen python tests/ui/parts/gallery.py FOLDER
"""

import sys
from pathlib import Path

from PySide6.QtGui import QStandardItem, QStandardItemModel
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QGridLayout,
    QHBoxLayout,
    QPlainTextEdit,
    QPushButton,
    QRadioButton,
    QSpinBox,
    QTabBar,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.tokens import GLAZE_PATTERNS
from studiolog.ui.parts.choice import Choice, FlowLayout, PickOne, SegmentedChoice, TokenButton
from studiolog.ui.parts.fields import DayField, EditableNote, EditableText, LineField, NumberField
from studiolog.ui.parts.icon import IconButton, IconLabel
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.pattern import STAGES
from studiolog.ui.parts.rate_bar import RateBar
from studiolog.ui.parts.section import (
    Card,
    EmptyState,
    ErrorState,
    Figure,
    FootLine,
    LoadingState,
    PageTitle,
    Section,
    Text,
    link_button,
    primary_button,
)
from studiolog.ui.parts.severity import SeverityLabel, SeverityPicker
from studiolog.ui.parts.stage_bar import StageBar, StageChip
from studiolog.ui.parts.swatch import (
    ClayLook,
    ClaySwatch,
    CombinationSwatch,
    GlazeLook,
    GlazeSwatch,
)
from studiolog.ui.parts.table import dress_table

KELP = GlazeLook("Kelp", "#48654C", 0)
CHALK = GlazeLook("Chalk", "#F2EEE2", 1)
RUST_SHORE = GlazeLook("Rust Shore", "#92402A", 2)
TIDE = GlazeLook("Deep Tide", "#27407D", 3)
OAT = GlazeLook("Oat", "#DDC491", 4)
MORE = (
    GlazeLook("Slate", "#6B7780", 5),
    GlazeLook("Clear 4", "#D8E0D8", 6),
    GlazeLook("Ink", "#22262B", 7),
)
BUFF = ClayLook("Buff stoneware", "#C6A67C", "coarse")
IRON = ClayLook("Iron-red stoneware", "#7A3F2E", "fine")
PORCELAIN = ClayLook("Porcelain P2", "#E6E3DC", "none")
ICONS = (
    "search plus cross check camera kiln cone arrow_left arrow_right arrow_up arrow_down warning "
    "pencil undo redo clock link crazing crawling pinhole running blister shivering dunting "
    "bloating warping crack dry speck colour_off logo"
)


def row(*widgets: QWidget) -> QHBoxLayout:
    line = QHBoxLayout()
    line.setSpacing(8)
    for widget in widgets:
        line.addWidget(widget)
    line.addStretch(1)
    return line


def left_column() -> QVBoxLayout:
    column = QVBoxLayout()
    marks = Section("Marks", "square a piece, round a firing, tag a run", "Open")
    marks.add(
        row(
            NumberMark("piece", 412, 1),
            NumberMark("firing", 87, 1),
            NumberMark("run", 58, 1),
            NumberMark("piece"),
            NumberMark("firing"),
            NumberMark("run", "58", 1, 48),
            NumberMark("firing", "87", 1, 48),
        )
    )
    column.addWidget(marks)
    severity = Section("Severity")
    for level in (None, 0, 1, 2, 3):
        severity.add(row(SeverityLabel(level), SeverityPicker("Crazing", level)))
    column.addWidget(severity)
    stages = Section("Stages")
    legend = FlowLayout()
    for stage in STAGES:
        legend.addWidget(StageChip(stage, framed=stage == "fired"))
    stages.add(legend)
    stages.add(StageBar({"wet": 8, "leather_hard": 12, "bone_dry": 3, "lost": 1}))
    stages.add(StageBar({"bone_dry": 46, "bisque": 40, "glazed": 20, "fired": 10, "lost": 4}))
    stages.add(StageBar({"bisque": 4, "glazed": 8, "finished": 5, "lost": 1}))
    column.addWidget(stages)
    swatches = Section("Glazes and clays")
    glazes = (KELP, CHALK, RUST_SHORE, TIDE, OAT, *MORE)
    swatches.add(row(*(GlazeSwatch(glaze, place) for place, glaze in enumerate(glazes, 1))))
    swatches.add(row(*(GlazeSwatch(glaze) for glaze in glazes)))
    swatches.add(
        row(
            ClaySwatch(BUFF),
            ClaySwatch(IRON),
            ClaySwatch(PORCELAIN),
            CombinationSwatch([KELP, CHALK]),
            CombinationSwatch([CHALK, RUST_SHORE], IRON),
            CombinationSwatch([OAT], BUFF),
            CombinationSwatch([OAT, TIDE, CHALK], PORCELAIN),
        )
    )
    column.addWidget(swatches)
    column.addStretch(1)
    return column


def middle_column() -> QVBoxLayout:
    column = QVBoxLayout()
    card = Card()
    card.add(Text("Rates", "head", 600))
    for rate in (
        (4, 14, 0.12, 0.55),
        (9, 12, 0.47, 0.91),
        (0, 11, 0.0, 0.26),
        (1, 3, 0.06, 0.79),
        (0, 0, 0.0, 1.0),
    ):
        card.add(RateBar(*rate))
    column.addWidget(card)
    figures = QHBoxLayout()
    figures.addWidget(Figure("Peak", "1209 °C", "asked 1208"))
    figures.addWidget(Figure("Above 1100 °C", "2 h 54", "usual 2 h 48"))
    column.addLayout(figures)
    choices = Section("Choosing")
    clays = [
        Choice(1, "Buff", BUFF),
        Choice(2, "Iron-red", IRON),
        Choice(3, "Porcelain", PORCELAIN),
    ]
    segmented = SegmentedChoice("Clay", clays)
    segmented.choose(2)
    choices.add(segmented)
    pick = PickOne("Glaze", [Choice(g.name, g.name, g) for g in (KELP, CHALK, OAT)])
    pick.choose("Chalk")
    choices.add(pick)
    sentence = FlowLayout()
    for word in ("How often does", "*running", "show on the", "*outside, lower", "fired to"):
        sentence.addWidget(
            TokenButton(word[1:], large=True) if word[0] == "*" else Text(word, "figure")
        )
    sentence.addWidget(TokenButton("cone 6"))
    choices.add(sentence)
    column.addWidget(choices)
    icons = Section("Icons")
    flow = FlowLayout(spacing=10)
    for name in ICONS.split():
        flow.addWidget(IconLabel(name, "ink", 20, name))
    flow.addWidget(IconButton("pencil", "Edit"))
    flow.addWidget(IconLabel("logo", "ink", 32))
    flow.addWidget(IconLabel("crazing", "rust", 32))
    icons.add(flow)
    column.addWidget(icons)
    patterns = Section("Patterns large")
    grid = QHBoxLayout()
    for name in GLAZE_PATTERNS:
        swatch = GlazeSwatch(GlazeLook(name, "#92402A", name))
        swatch.setFixedSize(44, 44)
        grid.addWidget(swatch)
    patterns.add(grid)
    column.addWidget(patterns)
    column.addStretch(1)
    return column


def right_column() -> QVBoxLayout:
    column = QVBoxLayout()
    tabs = QTabBar()
    for name in ("Bench", "Pieces", "Firings"):
        tabs.addTab(name)
    tabs.setDrawBase(False)
    tabs.setExpanding(False)
    column.addWidget(tabs)
    off = QPushButton("Not now")
    off.setEnabled(False)
    column.addLayout(
        row(
            primary_button("Save, next cup"),
            QPushButton("Add log file"),
            off,
            link_button("Open all"),
        )
    )
    number = NumberField("Dry weight", "g", 412.5)
    wrong = NumberField("Water", "ml", hint="400")
    wrong.line.setText("4,2.1")
    wrong._finish()
    column.addLayout(row(number, wrong))
    column.addWidget(LineField("Name", "Ripple tumbler"))
    column.addWidget(DayField("Fired on"))
    column.addWidget(EditableText("Name", "Dip Chalk 2 s, not 3.", size="head"))
    column.addWidget(EditableNote("Note", "", "Add a note"))
    box, radio = QCheckBox("Trim 12 soup bowls"), QRadioButton("Round")
    box.setChecked(True)
    radio.setChecked(True)
    spin = QSpinBox()
    spin.setValue(12)
    column.addLayout(row(box, QCheckBox("Cover lantern walls"), radio, spin))
    note = QPlainTextEdit("Drips stop 3 mm above the foot.")
    note.setFixedHeight(56)
    column.addWidget(note)
    table = QTableView()
    model = QStandardItemModel(4, 3)
    model.setHorizontalHeaderLabels(["Form", "Clay", "Shrunk"])
    for line in range(4):
        for place, word in enumerate(("Tumbler", "Buff", "12.7 %")):
            model.setItem(line, place, QStandardItem(word))
    table.setModel(model)
    model.setParent(table)
    dress_table(table)
    table.selectRow(1)
    table.setFixedHeight(150)
    column.addWidget(table)
    column.addWidget(EmptyState("Nothing on the bench.", "Throw something, or:", "Start a run"))
    column.addWidget(LoadingState("Reading the log of firing 87"))
    column.addWidget(ErrorState("Line 214 is not a reading: “12:0x, 811”.", "Show the line"))
    column.addStretch(1)
    return column


def build_gallery() -> QWidget:
    """All parts on one sheet, 1440 wide."""
    sheet = QWidget()
    rows = QVBoxLayout(sheet)
    rows.setContentsMargins(32, 16, 32, 0)
    title = PageTitle("Ripple tumbler", "Buff stoneware, thrown 11 Sep 2026, run")
    title.facts.insertWidget(1, NumberMark("run", 58, 1))
    title.set_mark(NumberMark("piece", 412, 1, 48))
    title.add_action(StageChip("fired"))
    title.add_action(QPushButton("Inspect again"))
    rows.addWidget(title)
    columns = QGridLayout()
    columns.setHorizontalSpacing(24)
    for place, column in enumerate((left_column(), middle_column(), right_column())):
        columns.addLayout(column, 0, place)
        columns.setColumnStretch(place, 1)
    rows.addLayout(columns, 1)
    rows.addWidget(FootLine([(("A", "D"), "move divider"), (("Ctrl", "K"), "find")], "Saved 14:06"))
    sheet.resize(1440, 1080)
    return sheet


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    look = theme.current()
    look.apply(app)
    sheet = build_gallery()
    sheet.show()
    for setting, scale in (("light", 100), ("dark", 100), ("light", 150)):
        look.set_setting(setting)
        look.set_text_scale(scale)
        app.processEvents()
        sheet.grab().save(str(folder / f"gallery-{setting}-{scale}.png"))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
