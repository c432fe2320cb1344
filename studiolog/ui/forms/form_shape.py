"""A form as its drawing takes it."""

from studiolog.journal.forms import Profile
from studiolog.ui.parts.fields import write_number
from studiolog.ui.parts.half_section import FormShape
from studiolog.ui.parts.wall_geometry import WallProfile

_KINDS = {"thrown": "turned", "box": "box", "tile": "tile"}


def shape_of(
    shape: str, profile: Profile | None, height_mm: float | None, across_mm: float | None
) -> FormShape:
    """What is drawn of a form; a turned one without a profile is the plain cup."""
    return FormShape(
        _KINDS[shape],
        WallProfile(profile.outside, profile.inside) if profile is not None else None,
        across_mm or 80.0,
        height_mm or 110.0,
    )


def size_words(height_mm: float | None, across_mm: float | None) -> str:
    """``98 × 82 mm``, as far as it is known."""
    if height_mm is not None and across_mm is not None:
        return f"{write_number(height_mm)} × {write_number(across_mm)} mm"
    if height_mm is not None:
        return f"{write_number(height_mm)} mm high"
    if across_mm is not None:
        return f"{write_number(across_mm)} mm across"
    return ""
