"""What Tern Yard thought of and tried: ideas with sketches, a bowl with a deeper rim, two ways of
pressing panels, and the tools it was done with. All of it is invented."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import partial
from math import cos, pi, sin

import numpy as np
from sqlalchemy.orm import Session

from studiolog.journal.form_decisions import decide_form
from studiolog.journal.form_steps import MakingStep, read_steps, set_steps
from studiolog.journal.form_versions import add_form_version
from studiolog.journal.forms import change_form
from studiolog.journal.ideas import (
    IdeaDraft,
    add_sketches,
    make_form_of,
    note_idea,
    settle_idea,
)
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.opening import Journal
from studiolog.journal.photos import draft_picture
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    RunDraft,
    SizeDraft,
    log_piece,
    log_run,
    log_step,
)
from studiolog.journal.profiles import Profile
from studiolog.journal.tools import ToolDraft, add_tool, use_tool
from studiolog.journal.ways import add_way, judge_way, set_way
from studiolog.photos.intake import take_in
from studiolog.photos.store import PhotoStore
from studiolog.records.pieces import Piece

from .firing_year import FiringOutcome
from .glaze_schemes import INSIDE, OUTSIDE
from .piece_story import unloaded_at
from .profiles import form_shapes
from .sketches import draw_deep_rim, draw_sliding_lantern, draw_wave_marks
from .studio_setup import BIG, BUFF, CLEAR, KELP, TIDE, SetUp

BEFORE, AFTER = "pressed before trimming", "pressed after handling"
SHELF_MM = 520.0
Spot = tuple[float, float] | None
"""Where on its shelf, mm from the middle; None: nobody noted it."""


@dataclass(frozen=True)
class TrialRun:
    """A run of a form that is tried, with what each of its pieces went through."""

    form: str
    clay: str
    made_on: date
    title: str
    pieces: int
    way: str = ""
    bisque: int | None = None
    glaze: int | None = None
    level: str = "middle"
    spots: tuple[Spot, ...] = ()
    lost: tuple[tuple[str, str], ...] = ()
    """Where and why the first of them were lost."""
    coats: tuple[tuple[str, str, str], ...] = ()
    minutes: tuple[tuple[str, str, float], ...] = ()
    """Step, the stage it was done in, and minutes a piece about which it varied."""
    rework: tuple[str, float, int] = ("", 0.0, 0)
    """What was done over, minutes, and on how many."""
    pinholes: int = 0
    notes: str = ""


def _grid(gap_mm: float) -> tuple[Spot, ...]:
    return tuple((gap_mm * x, gap_mm * y) for y in (-1, 0, 1) for x in (-1, 0, 1))


def _ring(radius_mm: float, count: int) -> tuple[Spot, ...]:
    turns = (2 * pi * place / count for place in range(count))
    return tuple((radius_mm * cos(turn), radius_mm * sin(turn)) for turn in turns)


_MUG = (("body", TIDE, "dip"), ("panels", CLEAR, "brush"), ("handle", KELP, "brush"))
_BOWL = ((OUTSIDE, KELP, "dip"), (INSIDE, CLEAR, "pour"))
_QUICK = (
    ("thrown", "wet", 9.0), ("panels pressed", "leather_hard", 31.0),
    ("trimmed", "leather_hard", 7.0), ("handle on", "leather_hard", 9.0),
    ("panels cut back", "leather_hard", 22.0),
)  # fmt: skip
_SLOW = (
    ("thrown", "wet", 9.0), ("trimmed", "leather_hard", 6.0), ("handle on", "leather_hard", 9.0),
    ("panels pressed", "leather_hard", 47.0), ("panels cut back", "leather_hard", 23.0),
)  # fmt: skip
_SET_AGAIN = "handle set again"

MUGS: tuple[TrialRun, ...] = (
    TrialRun(
        "panel_mug", BUFF, date(2026, 8, 3), "Panel mugs", 6, BEFORE, 82, 85, "middle",
        lost=(("leather_hard", "panel tore at trimming"),), coats=_MUG, minutes=_QUICK,
        rework=("panel pressed again", 7.0, 1), pinholes=1,
    ),
    TrialRun(
        "panel_mug", BUFF, date(2026, 8, 10), "Panel mugs", 6, AFTER, 82, 85, "top",
        lost=(("leather_hard", "handle knocked off"), ("bone_dry", "cracked at the handle")),
        coats=_MUG, minutes=_SLOW, rework=(_SET_AGAIN, 8.0, 4),
    ),
    TrialRun(
        "panel_mug", BUFF, date(2026, 9, 8), "Panel mugs", 6, BEFORE, 86, 91, "middle",
        _grid(130.0)[:6], coats=_MUG, minutes=_QUICK,
    ),
    TrialRun(
        "panel_mug", BUFF, date(2026, 9, 14), "Panel mugs", 5, AFTER, 86, 91, "middle",
        _grid(130.0)[6:], lost=(("leather_hard", "handle knocked off"),
                                ("leather_hard", "panel tore under the handle")),
        coats=_MUG, minutes=_SLOW, rework=(_SET_AGAIN, 9.0, 4),
    ),
    TrialRun(
        "panel_mug", BUFF, date(2026, 11, 10), "Panel mugs", 5, BEFORE,
        minutes=(("thrown", "wet", 9.0), ("panels pressed", "leather_hard", 31.0)),
        notes="Five is what can be pressed and cut back before they are too dry.",
    ),
)  # fmt: skip
DEEP = TrialRun(
    "deeper_rim", BUFF, date(2026, 7, 13), "Soup bowls, deeper rim", 4, "", 79, 81, "top",
    lost=(("leather_hard", "rim sank"), ("bone_dry", "rim sank to one side")), coats=_BOWL,
    minutes=(("thrown", "wet", 9.0), ("trimmed", "leather_hard", 8.0)),
)  # fmt: skip
RIBBED = TrialRun(
    "ribbed_rim", BUFF, date(2026, 9, 10), "Soup bowls, ribbed rim", 6, "", 86, 91, "top",
    _ring(170.0, 6), coats=_BOWL,
    minutes=(("thrown", "wet", 9.0), ("trimmed", "leather_hard", 7.0),
             ("rim ribbed", "leather_hard", 3.0)),
)  # fmt: skip


def write_ideas_and_ways(
    journal: Journal,
    set_up: SetUp,
    firing_ids: Mapping[int, int],
    outcomes: Mapping[int, FiringOutcome],
    *,
    sketches: bool = True,
) -> None:
    """Ideas, versions, ways and tools, an edit each, in the order they came about."""
    forms = dict(set_up.forms)
    ideas = journal.edit("Note ideas", _note_ideas).value
    if sketches:
        _draw_ideas(journal, ideas)
    run = partial(_log_trial, set_up=set_up, forms=forms, firing_ids=firing_ids, outcomes=outcomes)
    forms["deeper_rim"] = journal.edit(
        "An idea becomes a version",
        partial(_make_deeper, idea=ideas["deep rim"], bowl=forms["soup_bowl"]),
    ).value
    journal.edit("Log a trial run", partial(run, plan=DEEP))
    journal.edit(
        "Decide on the deeper rim",
        partial(
            decide_form,
            form_id=forms["deeper_rim"],
            standing="no_go",
            decided_on=date(2026, 8, 24),
            reasons="Two of four rims sank while they dried: the wall turns up too thin to stand. "
            "The two that came through hold the soup, so the idea stays.",
        ),
    )
    forms["ribbed_rim"] = journal.edit(
        "A version with a ribbed rim", partial(_make_ribbed, deeper=forms["deeper_rim"])
    ).value
    journal.edit("Log a trial run", partial(run, plan=RIBBED))
    journal.edit(
        "Decide on the ribbed rim",
        partial(
            decide_form,
            form_id=forms["ribbed_rim"],
            standing="go",
            decided_on=date(2026, 10, 30),
            reasons="All six stood, and three minutes with the rib cost less than a lost bowl.",
        ),
    )
    tools = journal.edit("Enter the tools", _enter_tools).value
    mug = partial(decide_form, form_id=forms["panel_mug"])
    journal.edit(
        "Try the panel mug",
        partial(
            mug, standing="trial", decided_on=date(2026, 7, 28),
            reasons="Six panels round a mug. See first whether so much work by hand pays.",
        ),
    )  # fmt: skip
    ways = journal.edit("Two ways of pressing", partial(_name_ways, mug=forms["panel_mug"])).value
    for plan in MUGS:
        label = f"Log a run: {plan.pieces} panel mugs, {plan.way}"
        run_id = journal.edit(label, partial(run, plan=plan)).value
        journal.edit(
            "Say the way", partial(_say_way, run_id=run_id, way=ways[plan.way], tools=tools)
        )
    journal.edit("Keep one way", partial(_judge, ways=ways))
    journal.edit(
        "Make the panel mug in number",
        partial(
            mug, standing="go", decided_on=date(2026, 10, 30),
            reasons="Eighteen good ones of twenty-three, and every one of them asked for. Five at "
            "a time, pressed before trimming.",
        ),
    )  # fmt: skip


def _note_ideas(session: Session) -> dict[str, int]:
    notes = {
        "deep rim": IdeaDraft(
            title="Bowl with a deeper rim", noted_on=date(2026, 6, 21),
            text="So that soup stays in when it is carried up the stairs. The wall turns upright "
            "for the last 25 mm.",
        ),
        "lantern": IdeaDraft(
            title="Lantern house with a sliding wall", noted_on=date(2026, 10, 18),
            text="The candle goes in from the front. Two grooves, 5 mm wet, and a wall of 4 mm: "
            "see first how much they shrink apart.",
        ),
        "waves": IdeaDraft(
            title="Waves all round the ripple tumbler", noted_on=date(2026, 11, 2),
            text="The 30 mm stamp, between the rings. Would Oat hide them?",
        ),
        "plates": IdeaDraft(title="Square plates from the tile slab", noted_on=date(2026, 3, 8)),
        "lids": IdeaDraft(
            title="Why do jar lids warp on the top shelf?", noted_on=date(2026, 5, 4),
            kind="question",
        ),
        "porcelain": IdeaDraft(
            title="Does Deep Tide stay blue on porcelain when it is cooled slowly?",
            noted_on=date(2026, 11, 8), kind="question",
            text="Run 65 should tell: nine tumblers, three clays.",
        ),
    }  # fmt: skip
    ids = {key: note_idea(session, draft) for key, draft in notes.items()}
    settle_idea(
        session, ids["plates"], "dropped",
        "Corners lift in drying however slowly. Two out of twelve flat is not a plate.",
        date(2026, 4, 19),
    )  # fmt: skip
    settle_idea(
        session, ids["lids"], "answered",
        "They dry from the rim first. Dried on their jar, under a ring of plastic, none of the "
        "last eight warped; the shelf had nothing to do with it.",
        date(2026, 9, 30),
    )  # fmt: skip
    return ids


def _draw_ideas(journal: Journal, ideas: Mapping[str, int]) -> None:
    drawn = {
        "deep rim": ("deeper rim.jpg", draw_deep_rim(), "the old rim dashed"),
        "lantern": ("sliding wall.jpg", draw_sliding_lantern(), "the groove, large"),
        "waves": ("waves.jpg", draw_wave_marks(), "three spacings"),
    }
    store = PhotoStore(journal.photo_folder)
    sources = [(name, data) for name, data, _ in drawn.values()]
    intake = take_in(sources, store, thumbnail_sizes=())
    facts = {one.name: one for one in intake.kept}

    def tie(session: Session) -> None:
        for key, (name, _, caption) in drawn.items():
            draft = replace(draft_picture(facts[name], "making"), caption=caption)
            add_sketches(session, ideas[key], [draft])

    journal.edit("Add 3 sketches", tie)


def _make_deeper(session: Session, idea: int, bowl: int) -> int:
    form_id = make_form_of(
        session, idea, date(2026, 7, 6), name="Soup bowl, deeper rim", parent_id=bowl
    )
    change_form(
        session, form_id, fired_height_mm=72, clay_g=640, price=Decimal(36),
        profile=_upright_rim(6.0),
    )  # fmt: skip
    return form_id


def _make_ribbed(session: Session, deeper: int) -> int:
    form_id = add_form_version(
        session, deeper, date(2026, 9, 3), "the turn ribbed firm", "Soup bowl, ribbed rim"
    )
    change_form(session, form_id, clay_g=655, price=Decimal(38), profile=_upright_rim(8.0))
    steps = list(read_steps(session, form_id))
    steps.insert(2, MakingStep("rim ribbed", 3, "leather_hard"))
    set_steps(session, form_id, steps)
    return form_id


def _upright_rim(wall_mm: float) -> Profile:
    """The soup bowl with its last 25 mm turned upright, so thick at the turn."""
    made = form_shapes()["soup_bowl"]
    outside = tuple(point for point in made.outside if point[1] <= 47)
    inside = tuple(point for point in made.inside if point[1] <= 44)
    turn = outside[-1][0] + 2
    rise = ((turn, 50.0), (turn + 0.8, 56.0), (turn + 0.8, 70.0), (turn - 1.6, 72.0))
    fall = ((turn - 3.8, 70.5), (turn + 0.8 - wall_mm + 1, 62.0), (turn + 0.4 - wall_mm, 51.0))
    return Profile((*outside, *rise), (*fall, *inside))


def _enter_tools(session: Session) -> dict[str, int]:
    kept = "drawer under the wedging table"
    drafts = {
        "wave 40": ToolDraft(
            title="Wave stamp", made_on=date(2026, 2, 12), stage="fired", kept_where=kept,
            notes="Cut the grooves a third deeper than the mark should be.",
            sizes=_shrunk(46.4, 34.0),
        ),
        "wave 30": ToolDraft(
            title="Wave stamp", made_on=date(2026, 2, 12), stage="fired", kept_where=kept,
            sizes=_shrunk(34.8, 25.5),
        ),
        "roller": ToolDraft(
            title="Rope roller", made_on=date(2026, 4, 2), stage="fired", kept_where=kept,
            notes="Porcelain: it rolls without sticking if it is dusted with dry clay.",
            sizes=_shrunk(29.0, 70.0, 0.138),
        ),
        "panel": ToolDraft(
            title="Panel template", made_on=date(2026, 7, 25), stage="bisque",
            kept_where="hook by the wheel", sizes=_shrunk(38.0, 62.0)[:1],
            notes="Left at bisque: it drinks, and lets go of the clay.",
        ),
    }  # fmt: skip
    return {key: add_tool(session, draft) for key, draft in drafts.items()}


def _shrunk(
    across_mm: float, height_mm: float, shrinkage: float = 0.125
) -> tuple[SizeDraft, SizeDraft]:
    left = 1 - shrinkage
    return (
        SizeDraft(stage="wet", across_mm=across_mm, height_mm=height_mm),
        SizeDraft(
            stage="fired", across_mm=round(across_mm * left, 1),
            height_mm=round(height_mm * left, 1),
        ),
    )  # fmt: skip


def _name_ways(session: Session, mug: int) -> dict[str, int]:
    return {
        BEFORE: add_way(session, mug, BEFORE, "At soft leather-hard, foot still thick."),
        AFTER: add_way(session, mug, AFTER, "Trimmed and handled first, then pressed."),
    }


def _say_way(session: Session, run_id: int, way: int, tools: Mapping[str, int]) -> None:
    set_way(session, run_id, way)
    for key, note in (("panel", ""), ("wave 30", "in the panels")):
        use_tool(session, tools[key], run_id=run_id, note=note)


def _judge(session: Session, ways: Mapping[str, int]) -> None:
    judge_way(
        session, ways[BEFORE], "keep",
        "Ten minutes quicker, and the wall gives way evenly while it is still thick.",
    )  # fmt: skip
    judge_way(
        session, ways[AFTER], "drop",
        "The handle is always in the way, and was knocked off or set again on most of them.",
    )  # fmt: skip


def _log_trial(
    session: Session,
    plan: TrialRun,
    set_up: SetUp,
    forms: Mapping[str, int],
    firing_ids: Mapping[int, int],
    outcomes: Mapping[int, FiringOutcome],
) -> int:
    run_id = log_run(
        session,
        RunDraft(
            made_on=plan.made_on, form_id=forms[plan.form], clay_id=set_up.clays[plan.clay],
            title=plan.title, purpose="stock" if plan.way else "test", notes=plan.notes,
        ),
    )  # fmt: skip
    random = np.random.default_rng((plan.made_on.toordinal(), 41))
    spots = iter(plan.spots)
    for place in range(plan.pieces):
        lost = plan.lost[place] if place < len(plan.lost) else None
        stages = _stages(plan, place, lost, outcomes)
        reached = [stage for stage, _ in stages]
        layers: tuple[LayerDraft, ...] = ()
        inspections: tuple[InspectionDraft, ...] = ()
        if "fired" in reached:
            layers = tuple(
                LayerDraft(zone=zone, glaze_id=set_up.glazes[glaze], method=method)
                for zone, glaze, method in plan.coats
            )
            inspections = _look(plan, place, stages)
        spot = next(spots, None) if "fired" in reached else None
        piece_id = log_piece(
            session,
            PieceDraft(
                numbered=False, run_id=run_id, form_id=forms[plan.form],
                clay_id=set_up.clays[plan.clay], made_on=plan.made_on, stage=reached[-1],
                stages=tuple(stages), layers=layers, inspections=inspections,
                placements=_placements(plan, reached, spot, set_up, firing_ids),
                lost_why=lost[1] if lost else "",
            ),
        )  # fmt: skip
        if lost is not None:
            piece = session.get(Piece, piece_id)
            assert piece is not None
            piece.lost_at = lost[0]
        _log_steps(session, plan, place, piece_id, stages, random)
    session.flush()
    return run_id


def _stages(
    plan: TrialRun, place: int, lost: tuple[str, str] | None,
    outcomes: Mapping[int, FiringOutcome],
) -> list[tuple[str, datetime]]:  # fmt: skip
    made = datetime(plan.made_on.year, plan.made_on.month, plan.made_on.day, 9, 9 * place % 60)
    line = [("wet", made), ("leather_hard", made + timedelta(hours=22))]
    if plan.bisque is None:
        return line
    line.append(("bone_dry", made + timedelta(days=8)))
    line.append(("bisque", unloaded_at(outcomes[plan.bisque])))
    if plan.glaze is not None:
        fired = unloaded_at(outcomes[plan.glaze])
        line.append(("glazed", fired - timedelta(days=3, hours=1)))
        line.append(("fired", fired))
        line.append(("finished", fired + timedelta(days=2, hours=4)))
    if lost is None:
        return line
    kept = line[: [stage for stage, _ in line].index(lost[0]) + 1]
    return [*kept, ("lost", kept[-1][1] + timedelta(hours=6))]


def _placements(
    plan: TrialRun,
    reached: Sequence[str],
    spot: Spot,
    set_up: SetUp,
    firing_ids: Mapping[int, int],
) -> tuple[PlacementDraft, ...]:
    found: list[PlacementDraft] = []
    if "bisque" in reached and plan.bisque is not None:
        found.append(PlacementDraft(firing_id=firing_ids[plan.bisque], position="stacked"))
    if "fired" in reached and plan.glaze is not None:
        x, y = (0.5 + part / SHELF_MM for part in spot) if spot else (None, None)
        found.append(
            PlacementDraft(
                firing_id=firing_ids[plan.glaze], level_id=set_up.levels[BIG, plan.level],
                shelf_x=x, shelf_y=y,
            )
        )  # fmt: skip
    return tuple(found)


def _look(
    plan: TrialRun, place: int, stages: Sequence[tuple[str, datetime]]
) -> tuple[InspectionDraft, ...]:
    if place % 3 == 2:
        return ()  # nobody looked
    fired = dict(stages)["fired"].date()
    pinholes = 1 if place < len(plan.lost) + plan.pinholes else 0
    faults = [FaultDraft(fault=fault, severity=0) for fault in ("crazing", "running", "crawling")]
    faults.append(FaultDraft(fault="pinhole", severity=pinholes))
    return (InspectionDraft(looked_on=fired + timedelta(days=1), faults=tuple(faults)),)


def _log_steps(
    session: Session,
    plan: TrialRun,
    place: int,
    piece_id: int,
    stages: Sequence[tuple[str, datetime]],
    random: np.random.Generator,
) -> None:
    at = dict(stages)
    for name, stage, usual in plan.minutes:
        took = round(float(usual * random.normal(1, 0.06)))
        if stage in at and not (stages[-1][0] == "lost" and name == "panels cut back"):
            log_step(session, piece_id, name, at[stage].date(), took)
    name, minutes, count = plan.rework
    # What was lost had been mended no more than the others.
    if name and len(plan.lost) <= place < len(plan.lost) + count:
        log_step(session, piece_id, name, at["leather_hard"].date(), minutes, rework=True)
