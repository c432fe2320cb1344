"""The sheet on which a bucket is mixed: an amount, the weighings of it to tick, and keeping it."""

from collections.abc import Callable, Mapping
from datetime import date
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from studiolog.craft.glaze.batch import show_weight
from studiolog.craft.glaze.cautions import LOCAL_RULES
from studiolog.craft.money import show_money
from studiolog.craft.units import show_number, show_quantity
from studiolog.desktop.desk import Desk
from studiolog.journal.material_cost import MaterialCost
from studiolog.journal.mixing import USUAL_GRAVITY, Mix, MixAsk, MixBench, lay_out_mix, mix
from studiolog.paper.mixing_sheet import SAFETY, lay_out_mixing_sheet
from studiolog.paper.page import Page, PageSize
from studiolog.problems import UserProblem
from studiolog.ui.glazes.mix_table import MixTable
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.fields import DayField, NumberField, read_number
from studiolog.ui.parts.firing_paper import on_print
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import KeepSheet, labelled
from studiolog.ui.parts.paper_sheet import PaperSheet
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Caption, Figure, Words

BASE, DRY, SLURRY = "base", "dry", "slurry"
_USUAL_AMOUNT = 5.0


class MixSheet(KeepSheet):
    """``mixed`` carries the id of the bucket that was kept.

    What was typed and ticked is kept as a draft until then, so a sheet closed between two
    weighings opens where it was left.
    """

    scrolls = True
    mixed = Signal(int)

    def __init__(
        self,
        desk: Desk,
        bench: MixBench,
        amount: tuple[str, float] | None = None,
        parent: QWidget | None = None,
        today: Callable[[], date] = date.today,
    ) -> None:
        super().__init__(f"Mix a bucket of {bench.title}", "Mixed", parent)
        self._desk, self._bench, self._today = desk, bench, today
        self._mix: Mix | None = None
        self._weighed: dict[int, float] = {}
        self._built = False
        self._build(amount or (BASE, _USUAL_AMOUNT))
        self._take_draft()
        self._built = True
        self.recompute()
        self.take_size(900, 760)
        self.amount.setFocus()
        self.amount.line.selectAll()

    def _build(self, amount: tuple[str, float]) -> None:
        bench, limits = self._bench, self._bench.limits
        of, much = amount
        if of == DRY and not bench.has_additions:
            of = BASE
        choices = [Choice(BASE, "kg of the base" if bench.has_additions else "kg dry")]
        if bench.has_additions:
            choices.append(Choice(DRY, "kg dry in all"))
        choices.append(Choice(SLURRY, "litres of slurry"))
        self.of = SegmentedChoice("Amount in", choices)
        self.of.choose(of)
        self.amount = NumberField("Amount", "", much, 3, 0.001)
        self.gravity = NumberField(
            "Specific gravity", "", bench.specific_gravity or USUAL_GRAVITY, 3, 1.01, 2.99
        )
        self.step = NumberField("Step of the scale", "g", limits["scale_step_g"], 3, 0.001)
        usual = show_number(bench.density.g_per_ml, 2)
        self.density = NumberField("Solid density", "g/ml", None, 2, 1.01, 20, hint=usual)
        self.density.setToolTip(f"Left empty: {bench.density.words}")
        self.day = DayField("Mixed on", self._today(), today=self._today)
        asked = FlowLayout(spacing=20, line_spacing=10)
        holder = QWidget()
        choice = labelled("Amount in", self.of)
        choice.setContentsMargins(0, 0, 0, 0)
        holder.setLayout(choice)
        for field in (holder, self.amount, self.gravity, self.step, self.density, self.day):
            asked.addWidget(field)
        self.body.addLayout(asked)
        self.draft_words = Words("", "secondary", tone="ink2")
        self.anew = link_button("Begin anew")
        begun = FlowLayout(spacing=8)
        begun.addWidget(self.draft_words)
        begun.addWidget(self.anew)
        self._begun = QWidget()
        self._begun.setLayout(begun)
        self._begun.hide()
        self.body.addWidget(self._begun)
        self.figures = {
            "dry": Figure("Dry", "–"),
            "water": Figure("Water", "–"),
            "slurry": Figure("Slurry", "–"),
            "cost": Figure("Material", "–"),
        }
        told = FlowLayout(spacing=36, line_spacing=8)
        for figure in self.figures.values():
            told.addWidget(figure)
        self.body.addLayout(told)
        self.table = MixTable()
        self.body.addWidget(self.table)
        self.coarse, self.short = CautionLine(parent=self), CautionLine(parent=self)
        self.formula = Caption("", wrap=True)
        for line in (self.coarse, self.short, self.formula):
            self.body.addWidget(line)
        self.body.addWidget(self._make_care())
        self.body.addStretch(1)
        self.sheet_button = QPushButton("Mixing sheet …")
        self.sheet_button.setAccessibleName("Mixing sheet to print")
        self.sheet_button.setAutoDefault(False)
        self.feet.insertWidget(0, self.sheet_button)
        self._connect()

    def _make_care(self) -> Section:
        care = Section("Take care")
        care.add(CautionLine(SAFETY, "Common practice", care))
        rows = QVBoxLayout()
        rows.setSpacing(6)
        for caution in self._bench.cautions:
            basis = ". ".join(filter(None, (caution.why, caution.figure, caution.source)))
            rows.addWidget(CautionLine(caution.sentence, f"{basis}.", care))
        care.add(rows)
        care.add(Caption(LOCAL_RULES, wrap=True))
        return care

    def _connect(self) -> None:
        self.of.picked.connect(self._change_unit)
        for field in (self.amount, self.gravity, self.step, self.density):
            field.line.textChanged.connect(self._hear)
        self.table.weighed.connect(self._weigh)
        self.table.ticked.connect(self._hear_tick)
        self.sheet_button.clicked.connect(self.open_paper)
        self.anew.clicked.connect(self.begin_anew)
        on_print(self, self.open_paper)

    # What is asked for

    def ask(self) -> MixAsk:
        """What is asked for as it stands. Raises `UserProblem`."""
        of = str(self.of.chosen())
        amount = _number(self.amount, "Give the amount to mix.")
        gravity = _number(self.gravity, "Give the specific gravity to mix to.")
        step = _number(self.step, "Give the step of the scale.")
        return MixAsk(
            amount=1000.0 * amount,
            of=of,
            specific_gravity=gravity,
            solid_density=read_number(self.density.text(), "g/ml"),
            step_g=step,
            weighed_g=self._weighed,
        )

    def _change_unit(self, of: object) -> None:
        """The same batch in the other unit: what was asked for stays, told otherwise."""
        laid = self._mix
        if laid is not None:
            base_g = sum(line.wanted_g for line in laid.batch.lines if not line.addition)
            grams = {BASE: base_g, DRY: laid.batch.wanted_g, SLURRY: laid.volume_ml}[str(of)]
            self.amount.set_value(round(grams / 1000.0, 3))
        self.recompute()

    def _hear(self) -> None:
        if not self._built:
            return
        self.recompute()

    def _weigh(self, place: int, grams: float | None) -> None:
        if grams is None:
            self._weighed.pop(place, None)
        else:
            self._weighed[place] = grams
        self.recompute()
        self._keep_draft()
        self._say_progress()

    def _hear_tick(self) -> None:
        self._keep_draft()
        self._say_progress()

    def recompute(self) -> None:
        """Lay the mix out anew from what stands in the fields."""
        try:
            self._mix = lay_out_mix(self._bench, self.ask())
        except UserProblem as problem:
            self._mix = None
            self.why_not.say(problem.sentence)
            self._allow(False)
            return
        self.why_not.say("")
        self._allow(True)
        self._show(self._mix)

    def _allow(self, may: bool) -> None:
        self.keep_button.setEnabled(may)
        self.sheet_button.setEnabled(may)
        # What was typed for a line may be what is wrong: that stays to be mended.
        self.table.setEnabled(may or bool(self._weighed))

    def _show(self, laid: Mix) -> None:
        batch = laid.batch
        self.table.show_mix(laid)
        off = batch.weighed_g - batch.wanted_g
        count = len(batch.lines)
        quiet = "1 weighing" if count == 1 else f"{count} weighings"
        if abs(off) >= batch.step_g / 2:
            quiet = f"{show_weight(batch.wanted_g, batch.step_g)} wanted"
        self.figures["dry"].set_value(show_weight(batch.weighed_g, batch.step_g), quiet)
        water = f"{show_quantity(100 * laid.water_g / batch.weighed_g, '%')} of the dry"
        self.figures["water"].set_value(show_quantity(laid.water_g, "g"), water)
        self.figures["slurry"].set_value(
            show_quantity(laid.volume_ml / 1000.0, "l", 2),
            f"100 ml weigh {show_quantity(100 * laid.specific_gravity, 'g', 1)}",
        )
        self.figures["slurry"].setToolTip(f"Solid density {laid.density.words}")
        value, missing = _say_cost(self._bench.cost, batch.weighed_g)
        self.figures["cost"].set_value(value, missing)
        names = ", ".join(dict.fromkeys(line.material for line in batch.too_coarse))
        self.coarse.say(
            f"Too little for this scale to be within {show_quantity(100 * batch.tolerance, '%')}: "
            f"{names}. Use a finer scale, or mix {show_quantity(batch.least_g, 'g')} dry at the "
            "least."
            if names
            else ""
        )
        short = ", ".join(laid.short)
        self.short.say(f"More than there is on the shelf: {short}." if short else "")
        self.formula.setText(laid.formula_off)
        self.formula.setVisible(bool(laid.formula_off))

    # The draft

    @property
    def _draft_name(self) -> str:
        return f"mix-{self._bench.glaze_id}"

    def _keep_draft(self) -> None:
        content = {
            "recipe": _signature(self._bench),
            "of": self.of.chosen(),
            "amount": self.amount.text(),
            "gravity": self.gravity.text(),
            "step": self.step.text(),
            "density": self.density.text(),
            "weighed": {str(place): grams for place, grams in self._weighed.items()},
            "ticks": list(self.table.ticks()),
        }
        try:
            self._desk.drafts.keep(self._draft_name, content)
        except UserProblem as problem:
            self.why_not.say(problem.sentence)

    def _take_draft(self) -> None:
        draft = self._desk.drafts.read(self._draft_name)
        if draft is None or draft.get("recipe") != _signature(self._bench):
            return
        self.of.choose(draft.get("of"))
        for field, key in (
            (self.amount, "amount"),
            (self.gravity, "gravity"),
            (self.step, "step"),
            (self.density, "density"),
        ):
            field.set_text(str(draft.get(key, field.text())))
        self._weighed = _weighings(draft.get("weighed"), len(self._bench.recipe))
        self.recompute()
        ticks = draft.get("ticks")
        if isinstance(ticks, list):
            self.table.set_ticks(tuple(one for one in ticks if isinstance(one, int)))
        self._say_progress()

    def _say_progress(self) -> None:
        done, lines = len(self.table.ticks()), len(self._bench.recipe)
        begun = done > 0 or bool(self._weighed)
        self.draft_words.setText(
            f"{done} of {lines} lines weighed; the amount stays as it is until you begin anew."
        )
        self._begun.setVisible(begun)
        # Another amount would be another batch, and what is ticked was weighed for this one.
        for widget in (self.of, self.amount, self.step):
            widget.setEnabled(not begun)
        for widget in (self.gravity, self.density):
            widget.setEnabled(not begun or self.of.chosen() != SLURRY)

    def begin_anew(self) -> None:
        """Throw away what was ticked and typed for the lines."""
        self._weighed.clear()
        self.table.set_ticks(())
        self._say_progress()
        self.recompute()
        self._drop_draft()
        self.amount.setFocus()

    def _drop_draft(self) -> None:
        try:
            self._desk.drafts.drop(self._draft_name)
        except UserProblem as problem:
            self._desk.notices.warn(problem.sentence)

    # What comes of it

    def open_paper(self) -> PaperSheet | None:
        """Look at the mixing sheet, to print it or save it."""
        laid = self._mix
        if laid is None:
            return None
        try:
            on = self.day.day()
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return None
        sheet = PaperSheet(self._desk, "Mixing sheet", partial(_lay_out, laid, on), parent=self)
        sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        sheet.open()
        return sheet

    def keep(self) -> None:
        laid = self._mix
        if laid is None:
            return
        try:
            on = self.day.day()
            if on is None:
                raise UserProblem("Give the day it was mixed.")
            bucket_id = self._desk.edits.run(
                f"Mix a bucket of {self._bench.title}",
                lambda session: mix(session, self._bench.glaze_id, laid.draft(on)),
            )
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return
        self._drop_draft()
        self._desk.notices.say(
            f"Mixed {self._bench.title}, {show_weight(laid.batch.weighed_g, laid.batch.step_g)} "
            "dry, taken from the stock.",
            "Undo",
            self._desk.edits.undo,
        )
        self.accept()
        self.mixed.emit(bucket_id)


def _lay_out(laid: Mix, on: date | None, size: PageSize) -> Page:
    return lay_out_mixing_sheet(laid, size, on)


def _number(field: NumberField, missing: str) -> float:
    value = field.value()
    if value is None:
        raise UserProblem(missing)
    return value


def _say_cost(cost: MaterialCost, dry_g: float) -> tuple[str, str]:
    """The cost of a batch, and of what no price is known."""
    spent = cost.of(dry_g)
    if spent is None:
        return "not known", "no prices on the shelf"
    if not cost.missing and cost.per_kg is not None:
        return show_money(
            spent, cost.currency
        ), f"{show_money(cost.per_kg, cost.currency)} a kg dry"
    named = ", ".join(cost.missing[:2])
    more = f" and {len(cost.missing) - 2} more" if len(cost.missing) > 2 else ""
    return f"{show_money(spent, cost.currency)} at least", f"no price of {named}{more}"


def _signature(bench: MixBench) -> list[list[Any]]:
    """What a draft was begun for: another recipe is not weighed on."""
    return [[line.material, line.parts, line.addition] for line in bench.recipe]


def _weighings(kept: object, lines: int) -> dict[int, float]:
    if not isinstance(kept, Mapping):
        return {}
    found: dict[int, float] = {}
    for place, grams in kept.items():
        if str(place).isdigit() and int(place) < lines and isinstance(grams, (int, float)):
            found[int(place)] = float(grams)
    return found
