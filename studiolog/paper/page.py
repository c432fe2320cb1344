"""A printed page as plain values: what stands where, in millimetres from its upper left corner.

A page is laid out once and painted by whoever can: as SVG here (``paper.svg``), as PDF and on a
printer by ``desktop.printing``. Nothing here knows of either, so a layout can be tested as numbers.
"""

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from studiolog.paper.lettering import MM_PER_PT, width_mm

Align = Literal["left", "centre", "right"]
Tone = Literal["ink", "soft", "faint", "wash"]

TONES: Final[dict[Tone, str]] = {
    "ink": "#1A1A1A",
    "soft": "#555555",
    "faint": "#A6A6A6",
    "wash": "#EEEEEE",
}
"""What is written, what stands beside it, hairlines, and grounds: all hold on a grey printer."""

RISE, DROP = 0.76, 0.22
"""How far letters reach over and under their line, in parts of their size."""


@dataclass(frozen=True, slots=True)
class PageSize:
    """A paper: its name as shown, and its size upright."""

    name: str
    wide_mm: float
    high_mm: float


A4: Final = PageSize("A4", 210.0, 297.0)  # ISO 216
LETTER: Final = PageSize("US Letter", 215.9, 279.4)  # ANSI/ASME Y14.1, size A
PAPERS: Final = (A4, LETTER)


@dataclass(frozen=True, slots=True)
class Extent:
    """The rectangle a mark fills."""

    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float

    def meets(self, other: "Extent", slack_mm: float = 0.0) -> bool:
        """Whether two rectangles share more than ``slack_mm`` both ways."""
        return (
            min(self.right_mm, other.right_mm) - max(self.left_mm, other.left_mm) > slack_mm
            and min(self.bottom_mm, other.bottom_mm) - max(self.top_mm, other.top_mm) > slack_mm
        )

    def within(self, other: "Extent") -> bool:
        """Whether this one lies wholly inside the other."""
        return (
            self.left_mm >= other.left_mm
            and self.top_mm >= other.top_mm
            and self.right_mm <= other.right_mm
            and self.bottom_mm <= other.bottom_mm
        )


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text. ``y_mm`` is the line its letters stand on.

    It may take ``room_mm``; a painter whose letters are wider makes them smaller.
    """

    x_mm: float
    y_mm: float
    text: str
    size_pt: float
    room_mm: float
    bold: bool = False
    align: Align = "left"
    tone: Tone = "ink"

    @property
    def extent(self) -> Extent:
        wide = min(width_mm(self.text, self.size_pt, bold=self.bold), self.room_mm)
        left = self.x_mm - {"left": 0.0, "centre": wide / 2, "right": wide}[self.align]
        size = self.size_pt * MM_PER_PT
        return Extent(left, self.y_mm - RISE * size, left + wide, self.y_mm + DROP * size)


@dataclass(frozen=True, slots=True)
class Path:
    """A line from point to point, (x, y) in mm. ``dash`` is on and off in mm; empty: unbroken."""

    points: tuple[tuple[float, float], ...]
    thick_mm: float = 0.2
    tone: Tone = "ink"
    dash: tuple[float, ...] = ()

    @property
    def extent(self) -> Extent:
        xs, ys = [x for x, _ in self.points], [y for _, y in self.points]
        return Extent(min(xs), min(ys), max(xs), max(ys))


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle: filled with a tone, or an outline (``thick_mm`` 0: none)."""

    x_mm: float
    y_mm: float
    wide_mm: float
    high_mm: float
    thick_mm: float = 0.2
    tone: Tone = "ink"
    fill: Tone | None = None

    @property
    def extent(self) -> Extent:
        return Extent(self.x_mm, self.y_mm, self.x_mm + self.wide_mm, self.y_mm + self.high_mm)


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle round (x, y)."""

    x_mm: float
    y_mm: float
    radius_mm: float
    thick_mm: float = 0.3
    tone: Tone = "ink"

    @property
    def extent(self) -> Extent:
        x, y, r = self.x_mm, self.y_mm, self.radius_mm
        return Extent(x - r, y - r, x + r, y + r)


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture as JPEG that fills a rectangle; what is too wide or too high of it is left out.

    ``says`` is what a screen reader is told.
    """

    x_mm: float
    y_mm: float
    wide_mm: float
    high_mm: float
    jpeg: bytes
    says: str

    @property
    def extent(self) -> Extent:
        return Extent(self.x_mm, self.y_mm, self.x_mm + self.wide_mm, self.y_mm + self.high_mm)


Mark: TypeAlias = Words | Path | Box | Ring | Photo


@dataclass(frozen=True, slots=True)
class Page:
    """One page. ``title`` names its file, ``description`` says in a sentence what is on it."""

    size: PageSize
    marks: tuple[Mark, ...]
    title: str
    description: str

    @property
    def words(self) -> tuple[str, ...]:
        """All that is written on it, in the order it was laid out."""
        return tuple(mark.text for mark in self.marks if isinstance(mark, Words))
