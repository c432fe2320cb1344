"""The clay: a row of a few under digits, or a list to type in where there are many."""

from collections import Counter
from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.desktop import theme
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
        self._clays: tuple[ClayChoice, ...] = ()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self.row = SegmentedChoice("Clay")
        self.row.setMinimumWidth(theme.current().px(240))
        self.pick = PickOne("Clay", (), "Type part of its name")
        for choice in (self.row, self.pick):
            self._column.addWidget(choice)
            choice.picked.connect(lambda _: self.changed.emit())
        self.pick.hide()

    def show_clays(self, clays: Sequence[ClayChoice], clay_id: int | None) -> None:
        """Offer these, with one chosen or none."""
        self._clays = tuple(clays)
        self._few = len(clays) <= _MOST_IN_A_ROW
        self._fit()
        self.pick.set_choices(self._choices([clay.name for clay in clays]))
        (self.row if self._few else self.pick).choose(clay_id)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _choices(self, names: Sequence[str]) -> list[Choice]:
        return [
            Choice(clay.clay_id, name, ClayLook(clay.name, clay.colour, clay.specks))
            for clay, name in zip(self._clays, names, strict=True)
        ]

    def _fit(self) -> None:
        """Whole names where the row has room for them, else first words; a list for many."""
        if not self._few:
            self.row.hide()
            self.pick.show()
            return
        chosen = self.clay_id()
        for names in ([clay.name for clay in self._clays], _short_names(self._clays)):
            self.row.set_choices(self._choices(names))
            if self.row.minimumSizeHint().width() <= self.width():
                break
        self.row.choose(chosen)
        self.row.setVisible(bool(self._clays))
        self.pick.hide()

    def clay_id(self) -> int | None:
        """The clay chosen."""
        chosen = self.row.chosen() if self._few else self.pick.chosen()
        return chosen if isinstance(chosen, int) else None

    def go_first(self) -> None:
        """Give the field the keyboard."""
        (self.row if self._few else self.pick).setFocus(Qt.FocusReason.ShortcutFocusReason)
