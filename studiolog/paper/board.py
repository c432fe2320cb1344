"""The board a page is laid out on: margins, words that fit their room, rules, blanks, tick boxes.

It gathers marks and ends as a frozen `Page`. A layout asks it for room and never for a font.
"""

from typing import Final

from studiolog.paper.lettering import LINE, MM_PER_PT, cut, fit, wrap
from studiolog.paper.page import Align, Box, Extent, Mark, Page, PageSize, Path, Ring, Tone, Words

MARGIN_MM: Final = 12.0
"""Every usual printer reaches so near the edge."""
SMALLEST_PT: Final = 6.0
HAIR_MM: Final = 0.15
RULE_MM: Final = 0.45
CAP: Final = 0.73
"""The height of capitals and figures, in parts of the size."""


class Board:
    """A page in the making. All places are in mm, y growing downwards."""

    def __init__(self, size: PageSize, margin_mm: float = MARGIN_MM) -> None:
        self.size = size
        self.left, self.top = margin_mm, margin_mm
        self.right = size.wide_mm - margin_mm
        self.bottom = size.high_mm - margin_mm
        self.marks: list[Mark] = []

    @property
    def wide(self) -> float:
        """The width between the margins."""
        return self.right - self.left

    @property
    def room(self) -> Extent:
        """What lies between the margins."""
        return Extent(self.left, self.top, self.right, self.bottom)

    def page(self, title: str, description: str) -> Page:
        """The page as it stands."""
        return Page(self.size, tuple(self.marks), title, description)

    def words(
        self,
        x: float,
        y: float,
        text: str,
        room: float,
        size_pt: float = 8.5,
        *,
        bold: bool = False,
        align: Align = "left",
        tone: Tone = "ink",
        smallest_pt: float = SMALLEST_PT,
    ) -> Words | None:
        """One line standing on y: made smaller, then cut, where its room is too narrow."""
        if not text.strip() or room <= 0:
            return None
        shown, size = fit(text, room, size_pt, smallest_pt=smallest_pt, bold=bold)
        mark = Words(x, y, shown, size, room, bold, align, tone)
        self.marks.append(mark)
        return mark

    def paragraph(
        self,
        x: float,
        y: float,
        text: str,
        room: float,
        size_pt: float = 8.0,
        *,
        most: int | None = None,
        bold: bool = False,
        tone: Tone = "ink",
    ) -> float:
        """Lines below y, at most so many; returns the y under them."""
        lines = wrap(text, room, size_pt, bold=bold)
        if most is not None and len(lines) > most:
            rest = " ".join(lines[most - 1 :])
            lines = [*lines[: most - 1], cut(rest + " ", room, size_pt, bold=bold)]
        step = size_pt * MM_PER_PT * LINE
        for line in lines:
            y += step
            self.marks.append(Words(x, y - 0.26 * step, line, size_pt, room, bold, "left", tone))
        return y

    def rule(
        self, x: float, y: float, to_x: float, thick_mm: float = HAIR_MM, tone: Tone = "faint"
    ) -> None:
        """A level line."""
        self.marks.append(Path(((x, y), (to_x, y)), thick_mm, tone))

    def upright(
        self, x: float, y: float, to_y: float, thick_mm: float = HAIR_MM, tone: Tone = "faint"
    ) -> None:
        """An upright line."""
        self.marks.append(Path(((x, y), (x, to_y)), thick_mm, tone))

    def path(
        self,
        points: tuple[tuple[float, float], ...],
        thick_mm: float = 0.4,
        tone: Tone = "ink",
        dash: tuple[float, ...] = (),
    ) -> None:
        """A line from point to point."""
        self.marks.append(Path(points, thick_mm, tone, dash))

    def box(
        self, x: float, y: float, wide: float, high: float, *,
        thick_mm: float = HAIR_MM, tone: Tone = "ink", fill: Tone | None = None,
    ) -> None:  # fmt: skip
        """A rectangle."""
        self.marks.append(Box(x, y, wide, high, thick_mm, tone, fill))

    def ring(self, x: float, y: float, radius: float) -> None:
        """A circle: what numbers a firing."""
        self.marks.append(Ring(x, y, radius))

    def tick_box(self, x: float, y: float, side: float = 2.8) -> None:
        """A square to tick; y is its upper edge."""
        self.box(x, y, side, side, thick_mm=0.25)

    def warning(self, x: float, y: float, size_pt: float) -> None:
        """The sign before a caution, as high as its letters; y is its upper edge."""
        high = size_pt * MM_PER_PT
        wide = high * 1.1
        corners = ((x + wide / 2, y), (x + wide, y + high), (x, y + high), (x + wide / 2, y))
        self.path(corners, 0.25)
        self.path(((x + wide / 2, y + high * 0.35), (x + wide / 2, y + high * 0.7)), 0.25)
        self.path(((x + wide / 2, y + high * 0.8), (x + wide / 2, y + high * 0.88)), 0.25)

    def blank(
        self, x: float, y: float, to_x: float, label: str, size_pt: float = 8.0, after: str = ""
    ) -> None:
        """A label and a line to write on that ends at ``to_x``, then ``after``."""
        room = to_x - x
        told = self.words(x, y, label, room * 0.6, size_pt, tone="soft")
        ends = to_x
        if after:
            unit = self.words(to_x, y, after, room * 0.3, size_pt, align="right", tone="soft")
            ends = unit.extent.left_mm - 1.0 if unit is not None else to_x
        starts = told.extent.right_mm + 1.2 if told is not None else x
        self.rule(starts, y + 0.6, ends, HAIR_MM, "soft")

    def head(self, x: float, y: float, to_x: float, title: str, quiet: str = "") -> float:
        """A rule with a head under it, and quiet words at its right; returns the y below."""
        self.rule(x, y, to_x, RULE_MM, "ink")
        told = self.words(x, y + 4.3, title, to_x - x, 9.0, bold=True)
        if quiet and told is not None:
            room = to_x - told.extent.right_mm - 3
            self.words(to_x, y + 4.3, quiet, room, 7.0, align="right", tone="soft")
        return y + 6.0


def stands_on(top: float, high: float, size_pt: float) -> float:
    """The line on which words stand in the middle of a row."""
    return top + (high + CAP * size_pt * MM_PER_PT) / 2
