"""Test plans from a first idea to what was learned."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.plans import Ladder, PlanOptions
from studiolog.journal.clays import ClayDraft, add_clay, delete_clay
from studiolog.journal.find import find_anything
from studiolog.journal.finding import read_names
from studiolog.journal.firings import ConeDraft, FiringDraft, PackDraft, log_firing
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.glaze_page import read_glaze_page
from studiolog.journal.glaze_plans import read_glaze_plans
from studiolog.journal.glazes import (
    GlazeDraft,
    RecipePart,
    add_glaze,
    add_version,
    delete_glaze,
    list_glazes,
    set_recipe,
)
from studiolog.journal.inspections import FaultDraft, InspectionDraft, SurfaceDraft, log_inspection
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.limits import set_limit
from studiolog.journal.materials import LotDraft, add_lot, add_material, change_material
from studiolog.journal.matrix import read_matrix
from studiolog.journal.opening import Journal
from studiolog.journal.piece_page import read_piece_page
from studiolog.journal.pieces import delete_piece, move_to_stage
from studiolog.journal.plan_cautions import read_plan_cautions
from studiolog.journal.plan_page import PlanPage, list_plans, read_plan_page
from studiolog.journal.plan_results import PlanPlace
from studiolog.journal.plan_work import (
    glaze_tiles,
    keep_as_version,
    keep_glaze,
    make_pieces,
    mark_fired,
    put_in_firing,
    set_corner_gravity,
    take_corners_from_stock,
)
from studiolog.journal.plans import (
    CornerDraft,
    PlanDraft,
    add_plan,
    archive_plan,
    change_plan,
    delete_plan,
    preview_plan,
)
from studiolog.journal.question import Question
from studiolog.journal.question_reading import read_question
from studiolog.journal.sheet_choices import read_glazes
from studiolog.journal.stock import StockDraft, add_stock_change, read_stock
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.glazes import Glaze, RecipeLine
from studiolog.records.materials import Material
from studiolog.records.pieces import Layer, Piece, Placement, Run
from tests.journal.conftest import snapshot

DAY = date(2026, 10, 1)


@dataclass(frozen=True)
class Bench:
    """A glaze bench with two glazes that have recipes, one bought glaze, a clay and a kiln."""

    journal: Journal
    kelp: int
    chalk: int
    bought: int
    buff: int
    tile: int
    firing: int
    level: int

    def plan(self, kind: str, *glazes: int, **options: object) -> PlanDraft:
        return PlanDraft(
            name="Kelp towards Chalk",
            kind=kind,
            corners=tuple(CornerDraft(glaze_id=one) for one in glazes),
            made_on=DAY,
            options=PlanOptions(**options),  # type: ignore[arg-type]
            clay_id=self.buff,
            form_id=self.tile,
        )

    def add(self, draft: PlanDraft) -> int:
        return self.journal.edit("Plan tests", lambda session: add_plan(session, draft)).value

    def page(self, plan_id: int) -> PlanPage:
        page = self.journal.read(lambda session: read_plan_page(session, plan_id))
        assert page is not None
        return page


@pytest.fixture
def bench(journal: Journal) -> Bench:
    def enter(session: Session) -> Bench:
        kiln = add_kiln(session, KilnDraft(name="Test kiln", levels=("upper", "lower")))
        levels = list_kilns(session)[0].levels
        pack = PackDraft(
            level_id=levels[0].level_id,
            cones=(ConeDraft(cone="6", bend_low_deg=88, bend_high_deg=94),),
        )
        started = datetime(2026, 10, 8, 7)
        firing = FiringDraft(kiln_id=kiln, started_at=started, cone="6", packs=(pack,))
        return Bench(
            journal,
            add_glaze(session, KELP),
            add_glaze(session, CHALK),
            add_glaze(session, GlazeDraft(name="Shop Red", bought=True)),
            add_clay(session, ClayDraft(name="Buff stoneware")),
            add_form(session, FormDraft(name="Test tile", shape="tile")),
            log_firing(session, firing),
            levels[0].level_id,
        )

    return journal.edit("Set up the bench", enter).value


KELP = GlazeDraft(
    name="Kelp", colour="#48654C", specific_gravity=1.46,
    recipe=(
        RecipePart("Nepheline syenite", 36), RecipePart("Silica", 24), RecipePart("Whiting", 16),
        RecipePart("Kaolin", 10), RecipePart("Talc", 6), RecipePart("Zinc oxide", 8),
        RecipePart("Rutile", 2, addition=True),
    ),
)  # fmt: skip
CHALK = GlazeDraft(
    name="Chalk", colour="#F2EEE2", specific_gravity=1.50,
    recipe=(
        RecipePart("Potash feldspar", 34), RecipePart("Silica", 18), RecipePart("Whiting", 20),
        RecipePart("Kaolin", 20), RecipePart("Talc", 8),
        RecipePart("Zirconium silicate", 9, addition=True),
    ),
)  # fmt: skip


def test_a_line_of_six_is_looked_at_made_and_taken_back_in_one_step(bench: Bench) -> None:
    draft = bench.plan("line", bench.kelp, bench.chalk, along=6)
    before = snapshot(bench.journal)
    preview = bench.journal.read(lambda session: preview_plan(session, draft))
    assert snapshot(bench.journal) == before
    page = bench.page(bench.add(draft))
    assert [tile.code for tile in page.tiles] == [tile.code for tile in preview.tiles]
    assert [tile.words for tile in page.tiles][:2] == ["Kelp alone", "80 Kelp, 20 Chalk"]
    assert page.mixing == preview.mixing
    for told, tile in zip(preview.tiles, page.tiles, strict=True):
        assert told.formula is not None
        assert tile.formula is not None
        assert tile.formula.silica == pytest.approx(told.formula.silica, abs=1e-4)
        assert tile.formula.expansion_ppm_k == pytest.approx(told.formula.expansion_ppm_k, abs=1e-3)
    bench.journal.undo()
    assert snapshot(bench.journal) == before
    bench.journal.redo()
    assert bench.page(page.plan_id).line.progress == "6 planned"


def test_the_ends_of_a_line_are_the_glazes_themselves_and_its_blends_are_trials(
    bench: Bench,
) -> None:
    page = bench.page(bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3)))
    first, middle, last = page.tiles
    assert (first.glaze_id, last.glaze_id) == (bench.kelp, bench.chalk)
    assert (middle.glaze_title, middle.trial) == ("A-2", True)
    assert not first.trial
    titles = [line.title for line in bench.journal.read(list_glazes)]
    assert titles == ["Kelp", "Chalk", "Shop Red"]
    offered = bench.journal.read(lambda session: read_glazes(session, ()))
    assert [glaze.title for glaze in offered] == titles
    asked = bench.journal.read(lambda session: list_glazes(session, trial=True))
    assert [line.title for line in asked][-1] == "A-2"
    more = bench.journal.edit("Enter", lambda s: add_glaze(s, GlazeDraft(name="Oat"))).value
    oat = next(one for one in bench.journal.read(list_glazes) if one.glaze_id == more)
    assert oat.pattern == 3, "the glazes of tiles use up no patterns"


def test_a_blend_keeps_the_lots_its_glazes_were_computed_with(bench: Bench) -> None:
    first = bench.page(bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3)))

    def new_lot(session: Session) -> None:
        silica = session.scalar(select(Material.id).where(Material.name == "Silica"))
        assert silica is not None
        # A bag so bad that no sum could overlook it.
        add_lot(
            session,
            silica,
            LotDraft(dated=date(2026, 10, 2), oxides={"SiO2": 50, "Al2O3": 50}, loi_percent=0),
        )

    bench.journal.edit("New bag of silica", new_lot)
    again = bench.page(bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3)))
    assert again.code == "B"
    assert again.tiles[1].formula == first.tiles[1].formula
    added = bench.plan("additions", bench.chalk, ladders=(Ladder("Cobalt carbonate", (0, 1)),))
    tile = bench.page(bench.add(added)).tiles[1]
    assert tile.glaze_id is not None

    def lots(session: Session) -> list[int | None]:
        return list(
            session.scalars(select(RecipeLine.lot_id).where(RecipeLine.glaze_id == tile.glaze_id))
        )

    assert None not in bench.journal.read(lots), "what is added gets the lot in force"


def test_a_silica_by_alumina_grid_lies_on_its_grid(bench: Bench) -> None:
    draft = bench.plan(
        "silica_alumina", bench.chalk, silica=(2.8, 4.2), alumina=(0.38, 0.55), rows=3, columns=4
    )
    page = bench.page(bench.add(draft))
    for tile in page.tiles:
        assert tile.formula is not None
        across, up = (tile.column - 1) / 3, (3 - tile.row) / 2
        assert tile.formula.silica == pytest.approx(2.8 + 1.4 * across, abs=0.01)
        assert tile.formula.alumina == pytest.approx(0.38 + 0.17 * up, abs=0.005)
    assert page.base is not None
    assert page.base.glaze_id == bench.chalk
    kept = page.base.formula.oxides
    for corner in page.corners:
        assert corner.trial
        for flux in ("K2O", "CaO", "MgO"):
            assert corner.formula.oxides[flux] == pytest.approx(kept[flux], abs=0.01)
        zircon = [part for part in corner.recipe if part.addition]
        assert [(part.material, part.parts) for part in zircon] == [("Zirconium silicate", 9)]
    preview = bench.journal.read(lambda session: preview_plan(session, replace(draft, code="Z")))
    assert "every tile lies on the grid; by equal dry weight" in preview.remarks[0]


def test_a_corner_out_of_reach_is_reached_with_one_more_material(bench: Bench) -> None:
    options = {"silica": (2.4, 4.0), "alumina": (0.4, 0.62)}
    short = bench.plan("silica_alumina", bench.chalk, **options)
    with pytest.raises(UserProblem, match=r"SiO₂ 2\.4, Al₂O₃ 0\.62 can't be reached") as problem:
        bench.add(short)
    assert "Al₂O₃" in problem.value.sentence
    with pytest.raises(UserProblem, match="No analysis of Moon dust is known") as unknown:
        bench.add(bench.plan("silica_alumina", bench.chalk, shelf=("Moon dust",), **options))
    assert "shelf" in unknown.value.fields
    more = bench.plan("silica_alumina", bench.chalk, shelf=("Alumina hydrate",), **options)
    page = bench.page(bench.add(more))
    assert "Alumina hydrate" in [part.material for part in page.corners[0].recipe]
    assert page.tiles[0].formula is not None
    assert page.tiles[0].formula.alumina == pytest.approx(0.62, abs=0.01)


def test_equal_dry_weights_are_told_to_be_off_the_grid(bench: Bench) -> None:
    draft = bench.plan(
        "silica_alumina", bench.chalk, silica=(2.8, 4.8), alumina=(0.38, 0.5), equal_weight=True
    )
    preview = bench.journal.read(lambda session: preview_plan(session, draft))
    assert preview.tiles[4].shares == (0.25, 0.25, 0.25, 0.25)
    off = 0.0
    for tile in preview.tiles:
        assert tile.formula is not None
        assert tile.formula.silica is not None
        off = max(off, abs(tile.formula.silica - (2.8 + tile.column - 1)))
    assert off > 0.1
    assert f"up to {off:.2f} mol SiO₂ off the grid" in preview.remarks[0]


def test_a_plan_goes_through_the_kiln_and_becomes_a_page_of_results(bench: Bench) -> None:
    plan_id = bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3, method="dip"))
    journal = bench.journal
    with pytest.raises(UserProblem, match="have been made yet: make them first"):
        journal.edit("Glaze", lambda s: glaze_tiles(s, plan_id, DAY))
    before = snapshot(journal)
    run_id = journal.edit("Make", lambda s: make_pieces(s, plan_id, DAY)).value
    journal.undo()
    assert snapshot(journal) == before
    journal.redo()

    def made(session: Session) -> tuple[str, list[tuple[int | None, str, str]]]:
        run = session.get(Run, run_id)
        assert run is not None
        rows = session.execute(
            select(Piece.number, Piece.title, Piece.stage).where(Piece.run_id == run_id)
        )
        return run.purpose, [tuple(row) for row in rows]

    assert journal.read(made) == (
        "test", [(1, "A1", "bisque"), (2, "A2", "bisque"), (3, "A3", "bisque")]
    )  # fmt: skip
    with pytest.raises(UserProblem, match="has its piece already"):
        journal.edit("Make", lambda s: make_pieces(s, plan_id, DAY))

    page = bench.page(plan_id)
    assert page.next_step == "glaze"
    with pytest.raises(UserProblem, match="A1, A2, A3 can't be put in firing 1"):
        journal.edit("Place", lambda s: put_in_firing(s, plan_id, bench.firing))
    with pytest.raises(UserProblem, match="A1 was bisque on 2026-10-01"):
        journal.edit("Glaze", lambda s: glaze_tiles(s, plan_id, date(2026, 9, 30)))
    two = [page.tiles[0].tile_id, page.tiles[1].tile_id]
    day = date(2026, 10, 5)
    assert journal.edit("Glaze", lambda s: glaze_tiles(s, plan_id, day, two)).value == 2
    assert bench.page(plan_id).line.progress == "2 of 3 glazed"
    with pytest.raises(UserProblem, match="A1, A2 can't be glazed"):
        journal.edit("Glaze", lambda s: glaze_tiles(s, plan_id, day, two))
    assert journal.edit("Glaze", lambda s: glaze_tiles(s, plan_id, day)).value == 1
    placed = journal.edit("Place", lambda s: put_in_firing(s, plan_id, bench.firing, bench.level))
    assert placed.value == 3

    def laid(session: Session) -> list[tuple[str, int, str | None]]:
        rows = session.execute(select(Layer.zone, Layer.glaze_id, Layer.method).order_by(Layer.id))
        return [tuple(row) for row in rows]

    own = page.tiles[1].glaze_id
    assert journal.read(laid) == [
        ("outside", bench.kelp, "dip"), ("outside", own, "dip"), ("outside", bench.chalk, "dip"),
    ]  # fmt: skip
    where = journal.read(lambda s: list(s.scalars(select(Placement.position))))
    assert where == ["row 1, place 1", "row 1, place 2", "row 1, place 3"]
    assert bench.page(plan_id).next_step == "fire"
    journal.edit("Open", lambda s: mark_fired(s, plan_id, date(2026, 10, 10)))
    assert bench.page(plan_id).next_step == "look"
    second = bench.page(plan_id).tiles[1].piece_id
    assert second is not None
    of_it = journal.read(lambda s: read_piece_page(s, second)).plan
    assert of_it == PlanPlace(plan_id, "A", "Kelp towards Chalk", "50 Kelp, 50 Chalk")

    look = InspectionDraft(
        looked_on=date(2026, 10, 11),
        faults=(FaultDraft("crazing", 2), FaultDraft("running", 0)),
        surfaces=(SurfaceDraft("satin"), SurfaceDraft("even")),
        note="Lines close together.",
    )
    for tile in bench.page(plan_id).tiles:
        assert tile.piece_id is not None
        journal.edit("Look", lambda s, one=tile.piece_id: log_inspection(s, one, look))
    page = bench.page(plan_id)
    assert (page.next_step, page.line.progress) == ("done", "3 of 3 fired")
    tile = page.tiles[1]
    assert (tile.piece_number, tile.stage, tile.firing_number) == (2, "fired", 1)
    assert (tile.cone, tile.cone_basis) == (pytest.approx(6.0, abs=0.1), "read")
    assert set(tile.looked) == {"crazing", "running"}
    assert (tile.seen, tile.surface) == ((("crazing", 2),), ("satin", "even"))
    assert tile.note == "Lines close together."
    journal.edit("Learn", lambda s: change_plan(s, plan_id, lesson="Half and half is enough."))
    assert bench.page(plan_id).lesson == "Half and half is enough."
    with pytest.raises(UserProblem, match="more than 0 g and at most 100"):
        journal.edit("Change", lambda s: change_plan(s, plan_id, tile_dry_g=-1.0))


def test_over_and_under_shows_the_lower_glaze_alone_and_the_two_above(bench: Bench) -> None:
    plan_id = bench.add(bench.plan("over_under", bench.kelp, bench.bought, method="dip"))
    bench.journal.edit("Make", lambda s: make_pieces(s, plan_id, DAY))
    assert bench.journal.edit("Glaze", lambda s: glaze_tiles(s, plan_id, DAY)).value == 4
    page = bench.page(plan_id)
    assert page.mixing is None, "it is glazed from buckets as they are"
    tile = page.tiles[1]
    assert (tile.words, tile.glaze_id) == ("Shop Red over Kelp", None)
    assert [layer.title for layer in tile.layers] == ["Kelp", "Shop Red"]

    def laid(session: Session) -> list[tuple[str, int, int]]:
        rows = session.execute(
            select(Layer.zone, Layer.position, Layer.glaze_id)
            .where(Layer.piece_id == tile.piece_id)
            .order_by(Layer.id)
        )
        return [tuple(row) for row in rows]

    assert bench.journal.read(laid) == [
        ("outside", 1, bench.kelp), ("outside, upper", 2, bench.bought),
    ]  # fmt: skip
    with pytest.raises(UserProblem, match="there is nothing to weigh"):
        bench.journal.edit("Weigh", lambda s: take_corners_from_stock(s, plan_id, DAY))


def test_a_glaze_worth_keeping_gets_a_name_and_stays_on_its_tile(bench: Bench) -> None:
    page = bench.page(bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3)))
    middle = page.tiles[1]
    with pytest.raises(UserProblem, match="There is a glaze named kelp already"):
        bench.journal.edit("Keep", lambda s: keep_glaze(s, middle.tile_id, "kelp"))
    kept = bench.journal.edit("Keep", lambda s: keep_glaze(s, middle.tile_id, "Foam")).value
    assert kept == middle.glaze_id
    assert "Foam" in [line.title for line in bench.journal.read(list_glazes)]
    tile = bench.page(page.plan_id).tiles[1]
    assert (tile.glaze_title, tile.trial) == ("Foam", False)
    with pytest.raises(UserProblem, match="Tile A2 carries no glaze of its own"):
        bench.journal.edit("Keep", lambda s: keep_glaze(s, middle.tile_id, "Froth"))
    bench.journal.edit("Delete", lambda s: delete_plan(s, page.plan_id))
    assert "Foam" in [line.title for line in bench.journal.read(list_glazes)]
    assert bench.journal.read(lambda s: s.scalars(select(Glaze.id).where(Glaze.trial)).all()) == []


def test_a_tile_of_a_ladder_becomes_the_next_version_of_its_base(bench: Bench) -> None:
    ladder = bench.plan("additions", bench.chalk, ladders=(Ladder("Rutile", (0, 2, 4)),))
    page = bench.page(bench.add(ladder))
    with pytest.raises(UserProblem, match="Tile A1 carries no glaze of its own"):
        bench.journal.edit("Keep", lambda s: keep_as_version(s, page.tiles[0].tile_id))
    chosen = page.tiles[2]
    kept = bench.journal.edit("Keep", lambda s: keep_as_version(s, chosen.tile_id)).value
    glaze = bench.journal.read(lambda s: read_glaze_page(s, kept))
    assert glaze is not None
    assert (glaze.title, glaze.parent_id) == ("Chalk, version 2", bench.chalk)
    assert glaze.recipe[-1] == RecipePart("Rutile", 4, addition=True)
    assert bench.page(page.plan_id).tiles[2].glaze_title == "Chalk, version 2"
    line = bench.page(bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3)))
    with pytest.raises(UserProblem, match="A blend of several glazes is no version of one"):
        bench.journal.edit("Keep", lambda s: keep_as_version(s, line.tiles[1].tile_id))


def test_a_recipe_stays_as_it_is_while_a_plan_goes_by_it(bench: Bench) -> None:
    bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3))
    other = (RecipePart("Silica", 100),)
    with pytest.raises(StillUsed, match="“Kelp towards Chalk” is made with Kelp as it is"):
        bench.journal.edit("Change", lambda s: set_recipe(s, bench.kelp, other))
    page = bench.journal.read(lambda s: read_glaze_page(s, bench.kelp))
    assert page is not None
    assert page.recipe_is_fixed
    new = bench.journal.edit("Version", lambda s: add_version(s, bench.kelp, other)).value
    assert bench.journal.read(lambda s: list_glazes(s))[-1].glaze_id == new


def test_corner_mixes_come_from_the_shelf_once(bench: Bench) -> None:
    plan_id = bench.add(bench.plan("line", bench.kelp, bench.chalk, along=6))
    stock = bench.journal.read(read_stock)
    bought = StockDraft(kind="counted", grams=1000, on=DAY)
    silica = stock["Silica"].material_id
    bench.journal.edit("Count", lambda s: add_stock_change(s, silica, bought))
    page = bench.page(plan_id)
    assert page.mixing is not None
    # 25 g a tile, 3 of Kelp's and 3 of Chalk's in all, a tenth to spare: 83 g of each, dry.
    assert [mix.dry_g for mix in page.mixing.corners] == [pytest.approx(83, abs=0.2)] * 2
    bench.journal.edit("Weigh", lambda s: take_corners_from_stock(s, plan_id, DAY))
    taken = 83 * 24 / 102 + 83 * 18 / 109
    left = bench.journal.read(read_stock)["Silica"].grams
    assert left == pytest.approx(1000 - taken, abs=0.11)
    with pytest.raises(UserProblem, match="was taken from the stock on 2026-10-01"):
        bench.journal.edit("Weigh", lambda s: take_corners_from_stock(s, plan_id, DAY))
    assert bench.page(plan_id).taken_on == DAY


def test_what_a_ladder_adds_is_weighed_by_its_new_name(bench: Bench) -> None:
    draft = bench.plan("additions", bench.chalk, ladders=(Ladder("Cobalt carbonate", (0, 1)),))
    plan_id = bench.add(draft)
    cobalt = bench.journal.read(read_stock)["Cobalt carbonate"].material_id
    bench.journal.edit("Name", lambda s: change_material(s, cobalt, name="Cobalt, blue tin"))
    bench.journal.edit("Weigh", lambda s: take_corners_from_stock(s, plan_id, DAY))
    stock = bench.journal.read(read_stock)
    assert "Cobalt carbonate" not in stock
    mixing = bench.page(plan_id).mixing
    assert mixing is not None
    assert mixing.materials_g["Cobalt, blue tin"] == pytest.approx(0.2)
    assert [tile.words for tile in bench.page(plan_id).tiles] == [
        "nothing added",
        "+ 1 Cobalt, blue tin",
    ]


def test_slurries_that_stand_otherwise_than_usual_change_the_volumes(bench: Bench) -> None:
    plan_id = bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3))
    before = bench.page(plan_id)
    assert before.mixing is not None
    corner = before.corners[1]
    bench.journal.edit(
        "Measure", lambda s: set_corner_gravity(s, corner.corner_id, corner.version, 1.40)
    )
    after = bench.page(plan_id).mixing
    assert after is not None
    assert after.tiles[2].wanted[1] / before.mixing.tiles[2].wanted[1] == pytest.approx(0.5 / 0.4)
    assert after.tiles[0].wanted == before.mixing.tiles[0].wanted


def test_a_plan_is_deleted_before_there_are_pieces_and_archived_after(bench: Bench) -> None:
    before = snapshot(bench.journal)
    plan_id = bench.add(bench.plan("line", bench.kelp, bench.chalk, along=4))
    for refused in (
        lambda s: delete_glaze(s, bench.kelp),
        lambda s: delete_clay(s, bench.buff),
    ):
        with pytest.raises(StillUsed, match="test plan"):
            bench.journal.edit("Delete", refused)
    bench.journal.edit("Delete", lambda s: delete_plan(s, plan_id))
    assert snapshot(bench.journal) == before
    plan_id = bench.add(bench.plan("line", bench.kelp, bench.chalk, along=4))
    bench.journal.edit("Make", lambda s: make_pieces(s, plan_id, DAY))
    with pytest.raises(StillUsed, match="can't be deleted, but archived: 4 pieces were made"):
        bench.journal.edit("Delete", lambda s: delete_plan(s, plan_id))
    bench.journal.edit("Archive", lambda s: archive_plan(s, plan_id))
    assert bench.journal.read(list_plans) == []
    (line,) = bench.journal.read(lambda s: list_plans(s, archived=True))
    assert (line.archived, line.made) == (True, 4)


def test_a_broken_tile_is_made_again_and_a_lost_one_is_counted(bench: Bench) -> None:
    plan_id = bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3))
    bench.journal.edit("Make", lambda s: make_pieces(s, plan_id, DAY))
    first, second = (tile.piece_id for tile in bench.page(plan_id).tiles[:2])
    assert first is not None
    assert second is not None
    bench.journal.edit("Delete", lambda s: delete_piece(s, first))
    page = bench.page(plan_id)
    assert (page.next_step, page.tiles[0].piece_id) == ("make", None)
    bench.journal.edit("Make", lambda s: make_pieces(s, plan_id, DAY, "bone_dry"))
    page = bench.page(plan_id)
    assert (page.tiles[0].stage, page.line.made) == ("bone_dry", 3)
    at = datetime(2026, 10, 3, 9)
    bench.journal.edit("Lose", lambda s: move_to_stage(s, second, "lost", at, "dropped"))
    bench.journal.edit("Glaze", lambda s: glaze_tiles(s, plan_id, date(2026, 10, 4)))
    page = bench.page(plan_id)
    assert page.line.progress == "2 of 3 glazed, 1 lost"
    assert (page.next_step, page.tiles[1].lost_why) == ("fire", "dropped")


def test_codes_go_by_the_alphabet_and_can_be_changed_until_pieces_carry_them(
    bench: Bench,
) -> None:
    plan_id = bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3))
    bench.add(replace(bench.plan("line", bench.kelp, bench.chalk), code="C"))
    assert [line.code for line in bench.journal.read(list_plans)] == ["C", "A"]
    third = bench.add(bench.plan("over_under", bench.kelp, bench.bought))
    assert bench.page(third).code == "B"
    bench.journal.edit("Rename", lambda s: change_plan(s, plan_id, code="KC"))
    tile = bench.page(plan_id).tiles[1]
    assert (tile.code, tile.glaze_title) == ("KC2", "KC-2")
    assert tile.glaze_id is not None
    own = tile.glaze_id
    notes = bench.journal.read(lambda s: s.get_one(Glaze, own).notes)
    assert notes.startswith("Tile KC2 of the plan")
    # A plan that starts from that tile gets another code, and the tile keeps its name.
    line = bench.plan("line", own, bench.chalk, along=3, blend_by="weight")
    onward = bench.add(replace(line, code="X"))
    bench.journal.edit("Rename", lambda s: change_plan(s, onward, code="Y"))
    tiles = bench.page(onward).tiles
    assert [one.glaze_title for one in tiles] == ["KC-2", "Y-2", "Chalk"]
    with pytest.raises(UserProblem, match="Tile Y1 carries no glaze of its own"):
        bench.journal.edit("Keep", lambda s: keep_glaze(s, tiles[0].tile_id, "Mine"))
    bench.journal.edit("Delete", lambda s: delete_plan(s, onward))
    assert bench.page(plan_id).tiles[1].glaze_title == "KC-2"
    found = bench.journal.read(lambda session: find_anything(session, "kc"))
    assert [(one.kind, one.quiet) for one in found][-1] == ("plan", "test plan KC")
    bench.journal.edit("Make", lambda s: make_pieces(s, plan_id, DAY))
    with pytest.raises(StillUsed, match="code can't be changed: 3 pieces were made"):
        bench.journal.edit("Rename", lambda s: change_plan(s, plan_id, code="D"))


BAD: dict[str, tuple[Callable[[Bench], PlanDraft], str]] = {
    "one glaze": (lambda b: b.plan("line", b.kelp), "Line blend: choose 2 glazes, not 1"),
    "the same twice": (lambda b: b.plan("line", b.kelp, b.kelp), "Kelp is named twice"),
    "no recipe": (lambda b: b.plan("line", b.kelp, b.bought), "Shop Red has no recipe"),
    "one tile": (lambda b: b.plan("line", b.kelp, b.chalk, along=1), "at least two tiles"),
    "too many": (lambda b: b.plan("line", b.kelp, b.chalk, along=500), "500 tiles; a plan has"),
    "no name": (lambda b: replace(b.plan("line", b.kelp, b.chalk), name=" "), "Give the name"),
    "code ends with a digit": (
        lambda b: replace(b.plan("line", b.kelp, b.chalk), code="B1"), "A code ends with a letter",
    ),
    "code of signs": (lambda b: replace(b.plan("line", b.kelp, b.chalk), code="A/b"), "letters"),
    "no tile": (
        lambda b: replace(b.plan("line", b.kelp, b.chalk), tile_dry_g=0.0), "more than 0 g",
    ),
    "no gravity": (
        lambda b: replace(
            b.plan("line", b.kelp, b.chalk),
            corners=(CornerDraft(glaze_id=b.kelp, specific_gravity=0.9),
                     CornerDraft(glaze_id=b.chalk)),
        ),
        "between 1 and 3; 0.9 does not",
    ),
    "out of reach": (
        lambda b: b.plan("silica_alumina", b.chalk, silica=(1.0, 4.0), alumina=(0.1, 0.6)),
        "The corner SiO₂ 1, Al₂O₃ 0.6 can't be reached",
    ),
    "too much added": (
        lambda b: b.plan("additions", b.chalk, ladders=(Ladder("Rutile", (0, 1e308)),)),
        "Rutile: an addition is 0 to 100 parts",
    ),
    "nothing added": (
        lambda b: b.plan("additions", b.chalk, ladders=(Ladder(" ", (0, 1)),)),
        "Give the material that is added",
    ),
    "a dip of a year": (
        lambda b: b.plan("line", b.kelp, b.chalk, seconds=3e7), "less than an hour",
    ),
    "too many coats": (lambda b: b.plan("line", b.kelp, b.chalk, coats=10**12), "1 to 50"),
    "no cone": (lambda b: replace(b.plan("line", b.kelp, b.chalk), cone="99x"), "99x"),
    "gone": (lambda b: b.plan("line", b.kelp, 4711), "no longer in the journal"),
}  # fmt: skip


def test_a_plan_that_can_not_be_is_refused_with_nothing_stored(bench: Bench) -> None:
    before = snapshot(bench.journal)
    for what, (draft, told) in BAD.items():
        with pytest.raises(UserProblem, match=told):
            bench.add(draft(bench))
        with pytest.raises(UserProblem, match=told):
            bench.journal.read(lambda session, one=draft: preview_plan(session, one(bench)))
        assert snapshot(bench.journal) == before, what


def test_a_taken_code_and_a_taken_name_of_a_tile_are_refused(bench: Bench) -> None:
    bench.add(replace(bench.plan("line", bench.kelp, bench.chalk), code="K"))
    with pytest.raises(UserProblem, match="has the code k already") as problem:
        bench.add(replace(bench.plan("line", bench.kelp, bench.chalk), code="k"))
    assert "code" in problem.value.fields
    bench.journal.edit("Enter", lambda s: add_glaze(s, GlazeDraft(name="B-2")))
    with pytest.raises(UserProblem, match="There is a glaze named B-2 already"):
        bench.add(replace(bench.plan("line", bench.kelp, bench.chalk), code="B"))


def test_a_corner_without_a_gravity_is_blended_dry(bench: Bench) -> None:
    plain = replace(CHALK, name="Plain", specific_gravity=None)
    plain_id = bench.journal.edit("Enter", lambda s: add_glaze(s, plain)).value
    with pytest.raises(UserProblem, match="Plain has no specific gravity"):
        bench.add(bench.plan("line", bench.kelp, plain_id))
    page = bench.page(bench.add(bench.plan("line", bench.kelp, plain_id, blend_by="weight")))
    assert page.mixing is not None
    assert page.mixing.unit == "g"


def test_the_limits_of_plans_are_the_studios_own(bench: Bench) -> None:
    bench.journal.edit("Set", lambda s: set_limit(s, "plan_tile_dry_g", 40.0))
    bench.journal.edit("Set", lambda s: set_limit(s, "plan_spare", 0.5))
    plan_id = bench.add(bench.plan("line", bench.kelp, bench.chalk, along=5))
    page = bench.page(plan_id)
    assert page.mixing is not None
    assert page.mixing.tile_dry_g == 40.0
    assert page.mixing.corners[0].dry_g == pytest.approx(40.0 * 2.5 * 1.5, abs=0.2)
    bench.journal.edit("Set", lambda s: set_limit(s, "plan_most_tiles", 4))
    assert len(bench.page(plan_id).tiles) == 5, "a plan that was made stays whole"


def test_tile_glazes_have_a_row_in_findings_only_where_they_are_asked_for(bench: Bench) -> None:
    plan_id = bench.add(bench.plan("line", bench.kelp, bench.chalk, along=3))
    bench.journal.edit("Make", lambda s: make_pieces(s, plan_id, DAY))
    bench.journal.edit("Glaze", lambda s: glaze_tiles(s, plan_id, DAY))
    bench.journal.edit("Place", lambda s: put_in_firing(s, plan_id, bench.firing))
    names = bench.journal.read(read_names)
    own = bench.page(plan_id).tiles[1].glaze_id
    assert own is not None
    assert names.trials == {own}

    def rows(question: Question) -> list[str]:
        matrix = bench.journal.read(lambda session: read_matrix(session, question))
        return [row.title for row in matrix.rows]

    assert rows(Question()) == ["Kelp", "Chalk"]
    assert rows(read_question("A-2 alone", names).question) == ["A-2"]
    asked = read_question("SiO2:Al2O3 above 2", names).question
    assert asked.chemistry
    assert "A-2" in rows(asked)


def test_a_glaze_tells_which_plans_and_tiles_it_stands_in(bench: Bench) -> None:
    page = bench.page(bench.add(bench.plan("line", bench.kelp, bench.chalk, along=4)))
    own = page.tiles[2].glaze_id
    assert own is not None
    (corner,) = bench.journal.read(lambda s: read_glaze_plans(s, bench.kelp))
    (tile,) = bench.journal.read(lambda s: read_glaze_plans(s, own))
    assert (corner.starts, corner.words) == (True, "4 planned")
    assert (tile.starts, tile.words) == (False, "tile A3, 4 planned")
    assert bench.journal.read(lambda s: read_glaze_plans(s, bench.bought)) == ()


def test_lead_that_the_name_does_not_tell_is_cared_for_while_a_plan_is_weighed(
    journal: Journal,
) -> None:
    def enter(session: Session) -> int:
        glass = add_material(session, "Moon glass")
        add_lot(session, glass, LotDraft(oxides={"PbO": 60, "SiO2": 40}, loi_percent=0))
        recipe = (RecipePart("Moon glass", 70), RecipePart("Kaolin", 30))
        return add_glaze(session, GlazeDraft(name="Old honey", recipe=recipe))

    glaze = journal.edit("Enter", enter).value
    told = journal.read(lambda session: read_plan_cautions(session, [glaze], ["Manganese dioxide"]))
    assert any(one.materials == ("Moon glass",) and "lead" in one.caution for one in told)
    assert any("Manganese dioxide" in one.materials for one in told)
