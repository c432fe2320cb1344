"""The forms Tern Yard makes: fired size, weight of clay, and the cut through the wall.

A lathe form is two lines of points ``(radius_mm, height_mm)``: the outside from the foot up to
the rim, and the inside from the rim down to the middle of the floor. A lidded form carries its
lid as a third line. Forms built of slabs carry their faces instead (see ``picture_planes``), and
their ``outside`` and ``inside`` lines are the cut through the middle, so that the same
half-section can be drawn of every form.

Sizes are fired sizes. Clay weights are what is weighed out wet before making (*common practice*
figures: the finished wall and foot with a little over for trimming).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

Line = tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True)
class FormShape:
    """One form of the demo: lengths in mm (fired), mass in g (wet, as weighed out)."""

    key: str
    name: str
    width_mm: float
    height_mm: float
    wet_clay_g: float
    outside: Line
    inside: Line
    lid: Line = ()
    """Outside of the lid from its edge up to the top of the knob, where the form has a lid."""
    built: str = "lathe"
    """``lathe`` (thrown), or what the slabs make: ``house``, ``hexagon``, ``upright_tile``."""
    foot_bare_mm: float = 8.0
    rim_mm: float = 4.0
    upper_from_mm: float = 0.0
    """Where *outside, upper* begins; *outside, lower* ends here."""
    camera_tilt_deg: float = 17.0
    span_mm: float = 0.0
    """What a whole picture shows from side to side, wet pieces included."""


def _curve_through(points: Sequence[tuple[float, float]], pieces: int = 12) -> np.ndarray:
    """A smooth line through the points (Catmull-Rom), ``pieces`` steps between two of them."""
    knots = np.asarray(points, dtype=float)
    before = np.vstack([2 * knots[0] - knots[1], knots[:-1]])
    after = np.vstack([knots[1:], 2 * knots[-1] - knots[-2]])
    slope = (after - before) / 2
    t = np.linspace(0, 1, pieces, endpoint=False)[:, None]
    h00, h10 = 2 * t**3 - 3 * t**2 + 1, t**3 - 2 * t**2 + t
    h01, h11 = -2 * t**3 + 3 * t**2, t**3 - t**2
    parts = [
        h00 * knots[i] + h10 * slope[i] + h01 * knots[i + 1] + h11 * slope[i + 1]
        for i in range(len(knots) - 1)
    ]
    return np.vstack([*parts, knots[-1:]])


def _line(points: np.ndarray) -> Line:
    return tuple((round(max(float(r), 0.0), 2), round(float(h), 2)) for r, h in points)


def _ripple(
    line: np.ndarray, from_mm: float, to_mm: float, spacing_mm: float, depth_mm: float
) -> np.ndarray:
    """Throwing rings left on the wall between two heights, fading at both ends."""
    h = line[:, 1]
    fade = np.clip((h - from_mm) / 8, 0, 1) * np.clip((to_mm - h) / 8, 0, 1)
    wave = np.sin(2 * np.pi * (h - from_mm) / spacing_mm)
    out = line.copy()
    out[:, 0] += depth_mm * fade * wave
    return out


def _over_the_rim(outer: np.ndarray, inner: np.ndarray, height_mm: float) -> np.ndarray:
    """The upper half of a round lip from the last outside point to the first inside point."""
    middle = (outer[-1, 0] + inner[0, 0]) / 2
    half = (outer[-1, 0] - inner[0, 0]) / 2
    angle = np.linspace(0, np.pi / 2, 6)
    return np.column_stack(
        [
            middle + half * np.cos(angle),
            outer[-1, 1] + (height_mm - outer[-1, 1]) * np.sin(angle),
        ]
    )


def _vessel(
    outer_points: Sequence[tuple[float, float]],
    inner_points: Sequence[tuple[float, float]],
    height_mm: float,
    shape_outer: Callable[[np.ndarray], np.ndarray] | None = None,
) -> tuple[Line, Line]:
    outer = _curve_through(outer_points)
    if shape_outer is not None:
        outer = shape_outer(outer)
    inner = _curve_through(inner_points)
    lip = _over_the_rim(outer, inner, height_mm)
    half = (outer[-1, 0] - inner[0, 0]) / 2
    angle = np.linspace(np.pi / 2, np.pi, 6)
    down = np.column_stack(
        [
            (outer[-1, 0] + inner[0, 0]) / 2 + half * np.cos(angle),
            inner[0, 1] + (height_mm - inner[0, 1]) * np.sin(angle),
        ]
    )
    return _line(np.vstack([outer, lip[1:]])), _line(np.vstack([down, inner[1:]]))


def _ripple_tumbler() -> FormShape:
    outside, inside = _vessel(
        [(28.5, 0), (30.5, 1.2), (33.5, 9), (36.6, 22), (40.0, 48), (42.6, 76), (44.6, 101)],
        [(41.0, 101), (38.6, 76), (35.8, 48), (32.4, 22), (28.5, 10), (18.0, 6.6), (0, 6)],
        103,
        lambda line: _ripple(line, 12, 90, 10.6, 0.85),
    )
    return FormShape(
        key="ripple_tumbler",
        name="Ripple tumbler",
        width_mm=90,
        height_mm=103,
        wet_clay_g=380,
        outside=outside,
        inside=inside,
        foot_bare_mm=9,
        rim_mm=4.5,
        upper_from_mm=48,
        span_mm=172,
    )


def _soup_bowl() -> FormShape:
    outside, inside = _vessel(
        [(36, 0), (37.5, 1), (37.2, 6), (42, 11), (57, 22), (70, 39), (77.6, 56), (80, 63)],
        [(75.6, 63), (73.2, 56), (65.4, 39.5), (52, 24), (36, 14.6), (18, 11.4), (0, 10.6)],
        65,
        lambda line: _ripple(line, 16, 56, 8.5, 0.35),
    )
    return FormShape(
        key="soup_bowl",
        name="Soup bowl",
        width_mm=160,
        height_mm=65,
        wet_clay_g=620,
        outside=outside,
        inside=inside,
        foot_bare_mm=9,
        rim_mm=5,
        upper_from_mm=34,
        camera_tilt_deg=25,
        span_mm=212,
    )


def _lidded_jar() -> FormShape:
    body = _curve_through(
        [(40, 0), (42, 1.4), (46, 9), (57, 28), (64, 52), (63.6, 72), (56, 92), (48.2, 101)]
    )
    body = _ripple(body, 14, 92, 9.5, 0.45)
    inner = _curve_through(
        [(43.4, 101), (52, 90), (59.4, 71), (59.8, 52), (52.8, 29), (42, 12), (24, 7.4), (0, 6.8)]
    )
    lid = np.vstack(
        [
            _curve_through([(48.6, 102), (50.8, 103.2), (50.2, 105.4)], 6),
            _curve_through(
                [(49, 106.6), (43, 112.4), (32, 119.6), (20, 124.6), (11.4, 127.6), (8.6, 131)]
            ),
            _curve_through(
                [(8.8, 133), (13, 138), (14.6, 143), (12.6, 147.4), (7, 149.6), (0, 150)]
            ),
        ]
    )
    return FormShape(
        key="lidded_jar",
        name="Lidded jar",
        width_mm=130,
        height_mm=150,
        wet_clay_g=900,
        outside=_line(body),
        inside=_line(inner),
        lid=_line(lid),
        foot_bare_mm=9,
        rim_mm=4,
        upper_from_mm=62,
        camera_tilt_deg=18,
        span_mm=212,
    )


def _test_tumbler() -> FormShape:
    outside, inside = _vessel(
        [(29.5, 0), (31, 1), (31.8, 6), (32.2, 24), (32.3, 50), (32.5, 78.4)],
        [(29.2, 78.4), (29.0, 50), (28.6, 24), (27.0, 9.4), (18, 5.6), (0, 5)],
        80,
        lambda line: _ripple(line, 34, 66, 6.5, 0.7),
    )
    return FormShape(
        key="test_tumbler",
        name="Test tumbler",
        width_mm=65,
        height_mm=80,
        wet_clay_g=220,
        outside=outside,
        inside=inside,
        foot_bare_mm=9,
        rim_mm=3.5,
        upper_from_mm=42,
        span_mm=126,
    )


def _lantern_house() -> FormShape:
    return FormShape(
        key="lantern_house",
        name="Lantern house",
        width_mm=110,
        height_mm=190,
        wet_clay_g=1450,
        outside=((55, 0), (55, 122), (60, 122), (60, 126), (0, 190)),
        inside=((0, 182), (50, 124), (49, 122), (49, 7), (0, 7)),
        built="house",
        foot_bare_mm=8,
        rim_mm=0,
        upper_from_mm=122,
        camera_tilt_deg=16,
        span_mm=250,
    )


def _panel_mug() -> FormShape:
    outside, inside = _vessel(
        [(36, 0), (38, 1), (40.4, 7), (42.6, 22), (43.4, 48), (42.8, 74), (42.4, 93.4)],
        [(38.6, 93.4), (38.4, 74), (38.2, 48), (37.0, 22), (33.0, 10.4), (20, 7.2), (0, 6.6)],
        95,
    )
    return FormShape(
        key="panel_mug",
        name="Panel mug",
        width_mm=87,
        height_mm=95,
        wet_clay_g=540,
        outside=outside,
        inside=inside,
        foot_bare_mm=8,
        rim_mm=4.5,
        upper_from_mm=46,
        span_mm=172,
    )


def _hexagonal_tile() -> FormShape:
    return FormShape(
        key="hexagonal_tile",
        name="Hexagonal tile",
        width_mm=100,
        height_mm=10,
        wet_clay_g=265,
        outside=((50, 0), (50, 9), (49, 10), (0, 10)),
        inside=(),
        built="hexagon",
        foot_bare_mm=3,
        rim_mm=0,
        upper_from_mm=57,
        camera_tilt_deg=48,
        span_mm=160,
    )


def _test_tile() -> FormShape:
    return FormShape(
        key="test_tile",
        name="Test tile",
        width_mm=60,
        height_mm=95,
        wet_clay_g=125,
        outside=((3, 0), (3, 95), (0, 95)),
        inside=(),
        built="upright_tile",
        foot_bare_mm=12,
        rim_mm=0,
        upper_from_mm=54,
        camera_tilt_deg=17,
        span_mm=140,
    )


@cache
def form_shapes() -> dict[str, FormShape]:
    """Every form of the demo by its key."""
    made = (
        _ripple_tumbler(),
        _soup_bowl(),
        _lidded_jar(),
        _lantern_house(),
        _hexagonal_tile(),
        _test_tumbler(),
        _test_tile(),
        _panel_mug(),
    )
    return {shape.key: shape for shape in made}


def clay_volume_ml(shape: FormShape) -> float:
    """Fired clay in a thrown form, without its lid, from its two lines; ml.

    Pappus: each line swept about the axis; the difference is the wall and floor.
    """

    def swept(line: Line) -> float:
        r, h = np.asarray(line, dtype=float).T
        r2 = (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2) / 3
        return float(np.pi * np.sum(r2 * np.diff(h)) / 1000)

    if shape.built != "lathe":
        raise ValueError(f"{shape.name} is not a thrown form: its clay has no single cut.")
    return swept(shape.outside) - (-swept(shape.inside))
