"""What a demo picture shows: plain values, so that a pool of workers can be handed them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from .picture_camera import Camera
from .profiles import FormShape, form_shapes

MOMENTS = ("making", "bone_dry", "bisque", "glazed", "fired", "later")
VIEWS = ("whole", "rim", "wall", "foot", "inside")

# How much of the whole shrinkage is still to come at each moment. Common practice: about half
# goes in drying, next to none in the bisque firing, the rest in the glaze firing.
SHRINKAGE_LEFT = {
    "making": 1.0,
    "bone_dry": 0.52,
    "bisque": 0.50,
    "glazed": 0.50,
    "fired": 0.0,
    "later": 0.0,
}


class PictureLayer(NamedTuple):
    """One glaze on one zone; the tuple of layers runs from the clay outward."""

    glaze: str  # the journal's name: Kelp, Chalk, Rust Shore, Deep Tide, Oat, Clear 4
    zone: str = "outside"
    method: str = "dip"  # brush, dip, pour, spray, trail
    thickness: float = 1.0  # 1 is the usual coat
    low_mm: float | None = None  # fired height of the lower border, if not the zone's own
    high_mm: float | None = None


class PictureFault(NamedTuple):
    """A fault to be seen: its key, 1 slight to 3 severe, and the zone (empty: everywhere)."""

    fault: str
    severity: int
    zone: str = ""


@dataclass(frozen=True, kw_only=True)
class PictureSpec:
    """One picture of one piece. The same spec always gives the same bytes."""

    form: str
    clay: str
    moment: str
    taken_at: datetime
    seed: int
    layers: tuple[PictureLayer, ...] = ()
    faults: tuple[PictureFault, ...] = ()
    shrinkage: float = 0.125
    """Whole linear shrinkage of the clay, wet to fired, as a fraction."""
    view: str = "whole"
    width_px: int = 900
    height_px: int = 1080
    px_per_mm: float | None = None
    """Level scale; by default the form's own, the same at every moment, so pairs register."""
    quality: int = 88

    def __post_init__(self) -> None:
        if self.form not in form_shapes():
            raise ValueError(f"No form {self.form!r}: choose one of {', '.join(form_shapes())}.")
        if self.moment not in MOMENTS:
            raise ValueError(f"No moment {self.moment!r}: choose one of {', '.join(MOMENTS)}.")
        if self.view not in VIEWS:
            raise ValueError(f"No view {self.view!r}: choose one of {', '.join(VIEWS)}.")

    @property
    def shape(self) -> FormShape:
        return form_shapes()[self.form]

    @property
    def size_factor(self) -> float:
        """Size at this moment over the fired size."""
        left = self.shrinkage * SHRINKAGE_LEFT[self.moment]
        return round((1 - self.shrinkage + left) / (1 - self.shrinkage), 4)

    @property
    def scale_px_per_mm(self) -> float:
        if self.px_per_mm is not None:
            return self.px_per_mm
        whole = self.width_px / self.shape.span_mm
        return round(whole * (1.0 if self.view == "whole" else CLOSER[self.view]), 4)

    def camera(self) -> Camera:
        """Where the camera stands: the foot's middle falls on (foot_x, foot_y)."""
        shape, scale = self.shape, self.scale_px_per_mm
        tilt = shape.camera_tilt_deg
        size = self.size_factor
        if self.view == "whole":
            foot_y = round(self.height_px * _foot_share(shape, self.width_px / self.height_px), 1)
            return Camera(self.width_px, self.height_px, scale, self.width_px / 2, foot_y, tilt)
        level = {
            "rim": shape.height_mm * 0.94,
            "wall": shape.upper_from_mm,
            "foot": shape.height_mm * 0.20,
            "inside": shape.height_mm * 0.62,
        }[self.view] * size
        aside = {"rim": 0.0, "wall": -0.10, "foot": 0.08, "inside": 0.0}[self.view]
        if self.view == "inside":
            tilt = max(tilt, 52.0)
        near = Camera(self.width_px, self.height_px, scale, 0, 0, tilt)
        cos, sin = near.cos_sin
        radius = _radius_at(shape, level / size) * size
        ahead = radius * (0.35 if self.view == "rim" else 0.0 if self.view == "inside" else 0.94)
        foot_y = self.height_px / 2 + (level * cos - ahead * sin) * scale
        return near._replace(
            foot_x=self.width_px / 2 + aside * shape.width_mm * scale, foot_y=round(foot_y, 1)
        )


CLOSER = {"rim": 1.9, "wall": 2.6, "foot": 2.4, "inside": 2.1}
FOOT_AT = {"house": 0.82, "hexagon": 0.60, "upright_tile": 0.80}


def _foot_share(shape: FormShape, aspect: float) -> float:
    """How far down the picture the foot stands, so that the wet piece is near the middle.

    It depends on the form and the picture's aspect only: every moment has the same.
    """
    if shape.built in FOOT_AT:
        return FOOT_AT[shape.built]
    tilt = math.radians(shape.camera_tilt_deg)
    wet = 1.14
    rim_r = shape.outside[-1][0] * (not shape.lid)
    top = wet * (shape.height_mm * math.cos(tilt) + rim_r * math.sin(tilt))
    bottom = -wet * shape.outside[0][0] * math.sin(tilt)
    middle_share = (top + bottom) / 2 / shape.span_mm * aspect
    return min(0.54 + middle_share, 0.87)


def _radius_at(shape: FormShape, height_mm: float) -> float:
    """Outside radius nearest to a height, fired mm."""
    return min((*shape.outside, *shape.lid), key=lambda point: abs(point[1] - height_mm))[0]
