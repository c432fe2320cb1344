"""The levels of a kiln from the top down: renamed, moved, added, removed while not used."""

from functools import partial

from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.units import show_rate, show_temperature_step
from studiolog.desktop import theme
from studiolog.journal.kiln_page import KilnLevelLine, KilnPage
from studiolog.journal.kilns import rename_level, set_levels
from studiolog.journal.session import Session
from studiolog.ui.kilns.map_section import scatter_words
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import EditableText, LineField, ProblemLine
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text, Words

_CLOSE_ABOVE = 150  # per cent of text
HEADS = ("Level", "Pieces", "Cone packs", "Reads against the sensor", "")


def offset_words(level: KilnLevelLine, unit: str) -> str:
    """``+8 °C, 4 readings``; how far to trust it is part of it."""
    if level.offset_c is None:
        return "not read yet"
    readings = "1 reading" if level.readings == 1 else f"{level.readings} readings"
    step = show_temperature_step(level.offset_c, unit)
    words = f"{step}{scatter_words(level.scatter_c, unit)}, {readings}"
    return words if level.calibrated else f"{words}: too few to trust"


class LevelSection(Section):
    """Every change is kept at once; a refusal is said beneath."""

    def __init__(self, page: ThingPage, parent: QWidget | None = None) -> None:
        super().__init__("Levels", "from the top down", parent=parent)
        self._page = page
        self._names: list[str] = []
        holder = QWidget()
        self._grid = QGridLayout(holder)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(4)
        self.problem = ProblemLine()
        self._alarms = QVBoxLayout()
        self.new_name = LineField("Add a level at the bottom", hint="floor")
        self.add_button = QPushButton("Add level")
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.new_name, 1)
        beside = QVBoxLayout()
        beside.setContentsMargins(0, 0, 0, 0)
        beside.addSpacing(self.new_name.label.sizeHint().height() + 4)
        beside.addWidget(self.add_button)
        beside.addStretch(1)
        row.addLayout(beside)
        row.addStretch(1)
        self.add(holder)
        self.add(self.problem)
        self.add(self._alarms)
        self.add(row)
        self.how = Caption("", wrap=True)
        self.add(self.how)
        self.new_name.line.returnPressed.connect(self.add_level)
        self.add_button.clicked.connect(self.add_level)

    def show_page(self, page: KilnPage, unit: str) -> None:
        self._names = [level.name for level in page.levels]
        self.how.setText(
            "Heat by the witness cones over heat by the sensor's curve, as degrees on the "
            f"{show_rate(60.0, unit)} scale; the median of the last readings. Curves of later "
            "firings are corrected by it where no cone was read."
        )
        clear_layout(self._grid)
        clear_layout(self._alarms)
        # With large text there is no room for a column each.
        close = theme.current().text_scale > _CLOSE_ABOVE
        for place, head in enumerate(HEADS):
            if not (close and head == "Cone packs"):
                self._grid.addWidget(Words(head, "caption", tone="ink3"), 0, place)
        last = len(page.levels) - 1
        for row, level in enumerate(page.levels):
            name = EditableText(f"Name of level {row + 1}", level.name, weight=600)
            name.edited.connect(partial(self._rename, level.level_id))
            self._grid.addWidget(name, row + 1, 0)
            self._grid.addWidget(Text(str(level.pieces), "secondary"), row + 1, 1)
            told = offset_words(level, unit)
            if close:
                told = f"{level.packs} cone pack{'' if level.packs == 1 else 's'}; {told}"
            else:
                self._grid.addWidget(Text(str(level.packs), "secondary"), row + 1, 2)
            trusted = level.calibrated and level.offset_c is not None
            said = Words(told, "secondary", tone="ink" if trusted else "ink3")
            self._grid.addWidget(said, row + 1, 3)
            self._grid.addLayout(self._buttons(level.name, row, last), row + 1, 4)
        for mapped in page.heat_map.levels:
            drifted = mapped.offset.say_alarm(unit) if mapped.offset is not None else None
            if drifted:
                alarm = ProblemLine()
                alarm.say(drifted)
                self._alarms.addWidget(alarm)
        self._grid.setColumnStretch(0, 1)

    def _buttons(self, name: str, row: int, last: int) -> QHBoxLayout:
        up = IconButton("arrow_up", f"Move {name} up")
        down = IconButton("arrow_down", f"Move {name} down")
        drop = IconButton("cross", f"Remove {name}")
        up.setEnabled(row > 0)
        down.setEnabled(row < last)
        up.clicked.connect(partial(self.move_level, row, row - 1))
        down.clicked.connect(partial(self.move_level, row, row + 1))
        drop.clicked.connect(partial(self.remove_level, row))
        line = QHBoxLayout()
        line.setSpacing(0)
        for button in (up, down, drop):
            line.addWidget(button)
        return line

    def add_level(self) -> None:
        """Put a level under the others."""
        if self._set([*self._names, self.new_name.text()], "Add a level"):
            self.new_name.set_text("")

    def move_level(self, row: int, to: int, _checked: bool = False) -> None:
        """Put a level one place up or down; what was read there stays with it."""
        names = list(self._names)
        if max(row, to) >= len(names):
            return  # a button pressed in the moment its row went
        names[row], names[to] = names[to], names[row]
        self._set(names, f"Move level {self._names[row]}")

    def remove_level(self, row: int, _checked: bool = False) -> None:
        """Take a level out, unless ware stood or cones were read there."""
        if row >= len(self._names):
            return  # a button pressed in the moment its row went
        names = [name for place, name in enumerate(self._names) if place != row]
        self._set(names, f"Remove level {self._names[row]}")

    def _rename(self, level_id: int, name: str) -> None:
        self._page.run(
            f"Rename level to {name}",
            lambda session: rename_level(session, level_id, name),
            self.problem.say,
        )

    def _set(self, names: list[str], label: str) -> bool:
        ident = self._page.ident

        def edit(session: Session) -> None:
            set_levels(session, ident, names)

        return self._page.run(label, edit, self.problem.say)
