"""One line of an order: what is wanted, what there is of it, and the runs and pieces that serve."""

from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.allocation import ForLine
from studiolog.journal.orders import OrderLineDraft, OrderLinePage
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.half_section import HalfSection
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Hairline, link_button
from studiolog.ui.parts.set_aside import HeldRows, SetAside
from studiolog.ui.parts.text import Words
from studiolog.ui.parts.wanted_bar import WantedBar
from studiolog.ui.parts.ware_fields import Ware, WareChoices, WareFields, keep_room


def progress_words(line: OrderLinePage) -> str:
    """What was made of a line and what has left, in words."""
    told = []
    if line.shipped:
        told.append(f"{line.shipped} of {line.pieces_wanted} have left")
    if not line.made:
        return "nothing made yet"
    if line.finished > line.shipped or not line.shipped:
        here = line.finished - line.shipped
        told.append(
            f"{here} more finished" if line.shipped else f"{here} of {line.pieces_wanted} finished"
        )
    if line.in_work:
        told.append(f"{line.in_work} in work")
    if line.lost:
        told.append(f"{line.lost} lost")
    return ", ".join(told)


def short_words(line: OrderLinePage) -> tuple[str, str]:
    """How many are still to be started or to spare, and the tone it is said in."""
    if line.short:
        return f"{line.short} still to start", "ochre"
    if not line.left:
        rest = f", {line.spare} to spare" if line.spare else ""
        return f"all have left{rest}", "celadon"
    if line.finished >= line.pieces_wanted:
        rest = f", {line.spare} to spare" if line.spare else ""
        return f"all there{rest}", "celadon"
    return (f"{line.spare} to spare" if line.spare else "none to spare"), "ink2"


def set_words(line: OrderLinePage) -> str:
    """How the sets a line asks for stand, in words."""
    if line.of_set is None:
        return ""
    gone = f"{line.of_set.shipped} have left, " if line.of_set.shipped else ""
    sets = "set" if line.wanted == 1 else "sets"
    return (
        f"{line.wanted} {sets} of {line.of_set.pieces_each} pieces: {gone}"
        f"{line.of_set.ready or 'none'} whole and finished"
    )


def ware_of(line: OrderLinePage) -> Ware:
    """A line as its fields show it."""
    return Ware(
        wanted=line.wanted,
        form_id=line.form_id,
        set_id=line.set_id,
        clay_id=line.clay_id,
        glaze_id=line.glaze_id,
        what=line.what,
        price=line.price,
        named={
            "form": line.form_name, "set": line.set_name, "clay": line.clay_name,
            "glaze": line.glaze_title,
        },
    )  # fmt: skip


def draft_of(ware: Ware, line_id: int | None = None) -> OrderLineDraft:
    """What was typed, as a line to keep."""
    return OrderLineDraft(
        wanted=ware.wanted or 0,
        form_id=ware.form_id,
        set_id=ware.set_id,
        clay_id=ware.clay_id,
        glaze_id=ware.glaze_id,
        what=ware.what,
        price=ware.price,
        line_id=line_id,
    )


class LineRow(QWidget):
    """A line on the page. ``changed`` and ``dropped`` name it by its id; ``run_asked`` carries what
    a run for it is to be given; ``opened`` a kind and an id."""

    changed = Signal(int)
    dropped = Signal(int)
    run_asked = Signal(object)
    opened = Signal(str, int)

    def __init__(
        self,
        desk: Desk,
        line: OrderLinePage,
        choices: WareChoices,
        opened: bool = True,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.line = line
        self.fields = WareFields("Wanted", line.title)
        self.problem = ProblemLine()
        self.bar = WantedBar()
        self.of_set = Words("", "secondary", tone="ink")
        self.progress = Words("", "secondary")
        self.short = Words("", "secondary")
        self._marks = QWidget()
        self.marks = FlowLayout(self._marks, spacing=4, line_spacing=4)
        self.start = QPushButton("Start a run for this line")
        self.aside_button = QPushButton("Set pieces aside")
        self.to_set = link_button("Open the set")
        self.held = HeldRows(line.title)
        self.aside = SetAside(desk, ForLine(line.line_id), line.title)
        self.drawing = HalfSection(line.title)
        drop = IconButton("cross", f"Take away {line.title}")
        self.drawing.setFixedSize(theme.current().px(48), theme.current().px(56))
        keep_room(self.drawing)
        self.fields.add_action(drop)
        words = QVBoxLayout()
        words.setSpacing(6)
        for one in (self.fields, self.problem, self.bar, self.of_set):
            words.addWidget(one)
        words.addLayout(self._build_runs())
        words.addWidget(self.held)
        words.addWidget(self.aside)
        across = QHBoxLayout()
        across.setSpacing(16)
        across.addWidget(self.drawing, 0, Qt.AlignmentFlag.AlignTop)
        across.addLayout(words, 1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 8, 0, 0)
        rows.setSpacing(12)
        rows.addLayout(across)
        rows.addWidget(Hairline())
        self.fields.edited.connect(lambda: self.changed.emit(line.line_id))
        drop.clicked.connect(lambda: self.dropped.emit(line.line_id))
        self.start.clicked.connect(lambda: self.run_asked.emit(self.wish()))
        self.aside_button.clicked.connect(self.toggle_aside)
        self.to_set.clicked.connect(lambda: self.opened.emit("set", self.line.set_id or 0))
        self.held.back.connect(self.aside.give_back)
        self.held.opened.connect(self.opened)
        self.aside.opened.connect(self.opened)
        self.aside.closed.connect(
            lambda: self.aside_button.setFocus(Qt.FocusReason.OtherFocusReason)
        )
        self.show_line(line, choices, opened)

    def _build_runs(self) -> FlowLayout:
        row = FlowLayout(spacing=10, line_spacing=6)
        for one in (
            self.progress, self.short, self._marks, self.start, self.aside_button, self.to_set,
        ):  # fmt: skip
            row.addWidget(one)
        return row

    def show_line(self, line: OrderLinePage, choices: WareChoices, opened: bool = True) -> None:
        """Show the line as the journal read it; the focus stays where it is.

        For an order that is closed nothing is started or set aside.
        """
        self.line = line
        ware = ware_of(line)
        self.fields.offer(choices, ware)
        self.fields.show_ware(ware)
        shape = form_shape(line.shape, line.profile, line.height_mm, line.across_mm)
        self.drawing.show_shape(line.title, shape)
        self.drawing.setVisible(line.form_id is not None)
        self.bar.show_counts(line.counts, line.short)
        self.of_set.setText(set_words(line))
        self.of_set.setVisible(bool(self.of_set.text()))
        self.progress.setText(progress_words(line))
        words, tone = short_words(line)
        self.short.setText(words)
        self.short.set_tone(tone)
        for button in (self.start, self.aside_button):
            button.setVisible(opened and line.set_id is None)
        if not opened:
            self.aside.hide()
        self.to_set.setVisible(line.set_id is not None)
        self.to_set.setAccessibleName(f"Open the set {line.set_name}")
        self.start.setAccessibleName(f"Start a run for {line.wanted} {line.title}")
        self.aside_button.setAccessibleName(f"Set pieces aside for {line.wanted} {line.title}")
        self.held.show_lots(line.held)
        if line.set_id is None:
            self.aside.ask(line.form_id, line.clay_id, line.glaze_id, line.short or line.left)
        self.marks.clear()
        self._marks.setVisible(bool(line.runs))
        for run in line.runs:
            mark = NumberMark("run", run.number, run.run_id)
            mark.opened.connect(self.opened)
            self.marks.addWidget(mark)

    def toggle_aside(self) -> None:
        """Open what may be set aside, or put it away."""
        if self.aside.isHidden():
            self.aside.open_panel()
        else:
            self.aside.close_panel()

    def wish(self) -> dict[str, Any]:
        """What a run for this line is to be given."""
        line = self.line
        return {
            "order_line_id": line.line_id,
            "form_id": line.form_id,
            "clay_id": line.clay_id,
            "title": line.what if line.form_id is None else "",
            "how_many": line.short or None,
            "purpose": "order",
        }
