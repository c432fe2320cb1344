"""Words for fired surfaces: as they are said in a line, and what a glaze came out as how often."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import Rate, rate_of
from studiolog.craft.firing.cones import band_of, say_band
from studiolog.craft.words import SURFACE_GROUPS, SURFACES, group_mask, surface_bit
from studiolog.journal.tables import table
from studiolog.records.facts import path_fact
from studiolog.records.inspections import Inspection, SurfaceReading


class SaidOfZone(Protocol):
    """A surface word with the zone it was said of; none speaks of the whole piece."""

    @property
    def word(self) -> str: ...

    @property
    def zone(self) -> str: ...


def by_zone(surfaces: Iterable[SaidOfZone]) -> dict[str, tuple[str, ...]]:
    """The words of each zone in the order of the word list; the whole piece ("") comes first."""
    said: dict[str, set[str]] = defaultdict(set)
    names: dict[str, str] = {}
    for surface in surfaces:
        key = surface.zone.strip().lower()
        names.setdefault(key, surface.zone.strip())
        said[key].add(surface.word)
    order = sorted(said, key=lambda key: (bool(key), list(said).index(key)))
    return {names[key]: tuple(w for w in SURFACES if w in said[key]) for key in order}


def say_surfaces(surfaces: Iterable[SaidOfZone]) -> str:
    """All that was said of a surface in one line: "glossy, clear; inside: matt"."""
    parts = []
    for zone, words in by_zone(surfaces).items():
        listed = ", ".join(SURFACES[word] for word in words)
        parts.append(f"{zone}: {listed}" if zone else listed)
    return "; ".join(parts)


def surfaces_by_inspection(session: Session, piece_id: int) -> dict[int, list[SurfaceReading]]:
    """The surface words of each inspection of a piece, as they were entered."""
    found: dict[int, list[SurfaceReading]] = defaultdict(list)
    for reading in session.scalars(
        select(SurfaceReading)
        .join(Inspection, Inspection.id == SurfaceReading.inspection_id)
        .where(Inspection.piece_id == piece_id)
        .order_by(SurfaceReading.id)
    ):
        found[reading.inspection_id].append(reading)
    return dict(found)


@dataclass(frozen=True)
class WordRate:
    """On how many of the pieces whose ``group`` was described a word was said."""

    word: str
    group: str
    rate: Rate


@dataclass(frozen=True)
class SurfaceCut:
    """One clay, or one half cone, and how often each word was said there, commonest first."""

    title: str
    pieces: int
    words: tuple[WordRate, ...]


@dataclass(frozen=True)
class GlazeSurfaces:
    """How a glaze came out: on all pieces that carry it, by clay, and by the cone they got.

    ``described`` pieces have a surface word for a zone that carries the glaze. Where several
    glazes lie on a zone its surface is that of all of them together: ``alone`` counts those of
    the described pieces on which this glaze is the only one there.
    """

    carried: int
    described: int
    alone: int
    words: tuple[WordRate, ...]
    by_clay: tuple[SurfaceCut, ...]
    by_cone: tuple[SurfaceCut, ...]


def read_glaze_surfaces(session: Session, glaze_id: int) -> GlazeSurfaces:
    """How often a glaze came out glossy, satin, clear …, counted by pieces."""
    clay = table("clay")
    names: Mapping[int, str] = {
        row.id: row.name for row in session.execute(select(clay.c.id, clay.c.name))
    }
    masks: dict[int, int] = defaultdict(int)
    clays: dict[int, int | None] = {}
    cones: dict[int, int | None] = {}
    alone: set[int] = set()
    for row in session.execute(
        select(path_fact).where(path_fact.c.path.contains(f"|{glaze_id}|", autoescape=True))
    ):
        masks[row.piece_id] |= row.surfaces
        clays[row.piece_id], cones[row.piece_id] = row.clay_id, row.cone10
        if row.surfaces and row.path == f"|{glaze_id}|":
            alone.add(row.piece_id)
    described = [piece for piece, mask in masks.items() if mask]
    by_clay: dict[int, list[int]] = defaultdict(list)
    by_band: dict[int, list[int]] = defaultdict(list)
    for piece in described:
        clay_id, cone10 = clays[piece], cones[piece]
        if clay_id is not None:
            by_clay[clay_id].append(masks[piece])
        if cone10 is not None:
            by_band[band_of(cone10)].append(masks[piece])
    return GlazeSurfaces(
        carried=len(masks),
        described=len(described),
        alone=len(alone),
        words=count_words([masks[piece] for piece in described]),
        by_clay=tuple(
            SurfaceCut(names.get(key, "a clay no longer known"), len(some), count_words(some))
            for key, some in sorted(by_clay.items())
        ),
        by_cone=tuple(
            SurfaceCut(say_band(band), len(some), count_words(some))
            for band, some in sorted(by_band.items())
        ),
    )


def count_words(masks: Sequence[int]) -> tuple[WordRate, ...]:
    """How often each word was said, of the pieces whose group was described, commonest first.

    ``masks`` has one entry a piece: the bits of its words. Groups keep their order; words never
    said stay out.
    """
    found: list[WordRate] = []
    for group, words in SURFACE_GROUPS.items():
        trials = sum(bool(mask & group_mask(group)) for mask in masks)
        counted = [
            WordRate(word, group, rate_of(sum(bool(m & surface_bit(word)) for m in masks), trials))
            for word in words
        ]
        said = [one for one in counted if one.rate.events]
        found += sorted(said, key=lambda one: -one.rate.events)
    return tuple(found)
