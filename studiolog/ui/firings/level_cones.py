"""The cones of one level: drawn as they are bent, read by drag, keys or words."""

from dataclasses import dataclass

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from studiolog.craft.firing.bend import BendReading, parse_bend, read_degrees
from studiolog.craft.firing.cones import (
    HIGHEST,
    LOWEST,
    cone_at,
    name_cone,
    ordinal_of,
    show_cone,
)
from studiolog.craft.units import MINUS
from studiolog.desktop import theme
from studiolog.journal.firing_page import ConeRead, LevelPage
from studiolog.journal.firings import ConeDraft
from studiolog.problems import UserProblem
from studiolog.ui.firings.aim_whisker import AimWhisker
from studiolog.ui.parts.bent_cone import ConePack, ConeReading
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.text import Caption, Text, Words

_SETTLE_MS = 350
"""A cone that is being bent is kept once the hand rests."""


@dataclass(frozen=True)
class PackCone:
    """A cone of the pack; ``read`` None until somebody has looked."""

    cone: str
    read: BendReading | None = None


def default_pack(aimed: str | None) -> tuple[str, ...]:
    """Guide, firing and guard cone: one under the aim, the aim, one over it."""
    if not aimed:
        return ()
    number = ordinal_of(aimed)
    near = (number - 1, number, number + 1)
    return tuple(cone_at(n) for n in near if LOWEST <= n <= HIGHEST)


class _ConeLine(QWidget):
    """One cone in words: what was read, its interval, and taking the cone away."""

    said = Signal(str, str)
    removed = Signal(str)
    stepped = Signal(int)
    level_stepped = Signal(int)

    def __init__(self, cone: str) -> None:
        super().__init__()
        self.cone = cone
        self.field = LineField("", hint="66°, 4 o'clock, tip touching")
        self.field.line.setAccessibleName(f"Bend of cone {show_cone(cone)}")
        self.interval = Caption("not read")
        self.interval.setFixedWidth(theme.current().px(66))
        remove = IconButton("cross", f"Take cone {show_cone(cone)} out of the pack")
        name = Text(show_cone(cone), "secondary", 600)
        name.setFixedWidth(theme.current().px(28))
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        top = Qt.AlignmentFlag.AlignVCenter
        row.addWidget(name, 0, top)
        row.addWidget(self.field, 1)
        row.addWidget(self.interval, 0, top)
        row.addWidget(remove, 0, top)
        self.field.edited.connect(lambda text: self.said.emit(self.cone, text))
        self.field.line.returnPressed.connect(lambda: self.stepped.emit(1))
        remove.clicked.connect(lambda: self.removed.emit(self.cone))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: Up and Down, which a line leaves, go through the cones, Page keys by levels."""
        keys = {
            Qt.Key.Key_Up: (self.stepped, -1),
            Qt.Key.Key_Down: (self.stepped, 1),
            Qt.Key.Key_PageUp: (self.level_stepped, -1),
            Qt.Key.Key_PageDown: (self.level_stepped, 1),
        }
        asked = keys.get(Qt.Key(event.key()))
        if asked is not None and self.field.line.hasFocus():
            signal, way = asked
            signal.emit(way)
        else:
            super().keyPressEvent(event)

    def show_read(self, read: BendReading | None) -> None:
        if self.field.line.hasFocus() and self.field.line.isModified():
            return
        self.field.set_text(read.said if read else "")
        words = f"{read.low_deg:.0f} to {read.high_deg:.0f}°" if read else "not read"
        self.interval.setText(words)


class LevelCones(QWidget):
    """A level's pack beside the cone it got. ``pack_read`` carries the cones that were read.

    ``stepped`` carries the line one leaves, and 1 or -1 for the one after or before it;
    ``level_stepped`` the same of this level.
    """

    pack_read = Signal(int, object)
    stepped = Signal(object, int)
    level_stepped = Signal(int, int)

    def __init__(self, level_id: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.level_id = level_id
        self._cones: list[PackCone] = []
        self._aimed: str | None = None
        self._name_width = 0
        self._lines: dict[str, _ConeLine] = {}
        self._pending = QTimer(self)
        self._pending.setSingleShot(True)
        self._pending.setInterval(_SETTLE_MS)
        self._pending.timeout.connect(self._tell)
        self._build()
        self._connect()

    def _build(self) -> None:
        self.name = Words("", weight=600)
        self.pack = ConePack()
        self.cone = Text("", "figure", 600)
        self.against = Caption("", "ink2")
        self.whisker = AimWhisker()
        self.interval = Caption("", "ink2", wrap=True)
        figures = QVBoxLayout()
        figures.setSpacing(0)
        figures.addStretch(1)
        figures.addWidget(self.cone)
        figures.addWidget(self.against)
        figures.addWidget(self.whisker)
        figures.addWidget(self.interval)
        figures.addStretch(1)
        holder = QWidget()
        holder.setLayout(figures)
        figures.setContentsMargins(0, 0, 0, 0)
        self._holder = holder
        row = QHBoxLayout()
        row.setSpacing(6)
        row.addWidget(self.name, 0, Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(self.pack, 1)
        row.addWidget(holder)
        self.contradiction = Text("", "secondary", tone="rust", wrap=True)
        self.contradiction.hide()
        self.reader = QWidget()
        self._line_box = QVBoxLayout()
        self._line_box.setSpacing(4)
        self.adder = LineField("", hint="Add a cone: 8, 05½")
        self.adder.line.setAccessibleName("Add a cone to the pack")
        reader = QVBoxLayout(self.reader)
        reader.setContentsMargins(0, 4, 0, 8)
        reader.setSpacing(4)
        reader.addLayout(self._line_box)
        reader.addWidget(self.adder)
        self.reader.hide()
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 4, 0, 4)
        rows.setSpacing(4)
        rows.addLayout(row)
        rows.addWidget(self.contradiction)
        rows.addWidget(self.reader)

    def _connect(self) -> None:
        self._rescale()
        theme.current().changed.connect(self._rescale)
        self.pack.bend_changed.connect(self._bend)
        self.adder.edited.connect(self.add_cone)
        # Enter says it again although nothing was changed since: a cone was added before.
        self.adder.line.returnPressed.connect(lambda: self.add_cone(self.adder.text()))

    def _rescale(self) -> None:
        px = theme.current().px
        self.name.setFixedWidth(max(px(48), self._name_width))
        self.pack.setFixedHeight(px(113))
        self._holder.setFixedWidth(px(92))

    def name_width(self) -> int:
        """What the name asks for: its longest word, within reason."""
        return min(self.name.minimumSizeHint().width(), theme.current().px(84))

    def set_name_width(self, width: int) -> None:
        """One width for all levels, so that their cones stand under each other."""
        self._name_width = width
        self._rescale()

    def show_level(self, level: LevelPage, aimed: str | None, reading: bool) -> None:
        """Show a level. Cones set but not read stay as long as the page is open."""
        if self._pending.isActive():
            return  # a hand is on a cone: its reading is told in a moment and shown then
        self._aimed = aimed
        self.name.setText(level.name.capitalize())
        stored = [PackCone(c.cone, _bend_of(c)) for c in level.cones]
        known = {cone.cone for cone in stored}
        waiting = [c.cone for c in self._cones if c.cone not in known and c.read is None]
        if not stored and not waiting:
            waiting = list(default_pack(aimed))
        self._cones = sorted(
            [*stored, *(PackCone(cone) for cone in waiting)], key=lambda c: ordinal_of(c.cone)
        )
        self._show_cones()
        self._show_heat(level)
        said = list(level.interval.contradictions) if level.interval else []
        if level.problem:
            said.append(level.problem)
        self.contradiction.setText("\n".join(said))
        self.contradiction.setVisible(bool(said))
        self.reader.setVisible(reading)

    def forget_unread(self) -> None:
        """Another firing is shown: cones set but never read are no longer proposed."""
        if self._pending.isActive():
            self._pending.stop()
            self._tell()
        self._cones = []

    def cones(self) -> tuple[PackCone, ...]:
        """The pack as it stands, read or not."""
        return tuple(self._cones)

    def lines(self) -> list[QLineEdit]:
        """The lines in which the bends of this level are typed."""
        return [line.field.line for line in self._lines.values()]

    def say(self, cone: str, words: str) -> None:
        """Read a cone in words: "66°", "4 o'clock", "tip touching"; empty words unread it."""
        line = self._lines.get(cone)
        try:
            read = parse_bend(words) if words.strip() else None
        except UserProblem as problem:
            if line is not None:
                line.field.set_problem(problem.sentence)
            return
        self._put(cone, read)
        self._tell()

    def add_cone(self, text: str) -> None:
        """Set one more cone into the pack; it is kept once it is read."""
        if not text.strip():
            return
        try:
            cone = name_cone(text)
        except UserProblem as problem:
            self.adder.set_problem(problem.sentence)
            return
        self.adder.set_text("")
        if cone not in {c.cone for c in self._cones}:
            self._cones.append(PackCone(cone))
            self._cones.sort(key=lambda c: ordinal_of(c.cone))
            self._show_cones()
        self._lines[cone].field.line.setFocus(Qt.FocusReason.OtherFocusReason)

    def remove_cone(self, cone: str) -> None:
        """Take a cone out of the pack, its reading with it."""
        was_read = any(c.cone == cone and c.read is not None for c in self._cones)
        self._cones = [c for c in self._cones if c.cone != cone]
        self._show_cones()
        if was_read:
            self._tell()

    def _put(self, cone: str, read: BendReading | None) -> None:
        self._cones = [PackCone(c.cone, read) if c.cone == cone else c for c in self._cones]

    def _bend(self, place: int, degrees: float) -> None:
        cone = self._cones[place].cone
        read = read_degrees(degrees)
        self._put(cone, read)
        self._lines[cone].show_read(read)
        self._pending.start()

    def _tell(self) -> None:
        drafts = tuple(
            ConeDraft(
                cone=c.cone,
                bend_low_deg=c.read.low_deg,
                bend_high_deg=c.read.high_deg,
                said=c.read.said,
            )
            for c in self._cones
            if c.read is not None
        )
        self.pack_read.emit(self.level_id, drafts)

    def _show_cones(self) -> None:
        self.pack.show_readings(
            [
                ConeReading(
                    show_cone(c.cone),
                    c.read.middle_deg if c.read else None,
                    c.read.low_deg if c.read else None,
                    c.read.high_deg if c.read else None,
                    aimed=c.cone == self._aimed,
                    said=c.read.said if c.read else "",
                )
                for c in self._cones
            ]
        )
        wanted = [c.cone for c in self._cones]
        if list(self._lines) != wanted:
            kept = {cone: line for cone, line in self._lines.items() if cone in wanted}
            for cone, line in self._lines.items():
                self._line_box.removeWidget(line)
                if cone not in kept:
                    line.hide()
                    line.deleteLater()
            self._lines = {cone: kept.get(cone) or self._make_line(cone) for cone in wanted}
            for line in self._lines.values():
                self._line_box.addWidget(line)
        for c in self._cones:
            self._lines[c.cone].show_read(c.read)

    def _make_line(self, cone: str) -> _ConeLine:
        line = _ConeLine(cone)
        line.said.connect(self.say)
        line.stepped.connect(lambda way: self.stepped.emit(line.field.line, way))
        line.level_stepped.connect(lambda way: self.level_stepped.emit(self.level_id, way))
        line.removed.connect(self.remove_cone)
        return line

    def _show_heat(self, level: LevelPage) -> None:
        heat = level.heat
        for part in (self.against, self.whisker, self.interval):
            part.setVisible(heat is not None)
        if heat is None:
            self.cone.setText("–")
            return
        told = {"read": "", "computed": "from the curve", "aimed": "only aimed at"}[heat.basis]
        self.cone.setText(heat.label)
        self.cone.set_tone("ink" if heat.basis == "read" else "ink3")
        span = heat.interval_label
        if span == heat.label:
            # A heat below the coolest cone is nowhere on the scale.
            span = "" if heat.cone < LOWEST else "within a tenth"
        self.interval.setText(", ".join(filter(None, (span, told))))
        self.interval.setToolTip(heat.basis_words)
        aimed = ordinal_of(self._aimed) if self._aimed else None
        show = aimed is not None and heat.basis != "aimed"
        self.against.setVisible(show)
        self.whisker.setVisible(show)
        if aimed is not None and show:
            away = heat.cone - aimed
            tenths = f"{abs(away):.1f}"
            words = (
                "on aim" if tenths == "0.0" else f"{tenths} {'hotter' if away > 0 else 'cooler'}"
            )
            self.against.setText(words.replace("-", MINUS))
            self.whisker.show_span(heat.cone, heat.low, heat.high, aimed)


def _bend_of(cone: ConeRead) -> BendReading:
    return BendReading(cone.low_deg, cone.high_deg, cone.middle_deg, cone.said)
