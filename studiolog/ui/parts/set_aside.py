"""Setting pieces aside for a line of an order or a part of a set, in place, without a sheet."""

from collections.abc import Callable, Sequence
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import STAGES
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.allocation import (
    ForLine,
    Holder,
    allocate_from_stock,
    allocate_numbered,
    allocate_pieces,
    take_back_some,
)
from studiolog.journal.order_page import HeldLot
from studiolog.journal.session import Session
from studiolog.journal.stock_pieces import Offer, read_offers
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import LineField, NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import link_button
from studiolog.ui.parts.text import Caption, Text, Words

_MOST_OFFERS = 8
_MOST_MARKS = 3
_MOST_RUNS = 4


def offer_words(offer: Offer) -> str:
    """An offer in words: "12 finished, in stock, kept on the shelf by the door"."""
    told = [f"{offer.pieces} {STAGES[offer.stage]}"]
    if offer.clay:
        told.append(offer.clay)
    if offer.for_order is not None:
        told.append(f"made for order {offer.for_order}")
    elif offer.is_stock:
        told.append("in stock")
    else:
        told.append("free")
    if offer.kept_where:
        told.append(f"kept: {offer.kept_where}")
    return ", ".join(told)


class HeldRows(QWidget):
    """What is set aside one by one and still here; ``back`` carries the lot to be taken back."""

    back = Signal(object)
    opened = Signal(str, int)

    def __init__(self, about: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._about = about
        self._lots = FlowLayout(self, spacing=20, line_spacing=4)
        self._shown: tuple[HeldLot, ...] = ()
        self.hide()

    def show_lots(self, lots: Sequence[HeldLot]) -> None:
        """Show what is set aside; nothing hides it."""
        if tuple(lots) == self._shown:
            return
        self._shown = tuple(lots)
        self._lots.clear()
        self.setVisible(bool(lots))
        if lots:
            self._lots.addWidget(Words("Set aside:", "secondary", tone="ink2"))
        for lot in lots:
            self._lots.addWidget(self._lot(lot))

    def _lot(self, lot: HeldLot) -> QWidget:
        holder = QWidget()
        across = QHBoxLayout(holder)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(6)
        stage = STAGES[lot.stage]
        across.addWidget(Text(f"{lot.pieces} {stage}", "secondary", tone="ink2"))
        if lot.run_id is not None:
            mark = NumberMark("run", lot.run_number, lot.run_id)
            mark.opened.connect(self.opened)
            across.addWidget(mark)
        ids = dict(zip(lot.numbers, lot.piece_ids, strict=False))
        for number in lot.numbers[:_MOST_MARKS]:
            one = NumberMark("piece", number, ids[number])
            one.opened.connect(self.opened)
            across.addWidget(one)
        if len(lot.numbers) > _MOST_MARKS:
            more = ", ".join(str(number) for number in lot.numbers[_MOST_MARKS:])
            rest = Caption(f"and {len(lot.numbers) - _MOST_MARKS} more", "ink2")
            rest.setToolTip(more)
            across.addWidget(rest)
        back = link_button("Take back")
        of_run = f" of run {lot.run_number}" if lot.run_number is not None else ""
        back.setAccessibleName(f"Take back {lot.pieces} {stage}{of_run}: {self._about}")
        back.clicked.connect(partial(self.back.emit, lot))
        across.addWidget(back)
        return holder


class SetAside(QWidget):
    """What may be set aside for a holder, with how many of each; and pieces by their number.

    It reads its offers when it is opened. ``title`` names what they are for in the history.
    """

    opened = Signal(str, int)
    closed = Signal()

    def __init__(
        self, desk: Desk, holder: Holder, title: str, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._desk, self.holder, self._title = desk, holder, title
        self._form_id: int | None = None
        self._asked: tuple[int | None, int | None] = (None, None)
        self._wanted = 0
        self._but: tuple[int, ...] = (holder.line_id,) if isinstance(holder, ForLine) else ()
        self.offers: list[tuple[Offer, NumberField]] = []
        self.none = Caption("", "ink2", wrap=True)
        self._rows = QVBoxLayout()
        self._rows.setSpacing(6)
        self.numbers = LineField("Pieces by their number", hint="412, 413 or 412-420")
        self.numbers.setMaximumWidth(theme.current().px(340))
        self.by_number = self.numbers.add_button("Set aside")
        self.problem = ProblemLine()
        self.leave = link_button("Done")
        self.leave.setAccessibleName(f"Done setting aside: {title}")
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 4, 0, 4)
        rows.setSpacing(8)
        rows.addLayout(self._rows)
        rows.addWidget(self.none)
        rows.addWidget(self.numbers)
        rows.addWidget(self.problem)
        rows.addWidget(self.leave, 0, Qt.AlignmentFlag.AlignLeft)
        self.by_number.clicked.connect(self.take_numbered)
        self.numbers.line.returnPressed.connect(self.take_numbered)
        self.leave.clicked.connect(self.close_panel)
        self.hide()

    def ask(
        self, form_id: int | None, clay_id: int | None, glaze_id: int | None, wanted: int
    ) -> None:
        """Offer pieces of this form, clay and glaze, so many of which are still missing."""
        self._form_id, self._asked, self._wanted = form_id, (clay_id, glaze_id), max(wanted, 1)
        if not self.isHidden():
            self.refresh()

    def open_panel(self) -> None:
        """Show the offers, the keyboard at the first."""
        self.show()
        self.refresh()
        first = self.offers[0][1].line if self.offers else self.numbers.line
        first.setFocus(Qt.FocusReason.ShortcutFocusReason)
        first.selectAll()

    def close_panel(self) -> None:
        """Put the offers away."""
        self.problem.say("")
        self.numbers.set_text("")
        self.hide()
        self.closed.emit()

    def refresh(self) -> None:
        """Read the offers anew."""
        clay, glaze = self._asked
        found = self._desk.read(
            lambda session: read_offers(session, self._form_id, clay, glaze, but_lines=self._but)
        )
        _empty(self._rows)
        self.offers = []
        for offer in found[:_MOST_OFFERS]:
            self._rows.addWidget(self._offer_row(offer))
        if self._form_id is None:
            self.none.setText("What is asked for has no form: name the pieces by their number.")
        elif not found:
            self.none.setText("Nothing of this form is free: start a run, or name a piece.")
        else:
            more = len(found) - _MOST_OFFERS
            self.none.setText(f"And {more} more lots, further from finished." if more > 0 else "")
        self.none.setVisible(bool(self.none.text()))

    def _offer_row(self, offer: Offer) -> QWidget:
        row = QWidget()
        across = FlowLayout(row, spacing=8, line_spacing=4)
        words = offer_words(offer)
        count = NumberField("", "", min(offer.pieces, self._wanted), 0, 1, offer.pieces)
        count.line.setFixedWidth(theme.current().px(56))
        count.line.setAccessibleName(f"How many of {words}")
        across.addWidget(count)
        across.addWidget(Words(f"of {words}", "secondary", tone="ink"))
        for run_id, number in offer.runs[-_MOST_RUNS:]:
            mark = NumberMark("run", number, run_id)
            mark.opened.connect(self.opened)
            across.addWidget(mark)
        if len(offer.runs) > _MOST_RUNS:
            across.addWidget(Caption(f"and {len(offer.runs) - _MOST_RUNS} more runs", "ink2"))
        take = QPushButton("Set aside")
        take.setAccessibleName(f"Set aside of {words}")
        take.clicked.connect(partial(self.take, offer, count))
        count.line.returnPressed.connect(partial(self.take, offer, count))
        across.addWidget(take)
        self.offers.append((offer, count))
        return row

    def take(self, offer: Offer, count: NumberField) -> None:
        """Set aside so many of an offer; what is wrong is said under the offers."""
        try:
            how_many = count.value()
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        if how_many is None:
            self.problem.say("Say how many.")
            return
        if offer.is_stock:
            edit = partial(
                allocate_from_stock, holder=self.holder, how_many=round(how_many),
                piece_ids=offer.piece_ids,
            )  # fmt: skip
            self._run(edit)
            return
        ids = offer.piece_ids[: round(how_many)]
        self._run(partial(allocate_pieces, holder=self.holder, piece_ids=ids))

    def take_numbered(self) -> None:
        """Set aside the pieces whose numbers are typed."""
        numbers = self.numbers.text()
        if self._run(partial(allocate_numbered, holder=self.holder, numbers=numbers)):
            self.numbers.set_text("")

    def give_back(self, lot: HeldLot) -> None:
        """Take back a whole lot."""
        self._run(
            partial(
                take_back_some, holder=self.holder, run_id=lot.run_id, stage=lot.stage,
                how_many=lot.pieces,
            )
        )  # fmt: skip

    def _run(self, edit: Callable[[Session], object]) -> bool:
        self.problem.say("")
        try:
            self._desk.edits.run(f"Set aside for {self._title}", edit)
        except UserProblem as problem:
            self.show()
            self.problem.say(problem.sentence)
            return False
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.close_panel()
        else:
            super().keyPressEvent(event)


def _empty(rows: QVBoxLayout) -> None:
    while (item := rows.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
