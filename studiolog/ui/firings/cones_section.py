"""Witness cones, level by level: each edit of a pack is kept as one edit."""

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit, QWidget

from studiolog.craft.firing.calibration import describe_spread
from studiolog.desktop.desk import Desk
from studiolog.journal.firing_page import FiringPage
from studiolog.journal.firings import ConeDraft, PackDraft, set_pack
from studiolog.journal.limits import read_limits
from studiolog.ui.firings.level_cones import LevelCones
from studiolog.ui.parts.section import Hairline, Section
from studiolog.ui.parts.sight import bring_into_sight
from studiolog.ui.parts.text import Caption


class ConesSection(Section):
    """A row for each level of the kiln; ``set_reading`` shows the lines to type into."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Witness cones", "drag, arrow keys, or", "Type readings", parent)
        self._desk = desk
        self._page: FiringPage | None = None
        self._reading = False
        self._rows: dict[int, LevelCones] = {}
        self._lines: list[QWidget] = []
        self.spread = Caption("", "ink2", wrap=True)
        self.link_opened.connect(lambda: self.set_reading(not self._reading))

    def show_page(self, page: FiringPage) -> None:
        """Show every level; the rows stay as they are while the kiln is the same."""
        if self._page is not None and self._page.firing_id != page.firing_id:
            for row in self._rows.values():
                row.forget_unread()
        self._page = page
        wanted = [level.level_id for level in page.levels]
        if list(self._rows) != wanted:
            self._make_rows(wanted)
        for level in page.levels:
            self._rows[level.level_id].show_level(level, page.cone, self._reading)
        widest = max((row.name_width() for row in self._rows.values()), default=0)
        for row in self._rows.values():
            row.set_name_width(widest)
        read = [
            level.heat.cone for level in page.levels if level.heat and level.heat.basis == "read"
        ]
        words = ""
        if len(read) > 1:
            apart = abs(max(read) - min(read))
            even = describe_spread(max(read), min(read), self._desk.read(read_limits))
            words = f"{apart:.1f} cones between the levels: {even}."
        self.spread.setText(words)
        self.spread.setVisible(bool(words))

    def row(self, level_id: int) -> LevelCones:
        """The row of one level."""
        return self._rows[level_id]

    def set_reading(self, reading: bool) -> None:
        """Show or hide the lines in which bends are typed, and stand in the first."""
        self._reading = reading
        self.set_link("Done" if reading else "Type readings")
        self.set_quiet("degrees, clock or words" if reading else "drag, arrow keys, or")
        for row in self._rows.values():
            row.reader.setVisible(reading)
        if reading and self._rows:
            first = next(iter(self._rows.values()))
            target = next(iter(first.lines()), first.adder.line)
            target.setFocus()

    @property
    def reading(self) -> bool:
        """Whether the lines to type into are shown."""
        return self._reading

    def _make_rows(self, level_ids: list[int]) -> None:
        for old in (*self._rows.values(), *self._lines):
            self.body.removeWidget(old)
            old.hide()
            old.deleteLater()
        self.body.removeWidget(self.spread)
        self._rows, self._lines = {}, []
        for place, level_id in enumerate(level_ids):
            if place:
                line = Hairline()
                self._lines.append(line)
                self.add(line)
            row = LevelCones(level_id)
            row.pack_read.connect(self._keep)
            row.stepped.connect(self._step)
            row.level_stepped.connect(self._step_level)
            self._rows[level_id] = row
            self.add(row)
        self.add(self.spread)

    def _step(self, line: QLineEdit, way: int) -> None:
        """From one cone to the next, also on the level below, without the buttons between."""
        lines = [one for row in self._rows.values() for one in row.lines()]
        there = lines.index(line) + way
        if 0 <= there < len(lines):
            lines[there].setFocus(Qt.FocusReason.TabFocusReason)
            bring_into_sight()

    def _step_level(self, level_id: int, way: int) -> None:
        """To the first cone of the level above or below."""
        ids = list(self._rows)
        there = ids.index(level_id) + way
        first = next(iter(self._rows[ids[there]].lines()), None) if 0 <= there < len(ids) else None
        if first is not None:
            first.setFocus(Qt.FocusReason.TabFocusReason)
            bring_into_sight()

    def _keep(self, level_id: int, cones: tuple[ConeDraft, ...]) -> None:
        page = self._page
        if page is None:
            return
        level = next(lev for lev in page.levels if lev.level_id == level_id)
        draft = PackDraft(level_id=level_id, cones=cones, note=level.note)
        self._desk.edits.try_run(
            f"Read the {level.name} cones of firing {page.number}",
            partial(set_pack, firing_id=page.firing_id, draft=draft),
        )
