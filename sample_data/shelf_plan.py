"""Where each piece stands on its shelf: packed in rows from the back, none over another."""

from __future__ import annotations

from dataclasses import dataclass, field

GAP_MM = 9.0


@dataclass
class Shelf:
    """A square shelf ``across_mm`` wide; ``put`` gives the middle of a piece, 0 to 1."""

    across_mm: float
    row_top_mm: float = 0.0
    row_height_mm: float = 0.0
    x_mm: float = field(default=0.0)

    def put(self, width_mm: float, depth_mm: float) -> tuple[float, float] | None:
        """The middle of the next free place (door at the bottom edge), or None if full."""
        wide, deep = width_mm + GAP_MM, depth_mm + GAP_MM
        if self.x_mm + wide > self.across_mm:
            self.row_top_mm += self.row_height_mm
            self.x_mm, self.row_height_mm = 0.0, 0.0
        if wide > self.across_mm or self.row_top_mm + deep > self.across_mm:
            return None
        x = (self.x_mm + wide / 2) / self.across_mm
        y = (self.row_top_mm + deep / 2) / self.across_mm
        self.x_mm += wide
        self.row_height_mm = max(self.row_height_mm, deep)
        return round(x, 3), round(y, 3)


def footprint_mm(form: str, width_mm: float) -> tuple[float, float]:
    """How much shelf a form takes: across and deep, fired mm."""
    if form == "test_tile":
        return width_mm, 38.0
    if form == "lantern_house":
        return width_mm, 100.0
    return width_mm, width_mm
