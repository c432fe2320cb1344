"""What a kWh costs at a kiln: prices by hours and days, from a day on, and the day they make."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import partial

from PySide6.QtWidgets import QWidget

from studiolog.craft.firing.tariff import TariffBand, prices_of_week
from studiolog.craft.firing.tariff_words import read_days, read_hours, write_days, write_hours
from studiolog.journal.kiln_page import KilnPage
from studiolog.journal.kilns import change_kiln
from studiolog.journal.session import Session
from studiolog.journal.tariffs import TariffDraft, TariffLine, begin_tariff, set_tariffs
from studiolog.problems import UserProblem
from studiolog.ui.kilns.day_strip import DayStrip
from studiolog.ui.parts.fields import DayField, ProblemLine, write_day
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.grid_editor import Cell, GridColumn, GridEditor
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.money_field import MoneyField
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text

COLUMNS = (
    GridColumn("Price a kWh", "money", "", 5, width=104, needed=True),
    GridColumn("Hours", width=128),
    GridColumn("Days"),
    GridColumn("From", "day", width=104),
)
HOW = (
    "A price holds in its hours, on its days, from its day on until other prices begin; of two "
    "that hold together the one with the fewer hours a week counts. Hours that run past midnight "
    "belong to the day they begin on. Old firings keep the price of their day."
)


class TariffSection(Section):
    """The table is kept as it is typed; what can't be is said beneath, and the rest stands."""

    def __init__(
        self,
        page: ThingPage,
        today: Callable[[], date] = date.today,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__("What a kWh costs", parent=parent)
        self._page = page
        self._today = today
        self.strip = DayStrip()
        self.none = Text(
            "No price yet: give one for all hours, or a row for each stretch of the day.",
            "secondary",
            tone="ink2",
            wrap=True,
        )
        self.base = MoneyField("All other hours", "a kWh", decimals=5)
        self.grid = GridEditor("Prices by hours and days", COLUMNS, "Price", movable=False)
        self.begin_day = DayField("New prices from", prefer="future", today=today)
        self.begin = self.begin_day.add_button("Begin new prices")
        self.begin.setToolTip("Go on from the prices that hold by then; change them in the table")
        self.problem = ProblemLine()
        line = QWidget()
        row = FlowLayout(line, 24, 8)
        row.addWidget(self.base)
        row.addWidget(self.begin_day)
        for part in (self.strip, self.none, self.grid, line, self.problem):
            self.add(part)
        self.add(Caption(HOW, wrap=True))
        self.base.value_changed.connect(self._keep_base)
        self.grid.edited.connect(self._keep_rows)
        self.begin.clicked.connect(self.begin_prices)
        self.begin_day.line.returnPressed.connect(self.begin_prices)

    def show_page(self, page: KilnPage) -> None:
        """Show the prices of a kiln, and the week that those of today make."""
        self.grid.set_rows([_row(line) for line in page.tariffs])
        if not (self.base.line.hasFocus() and self.base.line.isModified()):
            self.base.set_value(page.tariff_per_kwh)
        bands = [line.band for line in page.tariffs]
        priced = bool(bands) or page.tariff_per_kwh is not None
        self.strip.setVisible(priced)
        self.none.setVisible(not priced)
        if priced:
            self.strip.show_week(prices_of_week(bands, page.tariff_per_kwh, self._today()))
        self.set_quiet(_say_since(bands, self._today()))

    def begin_prices(self) -> None:
        """Begin new prices on the day typed, as they are by then."""
        try:
            day = self.begin_day.day()
        except UserProblem:
            return
        if day is None:
            self.begin_day.set_problem("Give the day from which the new prices hold.")
            return
        edit = partial(begin_tariff, kiln_id=self._page.ident, valid_from=day)
        label = f"New prices from {write_day(day)}, {self._kiln()}"
        if self._page.run(label, edit, self.problem.say):
            self.begin_day.set_text("")

    def _kiln(self) -> str:
        return self._page.head.name.text()

    def _keep_base(self, value: Decimal | None) -> None:
        ident = self._page.ident

        def edit(session: Session) -> None:
            change_kiln(session, ident, tariff_per_kwh=value)

        self._page.run(f"Price of a kWh, {self._kiln()}", edit, self.problem.say)

    def _keep_rows(self) -> None:
        rows = self.grid.rows()
        try:
            drafts = [_draft(place, row) for place, row in enumerate(rows, start=1)]
        except UserProblem as problem:
            self.grid.set_problem(problem.sentence)
            return
        edit = partial(set_tariffs, kiln_id=self._page.ident, drafts=drafts)
        self._page.run(f"Prices of a kWh, {self._kiln()}", edit, self.grid.set_problem)


def _row(line: TariffLine) -> tuple[Cell, ...]:
    band = line.band
    hours = write_hours(band.starts_min, band.ends_min)
    return (band.per_kwh, hours, write_days(band.days), band.valid_from)


def _draft(place: int, row: tuple[Cell, ...]) -> TariffDraft:
    price, hours, days, day = row
    assert isinstance(price, Decimal)
    assert day is None or isinstance(day, date)
    try:
        starts_min, ends_min = read_hours(str(hours or ""))
        return TariffDraft(
            per_kwh=price,
            days=read_days(str(days or "")),
            starts_min=starts_min,
            ends_min=ends_min,
            valid_from=day,
        )
    except UserProblem as problem:
        raise UserProblem(f"Price {place}: {problem.sentence}") from problem


def _say_since(bands: list[TariffBand], today: date) -> str:
    """Since when the prices shown hold, and from when others will."""
    begun = [b.valid_from for b in bands if b.valid_from is not None and b.valid_from <= today]
    later = [b.valid_from for b in bands if b.valid_from is not None and b.valid_from > today]
    words = f"since {write_day(max(begun))}" if begun else ""
    if later:
        words = f"{words}; others from {write_day(min(later))}".removeprefix("; ")
    return words
