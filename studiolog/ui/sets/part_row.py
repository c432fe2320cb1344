"""One part of a set: how many in one set, what there is of them, and what must be made again."""

from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import STAGES
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.allocation import ForPart
from studiolog.journal.set_page import Loss, SetPartPage
from studiolog.journal.sets import SetPartDraft
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.half_section import HalfSection
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.section import Hairline
from studiolog.ui.parts.set_aside import HeldRows, SetAside
from studiolog.ui.parts.text import Words
from studiolog.ui.parts.wanted_bar import WantedBar
from studiolog.ui.parts.ware_fields import Ware, WareChoices, WareFields, keep_room


def progress_words(part: SetPartPage) -> str:
    """What there is of a part, in words."""
    progress = part.progress
    if not progress.made:
        return f"nothing of {part.wanted} yet"
    told = [f"{progress.finished} of {part.wanted} finished"]
    if progress.shipped:
        told.append(f"{progress.shipped} of them have left")
    if progress.in_work:
        told.append(f"{progress.in_work} in work")
    return ", ".join(told)


def short_words(part: SetPartPage) -> tuple[str, str]:
    """What is still to be started, or to spare, and the tone it is said in."""
    if part.progress.to_start:
        return f"{part.progress.to_start} still to start", "ochre"
    if part.progress.finished >= part.wanted:
        return "all there", "celadon"
    spare = part.progress.spare
    return (f"{spare} to spare" if spare else "none to spare"), "ink2"


def loss_words(part: SetPartPage) -> str:
    """What was lost, with its causes, and how many of it are to be made again."""
    if not part.losses:
        return ""
    told = [_loss(loss) for loss in part.losses]
    again = f": {part.to_remake} to make again" if part.to_remake else ""
    return f"lost {'; '.join(told)}{again}"


def _loss(loss: Loss) -> str:
    at = f" {STAGES[loss.stage]}" if loss.stage else ""
    return f"{loss.pieces}{at}" + (f", {loss.why}" if loss.why else "")


def ware_of(part: SetPartPage) -> Ware:
    """A part as its fields show it."""
    return Ware(
        wanted=part.each,
        form_id=part.form_id,
        clay_id=part.clay_id,
        glaze_id=part.glaze_id,
        what=part.what,
        named={"form": part.form_name, "clay": part.clay_name, "glaze": part.glaze_title},
    )


def draft_of(ware: Ware, part_id: int | None = None) -> SetPartDraft:
    """What was typed, as a part to keep."""
    return SetPartDraft(
        each=ware.wanted or 0,
        form_id=ware.form_id,
        clay_id=ware.clay_id,
        glaze_id=ware.glaze_id,
        what=ware.what,
        part_id=part_id,
    )


class PartRow(QWidget):
    """A part on the page. ``changed`` and ``dropped`` name it by its id; ``run_asked`` carries what
    a run for it is to be given; ``opened`` a kind and an id."""

    changed = Signal(int)
    dropped = Signal(int)
    run_asked = Signal(object)
    opened = Signal(str, int)

    def __init__(
        self, desk: Desk, part: SetPartPage, choices: WareChoices, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.part = part
        self.fields = WareFields("In one set", part.title, priced=False)
        self.problem = ProblemLine()
        self.bar = WantedBar()
        self.progress = Words("", "secondary")
        self.short = Words("", "secondary")
        self.lost = Words("", "secondary", tone="rust")
        self.start = QPushButton("Start a run for this part")
        self.aside_button = QPushButton("Set pieces aside")
        self.held = HeldRows(part.title)
        self.aside = SetAside(desk, ForPart(part.part_id), part.title)
        self.drawing = HalfSection(part.title)
        self.drawing.setFixedSize(theme.current().px(48), theme.current().px(56))
        keep_room(self.drawing)
        drop = IconButton("cross", f"Take away {part.title}")
        self.fields.add_action(drop)
        told = FlowLayout(spacing=10, line_spacing=6)
        for one in (self.progress, self.short, self.lost, self.start, self.aside_button):
            told.addWidget(one)
        words = QVBoxLayout()
        words.setSpacing(6)
        for widget in (self.fields, self.problem, self.bar):
            words.addWidget(widget)
        words.addLayout(told)
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
        self.fields.edited.connect(lambda: self.changed.emit(part.part_id))
        drop.clicked.connect(lambda: self.dropped.emit(part.part_id))
        self.start.clicked.connect(lambda: self.run_asked.emit(self.wish()))
        self.aside_button.clicked.connect(self.toggle_aside)
        self.held.back.connect(self.aside.give_back)
        self.held.opened.connect(self.opened)
        self.aside.opened.connect(self.opened)
        self.aside.closed.connect(
            lambda: self.aside_button.setFocus(Qt.FocusReason.OtherFocusReason)
        )
        self.show_part(part, choices)

    def show_part(self, part: SetPartPage, choices: WareChoices) -> None:
        """Show the part as the journal read it; the focus stays where it is."""
        self.part = part
        ware = ware_of(part)
        self.fields.offer(choices, ware)
        self.fields.show_ware(ware)
        shape = form_shape(part.shape, part.profile, part.height_mm, part.across_mm)
        self.drawing.show_shape(part.title, shape)
        self.drawing.setVisible(part.form_id is not None)
        self.bar.show_counts(part.progress.counts, part.progress.to_start)
        self.progress.setText(progress_words(part))
        words, tone = short_words(part)
        self.short.setText(words)
        self.short.set_tone(tone)
        self.lost.setText(loss_words(part))
        self.lost.setVisible(bool(part.losses))
        self.start.setAccessibleName(f"Start a run for {part.wanted} {part.title}")
        self.aside_button.setAccessibleName(f"Set pieces aside for {part.wanted} {part.title}")
        self.held.show_lots(part.held)
        missing = part.wanted - part.progress.finished - part.progress.in_work
        self.aside.ask(part.form_id, part.clay_id, part.glaze_id, missing)

    def toggle_aside(self) -> None:
        """Open what may be set aside, or put it away."""
        if self.aside.isHidden():
            self.aside.open_panel()
        else:
            self.aside.close_panel()

    def wish(self) -> dict[str, Any]:
        """What a run for this part is to be given."""
        part = self.part
        return {
            "form_id": part.form_id,
            "clay_id": part.clay_id,
            "title": part.what if part.form_id is None else "",
            "how_many": part.progress.to_start or None,
            "purpose": "house",
            "set_part_id": part.part_id,
        }
