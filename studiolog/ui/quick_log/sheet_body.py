"""The controls of the sheet and where they stand: head, three columns, foot."""

from itertools import pairwise

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import COLUMN_GAP, FIGURE, RADIUS_STAMP
from studiolog.ui.parts.choice import PickOne
from studiolog.ui.parts.fields import LineField, ProblemLine
from studiolog.ui.parts.glaze_section import GlazeSection
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import Hairline, KeyCap, KeyedButton, KeyHint, link_button
from studiolog.ui.parts.surface_words import SurfaceWords
from studiolog.ui.parts.text import Caption, Elided, Text
from studiolog.ui.quick_log.clay_field import ClayField
from studiolog.ui.quick_log.fault_rows import FaultRows
from studiolog.ui.quick_log.field_head import FieldHead, FilledRing
from studiolog.ui.quick_log.firing_field import FiringField
from studiolog.ui.quick_log.layer_field import LayerField
from studiolog.ui.quick_log.photo_column import PhotoColumn

_INSET = 24
_THREE_FROM, _TWO_FROM = 980, 780
"""Widths of the sheet, at text of 100 per cent, from which it has three and two columns."""


class NumberLine(QLineEdit):
    """The piece number in its stamp, typed over to open another piece."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Piece number")
        self.setAccessibleDescription("Type the number of a piece and Enter to open it")
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._dress()
        theme.current().changed.connect(self._dress)

    def _dress(self) -> None:
        look = theme.current()
        size, tall = look.px(FIGURE[0]), look.px(32)
        ink, cobalt = look.color("ink").name(), look.color("cobalt").name()
        self.setFixedWidth(look.px(76))
        self.setStyleSheet(
            f"QLineEdit {{ font-size: {size}px; font-weight: 600; border: 2px solid {ink};"
            f" border-radius: {RADIUS_STAMP}px; padding: 0 4px; min-height: {tall}px;"
            f" max-height: {tall}px; }}"
            f" QLineEdit:focus {{ border: 2px solid {cobalt}; padding: 0 4px;"
            f" min-height: {tall}px; max-height: {tall}px; }}"
        )


class _Columns(QWidget):
    """Keeps the height its wrapped words need at the width it has.

    A scroll area asks only for the least size at any width, and would squeeze the rows instead.
    """

    def event(self, event: QEvent) -> bool:
        done = super().event(event)
        if event.type() in (QEvent.Type.LayoutRequest, QEvent.Type.Resize):
            layout = self.layout()
            if layout is not None:
                needed = layout.minimumHeightForWidth(self.width())
                if needed != self.minimumHeight():
                    self.setMinimumHeight(needed)
        return done


class SheetBody(QWidget):
    """All controls of the sheet; what they do is the sheet's."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addWidget(self._build_head())
        rows.addWidget(Hairline())
        # Into its parents first: a style sheet dresses anew whatever changes its parent.
        columns = _Columns()
        self.reel = QScrollArea(self)
        self.reel.setWidget(columns)
        self.reel.setWidgetResizable(True)
        self.reel.setFrameShape(QFrame.Shape.NoFrame)
        self.reel.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.reel.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.reel.viewport().setAutoFillBackground(False)
        columns.setAutoFillBackground(False)
        self.columns = columns
        self._grid = QGridLayout(columns)
        self._grid.setContentsMargins(_INSET, 14, _INSET, 14)
        self._grid.setHorizontalSpacing(COLUMN_GAP)
        self._grid.setVerticalSpacing(COLUMN_GAP)
        self._parts = (self._build_left(desk), self._build_middle(), self._build_right())
        self._across = 0
        self._arrange()
        theme.current().changed.connect(self._arrange)
        rows.addWidget(self.reel, 1)
        rows.addWidget(Hairline())
        rows.addWidget(self._build_foot())
        self._order_tabs()

    def minimumSizeHint(self) -> QSize:
        """Qt: the sheet is never wider than its window; what has no room is left out."""
        return QSize(0, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()
        self._fit_hints()

    def _arrange(self) -> None:
        """Three columns; with larger text in a small window two, and in the end one."""
        room = self.width() * 100 / theme.current().text_scale
        across = 3 if room >= _THREE_FROM else 2 if room >= _TWO_FROM else 1
        if across == self._across:
            return
        self._across = across
        left, middle, right = self._parts
        for part in self._parts:
            self._grid.removeWidget(part)
        for column, stretch in enumerate({3: (274, 416, 258), 2: (372, 288, 0)}.get(across, ())):
            self._grid.setColumnStretch(column, stretch)
        if across == 3:
            for column, part in enumerate(self._parts):
                self._grid.addWidget(part, 0, column)
        elif across == 2:
            self._grid.addWidget(middle, 0, 0, 2, 1)
            self._grid.addWidget(right, 0, 1)
            self._grid.addWidget(left, 1, 1)
        else:
            for row, part in enumerate((middle, right, left)):
                self._grid.addWidget(part, row, 0)

    def _fit_hints(self) -> None:
        """Show whole hints only, as many as the foot has room for."""
        buttons = (self.waiting, self.save, self.save_next)
        room = self.width() - 2 * _INSET - sum(b.sizeHint().width() + 16 for b in buttons)
        for hint in self._hints:
            room -= hint.sizeHint().width() + 16
            hint.setVisible(room >= 0)

    def _build_head(self) -> QWidget:
        head = QWidget()
        row = QHBoxLayout(head)
        row.setContentsMargins(_INSET, 12, _INSET, 12)
        row.setSpacing(12)
        self.number = NumberLine()
        self.title = Elided("", "figure", 600)
        self.state = Elided("", "secondary", tone="ink3")
        self.number_problem = ProblemLine()
        self.carried = Elided("", "secondary", tone="ink2")
        self.elapsed = Text("0 s", "body", 600)
        self.elapsed.setAccessibleName("Time since the sheet was opened")
        self.elapsed.setToolTip("Time since the sheet was opened")
        row.addWidget(self.number)
        row.addWidget(self.title)
        row.addWidget(self.state)
        row.addWidget(self.number_problem)
        row.addStretch(1)
        row.addWidget(self._build_taken_up())
        row.addWidget(self.carried)
        row.addWidget(IconLabel("clock", "ink2", 16))
        row.addWidget(self.elapsed)
        row.addWidget(KeyCap("Esc"))
        return head

    def _build_taken_up(self) -> QWidget:
        self.taken_up = QWidget()
        row = QHBoxLayout(self.taken_up)
        row.setContentsMargins(0, 0, 12, 0)
        row.setSpacing(12)
        self.taken_up_words = Elided("Taken up where you left it.", "secondary", tone="ink2")
        self.afresh = link_button("Start afresh")
        row.addWidget(self.taken_up_words)
        row.addWidget(self.afresh)
        self.taken_up.hide()
        return self.taken_up

    def _build_left(self, desk: Desk) -> QWidget:
        self.photos = PhotoColumn(desk)
        self.photo_problem = ProblemLine()
        self.size_head = FieldHead("Size and weight")
        self.height_field = LineField("Height", unit="mm")
        self.across_field = LineField("Across", unit="mm")
        self.mass_field = LineField("Weight", unit="g")
        sizes = QHBoxLayout()
        sizes.setSpacing(12)
        for field in (self.height_field, self.across_field, self.mass_field):
            field.line.setAlignment(Qt.AlignmentFlag.AlignRight)
            sizes.addWidget(field, 1, Qt.AlignmentFlag.AlignTop)
        column, rows = _column()
        rows.addWidget(self.photos, 1)
        rows.addWidget(self.photo_problem)
        rows.addSpacing(12)
        rows.addWidget(self.size_head)
        rows.addSpacing(4)
        rows.addLayout(sizes)
        return column

    def _build_middle(self) -> QWidget:
        self.clay_head = FieldHead("Clay", "Alt 1")
        self.clay = ClayField()
        self.form = PickOne("Form", (), "Form")
        self.run = PickOne("Run", (), "Run, if any")
        self.layers_head = FieldHead("Glaze, in the order it went on", "Alt 2")
        self.layers = LayerField()
        self.firing_head = FieldHead("Firing and shelf", "Alt 3")
        self.firing = FiringField()
        self.faults_head = FieldHead("Faults: letter, then 0 to 3", "Alt 4")
        self.faults = FaultRows()
        self.surface_head = FieldHead("Surface: a letter a word", "Alt 6")
        self.surface = SurfaceWords(compact=True)
        self.next_ring = FilledRing()
        self.next_time = QLineEdit()
        self.next_time.setPlaceholderText("one line, if any")
        self.next_time.setAccessibleName("Next time")
        pair = QHBoxLayout()
        pair.setSpacing(8)
        pair.addWidget(self.form, 1)
        pair.addWidget(self.run, 1)
        for pick in (self.form, self.run):
            pick.setMinimumContentsLength(8)
            pick.setSizeAdjustPolicy(PickOne.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.firing.pick.setMinimumContentsLength(16)
        self.firing.pick.setSizeAdjustPolicy(
            PickOne.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        last = QHBoxLayout()
        last.setSpacing(8)
        last.addWidget(self.next_ring)
        last.addWidget(Text("Next time", "body", 600))
        last.addWidget(self.next_time, 1)
        last.addWidget(KeyCap("Alt 5"))
        column, rows = _column()
        for head, field in (
            (self.clay_head, self.clay),
            (None, pair),
            (self.layers_head, self.layers),
            (self.firing_head, self.firing),
            (self.faults_head, self.faults),
            (self.surface_head, self.surface),
            (None, last),
        ):
            if head is not None:
                rows.addWidget(head)
                rows.addSpacing(2)
            if isinstance(field, QWidget):
                rows.addWidget(field)
            else:
                rows.addLayout(field)
            rows.addSpacing(8 if head is self.clay_head else 12)
        rows.addStretch(1)
        return column

    def _build_right(self) -> QWidget:
        self.drawing = GlazeSection(compact=True)
        self.answer = Text("", "secondary", tone="ink", wrap=True)
        self.unknown = Text("", "secondary", tone="ochre", wrap=True)
        self.unknown_sign = IconLabel("warning", "ochre", 16)
        warned = QHBoxLayout()
        warned.setSpacing(8)
        warned.addWidget(self.unknown_sign, 0, Qt.AlignmentFlag.AlignTop)
        warned.addWidget(self.unknown, 1)
        column, rows = _column()
        rows.addWidget(Text("As it will be drawn", "body", 600))
        rows.addSpacing(8)
        rows.addWidget(self.drawing)
        rows.addSpacing(12)
        rows.addWidget(self.answer)
        rows.addSpacing(8)
        rows.addLayout(warned)
        rows.addStretch(1)
        return column

    def _build_foot(self) -> QWidget:
        foot = QWidget()
        rows = QVBoxLayout(foot)
        rows.setContentsMargins(_INSET, 10, _INSET, 10)
        rows.setSpacing(4)
        self.problem = ProblemLine()
        self.save = KeyedButton("Save", "Enter")
        self.save_next = KeyedButton("Save, next cup", "Ctrl Enter")
        self.save_next.setProperty("role", "primary")
        self.save_next.setAccessibleName("Save, and log the next cup like it")
        self.waiting = Caption("", "ink2")
        row = QHBoxLayout()
        row.setSpacing(16)
        self._hints: list[KeyHint] = []
        for keys, does in (
            (("Tab",), "next field"),
            (("Ctrl", "D"), "looked for all, none seen"),
            (("Ctrl", "G"), "take what is offered in grey"),
        ):
            self._hints.append(KeyHint(keys, does))
            row.addWidget(self._hints[-1])
        row.addStretch(1)
        row.addWidget(self.waiting)
        row.addWidget(self.save)
        row.addWidget(self.save_next)
        rows.addWidget(self.problem)
        rows.addLayout(row)
        for button in (self.save, self.save_next, self.afresh):
            button.setAutoDefault(False)
        return foot

    def _order_tabs(self) -> None:
        order: list[QWidget] = [
            self.number,
            self.clay.row,
            self.clay.pick,
            self.form,
            self.run,
            self.layers.line,
            self.firing.pick,
            self.faults,
            self.surface,
            self.next_time,
            self.photos,
            self.height_field.line,
            self.across_field.line,
            self.mass_field.line,
            self.drawing,
            self.save,
            self.save_next,
            self.afresh,
        ]
        for one, other in pairwise(order):
            QWidget.setTabOrder(one, other)


def _column() -> tuple[QWidget, QVBoxLayout]:
    column = QWidget()
    rows = QVBoxLayout(column)
    rows.setContentsMargins(0, 0, 0, 0)
    rows.setSpacing(2)
    return column, rows
