"""Glaze on a cut wall: layers laid one after another, each keeping part of the ripple below."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from studiolog.ui.parts.wall_clay import SAMPLES, ClayWall, Point, bent, mean
from studiolog.ui.parts.wall_zones import ZoneLayer, ZoneSpan

RIPPLE_KEPT = 0.6
"""What a layer keeps of the ripple below it."""
LAYER_PX = 15.0
GAP_PX = 1.5
_THINNEST_PX = 4.0


@dataclass(frozen=True)
class Band:
    """One glaze as drawn: ``inner`` and ``outer`` run from low to high, sample by sample."""

    layers: tuple[int, ...]
    side: str
    inner: tuple[Point, ...]
    outer: tuple[Point, ...]
    outline: tuple[Point, ...]


class _Side:
    """What has been laid on one side so far: offset in px and share of ripple kept, by sample."""

    def __init__(self) -> None:
        self.offset = [0.0] * (SAMPLES + 1)
        self.kept = [1.0] * (SAMPLES + 1)

    def lay(
        self, low: int, high: int, thick: float
    ) -> tuple[list[float], list[float], list[float]]:
        """Lay a layer over samples ``low`` to ``high``: base offset, ripple below, ripple above."""
        reach = 5

        def about(values: Sequence[float], i: int) -> Sequence[float]:
            """Near ``i`` and within the layer's own span: what lies beside it is no step."""
            start, end = (low, high) if low <= i <= high else (0, SAMPLES)
            return values[max(i - reach, start) : min(i + reach, end) + 1]

        widest = [max(about(self.offset, i)) for i in range(SAMPLES + 1)]
        base = [max(mean(about(widest, i)), self.offset[i]) for i in range(SAMPLES + 1)]
        below = list(self.kept)
        for i in range(low, high + 1):
            self.offset[i] = base[i] + thick + GAP_PX
            self.kept[i] *= RIPPLE_KEPT
        return base, below, list(self.kept)


class Glazing:
    """Lays the layers on the wall one after another."""

    def __init__(
        self,
        wall: ClayWall,
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

    def lay_all(self) -> None:
        """Lay every layer; ``bands`` and ``where`` hold what was drawn."""
        for group in self._runs():
            if group[0][0].side == "rim":
                self._cap(group)
            else:
                self._coat(group)

    def edge(self) -> tuple[Point, ...]:
        """``(y, x)`` of the outermost edge on the outside, from the rim down."""
        wall, laid = self.wall, self.outside
        return tuple(
            (wall.ys[i], wall.trend[i] + wall.ripple[i] * laid.kept[i] + laid.offset[i])
            for i in range(SAMPLES, -1, -1)
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
        high = SAMPLES if over_lip else wall.index_of(wall.y_of(high_mm))
        if low > 0 and high - low > 3:
            low += 1  # zones that touch do not share a sample
        if high <= low:
            low, high = max(low - 1, 0), min(low + 1, SAMPLES)
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
        out_base, below, above = self.outside.lay(low, SAMPLES, thick)
        in_base, _, _ = self.inside.lay(low, SAMPLES, thick)
        span = range(low, SAMPLES + 1)
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

    def anchors(self) -> dict[tuple[str, int], Point]:
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
                found[(zone.zone, index)] = band_middle(band, y)
        return found

    def _on_cap(self, band: Band) -> Point:
        """Right of the top of the cap, in the middle of its thickness."""
        outer = max(
            (p for p in band.outer if p[1] < self.wall.lip_px + 1), key=lambda p: p[0] - p[1]
        )
        inner = min(band.inner, key=lambda p: math.dist(p, outer))
        return (outer[0] + inner[0]) / 2, (outer[1] + inner[1]) / 2


_TO_THE_LIP = frozenset({"outside", "outside, upper", "inside"})


def band_middle(band: Band, y: float) -> Point:
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
    return bent(inner[0], (outer[0][0] + outward, outer[0][1]), outer[skip - 1])


def _stop(half_width: float, short_px: float) -> float:
    """The angle at which an arc of this half width is ``short_px`` from the middle."""
    return math.degrees(math.acos(min(max(short_px / half_width, 0.0), 1.0)))
