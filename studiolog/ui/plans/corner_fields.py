"""The glazes a plan starts from: a picker for each corner, with its specific gravity."""

from collections.abc import Sequence

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.glaze.plans import CORNERS
from studiolog.journal.glazes import GlazeLine
from studiolog.journal.plans import CornerDraft
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice
from studiolog.ui.parts.fields import NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.swatch import GlazeLook
from studiolog.ui.parts.typed import write_number
from studiolog.ui.plans.labelled_pick import NONE, LabelledPick

_LETTERS = "ABCDEFGHIJKL"


class _Corner(QWidget):
    """One corner: which glaze, and how thick its slurry is."""

    def __init__(self, letter: str) -> None:
        super().__init__()
        self.glaze = LabelledPick(f"Glaze {letter}", hint="Type part of a name")
        self.gravity = NumberField("Sp. gr.", "", None, 2, 1.01, 2.99, hint="1.45")
        self.gravity.line.setAccessibleName(f"Specific gravity of glaze {letter}")
        self.gravity.line.setFixedWidth(72)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.glaze)
        row.addWidget(self.gravity)


class CornerFields(QWidget):
    """``changed`` tells that another glaze was chosen, or another specific gravity typed."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._glazes: tuple[GlazeLine, ...] = ()
        self._kind = "line"
        self._by_volume = True
        # All there may be, from the start: so the Tab key finds them in their order.
        self._all = tuple(_Corner(letter) for letter in _LETTERS)
        self.corners: tuple[_Corner, ...] = ()
        self.more = QPushButton("Another glaze")
        self.fewer = QPushButton("One glaze less")
        self._problem = ProblemLine()
        flow = FlowLayout(spacing=20, line_spacing=12)
        for corner in self._all:
            flow.addWidget(corner)
            corner.hide()
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.more)
        buttons.addWidget(self.fewer)
        buttons.addStretch(1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        rows.addLayout(flow)
        rows.addLayout(buttons)
        rows.addWidget(self._problem)
        for corner in self._all:
            corner.glaze.pick.picked.connect(lambda _id: self._take())
            corner.gravity.edited.connect(lambda _text: self.changed.emit())
        self.more.clicked.connect(lambda: self._grow(1))
        self.fewer.clicked.connect(lambda: self._grow(-1))

    def set_glazes(self, glazes: Sequence[GlazeLine]) -> None:
        """Offer these."""
        self._glazes = tuple(glazes)
        for corner in self._all:
            self._offer(corner)

    def set_kind(self, kind: str, by_volume: bool) -> None:
        """As many corners as a kind has; slurries poured together need their specific gravity."""
        self._kind, self._by_volume = kind, by_volume
        fewest, most = CORNERS[kind]
        self._set_count(min(max(len(self.corners), fewest), most))

    def drafts(self) -> tuple[CornerDraft, ...]:
        """The corners as chosen. Raises UserProblem naming what is not chosen yet."""
        found = []
        for letter, corner in zip(_LETTERS, self.corners, strict=False):
            glaze_id = corner.glaze.ident()
            if glaze_id is None:
                sentence = f"Choose glaze {letter}."
                raise UserProblem(sentence, {"corners": sentence})
            gravity = corner.gravity.value() if corner.gravity.isVisibleTo(self) else None
            found.append(CornerDraft(glaze_id=glaze_id, specific_gravity=gravity))
        return tuple(found)

    def names(self) -> tuple[str, ...]:
        """The glazes chosen so far, by name."""
        known = {one.glaze_id: one.title for one in self._glazes}
        chosen = [corner.glaze.ident() for corner in self.corners]
        return tuple(known[one] for one in chosen if one in known)

    def set_problem(self, sentence: str) -> None:
        self._problem.say(sentence)

    def wanting(self) -> QWidget:
        """The field to go to first: a glaze not chosen, or else a specific gravity not given."""
        for corner in self.corners:
            if corner.glaze.ident() is None:
                return corner.glaze.pick
        for corner in self.corners:
            if corner.gravity.isVisibleTo(self) and not corner.gravity.text():
                return corner.gravity.line
        return self.corners[0].glaze.pick

    def show_usual(self, gravities: Sequence[float | None]) -> None:
        """What each slurry is taken to stand at while nothing else is typed."""
        for corner, gravity in zip(self.corners, gravities, strict=False):
            corner.gravity.line.setPlaceholderText(write_number(gravity, 2) or "1.45")

    def choose(self, glaze_ids: Sequence[int]) -> None:
        """Choose these glazes, in order; as many corners as they need and the kind has."""
        fewest, most = CORNERS[self._kind]
        self._set_count(min(max(fewest, len(glaze_ids)), most))
        for corner, glaze_id in zip(self.corners, glaze_ids, strict=False):
            corner.glaze.choose(glaze_id)

    def clear(self) -> None:
        """Nothing chosen."""
        for corner in self._all:
            corner.glaze.choose(NONE)
            corner.gravity.set_value(None)
        self._problem.say("")

    def _grow(self, by: int) -> None:
        self._set_count(len(self.corners) + by)
        if by > 0:
            self.corners[-1].glaze.pick.setFocus()
        self.changed.emit()

    def _set_count(self, count: int) -> None:
        self.corners = self._all[:count]
        for place, corner in enumerate(self._all):
            corner.setVisible(place < count)
        fewest, most = CORNERS[self._kind]
        self.more.setVisible(most > fewest)
        self.fewer.setVisible(most > fewest)
        self.more.setEnabled(count < most)
        self.fewer.setEnabled(count > fewest)
        for corner in self.corners:
            corner.gravity.setVisible(self._by_volume)

    def _offer(self, corner: _Corner) -> None:
        corner.glaze.pick.set_choices(
            [
                Choice(one.glaze_id, one.title, GlazeLook(one.title, one.colour, one.pattern))
                for one in self._glazes
            ]
        )

    def _take(self) -> None:
        self._problem.say("")
        QTimer.singleShot(0, self, self.changed.emit)
