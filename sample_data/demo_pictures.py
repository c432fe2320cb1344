"""Which pieces are photographed, when, and what each picture shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from studiolog.photos.moment import propose_moment

from .glaze_schemes import INSIDE, LOWER, OUTSIDE, UPPER, Coat
from .picture_spec import PictureFault, PictureLayer, PictureSpec
from .piece_story import Story
from .studio_setup import OAT, SHRINKAGE

WHOLE_PX = (720, 864)
CLOSE_PX = (600, 480)
NOTABLE = 130


@dataclass(frozen=True)
class PicturePlan:
    """One picture of a piece; ``whole`` ones are registered, so that pairs lie over each other."""

    name: str
    spec: PictureSpec
    moment: str
    caption: str = ""

    @property
    def whole(self) -> bool:
        return self.spec.view == "whole"

    @property
    def order(self) -> tuple[str, str, str, str]:
        """Pictures sorted by this are quickest drawn: what the camera sees is kept."""
        return (self.spec.form, self.spec.view, self.spec.moment, self.spec.clay)


def choose_notable(stories: list[Story], share: float) -> list[Story]:
    """The pieces worth a picture: those with something to see, chains, and a few of each form."""
    fired = [s for s in stories if s.plan.number is not None and s.at("fired") is not None]
    parents = {story.plan.came_from for story in stories}

    def worth(story: Story) -> tuple[float, int]:
        plan = story.plan
        points = 1.5 * bool(story.faults) + 2.0 * (plan.number in parents)
        points += 1.0 * (plan.came_from is not None) + 0.8 * bool(story.sizes)
        points += 1.2 * (not plan.form.startswith("test")) + 0.5 * (len(plan.coats) > 2)
        points += 50.0 * (plan.number == 412) + 20.0 * (plan.number in (27,))
        return (-points, plan.number or 0)

    return sorted(fired, key=worth)[: max(1, round(NOTABLE * share))]


def plan_pictures(stories: list[Story], share: float = 1.0) -> dict[int, list[PicturePlan]]:
    """Pictures by the number of the piece."""
    if share <= 0:
        return {}
    pictures: dict[int, list[PicturePlan]] = {}
    for rank, story in enumerate(choose_notable(stories, share)):
        assert story.plan.number is not None
        pictures[story.plan.number] = _of_piece(story, rank)
    return pictures


def _of_piece(story: Story, rank: int) -> list[PicturePlan]:
    plan = story.plan
    random = np.random.default_rng((plan.seed, 8))
    known = plan.number == 412
    glazed, fired = story.at("glazed"), story.at("fired")
    assert glazed is not None
    assert fired is not None
    out = datetime(2026, 10, 4, 9, 41, 7) if known else _after(random, fired)
    found = [_picture(story, "glazed", _after(random, glazed)), _picture(story, "fired", out)]
    if known or rank % 9 == 1:
        making = story.at("wet")
        assert making is not None
        found.insert(0, _picture(story, "making", _after(random, making)))
    if known or rank % 5 == 2:
        bisque = story.at("bisque")
        assert bisque is not None
        found.insert(0, _picture(story, "bisque", _after(random, bisque)))
    if known:
        for minutes, view, caption in ((3, "rim", "Rim"), (5, "wall", "Where they meet"),
                                       (6, "foot", "Foot"), (8, "inside", "Inside")):  # fmt: skip
            found.append(_picture(story, "fired", out + timedelta(minutes=minutes), view, caption))
    elif rank % 30 == 3 and plan.form in ("test_tumbler", "ripple_tumbler", "soup_bowl"):
        found.append(_picture(story, "fired", out + timedelta(minutes=2), "wall", "Close"))
    seen = {look.looked_on for look in story.inspections if any(
        fault.fault == "crazing" and fault.severity for fault in look.faults)}  # fmt: skip
    late = max((day for day in seen if (day - fired.date()).days > 14), default=None)
    if late is not None and (known or rank % 2 == 0):
        view = "inside" if known else "whole"
        when = datetime(late.year, late.month, late.day, 11, 14, int(random.integers(0, 60)))
        found.append(_picture(story, "later", when, view, "Crazed" if not known else "Inside"))
    return found


def _after(random: np.random.Generator, when: datetime) -> datetime:
    return when + timedelta(minutes=int(random.integers(6, 50)), seconds=int(random.integers(60)))


def _picture(
    story: Story, moment: str, taken_at: datetime, view: str = "whole", caption: str = ""
) -> PicturePlan:
    plan = story.plan
    proposed = propose_moment(taken_at, [(when, stage) for stage, when in story.stages])
    width, height = WHOLE_PX if view == "whole" else CLOSE_PX
    bare = moment in ("making", "bone_dry", "bisque")
    days = (taken_at.date() - (story.at("fired") or taken_at).date()).days
    faults = () if moment not in ("fired", "later") else tuple(
        PictureFault(f.fault, f.severity, f.zone) for f in story.faults if f.after_days <= days
    )  # fmt: skip
    spec = PictureSpec(
        form=plan.form, clay=plan.clay, moment=moment, taken_at=taken_at,
        seed=plan.seed % 100_000, layers=() if bare else picture_layers(plan.coats),
        faults=faults, shrinkage=SHRINKAGE[plan.clay], view=view,
        width_px=width, height_px=height,
    )  # fmt: skip
    name = f"{plan.number:03d}-{taken_at:%Y%m%d-%H%M%S}.jpg"
    return PicturePlan(name, spec, proposed, caption)


def picture_layers(coats: list[Coat]) -> tuple[PictureLayer, ...]:
    """Layers for the camera: one dip over the whole outside is one layer, not two halves."""
    lower = [coat.glaze for coat in coats if coat.zone == LOWER]
    layers: list[PictureLayer] = []
    met = 0
    for coat in coats:
        zone = coat.zone
        if zone == LOWER:
            continue
        if zone == UPPER and met < len(lower) and lower[met] == coat.glaze:
            zone, met = OUTSIDE, met + 1
        thickness = 1.0
        if coat.seconds is not None:
            thickness = min(0.55 + 0.15 * coat.seconds, 1.6)
        elif coat.coats is not None:
            thickness = min(0.5 + 0.35 * coat.coats, 1.5)
        if coat.glaze == OAT and zone == INSIDE:
            thickness = min(thickness, 1.3)
        layers.append(PictureLayer(coat.glaze, zone, coat.method, round(thickness, 2)))
    return tuple(layers)
