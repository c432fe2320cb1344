"""The corner of the studio where Tern Yard takes its pictures: seamless paper, a window on the
left, a white card on the right."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from .picture_camera import Camera, Floats, SeenSurface
from .picture_planes import base_outline
from .picture_surface import Skin
from .profiles import FormShape

KEY = np.array([-0.60, -0.58, 0.55]) / np.linalg.norm([-0.60, -0.58, 0.55])
CARD = np.array([0.86, -0.46, 0.22]) / np.linalg.norm([0.86, -0.46, 0.22])
PAPER_FAR = (160, 156, 150)
PAPER_NEAR = (230, 221, 208)


@lru_cache(maxsize=4)
def _paper(width: int, height: int, horizon: float) -> Floats:
    """The empty ground, height × width × 3, squared sRGB."""
    y = (np.arange(height) / height)[:, None]
    x = (np.arange(width) / width)[None, :]
    sweep = np.clip((y - horizon + 0.34) / 0.62, 0, 1)
    sweep = sweep * sweep * (3 - 2 * sweep)
    pool = np.exp(-(((x - 0.30) / 0.62) ** 2) - ((y - 0.80) / 0.52) ** 2)
    level = np.clip(0.80 * sweep + 0.24 * pool, 0, 1.05)[..., None]
    far, near = np.asarray(PAPER_FAR), np.asarray(PAPER_NEAR)
    colour = far + (near - far) * level
    corner = ((x - 0.5) ** 2 * 1.1 + (y - 0.52) ** 2 * 0.8)[..., None]
    colour = colour * (1 - 0.20 * corner)
    return ((colour / 255) ** 2).astype(np.float32)


@lru_cache(maxsize=8)
def _ground_light(shape: FormShape, camera: Camera, size_factor: float) -> Floats:
    """How much light reaches the ground (1 = all), height × width: the shadows of the piece."""
    small = 6
    wide, high = camera.width // small + 1, camera.height // small + 1
    sin = camera.cos_sin[1]
    scale = camera.px_per_mm * size_factor / small
    x0, y0 = camera.foot_x / small, camera.foot_y / small

    outline = None if shape.built == "lathe" else base_outline(shape)

    def blob(points: list[tuple[float, float]], blur_mm: float, deep: float) -> Floats:
        canvas = Image.new("L", (wide, high), 0)
        draw = ImageDraw.Draw(canvas)
        for r, h in points:  # a slice of the form, thrown to the right and away
            cx, cy = x0 + 0.95 * h * scale, y0 - 0.34 * h * sin * scale
            if outline is None:
                across = r * scale
                draw.ellipse(
                    (cx - across, cy - across * sin, cx + across, cy + across * sin), fill=255
                )
            else:
                draw.polygon(
                    [(cx + r * u * scale, cy - r * v * sin * scale) for u, v in outline], fill=255
                )
        blurred = canvas.filter(ImageFilter.GaussianBlur(max(blur_mm * scale, 0.6)))
        return np.asarray(blurred, dtype=np.float32) / 255 * deep

    line = [*shape.outside, *shape.lid]
    # Slab-built forms: the share of their base outline that is left at each height.
    if shape.built == "hexagon":
        line = [(1.0, 0.0), (1.0, shape.height_mm)]
    elif shape.built == "house":
        line = [(1.0, 0.0), (1.0, 60.0), (1.05, 122.0), (0.55, 160.0), (0.05, 188.0)]
    elif shape.built == "upright_tile":
        line = [(1.0, 0.0), (1.0, 8.0), (0.7, 12.0), (0.7, 95.0)]
    heights = np.asarray([h for _, h in line])
    radii = np.asarray([r for r, _ in line])
    at = np.linspace(0, heights.max(), 24)
    order = np.argsort(heights, kind="stable")
    slices = list(zip(np.interp(at, heights[order], radii[order]), at, strict=True))
    low = [(r, h) for r, h in slices if h < 0.35 * heights.max()] or slices[:1]
    foot = float(radii[0])
    shadow = (
        blob(slices, 13.0, 0.34)
        + blob(low, 6.0, 0.22)
        + blob([(foot * 1.06, 0.0)], 3.6, 0.30)
        + blob([(foot, 0.0)], 1.1, 0.34)
    )
    picture = Image.fromarray((np.clip(1 - shadow, 0, 1) * 255).astype(np.uint8))
    full = picture.resize((wide * small, high * small), Image.Resampling.BICUBIC)
    return np.asarray(full, dtype=np.float32)[: camera.height, : camera.width] / 255


def _dot(axis: Floats, normal: Floats) -> Floats:
    """Written out: three long rows are no work for the threads of a matrix library."""
    x, y, z = (np.float32(part) for part in axis)
    total = normal[0] * x
    total += normal[1] * y
    total += normal[2] * z
    return total


def light_piece(seen: SeenSurface, skin: Skin) -> Floats:
    """What the camera takes in from each covered pixel: n × 3, squared sRGB."""
    n = seen.normal
    key = _dot(KEY, n)
    card = _dot(CARD, n)
    wrapped = np.clip(key * np.float32(0.74) + np.float32(0.26), 0, 1)
    wrapped = wrapped * (0.72 + 0.28 * wrapped)
    wrapped += skin.lift * (0.5 + 0.9 * wrapped)
    fill = np.clip(card, 0, 1) * np.float32(0.15)
    sky = np.float32(0.25) + np.float32(0.11) * n[2]
    light = (np.float32(0.86) * wrapped + fill + sky) * seen.open_light
    np.clip(light, 0.01, None, out=light)
    # The paper throws a little warm light up under the belly.
    bounce = np.clip(np.float32(0.25) - n[2], 0, 1) * np.exp(-seen.height_mm * np.float32(0.03))
    bounce *= np.float32(0.11) * seen.open_light
    warm = np.array([1.03, 1.0, 0.95], dtype=np.float32)
    back = np.array([1.0, 0.90, 0.78], dtype=np.float32)
    colour = skin.colour * (light * warm[:, None] + bounce * back[:, None])
    if skin.gloss.any():
        colour += _mirror(seen, skin)
    return colour.T


def _mirror(seen: SeenSurface, skin: Skin) -> Floats:
    """The window, the card and the pale room, mirrored in the glaze."""
    cos, sin = seen.view_cos_sin
    n = seen.normal
    toward = np.array([0.0, -cos, sin], dtype=np.float32)
    facing = np.clip(_dot(toward, n), 0, 1)
    # r = 2 (n·v) n − v, then against the two axes of the window.
    side = np.array([KEY[1], -KEY[0], 0]) / np.hypot(KEY[0], KEY[1])
    rise = np.cross(KEY, side)

    def along(axis: Floats) -> Floats:
        return 2 * facing * _dot(axis, n) - np.float32(toward @ axis)

    ripple = skin.lift * np.float32(0.5)
    across, up, ahead = along(side), along(rise) + ripple, along(KEY)
    soft = np.float32(0.09) + np.float32(0.30) * (1 - skin.gloss)
    box = np.clip((0.17 - np.abs(across)) / soft + 0.5, 0, 1)
    box *= np.clip((0.40 - np.abs(up + np.float32(0.14))) / soft + 0.5, 0, 1)
    box *= ahead > 0
    strip = np.clip((along(CARD) + ripple - 0.90) / 0.10, 0, 1)
    rim = (1 - facing) ** 4
    strength = skin.gloss * skin.gloss
    mirrored = strength * (
        box * (0.42 + 0.5 * rim) * seen.open_light
        + strip * np.float32(0.07)
        + rim * np.float32(0.16) * seen.open_light
    )
    # The room gives an even veil that lightens deep colours a little where they face up.
    mirrored += strength * np.float32(0.012) * (1 + n[2]) * seen.open_light
    tone = np.array([1.0, 0.985, 0.96], dtype=np.float32)
    return mirrored * tone[:, None]


@lru_cache(maxsize=2)
def _sensor_noise(width: int, height: int) -> np.ndarray:
    """Grain for a picture and 64 rows to spare; as bytes to be added without looking at sign."""
    random = np.random.default_rng(20)
    coarse = random.standard_normal((height + 64, width, 1)) * 1.25
    each = random.standard_normal((height + 64, width, 3)) * 0.8
    return np.clip(np.rint(coarse + each), -8, 8).astype(np.int8).view(np.uint8)


@lru_cache(maxsize=8)
def _backdrop(shape: FormShape, camera: Camera, size_factor: float) -> np.ndarray:
    """Paper and shadow as bytes, one row a pixel, dithered so that the slow grades do not band."""
    horizon = 0.52 if camera.tilt_deg < 40 else 0.30
    ground = _paper(camera.width, camera.height, horizon)
    light = _ground_light(shape, camera, size_factor)
    whole = np.sqrt(ground * light[..., None]) * 255
    whole += np.random.default_rng(3).random(whole.shape, dtype=np.float32)
    return np.clip(whole, 9, 246).astype(np.uint8).reshape(-1, 3)


def develop(
    shape: FormShape,
    camera: Camera,
    size_factor: float,
    seen: SeenSurface,
    piece: Floats,
    seed: int,
) -> Image.Image:
    """Ground, shadow, piece, smoothed borders and a trace of sensor noise, as a picture."""
    flat = _backdrop(shape, camera, size_factor).copy()
    bright = np.sqrt(np.clip(piece, 0, 1)) * 255 + np.float32(0.5)
    flat[seen.pixel] = np.clip(bright, 9, 246).astype(np.uint8)
    _smooth_borders(flat, seen.edges, camera.width)
    down = (seed * 37) % 64
    flat = flat.reshape(camera.height, camera.width, 3)
    flat += _sensor_noise(camera.width, camera.height)[down : down + camera.height]
    return Image.fromarray(flat)


def _smooth_borders(flat: np.ndarray, edges: np.ndarray, width: int) -> None:
    """A small blur on the borders only: enough against stairs, without softening the glaze."""
    if len(edges) == 0:
        return
    total = flat[edges].astype(np.uint16) * 4
    for step, weight in (
        (-1, 2), (1, 2), (-width, 2), (width, 2),
        (-width - 1, 1), (-width + 1, 1), (width - 1, 1), (width + 1, 1),
    ):  # fmt: skip
        total += flat[edges + step] * np.uint16(weight)
    flat[edges] = total // 16
