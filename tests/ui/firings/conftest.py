"""A small studio at a desk: one kiln with three levels, a program, two firings, some pieces."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from studiolog.desktop.desk import Desk
from studiolog.journal.firing_log import log_from_typed
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.pieces import PieceDraft, log_piece
from studiolog.journal.programs import ProgramDraft, SegmentDraft, add_program
from studiolog.ui.firings.screen import FiringsScreen
from tests.ui.conftest import OpenScreen

SEGMENTS = (
    SegmentDraft(100, 120),
    SegmentDraft(180, 1080),
    SegmentDraft(60, 1222, 15),
    SegmentDraft(None, 60),
)


@dataclass(frozen=True)
class Yard:
    """The desk, its firings screen, and ids."""

    desk: Desk
    screen: FiringsScreen
    kiln: int
    top: int
    middle: int
    bottom: int
    program: int
    logged: int
    planned: int
    pieces: tuple[int, ...]


def steady_log() -> list[tuple[float, float]]:
    """A firing to 1222 °C at 60 °C/h at the end, held a quarter of an hour, cooled in a day."""
    hours = [0, 1, 1 + 960 / 180, 1 + 960 / 180 + 142 / 60, 1.25 + 960 / 180 + 142 / 60, 24]
    heats = [20, 120, 1080, 1222, 1222, 80]
    grid = np.arange(0, 24 * 3600, 120.0)
    values = np.interp(grid, np.array(hours) * 3600, heats)
    return list(zip(grid.tolist(), values.tolist(), strict=True))


@pytest.fixture
def yard(desk: Desk, open_screen: OpenScreen) -> Iterator[Yard]:
    def enter(session: Any) -> tuple[Any, ...]:
        kiln = add_kiln(
            session, KilnDraft(name="Big kiln", tariff_per_kwh=Decimal("0.3"), shelf_across_mm=460)
        )
        levels = [level.level_id for level in list_kilns(session)[0].levels]
        program = add_program(session, ProgramDraft(name="Slow 6", cone="6", segments=SEGMENTS))
        form = add_form(session, FormDraft(name="Ripple tumbler", fired_across_mm=82))
        pieces = tuple(
            log_piece(
                session,
                PieceDraft(number=n, form_id=form, made_on=date(2026, 9, 1), stage="glazed"),
            )
            for n in (388, 390, 391)
        )
        logged = log_firing(
            session,
            FiringDraft(
                kiln_id=kiln,
                program_id=program,
                started_at=datetime(2026, 10, 2, 7, 10),
                log=log_from_typed(steady_log()),
                kwh=58.4,
            ),
        )
        planned = log_firing(
            session,
            FiringDraft(kiln_id=kiln, program_id=program, started_at=datetime(2026, 10, 9, 7, 30)),
        )
        return (kiln, *levels, program, logged, planned, pieces)

    ids = desk.journal.edit("Set up", enter).value
    screen = open_screen(FiringsScreen, 1280, 720)
    yield Yard(desk, screen, *ids)
    screen.hide()


@pytest.fixture
def opened(qtbot: Any) -> Callable[..., Any]:
    """The dialog of a kind that is open now."""

    def find(screen: FiringsScreen, kind: type) -> Any:
        found = [d for d in screen.findChildren(kind) if d.isVisible()]
        assert len(found) == 1, found
        return found[0]

    return find
