"""What a search found: whether it meets the formula, why not, and what else would do."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.glaze.cautions import find_cautions
from studiolog.craft.glaze.fit_words import show_expansion
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.glaze.target import Alternative, Residual, TargetRecipe
from studiolog.craft.glaze.target_problem import is_clay
from studiolog.ui.glazes.target_on_top import FoundOnTop
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Caption, Figure, Text

STEPS = (0.0, 0.01, 0.1, 0.5, 1.0)
_MOST_OTHERS = 4


@dataclass(frozen=True)
class Found:
    """A recipe as it would be kept. ``residual`` is that of the rounded ``parts``."""

    recipe: TargetRecipe
    parts: dict[str, float]
    residual: tuple[Residual, ...]
    analyses: dict[str, dict[str, float]]
    swaps: tuple[str, ...] = ()

    @property
    def within(self) -> bool:
        return all(one.within for one in self.residual)


@dataclass(frozen=True)
class Compared:
    """A figure of the recipe found, and what it was before; None where it is not known."""

    now: float | Decimal | None
    before: float | Decimal | None = None
    quiet: str = ""


class FoundSection(Section):
    """``rounding_changed`` fires when another step is chosen; ``do_without`` names materials."""

    rounding_changed = Signal()
    do_without = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Recipe found", parent=parent)
        self.verdict = Text("", "body", 600, wrap=True)
        self._reasons = QVBoxLayout()
        self._reasons.setSpacing(4)
        self.rounding = SegmentedChoice(
            "Round to",
            [Choice(step, f"{step:g} part" if step else "not") for step in STEPS],
        )
        self.rounding.choose(0.1)
        self.expansion = Figure("Calculated expansion", "")
        self.cost = Figure("Material per kilogram", "")
        self._figures = FlowLayout(spacing=32, line_spacing=8)
        for figure in (self.expansion, self.cost):
            self._figures.addWidget(figure)
        self._others = QVBoxLayout()
        self._others.setSpacing(2)
        row = FlowLayout(spacing=12, line_spacing=4)
        row.addWidget(Text("Round to", "secondary", 500, "ink2"))
        row.addWidget(self.rounding)
        for item in (self.verdict, self._reasons, row, self._figures, self._others):
            self.add(item)
        self.rounding.picked.connect(lambda _step: self.rounding_changed.emit())
        self.show_nothing("")

    def step(self) -> float:
        """The step that parts are rounded to, 0 for none."""
        return float(str(self.rounding.chosen() or 0.0))

    def reasons(self) -> list[str]:
        """The sentences shown under the verdict."""
        items = (self._reasons.itemAt(at) for at in range(self._reasons.count()))
        widgets = [item.widget() for item in items if item is not None]
        return [one.text() for one in widgets if isinstance(one, Text)]

    def show_nothing(self, why: str) -> None:
        """No recipe: why, in a sentence."""
        self.verdict.setText(why)
        self.verdict.set_tone("ink2")
        self.verdict.setVisible(bool(why))
        clear_layout(self._reasons)
        clear_layout(self._others)
        for figure in (self.expansion, self.cost):
            figure.hide()

    def show_found(self, found: Found, expansion: Compared, cost: Compared) -> None:
        """Show a recipe and what it is held against."""
        self._say_verdict(found)
        clear_layout(self._reasons)
        recipe = found.recipe
        for sentence in (*recipe.reasons, *found.swaps):
            self._reasons.addWidget(Text(sentence, "secondary", tone="ink2", wrap=True))
        if recipe.no_analysis:
            named = ", ".join(recipe.no_analysis)
            told = f"Left out, for there is no analysis of it: {named}."
            self._reasons.addWidget(Text(told, "secondary", tone="ink2", wrap=True))
        for care in self._cares(found):
            self._reasons.addWidget(CautionLine(care))
        self._show_figures(expansion, cost)
        self._show_others(recipe)

    def show_on_top(self, found: FoundOnTop, expansion: Compared, cost: Compared) -> None:
        """Show what takes the place of something on top."""
        words, tone = found.verdict
        self.verdict.setText(words)
        self.verdict.set_tone(tone)
        self.verdict.show()
        clear_layout(self._reasons)
        clear_layout(self._others)
        for sentence in found.kept.sentences:
            self._reasons.addWidget(Text(sentence, "secondary", tone="ink2", wrap=True))
        for one in find_cautions(found.kept.parts, found.analyses):
            self._reasons.addWidget(CautionLine(one.sentence))
        self._show_figures(expansion, cost)

    def _say_verdict(self, found: Found) -> None:
        if not found.recipe.reached:
            words, tone = "As near as these materials come; it does not meet the formula.", "rust"
        elif found.within:
            words, tone = "It meets the formula.", "celadon"
        else:
            worst = max(
                (one for one in found.residual if not one.within),
                key=lambda one: abs(one.share or 1.0),
            )
            off = f"{pretty(worst.oxide)} is {worst.words}"
            words, tone = f"It meets the formula before rounding; rounded, {off}.", "ochre"
        self.verdict.setText(words)
        self.verdict.set_tone(tone)
        self.verdict.show()

    @staticmethod
    def _cares(found: Found) -> list[str]:
        told = [one.sentence for one in find_cautions(found.parts, found.analyses, ("water",))]
        if not any(is_clay(name, found.analyses.get(name, {})) for name in found.parts):
            told.append("No clay is in it, so it will settle: ask for some parts of clay.")
        return told

    def _show_figures(self, expansion: Compared, cost: Compared) -> None:
        self.expansion.setVisible(expansion.now is not None)
        if expansion.now is not None:
            was = show_expansion(float(expansion.before)) if expansion.before is not None else ""
            self.expansion.set_value(
                show_expansion(float(expansion.now)), f"was {was}" if was else "about ±1"
            )
        self.cost.setVisible(cost.now is not None)
        if cost.now is not None:
            was = f"was {cost.before:.2f}" if cost.before is not None else ""
            quiet = ", ".join(filter(None, (was, cost.quiet)))
            self.cost.set_value(f"{cost.now:.2f}", quiet)

    def _show_others(self, recipe: TargetRecipe) -> None:
        clear_layout(self._others)
        if recipe.unique:
            if recipe.reached:
                told = "No other recipe from these materials does as well."
                self._others.addWidget(Caption(told, wrap=True))
            return
        if recipe.alternatives:
            self._others.addWidget(Text("Others do as well", "secondary", 600))
        for one in recipe.alternatives[:_MOST_OTHERS]:
            link = link_button(say_alternative(one))
            link.clicked.connect(partial(self._leave, one.leaves))
            self._others.addWidget(link, 0, Qt.AlignmentFlag.AlignLeft)
        if not recipe.alternatives and recipe.could_join:
            named = ", ".join(recipe.could_join)
            told = f"Not the only one: {named} could come in with no change of formula."
            self._others.addWidget(Caption(told, wrap=True))

    def _leave(self, names: Sequence[str], *_: object) -> None:
        self.do_without.emit(tuple(names))


def say_alternative(one: Alternative) -> str:
    """``Without Dolomite: Talc comes in``."""
    gone = ", ".join(one.leaves)
    if not one.brings:
        return f"Without {gone}"
    return (
        f"Without {gone}: {', '.join(one.brings)} {'comes' if len(one.brings) == 1 else 'come'} in"
    )
