"""A shared studio: the same journal on a PostgreSQL server that the test starts for itself."""

import glob
import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import create_engine, select, text
from sqlalchemy.orm import Session

from studiolog.journal.before_leaving import read_before_leaving
from studiolog.journal.clays import change_clay
from studiolog.journal.covers import cover_run
from studiolog.journal.facts import rebuild_facts
from studiolog.journal.finding import find_pieces
from studiolog.journal.form_steps import MakingStep
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.glaze_hazards import read_laboratory
from studiolog.journal.glaze_map import MapAsk, read_glaze_map
from studiolog.journal.glazes import RecipePart, set_recipe
from studiolog.journal.inspections import (
    FaultDraft,
    InspectionDraft,
    SurfaceDraft,
    log_inspection,
)
from studiolog.journal.matrix import read_matrix
from studiolog.journal.opening import Journal, open_journal
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order, list_orders
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    RunDraft,
    log_piece,
    log_run,
)
from studiolog.journal.question import ConeRange, Question
from studiolog.journal.question_chemistry import ChemistryRange
from studiolog.journal.rate_counts import count_pair_rates
from studiolog.journal.rates_report import read_rates
from studiolog.journal.review import read_review
from studiolog.journal.runs import add_pieces, lose_pieces, move_pieces
from studiolog.journal.wiping import wipe_records
from studiolog.journal.working_time import read_windows
from studiolog.journal.writing import add, change
from studiolog.problems import EditConflict, UndoRefused
from studiolog.records.clays import Clay
from studiolog.records.orders import Shipment
from studiolog.records.pieces import Piece
from tests.journal.conftest import enter_studio, snapshot
from tests.records.work_in_hand import Fortnight, plainly, where_they_differ
from tests.small_studio import enter_small_studio

pytestmark = pytest.mark.needs_postgresql


def _programs() -> Path | None:
    found = sorted(glob.glob("/usr/lib/postgresql/*/bin/initdb")) or [
        path for path in [shutil.which("initdb")] if path
    ]
    return Path(found[-1]).parent if found else None


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    programs = _programs()
    if programs is None:
        pytest.skip("no PostgreSQL on this machine")
    as_user: list[str] = []
    if os.geteuid() == 0:
        if (
            shutil.which("runuser") is None
            or subprocess.run(["id", "postgres"], capture_output=True, check=False).returncode
        ):
            pytest.skip("PostgreSQL does not run as root, and there is no postgres user")
        as_user = ["runuser", "-u", "postgres", "--"]
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    folder = Path(tempfile.mkdtemp(prefix="studiolog-pg-"))
    folder.chmod(0o777)
    data = str(folder / "data")
    options = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder}"

    def run(*words: str) -> None:
        subprocess.run([*as_user, *words], cwd="/", capture_output=True, check=True)

    try:
        run(str(programs / "initdb"), "-D", data, "-U", "potter", "--auth=trust", "-E", "UTF8")
        run(
            *(str(programs / "pg_ctl"), "-D", data, "-o", options),
            *("-l", str(folder / "log"), "-w", "start"),
        )
        yield f"postgresql://potter@127.0.0.1:{port}/postgres"
    finally:
        subprocess.run(
            [*as_user, str(programs / "pg_ctl"), "-D", data, "-m", "immediate", "stop"],
            cwd="/",
            capture_output=True,
            check=False,
        )
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def desks(server: str, tmp_path: Path) -> Iterator[tuple[Journal, Journal]]:
    throwing = open_journal(server, photos=tmp_path / "photos")
    throwing.desk = "throwing room"
    glazing = open_journal(server, photos=tmp_path / "photos")
    glazing.desk = "glaze room"
    yield throwing, glazing
    throwing.close()
    glazing.close()


def test_two_desks_keep_one_journal(desks: tuple[Journal, Journal]) -> None:
    throwing, glazing = desks
    studio = enter_studio(throwing)
    recipe = (RecipePart("Soda feldspar", 70), RecipePart("Whiting", 30))
    throwing.edit("Recipe", lambda s: set_recipe(s, studio.chalk, recipe))
    before = snapshot(throwing)
    piece = PieceDraft(
        clay_id=studio.red,
        layers=(
            LayerDraft(zone="outside", glaze_id=studio.kelp),
            LayerDraft(zone="outside", glaze_id=studio.chalk),
        ),
        placements=(PlacementDraft(firing_id=studio.firing, level_id=studio.bottom),),
    )
    piece_id = throwing.edit("Log piece 1", lambda s: log_piece(s, piece)).value
    looked = InspectionDraft(
        looked_on=date(2026, 10, 4),
        faults=(FaultDraft("crazing", 2),),
        surfaces=(SurfaceDraft("glossy"),),
    )
    glazing.edit("Inspect piece 1", lambda s: log_inspection(s, piece_id, looked))

    answer = glazing.read(lambda s: find_pieces(s, Question(fault="crazing")))
    assert [hit.piece_id for hit in answer.hits] == [piece_id]
    (rate,) = glazing.read(read_rates)
    assert (rate.zone, rate.inspected, rate.seen, rate.pieces) == ("outside", 1, 1, [1])
    pairs = glazing.read(count_pair_rates)
    assert list(zip(pairs.over.tolist(), pairs.under.tolist(), strict=True)) == [
        (studio.kelp, 0),
        (studio.chalk, studio.kelp),
    ]
    for columns in ("clay", "cone", "level"):
        matrix = glazing.read(
            lambda s, by=columns: read_matrix(s, Question(fault="crazing"), columns=by)
        )
        assert sum(cell.rate.events for line in matrix.cells for cell in line) == 1

    # What the glaze bench asks of a database, it asks of this one too.
    chalky = ChemistryRange("CaO", 0.5)
    shiny = Question(chemistry=(chalky,), surfaces=("glossy",), cone=ConeRange(5, 7))
    assert [hit.severity for hit in glazing.read(lambda s: find_pieces(s, shiny)).hits] == [1]
    (placed,) = glazing.read(
        lambda s: read_glaze_map(s, MapAsk(surface="glossy", fault=None, lying="anywhere"))
    ).glazes
    assert (placed.title, placed.rate.events, placed.rate.trials) == ("Chalk", 1, 1)
    (ware,) = glazing.read(lambda s: read_laboratory(s, studio.chalk)).ware
    assert ware.pieces == 1

    kept = snapshot(throwing)
    with throwing.engine.begin() as connection:
        rebuild_facts(connection)
    assert snapshot(throwing) == kept

    # Each desk undoes its own, and not what the other built on.
    with pytest.raises(UndoRefused, match="depends on it"):
        throwing.undo()
    glazing.undo()
    throwing.undo()
    assert snapshot(glazing) == before

    seen = throwing.read(lambda s: s.get_one(Clay, studio.buff).version)
    throwing.edit("One", lambda s: change_clay(s, studio.buff, seen, name="Buff, coarse"))
    with pytest.raises(EditConflict):
        glazing.edit("Two", lambda s: change_clay(s, studio.buff, seen, name="Buff, fine"))


def test_soft_clay_and_a_year_are_told_of_a_shared_journal(
    desks: tuple[Journal, Journal],
) -> None:
    throwing, glazing = desks
    monday = datetime(2026, 11, 9, 9)

    def enter(session: Session) -> int:
        steps = (MakingStep("thrown", 8, "wet"), MakingStep("trimmed", 7, "leather_hard"))
        form = add_form(session, FormDraft(name="Soup bowl", steps=steps))
        run_id = log_run(session, RunDraft(made_on=monday.date(), form_id=form))
        add_pieces(session, run_id, 12, monday)
        cover_run(session, run_id, "open", monday)
        move_pieces(session, run_id, "wet", "leather_hard", 12, monday + timedelta(days=1))
        lose_pieces(session, run_id, "leather_hard", 1, "rim split", monday + timedelta(days=1))
        draft = OrderDraft(whom="Quay café", lines=(OrderLineDraft(form_id=form, wanted=2),))
        order_id = add_order(session, draft)
        shipment = add(session, Shipment(order_id=order_id, shipped_on=date(2026, 12, 4)))
        sent = session.scalars(select(Piece).where(Piece.stage == "leather_hard").limit(2)).all()
        for piece in sent:
            change(session, Piece, piece.id, stage="finished", shipment_id=shipment)
        return run_id

    run_id = throwing.edit("Bowls", enter).value
    now = monday + timedelta(days=1, hours=2)
    window = glazing.read(lambda s: read_windows(s, [run_id], now))[run_id]
    assert (window.pieces, window.step, window.cover) == (9, "trimmed", "open")
    leaving = glazing.read(lambda s: read_before_leaving(s, now))
    assert leaving.looked_at == 1
    page = glazing.read(lambda s: read_review(s, date(2026, 1, 1), date(2026, 12, 31)))
    assert ("Soup bowl", 12, 1) in [(one.form, one.pieces, one.runs) for one in page.made]
    assert [(one.form, one.pieces) for one in page.sold] == [("Soup bowl", 2)]
    assert [(one.stage, one.why, one.pieces) for one in page.lost] == [
        ("leather_hard", "rim split", 1)
    ]


@pytest.fixture
def workshop(server: str, tmp_path: Path) -> Iterator[Journal]:
    """An empty journal of its own on the server."""
    keeper = create_engine(
        server.replace("postgresql://", "postgresql+psycopg://"), isolation_level="AUTOCOMMIT"
    )
    with keeper.connect() as connection:
        connection.execute(text("CREATE DATABASE workshop"))
    keeper.dispose()
    journal = open_journal(f"{server.rsplit('/', 1)[0]}/workshop", photos=tmp_path / "photos")
    yield journal
    journal.close()


def test_work_in_hand_is_told_alike_by_a_shared_journal_and_one_of_your_own(
    workshop: Journal, journal: Journal
) -> None:
    shared = Fortnight(workshop, enter_small_studio(workshop, cups=6))
    own = Fortnight(journal, enter_small_studio(journal, cups=6))
    before = snapshot(workshop)
    for one in (own, shared):
        one.live()
    assert shared.edits == own.edits > 50
    for page, told in own.read.items():
        differs = where_they_differ(plainly(shared.read[page]), plainly(told))
        assert not differs, f"{page}{differs}"

    # Every edit is one step back, and all of them lead to where it began; who ordered is forgotten.
    assert wipe_records(workshop, "Harbour inn").orders == (2,)
    for _ in range(shared.edits):
        assert workshop.undo() is not None
    assert snapshot(workshop) == before
    for _ in range(8):
        assert workshop.redo() is not None
    again = workshop.read(lambda session: list_orders(session, "open"))
    assert "customer of order 2" in [order.whom for order in again.orders]
    assert "Harbour" not in repr(snapshot(workshop, with_history=True))
