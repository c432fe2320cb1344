"""Fault rates under a rule: every fault of some pieces, or one fault across several groups."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLayout, QVBoxLayout, QWidget

from studiolog.craft.words import FAULTS
from studiolog.desktop import theme
from studiolog.journal.fault_rates import FaultRate, RateGroup
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.rate_bar import RateBar
from studiolog.ui.parts.section import Hairline, Section
from studiolog.ui.parts.swatch import ClayLook, CombinationSwatch, GlazeLook
from studiolog.ui.parts.text import Caption, Text, Words

NEVER_LOOKED = (
    "Nobody has looked at any of them yet. "
    "A piece that was not inspected counts as neither sound nor faulty."
)


def fault_word(fault: str) -> str:
    """A fault as it starts a line."""
    word = FAULTS[fault]
    return word[0].upper() + word[1:]


def clear_layout(layout: QLayout) -> None:
    """Take everything out of a layout, and out of those within it, and let its widgets go."""
    while (item := layout.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
        inner = item.layout()
        if inner is not None:
            clear_layout(inner)


def pieces_words(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"


class FaultRateSection(Section):
    """Each fault somebody looked for, with its count, its rate and its whisker."""

    def __init__(self, title: str = "Fault rates", parent: QWidget | None = None) -> None:
        super().__init__(title, parent=parent)
        self._shown: tuple[RateGroup, int] | None = None
        self._rows = QVBoxLayout()
        self._rows.setSpacing(0)
        self.add(self._rows)

    def show_group(self, group: RateGroup) -> None:
        # A page is read again after every edit, and its rates are seldom others: to build and lay
        # out the same rows anew would keep the window waiting, and take the keyboard from them.
        shown = group, theme.current().text_scale
        if shown == self._shown:
            return
        self._shown = shown
        clear_layout(self._rows)
        self.set_quiet(f"{group.inspected} of {pieces_words(group.pieces)} inspected")
        if not group.rates:
            words = NEVER_LOOKED if group.pieces else "No pieces yet."
            self._rows.addWidget(Text(words, "secondary", tone="ink2", wrap=True))
            return
        for rate in group.rates:
            self._rows.addWidget(_line(rate))
            self._rows.addWidget(Hairline())
        self._rows.addWidget(
            Caption(
                "Pieces it was seen on, of those inspected for it. Whisker: 95 % interval.",
                wrap=True,
            )
        )


def _line(rate: FaultRate) -> QWidget:
    line = QWidget()
    row = QHBoxLayout(line)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(8)
    row.addWidget(IconLabel(rate.fault, "ink2", 20))
    word = Words(fault_word(rate.fault), "secondary", 500)
    word.setFixedWidth(theme.current().px(104))
    row.addWidget(word)
    row.addWidget(RateBar(rate.seen, rate.inspected, rate.low, rate.high), 1)
    return line


def _bar_wide() -> int:
    """One width for all rows, so that their rates stand under each other."""
    return theme.current().px(170) + 60


@dataclass(frozen=True)
class ComparedGroup:
    """One row of a comparison: what it is, its layers if it is a combination, its rates."""

    words: str
    group: RateGroup
    layers: tuple[GlazeLook, ...] = ()
    clay: ClayLook | None = None


class FaultCompareSection(Section):
    """One fault, chosen at the right of the head, across several groups of pieces."""

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(title, parent=parent)
        self._groups: tuple[ComparedGroup, ...] = ()
        self._nothing = ""
        self._drawn: object = None
        self.pick = PickOne("Fault to compare")
        self.pick.setFixedWidth(theme.current().px(140) + 30)
        self.head.addWidget(self.pick)
        self._rows = QVBoxLayout()
        self._rows.setSpacing(0)
        self.add(self._rows)
        self.pick.picked.connect(lambda _fault: self._draw())

    def show_groups(self, groups: Sequence[ComparedGroup], nothing: str) -> None:
        self._groups = tuple(groups)
        self._nothing = nothing
        looked = {rate.fault for one in groups for rate in one.group.rates}
        before = self.pick.chosen()
        self.pick.set_choices([Choice(key, fault_word(key)) for key in FAULTS if key in looked])
        if before not in looked and looked:
            self.pick.choose(self._worst())
        self.pick.setVisible(bool(looked))
        self._draw()

    def _worst(self) -> str:
        """The fault seen most: the one worth looking at first."""
        seen: dict[str, int] = {}
        for one in self._groups:
            for rate in one.group.rates:
                seen[rate.fault] = seen.get(rate.fault, 0) + rate.seen
        return max(seen, key=lambda fault: seen[fault])

    def _draw(self) -> None:
        fault = self.pick.chosen()
        wanted = self._groups, self._nothing, fault, theme.current().text_scale
        if wanted == self._drawn:
            return  # as above: the same rows stay
        self._drawn = wanted
        clear_layout(self._rows)
        if not self._groups:
            self._rows.addWidget(Text(self._nothing, "secondary", tone="ink2", wrap=True))
            return
        for one in self._groups:
            line = QWidget()
            row = QHBoxLayout(line)
            row.setContentsMargins(0, 0, 0, 0)
            row.setSpacing(12)
            if one.layers:
                row.addWidget(CombinationSwatch(one.layers, one.clay))
            words = QVBoxLayout()
            words.setContentsMargins(0, 6, 0, 6)
            words.setSpacing(0)
            words.addWidget(Words(one.words, "secondary", 500))
            words.addWidget(Caption(pieces_words(one.group.pieces)))
            row.addLayout(words, 1)
            if fault is None:
                row.addWidget(Text("not inspected", "secondary", tone="ink3"))
            else:
                rate = one.group.rate_of(str(fault))
                if rate.inspected:
                    bar = RateBar(rate.seen, rate.inspected, rate.low, rate.high)
                    bar.setFixedWidth(_bar_wide())
                    row.addWidget(bar)
                else:
                    said = Text("not looked", "secondary", tone="ink3")
                    said.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
                    said.setContentsMargins(14, 0, 0, 0)
                    said.setFixedWidth(_bar_wide())
                    row.addWidget(said)
            self._rows.addWidget(line)
            self._rows.addWidget(Hairline())
