"""How often a glaze came out glossy, satin, clear …, in all, by clay and by cone."""

from collections.abc import Sequence

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.words import SURFACES
from studiolog.desktop import theme
from studiolog.journal.surfaces import GlazeSurfaces, SurfaceCut, WordRate
from studiolog.ui.parts.fault_rate_sections import clear_layout, pieces_words
from studiolog.ui.parts.rate_bar import RateBar
from studiolog.ui.parts.section import Hairline, Section
from studiolog.ui.parts.text import Caption, Text, Words

_MOST = 8
"""Words shown with a bar; rarer ones are told in a line."""
_FEW = 4
"""Words told of one clay or one cone."""


class SurfaceRateSection(Section):
    """Each word that was said of the surface, with its count and whisker; clays and cones below."""

    def __init__(self, title: str = "How it came out", parent: QWidget | None = None) -> None:
        super().__init__(title, parent=parent)
        self._rows = QVBoxLayout()
        self._rows.setSpacing(0)
        self.add(self._rows)

    def show_surfaces(self, came: GlazeSurfaces) -> None:
        """Show what was said of the pieces that carry a glaze."""
        clear_layout(self._rows)
        self.set_quiet(f"{came.described} of {pieces_words(came.carried)} described")
        if not came.described:
            words = (
                "Nobody has described its surface yet. An inspection of a piece has words for it: "
                "glossy, satin, matt, clear, crystals …"
            )
            self._put(Text(words, "secondary", tone="ink2", wrap=True))
            return
        for one in came.words[:_MOST]:
            self._put(_line(one))
            self._put(Hairline())
        for cuts, about in ((came.by_clay, "on"), (came.by_cone, "at")):
            if len(cuts) > 1:
                for cut in cuts:
                    self._put(Text(say_cut(cut, about), "secondary", tone="ink2", wrap=True))
                self._rows.addSpacing(8)
        more = [f"{SURFACES[one.word]} {one.rate.events}" for one in came.words[_MOST:]]
        rare = f" Also said: {', '.join(more)}." if more else ""
        others = came.described - came.alone
        over = f" On {pieces_words(others)} with another glaze on the same zone." if others else ""
        self._put(
            Caption(
                "Pieces a word was said of, of those described in that respect. Whisker: 95 % "
                f"interval.{over}{rare}",
                wrap=True,
            )
        )

    def _put(self, widget: QWidget) -> None:
        self._rows.addWidget(widget)


def say_cut(cut: SurfaceCut, about: str) -> str:
    """One clay or cone in words: "On Buff stoneware, 40 pieces: satin 30 of 38."."""
    told = [
        f"{SURFACES[one.word]} {one.rate.events} of {one.rate.trials}"
        for one in _commonest(cut.words)
    ]
    return f"{about.capitalize()} {cut.title}, {pieces_words(cut.pieces)}: {', '.join(told)}."


def _commonest(words: Sequence[WordRate]) -> list[WordRate]:
    return sorted(words, key=lambda one: -one.rate.events)[:_FEW]


def _line(one: WordRate) -> QWidget:
    line = QWidget()
    row = QHBoxLayout(line)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(8)
    word = Words(SURFACES[one.word].capitalize(), "secondary", 500)
    word.setFixedWidth(theme.current().px(104))
    row.addWidget(word)
    rate = one.rate
    bar = RateBar(rate.events, rate.trials, rate.low, rate.high, neutral=True)
    row.addWidget(bar, 1)
    return line
