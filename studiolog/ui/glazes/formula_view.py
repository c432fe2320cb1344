"""A unity formula as the trade lays it out: fluxes, amphoteric oxides, glass formers."""

from PySide6.QtCore import QPointF, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.glaze.formula_words import (
    PLACES,
    say_moles,
    write_alkali,
    write_moles,
    write_percent,
)
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.glaze.unity import Place, UnityFormula, place_of
from studiolog.desktop.tokens import BODY, SECONDARY
from studiolog.ui.parts.drawing import Drawing, pen, width_of, wrapped, write

_COLUMNS: tuple[Place, ...] = ("flux", "amphoteric", "former")
_UNDER: tuple[Place, ...] = ("boron", "phosphorus", "outside")
_LINE, _HEAD, _GAP = 24.0, 24.0, 32.0
_POINT, _OXIDE = 24.0, 60.0  # where decimal points stand, and where the oxides begin
_COLUMN = 128.0  # the least a column needs
_LABEL = 132.0  # the words before a line of its own

Entries = list[tuple[str, str]]


class FormulaView(Drawing):
    """Three columns and lines of their own beneath; under each other where room is short.

    Without a flux it shows mole per cent in the same places.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Unity formula", parent)
        self._formula: UnityFormula | None = None
        self._complete = True
        self._columns: dict[Place, Entries] = {}
        self._highs: dict[int, int] = {}  # layouts ask for the same widths over and over
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.tell()

    def show_formula(self, formula: UnityFormula | None, complete: bool = True) -> None:
        """Show a formula; one that lacks a material is drawn in lighter ink."""
        self._formula, self._complete = formula, complete
        self._columns = {place: self._read_entries(place) for place in PLACES}
        self._highs.clear()
        self.tell()

    def grow(self) -> None:
        self._highs.clear()
        super().grow()

    def sentence(self) -> str:
        """``Moles per mole of flux: K₂O 0.26, CaO 0.74; Al₂O₃ 0.41; SiO₂ 3.71.``"""
        formula = self._formula
        if formula is None:
            return "No formula yet."
        if formula.is_defined:
            return f"Moles per mole of flux: {say_moles(formula)}."
        named = ", ".join(
            f"{pretty(o)} {write_percent(p)}" for o, p in formula.mole_percent.items()
        )
        return f"No flux, so there is no unity formula. Mole per cent: {named}."

    # Room

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        if width not in self._highs:
            self._highs[width] = round(self._tall_for(width / self.grown()) * self.grown())
        return self._highs[width]

    def sizeHint(self) -> QSize:
        return self.asked(3 * _COLUMN + 2 * _GAP, self._tall_for(3 * _COLUMN + 2 * _GAP))

    def minimumSizeHint(self) -> QSize:
        return self.asked(_COLUMN + 24, _HEAD + _LINE)

    def _is_wide(self, wide: float) -> bool:
        return wide >= 3 * _COLUMN + 2 * _GAP

    def _tall_for(self, wide: float) -> float:
        columns = [len(self._entries(place)) for place in _COLUMNS]
        if self._is_wide(wide):
            tall = _HEAD + max(max(columns), 1) * _LINE
        else:
            tall = sum(_HEAD + count * _LINE + 8 for count in columns if count)
        under = sum(len(lines) for _label, lines in self._under(wide))
        return tall + (under * _LINE + 8 if under else 0) + 4

    # What stands where

    def _entries(self, place: Place) -> Entries:
        return self._columns.get(place, [])

    def _read_entries(self, place: Place) -> Entries:
        formula = self._formula
        if formula is None:
            return []
        if formula.is_defined:
            return [(write_moles(n), pretty(o)) for o, n in formula.in_place(place).items()]
        return [
            (write_percent(percent), pretty(oxide))
            for oxide, percent in formula.mole_percent.items()
            if place_of(oxide, formula.rules) == place
        ]

    def _under(self, wide: float) -> list[tuple[str, list[str]]]:
        """The lines beneath: a label, and its words broken to the width."""
        found: list[tuple[str, list[str]]] = []
        formula, room = self._formula, max(wide - _LABEL, 60.0)
        if formula is None:
            return found
        if formula.is_defined:
            found.append(("R₂O : RO", wrapped(write_alkali(formula), BODY, room, 500)))
        else:
            found.append(
                ("Mole per cent", wrapped("no flux, so no unity formula", BODY, room, 500))
            )
        for place in _UNDER:
            entries = [f"{oxide} {number}" for number, oxide in self._entries(place)]
            if entries:
                found.append((PLACES[place], _in_lines(entries, room)))
        return found

    # Painting

    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = self.painter()
        wide = self.wide()
        y = self._paint_columns(painter, wide)
        under = self._under(wide)
        if under:
            painter.setPen(pen("line", 1.0))
            painter.drawLine(QPointF(0, y + 4), QPointF(wide, y + 4))
            y += 8
        for label, lines in under:
            write(painter, QPointF(0, y + _LINE / 2), label, "ink3", SECONDARY)
            for line in lines:
                write(painter, QPointF(_LABEL, y + _LINE / 2), line, self._ink(), BODY, 500)
                y += _LINE
        self.paint_focus(painter, 4.0)

    def _paint_columns(self, painter: QPainter, wide: float) -> float:
        side_by_side = self._is_wide(wide)
        step = (wide + _GAP) / 3
        y, lowest = 0.0, 0.0
        for place_number, place in enumerate(_COLUMNS):
            entries = self._entries(place)
            if not side_by_side and not entries:
                continue
            x = step * place_number if side_by_side else 0.0
            self._paint_column(painter, x, y, PLACES[place], entries)
            tall = _HEAD + max(len(entries), 1) * _LINE
            lowest = max(lowest, y + tall)
            if side_by_side and place_number:
                painter.setPen(pen("line", 1.0))
                left = round(x - _GAP / 2) + 0.5
                rows = max(len(self._entries(one)) for one in _COLUMNS)
                painter.drawLine(QPointF(left, 4), QPointF(left, _HEAD + rows * _LINE))
            if not side_by_side:
                y += tall + 8
        return lowest

    def _paint_column(
        self, painter: QPainter, x: float, y: float, head: str, entries: Entries
    ) -> None:
        write(painter, QPointF(x, y + _HEAD / 2), head, "ink3", SECONDARY)
        for number, oxide in entries or [("–", "")]:
            y += _LINE
            middle = y + _LINE / 2
            token = self._ink()
            whole, dot, decimals = number.partition(".")
            # Points under each other: numbers have two or three places.
            write(painter, QPointF(x + _POINT, middle), whole + dot, token, BODY, 600, "right")
            write(painter, QPointF(x + _POINT, middle), decimals, token, BODY, 600)
            write(painter, QPointF(x + _OXIDE, middle), oxide, token, BODY)

    def _ink(self) -> str:
        return "ink" if self._complete else "ink3"


def _in_lines(entries: list[str], wide: float) -> list[str]:
    lines: list[str] = []
    for entry in entries:
        longer = f"{lines[-1]}  {entry}" if lines else entry
        if lines and width_of(longer, BODY, 500) <= wide:
            lines[-1] = longer
        else:
            lines.append(entry)
    return lines
