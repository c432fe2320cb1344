"""A studio whose names are as long as a potter may make them, and whose pieces are as full."""

from datetime import date, datetime, timedelta
from decimal import Decimal

import numpy as np
from sqlalchemy.orm import Session

from studiolog.craft.glaze.plans import PlanOptions
from studiolog.craft.words import FAULTS
from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.firing_log import log_from_typed
from studiolog.journal.firings import ConeDraft, FiringDraft, PackDraft, log_firing
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze
from studiolog.journal.hand_readings import add_reading, set_reminder
from studiolog.journal.inspections import (
    FaultDraft,
    InspectionDraft,
    SurfaceDraft,
    log_inspection,
)
from studiolog.journal.kiln_tasks import KilnTaskDraft, add_task
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.materials import LotDraft, add_lot, add_material, change_material
from studiolog.journal.opening import Journal
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order
from studiolog.journal.photos import PictureDraft
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    RunDraft,
    SizeDraft,
    log_piece,
    log_run,
)
from studiolog.journal.plan_page import read_plan_page
from studiolog.journal.plan_work import glaze_tiles, make_pieces, mark_fired, put_in_firing
from studiolog.journal.plans import CornerDraft, PlanDraft, add_plan, change_plan
from studiolog.journal.programs import ProgramDraft, SegmentDraft, add_program
from studiolog.journal.stock import StockDraft, add_stock_change
from studiolog.journal.tariffs import TariffDraft, add_tariff
from tests.clay_bars import measure_clay
from tests.crowded_ideas import crowd_ideas
from tests.crowded_orders import crowd_orders
from tests.planned_loads import crowd_loads
from tests.small_studio import fill_studio
from tests.waiting_logs import let_logs_wait

LONG_GLAZE = "Rutile breaking over wood ash with a little bone, third sieve"
LONG_CLAY = "Iron-red sculpture stoneware with fine and coarse molochite"
LONG_FORM = "Wide lidded storage jar with a galleried rim and two handles"
LONG_KILN = "The old top-loading kiln under the stairs, with new elements"
LONG_PROGRAM = "Cone 6 slow cool, drop and hold twice, then as slow as it will"
LONG_BUYER = "The harbour kitchen and bakery of the upper and lower quay together"
ZONES = (
    "outside, upper", "outside, lower", "inside", "rim", "foot", "handle, left", "handle, right",
    "lid, outside", "lid, inside", "knob", "gallery", "panel facing the door when it stands",
    "spout", "base of the spout where it joins the body",
)  # fmt: skip
_SEGMENTS = (
    SegmentDraft(60, 120, 30), SegmentDraft(110, 573), SegmentDraft(165.5, 1000),
    SegmentDraft(60, 1148, 5), SegmentDraft(45, 1222, 20), SegmentDraft(None, 1040, 30),
    SegmentDraft(50, 800, 30), SegmentDraft(80, 573), SegmentDraft(None, 60),
)  # fmt: skip


def _heap_material(session: Session) -> int:
    """A material with lots under long labels, a full analysis that does not add up, and stock."""
    material = add_material(session, "Potash feldspar from the second bag, sieved")
    change_material(
        session,
        material,
        low_g=30_000,
        bought_from="The pottery supplies behind the old harbour office",
        hazards="Weigh it outside. " * 8,
    )
    for label, day in (("pallet that came late and wet, dried on the kiln", 3), ("bag", 9)):
        draft = LotDraft(
            label=label,
            dated=date(2026, 5, day),
            source="Certificate of the quarry, as the supplier copied it",
            oxides={
                "SiO2": 66.125, "Al2O3": 18.375, "K2O": 10.875, "Na2O": 2.95, "CaO": 0.425,
                "MgO": 0.125, "Fe2O3": 0.085, "TiO2": 0.015, "P2O5": 0.04, "BaO": 0.08 / day,
            },
            price_per_kg=Decimal("1.2345"),
        )  # fmt: skip
        add_lot(session, material, draft)
    for kind, grams in (("bought", 125_000.5), ("lost", 100_000.25), ("counted", 24_000.0)):
        note = "Swept up together, wet, and thrown out with the sludge"
        add_stock_change(
            session, material, StockDraft(kind=kind, grams=grams, on=date(2026, 6, 1), note=note)
        )
    return material


def _plan_tiles(session: Session, glazes: tuple[int, ...], clay: int, firing: int) -> int:
    """Twenty-one blends of two recipes, fired, some looked at; names and words are long."""
    corners = (
        CornerDraft(glaze_id=glazes[0], specific_gravity=1.5, label=LONG_GLAZE),
        CornerDraft(glaze_id=glazes[1], label="Kelp of the second bucket"),
    )
    draft = PlanDraft(
        name="Where the rutile breaks over the wood ash, and where it runs away",
        kind="line",
        corners=corners,
        made_on=date(2026, 9, 3),
        code="RUTILEAH",
        options=PlanOptions(along=21, method="brush", coats=3),
        clay_id=clay,
        cone="6",
        question="Where does it stop running, and does it still break there? " * 3,
    )
    plan = add_plan(session, draft)
    change_plan(session, plan, lesson="Thinner at the foot. " * 12, next_time="Sieve it. " * 12)
    make_pieces(session, plan, date(2026, 9, 3))
    glaze_tiles(session, plan, date(2026, 9, 4))
    put_in_firing(session, plan, firing)
    mark_fired(session, plan, date(2026, 10, 16))
    page = read_plan_page(session, plan)
    assert page is not None
    for tile in page.tiles[:12]:
        assert tile.piece_id is not None
        look = InspectionDraft(
            looked_on=date(2026, 10, 20),
            faults=tuple(FaultDraft(fault, number % 4) for number, fault in enumerate(FAULTS)),
            surfaces=tuple(SurfaceDraft(word) for word in ("matt", "breaking", "crystals")),
            note="Ran off the edge of the tile and down on the shelf below. " * 2,
        )
        log_inspection(session, tile.piece_id, look)
    return plan


def crowd_studio(journal: Journal, pictures: tuple[PictureDraft, ...] = ()) -> dict[str, int]:
    """The small studio, and beside it the longest names and the fullest piece and firing.

    Returns the id of the crowded one of each noun.
    """
    studio = fill_studio(journal)

    def enter(session: Session) -> dict[str, int]:
        glaze = add_glaze(
            session,
            GlazeDraft(
                name=LONG_GLAZE,
                colour="#7A5A2E",
                cone_range="5 to 7",
                notes="Stir long. " * 12,
                recipe=(
                    RecipePart("Potash feldspar from the second bag, sieved", 33.3),
                    RecipePart("Wood ash, washed twice", 31.5),
                    RecipePart("Silica", 35.2),
                    RecipePart("Rutile", 6, addition=True),
                ),
            ),
        )
        clay = add_clay(session, ClayDraft(name=LONG_CLAY, colour="#7A3F2E", specks="fine"))
        form = add_form(
            session,
            FormDraft(
                name=LONG_FORM,
                clay_g=2150,
                fired_height_mm=248,
                fired_across_mm=191,
                price=Decimal(180),
                steps=(("thrown, in two parts", 25), ("lid and gallery fitted", 18)),
            ),
        )
        kiln = add_kiln(
            session,
            KilnDraft(
                name=LONG_KILN,
                levels=("top, under the lid", "second", "third", "fourth", "floor of the kiln"),
                tariff_per_kwh=Decimal("0.31"),
            ),
        )
        prices = {"workdays": "0.2855", "weekends": "0.19", "every": "0.225"}
        for days, price in prices.items():
            night = TariffDraft(
                per_kwh=Decimal(price),
                days=days,
                starts_min=1290,
                ends_min=360,
                valid_from=date(2026, 4, 1),
            )
            add_tariff(session, kiln, night)
        for task, note, done_on in (
            ("elements", "Nine new ones, the upper two of a heavier wire", date(2026, 9, 1)),
            ("bricks", "The lid: two corner bricks pinned and cemented", None),
            ("other", "Ask the electrician about the relay that hums in the third ring", None),
        ):
            upkeep = KilnTaskDraft(
                task=task, note=note, done_on=done_on, due_on=date(2026, 9, 12), repeat_firings=120
            )
            add_task(session, kiln, upkeep, date(2026, 9, 2))
        levels = [
            level.level_id
            for line in list_kilns(session)
            if line.kiln_id == kiln
            for level in line.levels
        ]
        program = add_program(
            session, ProgramDraft(name=LONG_PROGRAM, cone="6", segments=_SEGMENTS)
        )
        firings = [
            log_firing(session, _firing(kiln, program, levels, datetime(2026, 9, 30, 6, 45), week))
            for week in range(3)
        ]
        running = log_firing(
            session,
            FiringDraft(
                kiln_id=kiln,
                program_id=program,
                started_at=datetime.now().replace(microsecond=0) - timedelta(hours=3),
            ),
        )
        for at_h, heat_c in ((0, 20), (1, 80), (2, 150)):
            read_at = datetime.now().replace(microsecond=0) - timedelta(hours=3 - at_h, seconds=-1)
            add_reading(session, running, read_at, heat_c, "all switches one up, lid still ajar")
        set_reminder(session, running, 1440)
        order = add_order(
            session,
            OrderDraft(
                whom=LONG_BUYER,
                promised_on=date(2026, 12, 11),
                lines=(
                    OrderLineDraft(wanted=128, form_id=form, what=LONG_GLAZE, price=Decimal(180)),
                ),
                notes="Deliver by the side door, before eight. " * 4,
            ),
        )
        run = log_run(
            session,
            RunDraft(
                made_on=date(2026, 9, 2), form_id=form, clay_id=clay, how_many=140, title=LONG_FORM
            ),
        )
        piece = log_piece(
            session,
            PieceDraft(
                number=12845,
                run_id=run,
                form_id=form,
                clay_id=clay,
                made_on=date(2026, 9, 2),
                stage="fired",
                kept_where="the shelf above the wheel beside the window that looks on the yard",
                sizes=(
                    SizeDraft(stage="wet", height_mm=286, across_mm=220, mass_g=2150),
                    SizeDraft(stage="bisque", height_mm=270, across_mm=208, mass_g=1612),
                    SizeDraft(stage="glazed", mass_g=1703.5),
                    SizeDraft(stage="fired", height_mm=248.5, across_mm=191.5, mass_g=1690),
                ),
                layers=tuple(
                    LayerDraft(
                        zone=zone,
                        glaze_id=(glaze, studio.kelp)[number % 2],
                        method="brush",
                        coats=3,
                        note="thick where it pools, thin on the edges",
                    )
                    for number, zone in enumerate((*ZONES, *ZONES[:3]))
                ),
                placements=(PlacementDraft(firing_id=firings[-1], level_id=levels[-1]),),
                inspections=tuple(
                    InspectionDraft(
                        looked_on=date(2026, 10, 20) + timedelta(days=9 * look),
                        faults=tuple(
                            FaultDraft(
                                fault=fault, severity=(look + place) % 4, zone=ZONES[-1 - place]
                            )
                            for place, fault in enumerate(("crazing", "running", "pinhole"))
                        ),
                        note="Heard it ping on the board for two days. " * 3,
                    )
                    for look in range(4)
                ),
                pictures=pictures,
                notes="Threw well. " * 20,
                lesson="Two coats, not three, where the handle joins. " * 5,
                next_time="Wax the gallery before the second coat. " * 5,
            ),
        )
        waiting = let_logs_wait(session, LONG_KILN)
        material = _heap_material(session)
        load = crowd_loads(session, kiln, form, clay, glaze)
        measure_clay(session, clay)
        thought = crowd_ideas(session, form, clay, run, piece)
        ware = crowd_orders(session, order, form, clay)
        plan = _plan_tiles(session, (glaze, studio.kelp), clay, firings[-1])
        return {
            "glaze": glaze, "clay": clay, "form": form, "kiln": kiln, "program": program,
            "firing": firings[-1], "running": running, "order": order, "run": run, "piece": piece,
            "waiting": waiting[0], "material": material, "plan": plan, "load": load,
            "set": ware, **thought,
        }  # fmt: skip

    return journal.edit("Crowd the studio", enter).value


def _firing(kiln: int, program: int, levels: list[int], first: datetime, week: int) -> FiringDraft:
    return FiringDraft(
        kiln_id=kiln,
        program_id=program,
        started_at=first + timedelta(days=7 * week),
        kwh=118.4,
        log=log_from_typed(_readings(late_h=0.3 * week)),
        packs=tuple(
            PackDraft(
                level_id=level,
                cones=tuple(
                    ConeDraft(cone=cone, bend_low_deg=bend - 4, bend_high_deg=bend + 4)
                    for cone, bend in (("5.5", 118), ("6", 86 - 9 * place), ("7", 24))
                ),
            )
            for place, level in enumerate(levels)
        ),
        notes="The lid was heavy. " * 12,
        lesson="Prop it later. " * 12,
        next_time="Start at six. " * 12,
    )


def _readings(late_h: float) -> list[tuple[float, float]]:
    hours = np.array([0, 1.7, 5.8, 8.4, 10.9, 12.6, 12.9, 14.1, 19, 22, 40.0]) + late_h
    hours[0] = 0
    heats = [18, 120, 573, 1000, 1148, 1222, 1222, 1040, 800, 573, 70]
    grid = np.arange(0, 40 * 3600, 300.0)
    values = np.interp(grid, hours * 3600, heats)
    return list(zip(grid.tolist(), values.tolist(), strict=True))
