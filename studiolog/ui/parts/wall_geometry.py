"""The cut wall of a pot as plain points: clay in the middle, glazes outside it in order.

Pure geometry, no windows. A profile in millimetres becomes a wall enlarged from rim to foot. Glaze
layers are offset sideways, never along normals (ripples would cross themselves), and each layer
outward keeps 60 % of the ripple below it, as a flowing glaze does.

Drawn space: x to the right with 0 at the middle of the lip, y downward with 0 at the top of the
lip and ``height_px`` at the foot. The outside of the pot is to the right.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]

RIPPLE_KEPT = 0.6
"""What a layer keeps of the ripple below it."""
LAYER_PX = 15.0
GAP_PX = 1.5
WALL_PX = 34.0
_RIPPLE_LIMIT_PX = 5.5
_THINNEST_PX = 4.0
_SAMPLES = 240
_LIP_PX = 15.0
_STUB_PX = 34.0


@dataclass(frozen=True)
class WallProfile:
    """Half of a turned pot: ``(radius_mm, height_mm)`` points, outside and inside."""

    outside: tuple[Point, ...]
    inside: tuple[Point, ...]


@dataclass(frozen=True)
class ZoneLayer:
    """One glaze on one zone; ``position`` counts from the clay outward, from 1."""

    zone: str
    position: int
    glaze: str


@dataclass(frozen=True)
class ZoneSpan:
    """Where a zone lies: side ``"outside"``, ``"inside"`` or ``"rim"``, from ``low_mm`` up.

    ``layers`` are indexes into the layers given, outermost first; empty means bare clay.
    """

    zone: str
    side: str
    low_mm: float
    high_mm: float
    top_y: float
    bottom_y: float
    layers: tuple[int, ...]


@dataclass(frozen=True)
class Band:
    """One glaze as drawn: ``inner`` and ``outer`` run from low to high, sample by sample."""

    layers: tuple[int, ...]
    side: str
    inner: tuple[Point, ...]
    outer: tuple[Point, ...]
    outline: tuple[Point, ...]


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
    band_of: dict[tuple[str, int], "Band"]
    """The band that draws a layer in a zone."""
    edge_at: tuple[tuple[float, float], ...]
    """``(y, x)`` of the outermost edge on the outside, from the rim down."""

    def bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom of all that is drawn."""
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
        return _between(band, min(max(y, zone.top_y + inset), zone.bottom_y - inset))

    def edge_x(self, y: float) -> float:
        """The outermost x on the outside at ``y``."""
        return min(self.edge_at, key=lambda pair: abs(pair[0] - y))[1]


PLAIN_CUP = WallProfile(
    outside=((28.0, 0.0), (31.0, 8.0), (35.0, 50.0), (39.0, 95.0)),
    inside=((0.0, 7.0), (27.0, 7.0), (31.2, 50.0), (35.5, 95.0)),
)
"""Drawn when a form has no profile of its own."""


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
    wall = _Wall(checked_profile(profile), max(height_px, 80.0), lean_px)
    zones = place_zones(layers, wall.height_mm, wall.floor_mm)
    return _Glazing(wall, layers, zones, outside_room_px, inside_room_px).finish()


def checked_profile(profile: WallProfile | None) -> WallProfile:
    """The profile if a wall can be cut from it, else the plain cup."""
    if profile is None:
        return PLAIN_CUP
    outside = [p for p in profile.outside if math.isfinite(p[0]) and math.isfinite(p[1])]
    inside = [p for p in profile.inside if math.isfinite(p[0]) and math.isfinite(p[1])]
    if len(outside) < 2:
        return PLAIN_CUP
    heights = [h for _, h in outside]
    if max(heights) - min(heights) < 1.0 or max(r for r, _ in outside) <= 0:
        return PLAIN_CUP
    base = min(heights)
    top = max(heights) - base
    outer = tuple((max(r, 0.0), h - base) for r, h in outside)
    if len(inside) < 2:
        floor = min(6.0, top / 4)
        inner = tuple((max(r - 4.0, 0.0), max(h, floor)) for r, h in outer)
    else:
        inner = tuple((max(r, 0.0), min(max(h - base, 0.0), top)) for r, h in inside)
    return WallProfile(outer, inner)


def radius_at(points: Sequence[Point], height_mm: float) -> float:
    """The greatest radius of a polyline at a height; beyond its ends that of the nearer end."""
    found: list[float] = []
    for (r1, h1), (r2, h2) in pairwise(points):
        if min(h1, h2) <= height_mm <= max(h1, h2):
            if h1 == h2:
                found.append(max(r1, r2))
            else:
                found.append(r1 + (r2 - r1) * (height_mm - h1) / (h2 - h1))
    if found:
        return max(found)
    return min(points, key=lambda p: abs(p[1] - height_mm))[0]


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


# Zones ----------------------------------------------------------------------------------------


def place_zones(
    layers: Sequence[ZoneLayer], height_mm: float, floor_mm: float
) -> tuple[ZoneSpan, ...]:
    """Every zone with its heights, bare ones too, from the rim down; the inside comes last.

    A layer on *outside* belongs to the upper and the lower part alike when a pot has those. A
    potter's own zones share the side between foot and rim, in the order they were named.
    """
    foot_mm = min(9.0, height_mm * 0.12)
    rim_mm = height_mm - min(5.0, height_mm * 0.08)
    split_mm = foot_mm + (height_mm - foot_mm) * 0.44
    names: list[str] = []
    members: dict[str, list[int]] = {}
    for index, layer in enumerate(layers):
        name = " ".join(layer.zone.split()).casefold() or "outside"
        if name not in members:
            names.append(name)
        members.setdefault(name, []).append(index)
    parted = "outside, upper" in members or "outside, lower" in members
    spans: dict[str, tuple[str, float, float]] = {}
    has_rim = "rim" in members
    outside_top = rim_mm if has_rim else height_mm
    if parted:
        spans["outside, upper"] = ("outside", split_mm, outside_top)
        spans["outside, lower"] = ("outside", foot_mm, split_mm)
        for whole in members.pop("outside", []):
            members.setdefault("outside, upper", []).append(whole)
            members.setdefault("outside, lower", []).append(whole)
    else:
        spans["outside"] = ("outside", foot_mm, outside_top)
    if has_rim:
        spans["rim"] = ("rim", rim_mm, height_mm)
    spans["foot"] = ("outside", 0.0, foot_mm)
    spans["inside"] = ("inside", floor_mm, height_mm)
    own = [n for n in names if n not in spans and n != "outside"]
    own_inside = [n for n in own if n.startswith("inside")]
    own_outside = [n for n in own if not n.startswith("inside")]
    spans |= _shared("inside", own_inside, floor_mm, height_mm)
    spans |= _shared("outside", own_outside, foot_mm, outside_top)
    if own_outside and not members.get("outside") and not parted:
        del spans["outside"]  # the potter's own zones tell the whole side
    if own_inside and not members.get("inside"):
        del spans["inside"]
    found = [
        ZoneSpan(
            name,
            side,
            low,
            high,
            0.0,
            0.0,
            tuple(sorted(members.get(name, []), key=lambda i: -layers[i].position)),
        )
        for name, (side, low, high) in spans.items()
    ]
    order = {"rim": 0, "outside": 1, "inside": 2}
    return tuple(sorted(found, key=lambda z: (order[z.side], -z.high_mm, z.low_mm)))


def _shared(
    side: str, names: Sequence[str], low_mm: float, high_mm: float
) -> dict[str, tuple[str, float, float]]:
    """Equal shares of a side, the first name on top."""
    if not names:
        return {}
    step = (high_mm - low_mm) / len(names)
    return {
        name: (side, high_mm - (index + 1) * step, high_mm - index * step)
        for index, name in enumerate(names)
    }


# The clay -------------------------------------------------------------------------------------


class _Wall:
    """The clay alone, sampled from the foot (index 0) to just under the lip."""

    def __init__(self, profile: WallProfile, height_px: float, lean_px: float) -> None:
        self.height_px = height_px
        self.height_mm = max(h for _, h in profile.outside)
        self.px_per_mm = height_px / self.height_mm
        floor = min(h for _, h in profile.inside)
        floor_px = min(max(floor * self.px_per_mm, 18.0), height_px * 0.18)
        self.floor_y = height_px - floor_px
        self.floor_mm = min(max(floor, 0.0), self.height_mm * 0.5)
        self.lip_px = min(_LIP_PX, height_px * 0.1)
        self.ys = [
            height_px - (height_px - self.lip_px) * i / _SAMPLES for i in range(_SAMPLES + 1)
        ]
        heights = [self.height_mm * (1 - y / height_px) for y in self.ys]
        outer_mm = [radius_at(profile.outside, h) for h in heights]
        inner_mm = [radius_at(profile.inside, max(h, floor)) for h in heights]
        trend_mm = _smoothed(_smoothed(outer_mm, _SAMPLES // 11), _SAMPLES // 11)
        lean_mm = max(trend_mm) - min(trend_mm)
        lean = min(self.px_per_mm, lean_px / lean_mm) if lean_mm > 0 else 1.0
        bare = [r - t for r, t in zip(outer_mm, trend_mm, strict=True)]
        deepest = max(abs(b) for b in bare)
        ripple_px = min(self.px_per_mm * 1.8, _RIPPLE_LIMIT_PX / deepest) if deepest > 0 else 0.0
        self.ripple = [b * ripple_px for b in bare]
        thick = [max(o - i, 0.3) for o, i in zip(trend_mm, inner_mm, strict=True)]
        usual = sorted(thick)[len(thick) // 2]
        wanted = [min(max(WALL_PX * t / usual, WALL_PX * 0.7), WALL_PX * 1.5) for t in thick]
        self.thick = _smoothed(wanted, _SAMPLES // 16)
        self.half_lip = self.thick[-1] / 2
        top = trend_mm[-1]
        self.trend = [self.half_lip + (t - top) * lean for t in trend_mm]
        self.trend = [t - self.ripple[-1] for t in self.trend]
        self.inner = [t - w for t, w in zip(self.trend, self.thick, strict=True)]
        self.cut_x = self.inner_at(self.floor_y) - min(_STUB_PX, lean_px + 12.0)

    def y_of(self, height_mm: float) -> float:
        return self.height_px * (1 - height_mm / self.height_mm)

    def index_of(self, y: float) -> int:
        part = (self.height_px - y) / (self.height_px - self.lip_px)
        return min(max(round(part * _SAMPLES), 0), _SAMPLES)

    def inner_at(self, y: float) -> float:
        return self.inner[self.index_of(y)]

    def inside_line(self, offset: Sequence[float], cut_x: float) -> list[Point]:
        """Along the floor from the break, round the corner and up the inside, ``offset`` off."""
        start = self.index_of(self.floor_y)
        floor_off = offset[start]
        corner = max(26.0 - floor_off * 0.5, 6.0)
        floor_y = self.floor_y - floor_off
        join = self.index_of(floor_y - corner)
        wall = [(self.inner[i] - offset[i], self.ys[i]) for i in range(join, _SAMPLES + 1)]
        to = wall[0]
        bend = (self.inner[start] - floor_off, floor_y)
        turn = _bent((bend[0] - corner, floor_y), bend, to)
        return [(cut_x, floor_y), *turn[:-1], *wall]

    def lip_arc(
        self,
        left: float,
        right: float,
        rise: float,
        start: float,
        end: float,
        left_rise: float | None = None,
        right_rise: float | None = None,
    ) -> list[Point]:
        """Over the lip by angle in degrees, 0 outside and 180 inside, with half widths.

        It rises by ``rise`` in the middle, and may be flatter towards a side.
        """
        sides = (
            rise if right_rise is None else right_rise,
            rise if left_rise is None else left_rise,
        )
        points = []
        steps = max(int(abs(end - start) / 6), 2)
        for step in range(steps + 1):
            angle = math.radians(start + (end - start) * step / steps)
            reach = right if math.cos(angle) >= 0 else left
            off = abs(math.cos(angle))
            side = sides[0] if math.cos(angle) >= 0 else sides[1]
            here = rise + (side - rise) * off**4
            points.append((reach * math.cos(angle), self.lip_px - here * math.sin(angle)))
        return points

    def clay(self) -> list[Point]:
        outer = [(t + r, y) for t, r, y in zip(self.trend, self.ripple, self.ys, strict=True)]
        lip = self.lip_arc(self.half_lip, self.half_lip, self.lip_px, 0, 180)
        inside = self.inside_line([0.0] * (_SAMPLES + 1), self.cut_x)
        foot_x, foot_y = outer[0]
        recess = min(11.0, (self.height_px - self.floor_y) * 0.4)
        mid_y = (self.floor_y + foot_y - recess) / 2
        ring = self.thick[0] * 0.75
        broken = [
            (self.cut_x - 4, self.floor_y + 7),
            (self.cut_x + 5, mid_y),
            (self.cut_x - 4, mid_y + 5),
            (self.cut_x, foot_y - recess),
        ]
        under = [
            (foot_x - ring - 14, foot_y - recess),
            (foot_x - ring - 7, foot_y),
            (foot_x - 12, foot_y),
        ]
        # The outer corner is turned off a little, as a trimmed foot is.
        turned = self.index_of(foot_y - 8)
        return [*outer[turned:], *lip, *reversed(inside), *broken, *under]


# The glaze ------------------------------------------------------------------------------------


class _Side:
    """What has been laid on one side so far: offset in px and share of ripple kept, by sample."""

    def __init__(self) -> None:
        self.offset = [0.0] * (_SAMPLES + 1)
        self.kept = [1.0] * (_SAMPLES + 1)

    def lay(
        self, low: int, high: int, thick: float
    ) -> tuple[list[float], list[float], list[float]]:
        """Lay a layer over samples ``low`` to ``high``: base offset, ripple below, ripple above."""
        reach = 5

        def about(values: Sequence[float], i: int) -> Sequence[float]:
            """Near ``i`` and within the layer's own span: what lies beside it is no step."""
            start, end = (low, high) if low <= i <= high else (0, _SAMPLES)
            return values[max(i - reach, start) : min(i + reach, end) + 1]

        widest = [max(about(self.offset, i)) for i in range(_SAMPLES + 1)]
        base = [max(_mean(about(widest, i)), self.offset[i]) for i in range(_SAMPLES + 1)]
        below = list(self.kept)
        for i in range(low, high + 1):
            self.offset[i] = base[i] + thick + GAP_PX
            self.kept[i] *= RIPPLE_KEPT
        return base, below, list(self.kept)


class _Glazing:
    """Lays the layers on the wall one after another."""

    def __init__(
        self,
        wall: _Wall,
        layers: Sequence[ZoneLayer],
        zones: Sequence[ZoneSpan],
        outside_room_px: float,
        inside_room_px: float,
    ) -> None:
        self.wall = wall
        self.layers = layers
        self.zones = [self._in_px(zone) for zone in zones]
        self.outside = _Side()
        self.inside = _Side()
        deep_out = max(1, self._deepest({"outside", "rim"}))
        deep_in = max(1, self._deepest({"inside", "rim"}))
        self.thick_out = self._thickness(deep_out, outside_room_px)
        self.thick_in = self._thickness(deep_in, inside_room_px)
        self.bands: list[Band] = []
        self.where: dict[tuple[str, int], Band] = {}

    def _in_px(self, zone: ZoneSpan) -> ZoneSpan:
        return ZoneSpan(
            zone.zone,
            zone.side,
            zone.low_mm,
            zone.high_mm,
            self.wall.y_of(zone.high_mm),
            self.wall.y_of(zone.low_mm),
            zone.layers,
        )

    def _deepest(self, sides: Iterable[str]) -> int:
        """The most layers that lie over each other at any height of these sides."""
        spans = [z for z in self.zones if z.side in sides]
        at_rim = [z for z in spans if z.side == "rim" or z.high_mm >= self.wall.height_mm - 6]
        edges = [z.low_mm + 0.01 for z in spans]
        deepest = sum(len(z.layers) for z in at_rim)
        for edge in edges:
            here = sum(len(z.layers) for z in spans if z.low_mm <= edge <= z.high_mm)
            deepest = max(deepest, here)
        return deepest

    @staticmethod
    def _thickness(deep: int, room_px: float) -> float:
        return min(LAYER_PX, max(room_px / deep - GAP_PX, _THINNEST_PX))

    def finish(self) -> WallCut:
        for group in self._runs():
            zone = group[0][0]
            if zone.side == "rim":
                self._cap(group)
            else:
                self._coat(group)
        anchors = self._anchors()
        wall = self.wall
        mid = wall.index_of(wall.height_px * 0.6)
        clay_anchor = (wall.trend[mid] - wall.thick[mid] * 0.5, wall.ys[mid])
        edge = tuple(
            (
                wall.ys[i],
                wall.trend[i] + wall.ripple[i] * self.outside.kept[i] + self.outside.offset[i],
            )
            for i in range(_SAMPLES, -1, -1)
        )
        return WallCut(
            tuple(wall.clay()),
            tuple(self.bands),
            tuple(self.zones),
            anchors,
            clay_anchor,
            wall.height_mm,
            wall.cut_x,
            dict(self.where),
            edge,
        )

    def _runs(self) -> list[list[tuple[ZoneSpan, int]]]:
        """Layers in the order they are drawn; one glaze across touching zones is one layer."""
        single = [(zone, index) for zone in self.zones for index in zone.layers]
        own = {"outside", "outside, upper", "outside, lower", "inside", "foot", "rim"}
        single.sort(
            key=lambda pair: (
                pair[0].side == "rim",
                pair[0].zone not in own,
                self.layers[pair[1]].position,
                -(pair[0].high_mm - pair[0].low_mm),
                -pair[0].high_mm,
            )
        )
        runs: list[list[tuple[ZoneSpan, int]]] = []
        for zone, index in single:
            same = [run for run in runs if self._continues(run, zone, index)]
            if same:
                same[0].append((zone, index))
            else:
                runs.append([(zone, index)])
        return runs

    def _continues(self, run: list[tuple[ZoneSpan, int]], zone: ZoneSpan, index: int) -> bool:
        first, first_index = run[0]
        here, there = self.layers[index], self.layers[first_index]
        if (here.glaze, here.position) != (there.glaze, there.position):
            return False
        if zone.side == "rim":
            return first.side == "outside"
        touching = any(
            abs(z.low_mm - zone.high_mm) < 0.5 or abs(z.high_mm - zone.low_mm) < 0.5 for z, _ in run
        )
        return first.side == zone.side and touching

    def _coat(self, group: list[tuple[ZoneSpan, int]]) -> None:
        wall = self.wall
        sides = [z for z, _ in group if z.side != "rim"]
        low_mm, high_mm = min(z.low_mm for z in sides), max(z.high_mm for z in sides)
        # A dipped layer goes over the lip; a rim drawn later covers it.
        over_lip = high_mm >= wall.height_mm - 6 and sides[0].zone in _TO_THE_LIP
        low = wall.index_of(wall.y_of(low_mm))
        high = _SAMPLES if over_lip else wall.index_of(wall.y_of(high_mm))
        if low > 0 and high - low > 3:
            low += 1  # zones that touch do not share a sample
        if high <= low:
            low, high = max(low - 1, 0), min(low + 1, _SAMPLES)
        indexes = tuple(dict.fromkeys(index for _, index in group))
        if sides[0].side == "inside":
            band = self._coat_inside(indexes, low, high, over_lip, low_mm <= wall.floor_mm + 0.5)
        else:
            band = self._coat_outside(indexes, low, high, over_lip)
        self.bands.append(band)
        for zone, index in group:
            self.where[(zone.zone, index)] = band

    def _coat_outside(self, indexes: tuple[int, ...], low: int, high: int, over_lip: bool) -> Band:
        wall, thick = self.wall, self.thick_out
        base, below, above = self.outside.lay(low, high, thick)
        span = range(low, high + 1)
        inner = [(wall.trend[i] + wall.ripple[i] * below[i] + base[i], wall.ys[i]) for i in span]
        outer = [
            (wall.trend[i] + wall.ripple[i] * above[i] + base[i] + thick, wall.ys[i]) for i in span
        ]
        bottom = _rounded_end(inner, outer)
        if over_lip:
            half, rise = wall.half_lip, wall.lip_px
            near, far = base[-1], base[-1] + thick
            out_arc = wall.lip_arc(half + far, half + far, rise + far, 0, _stop(half + far, 4))
            in_arc = wall.lip_arc(half + near, half + near, rise + near, _stop(half + near, 4), 0)
            head = [*out_arc, *in_arc]
        else:
            head = list(reversed(_rounded_end(inner[::-1], outer[::-1])))
        outline = [*bottom, *outer[_skip(outer) : -1 if over_lip else -_skip(outer)], *head]
        outline += list(reversed(inner))[1:]
        return Band(indexes, "outside", tuple(inner), tuple(outer), tuple(outline))

    def _coat_inside(
        self, indexes: tuple[int, ...], low: int, high: int, over_lip: bool, on_floor: bool
    ) -> Band:
        wall, thick = self.wall, self.thick_in
        start = 0 if on_floor else low
        base, _, _ = self.inside.lay(start, high, thick)
        far = [b + thick for b in base]
        if on_floor:
            below = wall.inside_line([b + GAP_PX * 0.5 for b in base], wall.cut_x)
            above = wall.inside_line(far, wall.cut_x)
            last_y = wall.ys[high]
            inner = [p for p in below if p[1] >= last_y - 0.01]
            outer = [p for p in above if p[1] >= last_y - 0.01]
            foot: list[Point] = []
        else:
            span = range(low, high + 1)
            inner = [(wall.inner[i] - base[i], wall.ys[i]) for i in span]
            outer = [(wall.inner[i] - far[i], wall.ys[i]) for i in span]
            foot = _rounded_end(inner, outer)
        if over_lip:
            half, rise = wall.half_lip, wall.lip_px
            near_off, far_off = base[-1], far[-1]
            head = [
                *wall.lip_arc(
                    half + far_off,
                    half + far_off,
                    rise + far_off,
                    180,
                    180 - _stop(half + far_off, 4),
                ),
                *wall.lip_arc(
                    half + near_off,
                    half + near_off,
                    rise + near_off,
                    180 - _stop(half + near_off, 4),
                    180,
                ),
            ]
        else:
            head = list(reversed(_rounded_end(inner[::-1], outer[::-1])))
        rising = outer if on_floor else outer[_skip(outer) :]
        if not over_lip:
            rising = rising[: -_skip(outer)]
        outline = [*foot, *rising, *head, *list(reversed(inner))]
        return Band(indexes, "inside", tuple(inner), tuple(outer), tuple(outline))

    def _cap(self, group: list[tuple[ZoneSpan, int]]) -> None:
        """A rim glaze: over the lip and a little down both sides, over all that is there."""
        wall = self.wall
        zone = group[0][0]
        indexes = tuple(dict.fromkeys(index for _, index in group))
        tail_y = max(zone.bottom_y, wall.lip_px + 16.0)
        low = wall.index_of(tail_y)
        thick = min(self.thick_out, self.thick_in)
        tops = max(max(self.outside.offset[low:]), max(self.inside.offset[low:]))
        out_base, below, above = self.outside.lay(low, _SAMPLES, thick)
        in_base, _, _ = self.inside.lay(low, _SAMPLES, thick)
        span = range(low, _SAMPLES + 1)
        inner_r = [
            (wall.trend[i] + wall.ripple[i] * below[i] + out_base[i], wall.ys[i]) for i in span
        ]
        outer_r = [
            (wall.trend[i] + wall.ripple[i] * above[i] + out_base[i] + thick, wall.ys[i])
            for i in span
        ]
        inner_l = [(wall.inner[i] - in_base[i], wall.ys[i]) for i in span]
        outer_l = [(wall.inner[i] - in_base[i] - thick, wall.ys[i]) for i in span]
        half, rise = wall.half_lip, wall.lip_px + tops
        left, right = half + in_base[-1], half + out_base[-1]
        low_l, low_r = wall.lip_px + in_base[-1], wall.lip_px + out_base[-1]
        over = wall.lip_arc(
            left + thick, right + thick, rise + thick, 0, 180, low_l + thick, low_r + thick
        )
        under = wall.lip_arc(left, right, rise, 180, 0, low_l, low_r)
        outline = [
            *_rounded_end(inner_r, outer_r),
            *outer_r[_skip(outer_r) :],
            *over,
            *reversed(outer_l[_skip(outer_l) :]),
            *reversed(_rounded_end(inner_l, outer_l)),
            *inner_l,
            *under,
            *reversed(inner_r),
        ]
        inner = (*inner_r, *reversed(under))
        outer = (*outer_r, *over)
        band = Band(indexes, "rim", inner, outer, tuple(outline))
        self.bands.append(band)
        # The tops of both sides now meet the same cap.
        top = tops + thick + GAP_PX
        self.outside.offset[-1] = max(self.outside.offset[-1], top)
        self.inside.offset[-1] = max(self.inside.offset[-1], top)
        for one, index in group:
            self.where[(one.zone, index)] = band

    def _anchors(self) -> dict[tuple[str, int], Point]:
        found: dict[tuple[str, int], Point] = {}
        for zone in self.zones:
            count = len(zone.layers)
            for place, index in enumerate(zone.layers):
                band = self.where[(zone.zone, index)]
                if band.side == "rim":
                    found[(zone.zone, index)] = self._on_cap(band)
                    continue
                top, bottom = max(zone.top_y, self.wall.lip_px), zone.bottom_y
                y = top + (bottom - top) * (place + 1) / (count + 1)
                found[(zone.zone, index)] = _between(band, y)
        return found

    def _on_cap(self, band: Band) -> Point:
        """Right of the top of the cap, in the middle of its thickness."""
        outer = max(
            (p for p in band.outer if p[1] < self.wall.lip_px + 1), key=lambda p: p[0] - p[1]
        )
        inner = min(band.inner, key=lambda p: math.dist(p, outer))
        return (outer[0] + inner[0]) / 2, (outer[1] + inner[1]) / 2


_TO_THE_LIP = frozenset({"outside", "outside, upper", "inside"})


def _between(band: Band, y: float) -> Point:
    """The middle of a band at ``y``."""
    inner = min(band.inner, key=lambda p: abs(p[1] - y))
    same = [p for p in band.outer if abs(p[1] - inner[1]) < 3.0] or list(band.outer)
    outer = min(same, key=lambda p: abs(p[0] - inner[0]))
    return (inner[0] + outer[0]) / 2, inner[1]


def _skip(line: Sequence[Point]) -> int:
    """How many samples a rounded end takes."""
    return max(1, min(5, len(line) // 3))


def _rounded_end(inner: Sequence[Point], outer: Sequence[Point]) -> list[Point]:
    """From the inner first point round to the outer line a few samples on: a bead of glaze."""
    skip = _skip(outer)
    outward = 1.6 if outer[0][0] >= inner[0][0] else -1.6
    return _bent(inner[0], (outer[0][0] + outward, outer[0][1]), outer[skip - 1])


def _bent(start: Point, control: Point, end: Point, steps: int = 8) -> list[Point]:
    """A quadratic curve as points."""
    points = []
    for step in range(steps + 1):
        t = step / steps
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
        points.append(
            (a * start[0] + b * control[0] + c * end[0], a * start[1] + b * control[1] + c * end[1])
        )
    return points


def _stop(half_width: float, short_px: float) -> float:
    """The angle at which an arc of this half width is ``short_px`` from the middle."""
    return math.degrees(math.acos(min(max(short_px / half_width, 0.0), 1.0)))


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def _smoothed(values: Sequence[float], reach: int) -> list[float]:
    """Moving mean; the ends are turned about their last point so that a lean keeps leaning."""
    reach = max(1, min(reach, len(values) - 1))
    head = [2 * values[0] - values[i] for i in range(reach, 0, -1)]
    tail = [2 * values[-1] - values[-1 - i] for i in range(1, reach + 1)]
    padded = [*head, *values, *tail]
    return [_mean(padded[i : i + 2 * reach + 1]) for i in range(len(values))]
