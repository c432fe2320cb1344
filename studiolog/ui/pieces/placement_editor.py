"""Where a piece stood in a firing, changed in place."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import FIRING_KINDS
from studiolog.journal.kilns import list_kilns
from studiolog.journal.piece_changes import move_placement
from studiolog.journal.piece_choices import FiringChoice, list_firing_choices
from studiolog.journal.piece_firings import PieceFiring
from studiolog.journal.pieces import PlacementDraft, place_piece, unplace_piece
from studiolog.ui.parts.choice import Choice
from studiolog.ui.parts.fields import LineField, ProblemLine
from studiolog.ui.parts.section import Hairline, Text, link_button, primary_button
from studiolog.ui.pieces.details import NOTHING, LabelledPick
from studiolog.ui.pieces.looks import short_day
from studiolog.ui.pieces.page_edits import PageEdits


def choice_words(firing: FiringChoice) -> str:
    """``87, glaze cone 6, 2 Oct``."""
    words = f"{firing.number}, {FIRING_KINDS[firing.kind]}"
    if firing.title:
        words += f" {firing.title}"
    elif firing.cone:
        words += f" cone {firing.cone}"
    return f"{words}, {short_day(firing.started_at)}"


class PlacementEditor(QWidget):
    """Firing, level and position of one placement; or a new one."""

    closed = Signal()

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._edits = edits
        self._placed: PieceFiring | None = None
        self._firings: dict[int, FiringChoice] = {}
        self._build()

    def _build(self) -> None:
        self._head = Text("Add a firing", "body", 600)
        self.firing = LabelledPick("Firing", "number or name")
        self.level = LabelledPick("Level")
        self.position = LineField("Position on the shelf", hint="front left")
        self.problem = ProblemLine()
        self.save = primary_button("Save place")
        cancel = QPushButton("Cancel")
        self.off = link_button("Not in this firing")
        foot = QHBoxLayout()
        foot.setSpacing(8)
        foot.addWidget(self.off)
        foot.addStretch(1)
        foot.addWidget(cancel)
        foot.addWidget(self.save)
        two = QHBoxLayout()
        two.setSpacing(12)
        two.addWidget(self.level, 1, Qt.AlignmentFlag.AlignTop)
        two.addWidget(self.position, 1, Qt.AlignmentFlag.AlignTop)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 8)
        rows.setSpacing(8)
        rows.addWidget(Hairline())
        rows.addWidget(self._head)
        rows.addWidget(self.firing)
        rows.addLayout(two)
        rows.addWidget(self.problem)
        rows.addLayout(foot)
        self.firing.pick.picked.connect(lambda _id: self._offer_levels(NOTHING))
        self.save.clicked.connect(self.keep)
        cancel.clicked.connect(self.closed)
        self.off.clicked.connect(self.take_out)

    def open(self, firing: PieceFiring | None) -> None:
        """Change a placement, or add one with None."""
        self._placed = firing
        self.problem.say("")
        self._head.setText(f"Place in firing {firing.number}" if firing else "Add a firing")
        choices = self._edits.desk.read(list_firing_choices)
        page = self._edits.page
        taken = {one.firing_id for one in page.firings} if page is not None else set()
        own = firing.firing_id if firing is not None else None
        some = [one for one in choices if one.firing_id not in taken or one.firing_id == own]
        self._firings = {one.firing_id: one for one in some}
        self.firing.pick.set_choices([Choice(one.firing_id, choice_words(one)) for one in some])
        self.firing.pick.choose(own)
        self._offer_levels((firing.level_id or NOTHING) if firing is not None else NOTHING)
        self.position.set_text(firing.position if firing is not None else "")
        self.off.setVisible(firing is not None)
        (self.level if firing is not None else self.firing).setFocus(
            Qt.FocusReason.OtherFocusReason
        )

    def refresh(self) -> None:
        """The page was read anew: take the present version of the placement, if it is still
        there."""
        page = self._edits.page
        if page is None or self._placed is None:
            return
        self._placed = next(
            (one for one in page.firings if one.firing_id == self._placed.firing_id), self._placed
        )

    def _offer_levels(self, chosen: int) -> None:
        firing = self._firings.get(_as_id(self.firing.pick.chosen()))
        levels = []
        if firing is not None:
            kilns = self._edits.desk.read(lambda session: list_kilns(session, archived=True))
            levels = [
                level for kiln in kilns if kiln.kiln_id == firing.kiln_id for level in kiln.levels
            ]
        self.level.pick.set_choices(
            [
                Choice(NOTHING, "not said"),
                *(Choice(level.level_id, level.name) for level in levels),
            ]
        )
        self.level.pick.choose(chosen)

    def keep(self) -> None:
        """Write the placement."""
        page = self._edits.page
        firing_id = _as_id(self.firing.pick.chosen())
        if page is None:
            return
        if firing_id == NOTHING:
            self.problem.say("Choose the firing this piece stood in.")
            self.firing.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        level_id = _as_id(self.level.pick.chosen())
        draft = PlacementDraft(
            firing_id=firing_id,
            level_id=level_id if level_id != NOTHING else None,
            position=self.position.text(),
        )
        placed = self._placed
        if placed is None:
            kept = self._edits.run(
                "Place", lambda session: place_piece(session, page.piece_id, draft), self.problem
            )
        else:
            kept = self._edits.run(
                "Move the place of",
                lambda session: move_placement(
                    session, page.piece_id, placed.placement_id, placed.version, draft
                ),
                self.problem,
            )
        if kept:
            self.closed.emit()

    def take_out(self) -> None:
        """The piece was not in that firing after all."""
        page, placed = self._edits.page, self._placed
        if page is None or placed is None:
            return
        if self._edits.run(
            f"Take out of firing {placed.number}",
            lambda session: unplace_piece(session, page.piece_id, placed.firing_id),
            self.problem,
        ):
            self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        else:
            super().keyPressEvent(event)


def _as_id(chosen: object) -> int:
    return chosen if isinstance(chosen, int) else NOTHING
