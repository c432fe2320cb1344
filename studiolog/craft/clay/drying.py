"""How fast clay stiffens: hours to leather-hard and hours it stays workable, by cover and weather.

One drying rate stands behind both: what an hour in the open takes from the clay, ware under cover
loses more slowly. The cover and the weather lengthen the hours by a factor each; the factors, and
the hours in the open, are common practice until a studio has its own times (`usual_time`).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.ware.usual_time import UsualTime, learn_time, stated_time
from studiolog.craft.words import COVERS, DRYING_WEATHERS

Stretch = Literal["stiffening", "workable"]
"""From thrown to leather-hard; and from leather-hard to too stiff to trim, join or carve."""

UNSAID: Final = ""
"""The cover of ware of which nobody said how it stands: taken as loosely in plastic."""
_UNSAID_AS: Final = "loose"
_KEYS: Final = {"stiffening": "stiffening_open_h", "workable": "workable_open_h"}


@dataclass(frozen=True, slots=True)
class Stood:
    """So many hours under one cover in one weather."""

    hours: float
    cover: str
    weather: str = "usual"


@dataclass(frozen=True, slots=True)
class DriedRun:
    """How a run dried: what it stood under until it was through, and which form it was of."""

    stood: tuple[Stood, ...]
    form_id: int | None = None

    @property
    def cover(self) -> str:
        """What it stood under longest."""
        hours: dict[str, float] = {}
        for part in self.stood:
            hours[part.cover] = hours.get(part.cover, 0.0) + part.hours
        return max(hours, key=lambda cover: hours[cover], default=UNSAID)


def cover_factor(cover: str, weather: str = "usual", limits: Limits = SHIPPED) -> float:
    """How many times as long drying takes as in the open in usual weather.

    Raises ValueError for a cover or weather that is none.
    """
    if cover not in COVERS and cover != UNSAID:
        raise ValueError(f"no cover {cover!r}")
    if weather not in DRYING_WEATHERS:
        raise ValueError(f"no weather {weather!r}")
    under = cover or _UNSAID_AS
    slower = 1.0 if under == "open" else limits[f"dries_slower_{under}"]
    return slower * (1.0 if weather == "usual" else limits[f"dries_slower_{weather}_weather"])


def stated_hours(
    stretch: Stretch, cover: str, weather: str = "usual", limits: Limits = SHIPPED
) -> UsualTime:
    """The hours as common practice has them, worth the few runs that limit says."""
    factor = limits["drying_time_factor"]
    if cover == UNSAID:
        factor **= 1.5  # nobody said how it stands: it may be anything
    return stated_time(
        limits[_KEYS[stretch]] * cover_factor(cover, weather, limits),
        factor,
        limits["drying_runs_worth"],
    )


class DryingTimes:
    """The hours as this studio's own runs have them, drawn towards common practice while few.

    Each run tells by which factor it took longer than stated for what it stood under. All runs
    move the stated hours first, those under a cover move what came of it, those of a form under
    that cover move that; ``of`` of the hours says how far it went and ``runs`` by how many:
    "studio", "cover", "form".
    """

    def __init__(
        self,
        stiffened: Sequence[DriedRun] = (),
        workable: Sequence[DriedRun] = (),
        limits: Limits = SHIPPED,
    ) -> None:
        self.limits = limits
        self._told = {
            "stiffening": _tell("stiffening", stiffened, limits),
            "workable": _tell("workable", workable, limits),
        }
        self._known: dict[tuple[object, ...], UsualTime] = {}

    def hours(
        self,
        stretch: Stretch,
        cover: str,
        weather: str = "usual",
        form_id: int | None = None,
        set_h: float | None = None,
    ) -> UsualTime:
        """The hours of a stretch; ``set_h`` are workable hours a potter set for the form."""
        if set_h is not None and stretch == "workable":
            return set_hours(set_h, cover, weather, self.limits)
        key = (stretch, cover, weather, form_id)
        if key not in self._known:
            self._known[key] = self._learn(stretch, cover, weather, form_id)
        return self._known[key]

    def _learn(self, stretch: Stretch, cover: str, weather: str, form_id: int | None) -> UsualTime:
        base = self.limits[_KEYS[stretch]] * cover_factor(cover, weather, self.limits)
        worth = self.limits["drying_runs_worth"]
        told = self._told[stretch]
        under = [one for one in told if one[1] == cover]
        of_form = [one for one in under if form_id is not None and one[2] == form_id]
        hours = stated_hours(stretch, cover, weather, self.limits)
        for of, some in (("studio", told), ("cover", under), ("form", of_form)):
            hours = learn_time(hours, [base * ratio for ratio, _, _ in some], worth, of)
        return hours


def _tell(
    stretch: Stretch, runs: Sequence[DriedRun], limits: Limits
) -> list[tuple[float, str, int | None]]:
    """How many times as long each run took as stated, its cover and its form."""
    whole = limits[_KEYS[stretch]]
    told = [(used_up(run.stood, limits) / whole, run.cover, run.form_id) for run in runs]
    return [one for one in told if one[0] > 0]


def used_up(stood: Sequence[Stood], limits: Limits = SHIPPED) -> float:
    """Hours in the open, in usual weather, that these hours under cover come to."""
    return math.fsum(part.hours / cover_factor(part.cover, part.weather, limits) for part in stood)


def say_basis(hours: UsualTime, cover: str) -> str:
    """On what hours rest: "from 7 runs loosely in plastic", "common practice, no run …"."""
    under = COVERS.get(cover, "of which nobody said how they stood")
    one = "1 run" if hours.runs == 1 else f"{hours.runs} runs"
    if hours.of == "form":
        return f"from {one} of this form {under}"
    if hours.of == "cover":
        return f"from {one} {under}"
    if hours.of == "studio":
        return f"common practice for this cover, moved by {one} under others"
    if hours.of == "set":
        return f"as set for this form, {COVERS[_UNSAID_AS]}"
    return "common practice, no run of yours yet"


def say_cover(cover: str, weather: str = "usual") -> str:
    """``loosely in plastic, in cold or damp weather``."""
    if cover == UNSAID:
        words = f"cover not said, taken as {COVERS[_UNSAID_AS]}"
    else:
        words = COVERS[cover]
        if cover == "open":
            words = "in the open"
    if weather != "usual":
        words += f", in {DRYING_WEATHERS[weather]} weather"
    return words


def set_hours(workable_h: float, cover: str, weather: str, limits: Limits = SHIPPED) -> UsualTime:
    """Hours a potter set for a form, which hold loosely in plastic in usual weather.

    Under another cover they are longer or shorter by the same factors as any.
    """
    factor = cover_factor(cover, weather, limits) / cover_factor(_UNSAID_AS, "usual", limits)
    hours = stated_time(workable_h * factor, limits["drying_time_factor"], 1e6)
    return UsualTime(hours.centre, hours.spread, hours.worth, 0, "set")
