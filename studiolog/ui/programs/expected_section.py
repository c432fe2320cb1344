"""What a program will use and cost in a kiln, always said how that is known."""

from studiolog.craft.money import add_up, show_money, show_price
from studiolog.craft.units import show_quantity
from studiolog.journal.energy import ExpectedEnergy
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Figure, Section
from studiolog.ui.parts.text import Caption, Text

_NO_PROGRAM = "A program that can be fired is needed for this: type its segments."
_NO_KILN = (
    "Energy and cost are those of a kiln: choose one under What if, or enter one among the kilns. "
    "Times, temperatures and cones are told without it."
)


class ExpectedSection(Section):
    """Energy and cost to expect, the cheapest start, and what is missing for them."""

    def __init__(self) -> None:
        super().__init__("Expected use")
        self.energy = Figure("Energy", "–")
        self.cost = Figure("Cost", "–")
        self.words = Caption(wrap=True)
        self.cheapest = Text("", "secondary", tone="ink2", wrap=True)
        self.missing = Text("", "secondary", tone="ink2", wrap=True)
        figures = FlowLayout(spacing=24, line_spacing=12)
        figures.addWidget(self.energy)
        figures.addWidget(self.cost)
        self.add(figures)
        for line in (self.words, self.cheapest, self.missing):
            self.add(line)

    def show_expected(self, kiln: str, expected: ExpectedEnergy | None) -> None:
        """Show what is expected in a kiln; None: no kiln is chosen ("" for its name), or the
        program can't be fired as it stands."""
        self.set_quiet(f"in {kiln}, lit now" if kiln and expected is not None else "")
        use = expected.use if expected is not None else None
        cost = expected.cost if expected is not None else None
        self.energy.setVisible(use is not None)
        self.cost.setVisible(cost is not None and bool(cost.parts))
        words: list[str] = []
        if use is not None:
            self.energy.set_value(use.energy.amount, use.energy.between or "by the meter")
            words.append(f"{use.energy.words[0].upper()}{use.energy.words[1:]}.")
        if expected is not None and cost is not None and cost.parts:
            told = show_money(add_up(part.cost for part in cost.parts), expected.currency)
            each = ", ".join(
                f"{show_quantity(part.kwh, 'kWh')} at {show_price(part.per_kwh)}"
                for part in cost.parts
            )
            whole = cost.cost is not None
            self.cost.set_value(told, each if whole else f"{each}; the rest unpriced")
        self._say(self.words, " ".join(words))
        self._say(self.cheapest, expected.cheapest_words if expected is not None else "")
        none = _NO_PROGRAM if kiln else _NO_KILN
        self._say(self.missing, " ".join(expected.missing) if expected is not None else none)

    @staticmethod
    def _say(line: Text, words: str) -> None:
        line.setText(words)
        line.setVisible(bool(words))
