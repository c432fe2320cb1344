"""Fit of glaze and clay, learned from the journal's inspections: by clay, and by glaze.

A zone tells of fit where one glaze lies alone on the clay; its expansion must be one that can be
calculated. Every look counts, however late: crazing may come weeks after the firing, and seen once
is seen. What is left out is told, with why.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal, get_args

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import band_of
from studiolog.craft.glaze.fit import (
    FAULTS_OF_FIT,
    Chance,
    Fault,
    GlazeResult,
    Threshold,
    learn_threshold,
    stand,
)
from studiolog.craft.glaze.fit_next_tests import Candidate, NextTests, choose_tests
from studiolog.craft.limits import Limits
from studiolog.journal.fit_looks import FitLook, LookedPiece, Told, read_looks
from studiolog.journal.glaze_formula import GlazeFormula, read_formulas
from studiolog.journal.glazes import title_of
from studiolog.journal.limits import read_limits
from studiolog.records.clays import Clay
from studiolog.records.glazes import Glaze


@dataclass(frozen=True)
class ConeSpan:
    """Cones that evidence is taken from, in tenths: from ``low10`` to below ``high10``; None is
    open. A span that is open both ways takes pieces whose cone is not known, too."""

    low10: int | None = None
    high10: int | None = None

    @property
    def is_open(self) -> bool:
        """Whether it takes every cone."""
        return self.low10 is None and self.high10 is None

    def has(self, cone10: int | None) -> bool:
        """Whether a piece that got this cone, in tenths, counts; None: not known."""
        if cone10 is None:
            return self.is_open
        return (self.low10 is None or cone10 >= self.low10) and (
            self.high10 is None or cone10 < self.high10
        )


EVERY_CONE: Final = ConeSpan()


@dataclass(frozen=True)
class FitGlaze:
    """A glaze as a point: how it looks, its calculated expansion, and the pieces looked at."""

    glaze_id: int
    title: str
    colour: str
    pattern: int
    expansion_ppm_k: float
    pieces: tuple[LookedPiece, ...] = ()

    def count(self, told: Told) -> int:
        """How many of its pieces told this."""
        return sum(1 for one in self.pieces if one.told == told)

    @property
    def result(self) -> GlazeResult | None:
        """What it tells of the threshold; None where nobody looked."""
        counts = self.count("seen"), self.count("stressed"), self.count("unstressed")
        return GlazeResult(self.expansion_ppm_k, *counts) if sum(counts) else None

    @property
    def cones10(self) -> tuple[int, int] | None:
        """The lowest and highest cone its pieces got, in tenths."""
        known = [one.cone10 for one in self.pieces if one.cone10 is not None]
        return (min(known), max(known)) if known else None


WhyLeftOut = Literal["no formula", "out of range", "no glass", "unclear", "other cone", "no cone"]


@dataclass(frozen=True)
class LeftOut:
    """What was looked at and does not count, with the glazes it concerns and why."""

    why: WhyLeftOut
    glazes: tuple[str, ...]
    pieces: int
    told: tuple[str, ...] = ()


@dataclass(frozen=True)
class BandFit:
    """What half a cone alone would tell; ``band`` as `cones.band_of` counts."""

    band: int
    known: Threshold


@dataclass(frozen=True)
class FaultFit:
    """One fault on one clay, from the cones of a span.

    ``looked``: glazes with results; ``others``: the studio's glazes nobody looked at there, whose
    expansion is known. ``tests``: which of them to test next.
    """

    fault: Fault
    known: Threshold
    looked: tuple[FitGlaze, ...]
    others: tuple[FitGlaze, ...]
    tests: NextTests | None
    bands: tuple[BandFit, ...]
    left_out: tuple[LeftOut, ...]

    def glaze(self, glaze_id: int) -> FitGlaze | None:
        """A glaze of either list."""
        every = (*self.looked, *self.others)
        return next((one for one in every if one.glaze_id == glaze_id), None)


@dataclass(frozen=True)
class ClayFit:
    """Fit on one clay. ``shivering`` is None where nobody ever looked for it."""

    clay_id: int
    name: str
    span: ConeSpan
    crazing: FaultFit
    shivering: FaultFit | None

    def of(self, fault: Fault) -> FaultFit | None:
        """What is known of a fault; None where nobody looked for it."""
        return self.crazing if fault == "crazing" else self.shivering


@dataclass(frozen=True)
class ChanceOnClay:
    """How one glaze stands with one fault on one clay. ``own`` is its own evidence there."""

    clay_id: int
    name: str
    colour: str
    specks: str
    fault: Fault
    known: Threshold
    chance: Chance
    own: FitGlaze
    cones10: tuple[int, int] | None


@dataclass(frozen=True)
class GlazeFit:
    """One glaze on all clays. ``formula`` tells what its expansion rests on.

    Without an expansion that can be trusted ``chances`` is empty and ``problems`` say why.
    """

    glaze_id: int
    title: str
    kind: str
    span: ConeSpan
    formula: GlazeFormula
    chances: tuple[ChanceOnClay, ...]
    problems: tuple[str, ...]
    bands: tuple[int, ...]


@dataclass(frozen=True)
class _Shelf:
    """All glazes with their formulas."""

    glazes: Mapping[int, Glaze]
    formulas: Mapping[int, GlazeFormula]

    def point(self, glaze_id: int, pieces: Iterable[LookedPiece] = ()) -> FitGlaze | None:
        """A glaze as a point, None if its expansion can't be used."""
        formula = self.formulas[glaze_id]
        if formula.expansion_ppm_k is None or formula.expansion_warnings:
            return None
        glaze = self.glazes[glaze_id]
        return FitGlaze(
            glaze_id,
            title_of(glaze.name, glaze.version_number),
            glaze.colour,
            glaze.pattern,
            formula.expansion_ppm_k,
            tuple(sorted(pieces, key=lambda one: (one.number is None, one.number, one.piece_id))),
        )


def read_clay_fit(session: Session, clay_id: int, span: ConeSpan = EVERY_CONE) -> ClayFit | None:
    """Fit on a clay from the cones of a span; None if the clay is gone."""
    clay = session.get(Clay, clay_id)
    if clay is None:
        return None
    limits = read_limits(session)
    looks = read_looks(session, clay_id)
    shelf = _read_shelf(session, looks, limits)
    fits = {
        fault: _fit_of(shelf, [one for one in looks if one.fault == fault], fault, span, limits)
        for fault in FAULTS_OF_FIT
    }
    looked_for = any(one.fault == "shivering" for one in looks)
    return ClayFit(
        clay.id, clay.name, span, fits["crazing"], fits["shivering"] if looked_for else None
    )


def read_glaze_fit(session: Session, glaze_id: int, span: ConeSpan = EVERY_CONE) -> GlazeFit | None:
    """How one glaze stands on each clay that is not archived; None if the glaze is gone."""
    glaze = session.get(Glaze, glaze_id)
    if glaze is None:
        return None
    limits = read_limits(session)
    looks = read_looks(session)
    shelf = _read_shelf(session, looks, limits, (glaze_id,))
    formula = shelf.formulas[glaze_id]
    problems = tuple(filter(None, (formula.problem, *formula.expansion_warnings)))
    own = shelf.point(glaze_id)
    chances = []
    for clay in session.scalars(select(Clay).where(Clay.archived.is_(False)).order_by(Clay.id)):
        here = [one for one in looks if one.clay_id == clay.id]
        for fault in FAULTS_OF_FIT:
            of_fault = [one for one in here if one.fault == fault]
            if own is None or (fault == "shivering" and not of_fault):
                continue
            looked = _points(shelf, [one for one in of_fault if span.has(one.piece.cone10)])
            known = _learn(looked, fault, limits)
            point = next((one for one in looked if one.glaze_id == glaze_id), own)
            chances.append(
                ChanceOnClay(
                    clay.id,
                    clay.name,
                    clay.colour,
                    clay.specks,
                    fault,
                    known,
                    stand(known, own.expansion_ppm_k, point.result).chance(),
                    point,
                    _cones(looked),
                )
            )
    return GlazeFit(
        glaze_id,
        title_of(glaze.name, glaze.version_number),
        glaze.kind,
        span,
        formula,
        tuple(chances),
        problems,
        tuple(sorted(_bands_of(looks))),
    )


def _fit_of(
    shelf: _Shelf, looks: Collection[FitLook], fault: Fault, span: ConeSpan, limits: Limits
) -> FaultFit:
    taken = [one for one in looks if span.has(one.piece.cone10)]
    looked = _points(shelf, taken)
    known = _learn(looked, fault, limits)
    done = {one.glaze_id for one in looked}
    offered = {one.id for one in shelf.glazes.values() if _is_offered(one)}
    others = [shelf.point(glaze_id) for glaze_id in offered - done]
    candidates = [
        Candidate(one.glaze_id, one.expansion_ppm_k, one.count("unstressed"))
        for one in (*looked, *_by_expansion(one for one in others if one is not None))
        if one.glaze_id in offered and not one.count("seen") and not one.count("stressed")
    ]
    bands = [
        BandFit(
            band,
            _learn(_points(shelf, [one for one in looks if _in_band(one, band)]), fault, limits),
        )
        for band in sorted(_bands_of(looks))
    ]
    return FaultFit(
        fault,
        known,
        looked,
        _by_expansion(one for one in others if one is not None),
        choose_tests(known, candidates),
        tuple(one for one in bands if one.known.glazes),
        _left_out(shelf, looks, span),
    )


def _learn(looked: Iterable[FitGlaze], fault: Fault, limits: Limits) -> Threshold:
    results = [one.result for one in looked]
    return learn_threshold([one for one in results if one is not None], fault, limits)


def _points(shelf: _Shelf, looks: Iterable[FitLook]) -> tuple[FitGlaze, ...]:
    """The glazes that tell something, by expansion."""
    pieces: dict[int, list[LookedPiece]] = defaultdict(list)
    for one in looks:
        if one.piece.told not in ("unclear", "no glass"):
            pieces[one.glaze_id].append(one.piece)
    points = (shelf.point(glaze_id, some) for glaze_id, some in pieces.items())
    return _by_expansion(one for one in points if one is not None)


def _by_expansion(points: Iterable[FitGlaze]) -> tuple[FitGlaze, ...]:
    return tuple(sorted(points, key=lambda one: (one.expansion_ppm_k, one.glaze_id)))


def _cones(looked: Iterable[FitGlaze]) -> tuple[int, int] | None:
    spans = [one.cones10 for one in looked if one.cones10 is not None]
    return (min(low for low, _ in spans), max(high for _, high in spans)) if spans else None


def _in_band(look: FitLook, band: int) -> bool:
    return look.piece.cone10 is not None and band_of(look.piece.cone10) == band


def _bands_of(looks: Iterable[FitLook]) -> set[int]:
    return {band_of(one.piece.cone10) for one in looks if one.piece.cone10 is not None}


def _left_out(shelf: _Shelf, looks: Iterable[FitLook], span: ConeSpan) -> tuple[LeftOut, ...]:
    pieces: dict[str, set[int]] = defaultdict(set)
    glazes: dict[str, dict[str, None]] = defaultdict(dict)
    told: dict[str, dict[str, None]] = defaultdict(dict)
    for one in looks:
        glaze, formula = shelf.glazes[one.glaze_id], shelf.formulas[one.glaze_id]
        title = title_of(glaze.name, glaze.version_number)
        sentences: tuple[str, ...] = ()
        if formula.expansion_ppm_k is None:
            why, sentences = "no formula", (formula.problem,)
        elif formula.expansion_warnings:
            why, sentences = "out of range", formula.expansion_warnings
        elif not span.has(one.piece.cone10):
            why = "no cone" if one.piece.cone10 is None else "other cone"
        elif one.piece.told in ("unclear", "no glass"):
            why = one.piece.told
        else:
            continue
        pieces[why].add(one.piece.piece_id)
        glazes[why][title] = None
        told[why].update(dict.fromkeys(f"{title}: {s}" for s in sentences if s))
    order: tuple[WhyLeftOut, ...] = get_args(WhyLeftOut)
    return tuple(
        LeftOut(why, tuple(sorted(glazes[why])), len(pieces[why]), tuple(told[why]))
        for why in order
        if pieces[why]
    )


def _read_shelf(
    session: Session, looks: Iterable[FitLook], limits: Limits, more: Collection[int] = ()
) -> _Shelf:
    """The glazes somebody looked at, and those that may be tested next."""
    looked = {one.glaze_id for one in looks} | set(more)
    glazes = {
        one.id: one
        for one in session.scalars(select(Glaze).order_by(Glaze.id))
        if one.id in looked or _is_offered(one)
    }
    return _Shelf(glazes, read_formulas(session, list(glazes), limits))


def _is_offered(glaze: Glaze) -> bool:
    return glaze.kind == "glaze" and not glaze.archived and not glaze.trial
