"""A form as the journal keeps it, as its half section is drawn."""

from studiolog.journal.profiles import Profile
from studiolog.ui.parts.half_section import FormShape
from studiolog.ui.parts.wall_geometry import WallProfile

_HEXAGON = 1.155  # corner to corner over side to side
_KINDS = {"thrown": "turned", "box": "box", "tile": "tile"}


def form_shape(
    shape: str,
    profile: Profile | None = None,
    height_mm: float | None = None,
    across_mm: float | None = None,
) -> FormShape:
    """The drawing of a form; what is not known of its size has usual proportions.

    A tile much lower than it is wide lies flat: its height is its thickness, and it is drawn as
    seen from above.
    """
    if shape == "tile" and height_mm and across_mm and height_mm < across_mm / 4:
        return FormShape("tile", None, across_mm, across_mm * _HEXAGON, height_mm)
    return FormShape(
        kind=_KINDS.get(shape, "turned"),
        profile=WallProfile(profile.outside, profile.inside) if profile else None,
        width_mm=across_mm or 80.0,
        height_mm=height_mm or (80.0 if shape == "tile" else 110.0),
    )
