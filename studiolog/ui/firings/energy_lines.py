"""What a firing used and cost: its figures, the meter typed in place, and what it comes to."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.firing.energy import BASES, EnergyFacts, read_meter_words
from studiolog.craft.money import show_money, show_price
from studiolog.craft.units import show_number, show_quantity
from studiolog.desktop.desk import Desk
from studiolog.journal.firing_energy import FiringEnergy, set_energy
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import EditableText, ProblemLine
from studiolog.ui.parts.text import Figure, Text

_DASH = "–"


def write_energy(energy: FiringEnergy) -> str:
    """The energy for a list: "62.4 kWh" by the meter, "61 kWh, duty", "51 kWh, estimate"."""
    used = energy.used
    if used is None:
        return _DASH
    if used.basis == "meter":
        return show_quantity(used.kwh, "kWh", 1)
    return f"{show_quantity(used.kwh, 'kWh')}, {'duty' if used.basis == 'duty log' else 'estimate'}"


def say_energy(energy: FiringEnergy) -> str:
    """The energy with how it is known, and its cost, for a tool-tip."""
    if energy.used is None:
        return energy.missing[0] if energy.missing else ""
    cost = energy.cost_value
    return energy.used.label + (
        f"; cost {show_money(cost, energy.currency)}" if cost is not None else ""
    )


def show_energy(figure: Figure, energy: FiringEnergy) -> None:
    """The energy with its basis in words; how it was told is in the tool-tip."""
    used = energy.used
    if used is None:
        usual = energy.usual_kwh
        figure.set_value(_DASH, f"usual {show_number(usual, 1)}" if usual else "not known")
        tip = energy.missing[0] if energy.missing else ""
    else:
        quiet = BASES[used.basis]
        if used.basis == "estimate":
            quiet = f"estimated, {show_number(used.low)} to {show_number(used.high)}"
        elif used.basis == "meter" and energy.usual_kwh is not None:
            quiet = f"meter; usual {show_number(energy.usual_kwh, 1)}"
        decimals = 1 if used.basis == "meter" else 0
        figure.set_value(show_quantity(used.kwh, "kWh", decimals), quiet)
        between = f"Between {used.between}." if used.between else ""
        often = ""
        if energy.usual_kwh is not None:
            often = f"Usual for this program: {show_quantity(energy.usual_kwh, 'kWh', 1)}."
        label = used.label[0].upper() + used.label[1:]
        tip = "\n".join(filter(None, (f"{label}.", between, often)))
    figure.setToolTip(tip)
    figure.setAccessibleDescription(tip.replace("\n", " "))


def show_cost(figure: Figure, energy: FiringEnergy) -> None:
    """The cost; which kWh went at which price is in the tool-tip."""
    cost, value = energy.cost, energy.cost_value
    if cost is None or value is None:
        figure.set_value(_DASH, "no price" if energy.used is not None else "not known")
        tip = energy.missing[0] if energy.missing else ""
    else:
        between = energy.cost_between
        if energy.used is not None and energy.used.basis == "estimate" and between is not None:
            quiet = f"estimated, {between[0]:.0f} to {between[1]:.0f}"
        elif len(cost.parts) == 1:
            quiet = f"at {show_price(cost.parts[0].per_kwh)} a kWh"
        elif cost.parts:
            quiet = "at " + " to ".join(show_price(cost.parts[at].per_kwh) for at in (0, -1))
        else:
            quiet = ""
        figure.set_value(show_money(value, energy.currency), quiet)
        tip = say_parts(energy)
    figure.setToolTip(tip)
    figure.setAccessibleDescription(tip.replace("\n", " "))


def say_parts(energy: FiringEnergy) -> str:
    """ "41.6 kWh at 0.20: 8.32", a line each; then how the kWh were spread over the hours."""
    cost = energy.cost
    if cost is None or energy.used is None:
        return ""
    lines = [
        f"{show_quantity(part.kwh, 'kWh', 1)} at {show_price(part.per_kwh)}: "
        f"{show_money(part.cost, energy.currency)}"
        for part in cost.parts
    ]
    if len(lines) > 1:
        spread = "as the duty was logged" if cost.logged else "evenly over the heating"
        lines.append(f"Spread over the hours {spread}.")
    between = energy.cost_between
    if between is not None:
        lines.append(f"Between {between[0]:.2f} and {between[1]:.2f}: {energy.used.words}.")
    return "\n".join(lines)


def write_meter(facts: EnergyFacts) -> str:
    """What is kept of the meter, as it may be typed again."""
    if facts.kwh is not None:
        return show_quantity(facts.kwh, "kWh", 1)
    if facts.before_kwh is None:
        return ""
    after = show_number(facts.after_kwh, 1) if facts.after_kwh is not None else "…"
    return f"{show_number(facts.before_kwh, 1)} to {after}"


class EnergyLines(QWidget):
    """The meter, typed in place; cost of a litre and of a piece; what is missing or doubtful."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._firing: tuple[int, int] | None = None
        self.meter = EditableText("Meter", hint="kWh used, or its stand before and after")
        self.problem = ProblemLine()
        self.shares = Text("", "secondary", tone="ink2", wrap=True)
        self.doubt = Text("", "secondary", tone="ochre", wrap=True)
        self.missing = Text("", "secondary", tone="ink3", wrap=True)
        line = QHBoxLayout()
        line.setSpacing(8)
        line.addWidget(Text("Meter", "secondary", tone="ink2"), 0, Qt.AlignmentFlag.AlignTop)
        line.addWidget(self.meter, 1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 4)
        rows.setSpacing(4)
        rows.addLayout(line)
        for part in (self.problem, self.shares, self.doubt, self.missing):
            rows.addWidget(part)
        self.meter.edited.connect(self.keep)

    def show_energy(self, energy: FiringEnergy, number: int) -> None:
        """Show what is kept; a reading that is being typed is left alone."""
        if self._firing != (energy.firing_id, number):
            self.problem.say("")
        self._firing = (energy.firing_id, number)
        if not self.problem.sentence():
            self.meter.set_text(write_meter(energy.facts))
        for part, words in (
            (self.shares, _say_shares(energy)),
            (self.doubt, energy.doubt),
            (self.missing, "\n".join(energy.missing)),
        ):
            part.setText(words)
            part.setVisible(bool(words))

    def keep(self, typed: str) -> None:
        """Keep what was typed of the meter, or say what is wrong with it."""
        if self._firing is None:
            return
        firing_id, number = self._firing
        try:
            words = read_meter_words(typed)
            self.problem.say("")
            self._desk.edits.run(
                f"Energy of firing {number}",
                partial(set_energy, firing_id=firing_id, words=words),
            )
        except UserProblem as problem:
            self.problem.say(problem.sentence)


def _say_shares(energy: FiringEnergy) -> str:
    """ "0.08 a litre; 0.29 a piece (60 stood in it)."."""
    parts = []
    about = "" if energy.cost_between is None else "about "
    if energy.cost_per_l is not None and energy.volume_l is not None:
        litres = show_quantity(energy.volume_l, "l")
        parts.append(
            f"{about}{show_money(energy.cost_per_l, energy.currency)} a litre of kiln ({litres})"
        )
    if energy.cost_per_piece is not None:
        stood = "1 piece" if energy.pieces == 1 else f"{energy.pieces} pieces"
        parts.append(
            f"{about}{show_money(energy.cost_per_piece, energy.currency)} a piece ({stood})"
        )
    if energy.cost_per_good is not None:
        lost = "1 was lost" if energy.lost == 1 else f"{energy.lost} were lost"
        good = show_money(energy.cost_per_good, energy.currency)
        parts.append(f"{about}{good} for each that came through: {lost}")
    words = "; ".join(parts)
    return f"Cost: {words}." if words else ""
