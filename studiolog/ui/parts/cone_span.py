"""From which cone to which: a span of half cones, open at either end."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from studiolog.craft.firing.cones import band_edges, cone_at, label_of, show_cone
from studiolog.desktop import theme
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.text import Text

_OPEN = "open"


def say_edge(edge10: int) -> str:
    """An edge of a half-cone band for a reader: "cone 5½"."""
    edge = edge10 / 10
    return f"cone {label_of(edge) if edge == 0.5 else show_cone(cone_at(edge))}"


class ConeSpanPick(QWidget):
    """``picked`` carries the lower and the upper edge in tenths of a cone, None where open."""

    picked = Signal(object, object)

    def __init__(self, about: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.low = PickOne(f"{about}: from cone")
        self.high = PickOne(f"{about}: to below cone")
        row = FlowLayout(self, spacing=8, line_spacing=4)
        row.addWidget(Text("From", "secondary", 500, "ink2"))
        row.addWidget(self.low)
        row.addWidget(Text("to", "secondary", 500, "ink2"))
        row.addWidget(self.high)
        for pick in (self.low, self.high):
            pick.picked.connect(lambda _edge: self.picked.emit(*self.span()))
        theme.current().changed.connect(self._rescale)
        self._rescale()

    def show_span(self, bands: Sequence[int], low10: int | None, high10: int | None) -> None:
        """Offer the edges of the half-cone bands there is evidence of, and choose a span."""
        edges = sorted({round(edge * 10) for band in bands for edge in band_edges(band)})
        lows = {*edges[:-1], *([low10] if low10 is not None else [])}
        highs = {*edges[1:], *([high10] if high10 is not None else [])}
        self.low.set_choices(
            [Choice(_OPEN, "the coolest"), *(Choice(n, say_edge(n)) for n in sorted(lows))]
        )
        self.high.set_choices(
            [
                Choice(_OPEN, "the hottest"),
                *(Choice(n, f"below {say_edge(n)}") for n in sorted(highs)),
            ]
        )
        self.low.choose(_OPEN if low10 is None else low10)
        self.high.choose(_OPEN if high10 is None else high10)

    def span(self) -> tuple[int | None, int | None]:
        """The edges chosen; an upper one that is not above the lower is open."""
        low, high = (pick.chosen() for pick in (self.low, self.high))
        lower = low if isinstance(low, int) else None
        upper = high if isinstance(high, int) else None
        if lower is not None and upper is not None and upper <= lower:
            upper = None
        return lower, upper

    def _rescale(self) -> None:
        for pick in (self.low, self.high):
            pick.setFixedWidth(theme.current().px(118) + 34)
