"""How each glaze of Tern Yard comes out: words a potter would say of it, by the cone it got."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from studiolog.craft.glaze.layering import stack_layers
from studiolog.journal.inspections import InspectionDraft, SurfaceDraft

from .glaze_schemes import Coat
from .studio_setup import CHALK, CLEAR, KELP, OAT, RUST, TIDE

_DESCRIBED = 0.62
# (cool, right, hot) shine, then depth, then what else is often seen with how often.
_COMES_OUT = {
    KELP: (("satin", "glossy", "glossy"), "translucent", (("breaking", 0.7),)),
    CHALK: (("matt", "satin", "satin"), "opaque", (("even", 0.3), ("smooth", 0.3))),
    RUST: (("satin", "satin", "glossy"), "opaque", (("mottled", 0.45), ("crystals", 0.12))),
    TIDE: (("glossy", "glossy", "glossy"), "translucent", (("streaked", 0.3),)),
    OAT: (("matt", "matt", "satin"), "opaque", (("even", 0.35),)),
    CLEAR: (("satin", "glossy", "glossy"), "clear", (("smooth", 0.4),)),
}


def describe_surfaces(
    random: np.random.Generator, coats: Sequence[Coat], cone: float
) -> tuple[SurfaceDraft, ...]:
    """Words for each zone by the glaze that lies outermost there; often none, as people are."""
    words: list[SurfaceDraft] = []
    for zone, laid in stack_layers((coat.zone, coat) for coat in coats).items():
        if random.random() > _DESCRIBED:
            continue
        shines, depth, more = _COMES_OUT[laid[-1].glaze]
        got = cone + random.normal(0, 0.25)
        words.append(SurfaceDraft(shines[0 if got < 5.3 else 2 if got > 6.6 else 1], zone))
        if random.random() < 0.7:
            words.append(SurfaceDraft(depth, zone))
        words += [SurfaceDraft(word, zone) for word, often in more if random.random() < often]
        if len(laid) > 1 and random.random() < 0.15:
            words.append(SurfaceDraft("halo", zone))
        if laid[-1].glaze in (KELP, RUST) and got > 6.7 and random.random() < 0.5:
            words.append(SurfaceDraft("fluid", zone))
    return tuple(words)


def with_surfaces(
    looks: tuple[InspectionDraft, ...], seed: int, coats: Sequence[Coat], cone: float
) -> tuple[InspectionDraft, ...]:
    """The looks with the first one's words for the surface: it is described out of the kiln."""
    if not looks or not coats:
        return looks
    words = describe_surfaces(np.random.default_rng((seed, 11)), coats, cone)
    return (replace(looks[0], surfaces=words), *looks[1:])
