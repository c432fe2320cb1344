"""What has left of an order, and what may leave now."""

from collections.abc import Callable
from datetime import date
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.order_page import OrderLinePage, ShipmentPage, ShippedItem
from studiolog.journal.orders import OrderPage
from studiolog.journal.session import Session
from studiolog.journal.shipments import (
    Shipped,
    ToShip,
    change_shipment,
    read_packing_list,
    say_left,
    ship,
    take_shipment_back,
)
from studiolog.journal.studio import read_studio
from studiolog.paper.packing_list import lay_out_packing_list
from studiolog.problems import UserProblem
from studiolog.ui.parts.due import say_day
from studiolog.ui.parts.fields import DayField, EditableText, LineField, NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.paper_sheet import PaperSheet
from studiolog.ui.parts.section import Hairline, Section, link_button, primary_button
from studiolog.ui.parts.text import Caption, Words

_MOST_NUMBERS = 12


def item_words(item: ShippedItem) -> str:
    """So many of a line, those with a number by it: "8 Ripple tumbler (412, 413)"."""
    shown = ", ".join(str(number) for number in item.numbers[:_MOST_NUMBERS])
    more = (
        f" and {len(item.numbers) - _MOST_NUMBERS} more"
        if len(item.numbers) > _MOST_NUMBERS
        else ""
    )
    numbers = f" ({shown}{more})" if shown else ""
    broke = f", {item.lost} of them broke on the way" if item.lost else ""
    return f"{item.pieces} {item.title}{numbers}{broke}"


class ShipmentsSection(Section):
    """A row for each shipment, and the counts of one being made."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Shipments", parent=parent)
        self.desk = desk
        self.page: OrderPage | None = None
        self._today = date.today()
        self._rows = QVBoxLayout()
        self._rows.setSpacing(8)
        self.none = Caption("", "ink2", wrap=True)
        self.start = QPushButton("Ship what is finished")
        self.start.setToolTip("S")
        self.making = ShipmentForm()
        self.problem = ProblemLine()
        self.add(self._rows)
        self.add(self.none)
        self.body.addWidget(self.start, 0, Qt.AlignmentFlag.AlignLeft)
        self.add(self.making)
        self.add(self.problem)
        self._shown: tuple[ShipmentPage, ...] | None = None
        self.start.clicked.connect(self.start_shipping)
        self.making.kept.connect(self.keep)
        self.making.left.connect(self._leave)

    def show_page(self, page: OrderPage, today: date) -> None:
        """Show what has left of an order."""
        other = self.page is None or self.page.order_id != page.order_id
        self.page, self._today = page, today
        if other:
            self.problem.say("")
            self.making.hide()
        self.set_quiet(say_left(page))
        if other or page.shipments != self._shown:
            self._shown = page.shipments
            self._show_rows(page)
        ready = page.may_leave
        if self.making.isVisibleTo(self) and ready:
            self.making.show_lines(page, today, fresh=False)
        elif not ready:
            self.making.hide()
        self.start.setVisible(ready and self.making.isHidden())
        if ready or not page.lines:
            self.none.setText("" if page.lines else "Nothing is asked for yet.")
        elif page.state != "open":
            self.none.setText("" if page.shipments else "Nothing was written down of what left.")
        else:
            self.none.setText("Nothing finished is here to leave." if page.left else "")
        self.none.setVisible(bool(self.none.text()))

    def _show_rows(self, page: OrderPage) -> None:
        _empty(self._rows)
        for shipment in page.shipments:
            self._rows.addWidget(self._row(shipment))

    def _row(self, shipment: ShipmentPage) -> QWidget:
        holder = QWidget()
        rows = QVBoxLayout(holder)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        top = FlowLayout(spacing=12, line_spacing=4)
        day = say_day(shipment.shipped_on, self._today)
        top.addWidget(Words(day, "body", 600))
        top.addWidget(Words("; ".join(map(item_words, shipment.items)), "body"))
        for words, act in (("Packing list", self.print_list), ("Take back", self.take_back)):
            link = link_button(words)
            link.setAccessibleName(f"{words}: shipment of {day}")
            link.clicked.connect(partial(act, shipment.shipment_id))
            top.addWidget(link)
        note = EditableText(
            f"Note of the shipment of {day}", shipment.note, "Add a note", "secondary"
        )
        note.edited.connect(partial(self._keep_note, shipment.shipment_id))
        rows.addLayout(top)
        rows.addWidget(note)
        rows.addWidget(Hairline())
        return holder

    # What a person does

    def start_shipping(self) -> None:
        """Count what leaves, filled with all that is finished and here."""
        if self.page is None or not self.page.may_leave:
            return
        self.problem.say("")
        self.start.hide()
        self.making.show_lines(self.page, self._today, fresh=True)
        self.making.show()
        self.making.take_keyboard()

    def keep(self) -> None:
        """Make the shipment; what is wrong is said under it."""
        assert self.page is not None
        page = self.page
        try:
            shipped_on, lines, note = self.making.asked()
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        edit = partial(
            ship, order_id=page.order_id, shipped_on=shipped_on or self._today, lines=lines,
            note=note, today=self._today,
        )  # fmt: skip
        made: list[Shipped] = []
        if not self._run(
            f"Ship of order {page.number}", lambda session: made.append(edit(session))
        ):
            return
        self.making.hide()
        self.start.setFocus(Qt.FocusReason.OtherFocusReason)
        pieces = f"{made[0].pieces} piece{'' if made[0].pieces == 1 else 's'}"
        told = f"{pieces} of order {page.number} left."
        if made[0].delivered:
            told = f"{told[:-1]}, and nothing of it is left: it is delivered."
        self.desk.notices.say(told, "Undo", self.desk.edits.undo)

    def take_back(self, shipment_id: int) -> None:
        """A shipment did not leave after all."""
        assert self.page is not None
        number = self.page.number
        opened: list[bool] = []
        label = f"Take back a shipment of order {number}"
        if self._run(
            label, lambda session: opened.append(take_shipment_back(session, shipment_id))
        ):
            again = f", and order {number} is open again" if opened[0] else ""
            self.desk.notices.say(
                f"The pieces are here again{again}.", "Undo", self.desk.edits.undo
            )

    def print_list(self, shipment_id: int) -> None:
        """Look at the packing list of a shipment, to print it."""
        packing = self.desk.read(partial(read_packing_list, shipment_id=shipment_id))
        if packing is None:
            return
        studio = self.desk.read(read_studio).name
        sheet = PaperSheet(
            self.desk,
            "Packing list",
            lambda size: lay_out_packing_list(packing, size, studio),
            parent=self.window(),
        )
        sheet.finished.connect(sheet.deleteLater)
        sheet.open()

    def _keep_note(self, shipment_id: int, note: str) -> None:
        edit = partial(change_shipment, shipment_id=shipment_id, note=note)
        self._run("Change the note of a shipment", edit)

    def _leave(self) -> None:
        self.problem.say("")
        self.making.hide()
        self.start.show()
        self.start.setFocus(Qt.FocusReason.OtherFocusReason)

    def _run(self, label: str, edit: Callable[[Session], Any]) -> bool:
        self.problem.say("")
        try:
            self.desk.edits.run(label, edit)
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return False
        return True


class ShipmentForm(QWidget):
    """How many of each line leave, on which day. ``kept`` fires to ship, ``left`` to give up."""

    kept = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.counts: dict[int, NumberField] = {}
        self._counts = QVBoxLayout()
        self._counts.setSpacing(6)
        self.day = DayField("Left on")
        self.note = LineField("Note", hint="Carrier, who fetched it")
        self.note.setMinimumWidth(theme.current().px(200))
        self.send = primary_button("Ship")
        self.give_up = QPushButton("Cancel")
        self.give_up.setAccessibleName("Cancel the shipment")
        foot = FlowLayout(spacing=16, line_spacing=8)
        for one in (self.day, self.note):
            foot.addWidget(one)
        acts = FlowLayout(spacing=8, line_spacing=8)
        for button in (self.send, self.give_up):
            acts.addWidget(button)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 4, 0, 0)
        rows.setSpacing(10)
        rows.addLayout(self._counts)
        rows.addLayout(foot)
        rows.addLayout(acts)
        self.send.clicked.connect(self.kept)
        self.give_up.clicked.connect(self.left)
        for line in (self.day.line, self.note.line):
            line.returnPressed.connect(self.kept)
        self.hide()

    def show_lines(self, page: OrderPage, today: date, *, fresh: bool) -> None:
        """A count for each line of which something may leave."""
        ready = {line.line_id: line for line in page.lines if line.ready}
        if fresh or list(ready) != list(self.counts):
            _empty(self._counts)
            self.counts = {}
            for line in ready.values():
                self._add_count(line)
        if fresh:
            self.day.set_day(today)
            self.note.set_text("")

    def _add_count(self, line: OrderLinePage) -> None:
        whole = "whole sets" if line.set_id is not None else "finished"
        words = f"of {line.ready} {whole}: {line.title}"
        count = NumberField("", "", line.ready, 0, 0, line.ready)
        count.line.setFixedWidth(theme.current().px(56))
        count.line.setAccessibleName(f"How many leave {words}")
        count.line.returnPressed.connect(self.kept)
        self.counts[line.line_id] = count
        row = QWidget()
        across = QHBoxLayout(row)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(8)
        across.addWidget(count)
        across.addWidget(Words(words, "body"), 1)
        self._counts.addWidget(row)

    def take_keyboard(self) -> None:
        """Start at the first count."""
        first = next(iter(self.counts.values()))
        first.line.setFocus(Qt.FocusReason.ShortcutFocusReason)
        first.line.selectAll()

    def asked(self) -> tuple[date | None, list[ToShip], str]:
        """The day, the lines and the note. Raises `UserProblem`."""
        lines = [
            ToShip(line_id, round(count.value() or 0)) for line_id, count in self.counts.items()
        ]
        return self.day.day(), lines, self.note.text()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


def _empty(rows: QVBoxLayout) -> None:
    while (item := rows.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
