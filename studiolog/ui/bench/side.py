"""Beside the bench: what waits for the kiln, what was fired, what nobody has looked at, what is
due."""

from collections.abc import Iterator, Sequence
from datetime import date

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.words import FIRING_KINDS
from studiolog.desktop.desk import Desk
from studiolog.journal.bench import BenchPage, RecentFiring, Unlooked, Waiting
from studiolog.journal.orders import OrderPage
from studiolog.ui.bench.leaving_section import LeavingSection
from studiolog.ui.parts.due import say_day, tell_due
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Hairline, Section, link_button
from studiolog.ui.parts.stage_bar import StageChip
from studiolog.ui.parts.text import Elided, Text, Words

_MOST_FORMS = 4


def firing_words(firing: RecentFiring) -> str:
    """What a firing was: ``Glaze, cone 6``."""
    kind = FIRING_KINDS.get(firing.kind, firing.kind).capitalize()
    return f"{kind}, cone {firing.cone}" if firing.cone else kind


class BenchSide(QWidget):
    """Five sections; ``opened`` carries a kind and an id."""

    opened = Signal(str, int)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self._shown: tuple[BenchPage, date] | None = None
        self.leaving = LeavingSection(desk)
        self.leaving.add(_quiet("Working it out from past runs…"))
        self.waiting = Section("Waiting for the kiln")
        self.due = Section("Orders due", link="All orders")
        self.firings = Section("Recent firings", link="All firings")
        self.unlooked = Section("Nobody has looked yet")
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 16, 8, 24)
        rows.setSpacing(20)
        for section in self._sections():
            section.body.setSpacing(4)
            rows.addWidget(section)
        rows.addStretch(1)
        self.leaving.opened.connect(self.opened)
        self.due.link_opened.connect(lambda: self.opened.emit("orders", 0))
        self.firings.link_opened.connect(lambda: self.opened.emit("firings", 0))

    def hide_sections(self) -> None:
        """Hide them until `show_sections`."""
        for section in self._sections():
            section.hide()

    def show_sections(self) -> Iterator[None]:
        """Show one after the other, from the top."""
        for section in self._sections():
            section.show()
            yield

    def _sections(self) -> tuple[Section, ...]:
        return (self.leaving, self.waiting, self.due, self.firings, self.unlooked)

    def show_page(self, page: BenchPage, today: date) -> None:
        """Fill the sections, unless they say just that."""
        if self._shown == (page, today):
            return
        self._shown = (page, today)
        _empty(self.waiting)
        self._show_waiting("bone_dry", "for bisque", page.waiting_bisque)
        self._show_waiting("glazed", "for a glaze firing", page.waiting_glaze)
        _empty(self.due)
        for order in page.due:
            self.due.add(self._due_row(order, today))
        if not page.due:
            self.due.add(_quiet("No open orders."))
        _empty(self.firings)
        for firing in page.firings:
            self.firings.add(self._firing_row(firing, today))
        if not page.firings:
            self.firings.add(_quiet("No firing logged yet."))
        _empty(self.unlooked)
        self.unlooked.set_quiet(
            f"{len(page.unlooked)} of {page.unlooked_total}"
            if page.unlooked_total > len(page.unlooked)
            else ""
        )
        for piece in page.unlooked:
            self.unlooked.add(self._piece_row(piece, today))
        if not page.unlooked:
            self.unlooked.add(_quiet("No piece from the kiln waits to be looked at."))

    def _show_waiting(self, stage: str, words: str, waiting: Sequence[Waiting]) -> None:
        total = sum(wait.pieces for wait in waiting)
        head = Words(f"{total} {words}" if total else f"none {words}", weight=600 if total else 400)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(head, 1)
        row.addWidget(StageChip(stage, framed=False))
        self.waiting.add(row)
        if waiting:
            told = [f"{wait.pieces} {wait.form}" for wait in waiting[:_MOST_FORMS]]
            more = len(waiting) - _MOST_FORMS
            if more > 0:
                told.append(f"{more} other form{'' if more == 1 else 's'}")
            self.waiting.add(Words(", ".join(told), "secondary", tone="ink2"))
        if stage == "bone_dry":
            self.waiting.add(Hairline())

    def _firing_row(self, firing: RecentFiring, today: date) -> QWidget:
        mark = NumberMark("firing", firing.number, firing.firing_id)
        mark.opened.connect(self.opened)
        return _row(
            mark,
            firing_words(firing),
            f"{firing.kiln}, {say_day(firing.started_at, today)}",
            f"{firing.pieces} piece{'' if firing.pieces == 1 else 's'}",
        )

    def _piece_row(self, piece: Unlooked, today: date) -> QWidget:
        mark = NumberMark("piece", piece.number, piece.piece_id)
        mark.opened.connect(self.opened)
        day = say_day(piece.fired_at, today) if piece.fired_at else "on no known day"
        return _row(mark, piece.name, f"fired {day}", "")

    def _due_row(self, order: OrderPage, today: date) -> QWidget:
        due = tell_due(order.promised_on, today)
        number = link_button(f"Order {order.number}")
        number.clicked.connect(lambda: self.opened.emit("order", order.order_id))
        row = QWidget()
        lines = QVBoxLayout(row)
        lines.setContentsMargins(0, 2, 0, 4)
        lines.setSpacing(0)
        first = QHBoxLayout()
        first.setSpacing(8)
        first.addWidget(number)
        first.addWidget(Elided(order.whom, "secondary"), 1)
        first.addWidget(Text(f"{order.finished} of {order.wanted}", "secondary", tone="ink2"))
        lines.addLayout(first)
        second = QHBoxLayout()
        second.setSpacing(6)
        if due.sign:
            second.addWidget(IconLabel(due.sign, due.tone, 14))
        second.addWidget(Words(due.words, "secondary", 600 if due.sign else 400, due.tone), 1)
        lines.addLayout(second)
        return row


def _row(mark: NumberMark, words: str, under: str, right: str) -> QWidget:
    row = QWidget()
    across = QHBoxLayout(row)
    across.setContentsMargins(0, 2, 0, 2)
    across.setSpacing(10)
    across.addWidget(mark, 0, Qt.AlignmentFlag.AlignTop)
    lines = QVBoxLayout()
    lines.setSpacing(0)
    first = QHBoxLayout()
    first.addWidget(Words(words, weight=600), 1)
    first.addWidget(Text(right, "secondary", tone="ink2"))
    lines.addLayout(first)
    lines.addWidget(Words(under, "secondary", tone="ink2"))
    across.addLayout(lines, 1)
    return row


def _quiet(words: str) -> Text:
    return Text(words, "secondary", tone="ink3", wrap=True)


def _empty(section: Section) -> None:
    while (item := section.body.takeAt(0)) is not None:
        widget, layout = item.widget(), item.layout()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
        elif layout is not None:
            while (inner := layout.takeAt(0)) is not None:
                held = inner.widget()
                if held is not None:
                    held.hide()
                    held.deleteLater()
