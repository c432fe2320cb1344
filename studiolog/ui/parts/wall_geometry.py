"""The cut wall of a pot as plain points: clay in the middle, glazes outside it in order.

Pure geometry, no windows. A profile in millimetres becomes a wall enlarged from rim to foot. Glaze
layers are offset sideways, never along normals (ripples would cross themselves), and each layer
outward keeps 60 % of the ripple below it, as a flowing glaze does.

Drawn space: x to the right with 0 at the middle of the lip, y downward with 0 at the top of the
lip and ``height_px`` at the foot. The outside of the pot is to the right.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from studiolog.ui.parts.wall_clay import (
    PLAIN_CUP,
    ClayWall,
    Point,
    WallProfile,
    checked_profile,
    radius_at,
)
from studiolog.ui.parts.wall_glaze import RIPPLE_KEPT, Band, Glazing, band_middle
from studiolog.ui.parts.wall_zones import ZoneLayer, ZoneSpan, place_zones

__all__ = [
    "PLAIN_CUP",
    "RIPPLE_KEPT",
    "Band",
    "Point",
    "WallCut",
    "WallProfile",
    "ZoneLayer",
    "ZoneSpan",
    "checked_profile",
    "cut_wall",
    "place_zones",
    "radius_at",
    "spread_labels",
]


@dataclass(frozen=True)
class WallCut:
    """Everything needed to draw a glaze section."""

    clay: tuple[Point, ...]
    bands: tuple[Band, ...]
    zones: tuple[ZoneSpan, ...]
    anchors: dict[tuple[str, int], Point]
    """Where the leader of a layer in a zone starts: key is ``(zone, layer index)``."""
    clay_anchor: Point
    height_mm: float
    cut_x: float
    """Where the floor is broken off."""
    band_of: dict[tuple[str, int], Band]
    """The band that draws a layer in a zone."""
    edge_at: tuple[tuple[float, float], ...]
    """``(y, x)`` of the outermost edge on the outside, from the rim down."""

    def bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom of all that is drawn."""
        return self._bounds

    @cached_property
    def _bounds(self) -> tuple[float, float, float, float]:
        points = [*self.clay, *(p for band in self.bands for p in band.outline)]
        xs = [p[0] for p in points]
        ys = [p[1] for p in points]
        return min(xs), min(ys), max(xs), max(ys)

    def anchor_near(self, zone: ZoneSpan, layer: int, y: float) -> Point:
        """Where the leader of a layer best starts for a label at ``y``: level, if it can be."""
        band = self.band_of[(zone.zone, layer)]
        if band.side == "rim" or zone.side == "rim":
            return self.anchors[(zone.zone, layer)]
        inset = min(10.0, (zone.bottom_y - zone.top_y) / 3)
        return band_middle(band, min(max(y, zone.top_y + inset), zone.bottom_y - inset))

    def edge_x(self, y: float) -> float:
        """The outermost x on the outside at ``y``."""
        return min(self.edge_at, key=lambda pair: abs(pair[0] - y))[1]


def cut_wall(
    profile: WallProfile | None,
    layers: Sequence[ZoneLayer],
    height_px: float = 440.0,
    outside_room_px: float = 90.0,
    inside_room_px: float = 60.0,
    lean_px: float = 46.0,
) -> WallCut:
    """The enlarged wall of ``profile`` from rim to foot with its glaze layers.

    Layers are 15 px thick, thinner when so many lie over each other that they would leave the
    room. ``lean_px`` is how far the wall may lean sideways from foot to rim. A profile that is no
    wall (too few points, no height, not a number) is replaced by the plain cup.
    """
    return _cut(profile, tuple(layers), height_px, outside_room_px, inside_room_px, lean_px)


@lru_cache(maxsize=64)
def _cut(
    profile: WallProfile | None,
    layers: tuple[ZoneLayer, ...],
    height_px: float,
    outside_room_px: float,
    inside_room_px: float,
    lean_px: float,
) -> WallCut:
    """Cut once: pieces of one form glazed alike share their wall."""
    wall = ClayWall(checked_profile(profile), max(height_px, 80.0), lean_px)
    zones = place_zones(layers, wall.height_mm, wall.floor_mm)
    glazing = Glazing(wall, layers, zones, outside_room_px, inside_room_px)
    glazing.lay_all()
    mid = wall.index_of(wall.height_px * 0.6)
    return WallCut(
        clay=tuple(wall.clay()),
        bands=tuple(glazing.bands),
        zones=tuple(glazing.zones),
        anchors=glazing.anchors(),
        clay_anchor=(wall.trend[mid] - wall.thick[mid] * 0.5, wall.ys[mid]),
        height_mm=wall.height_mm,
        cut_x=wall.cut_x,
        band_of=dict(glazing.where),
        edge_at=glazing.edge(),
    )


def spread_labels(
    wanted: Sequence[tuple[float, float]], top: float, bottom: float, gap: float = 8.0
) -> list[float]:
    """Tops of labels that do not overlap, as near as can be to where they want to be.

    ``wanted`` holds ``(top, height)`` in order from the top down. When they need more than there
    is, they stand one under another from ``top`` and run over the bottom; they never overlap.
    """
    places: list[float] = []
    at = top
    for want, height in wanted:
        at = max(at, want)
        places.append(at)
        at += height + gap
    limit = bottom
    for index in range(len(places) - 1, -1, -1):
        places[index] = min(places[index], limit - wanted[index][1])
        limit = places[index] - gap
    at = top
    for index, (_, height) in enumerate(wanted):
        places[index] = max(places[index], at)
        at = places[index] + height + gap
    return places
