"""Forms built of slabs, seen by the same camera: lantern house, hexagonal tile, test tile."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from PIL import Image, ImageDraw

from .picture_camera import Camera, Floats, SeenSurface, find_edges
from .profiles import FormShape

WALL_MM = 6.0


@dataclass
class Face:
    """A flat side: corners in mm (n × 3), in order; level axis first, so glaze runs along −v."""

    corners: Floats
    normal: Floats
    across: Floats  # unit, level
    side: int = 0
    height_from_mm: float | None = None  # for level faces: height_mm runs over the face
    texture: str = ""
    holes: list[Floats] = field(default_factory=list)
    light: float = 1.0

    @property
    def along(self) -> Floats:
        return np.cross(self.normal, self.across)


def _turned(points: list[tuple[float, float, float]], yaw_deg: float) -> Floats:
    yaw = np.radians(yaw_deg)
    cos, sin = np.cos(yaw), np.sin(yaw)
    turn = np.array([[cos, -sin, 0], [sin, cos, 0], [0, 0, 1]])
    return np.asarray(points, dtype=float) @ turn.T


def _face(
    points: list[tuple[float, float, float]],
    normal: tuple[float, float, float],
    across: tuple[float, float, float],
    yaw_deg: float,
    side: int = 0,
    texture: str = "",
    holes: tuple[list[tuple[float, float, float]], ...] = (),
    height_from_mm: float | None = None,
    light: float = 1.0,
) -> Face:
    unit = np.asarray(normal, dtype=float)
    unit = unit / np.linalg.norm(unit)
    return Face(
        corners=_turned(points, yaw_deg),
        normal=_turned([tuple(unit)], yaw_deg)[0],
        across=_turned([across], yaw_deg)[0],
        side=side,
        texture=texture,
        holes=[_turned(hole, yaw_deg) for hole in holes],
        height_from_mm=height_from_mm,
        light=light,
    )


def _arched(
    x: float, z: float, wide: float, high: float, plane: float
) -> list[tuple[float, float, float]]:
    """An opening with a round head, on the plane y = ``plane``; x its middle, z its sill."""
    half = wide / 2
    arc = np.linspace(0, np.pi, 13)
    head = [(x + half * np.cos(a), plane, z + high - half + half * np.sin(a)) for a in arc]
    return [(x - half, plane, z), (x + half, plane, z), *head]


def _house(shape: FormShape) -> list[Face]:
    half, wall, ridge, yaw = shape.width_mm / 2, 122.0, shape.height_mm, 33.0
    eave, drop = 5.0, 4.0
    slope = (ridge - wall) / half
    front, right = -half, half
    gable = [
        (-half, front, 0.0),
        (half, front, 0.0),
        (half, front, wall),
        (0.0, front, ridge - 3),
        (-half, front, wall),
    ]
    door = _arched(-22, 10, 26, 58, front)
    openings = (
        door,
        _arched(22, 34, 20, 34, front),
        _arched(0, 96, 22, 38, front),
    )
    side_wall = [
        (right, -half, 0.0),
        (right, half, 0.0),
        (right, half, wall),
        (right, -half, wall),
    ]

    def on_side(y: float, z: float, wide: float, high: float) -> list[tuple[float, float, float]]:
        return [(right, u, w) for u, _, w in _arched(y, z, wide, high, 0)]

    side_openings = (
        on_side(-26, 64, 20, 36),
        on_side(26, 64, 20, 36),
        on_side(0, 16, 20, 36),
    )
    out = half + eave
    low = ridge - slope * out
    roof_right = [
        (out, front - eave, low),
        (out, half + eave, low),
        (0.0, half + eave, ridge),
        (0.0, front - eave, ridge),
    ]
    fascia_right = [
        (out, front - eave, low - drop),
        (out, half + eave, low - drop),
        (out, half + eave, low),
        (out, front - eave, low),
    ]
    barge = [
        (-out, front - eave, low),
        (-out, front - eave, low - drop),
        (0.0, front - eave, ridge - drop - 2),
        (out, front - eave, low - drop),
        (out, front - eave, low),
        (0.0, front - eave, ridge),
    ]
    roof_left = [
        (-out, front - eave, low),
        (-out, half + eave, low),
        (0.0, half + eave, ridge),
        (0.0, front - eave, ridge),
    ]
    return [
        _face(roof_left, (-slope, 0, 1), (0, -1, 0), -yaw, side=2, texture="slates"),
        _face(side_wall, (1, 0, 0), (0, 1, 0), -yaw, holes=side_openings),
        _face(gable, (0, -1, 0), (1, 0, 0), -yaw, holes=openings),
        _face(roof_right, (slope, 0, 1), (0, 1, 0), -yaw, side=2, texture="slates"),
        _face(fascia_right, (1, 0, 0), (0, 1, 0), -yaw, side=2),
        _face(barge, (0, -1, 0), (1, 0, 0), -yaw, side=2),
    ]


def _hexagon(shape: FormShape) -> list[Face]:
    radius, thick, yaw = shape.width_mm / np.sqrt(3), shape.height_mm, 9.0
    corner = [(radius * np.cos(a), radius * np.sin(a)) for a in np.radians(np.arange(0, 360, 60))]
    top = [(x, y, thick) for x, y in corner]
    faces = []
    for (x0, y0), (x1, y1) in zip(corner, corner[1:] + corner[:1], strict=True):
        middle = ((x0 + x1) / 2, (y0 + y1) / 2, 0.0)
        level = (x1 - x0, y1 - y0, 0.0)
        length = float(np.hypot(*level[:2]))
        quad = [(x0, y0, 0.0), (x1, y1, 0.0), (x1, y1, thick), (x0, y0, thick)]
        across = (level[0] / length, level[1] / length, 0.0)
        faces.append(_face(quad, middle, across, yaw))
    faces.append(_face(top, (0, 0, 1), (1, 0, 0), yaw, texture="waves", height_from_mm=thick - 3))
    return faces


def _upright_tile(shape: FormShape) -> list[Face]:
    half, high, thick, yaw, foot = shape.width_mm / 2, shape.height_mm, 7.0, -24.0, 34.0
    front = [(-half, 0.0, 0.0), (half, 0.0, 0.0), (half, 0.0, high), (-half, 0.0, high)]
    edge = [(half, 0.0, 0.0), (half, thick, 0.0), (half, thick, high), (half, 0.0, high)]
    left = [(-half, 0.0, 0.0), (-half, thick, 0.0), (-half, thick, high), (-half, 0.0, high)]
    top = [(-half, 0.0, high), (half, 0.0, high), (half, thick, high), (-half, thick, high)]
    base_top = [(-half, -foot, 7.0), (half, -foot, 7.0), (half, 0.0, 7.0), (-half, 0.0, 7.0)]
    base_front = [(-half, -foot, 0.0), (half, -foot, 0.0), (half, -foot, 7.0), (-half, -foot, 7.0)]
    base_side = [(half, -foot, 0.0), (half, 0.0, 0.0), (half, 0.0, 7.0), (half, -foot, 7.0)]
    base_left = [(-half, -foot, 0.0), (-half, 0.0, 0.0), (-half, 0.0, 7.0), (-half, -foot, 7.0)]
    hole = [
        (3.2 * np.cos(a), 0.0, high - 10 + 3.2 * np.sin(a)) for a in np.linspace(0, 2 * np.pi, 20)
    ]
    return [
        _face(left, (-1, 0, 0), (0, -1, 0), -yaw),
        _face(edge, (1, 0, 0), (0, 1, 0), -yaw),
        _face(front, (0, -1, 0), (1, 0, 0), -yaw, texture="ribs", holes=(hole,)),
        _face(top, (0, 0, 1), (1, 0, 0), -yaw),
        _face(base_top, (0, 0, 1), (1, 0, 0), -yaw),
        _face(base_left, (-1, 0, 0), (0, -1, 0), -yaw),
        _face(base_side, (1, 0, 0), (0, 1, 0), -yaw),
        _face(base_front, (0, -1, 0), (1, 0, 0), -yaw),
    ]


BUILDERS = {"house": _house, "hexagon": _hexagon, "upright_tile": _upright_tile}


def _texture(name: str, u: Floats, v: Floats) -> tuple[Floats, Floats]:
    """Relief (−1…1) and its slope upward, for a face's pressed or built pattern."""
    none = np.zeros_like(u)
    if name == "slates":
        phase = (v / 15.0) % 1.0
        return (np.where(phase < 0.16, 0.45, -0.15), np.where(phase < 0.14, -0.55, 0.06))
    if name == "waves":
        k = 2 * np.pi / 14.0
        phase = k * (v + 4.0 * np.sin(2 * np.pi * u / 52.0))
        fade = np.clip((44 - np.hypot(u, v)) / 6, 0, 1)
        return fade * np.cos(phase), -0.42 * fade * np.sin(phase)
    if name == "ribs":
        k = 2 * np.pi / 7.5
        fade = np.clip((v - 34) / 3, 0, 1) * np.clip((66 - v) / 3, 0, 1)
        return fade * np.cos(k * v), -0.5 * fade * np.sin(k * v)
    return none, none


def _edge_distance(corners_uv: Floats, u: Floats, v: Floats) -> Floats:
    nearest = np.full_like(u, 1e6)
    for (u0, v0), (u1, v1) in zip(corners_uv, np.roll(corners_uv, -1, axis=0), strict=True):
        length = max(float(np.hypot(u1 - u0, v1 - v0)), 1e-6)
        nearest = np.minimum(nearest, np.abs((u - u0) * (v1 - v0) - (v - v0) * (u1 - u0)) / length)
    return nearest


@lru_cache(maxsize=4)
def see_built(shape: FormShape, camera: Camera, size_factor: float) -> SeenSurface:
    """What the camera sees of a slab-built form grown by ``size_factor`` over its fired size."""
    cos, sin = camera.cos_sin
    toward = np.array([0.0, -cos, sin])
    up = np.array([0.0, sin, cos])
    scale = camera.px_per_mm * size_factor
    region = np.zeros((camera.height, camera.width), dtype=np.uint8)

    def on_screen(points: Floats) -> list[tuple[float, float]]:
        xs = camera.foot_x + points[:, 0] * scale
        ys = camera.foot_y - (points @ up) * scale
        return [(float(x) - 0.5, float(y) - 0.5) for x, y in zip(xs, ys, strict=True)]

    def mask_of(points: Floats) -> np.ndarray:
        canvas = Image.new("1", (camera.width, camera.height))
        ImageDraw.Draw(canvas).polygon(on_screen(points), fill=1)
        return np.asarray(canvas)

    faces = [face for face in BUILDERS[shape.built](shape) if face.normal @ toward > 1e-6]
    for number, face in enumerate(faces, start=1):
        region[mask_of(face.corners)] = 2 * number
        for hole in face.holes:
            opening = mask_of(hole)
            deep = opening & mask_of(hole - face.normal * WALL_MM)
            region[opening & (region == 2 * number)] = 2 * number + 1
            region[deep & (region == 2 * number + 1)] = 100 + number
    covered = np.nonzero(region.ravel())[0].astype(np.int32)
    kind = region.ravel()[covered]
    count = len(covered)
    seen = {
        name: np.zeros(count, dtype=np.float32)
        for name in ("height", "around", "relief", "light", "rim", "cloth_v")
    }
    seen["rim"] += 1000
    normal = np.zeros((3, count), dtype=np.float32)
    side = np.zeros(count, dtype=np.uint8)
    bare = np.zeros(count, dtype=bool)
    x = (covered % camera.width + 0.5 - camera.foot_x) / scale
    y_up = (camera.foot_y - (covered // camera.width + 0.5)) / scale
    for number, face in enumerate(faces, start=1):
        mine = (kind == 2 * number) | (kind == 2 * number + 1) | (kind == 100 + number)
        if not mine.any():
            continue
        across, along = face.across, face.along
        if along[2] < 0 or (abs(along[2]) < 1e-9 and along[1] < 0):
            along = -along
        anchor = np.zeros(3) + face.normal * (face.corners[0] @ face.normal)
        matrix = np.array([[across[0], along[0]], [across @ up, along @ up]])
        inverse = np.linalg.inv(matrix)
        dx, dy = x[mine] - anchor[0], y_up[mine] - anchor @ up
        u = inverse[0, 0] * dx + inverse[0, 1] * dy
        v = inverse[1, 0] * dx + inverse[1, 1] * dy
        offset = face.corners - anchor
        corners_uv = np.column_stack([offset @ across, offset @ along])
        height = anchor[2] + v * along[2]
        pattern, slope = _texture(face.texture, u, v)
        edge = np.exp(-((_edge_distance(corners_uv, u, v) / 1.6) ** 2))
        for hole in face.holes:
            hole_uv = np.column_stack([(hole - anchor) @ across, (hole - anchor) @ along])
            middle = hole_uv.mean(axis=0)
            near = (np.abs(u - middle[0]) < 24) & (np.abs(v - middle[1]) < 34)
            if near.any():
                distance = _distance_to_line(hole_uv, u[near], v[near])
                edge[near] = np.maximum(edge[near], np.exp(-((distance / 1.5) ** 2)))
        facing = face.normal[:, None] + along[:, None] * slope[None, :]
        facing = facing + 0.25 * edge * np.array([[0.0], [0.0], [1.0]])
        facing /= np.linalg.norm(facing, axis=0)
        mine_kind = kind[mine]
        reveal, deep = mine_kind == 2 * number + 1, mine_kind == 100 + number
        light = np.full(len(u), face.light)
        if shape.built == "house":
            light *= 0.66 + 0.34 * np.clip(height / 20, 0, 1)
            under = np.clip((122 - height) / 9, 0, 1) if face.side == 0 else np.ones(len(u))
            is_side_wall = abs(face.corners[:, 2].max() - 122) < 1 and face.side == 0
            light *= (0.55 + 0.45 * under) if is_side_wall else 1.0
        if shape.built == "upright_tile" and face.texture == "ribs":
            light *= 0.6 + 0.4 * np.clip((height - 7) / 9, 0, 1)
        light = np.where(reveal, 0.62, np.where(deep, 0.13, light))
        # The wall's thickness in an opening faces sideways: turn it to the light a little.
        facing = np.where(reveal, np.array([[0.35], [-0.5], [0.75]]), facing)
        seen["height"][mine] = (
            height
            if face.height_from_mm is None
            else face.height_from_mm + (v - corners_uv[:, 1].min())
        )
        seen["around"][mine] = u + 190.0 * number
        seen["cloth_v"][mine] = v
        seen["relief"][mine] = np.clip(np.maximum(pattern, edge), -1, 1)
        seen["light"][mine] = light
        normal[:, mine] = facing
        side[mine] = np.where(reveal | deep, 1, face.side)
        bare[mine] = (height < shape.foot_bare_mm) & (face.height_from_mm is None)
    if shape.built == "upright_tile":
        bare |= seen["height"] < shape.foot_bare_mm
    return SeenSurface(
        pixel=covered,
        height_mm=seen["height"],
        around_mm=seen["around"],
        cloth_u_mm=seen["around"],
        cloth_v_mm=seen["cloth_v"],
        normal=normal,
        relief=seen["relief"],
        from_rim_mm=seen["rim"],
        side=side,
        bare=bare,
        open_light=seen["light"],
        edges=find_edges(region.ravel(), np.zeros_like(region).ravel(), camera),
        upright=shape.built != "hexagon",
        view_cos_sin=camera.cos_sin,
    )


def _distance_to_line(line_uv: Floats, u: Floats, v: Floats) -> Floats:
    """Distance to a closed line, mm."""
    nearest = np.full_like(u, 1e6)
    for start, end in zip(line_uv, np.roll(line_uv, -1, axis=0), strict=True):
        way = end - start
        square = max(float(way @ way), 1e-9)
        t = np.clip(((u - start[0]) * way[0] + (v - start[1]) * way[1]) / square, 0, 1)
        gap = np.hypot(u - start[0] - t * way[0], v - start[1] - t * way[1])
        nearest = np.minimum(nearest, gap)
    return nearest


def base_outline(shape: FormShape) -> Floats:
    """The outline that a slab-built form stands on, n × 2, mm, as it is turned to the camera."""
    half = shape.width_mm / 2
    if shape.built == "hexagon":
        radius = shape.width_mm / np.sqrt(3)
        corners = [
            (radius * np.cos(a), radius * np.sin(a), 0.0) for a in np.radians(np.arange(0, 360, 60))
        ]
        return _turned(corners, 9.0)[:, :2]
    if shape.built == "house":
        return _turned(
            [(-half, -half, 0), (half, -half, 0), (half, half, 0), (-half, half, 0)], -33.0
        )[:, :2]
    return _turned([(-half, -34, 0), (half, -34, 0), (half, 7, 0), (-half, 7, 0)], 24.0)[:, :2]
