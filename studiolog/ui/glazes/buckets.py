"""The buckets of a glaze: mixed from its recipe, with what is in each today and what was done."""

from collections.abc import Callable
from datetime import date
from functools import partial

from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.buckets import BucketPage, GlazeBuckets, read_glaze_buckets
from studiolog.journal.glaze_page import GlazePage
from studiolog.journal.glazes import add_bucket, change_glaze
from studiolog.journal.mixing import read_mix_bench
from studiolog.problems import UserProblem
from studiolog.ui.glazes.bucket_row import BucketRow
from studiolog.ui.glazes.bucket_words import say_cost, say_use
from studiolog.ui.glazes.mix_sheet import BASE, DRY, MixSheet
from studiolog.ui.glazes.slurry_sheet import SlurrySheet
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Hairline, Section, link_button
from studiolog.ui.parts.text import Caption, Text


class BucketSection(Section):
    """The newest bucket on top; those that are used up are shown when they are asked for."""

    def __init__(
        self,
        page: ThingPage,
        parent: QWidget | None = None,
        today: Callable[[], date] = date.today,
    ) -> None:
        super().__init__("Buckets", parent=parent)
        self._page, self._today = page, today
        self._buckets: GlazeBuckets | None = None
        self._open_id = 0
        self._with_used_up = False
        self.rows: dict[int, BucketRow] = {}
        self.mix_button = QPushButton("Mix a bucket …")
        self.mix_button.setAccessibleName("Mix a bucket")
        self.add_link = link_button("Add a bucket mixed before")
        self.sums_link = link_button("Slurry sums …")
        acts = FlowLayout(spacing=16, line_spacing=6)
        for widget in (self.mix_button, self.add_link, self.sums_link):
            acts.addWidget(widget)
        self.add(acts)
        self.no_recipe = Caption("", wrap=True)
        self.add(self.no_recipe)
        self.problem = ProblemLine()
        self.add(self.problem)
        self._rows = QVBoxLayout()
        self._rows.setSpacing(0)
        self.add(self._rows)
        self.used_up_link = link_button("")
        used = FlowLayout()
        used.addWidget(self.used_up_link)
        self.add(used)
        self.use = Text("", "secondary", tone="ink2", wrap=True)
        self.by_form = Text("", "secondary", tone="ink2", wrap=True)
        self.stated = NumberField("Use per piece, stated", "g dry", None, 1, 0.1, hint="30")
        self.cost = Text("", "secondary", tone="ink2", wrap=True)
        for told in (self.use, self.by_form, self.cost, self.stated):
            self.add(told)
        self.mix_button.clicked.connect(self.open_mix)
        self.add_link.clicked.connect(self.add_one)
        self.sums_link.clicked.connect(self.open_sums)
        self.used_up_link.clicked.connect(self._turn_used_up)
        self.stated.value_changed.connect(self._state_use)

    @property
    def desk(self) -> Desk:
        """Where edits go."""
        return self._page.desk

    def show_page(self, page: GlazePage) -> None:
        """Read the buckets of the glaze shown."""
        if self._buckets is None or self._buckets.glaze_id != page.glaze_id:
            self._open_id, self._with_used_up = 0, False
            self.problem.say("")
        found = self.desk.read(partial(read_glaze_buckets, glaze_id=page.glaze_id))
        if found is None:
            return
        self._buckets = found
        self._show_rows(found)
        self.mix_button.setVisible(found.has_recipe)
        self.no_recipe.setText(
            ""
            if found.has_recipe
            else "Without a recipe there is nothing to weigh; a bucket of a bought glaze is added "
            "as it is."
        )
        self.no_recipe.setVisible(not found.has_recipe)
        in_use = sum(not bucket.used_up for bucket in found.buckets)
        self.set_quiet(f"{in_use} in use" if found.buckets else "none mixed yet")
        self._show_use(found)

    def _show_use(self, found: GlazeBuckets) -> None:
        self.use.setText(say_use(found.use))
        told = []
        if len(found.use_by_form) > 1:
            told += [f"{one.form}: {one.use.words}." for one in found.use_by_form]
        if found.odd:
            pieces = "1 piece weighs" if found.odd == 1 else f"{found.odd} pieces weigh"
            told.append(f"{pieces} no more with its glaze than before; that is left out.")
        self.by_form.setText("\n".join(told))
        self.by_form.setVisible(bool(told))
        cost = say_cost(found.cost, found)
        self.cost.setText(cost)
        self.cost.setVisible(bool(cost))
        weighed = found.use is not None and found.use.basis == "weighed"
        self.stated.setVisible(not weighed)
        if not self.stated.line.hasFocus():
            self.stated.set_value(found.stated_g)

    def _show_rows(self, found: GlazeBuckets) -> None:
        shown = [one for one in found.buckets if self._with_used_up or not one.used_up]
        if self._open_id and all(one.bucket_id != self._open_id for one in shown):
            opened = found.bucket(self._open_id)
            shown += [opened] if opened is not None else []
        if list(self.rows) != [one.bucket_id for one in shown]:
            clear_layout(self._rows)
            self.rows = {}
            for one in shown:
                row = BucketRow(self._page, one.bucket_id, self._today)
                row.toggled.connect(self._toggle)
                self.rows[one.bucket_id] = row
                self._rows.addWidget(row)
                self._rows.addWidget(Hairline())
        for one in shown:
            row = self.rows[one.bucket_id]
            row.show_bucket(one, found)
            row.set_open(one.bucket_id == self._open_id)
        hidden = sum(one.used_up for one in found.buckets)
        self.used_up_link.setText(
            "Hide those used up" if self._with_used_up else f"Show {hidden} used up"
        )
        self.used_up_link.setAccessibleName(f"{self.used_up_link.text()}: buckets")
        self.used_up_link.setVisible(hidden > 0)

    def _toggle(self, bucket_id: int) -> None:
        self._open_id = 0 if bucket_id == self._open_id else bucket_id
        for ident, row in self.rows.items():
            row.set_open(ident == self._open_id)

    def _turn_used_up(self) -> None:
        self._with_used_up = not self._with_used_up
        if self._buckets is not None:
            self._show_rows(self._buckets)

    # What a person does

    def open_bucket(self, bucket_id: int) -> None:
        """Show one bucket with its history."""
        self._open_id = bucket_id
        if self._buckets is not None:
            self._show_rows(self._buckets)

    def open_mix(self) -> MixSheet | None:
        """Mix a bucket of the glaze shown; as much as the newest one, at first."""
        bench = self.desk.read(partial(read_mix_bench, glaze_id=self._page.ident))
        if bench is None or not bench.recipe:
            return None
        newest = next((one for one in self._pages() if one.dry_g), None)
        amount = (DRY, newest.dry_g / 1000.0) if newest is not None and newest.dry_g else None
        if amount is not None and not bench.has_additions:
            amount = (BASE, amount[1])
        sheet = MixSheet(self.desk, bench, amount, self, self._today)
        sheet.mixed.connect(self.open_bucket)
        sheet.finished.connect(sheet.deleteLater)
        sheet.open()
        return sheet

    def _pages(self) -> tuple[BucketPage, ...]:
        return self._buckets.buckets if self._buckets is not None else ()

    def open_sums(self) -> SlurrySheet | None:
        """Sums of slurry with this glaze's density, without a bucket."""
        bench = self.desk.read(partial(read_mix_bench, glaze_id=self._page.ident))
        if bench is None:
            return None
        sheet = SlurrySheet(bench, self)
        sheet.finished.connect(sheet.deleteLater)
        sheet.open()
        return sheet

    def add_one(self) -> None:
        """Add a bucket that was mixed without the program; its figures are typed into it."""
        try:
            bucket_id = self.desk.edits.run(
                f"Add a bucket of {self._page.head.name.text()}",
                partial(add_bucket, glaze_id=self._page.ident, mixed_on=self._today()),
            )
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self.open_bucket(bucket_id)
        row = self.rows.get(bucket_id)
        if row is not None:
            row.show_as_mixed()

    def _state_use(self, grams: float | None) -> None:
        ident = self._page.ident
        self._page.run(
            f"Use per piece of {self._page.head.name.text()}",
            lambda session: change_glaze(session, ident, dry_g_per_piece=grams),
            self.stated.set_problem,
        )
