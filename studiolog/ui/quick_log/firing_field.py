"""The firing a piece went through, and the shelf it stood on with the cone there."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.firing.cones import label_reached, show_cone
from studiolog.craft.words import CONE_BASES, FIRING_KINDS
from studiolog.desktop import theme
from studiolog.journal.sheet_choices import FiringChoice
from studiolog.ui.parts.choice import Choice, PickOne, SegmentedChoice
from studiolog.ui.parts.text import Text
from studiolog.ui.parts.typed import write_day


def firing_words(firing: FiringChoice) -> str:
    """``94, cone 6, 10 Nov 2026, Big kiln``."""
    cone = f"cone {show_cone(firing.cone)}" if firing.cone else FIRING_KINDS[firing.kind]
    kind = "" if firing.kind == "glaze" or not firing.cone else f"{FIRING_KINDS[firing.kind]} "
    day = write_day(firing.started_at.date())
    return f"{firing.number}, {kind}{cone}, {day}, {firing.kiln_name}"


def _level_keys(names: Sequence[str]) -> str:
    """A key for each level: its first letter, or its number from the top where that is taken."""
    keys = ""
    for place, name in enumerate(names, 1):
        letter = name[:1].upper()
        keys += letter if letter.isalpha() and letter not in keys else str(place % 10)
    return keys


class FiringField(QWidget):
    """Pick a firing, then a level by its letter. ``changed`` when either was picked.

    A firing that is only offered stands in grey; picking one of its levels takes it.
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._firings: tuple[FiringChoice, ...] = ()
        self._offered: FiringChoice | None = None
        self._level_choice: SegmentedChoice | None = None
        self.pick = PickOne("Firing", (), "Number, cone or day")
        self._basis = Text("", "caption", tone="ink3", wrap=True)
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setSpacing(6)
        self._rows.addWidget(self.pick)
        self._rows.addWidget(self._basis)
        self._ask = Text("", "secondary", tone="ochre", wrap=True)
        self._ask.hide()
        self._rows.addWidget(self._ask)
        self.pick.picked.connect(self._take_firing)

    def show_firing(
        self,
        firings: Sequence[FiringChoice],
        firing_id: int | None,
        level_id: int | None,
        offered: FiringChoice | None,
    ) -> None:
        """Show a choice without telling anyone; ``offered`` stands in grey while none is made."""
        self._firings, self._offered = tuple(firings), offered
        self.pick.set_choices([Choice(f.firing_id, firing_words(f)) for f in firings])
        self.pick.choose(firing_id)
        line = self.pick.lineEdit()
        if line is not None:
            line.setPlaceholderText(firing_words(offered) if offered else "Number, cone or day")
            line.home(False)
        self._show_levels(level_id)

    def ask_for(self, sentence: str) -> None:
        """Say why a firing should be chosen, or say nothing."""
        self._ask.setText(sentence)
        self._ask.setVisible(bool(sentence))
        self.pick.setAccessibleDescription(sentence)

    def firing_id(self) -> int | None:
        """The firing chosen."""
        chosen = self.pick.chosen()
        return chosen if isinstance(chosen, int) else None

    def level_id(self) -> int | None:
        """The level chosen."""
        chosen = self._level_choice.chosen() if self._level_choice else None
        return chosen if isinstance(chosen, int) else None

    def levels(self) -> SegmentedChoice | None:
        """The row of levels, where the firing in hand has any."""
        return self._level_choice

    def go_first(self) -> None:
        """Give the keyboard to the levels if a firing is in hand, else to the firings."""
        first = self._level_choice if self._level_choice is not None else self.pick
        first.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _in_hand(self) -> FiringChoice | None:
        chosen = next((f for f in self._firings if f.firing_id == self.firing_id()), None)
        return chosen or self._offered

    def _show_levels(self, level_id: int | None) -> None:
        had = self._level_choice is not None and self._level_choice.hasFocus()
        if self._level_choice is not None:
            self._level_choice.hide()
            self._rows.removeWidget(self._level_choice)
            self._level_choice.deleteLater()
            self._level_choice = None
        firing = self._in_hand()
        if firing is None or not firing.levels:
            self._basis.setText("")
            self._basis.hide()
            return
        choices = []
        for level in firing.levels:
            cone = f" {label_reached(level.cone)}" if level.cone is not None else ""
            choices.append(Choice(level.level_id, f"{level.name.capitalize()}{cone}"))
        keys = _level_keys([level.name for level in firing.levels])
        row = SegmentedChoice("Level", choices, keys)
        row.choose(level_id)
        row.setMinimumWidth(theme.current().px(240))  # long names of levels are cut with dots
        row.picked.connect(self._take_level)
        self._rows.insertWidget(1, row)
        QWidget.setTabOrder(self.pick, row)
        row.show()
        self._level_choice = row
        if had:
            row.setFocus(Qt.FocusReason.OtherFocusReason)
        bases = {level.basis for level in firing.levels if level.basis}
        said = "; ".join(CONE_BASES[basis] for basis in CONE_BASES if basis in bases)
        self._basis.setText(f"Cone there: {said}." if said else "")
        self._basis.setVisible(bool(said))

    def _take_firing(self, _firing_id: object) -> None:
        self._show_levels(None)
        self.changed.emit()

    def _take_level(self, _level_id: object) -> None:
        if self.firing_id() is None and self._offered is not None:
            self.pick.choose(self._offered.firing_id)
        self.changed.emit()
