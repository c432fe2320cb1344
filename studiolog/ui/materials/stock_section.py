"""What is on the shelf: how much, what it cost, and the ledger of what came and went."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QWidget

from studiolog.craft.money import show_money, show_price
from studiolog.craft.words import STOCK_CHANGES
from studiolog.journal.material_page import LedgerLine, MaterialPage
from studiolog.journal.session import Session
from studiolog.journal.shopping import show_mass
from studiolog.journal.stock import (
    StockDraft,
    add_stock_change,
    change_stock_change,
    delete_stock_change,
)
from studiolog.problems import UserProblem
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.fields import write_day
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.grid_editor import Cell, GridColumn, GridEditor
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Figure

COLUMNS = (
    GridColumn("On", "day", width=100, needed=True),
    GridColumn("What", width=84, needed=True),
    GridColumn("Grams", "number", "", 1, 0, 100_000_000, width=76, needed=True),
    GridColumn("Paid", "number", "", 2, 0, 10_000_000, width=64),
    GridColumn("Then left", "number", "", 1, width=82, told=True),
    GridColumn("Note"),
)
_MOST_ROWS = 12
HOW = (
    "Grams without a sign: what was bought comes; what was mixed, weighed for tests or lost goes; "
    "what was counted stands, and is believed over the sum. Mixing a bucket writes its own line."
)


class StockSection(Section):
    """In order of days, the newest in sight; a new line is typed into the empty one below it."""

    def __init__(self, page: ThingPage, parent: QWidget | None = None) -> None:
        super().__init__("On the shelf", parent=parent)
        self._page = page
        self._material_id = 0
        self._lines: tuple[LedgerLine, ...] = ()
        self.left = Figure("There is", "")
        self.price = Figure("Price a kg", "")
        self.worth = Figure("Worth", "")
        holder = QWidget()
        figures = FlowLayout(holder, spacing=32, line_spacing=12)
        for figure in (self.left, self.price, self.worth):
            figures.addWidget(figure)
        self.low = CautionLine()
        self.grid = GridEditor("Ledger", COLUMNS, "Line", movable=False, most_rows=_MOST_ROWS)
        self.grid.offer(1, lambda: list(STOCK_CHANGES))
        for item in (holder, self.low, self.grid, Caption(HOW, wrap=True)):
            self.add(item)
        self.grid.edited.connect(self._keep)

    def show_page(self, page: MaterialPage) -> None:
        stock = page.stock
        other = page.material_id != self._material_id
        self._material_id = page.material_id
        self._lines = tuple(reversed(page.ledger))
        self.grid.set_rows([_cells(line) for line in self._lines])
        if other:
            # Once the table has its height: before, the end is not where it will be.
            QTimer.singleShot(0, self, self.grid.grid.scrollToBottom)
        if stock.grams is None:
            self.left.set_value("not known", "enter what you counted", "ink3")
        else:
            tone = "rust" if stock.grams < 0 else "ink"
            self.left.set_value(show_mass(stock.grams), _since(page.ledger), tone)
        price = stock.price_per_kg
        self.price.set_value(
            "not known" if price is None else show_price(price, page.currency),
            "last paid or listed",
            "ink3" if price is None else "ink",
        )
        worth = stock.cost(max(stock.grams, 0.0)) if stock.grams is not None else None
        self.worth.setVisible(worth is not None)
        if worth is not None:
            self.worth.set_value(show_money(worth, page.currency), "at that price")
        self.low.say(_low_words(page))
        self.set_quiet("" if page.ledger else "nothing entered yet")

    def _keep(self) -> None:
        try:
            drafts = [_draft(place, row) for place, row in enumerate(self.grid.rows(), start=1)]
        except UserProblem as problem:
            self.grid.set_problem(problem.sentence)
            return
        lines, ident = self._lines, self._page.ident

        def edit(session: Session) -> None:
            keep_ledger(session, ident, lines, drafts)

        def say(sentence: str) -> None:
            if sentence:
                self.grid.put_back([_cells(line) for line in self._lines], sentence)

        self._page.run(f"Stock of {self._page.head.name.text()}", edit, say)


def keep_ledger(
    session: Session, material_id: int, lines: Sequence[LedgerLine], drafts: Sequence[StockDraft]
) -> None:
    """Bring the stored ledger to what stands in the table.

    As many rows as before: row by row. Fewer: the first that differs was removed. More: the last
    ones are new.
    """
    before = [_draft(0, _cells(line)) for line in lines]
    kept = list(lines)
    if len(drafts) < len(before):
        gone = next(
            (place for place, one in enumerate(drafts) if one != before[place]), len(before) - 1
        )
        delete_stock_change(session, kept.pop(gone).change_id)
        before.pop(gone)
    for line, old, new in zip(kept, before, drafts, strict=False):
        if new != old:
            change_stock_change(session, line.change_id, line.version, new)
    for new in drafts[len(kept) :]:
        add_stock_change(session, material_id, new)


def _cells(line: LedgerLine) -> tuple[Cell, ...]:
    paid = None if line.paid is None else float(line.paid)
    note = " · ".join(filter(None, (line.for_what, line.note)))
    left = None if line.left_g is None else round(line.left_g, 1)
    return (line.on, line.kind, round(abs(line.grams), 1), paid, left, note)


def _draft(place: int, row: Sequence[Cell]) -> StockDraft:
    on, what, grams, paid, _, note = row
    assert isinstance(on, date)
    assert isinstance(grams, float)
    assert paid is None or isinstance(paid, float)
    kind = _kind(str(what))
    if kind is None:
        known = ", ".join(STOCK_CHANGES)
        raise UserProblem(f"Line {place}: “{what}” is none of {known}.")
    return StockDraft(
        kind=kind,
        grams=grams,
        on=on,
        paid=None if paid is None else Decimal(str(paid)),
        note=str(note or ""),
    )


def _kind(typed: str) -> str | None:
    """The kind a person means by its first letters: "bou" is "bought"."""
    plain = " ".join(typed.casefold().split())
    found = [key for key, word in STOCK_CHANGES.items() if key.startswith(plain) or word == plain]
    return found[0] if plain and found else None


def _since(ledger: Sequence[LedgerLine]) -> str:
    counted = next((line for line in ledger if line.kind == "counted"), None)
    if counted is not None:
        return f"counted {write_day(counted.on)}"
    return "never counted"


def _low_words(page: MaterialPage) -> str:
    stock = page.stock
    if stock.grams is not None and stock.grams < 0:
        return f"More was used than came in: {show_mass(stock.grams)}. Enter what you count."
    if stock.is_low and stock.low_g is not None:
        return f"At its low mark of {show_mass(stock.low_g)} or under it: on the shopping list."
    return ""
