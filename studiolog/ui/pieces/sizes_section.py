"""Sizes and weights from wet to fired, each changed where it stands; shrinkage beside them."""

from functools import partial

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QSizePolicy, QWidget

from studiolog.craft.words import STAGES
from studiolog.desktop import theme
from studiolog.journal.piece_changes import measure
from studiolog.journal.piece_page import PiecePage
from studiolog.problems import UserProblem
from studiolog.ui.parts.drawing import Drawing, path_of, pen
from studiolog.ui.parts.fields import EditableText, ProblemLine, read_number, write_number
from studiolog.ui.parts.section import Hairline, Section, Text
from studiolog.ui.parts.wall_geometry import checked_profile
from studiolog.ui.pieces.looks import per_cent, wall_profile
from studiolog.ui.pieces.page_edits import PageEdits, clear, keeping_focus

_ALWAYS = ("wet", "bisque", "fired")
_GLAZING = ("bisque", "glazed")
"""A piece that stands at one of these may be weighed with its raw glaze."""
_SIZED = ("wet", "leather_hard", "bone_dry", "bisque", "fired")
_RAW = ("mass_g", "glazed")
"""With its glaze raw and dry a piece is weighed, for what it took up, and not measured again."""
_RAW_WORDS = "Weight glazed, dry, g"
_MEASURES = (
    ("height_mm", "Height, mm", 1),
    ("across_mm", "Rim across, mm", 1),
    ("mark_mm", "Marks apart, mm", 1),
    ("wall_mm", "Wall, mm", 1),
    ("mass_g", "Weight, g", 1),
)
_LINES: dict[str, tuple[str, tuple[float, float] | None]] = {
    "wet": ("ink3", None),
    "leather_hard": ("ink3", (2, 3)),
    "bone_dry": ("ink3", (1, 2)),
    "bisque": ("rust", (3, 2)),
    "fired": ("ink", None),
}


class SizeOutlines(Drawing):
    """The outlines of the piece at each stage it was measured at, standing on one foot."""

    def __init__(self) -> None:
        super().__init__("Outlines wet to fired")
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._page: PiecePage | None = None
        self.tell()

    def show_page(self, page: PiecePage) -> None:
        """Draw the sizes of a piece."""
        self._page = page
        self.tell()

    def _sized(self) -> list[tuple[str, float, float | None]]:
        if self._page is None:
            return []
        return [
            (line.stage, line.height_mm, line.across_mm)
            for line in self._page.sizes
            if line.height_mm is not None and line.stage in _SIZED
        ]

    def sentence(self) -> str:
        """``Height wet 118 mm, bisque 112 mm, fired 103 mm.``"""
        told = [f"{STAGES[stage]} {write_number(tall, 1)} mm" for stage, tall, _ in self._sized()]
        return f"Height {', '.join(told)}." if told else "No size measured yet."

    def sizeHint(self) -> QSize:
        return self.asked(74, 88)

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        sized = self._sized()
        room = self.frame().adjusted(3, 6, -3, -4)
        painter.setPen(pen("ink", 1.5))
        painter.drawLine(QRectF(room).bottomLeft().toPoint(), QRectF(room).bottomRight().toPoint())
        form = self._page.form if self._page is not None else None
        outside = checked_profile(wall_profile(form.profile) if form else None).outside
        tall = max(height for _, height in outside)
        rim = 2 * outside[-1][0]
        widest = 2 * max(radius for radius, _ in outside)
        if sized:
            highest = max(height for _, height, _ in sized)
            scale = min(room.height() / highest, room.width() / (widest * highest / tall * 1.05))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for stage, height, across in sized:
            up = height / tall * scale
            # A closed form meets in a point: it has no rim to measure its width by.
            out = across / rim * scale if across and rim else up
            half = [(radius * out, room.bottom() - level * up) for radius, level in outside]
            middle = room.center().x()
            outline = [(middle - x, y) for x, y in half] + [
                (middle + x, y) for x, y in reversed(half)
            ]
            token, dash = _LINES[stage]
            painter.setPen(pen(token, 1.25, dash))
            painter.drawPath(path_of(outline))
        painter.end()


class _StageHead(QWidget):
    """A column's head: its line as drawn, and the stage."""

    def __init__(self, stage: str) -> None:
        super().__init__()
        self._stage = stage
        self.setAccessibleName(STAGES[stage])
        self._words = Text(STAGES[stage], "secondary", tone="ink2")
        row = QHBoxLayout(self)
        row.setContentsMargins(18, 0, 0, 0)
        row.addStretch(1)
        row.addWidget(self._words)
        theme.current().changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        token, dash = _LINES[self._stage]
        painter = QPainter(self)
        painter.setPen(pen(token, 1.5, dash))
        y = self.height() // 2
        end = self._words.x() - 4
        painter.drawLine(max(0, end - 16), y, end, y)


class NumberCell(EditableText):
    """A number of a table, flush right, changed where it stands; a dash while it is unknown."""

    def __init__(self, about: str, weight: int = 400) -> None:
        super().__init__(about, "", "–", "body", weight)
        self._shown.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._line.setAlignment(Qt.AlignmentFlag.AlignRight)


class SizesSection(Section):
    """The table. A cell is a number typed in place; an empty one takes the measurement away."""

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__("Sizes, wet to fired", parent=parent)
        self.quiet.setToolTip("Linear, on the wet size; beside it what is usual for this clay")
        self._edits = edits
        self.cells: dict[tuple[str, str], NumberCell] = {}
        self.outlines = SizeOutlines()
        self.problem = ProblemLine()
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(0)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self.outlines, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(self._grid, 1)
        self.add(row)
        self.add(self.problem)
        self._stages: tuple[str, ...] = ()

    def show_page(self, page: PiecePage) -> None:
        """Show what was measured; a cell being typed in is left alone."""
        measured = {line.stage for line in page.sizes}
        stages = tuple(stage for stage in _SIZED if stage in _ALWAYS or stage in measured)
        raw = "glazed" in measured or page.stage in _GLAZING
        if stages != self._stages or raw != (_RAW in self.cells):
            with keeping_focus(self):
                self._lay_out(stages, raw)
        for (name, stage), cell in self.cells.items():
            decimals = next(d for key, _, d in _MEASURES if key == name)
            cell.set_text(write_number(getattr(page.size(stage), name), decimals))
        for name, label in self._shrunk.items():
            label.setText(self._shrunk_words(page, name))
        self.outlines.show_page(page)
        self.outlines.setVisible(any(line.height_mm for line in page.sizes))
        self.set_quiet(*_shrinkage_words(page))

    def _lay_out(self, stages: tuple[str, ...], raw: bool) -> None:
        clear(self._grid)
        self._stages = stages
        self.cells, self._shrunk = {}, {}
        for column, stage in enumerate(stages, start=1):
            self._grid.addWidget(_StageHead(stage), 0, column)
        head = Text("shrunk", "secondary", tone="ink3")
        head.setAlignment(Qt.AlignmentFlag.AlignRight)
        self._grid.addWidget(head, 0, len(stages) + 1)
        for place, (name, words, _decimals) in enumerate(_MEASURES):
            row = 2 + 2 * place
            self._grid.addWidget(Hairline(), row - 1, 0, 1, len(stages) + 2)
            self._grid.addWidget(Text(words, "body"), row, 0)
            for column, stage in enumerate(stages, start=1):
                self._add_cell(f"{words}, {STAGES[stage]}", (name, stage), row, column)
            self._add_shrunk(name, row, len(stages) + 1)
        if raw:
            row = 2 + 2 * len(_MEASURES)
            self._grid.addWidget(Hairline(), row - 1, 0, 1, len(stages) + 2)
            self._grid.addWidget(Text("Glazed, dry, g", "body"), row, 0)
            # It is weighed between bisque and the glaze firing.
            self._add_cell(_RAW_WORDS, _RAW, row, stages.index("bisque") + 1)
            self._add_shrunk("raw", row, len(stages) + 1)
        self._grid.setColumnStretch(0, 2)
        for column in range(1, len(stages) + 2):
            self._grid.setColumnStretch(column, 1)

    def _add_cell(self, about: str, key: tuple[str, str], row: int, column: int) -> None:
        name, stage = key
        cell = NumberCell(about, 600 if stage == "fired" else 400)
        cell.setObjectName(f"size_{name}_{stage}")
        cell.edited.connect(partial(self._measure, name, stage))
        cell.setMinimumWidth(theme.current().px(38))
        self.cells[key] = cell
        self._grid.addWidget(cell, row, column)

    def _add_shrunk(self, name: str, row: int, column: int) -> None:
        shrunk = Text("", "body", tone="ink2")
        shrunk.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._shrunk[name] = shrunk
        self._grid.addWidget(shrunk, row, column)

    _shrunk: dict[str, Text]

    def _shrunk_words(self, page: PiecePage, name: str) -> str:
        if name in page.shrinkages:
            return per_cent(page.shrinkages[name])
        if name == "raw":
            bisque, raw = page.size("bisque").mass_g, page.size("glazed").mass_g
            if bisque and raw:
                return f"{'+' if raw >= bisque else ''}{write_number(raw - bisque, 1)} g"
        if name == "mass_g":
            bisque, fired = page.size("bisque").mass_g, page.size("fired").mass_g
            if bisque and fired:
                gained = fired - bisque
                return f"glaze {'+' if gained >= 0 else '−'}{abs(gained):.0f} g"
        return ""

    def _measure(self, name: str, stage: str, typed: str) -> None:
        page = self._edits.page
        if page is None:
            return
        words = next(label for key, label, _ in _MEASURES if key == name).split(",")[0]
        line = page.size(stage)
        try:
            value = read_number(typed, "g" if name == "mass_g" else "mm")
            if value is not None and value <= 0:
                raise UserProblem(f"{words}, {STAGES[stage]}: write a number above 0.")
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            self.show_page(page)
            return
        kept = self._edits.run(
            "Measure",
            lambda session: measure(session, page.piece_id, stage, line.version, name, value),
            self.problem,
        )
        if not kept and self._edits.page is not None:
            self.show_page(self._edits.page)


def _shrinkage_words(page: PiecePage) -> tuple[str, str]:
    usual = page.clay.usual_shrinkage if page.clay else None
    usual_words = ""
    if usual is not None and page.clay is not None:
        basis = "" if page.clay.usual_basis == "stated" else f" ({page.clay.usual_basis})"
        usual_words = f"usual {per_cent(usual)}{basis}"
    if page.shrinkage is None:
        return usual_words, "ink3"
    words = f"shrinkage {per_cent(page.shrinkage)}"
    return (f"{words}, {usual_words}" if usual_words else words), "ink2"
