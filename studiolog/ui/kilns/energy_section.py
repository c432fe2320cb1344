"""What a kiln used and cost over a year, by kind of firing, and how well that is known."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.craft.firing.energy import BASES
from studiolog.craft.money import show_money
from studiolog.craft.units import show_quantity
from studiolog.desktop import theme
from studiolog.journal.kiln_energy import KilnEnergy, KindEnergy
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import write_day
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Text, Words

_CLOSE_ABOVE = 125  # per cent of text
_DASH = "–"
HEADS = ("", "Firings", "Energy each", "Cost each", "A litre", "A piece")
_SHARES = (4, 3, 6, 5, 3, 3)
"""Of the width, so that a figure with its unit stays in one line."""
_HOW_ESTIMATED = " (power × hours × share)"


class EnergySection(Section):
    """A row a kind: means of its firings, and beneath how many of them are measured."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Energy and cost", parent=parent)
        holder = QWidget()
        self._grid = QGridLayout(holder)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(2)
        self.empty = Text("It was never fired.", tone="ink2")
        self.total = Text("", "secondary", tone="ink2", wrap=True)
        self.missing = Text("", "secondary", tone="ink3", wrap=True)
        for part in (holder, self.empty, self.total, self.missing):
            self.add(part)

    def show_energy(self, energy: KilnEnergy) -> None:
        """Show the year up to the kiln's newest firing."""
        clear_layout(self._grid)
        self.empty.setVisible(not energy.kinds)
        if energy.since is not None and energy.until is not None:
            self.set_quiet(f"{write_day(energy.since.date())} to {write_day(energy.until.date())}")
        else:
            self.set_quiet("")
        # With large text there is no room for a column each: a sentence then says the same.
        close = theme.current().text_scale > _CLOSE_ABOVE
        row = 0
        if energy.kinds and not close:
            for place, head in enumerate(HEADS):
                self._grid.addWidget(Words(head, "caption", tone="ink3"), row, place)
            row += 1
        for kind in energy.kinds:
            if close:
                self._grid.addWidget(Words(say_kind(kind), "secondary"), row, 0, 1, len(HEADS))
            else:
                for place, words in enumerate(_cells(kind)):
                    weight = 600 if place == 0 else 400
                    self._grid.addWidget(Words(words, "secondary", weight), row, place)
            known = Words(say_bases(kind.by_basis), "caption", tone="ink3")
            known.setContentsMargins(0, 0, 0, 6)
            self._grid.addWidget(known, row + 1, 0 if close else 1, 1, len(HEADS) - (not close))
            row += 2
        for column, share in enumerate(_SHARES):
            self._grid.setColumnStretch(column, share)
        self.total.setText(_say_total(energy))
        self.total.setVisible(energy.kwh > 0.0)
        self.missing.setText("\n".join(energy.missing))
        self.missing.setVisible(bool(energy.missing))


def say_bases(by_basis: Mapping[str, int]) -> str:
    """ "20 by the meter, 3 from logged duty, 1 estimated (power × hours × share)"."""
    said = [
        f"{by_basis[key]} {words}{_HOW_ESTIMATED if key == 'estimate' else ''}"
        for key, words in BASES.items()
        if by_basis.get(key)
    ]
    return ", ".join(said) or "nothing to tell the energy from"


def say_kind(kind: KindEnergy) -> str:
    """A row of the table as a sentence."""
    name, firings, each, cost, litre, piece = _cells(kind)
    words = f"{name}, {firings} {'firing' if kind.firings == 1 else 'firings'}"
    if each != _DASH:
        words += f"; {each} each"
    for value, of in ((cost, "each"), (litre, "a litre"), (piece, "a piece")):
        if value != _DASH:
            words += f"; {'cost ' if of == 'each' else ''}{value} {of}"
    return f"{words}."


def _cells(kind: KindEnergy) -> tuple[str, ...]:
    about = "" if set(kind.by_basis) == {"meter"} else "about "
    decimals = 0 if about else 1
    return (
        kind.words.capitalize(),
        str(kind.firings),
        f"{about}{show_quantity(kind.kwh, 'kWh', decimals)}" if kind.kwh is not None else _DASH,
        f"{about}{show_money(kind.cost)}" if kind.cost is not None else _DASH,
        _small(kind.cost_per_l),
        _small(kind.cost_per_piece),
    )


def _small(value: Decimal | None) -> str:
    if value is None:
        return _DASH
    return show_money(value)


def _say_total(energy: KilnEnergy) -> str:
    words = f"In all {show_quantity(energy.kwh, 'kWh')}"
    if energy.cost is not None:
        words += f", {show_money(energy.cost, energy.currency)}"
    return f"{words}."
