"""The profile of a form: plain values, so that it can be drawn before a database is loaded."""

import json
from collections.abc import Sequence
from dataclasses import dataclass

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Profile:
    """The wall of a form, fired size: (radius_mm, height_mm) points from foot to rim."""

    outside: Points
    inside: Points = ()


def profile_to_text(profile: Profile | None) -> str | None:
    """A profile as it is stored."""
    if profile is None:
        return None
    return json.dumps({"outside": profile.outside, "inside": profile.inside})


def profile_from_text(text: str | None) -> Profile | None:
    """The profile `profile_to_text` wrote."""
    if not text:
        return None
    stored = json.loads(text)
    return Profile(_points(stored["outside"]), _points(stored.get("inside", ())))


def _points(stored: Sequence[Sequence[float]]) -> Points:
    return tuple((float(radius), float(height)) for radius, height in stored)
