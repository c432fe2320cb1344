"""Shrinkage bars and absorption tests of the three clays, as a potter makes them of a new bag."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import partial

import numpy as np
from sqlalchemy.orm import Session

from studiolog.journal.absorption import AbsorptionDraft, add_absorption
from studiolog.journal.bars import TITLE
from studiolog.journal.pieces import PieceDraft, PlacementDraft, SizeDraft, log_piece
from studiolog.journal.writing import next_number
from studiolog.records.pieces import Piece

from .demo_writer import Writer
from .firing_year import FiringOutcome, FiringPlan
from .studio_setup import BIG, BUFF, PORCELAIN, PROGRAMS, RED, SHRINKAGE

BARS = 7
_BOILED = (1, 5)
_FIRED_IN = ("six", "seven", "gentle")
_WET_MM = 100.0
_BY_CONE = 0.004
"""What a cone more adds to the shrinkage of these invented clays."""
_SPREAD = 0.0018
_WARPED = {PORCELAIN: (3, 0.021)}
"""The porcelain bar that bent: measured straight across, it seems to have shrunk more."""
_ABSORBS = {BUFF: (2.4, 2.05), RED: (1.6, 1.9), PORCELAIN: (0.4, 2.32)}
"""Per cent at cone 6, and bulk density, g/ml."""


def measure_clays(writer: Writer) -> None:
    """Seven bars of each clay through glaze firings of the year, and two of them boiled."""
    plans = [
        plan
        for plan in sorted(writer.firings.values(), key=lambda one: one.number)
        if plan.kiln == BIG and plan.program in _FIRED_IN
    ]
    # Some early in the year, some late: and not all at one heat.
    plans = [plans[(k * len(plans)) // BARS] for k in range(BARS)]
    for place, (clay, clay_id) in enumerate(writer.set_up.clays.items()):
        rng = np.random.default_rng(700 + place)
        bars = [_plan_bar(clay, bar, plan, writer.outcomes[plan.number], rng)
                for bar, plan in enumerate(plans)]  # fmt: skip
        tests = [_plan_test(clay, plans[bar], rng) for bar in _BOILED]
        edit = partial(_enter, writer=writer, clay_id=clay_id, plans=plans, bars=bars, tests=tests)
        writer.journal.edit(f"Measure test bars of {clay}", edit)


def _enter(
    session: Session,
    writer: Writer,
    clay_id: int,
    plans: list[FiringPlan],
    bars: list[PieceDraft],
    tests: list[tuple[float, float, float]],
) -> None:
    level = writer.set_up.levels[BIG, "middle"]
    numbers = []
    for plan, bar in zip(plans, bars, strict=True):
        place = PlacementDraft(firing_id=writer.firing_ids[plan.number], level_id=level)
        numbers.append(next_number(session, Piece.number))
        log_piece(session, replace(bar, clay_id=clay_id, placements=(place,)))
    for which, (dry, boiled, in_water) in zip(_BOILED, tests, strict=True):
        day = writer.outcomes[plans[which].number].ended_at.date() + timedelta(days=3)
        draft = AbsorptionDraft(
            tested_on=day, dry_g=dry, saturated_g=boiled, suspended_g=in_water,
            piece_number=numbers[which],
        )  # fmt: skip
        add_absorption(session, clay_id, draft, day)


def _plan_bar(
    clay: str, bar: int, plan: FiringPlan, outcome: FiringOutcome, rng: np.random.Generator
) -> PieceDraft:
    cone = outcome.level_cones["middle"]
    total = SHRINKAGE[clay] + _BY_CONE * (cone - 6.0) + rng.normal(0.0, _SPREAD)
    which, more = _WARPED.get(clay, (-1, 0.0))
    total += more if bar == which else 0.0
    drying = 1.0 - (1.0 - SHRINKAGE[clay]) ** 0.5 + rng.normal(0.0, _SPREAD / 2)
    dry = _WET_MM * (1.0 - drying)
    bisque = dry * (1.0 - 0.004 + rng.normal(0.0, 0.0008))
    made = plan.started_at - timedelta(days=21)
    sizes = (
        ("wet", _WET_MM),
        ("bone_dry", dry),
        ("bisque", bisque),
        ("fired", _WET_MM * (1.0 - total)),
    )
    return PieceDraft(
        title=TITLE,
        made_on=made.date(),
        stage="fired",
        stages=(
            ("wet", made),
            ("bone_dry", made + timedelta(days=7)),
            ("bisque", made + timedelta(days=14)),
            ("fired", outcome.ended_at),
        ),
        sizes=tuple(SizeDraft(stage=stage, mark_mm=round(size, 1)) for stage, size in sizes),
        kept_where="Box of test bars",
    )


def _plan_test(clay: str, plan: FiringPlan, rng: np.random.Generator) -> tuple[float, float, float]:
    """Dry, boiled, in water, g."""
    percent, density = _ABSORBS[clay]
    cone = float(PROGRAMS[plan.program].cone)
    percent *= max(0.2, (1.0 - 0.4 * (cone - 6.0)) * (1.0 + rng.normal(0.0, 0.05)))
    dry = 62.0 + rng.normal(0.0, 2.0)
    boiled = dry * (1.0 + percent / 100.0)
    return round(dry, 2), round(boiled, 2), round(boiled - dry / density, 2)
