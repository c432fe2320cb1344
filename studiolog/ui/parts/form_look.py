"""A form as the journal keeps it, as its half section is drawn."""

from studiolog.journal.forms import Profile
from studiolog.ui.parts.half_section import FormShape
from studiolog.ui.parts.wall_geometry import WallProfile

_KINDS = {"thrown": "turned", "box": "box", "tile": "tile"}


def form_shape(
    shape: str,
    profile: Profile | None = None,
    height_mm: float | None = None,
    across_mm: float | None = None,
) -> FormShape:
    """The drawing of a form; what is not known of its size has usual proportions."""
    return FormShape(
        kind=_KINDS.get(shape, "turned"),
        profile=WallProfile(profile.outside, profile.inside) if profile else None,
        width_mm=across_mm or 80.0,
        height_mm=height_mm or (80.0 if shape == "tile" else 110.0),
    )
