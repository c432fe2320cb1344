"""How the demo's clays and glazes look, from wet to fired. sRGB colours; all invented."""

from __future__ import annotations

from dataclasses import dataclass

Colour = tuple[int, int, int]


@dataclass(frozen=True)
class ClayLook:
    wet: Colour
    bone_dry: Colour
    bisque: Colour
    fired: Colour
    speck: Colour
    speck_share: float
    """Share of possible specks that show, 0 none."""
    speck_mm: float


@dataclass(frozen=True)
class GlazeLook:
    raw: Colour
    thick: Colour
    """Fired, where the coat is thick."""
    thin: Colour
    """Fired, where it breaks over a ridge or a lip."""
    cover: float
    """How soon a coat hides what is under it: 3 covers, 0.3 is clear."""
    gloss: float
    break_at: float
    """How thick a coat (of a usual 1) must be to show its full colour."""
    streaky: float
    runny: float
    """How far it moves in a usual firing, mm."""


CLAYS: dict[str, ClayLook] = {
    "buff": ClayLook((121, 101, 80), (214, 201, 178), (226, 184, 152), (192, 158, 116),
                     (92, 62, 40), 0.34, 0.42),
    "iron_red": ClayLook((94, 60, 47), (178, 128, 104), (198, 124, 96), (118, 66, 48),
                         (58, 30, 24), 0.5, 0.26),
    "porcelain": ClayLook((158, 153, 145), (229, 226, 219), (240, 226, 217), (228, 224, 216),
                          (180, 172, 160), 0.0, 0.2),
}  # fmt: skip

GLAZES: dict[str, GlazeLook] = {
    "Kelp": GlazeLook((176, 167, 176), (50, 82, 62), (150, 100, 56), 2.6, 0.85, 0.95, 0.9, 1.2),
    "Chalk": GlazeLook((240, 234, 224), (232, 229, 217), (178, 172, 146), 2.0, 0.42, 0.95, 1.0,
                       0.6),
    # Two of its tiles: more alumina, and more silica.
    "Chalk matt": GlazeLook((240, 234, 224), (226, 222, 208), (186, 178, 152), 2.2, 0.16, 0.95,
                            0.6, 0.2),
    "Chalk bright": GlazeLook((240, 234, 224), (230, 231, 222), (166, 152, 122), 1.5, 0.92, 0.95,
                              1.1, 1.2),
    "Rust Shore": GlazeLook((196, 108, 82), (120, 55, 39), (76, 44, 38), 2.8, 0.7, 0.7, 0.8, 1.6),
    "Deep Tide": GlazeLook((186, 178, 202), (31, 53, 110), (122, 108, 92), 2.7, 0.9, 0.9, 1.15,
                           1.3),
    "Oat": GlazeLook((234, 221, 188), (222, 197, 148), (186, 134, 88), 2.4, 0.55, 0.8, 0.5, 0.5),
    "Clear 4": GlazeLook((236, 226, 226), (226, 224, 210), (210, 204, 190), 0.22, 1.0, 0.9, 0.3,
                         0.8),
}  # fmt: skip

SAME_CLAY = {
    "buff stoneware": "buff",
    "iron-red stoneware": "iron_red",
    "porcelain p2": "porcelain",
}


def clay_look(name: str) -> ClayLook:
    """By key (``buff``) or by the journal's name (``Buff stoneware``)."""
    return CLAYS[SAME_CLAY.get(name.lower(), name)]


def glaze_look(name: str) -> GlazeLook:
    """By the journal's name; any version counts (``Kelp v2`` looks like ``Kelp``)."""
    for known in sorted(GLAZES, key=len, reverse=True):
        if name == known or name.startswith(f"{known} "):
            return GLAZES[known]
    raise KeyError(f"No look is known for the glaze {name}.")
