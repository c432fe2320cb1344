"""How the size of a form is said."""

from studiolog.ui.parts.fields import write_number


def size_words(height_mm: float | None, across_mm: float | None) -> str:
    """``98 × 82 mm``, as far as it is known."""
    if height_mm is not None and across_mm is not None:
        return f"{write_number(height_mm)} × {write_number(across_mm)} mm"
    if height_mm is not None:
        return f"{write_number(height_mm)} mm high"
    if across_mm is not None:
        return f"{write_number(across_mm)} mm across"
    return ""
