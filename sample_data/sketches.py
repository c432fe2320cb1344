"""Pencil sketches for the ideas of the demo, drawn by lines that a hand might have drawn."""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

WIDE, HIGH = 1400, 1050
_PAPER = (246, 241, 230)
_GROW = 2  # drawn twice as large, so that thin lines stay soft
Points = Sequence[tuple[float, float]]


class _Pencil:
    """A sheet of paper and a pencil; places are in pixels of the picture that comes out."""

    def __init__(self, seed: int) -> None:
        self._random = np.random.default_rng((seed, 61))
        self._marks = Image.new("L", (WIDE * _GROW, HIGH * _GROW), 0)
        self._draw = ImageDraw.Draw(self._marks)

    def line(self, points: Points, strokes: int = 3, dark: int = 205, thick: float = 2.6) -> None:
        """A line gone over a few times, never twice in the same place."""
        dense = _dense(points)
        for _ in range(strokes):
            drift = self._random.normal(0, 1.6, 2)
            wander = np.cumsum(self._random.normal(0, 0.22, dense.shape), axis=0)
            wander -= np.linspace(0, 1, len(dense))[:, None] * wander[-1]
            path = [tuple(p) for p in (dense + drift + wander) * _GROW]
            self._draw.line(path, fill=dark, width=round(thick * _GROW), joint="curve")

    def ellipse(
        self, x: float, y: float, rx: float, ry: float, start: float = 0, end: float = 360
    ) -> None:
        """An ellipse, or a part of one in degrees clockwise from the right."""
        turn = np.radians(np.linspace(start, end, 90))
        self.line(list(zip(x + rx * np.cos(turn), y + ry * np.sin(turn), strict=True)))

    def hatch(self, corners: Points, gap: float = 13, dark: int = 130) -> None:
        """Slanting shade between two lines: left edge from top to bottom, then the right one."""
        (x1, y1), (x2, y2), (x3, y3), (x4, y4) = corners
        for share in np.arange(0.02, 1, gap / max(abs(y2 - y1), 1)):
            a = (x1 + (x2 - x1) * share, y1 + (y2 - y1) * share)
            b = (x3 + (x4 - x3) * share - 0, y3 + (y4 - y3) * share - 26)
            self.line([a, b], 1, dark, 1.8)

    def arrow(self, x1: float, y1: float, x2: float, y2: float) -> None:
        """A measure: a line with a stroke at each end."""
        self.line([(x1, y1), (x2, y2)], 2, 170, 1.8)
        across = np.array([y2 - y1, x1 - x2]) / np.hypot(x2 - x1, y2 - y1) * 12
        for x, y in ((x1, y1), (x2, y2)):
            self.line([(x - across[0], y - across[1]), (x + across[0], y + across[1])], 2, 170, 1.8)

    def finish(self) -> bytes:
        """The sheet as a JPEG, with the tooth of the paper in it."""
        marks = self._marks.resize((WIDE, HIGH), Image.Resampling.LANCZOS)
        marks = marks.filter(ImageFilter.GaussianBlur(0.6))
        tooth = self._random.normal(0, 1, (HIGH // 2, WIDE // 2))
        grain = np.kron(tooth, np.ones((2, 2)))
        paper = np.array(_PAPER, dtype=float)[None, None, :] + grain[:, :, None] * 2.2
        ink = np.asarray(marks, dtype=float)[:, :, None] / 255
        ink *= np.clip(0.9 + 0.16 * grain[:, :, None], 0.35, 1.1)
        shown = paper * (1 - ink) + np.array([58, 55, 54]) * ink
        picture = Image.fromarray(np.clip(shown, 0, 255).astype(np.uint8))
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=84)
        return out.getvalue()


def _dense(points: Points) -> np.ndarray:
    knots = np.asarray(points, dtype=float)
    step = np.hypot(*np.diff(knots, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(step)])
    at = np.linspace(0, along[-1], max(2, int(along[-1] / 7)))
    return np.column_stack([np.interp(at, along, knots[:, axis]) for axis in (0, 1)])


def draw_deep_rim() -> bytes:
    """A soup bowl whose rim stands up, the old rim dashed beside it, and the turn of it large."""
    pencil = _Pencil(1)
    middle, base = 560, 800
    wall = [(150, 0), (158, 24), (235, 92), (300, 190), (322, 268), (324, 372)]
    for side in (-1, 1):
        pencil.line([(middle + side * r, base - h) for r, h in wall])
    pencil.ellipse(middle, base - 372, 324, 62)
    pencil.ellipse(middle, base - 372, 308, 52, 5, 175)
    pencil.ellipse(middle, base, 150, 22, 0, 180)
    pencil.hatch([(770, 470), (690, 790), (878, 440), (860, 540)])
    for side in (-1, 1):  # the old rim
        start = np.array([middle + side * 316, base - 246])
        for part in range(4):
            a = start + np.array([side * 18, -12]) * part
            pencil.line([tuple(a), tuple(a + np.array([side * 11, -7]))], 2, 165, 2.0)
    pencil.arrow(middle - 380, base - 268, middle - 380, base - 372)
    turn = [(1120, 760), (1128, 640), (1140, 560), (1142, 430), (1168, 420), (1176, 440),
            (1174, 560), (1160, 650), (1156, 760)]  # fmt: skip
    pencil.line(turn)
    pencil.hatch([(1130, 470), (1122, 740), (1170, 480), (1158, 750)], 16, 150)
    pencil.ellipse(1150, 590, 150, 200)
    pencil.line([(1005, 545), (905, 500)], 2, 165, 2.0)
    return pencil.finish()


def draw_sliding_lantern() -> bytes:
    """A lantern house whose wall slides up in two grooves."""
    pencil = _Pencil(2)
    left, right, top, base = 420, 800, 420, 860
    pencil.line([(left, top), (left, base), (right, base), (right, top)])
    pencil.line([(left - 34, top), (right + 34, top), (610, 180), (left - 34, top)])
    pencil.line([(right, base), (980, 790), (980, 380), (right, top)])
    pencil.line([(right + 34, top), (1010, 372), (790, 150), (610, 180)])
    pencil.hatch([(820, 440), (820, 840), (970, 420), (970, 800)], 17)
    pencil.line([(480, 860), (480, 470), (740, 470), (740, 860)])
    pencil.line([(494, 700), (494, 330), (726, 330), (726, 700), (494, 700)], 3, 220, 3.0)
    for x in (560, 660):
        pencil.line([(x - 26, 560), (x - 26, 500), (x + 26, 500), (x + 26, 560), (x - 26, 560)])
    pencil.arrow(380, 700, 380, 520)
    pencil.line([(380, 520), (366, 546)], 2)
    pencil.line([(380, 520), (394, 546)], 2)
    groove = [(1090, 640), (1090, 560), (1130, 560), (1130, 600), (1160, 600), (1160, 560),
              (1200, 560), (1200, 640), (1090, 640)]  # fmt: skip
    pencil.line(groove)
    pencil.hatch([(1096, 566), (1096, 634), (1126, 592), (1126, 640)], 12, 150)
    pencil.ellipse(1145, 596, 120, 96)
    return pencil.finish()


def draw_wave_marks() -> bytes:
    """Rows of a wave stamp, tried on a slab in three spacings."""
    pencil = _Pencil(3)
    pencil.line([(240, 220), (1180, 200), (1210, 830), (220, 850), (240, 220)])
    for row, (gap, high) in enumerate(((96, 22), (74, 28), (58, 34))):
        y = 330 + 200 * row
        x = np.arange(300, 1140, 6.0)
        for shift in (0, 26, 52):
            wave = list(zip(x, y + shift + high * np.sin(x / gap * 3.1), strict=True))
            pencil.line(wave, 2, 200, 2.4)
    return pencil.finish()
