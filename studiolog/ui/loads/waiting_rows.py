"""What waits for such a firing: group by group, put in whole or in part, or typed by number."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.units import show_quantity
from studiolog.journal.load_ware import WareGroup
from studiolog.journal.load_warnings import fits_cone
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import LineField, write_day
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Text, Words

_MOST_ROWS = 40


class WaitingSection(Section):
    """``put_in`` carries ids of pieces, ``typed`` what was typed, ``order_asked`` an order."""

    put_in = Signal(object, str)
    typed = Signal(str)
    order_asked = Signal(int, int)
    opened = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("What waits", parent=parent)
        self.numbers = LineField("", hint="388, 390-395, run 57")
        self.numbers.line.setAccessibleName("Numbers of pieces to put in")
        self.put_button = QPushButton("Put in")
        self.put_button.setAccessibleName("Put the pieces typed into the load")
        self.put_button.setAutoDefault(False)
        line = QHBoxLayout()
        line.setSpacing(8)
        line.addWidget(self.numbers, 1)
        line.addWidget(self.put_button, 0, Qt.AlignmentFlag.AlignTop)
        self._fitting: tuple[int, ...] = ()
        self.all_button = QPushButton("Put in all")
        self.all_button.setAutoDefault(False)
        line.addWidget(self.all_button, 0, Qt.AlignmentFlag.AlignTop)
        self.none = Text("", "secondary", tone="ink2", wrap=True)
        self.rows = QVBoxLayout()
        self.rows.setSpacing(12)
        self.add(line)
        self.add(self.none)
        self.add(self.rows)
        self.put_button.clicked.connect(self._tell_typed)
        self.numbers.line.returnPressed.connect(self._tell_typed)
        self.all_button.clicked.connect(lambda: self.put_in.emit(self._fitting, "what waits"))

    def show_waiting(self, groups: Sequence[WareGroup], kind: str, cone: float | None) -> None:
        """Show what waits; what does not want the load's cone says so and stands last."""
        clear_layout(self.rows)
        ordered = sorted(groups, key=lambda group: not fits_cone(group.first, cone))
        pieces = sum(len(group.pieces) for group in groups)
        self.set_quiet("1 piece" if pieces == 1 else f"{pieces} pieces" if pieces else "")
        fitting = [group for group in ordered if fits_cone(group.first, cone)]
        self._fitting = tuple(ware.piece_id for group in fitting for ware in group.pieces)
        self.all_button.setVisible(len(groups) > 1 and bool(self._fitting))
        which = f"all {len(self._fitting)} that wait"
        if len(self._fitting) < pieces:
            which += " for this cone"
        self.all_button.setToolTip(f"Put in {which}")
        self.all_button.setAccessibleName(f"Put in {which}")
        self.none.setText(
            f"Nothing else waits for a {kind} firing. By number you can put in what is not ready."
        )
        self.none.setVisible(not groups)
        for number, group in enumerate(ordered[:_MOST_ROWS], start=1):
            self.rows.addWidget(self._row(group, cone, number))
        if len(ordered) > _MOST_ROWS:
            more = len(ordered) - _MOST_ROWS
            self.rows.addWidget(Text(f"And {more} more kinds: put them in by number.", "secondary"))

    def _row(self, group: WareGroup, cone: float | None, number: int) -> QWidget:
        holder = QWidget()
        rows = QVBoxLayout(holder)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(2)
        first = group.first
        head = QHBoxLayout()
        head.setSpacing(8)
        if first.run_number is not None:
            mark = NumberMark("run", first.run_number, first.run_id)
            mark.setAccessibleName(f"{mark.accessibleName()}, waiting {number}")
            mark.opened.connect(self.opened)
            head.addWidget(mark, 0, Qt.AlignmentFlag.AlignTop)
        count = len(group.pieces)
        words = f"{count} × {group.name}" if count > 1 else group.name
        if first.glaze_words:
            words += f", {first.glaze_words}"
        head.addWidget(Words(words, "body", 600), 1)
        rows.addLayout(head)
        rows.addWidget(Text(_say_facts(group), "secondary", tone="ink2", wrap=True))
        if not fits_cone(first, cone):
            told = f"Wants {group.cone_words}: not the cone of this load."
            rows.addWidget(Text(told, "secondary", tone="ochre", wrap=True))
        rows.addLayout(self._feet(group, number))
        return holder

    def _feet(self, group: WareGroup, number: int) -> QHBoxLayout:
        feet = QHBoxLayout()
        feet.setSpacing(12)
        ids = tuple(ware.piece_id for ware in group.pieces)
        if len(ids) > 1:
            some = LineField("", str(len(ids)))
            some.line.setAccessibleName(f"How many of {group.name} to put in, waiting {number}")
            some.line.setFixedWidth(56)
            feet.addWidget(some)
            button = QPushButton("Put in")
            button.clicked.connect(lambda: self._put_some(ids, group.name, some))
            some.line.returnPressed.connect(lambda: self._put_some(ids, group.name, some))
        else:
            button = QPushButton("Put in")
            button.clicked.connect(partial(self._put_all, ids, group.name))
        button.setAccessibleName(f"Put in {group.name}, waiting {number}")
        button.setAutoDefault(False)
        feet.addWidget(button)
        first = group.first
        if first.order_id is not None and first.order_number is not None:
            order = link_button(f"All of order {first.order_number}")
            order.setAccessibleName(f"Put in all of order {first.order_number}, waiting {number}")
            order.clicked.connect(partial(self._ask_order, first.order_id, first.order_number))
            feet.addWidget(order)
        feet.addStretch(1)
        return feet

    def _put_some(self, ids: tuple[int, ...], name: str, field: LineField) -> None:
        typed = field.text() or str(len(ids))
        if not typed.isdecimal() or not 1 <= int(typed) <= len(ids):
            field.set_problem(f"1 to {len(ids)}")
            return
        # Pieces without a number go first: those with one may be meant for something.
        self.put_in.emit(ids[-int(typed) :], name)

    def _put_all(self, ids: tuple[int, ...], name: str, _checked: bool = False) -> None:
        self.put_in.emit(ids, name)

    def _ask_order(self, order_id: int, number: int, _checked: bool = False) -> None:
        self.order_asked.emit(order_id, number)

    def _tell_typed(self) -> None:
        if self.numbers.text():
            self.typed.emit(self.numbers.text())
        else:
            self.numbers.set_problem("Type the numbers of pieces, like 388, 390-395, run 57.")


def _say_facts(group: WareGroup) -> str:
    first = group.first
    across = show_quantity(first.across_mm, "mm")
    high = show_quantity(first.height_mm, "mm")
    size = f"{across} across, {high} high ({first.size_basis})"
    parts = [f"{group.cone_words}, {first.cone_basis}", size]
    if first.atmosphere != "oxidation":
        parts.append(f"{first.atmosphere} {first.atmosphere_basis}")
    if group.promised_on is not None:
        parts.append(f"promised for {_day(group.promised_on)}")
    words = ". ".join(part[:1].upper() + part[1:] for part in parts)
    return f"{words}."


def _day(day: date) -> str:
    return write_day(day)
