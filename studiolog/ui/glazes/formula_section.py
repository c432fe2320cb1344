"""The formula of a glaze on its page: unity, ratios, expansion, and by which rules."""

from collections import defaultdict
from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QCheckBox, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.glaze.expansion import (
    FACTOR_SETS,
    NOT_FOR_CRYSTALS,
    linear_expansion,
    without_factor,
)
from studiolog.craft.glaze.fit_words import UNIT, show_expansion
from studiolog.craft.glaze.formula_words import (
    write_loss,
    write_percent,
    write_ratio,
)
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.glaze.unity import UnityFormula, say_rules
from studiolog.craft.units import THIN, show_number, show_quantity
from studiolog.craft.words import ANALYSIS_BASES
from studiolog.desktop.desk import Desk
from studiolog.journal.glaze_formula import (
    FormulaLot,
    GlazeFormula,
    material_named,
    read_formula,
    read_typed_formula,
)
from studiolog.journal.glazes import RecipePart
from studiolog.journal.limits import read_limits, set_limit
from studiolog.journal.materials import add_material
from studiolog.problems import UserProblem
from studiolog.ui.glazes.formula_view import FormulaView
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Hairline, Section, link_button
from studiolog.ui.parts.sight import show_whole
from studiolog.ui.parts.text import Caption, Figure, Text

_RULES = (
    ("boron_with_alumina", "B₂O₃ with Al₂O₃"),
    ("iron_with_alumina", "Iron with Al₂O₃"),
    ("colourants_as_flux", "Colouring oxides as flux"),
)
_SHORT_NAME = 24  # letters a link has room for
_SHOW, _HIDE = "Weight and mole per cent", "Hide weight and mole per cent"


class FormulaSection(Section):
    """Reads the formula of the glaze shown; ``show_typed`` follows a recipe being typed."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Formula", link=_SHOW, parent=parent)
        self._desk = desk
        self._glaze_id = 0
        self._shown: GlazeFormula | None = None
        self.problem = CautionLine()
        self.to_materials = link_button("Add its analysis")
        self.to_materials.clicked.connect(self._open_materials)
        self.view = FormulaView()
        self.silica = Figure("SiO₂ : Al₂O₃", "")
        self.oxygen = Figure("Oxygen ratio", "")
        self.expansion = Figure("Calculated expansion", "")
        self.loss = Figure("Loss on ignition", "")
        self._figures = FlowLayout(spacing=32, line_spacing=12)
        for figure in self._all_figures():
            self._figures.addWidget(figure)
        self._warnings = QVBoxLayout()
        self._warnings.setSpacing(4)
        self.percents = _PercentTable()
        self.percents.hide()
        self.rules = {key: QCheckBox(words) for key, words in _RULES}
        self._rule_words = Caption("", wrap=True)
        self._lots = QVBoxLayout()
        self._lots.setSpacing(2)
        self._build()
        self.link_opened.connect(self.toggle_percents)

    def _build(self) -> None:
        missing = QHBoxLayout()
        missing.setSpacing(8)
        missing.addWidget(self.problem, 1)
        missing.addWidget(self.to_materials, 0, Qt.AlignmentFlag.AlignTop)
        switches = FlowLayout(spacing=20, line_spacing=4)
        for key, box in self.rules.items():
            box.setAccessibleName(f"{box.text()}, for the whole studio")
            box.clicked.connect(lambda on, key=key: self._set_rule(key, on))
            switches.addWidget(box)
        for item in (
            missing, self.view, self._figures, self._warnings, self.percents, switches,
            self._rule_words, self._lots,
        ):  # fmt: skip
            self.add(item)

    # What is shown

    def show_glaze(self, glaze_id: int) -> None:
        """Show the formula of a kept recipe."""
        self._glaze_id = glaze_id
        self._show(self._desk.read(lambda session: read_formula(session, glaze_id)))

    def show_typed(self, parts: Sequence[RecipePart]) -> None:
        """Show what a recipe comes to while it is being typed."""
        glaze_id = self._glaze_id
        typed = [part for part in parts if part.parts > 0]
        self._show(
            self._desk.read(lambda session: read_typed_formula(session, glaze_id, typed)), True
        )

    def _all_figures(self) -> tuple[Figure, ...]:
        return (self.silica, self.expansion, self.oxygen, self.loss)

    def formula(self) -> GlazeFormula | None:
        """What is shown."""
        return self._shown

    def toggle_percents(self) -> None:
        """Show or hide the table of percentages."""
        shown = not self.percents.isVisibleTo(self)
        self.percents.setVisible(shown)
        self.set_link(_HIDE if shown else _SHOW)

    def show_percents(self) -> None:
        """Turn the percentages over, in sight: a key was pressed somewhere on the page."""
        if not self.link.isHidden():
            self.toggle_percents()
            QTimer.singleShot(0, self, lambda: show_whole(self.percents))

    def _show(self, found: GlazeFormula, typed: bool = False) -> None:
        before, self._shown = self._shown, found
        formula = found.shown
        quiet = "as typed" if typed else ""
        self.set_quiet(quiet if found.parts else "needs a recipe")
        self.problem.say(found.problem if found.parts else "")
        # A name half typed is not yet worth a place on the shelf.
        self.to_materials.setVisible(bool(found.missing) and not typed)
        if found.missing:
            short = len(found.missing) > 1 and len(found.missing[0]) < _SHORT_NAME
            words = f"Add that of {found.missing[0]}" if short else "Add it"
            self.to_materials.setText(words)
            self.to_materials.setAccessibleName(f"Add the analysis of {found.missing[0]}")
        self.set_link((_HIDE if self.percents.isVisibleTo(self) else _SHOW) if formula else "")
        self.view.setVisible(formula is not None)
        self.view.show_formula(formula, found.formula is not None)
        for figure in self._all_figures():
            figure.setVisible(formula is not None)
        if formula is not None:
            self._show_figures(found, formula)
        else:
            self.percents.hide()
        if before is None or _warnings(before) != _warnings(found):
            self._show_warnings(found)
        self._show_rules(formula)
        if before is None or before.lots != found.lots:
            self._show_lots(found)

    def _show_figures(self, found: GlazeFormula, formula: UnityFormula) -> None:
        lacking, tone = ("", "ink") if found.formula else ("incomplete", "ink3")
        self.silica.set_value(write_ratio(formula.silica_alumina), lacking or "in moles", tone)
        self.oxygen.set_value(write_ratio(formula.oxygen_ratio), lacking or "acids to bases", tone)
        if found.expansion_ppm_k is None:
            self.expansion.set_value("–", "incomplete" if lacking else "not known", "ink3")
        else:
            value = show_number(found.expansion_ppm_k, 1)
            error = show_number(found.expansion_error_ppm_k, 1).removesuffix(".0")
            chosen = FACTOR_SETS["appen"]
            span = f"{chosen.from_c:.0f} to {chosen.to_c:.0f} °C"
            warns = "ochre" if found.expansion_warnings else "ink"
            words = f"{value} ±{error}{THIN}{UNIT}"
            self.expansion.set_value(words, f"{chosen.name}, {span}", warns)
        left = show_quantity(formula.calcined_g, "g", 1)
        self.loss.set_value(
            write_loss(formula.loi_percent), lacking or f"100 g raw leave {left}", tone
        )
        if self.percents.isVisibleTo(self):
            self.percents.show_formula(formula)
        self.percents.formula = formula

    def _show_warnings(self, found: GlazeFormula) -> None:
        clear_layout(self._warnings)
        for sentence in found.expansion_warnings:
            self._warnings.addWidget(CautionLine(f"Expansion: {_lower(sentence)}"))
        if found.expansion_ppm_k is not None:
            self._warnings.addWidget(
                Caption(f"The expansion is calculated. {NOT_FOR_CRYSTALS}", wrap=True)
            )

    def _show_rules(self, formula: UnityFormula | None) -> None:
        limits = self._desk.read(read_limits)
        for key, box in self.rules.items():
            box.setChecked(limits[key] != 0.0)
            box.setVisible(formula is not None)
        words = " ".join(say_rules(formula.rules)) if formula else ""
        self._rule_words.setText(f"{words} These rules hold for every glaze of the studio.")
        self._rule_words.setVisible(formula is not None)

    def _show_lots(self, found: GlazeFormula) -> None:
        clear_layout(self._lots)
        by_basis: dict[str, list[FormulaLot]] = defaultdict(list)
        for lot in found.lots:
            by_basis[lot.basis].append(lot)
        for basis, words in ANALYSIS_BASES.items():
            if basis in by_basis:
                named = ", ".join(_say_lot(lot) for lot in by_basis[basis])
                self._lots.addWidget(Caption(f"{words[0].upper()}{words[1:]}: {named}.", wrap=True))
        for lot in found.lots:
            for sentence in lot.told:
                self._lots.addWidget(CautionLine(f"{lot.material}: {sentence}"))

    # What a person does

    def _set_rule(self, key: str, on: bool) -> None:
        words = dict(_RULES)[key]
        label = f"Formula: {words}, {'yes' if on else 'no'}"
        try:
            self._desk.edits.run(label, partial(set_limit, key=key, value=float(on)))
        except UserProblem as problem:
            self.problem.say(problem.sentence)

    def _open_materials(self) -> None:
        """Show the first material that lacks an analysis, put on the shelf if it is not there."""
        if self._shown is None or not self._shown.missing:
            return
        name = self._shown.missing[0]
        ident = self._desk.read(lambda session: material_named(session, name))
        try:
            if ident is None:
                adds = partial(add_material, name=name)
                ident = self._desk.edits.run(f"Add material {name}", adds)
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self._desk.show("material", ident)


class _PercentTable(QWidget):
    """Weight and mole per cent by oxide, and weights; old factor sets to read old notes by."""

    def __init__(self) -> None:
        super().__init__()
        self.formula: UnityFormula | None = None
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(28)
        self._grid.setVerticalSpacing(3)
        self._notes = QVBoxLayout()
        self._notes.setSpacing(2)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 4, 0, 4)
        rows.setSpacing(8)
        held = QHBoxLayout()
        held.addLayout(self._grid)
        held.addStretch(1)
        rows.addWidget(Hairline())
        rows.addLayout(held)
        rows.addLayout(self._notes)
        rows.addWidget(Hairline())

    def setVisible(self, visible: bool) -> None:
        """Qt: filled only once it is seen."""
        if visible and self.formula is not None:
            self.show_formula(self.formula)
        super().setVisible(visible)

    def show_formula(self, formula: UnityFormula) -> None:
        """Fill the table."""
        self.formula = formula
        clear_layout(self._grid)
        clear_layout(self._notes)
        for column, head in enumerate(("Oxide", "Weight %", "Mole %")):
            self._put(0, column, head, "ink3")
        for row, oxide in enumerate(formula.weight_percent, start=1):
            self._put(row, 0, pretty(oxide), "ink")
            self._put(row, 1, write_percent(formula.weight_percent[oxide]), "ink")
            self._put(row, 2, write_percent(formula.mole_percent[oxide]), "ink")
        for words in _say_weights(formula):
            self._notes.addWidget(Caption(words, wrap=True))

    def _put(self, row: int, column: int, words: str, tone: str) -> None:
        text = Text(words, "secondary", 400, tone)
        side = Qt.AlignmentFlag.AlignLeft if column == 0 else Qt.AlignmentFlag.AlignRight
        self._grid.addWidget(text, row, column, side)


def _say_weights(formula: UnityFormula) -> list[str]:
    told = ["Of the fired glaze, brought to 100."]
    if formula.raw_g is not None and formula.calcined_formula_g is not None:
        raw = show_quantity(formula.raw_g, "g", 1)
        calcined = show_quantity(formula.calcined_formula_g, "g", 1)
        told.append(f"One mole of flux is in {raw} raw, {calcined} calcined.")
    if abs(formula.calcined_g - formula.oxides_g) >= 0.5:
        named = show_quantity(formula.oxides_g, "g", 1)
        left = show_quantity(formula.calcined_g, "g", 1)
        told.append(f"100 g raw leave {left}, but the analyses name only {named} of it.")
    if formula.loi_by_difference:
        named = ", ".join(formula.loi_by_difference)
        told.append(f"No loss on ignition is given for {named}: taken as what is short of 100.")
    if "F" in formula.moles:
        told.append("Fluorine goes off in part; it stands outside the percentages.")
    told += [_say_old_set(key, formula) for key in FACTOR_SETS if key != "appen"]
    return told


def _say_old_set(key: str, formula: UnityFormula) -> str:
    chosen = FACTOR_SETS[key]
    span = f"{chosen.from_c:.0f} to {chosen.to_c:.0f} °C"
    try:
        value = show_expansion(linear_expansion(formula.mole_percent, key))
    except UserProblem as problem:
        return problem.sentence
    words = f"To read old notes by: {chosen.name} ({chosen.words}, {span}) gives {value}"
    lacking = without_factor(formula.mole_percent, key)
    if lacking:
        words += f", without {', '.join(map(pretty, lacking))}"
    return f"{words}. Never compare it with figures of another set."


def _warnings(found: GlazeFormula) -> tuple[bool, tuple[str, ...]]:
    return found.expansion_ppm_k is not None, found.expansion_warnings


def _say_lot(lot: FormulaLot) -> str:
    return f"{lot.material} ({lot.lot})" if lot.lot else lot.material


def _lower(sentence: str) -> str:
    """A sentence after a colon; a formula or a name keeps its capital."""
    first = sentence.split(" ", 1)[0]
    return sentence[0].lower() + sentence[1:] if first in ("It", "Fluxes") else sentence
