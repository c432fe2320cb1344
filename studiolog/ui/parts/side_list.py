"""The list beside a page: a filter, one row a thing with its look and count, archived on demand."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QImage, QKeyEvent, QPainter, QPainterPath
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLineEdit, QPushButton, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.ui.parts.basis_mark import BasisLook, paint_basis
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.half_section import FormShape, paint_half_section
from studiolog.ui.parts.icon import paint_icon
from studiolog.ui.parts.painted_list import Heading, Index, PaintedList, PaintedRows, write
from studiolog.ui.parts.program_look import ProgramLook, paint_program
from studiolog.ui.parts.section import Hairline
from studiolog.ui.parts.swatch import (
    ClayLook,
    GlazeLook,
    paint_clay_swatch,
    paint_glaze_swatch,
)
from studiolog.ui.parts.text import Caption, Text

HIGH = 48
WIDE = 288


@dataclass(frozen=True)
class ListRow:
    """A thing in the list; ``look`` is drawn before it: a swatch, a form, a program's line, the
    mark of an analysis, a small picture, or an icon's name. Rows of one ``group`` stand together
    under it as their heading."""

    ident: int
    title: str
    quiet: str
    count: int
    archived: bool = False
    look: GlazeLook | ClayLook | FormShape | ProgramLook | BasisLook | QImage | str | None = None
    counted: str = "pieces"
    group: str = ""


def _answers(row: ListRow, words: Sequence[str]) -> bool:
    """Whether every word is found; where rows are grouped a number must be found whole.

    "glaze 6" is then the glaze programs of cone 6, and not those of cone 06 or to 1060 °C.
    """
    said = f"{row.title} {row.quiet} {row.group}".casefold()
    whole = set(re.findall(r"[\w½]+", said))
    return all(word in whole if row.group and word[0].isdigit() else word in said for word in words)


def _with_headings(rows: Sequence[ListRow]) -> list[ListRow | Heading]:
    """The rows, each group that has a name under its heading."""
    found: list[ListRow | Heading] = []
    for group, members in groupby(rows, key=lambda row: row.group):
        under = list(members)
        found += [Heading(group, len(under)), *under] if group else under
    return found


def _say_row(row: ListRow) -> str:
    gone = ", archived" if row.archived else ""
    return f"{row.title}, {row.quiet}, {row.count} {row.counted}{gone}"


def _paint_row(painter: QPainter, box: QRectF, row: ListRow, chosen: bool) -> None:
    look = theme.current()
    left = box.left() + 10
    if row.look is not None:
        _paint_look(painter, QRectF(left, box.top() + 8, look.px(32), box.height() - 16), row)
        left += look.px(32) + 10
    _write_row(painter, QRectF(left, box.top(), box.right() - left - 10, box.height()), row)


def _paint_look(painter: QPainter, box: QRectF, row: ListRow) -> None:
    look = theme.current()
    side = look.px(20)
    square = QRectF(box.center().x() - side / 2, box.center().y() - side / 2, side, side)
    if isinstance(row.look, GlazeLook):
        paint_glaze_swatch(painter, QRectF(box.left(), square.top(), box.width(), side), row.look)
    elif isinstance(row.look, ClayLook):
        paint_clay_swatch(painter, square, row.look)
    elif isinstance(row.look, FormShape):
        paint_half_section(painter, box, row.look)
    elif isinstance(row.look, ProgramLook):
        paint_program(painter, box.adjusted(0, 2, 0, -2), row.look)
    elif isinstance(row.look, BasisLook):
        inset = look.px(2)
        paint_basis(painter, square.adjusted(inset, inset, -inset, -inset), row.look.basis)
    elif isinstance(row.look, QImage):
        _paint_picture(painter, box, row.look)
    elif isinstance(row.look, str):
        paint_icon(painter, square, row.look, look.color("ink2"))


def _paint_picture(painter: QPainter, box: QRectF, image: QImage) -> None:
    """The middle of a picture, filling the box."""
    grow = max(box.width() / image.width(), box.height() / image.height())
    part = QRectF(0, 0, box.width() / grow, box.height() / grow)
    part.moveCenter(QRectF(image.rect()).center())
    frame = QPainterPath()
    frame.addRoundedRect(box, 3, 3)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    painter.setClipPath(frame)
    painter.drawImage(box, image, part)
    painter.restore()


def _write_row(painter: QPainter, box: QRectF, row: ListRow) -> None:
    count = str(row.count) if row.count else "–"
    wide = write(painter, box, count, tone="ink2", size=SECONDARY, right=True)
    words = box.adjusted(0, 0, -wide - 8, 0)
    quiet = " · ".join(filter(None, ("archived" if row.archived else "", row.quiet)))
    half = box.height() / 2
    upper = QRectF(words.left(), words.top() + 5, words.width(), half - 4) if quiet else words
    write(painter, upper, row.title, 600, "ink3" if row.archived else "ink")
    lower = QRectF(words.left(), words.top() + half, words.width(), half - 5)
    write(painter, lower, quiet, tone="ink3", size=CAPTION)


class _Filter(QLineEdit):
    """Enter or ↓ leads into the list, and never on to the screen, where Enter would act on what
    the filter has hidden."""

    left = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Down):
            self.left.emit()
        else:
            super().keyPressEvent(event)


class SideList(QWidget):
    """``chosen`` carries the id of a row, ``add_asked`` the name typed for a new thing,
    ``archived_asked`` whether archived ones are wanted too. ``new_more`` stands under the name
    while a new thing is being named."""

    chosen = Signal(int)
    add_asked = Signal(str)
    archived_asked = Signal(bool)

    def __init__(
        self,
        plural: str,
        noun: str,
        counted: str = "pieces",
        new_more: QWidget | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._noun = noun
        self._all: tuple[ListRow, ...] = ()
        self._current = 0
        self.title = Text(plural, "title", 600)
        self.new_button = QPushButton(f"New {noun}")
        self.new_button.setToolTip("N")
        self.new_name = LineField(f"Name of the new {noun}", hint="Enter keeps, Esc gives up")
        self.add_button = self.new_name.add_button("Add")
        self.new_name.hide()
        self.filter = _Filter()
        self.filter.setMaxLength(200)  # what answers nothing is said back, and not a page of it
        self.filter.setPlaceholderText("Filter")
        self.filter.setClearButtonEnabled(True)
        self.filter.setAccessibleName(f"Filter the {plural.lower()}")
        self._model = PaintedRows(_say_row, lambda row: str(row.title))
        self.list = PaintedList(plural, HIGH, _paint_row, self._model)
        self.none = Text("", "secondary", tone="ink2", wrap=True)
        self.none.hide()
        self.archived = QCheckBox("Show archived")
        self.head_right = Caption(counted)
        head = QHBoxLayout()
        head.addWidget(self.title, 1)
        head.addWidget(self.new_button)
        quiet = QHBoxLayout()
        quiet.setContentsMargins(0, 0, 10, 0)
        quiet.addStretch(1)
        quiet.addWidget(self.head_right)
        self._new_more = new_more
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 16, 0, 8)
        rows.setSpacing(8)
        rows.addLayout(head)
        rows.addWidget(self.new_name)
        if new_more is not None:
            new_more.hide()
            rows.addWidget(new_more)
        rows.addWidget(self.filter)
        rows.addLayout(quiet)
        rows.addWidget(Hairline())
        rows.addWidget(self.none)
        rows.addWidget(self.list, 1)
        rows.addWidget(self.archived)
        self._feet = rows
        rows.addStretch(0)
        self.setFixedWidth(theme.current().px(WIDE))
        self.new_button.clicked.connect(self.start_new)
        self.new_name.line.returnPressed.connect(self._add)
        self.add_button.clicked.connect(self._add)
        self.filter.textChanged.connect(lambda _text: self._sift())
        self.filter.left.connect(self._go_into_list)
        self.archived.toggled.connect(self.archived_asked)
        self.list.selectionModel().currentChanged.connect(self._hear_current)

    def add_foot(self, widget: QWidget) -> None:
        """Put something under the list."""
        self._feet.insertWidget(self._feet.count() - 1, widget)

    def show_rows(self, rows: Sequence[ListRow], current: int) -> None:
        """Show the things, with one of them chosen, without telling anyone."""
        other = current != self._current
        self._all, self._current = tuple(rows), current
        for part in (self.head_right, self.filter, self.list):
            part.setVisible(bool(rows))
        self._sift()
        if other and self.list.currentIndex().isValid():
            self.list.scrollTo(self.list.currentIndex())

    def take_room(self, whole: int) -> None:
        """Stand in a screen this wide: with large text a list leaves most of it to the page."""
        wide = theme.current().px(WIDE)
        head = self.title.sizeHint().width() + 8 + self.new_button.sizeHint().width()
        self.setFixedWidth(min(wide, max(WIDE, head, round(whole * 0.32))))

    def rows(self) -> tuple[ListRow, ...]:
        """The rows that answer the filter."""
        return tuple(row for row in self._model.rows if isinstance(row, ListRow))

    def start_new(self) -> None:
        """Ask for the name of a new thing."""
        self.new_name.set_text("")
        self.new_name.show()
        if self._new_more is not None:
            self._new_more.show()
        self.new_name.line.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def end_new(self) -> None:
        """Take the name field away."""
        self.new_name.hide()
        if self._new_more is not None:
            self._new_more.hide()
        first = self.list if self._all else self.new_button
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.new_name.isVisible():
            self.end_new()
        elif event.key() == Qt.Key.Key_Escape and self.filter.text():
            self.filter.clear()
        else:
            super().keyPressEvent(event)

    def _go_into_list(self) -> None:
        """Give the list the keyboard, at the first row that answers if none of them was chosen."""
        if not self.rows():
            return
        if not self.list.currentIndex().isValid():
            rows = self._model.rows
            first = next(place for place, row in enumerate(rows) if isinstance(row, ListRow))
            self.list.setCurrentIndex(self._model.index(first))
        self.list.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _add(self) -> None:
        self.add_asked.emit(self.new_name.text())

    def _sift(self) -> None:
        words = self.filter.text().casefold().split()
        fitting = _with_headings([row for row in self._all if _answers(row, words)])
        place = next(
            (
                place
                for place, row in enumerate(fitting)
                if isinstance(row, ListRow) and row.ident == self._current
            ),
            -1,
        )
        self.list.show_rows(fitting, place)
        self.none.setText(f"No {self._noun} answers “{self.filter.text()}”." if words else "")
        self.none.setVisible(bool(words) and not fitting)

    def _hear_current(self, index: Index) -> None:
        row = self._model.rows[index.row()] if index.isValid() else None
        if isinstance(row, ListRow):
            self._current = row.ident
            self.chosen.emit(self._current)
