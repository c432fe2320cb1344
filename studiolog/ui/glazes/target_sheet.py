"""A recipe from a formula, and a recipe without a material that is gone: found as one types."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QCheckBox, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.glaze.substitution import ALKALIS, replace_material, say_swaps
from studiolog.craft.glaze.target import (
    Bound,
    TargetRecipe,
    Wishes,
    judge_recipe,
    recipe_for_formula,
    round_parts,
)
from studiolog.craft.glaze.target_words import write_formula_words
from studiolog.craft.glaze.unity import rules_from
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.glazes import RecipePart, list_glazes
from studiolog.journal.materials import known_names
from studiolog.journal.recipe_choice import (
    brings_alkali,
    first_shelf,
    shelf_on_top,
    shelf_without,
)
from studiolog.journal.recipe_search import (
    RecipeStart,
    cost_words,
    expansion_of,
    found_recipe,
    keep_as_glaze,
    keep_as_version,
    read_shelf,
    read_start,
    recipe_with_on_top,
)
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.glazes.target_formula import TargetFormula
from studiolog.ui.glazes.target_found import Compared, Found, FoundSection
from studiolog.ui.glazes.target_on_top import STEP, FoundOnTop, OnTop, add_up, search_on_top
from studiolog.ui.glazes.target_shelf import TargetShelf
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import LineField, NumberField, write_number
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import KeepSheet, labelled
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption

_WIDE, _HIGH = 1220, 860
_BESIDE = 1080  # px before scaling: from this width formula and shelf stand beside each other


class TargetSheet(KeepSheet):
    """Formula, shelf and result at once. ``kept`` carries the id of the glaze that was kept.

    With ``gone`` the formula is that of the glaze, and that material may not be used.
    """

    scrolls = True
    kept = Signal(int)

    def __init__(
        self, desk: Desk, glaze_id: int, replacing: bool = False, parent: QWidget | None = None
    ) -> None:
        self._start: RecipeStart = desk.read(lambda session: read_start(session, glaze_id))
        self._shelf = desk.read(read_shelf)
        title = self._start.title
        heading = f"Replace a material of {title}"
        if not replacing:
            heading = f"Recipe from a formula, for {title}"
        # The name stands in the heading: one without an end would not fit a button.
        keep = "Keep as a new version" if self._start.has_recipe else "Keep as its recipe"
        super().__init__(heading, keep, parent)
        self._desk, self._replacing = desk, replacing
        self._found: Found | FoundOnTop | None = None
        self._build()
        self._connect()
        self._begin()
        self.take_size(_WIDE, _HIGH)

    # Building

    def _build(self) -> None:
        self.formula = TargetFormula()
        self.shelf = TargetShelf(lambda: self._desk.read(known_names))
        self.fewest = QCheckBox("As few materials as will do")
        self.fewest.setChecked(True)
        self.together = QCheckBox("K₂O and Na₂O counted together")
        self.clay = NumberField("Clay at least", "parts", None, 1, 0, 100)
        self.found = FoundSection()
        self.name = LineField("Name of a new glaze", hint="Kelp with soda feldspar")
        self.keep_new = QPushButton("Keep as a new glaze")
        self.keep_new.setAccessibleName("Keep as a new glaze")
        self.keep_new.setAutoDefault(False)
        self.take_from = PickOne("Formula of", self._glaze_choices())
        self.gone = PickOne("Material that is gone", self._gone_choices())
        for pick in (self.take_from, self.gone):
            pick.setMinimumContentsLength(8)
            pick.setSizeAdjustPolicy(PickOne.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        # Under each other until it is known that there is room beside each other.
        self._columns = QBoxLayout(QBoxLayout.Direction.TopToBottom)
        self._columns.setSpacing(32)
        self._columns.addWidget(self._left_side(), 1)
        self._columns.addWidget(self._right_side(), 1)
        self.body.addLayout(self._columns)
        self.body.addStretch(1)

    def _left_side(self) -> QWidget:
        side = QWidget()
        rows = QVBoxLayout(side)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(12)
        if self._replacing:
            rows.addLayout(labelled("Material that is gone", self.gone))
            self.formula.lock()
        else:
            rows.addLayout(labelled("Formula of", self.take_from))
        wanted = Section("Formula kept" if self._replacing else "Formula wanted")
        wanted.add(self.formula)
        self._kept = Caption("", wrap=True)
        wanted.add(self._kept)
        self._say_kept()
        rows.addWidget(wanted)
        rows.addWidget(self.found)
        rows.addStretch(1)
        return side

    def _right_side(self) -> QWidget:
        side = QWidget()
        rows = QVBoxLayout(side)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(12)
        materials = Section("Materials it may have")
        materials.add(self.shelf)
        materials.add(
            Caption(
                "Least and most are parts of a hundred; the same in both holds a material there. "
                "Each has the analysis of its newest lot.",
                wrap=True,
            )
        )
        wishes = FlowLayout(spacing=20, line_spacing=8)
        for widget in (self.fewest, self.together, self.clay):
            wishes.addWidget(widget)
        materials.add(wishes)
        rows.addWidget(materials)
        other = Section("As a glaze of its own")
        new = QHBoxLayout()
        new.setSpacing(12)
        new.addWidget(self.name, 1)
        new.addWidget(self.keep_new, 0, Qt.AlignmentFlag.AlignBottom)
        other.add(new)
        rows.addWidget(other)
        rows.addStretch(1)
        return side

    def _glaze_choices(self) -> list[Choice]:
        lines = self._desk.read(lambda session: list_glazes(session, counted=False))
        return [Choice(line.glaze_id, line.title) for line in lines]

    def _gone_choices(self) -> list[Choice]:
        on_top = dict.fromkeys(one.material for one in self._start.additions)
        return [
            *(Choice(name, name) for name in self._start.base),
            *(Choice(OnTop(name), f"{name}, on top") for name in on_top),
        ]

    def _say_kept(self) -> None:
        told = self._additions()
        self._kept.setText(told)
        self._kept.setVisible(bool(told))

    def _additions(self) -> str:
        if self._gone_on_top() is not None:
            return (
                "The base stays as it is, with the analyses it has; the formula is that of the "
                "whole glaze. Parts are on a hundred of base."
            )
        if not self._start.additions:
            return ""
        named = ", ".join(
            f"{one.material} {write_number(one.parts, 2)}" for one in self._start.additions
        )
        return f"On top of a hundred, kept as it is: {named}. The formula is that of the base."

    def _connect(self) -> None:
        self.formula.changed.connect(lambda: self.take_from.choose(None))
        self.formula.changed.connect(self.refresh)
        self.shelf.edited.connect(self.refresh)
        self.shelf.typing.connect(self.refresh)
        self.fewest.clicked.connect(self.refresh)
        self.together.clicked.connect(self.refresh)
        self.clay.line.textEdited.connect(self.refresh)
        self.found.rounding_changed.connect(self.refresh)
        self.found.do_without.connect(self.leave_out)
        self.take_from.picked.connect(self._take_formula)
        self.gone.picked.connect(self.take_gone)
        self.keep_new.clicked.connect(self.keep_as_new)

    def _begin(self) -> None:
        if self._start.formula is not None:
            self.take_from.choose(self._start.glaze_id)
            self.formula.show_wanted(self._start.formula.oxides)
        if self._replacing and self._start.base:
            self.gone.choose(next(iter(self._start.base)))
            self.take_gone(next(iter(self._start.base)))
            self.gone.setFocus()
            return
        names, used = first_shelf(self._shelf, self._start)
        self.shelf.show_materials(names, used)
        self.formula.line.setFocus()
        self.refresh()

    # What a person does

    def take_gone(self, gone: object) -> None:
        """The material that is gone: what is left, and what is like it."""
        on_top = isinstance(gone, OnTop)
        name = gone.name if isinstance(gone, OnTop) else str(gone)
        choose = shelf_on_top if on_top else shelf_without
        names, used = choose(self._shelf, self._start, name)
        self.together.setChecked(not on_top and brings_alkali(self._start.analyses.get(name, {})))
        for wish in (self.fewest, self.together, self.clay):
            wish.setVisible(not on_top)
        self.found.rounding.choose(STEP if on_top else 0.1)
        if self._start.formula is not None and not on_top:
            self.formula.show_wanted(self._start.formula.oxides)
        self._say_kept()
        self.shelf.show_materials(names, used)
        self.refresh()

    def _gone_on_top(self) -> str | None:
        gone = self.gone.chosen() if self._replacing else None
        return gone.name if isinstance(gone, OnTop) else None

    def _take_formula(self, glaze_id: object) -> None:
        start = self._desk.read(lambda session: read_start(session, int(str(glaze_id))))
        if start.formula is None:
            self.formula.line.set_problem(f"{start.title}: {start.problem}")
            return
        self.formula.line.set_text(write_formula_words(start.formula.oxides))
        self.formula.show_wanted(start.formula.oxides)
        self.refresh()

    def leave_out(self, names: object) -> None:
        """Do without some materials."""
        assert isinstance(names, tuple)
        self.shelf.set_used(names, False)
        self.refresh()

    def refresh(self, *_: object) -> None:
        """Search anew with all that is typed."""
        try:
            found = self._search()
        except UserProblem as problem:
            self._found = None
            self.found.show_nothing(problem.sentence)
            self.formula.show_residual(())
            self.shelf.show_parts({})
        else:
            if found is None:
                return  # a cell can't be read yet: what was found last stands
            self._found = found
            if isinstance(found, FoundOnTop):
                self.formula.show_wanted(found.wanted)
            self.formula.show_residual(found.residual)
            self.shelf.show_parts(found.parts)
            figures = self._expansions(found), self._costs(found)
            if isinstance(found, FoundOnTop):
                self.found.show_on_top(found, *figures)
            else:
                self.found.show_found(found, *figures)
        self.keep_button.setEnabled(self._found is not None)
        self.keep_new.setEnabled(self._found is not None)
        self.why_not.say("")

    def recipe(self) -> TargetRecipe | None:
        """What was found for a formula, before rounding."""
        return self._found.recipe if isinstance(self._found, Found) else None

    def parts(self) -> dict[str, float]:
        """The parts as they would be kept."""
        return dict(self._found.parts) if self._found is not None else {}

    def keep(self) -> None:
        """Keep it as the glaze's recipe, or as a new version."""
        glaze_id = self._start.glaze_id
        self._keep(
            f"{'New version' if self._start.has_recipe else 'Recipe'} of {self._start.name}",
            lambda session, recipe: keep_as_version(session, glaze_id, recipe),
        )

    def keep_as_new(self) -> None:
        """Keep it as a glaze of its own."""
        name = self.name.text()
        gone = self._gone_on_top()
        notes = f"{self._start.title} without {gone}."
        if gone is None:
            notes = f"Found for the formula {write_formula_words(self._wanted())}."
        self._keep(
            f"Add {name}" if name else "Add a glaze",
            lambda session, recipe: keep_as_glaze(session, name, recipe, notes),
        )

    # How it works

    def _wanted(self) -> dict[str, float]:
        if self._replacing:
            if self._start.formula is None:
                raise UserProblem(self._start.problem)
            return dict(self._start.formula.oxides)
        return self.formula.wanted()

    def _search(self) -> Found | FoundOnTop | None:
        on_top = self._gone_on_top()
        wanted = self._wanted() if on_top is None else {}
        rows = self.shelf.as_typed()
        if rows is None:
            return None
        if on_top is not None:
            return search_on_top(self._start, on_top, self._shelf, rows, self.found.step())
        clay = self.clay.value() or 0.0
        analyses: dict[str, dict[str, float]] = {}
        bounds: dict[str, Bound] = {}
        gone = str(self.gone.chosen() or "") if self._replacing else ""
        for row in rows:
            if not row.used or row.name.casefold() == gone.casefold():
                continue
            one = self._shelf.find(row.name)
            analyses[row.name] = one.analysis.percents if one is not None else {}
            if row.bound is not None:
                bounds[row.name] = row.bound
        limits = self._shelf.limits
        rules = rules_from(limits)
        together = ALKALIS if self.together.isChecked() else ()
        if self._replacing:
            replaced = replace_material(
                self._start.base,
                gone,
                self._start.analyses,
                analyses,
                alkalis_together=self.together.isChecked(),
                fewest=self.fewest.isChecked(),
                clay_parts=clay,
                bounds=bounds,
                rules=rules,
                limits=limits,
            )
            recipe, swaps = replaced.found, replaced.swaps
        else:
            wishes = Wishes(self.fewest.isChecked(), clay, together)
            recipe = recipe_for_formula(
                wanted, analyses, bounds=bounds, wishes=wishes, rules=rules, limits=limits
            )
            swaps = say_swaps(recipe.target, recipe.formula.oxides) if together else ()
        used = {name: analyses[name] for name in recipe.parts}
        parts, residual = dict(recipe.parts), recipe.residual
        step = self.found.step()
        if step:
            parts = round_parts(parts, step, recipe.target, used, rules=rules, limits=limits)
            residual = judge_recipe(
                parts, recipe.target, used, together=together, rules=rules, limits=limits
            )
        return Found(recipe, parts, residual, used, swaps)

    def _whole(self, found: Found | FoundOnTop) -> dict[str, float]:
        """The recipe as it would be kept, on a hundred of base."""
        if isinstance(found, FoundOnTop):
            return found.whole
        return add_up(found.parts, self._on_top())

    def _on_top(self) -> dict[str, float]:
        return add_up(*({one.material: one.parts} for one in self._start.additions))

    def _expansions(self, found: Found | FoundOnTop) -> Compared:
        now = expansion_of(self._whole(found), {**self._start.analyses, **found.analyses})
        before = None
        if self._start.base:
            before = expansion_of(add_up(self._start.base, self._on_top()), self._start.analyses)
        return Compared(now, before)

    def _costs(self, found: Found | FoundOnTop) -> Compared:
        now, quiet = cost_words(self._shelf.cost(self._whole(found)))
        before = None
        if self._start.base:
            before, lacking = cost_words(self._shelf.cost(add_up(self._start.base, self._on_top())))
            before = None if lacking else before
        return Compared(now, before, quiet)

    def _keep(self, label: str, edit: Callable[[Session, Sequence[RecipePart]], int]) -> None:
        if self._found is None:
            self.why_not.say("There is no recipe yet, so nothing can be kept.")
            return
        found = self._found

        def run(session: Session) -> int:
            start, gone = self._start, self._gone_on_top()
            if gone is not None:
                glaze_id = start.glaze_id
                recipe = recipe_with_on_top(session, glaze_id, gone, found.parts, self._shelf)
            else:
                recipe = found_recipe(found.parts, self._shelf, start.additions)
            return edit(session, recipe)

        try:
            made = self._desk.edits.run(label, run)
        except UserProblem as problem:
            if "name" in problem.fields:
                self.name.set_problem(problem.fields["name"])
                self.name.setFocus()
            else:
                self.why_not.say(problem.sentence)
            return
        self.accept()
        self.kept.emit(made)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        beside = self.width() >= theme.current().px(_BESIDE)
        direction = QBoxLayout.Direction
        self._columns.setDirection(direction.LeftToRight if beside else direction.TopToBottom)
