"""Writing the year into a journal, one edit for each firing and each run, as it went."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from functools import cached_property, partial

import numpy as np
from sqlalchemy.orm import Session

from studiolog.craft.firing.bend import parse_bend
from studiolog.journal.firings import ConeDraft, FiringDraft, PackDraft, log_firing
from studiolog.journal.opening import Journal
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order, read_order_page
from studiolog.journal.photos import PictureDraft
from studiolog.journal.piece_changes import add_pictures
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    RunDraft,
    change_run,
    log_piece,
    log_run,
    log_step,
)
from studiolog.journal.question import Combination, ConeRange, Question
from studiolog.journal.questions import keep_question
from studiolog.photos.intake import PhotoFacts

from .demo_pictures import PicturePlan
from .firing_year import FiringOutcome, FiringPlan, pack_for, read_meters
from .piece_story import Story
from .pottery_pictures import place_picture
from .profiles import form_shapes
from .shelf_plan import Shelf, footprint_mm
from .studio_setup import BIG, CHALK, KELP, PROGRAMS, RED, RUST, SetUp
from .work_in_hand import ORDERS, OrderPlan
from .work_year import RunPlan, title_of_form

SHELF_MM = {BIG: 520.0}
SMALL_SHELF_MM = 250.0
Photo = tuple[PicturePlan, PhotoFacts]


@dataclass
class Writer:
    """Writes plans into one journal; remembers the ids that later ones refer to."""

    journal: Journal
    set_up: SetUp
    firings: dict[int, FiringPlan]
    outcomes: dict[int, FiringOutcome]
    firing_ids: dict[int, int] = field(default_factory=dict)
    piece_ids: dict[int, int] = field(default_factory=dict)
    order_lines: dict[int, int] = field(default_factory=dict)
    places: dict[tuple[int, int], tuple[str, float | None, float | None]] = field(
        default_factory=dict
    )

    @cached_property
    def meters(self) -> dict[int, tuple[float | None, float | None, float | None]]:
        """What was noted of the energy of each firing."""
        return read_meters(list(self.firings.values()), self.outcomes)

    def write(self, runs: list[RunPlan], stories: dict[int, list[Story]]) -> None:
        """Everything, in the order in which it would have been logged."""
        self.places = lay_out(self.firings, [s for some in stories.values() for s in some])
        for order in ORDERS:
            self.journal.edit(f"Enter order {order.number}", partial(self._order, plan=order))
        jobs: list[tuple[datetime, int, int]] = []
        for number, outcome in self.outcomes.items():
            jobs.append((outcome.ended_at, 0, number))
        for run in runs:
            used = [f for p in run.pieces for f in (p.bisque, p.glaze_firing) if f is not None]
            last = max((self.outcomes[f].ended_at for f in used), default=run.pieces[-1].made_at)
            jobs.append((last, 1, run.number))
        by_number = {run.number: run for run in runs}
        for _, kind, number in sorted(jobs):
            if kind == 0:
                self.journal.edit(f"Log firing {number}", partial(self._firing, number=number))
            else:
                run = by_number[number]
                label = f"Log run {number}: {len(run.pieces)} {title_of_form(run.form)}"
                edit = partial(self._run, run=run, stories=stories[number])
                self.journal.edit(label, edit)

    def keep_questions(self) -> None:
        """The two questions that the potter asks again and again."""
        glazes, clays = self.set_up.glazes, self.set_up.clays
        chalk = Question(
            fault="crazing", clay_id=clays[RED], cone=ConeRange(high=5.9),
            combination=Combination("anywhere", glazes[CHALK]),
        )  # fmt: skip
        rust = Question(
            fault="running", cone=ConeRange(low=6.6), level="bottom",
            combination=Combination("over", glazes[RUST], glazes[KELP]),
        )  # fmt: skip
        for name, question in (("Chalk on the red clay", chalk), ("Rust over Kelp, hot", rust)):
            self.journal.edit(
                f"Keep the question “{name}”", partial(keep_question, name=name, question=question)
            )

    def add_photos(self, runs: list[RunPlan], photos: dict[int, list[Photo]]) -> None:
        """Tie the pictures to their pieces, an edit a run; ``photos`` by the piece's number."""
        for run in runs:
            taken = {
                self.piece_ids[piece.number]: photos[piece.number]
                for piece in run.pieces
                if piece.number in photos
            }
            if taken:
                several = sum(len(some) for some in taken.values())
                label = f"Add {several} pictures to run {run.number}"
                self.journal.edit(label, partial(_add_photos, taken=taken))

    def _order(self, session: Session, plan: OrderPlan) -> None:
        order_id = add_order(
            session,
            OrderDraft(
                whom=plan.whom, number=plan.number, promised_on=plan.promised_on, state=plan.state,
                notes=plan.notes,
                lines=(OrderLineDraft(wanted=plan.wanted, form_id=self.set_up.forms[plan.form],
                                      what=plan.what, price=Decimal(str(plan.price))),),
            ),
        )  # fmt: skip
        page = read_order_page(session, order_id)
        assert page is not None
        self.order_lines[plan.number] = page.lines[0].line_id

    def _firing(self, session: Session, number: int) -> None:
        plan, outcome = self.firings[number], self.outcomes[number]
        kwh, before_kwh, after_kwh = self.meters[number]
        random = np.random.default_rng((number, 13))
        aimed = PROGRAMS[plan.program].cone
        packs: list[PackDraft] = []
        for level, cone in outcome.level_cones.items() if plan.cones else ():
            if len(outcome.level_cones) == 3 and random.random() < 0.06:
                continue  # a pack that fell over tells nothing
            cones: list[ConeDraft] = []
            for name, said in pack_for(aimed, cone, random):
                bend = parse_bend(said)
                cones.append(ConeDraft(cone=name, bend_low_deg=bend.low_deg,
                                       bend_high_deg=bend.high_deg, said=bend.said))  # fmt: skip
            place = str(random.choice(["by the peephole", "middle of the shelf", ""]))
            level_id = self.set_up.levels[plan.kiln, level]
            packs.append(PackDraft(level_id=level_id, cones=tuple(cones), place=place))
        self.firing_ids[number] = log_firing(
            session,
            FiringDraft(
                kiln_id=self.set_up.kilns[plan.kiln], started_at=plan.started_at, number=number,
                program_id=self.set_up.programs[plan.program], kind=plan.kind,
                ended_at=outcome.ended_at, log=outcome.log, packs=tuple(packs), kwh=kwh,
                meter_before_kwh=before_kwh, meter_after_kwh=after_kwh,
                notes=plan.note, lesson=plan.lesson, next_time=plan.next_time,
            ),
        )  # fmt: skip

    def _run(self, session: Session, run: RunPlan, stories: list[Story]) -> None:
        set_up = self.set_up
        mixed = len({piece.clay for piece in run.pieces}) > 1
        run_id = log_run(
            session,
            RunDraft(
                made_on=run.made_on, form_id=set_up.forms[run.form],
                clay_id=None if mixed else set_up.clays[run.pieces[0].clay],
                number=run.number, title=run.title, purpose=run.purpose,
                order_line_id=self.order_lines.get(run.order or 0),
                came_from_ids=tuple(self.piece_ids[n] for n in run.came_from), notes=run.notes,
            ),
        )  # fmt: skip
        if run.next_time:
            change_run(session, run_id, next_time=run.next_time)
        for story in stories:
            piece_id = log_piece(session, self._piece(story, run_id))
            if story.plan.number is not None:
                self.piece_ids[story.plan.number] = piece_id
                self._steps(session, piece_id, story)

    def _piece(self, story: Story, run_id: int) -> PieceDraft:
        plan, set_up = story.plan, self.set_up
        return PieceDraft(
            number=plan.number, numbered=plan.number is not None, run_id=run_id,
            form_id=set_up.forms[plan.form], clay_id=set_up.clays[plan.clay],
            came_from_id=self.piece_ids.get(plan.came_from or 0),
            made_on=plan.made_at.date(), stage=story.stage, stages=tuple(story.stages),
            sizes=story.sizes, layers=self._layers(story), placements=self._placements(story),
            inspections=story.inspections,
            kept_where=story.kept_where,
            lost_why=plan.lost_why if story.stage == "lost" else "",
            notes=story.notes, lesson=story.lesson, next_time=story.next_time,
        )  # fmt: skip

    def _layers(self, story: Story) -> tuple[LayerDraft, ...]:
        glazed = story.at("glazed")
        if glazed is None:
            return ()
        bucket = 0 if glazed < datetime(2026, 4, 21) else 1 if glazed < datetime(2026, 9, 1) else 2
        return tuple(
            LayerDraft(
                zone=coat.zone, glaze_id=self.set_up.glazes[coat.glaze], method=coat.method,
                coats=coat.coats, seconds=coat.seconds, thickness_mm=coat.thickness_mm,
                bucket_id=self.set_up.buckets[coat.glaze][bucket],
                note="after 20 minutes" if story.plan.number == 412 and coat.glaze == "Chalk"
                else "",
            )
            for coat in story.plan.coats
        )  # fmt: skip

    def _placements(self, story: Story) -> tuple[PlacementDraft, ...]:
        found: list[PlacementDraft] = []
        for firing in (story.plan.bisque, story.plan.glaze_firing):
            if firing is None:
                continue
            level, x, y = self.places[story.plan.seed, firing]
            level_id = self.set_up.levels[self.firings[firing].kiln, level] if level else None
            found.append(
                PlacementDraft(
                    firing_id=self.firing_ids[firing],
                    level_id=level_id,
                    shelf_x=x,
                    shelf_y=y,
                    position="" if x is not None else "stacked",
                )
            )
        return tuple(found)

    def _steps(self, session: Session, piece_id: int, story: Story) -> None:
        if story.plan.form.startswith("test") and story.plan.number not in (27,):
            return
        trimmed = story.at("leather_hard")
        thrown = form_shapes()[story.plan.form].built == "lathe"
        made = story.plan.made_at.date()
        log_step(session, piece_id, "thrown" if thrown else "cut from the slab", made)
        if trimmed is not None:
            log_step(session, piece_id, "trimmed" if thrown else "edges softened", trimmed.date())


def _add_photos(session: Session, taken: dict[int, list[Photo]]) -> None:
    for piece_id, photos in taken.items():
        add_pictures(session, piece_id, [picture_draft(*photo) for photo in photos])


def picture_draft(plan: PicturePlan, facts: PhotoFacts) -> PictureDraft:
    """A photo that was taken in, tied to what it shows; whole pictures with scale and foot."""
    place = place_picture(plan.spec) if plan.whole else None
    return PictureDraft(
        sha256=facts.sha256, suffix=facts.suffix, name=facts.name, width=facts.width,
        height=facts.height, byte_count=facts.byte_count, taken_at=facts.taken_at,
        moment=plan.moment, caption=plan.caption,
        px_per_mm=place.px_per_mm if place else None, foot_x=place.foot_x if place else None,
        foot_y=place.foot_y if place else None,
    )  # fmt: skip


def lay_out(
    firings: dict[int, FiringPlan], stories: list[Story]
) -> dict[tuple[int, int], tuple[str, float | None, float | None]]:
    """Level and shelf place of every piece in every firing, by (seed of the piece, firing).

    What no longer fits on its shelf of a glaze firing stands on a second shelf of that level.
    In a bisque firing ware is stacked once the shelves are full.
    """
    from .firing_year import LEVELS

    shelves: dict[tuple[int, str], Shelf] = {}
    places: dict[tuple[int, int], tuple[str, float | None, float | None]] = {}
    standing = [
        (firing, story)
        for story in stories
        for firing in (story.plan.bisque, story.plan.glaze_firing)
        if firing is not None
    ]
    # Large ware first: the rows then fill evenly.
    standing.sort(key=lambda one: (one[0], -form_shapes()[one[1].plan.form].width_mm,
                                   one[1].plan.seed))  # fmt: skip
    for firing, story in standing:
        plan = firings[firing]
        wide, deep = footprint_mm(story.plan.form, form_shapes()[story.plan.form].width_mm)
        names = LEVELS[plan.kiln]
        if plan.kind == "bisque":
            levels = names[story.plan.seed % 3 :] + names[: story.plan.seed % 3]
        else:
            levels = (story.plan.level,)
        spot: tuple[float, float] | None = None
        level = levels[0]
        for level in levels:
            across = SHELF_MM.get(plan.kiln, SMALL_SHELF_MM)
            shelf = shelves.setdefault((firing, level), Shelf(across))
            spot = shelf.put(wide, deep)
            if spot is not None:
                break
        x, y = spot if spot is not None else (None, None)
        places[story.plan.seed, firing] = (level, x, y)
    return places
