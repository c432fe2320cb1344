"""The clay: a row of a few under digits, or a list to type in where there are many."""

from collections import Counter
from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.journal.sheet_choices import ClayChoice
from studiolog.ui.parts.choice import Choice, PickOne, SegmentedChoice
from studiolog.ui.parts.swatch import ClayLook

_MOST_IN_A_ROW = 4


def _short_names(clays: Sequence[ClayChoice]) -> list[str]:
    """First words where they differ: Buff, Iron-red, Porcelain."""
    firsts = Counter(clay.name.split()[0] for clay in clays)
    return [
        clay.name.split()[0] if firsts[clay.name.split()[0]] == 1 else clay.name for clay in clays
    ]


class ClayField(QWidget):
    """Pick a clay. ``changed`` when a person did."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._few = True
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self.row = SegmentedChoice("Clay")
        self.pick = PickOne("Clay", (), "Type part of its name")
        for choice in (self.row, self.pick):
            self._column.addWidget(choice)
            choice.picked.connect(lambda _: self.changed.emit())
        self.pick.hide()

    def show_clays(self, clays: Sequence[ClayChoice], clay_id: int | None) -> None:
        """Offer these, with one chosen or none."""
        looks = [ClayLook(clay.name, clay.colour, clay.specks) for clay in clays]
        few = len(clays) <= _MOST_IN_A_ROW
        names = _short_names(clays) if few else [clay.name for clay in clays]
        choices = [
            Choice(clay.clay_id, name, look)
            for clay, name, look in zip(clays, names, looks, strict=True)
        ]
        shown: SegmentedChoice | PickOne = self.row if few else self.pick
        self.row.setVisible(few and bool(clays))
        self.pick.setVisible(not few)
        shown.set_choices(choices)
        shown.choose(clay_id)
        self._few = few

    def clay_id(self) -> int | None:
        """The clay chosen."""
        chosen = self.row.chosen() if self._few else self.pick.chosen()
        return chosen if isinstance(chosen, int) else None

    def go_first(self) -> None:
        """Give the field the keyboard."""
        (self.row if self._few else self.pick).setFocus(Qt.FocusReason.ShortcutFocusReason)
