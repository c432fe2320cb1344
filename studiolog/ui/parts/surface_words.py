"""Words for a fired surface, a letter each: what was said of the zone one stands on is filled."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from studiolog.craft.words import ONE_OF, SURFACE_GROUPS, SURFACES, ZONES, surface_group
from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION, RADIUS_CHIP, SECONDARY
from studiolog.journal.inspections import SurfaceDraft
from studiolog.journal.surfaces import say_surfaces
from studiolog.ui.parts.marks import paint_focus_ring

LETTERS: Final = dict(zip(SURFACES, "GSMDCTOEBLKYAHWRNFU", strict=True))
"""The key of each word; Z and Shift Z turn through the zones, plus shows all words."""

_FIRST: Final = ("shine", "depth")
_WHOLE: Final = "whole piece"
_ROOM: Final = 4  # round the chips, for the ring of focus
_NARROW: Final = 300


@dataclass(frozen=True)
class _Chip:
    """A word, a zone (``kind`` says which), or what shows the other words."""

    kind: str
    ident: str
    label: str
    letter: str = ""


class SurfaceWords(QWidget):
    """Zones, and under them the words by what they speak of. ``changed`` when one was said.

    A letter says a word or takes it back, Z goes to the next zone, arrows and Space do the same
    without letters. Tab enters and leaves it as one field. ``compact`` begins with the words for
    shine and depth, and the others follow on plus.
    """

    changed = Signal()

    def __init__(self, compact: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._compact = compact
        self._all = not compact
        self._zones: tuple[str, ...] = ("", *ZONES)
        self._zone = ""
        self._said: dict[str, tuple[str, set[str]]] = {}  # by folded zone: its name, its words
        self._at = 0
        self._laid: tuple[list[tuple[_Chip, QRectF]], list[tuple[str, QRectF]], float] | None = None
        self._laid_for = (0, 0)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleDescription(
            "A letter says a word or takes it back: "
            + ", ".join(f"{letter} {SURFACES[word]}" for word, letter in LETTERS.items())
            + ". Z goes to the next zone."
        )
        self._say()
        theme.current().changed.connect(self._lay_out_anew)

    # What is said

    def show_words(self, surfaces: Iterable[SurfaceDraft], zones: Sequence[str] = ()) -> None:
        """Show what was said; ``zones`` are those of this piece, offered before the others."""
        self._said = {}
        told = list(surfaces)
        for one in told:
            self._words_of(one.zone.strip()).add(one.word)
        named: dict[str, str] = {"": ""}
        for zone in (*zones, *(one.zone for one in told), *ZONES):
            named.setdefault(zone.strip().lower(), zone.strip())
        self._zones = tuple(named.values())
        self._zone = ""
        self._all = not self._compact or any(surface_group(s.word) not in _FIRST for s in told)
        self._at = 0
        self._lay_out_anew()

    def words(self) -> tuple[SurfaceDraft, ...]:
        """All that is said, the whole piece first."""
        zones = sorted(self._said, key=lambda key: (bool(key), list(self._said).index(key)))
        return tuple(
            SurfaceDraft(word, self._said[key][0])
            for key in zones
            for word in SURFACES
            if word in self._said[key][1]
        )

    def zone(self) -> str:
        """The zone that words are said of now; empty for the whole piece."""
        return self._zone

    def toggle(self, word: str) -> None:
        """Say a word of the zone, or take it back; of shine, depth and melt it has one each."""
        words = self._words_of(self._zone)
        if word in words:
            words.remove(word)
        else:
            group = surface_group(word)
            if group in ONE_OF:
                words.difference_update(SURFACE_GROUPS[group])
            words.add(word)
            if group not in _FIRST and not self._all:
                self.show_all()
        if not words:
            del self._said[self._zone.lower()]
        self._lay_out_anew()
        self.changed.emit()

    def go_to_zone(self, zone: str) -> None:
        """Speak of this zone from now on."""
        self._zone = zone
        self._lay_out_anew()

    def show_all(self) -> None:
        """Show the words of every group."""
        self._all = True
        self._at = 0
        self._lay_out_anew()

    def _words_of(self, zone: str) -> set[str]:
        return self._said.setdefault(zone.lower(), (zone, set()))[1]

    def _is_said(self, word: str) -> bool:
        return word in self._said.get(self._zone.lower(), ("", set()))[1]

    def _say(self) -> None:
        told = say_surfaces(self.words()) or "nothing said"
        self.setAccessibleName(f"Surface, now of the {self._zone or _WHOLE}. Said: {told}")

    # Where things are

    def _lay_out_anew(self) -> None:
        self._laid = None
        self._say()
        self.updateGeometry()
        self.update()

    def _layout(
        self, width: int
    ) -> tuple[list[tuple[_Chip, QRectF]], list[tuple[str, QRectF]], float]:
        scale = theme.current().text_scale
        if self._laid is None or self._laid_for != (width, scale):
            self._laid, self._laid_for = self._flow(width), (width, scale)
        return self._laid

    def _rows(self) -> list[tuple[str, list[_Chip]]]:
        rows: list[tuple[str, list[_Chip]]] = []
        zones = self._zones
        if self._compact:
            # One chip says where: Z turns it.
            zones = (self._zone,)
        rows.append(
            (
                "where",
                [
                    _Chip("zone", z, z or _WHOLE, "Z" if self._compact or not z else "")
                    for z in zones
                ],
            )
        )
        for group, words in SURFACE_GROUPS.items():
            if self._all or group in _FIRST:
                chips = [_Chip("word", w, label, LETTERS[w]) for w, label in words.items()]
                rows.append((group, chips))
        if not self._all:
            # All in one, without captions: the sheet has many fields.
            chips = [chip for _, row in rows for chip in row]
            return [("", [*chips, _Chip("more", "", "more words", "+")])]
        return rows

    def _flow(
        self, width: int
    ) -> tuple[list[tuple[_Chip, QRectF]], list[tuple[str, QRectF]], float]:
        look = theme.current()
        caption = QFontMetricsF(look.font(CAPTION))
        high, gap = look.px(24), look.px(4)
        rows = self._rows()
        beside = width >= look.px(_NARROW)
        aside = max(caption.horizontalAdvance(name) for name, _ in rows)
        aside += look.px(10) if aside else 0
        chips: list[tuple[_Chip, QRectF]] = []
        names: list[tuple[str, QRectF]] = []
        top = float(_ROOM)
        for name, row in rows:
            left = _ROOM + aside if beside else float(_ROOM)
            x = left
            wide = caption.horizontalAdvance(name) + 1
            names.append((name, QRectF(_ROOM, top, wide, high)))
            if not beside and name:
                x += wide + gap
            for chip in row:
                room = min(self._chip_width(chip), width - left - _ROOM)
                if x > left and x + room > width - _ROOM:
                    x, top = left, top + high + gap
                chips.append((chip, QRectF(x, top, room, high)))
                x += room + gap
            top += high + look.px(6)
        return chips, names, top - look.px(6) + _ROOM

    def _chip_width(self, chip: _Chip) -> float:
        look = theme.current()
        words = QFontMetricsF(look.font(SECONDARY, 600)).horizontalAdvance(chip.label)
        key = QFontMetricsF(look.font(CAPTION)).horizontalAdvance(chip.letter)
        return float(words + key + look.px(14) + (look.px(5) if chip.letter else 0))

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return round(self._layout(width)[2])

    def sizeHint(self) -> QSize:
        wide = self.width() if self.width() > 120 else theme.current().px(400)
        return QSize(theme.current().px(400), self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        wide = self.width() if self.width() > 120 else theme.current().px(400)
        return QSize(theme.current().px(120), self.heightForWidth(wide))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.updateGeometry()

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = theme.current()
        chips, names, _ = self._layout(self.width())
        middle = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        painter.setFont(look.font(CAPTION))
        painter.setPen(look.color("ink3"))
        for name, box in names:
            painter.drawText(box, middle, name)
        for place, (chip, box) in enumerate(chips):
            self._paint_chip(painter, chip, box)
            if self.hasFocus() and place == self._at:
                paint_focus_ring(painter, box, RADIUS_CHIP)

    def _paint_chip(self, painter: QPainter, chip: _Chip, box: QRectF) -> None:
        look = theme.current()
        on = chip.ident == self._zone if chip.kind == "zone" else self._is_said(chip.ident)
        zone = chip.kind == "zone"
        ground = "cobaltwash" if zone and on else "ink" if on else "sheet"
        words = "cobalt" if zone and on else "paper" if on else "ink"
        painter.setPen(QPen(look.color("cobalt" if zone and on else "ink" if on else "line2"), 1))
        painter.setBrush(look.color(ground))
        inner = box.adjusted(0.5, 0.5, -0.5, -0.5)
        painter.drawRoundedRect(inner, RADIUS_CHIP, RADIUS_CHIP)
        middle = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        left = box.left() + look.px(7)
        if chip.letter:
            painter.setFont(look.font(CAPTION))
            painter.setPen(look.color("line" if on and not zone else "ink3"))
            painter.drawText(
                QRectF(left, box.top(), box.width(), box.height()), middle, chip.letter
            )
            left += QFontMetricsF(painter.font()).horizontalAdvance(chip.letter) + look.px(5)
        font = look.font(SECONDARY, 600 if on else 400)
        room = box.right() - left - look.px(4)
        label = QFontMetricsF(font).elidedText(chip.label, Qt.TextElideMode.ElideRight, room)
        painter.setFont(font)
        painter.setPen(look.color(words))
        painter.drawText(QRectF(left, box.top(), room + 4, box.height()), middle, label)
        if zone and not on and chip.ident.lower() in self._said:
            # Something is said of that zone too.
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(look.color("ink"))
            painter.drawEllipse(QPointF(box.right() - 4, box.top() + 4), 2.0, 2.0)

    # Keys and the mouse

    def event(self, event: QEvent) -> bool:
        """Qt: the tool-tip of a chip says it whole, where it may have been cut with dots."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            chip = self._chip_at(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), chip.label if chip else "", self)
            return True
        return super().event(event)

    def _chip_at(self, spot: QPointF) -> _Chip | None:
        chips = self._layout(self.width())[0]
        return next((chip for chip, box in chips if box.contains(spot)), None)

    def _press(self, chip: _Chip) -> None:
        if chip.kind == "word":
            self.toggle(chip.ident)
        elif chip.kind == "more":
            self.show_all()
        elif self._compact:
            self._turn_zone(1)
        else:
            self.go_to_zone(chip.ident)

    def _turn_zone(self, step: int) -> None:
        place = self._zones.index(self._zone) if self._zone in self._zones else 0
        self.go_to_zone(self._zones[(place + step) % len(self._zones)])

    def mousePressEvent(self, event: QMouseEvent) -> None:
        chips = self._layout(self.width())[0]
        for place, (chip, box) in enumerate(chips):
            if box.contains(event.position()):
                self._at = place
                self._press(chip)
                return

    def keyPressEvent(self, event: QKeyEvent) -> None:
        plain = Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier
        if event.modifiers() & ~plain:
            super().keyPressEvent(event)
            return
        typed, key = event.text().upper(), event.key()
        word = next((w for w, letter in LETTERS.items() if letter == typed), None)
        steps = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        if word is not None:
            self.toggle(word)
            self._stand_on(word)
        elif typed == "Z":
            back = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self._turn_zone(-1 if back else 1)
        elif typed == "+":
            self.show_all()
        elif Qt.Key(key) in steps:
            count = len(self._layout(self.width())[0])
            self._at = max(0, min(count - 1, self._at + steps[Qt.Key(key)]))
            self.update()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._go_along(1 if key == Qt.Key.Key_Down else -1)
        elif key == Qt.Key.Key_Space:
            chips = self._layout(self.width())[0]
            self._press(chips[min(self._at, len(chips) - 1)][0])
        else:
            super().keyPressEvent(event)

    def _stand_on(self, word: str) -> None:
        chips = self._layout(self.width())[0]
        self._at = next((n for n, (chip, _) in enumerate(chips) if chip.ident == word), self._at)
        self.update()

    def _go_along(self, way: int) -> None:
        """The chip below or above that is nearest."""
        chips = self._layout(self.width())[0]
        here = chips[min(self._at, len(chips) - 1)][1]
        lines = sorted({box.top() for _, box in chips})
        line = lines.index(here.top()) + way
        if not 0 <= line < len(lines):
            return
        there = [n for n, (_, box) in enumerate(chips) if box.top() == lines[line]]
        self._at = min(there, key=lambda n: abs(chips[n][1].center().x() - here.center().x()))
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()
