"""Sums of slurry without a bucket: what is in it, what brings it to a target, what a coat makes."""

from collections.abc import Callable
from typing import ClassVar

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from studiolog.craft.glaze.slurry import (
    SolidDensity,
    fired_thickness_um,
    slurry_of,
    solid_density_of,
    weighed_gravity,
)
from studiolog.craft.money import show_money
from studiolog.craft.units import show_number, show_quantity
from studiolog.journal.buckets import find_correction
from studiolog.journal.mixing import USUAL_GRAVITY, MixBench
from studiolog.problems import UserProblem
from studiolog.ui.glazes.bucket_words import say_correction, say_litres
from studiolog.ui.parts.fields import NumberField, ProblemLine, read_number
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import KeepSheet
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Caption, Figure, Text


class _Sum(Section):
    """A few fields and what comes of them, at every letter."""

    def __init__(
        self,
        title: str,
        fields: tuple[NumberField, ...],
        tell: Callable[[], str],
        weight: int = 600,
    ) -> None:
        super().__init__(title)
        self._tell = tell
        row = FlowLayout(spacing=20, line_spacing=10)
        for field in fields:
            row.addWidget(field)
            field.line.textChanged.connect(self.refresh)
        self.add(row)
        self.answer = Text("", "body", weight, wrap=True)
        self.why_not = ProblemLine()
        self.add(self.answer)
        self.add(self.why_not)

    def refresh(self) -> None:
        """Tell the answer anew, or why there is none."""
        try:
            answer, problem = self._tell(), ""
        except UserProblem as told:
            answer, problem = "", told.sentence
        self.answer.setText(answer)
        self.answer.setVisible(bool(answer))
        self.why_not.say(problem)


class SlurrySheet(KeepSheet):
    """Opened for a glaze, so that it knows its density, loss in the fire and cost."""

    scrolls: ClassVar[bool] = True

    def __init__(self, bench: MixBench, parent: QWidget | None = None) -> None:
        super().__init__(f"Slurry sums, {bench.title}", "Close", parent)
        self._bench = bench
        self.leave_button.hide()
        gravity = bench.specific_gravity or USUAL_GRAVITY
        self.volume = NumberField("Slurry", "l", 5.0, 3, 0)
        self.gravity = NumberField("Specific gravity", "", gravity, 3, 1.0, 3.0)
        self.target = NumberField("Wanted specific gravity", "", gravity, 3, 1.0, 3.0)
        self.density = NumberField("Solid density", "g/ml", None, 2, 1.0, 20)
        self.density.line.setPlaceholderText(show_number(bench.density.g_per_ml, 2))
        self.jug_g = NumberField("Slurry weighed", "g", None, 1, 0, hint="145")
        self.jug_ml = NumberField("in", "ml", 100.0, 1, 0)
        self.sample_g = NumberField("Left dry of that jug", "g", None, 1, 0, hint="73")
        self.coat_g = NumberField("Dry glaze on", "g", None, 2, 0, hint="12")
        self.coat_cm2 = NumberField("an area of", "cm²", 100.0, 1, 0)
        self.contents = _Sum(
            "What is in it", (self.volume, self.gravity, self.density), self._tell_contents, 400
        )
        self.dry = Figure("Dry", "–")
        self.water = Figure("Water", "–")
        self.litre = Figure("In a litre", "–")
        told = FlowLayout(spacing=36, line_spacing=8)
        for figure in (self.dry, self.water, self.litre):
            told.addWidget(figure)
        self.contents.add(told)
        self.mend = _Sum("To reach a target", (self.target,), self._tell_mend)
        self.jug = _Sum("Weigh a jug", (self.jug_g, self.jug_ml, self.sample_g), self._tell_jug)
        self.coat = _Sum("A coat on a weighed tile", (self.coat_g, self.coat_cm2), self._tell_coat)
        self.take_gravity = link_button("Take it as the specific gravity above")
        self.take_gravity.clicked.connect(self._take_gravity)
        self.jug.body.addWidget(self.take_gravity, 0, Qt.AlignmentFlag.AlignLeft)
        self.jug.add(
            Caption(
                "Stir, sieve and let it stand first. Dry the jug's glaze until it loses no more, "
                "and its weight tells the solid density.",
                wrap=True,
            )
        )
        for section in (self.contents, self.mend, self.jug, self.coat):
            self.body.addWidget(section)
        self.body.addStretch(1)
        for field in (self.volume, self.gravity, self.density):
            field.line.textChanged.connect(self.mend.refresh)
        for section in (self.contents, self.mend, self.jug, self.coat):
            section.refresh()
        self.take_size(760, 700)
        self.volume.setFocus()
        self.volume.line.selectAll()

    def solid_density(self) -> SolidDensity:
        """The density typed, else that of the recipe. Raises `UserProblem`."""
        typed = read_number(self.density.text(), "g/ml")
        return self._bench.density if typed is None else SolidDensity(typed, "typed")

    def _tell_contents(self) -> str:
        for figure in (self.dry, self.water, self.litre):
            figure.set_value("–")
        volume = _given(self.volume, "l", "Give how many litres of slurry there are.")
        gravity = _given(self.gravity, "", "Give its specific gravity.")
        density = self.solid_density()
        found = slurry_of(1000.0 * volume, gravity, density.g_per_ml)
        spent = self._bench.cost.of(found.dry_g)
        at_least = "at least " if self._bench.cost.missing else ""
        cost = (
            f"{at_least}{show_money(spent, self._bench.cost.currency)} of material"
            if spent is not None
            else ""
        )
        # Never without words under it: the figures of a row stand level.
        cost = cost or f"in {show_quantity(1000.0 * volume * gravity, 'g')} of slurry"
        self.dry.set_value(show_quantity(found.dry_g, "g"), cost)
        self.water.set_value(
            show_quantity(found.water_g, "g"),
            f"{show_quantity(found.water_percent_of_dry, '%')} of the dry",
        )
        self.litre.set_value(show_quantity(found.dry_g_per_l, "g"), "dry")
        return f"Solid density {density.words}."

    def _tell_mend(self) -> str:
        volume = _given(self.volume, "l", "Give how many litres of slurry there are.")
        gravity = _given(self.gravity, "", "Give its specific gravity.")
        target = _given(self.target, "", "Give the specific gravity wanted.")
        density = self.solid_density().g_per_ml
        mend = find_correction(gravity, target, 1000.0 * volume, density)
        words = say_correction(mend)
        if not mend.kind:
            return words
        solid_ml = mend.grams / density if mend.kind == "dry" else mend.grams
        return f"{words} That makes {say_litres(1000.0 * volume + solid_ml)}."

    def _take_gravity(self) -> None:
        gravity = self._jug_gravity()
        if gravity is not None:
            self.gravity.set_value(gravity)
            self.gravity.setFocus()

    def _jug_gravity(self) -> float | None:
        mass = read_number(self.jug_g.text(), "g")
        if mass is None:
            return None
        return weighed_gravity(
            mass, _given(self.jug_ml, "ml", "Give the volume of the jug to its mark.")
        )

    def _tell_jug(self) -> str:
        self.take_gravity.hide()
        gravity = self._jug_gravity()
        if gravity is None:
            return ""
        self.take_gravity.show()
        volume = _given(self.jug_ml, "ml", "Give the volume of the jug to its mark.")
        words = f"Specific gravity {show_number(gravity, 3)}."
        dry = read_number(self.sample_g.text(), "g")
        if dry is None:
            return words
        density = solid_density_of(dry, volume, gravity)
        return f"{words} Solid density {show_quantity(density, 'g/ml', 2)}."

    def _tell_coat(self) -> str:
        grams = read_number(self.coat_g.text(), "g")
        if grams is None:
            return ""
        area = _given(self.coat_cm2, "cm²", "Give the area that was coated.")
        if area <= 0:
            raise UserProblem("Give the area that was coated: more than 0 cm².")
        per_m2 = 10_000.0 * grams / area
        words = f"{show_quantity(per_m2, 'g/m²')} of dry glaze"
        loi = self._bench.loi_percent
        fired = fired_thickness_um(per_m2, loi or 0.0, self._bench.limits["fired_glaze_density"])
        lost = (
            f"losing {show_quantity(loi, '%', 1)} in the fire"
            if loi is not None
            else "with no loss in the fire taken off, for an analysis of its materials is missing"
        )
        return f"{words}: about {show_quantity(fired, 'µm')} once fired, {lost}."

    def keep(self) -> None:
        self.accept()


def _given(field: NumberField, unit: str, missing: str) -> float:
    value = read_number(field.text(), unit)
    if value is None:
        raise UserProblem(missing)
    return value
