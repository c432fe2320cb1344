"""A fortnight of work in hand: every main edit once, then every page. For any journal."""

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, TypeVar

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.absorption import AbsorptionDraft, add_absorption, read_absorption
from studiolog.journal.allocation import (
    ForLine,
    ForPart,
    allocate_from_stock,
    allocate_numbered,
    allocate_of_run,
    take_back_some,
)
from studiolog.journal.bars import BarDraft, read_bars, set_bars
from studiolog.journal.before_leaving import read_before_leaving
from studiolog.journal.bench import read_bench, read_rows
from studiolog.journal.bench_words import read_bench_line
from studiolog.journal.bench_work import count_waiting, read_work, words_of
from studiolog.journal.costs import read_costs
from studiolog.journal.covers import read_covers
from studiolog.journal.demand import read_demand
from studiolog.journal.find import find_anything
from studiolog.journal.form_decisions import decide_form
from studiolog.journal.form_page import read_form_page
from studiolog.journal.form_steps import MakingStep, set_steps, set_zones
from studiolog.journal.form_versions import add_form_version
from studiolog.journal.forms import list_forms
from studiolog.journal.held_pieces import read_held_for
from studiolog.journal.hindsight import read_past_orders
from studiolog.journal.how_many import read_working_time
from studiolog.journal.ideas import (
    IdeaDraft,
    list_ideas,
    make_form_of,
    note_idea,
    read_idea_page,
    settle_idea,
)
from studiolog.journal.kiln_page import read_kiln_page
from studiolog.journal.limits import set_limit
from studiolog.journal.load_lighting import LightDraft, light_load
from studiolog.journal.load_list import read_load_list
from studiolog.journal.load_page import read_load_page
from studiolog.journal.load_pieces import add_of_order, take_out
from studiolog.journal.load_places import set_catch_tile
from studiolog.journal.load_shelves import add_shelf, set_cone_packs
from studiolog.journal.load_ware import read_waiting
from studiolog.journal.loads import change_load, delete_load, open_loads
from studiolog.journal.opening import Journal
from studiolog.journal.order_page import list_orders, read_order_page
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order, set_promise
from studiolog.journal.photos import PictureDraft
from studiolog.journal.piece_page import read_piece_page
from studiolog.journal.pieces import RunDraft, SizeDraft, log_run, move_to_stage, set_size
from studiolog.journal.promises import read_promises
from studiolog.journal.review import read_review
from studiolog.journal.run_page import read_run_choices, read_run_page
from studiolog.journal.runs import (
    change_run_facts,
    do_bench_line,
    find_again,
    lose_pieces,
    move_pieces,
    single_out_one,
)
from studiolog.journal.set_page import read_set_page
from studiolog.journal.sets import SetDraft, SetPartDraft, add_set, copy_set, delete_set, list_sets
from studiolog.journal.shipments import ToShip, read_packing_list, ship, take_shipment_back
from studiolog.journal.sizes import read_shrinkage
from studiolog.journal.stage_times import read_stage_times
from studiolog.journal.stock_pieces import count_stock, read_offers
from studiolog.journal.studio import read_terms, set_terms
from studiolog.journal.studio_days import add_away, read_studio_times
from studiolog.journal.tile_forms import read_tile_form
from studiolog.journal.tool_page import read_tool_page
from studiolog.journal.tools import ToolDraft, add_tool, list_tools, tools_of_piece, use_tool_on
from studiolog.journal.ways import add_way, judge_way, set_way
from studiolog.journal.working_time import read_windows
from studiolog.records.pieces import Piece, Run
from tests.planned_loads import TODAY, pack_now, plan_loads
from tests.small_studio import SmallStudio

T = TypeVar("T")
NOW = datetime.combine(TODAY, time(10))
_OF_ITS_OWN = {"version", "versions", "reading_versions", "journal"}


class Fortnight:
    """The edits, each an undo step of its own, and what every page says after them."""

    def __init__(self, journal: Journal, studio: SmallStudio) -> None:
        self.journal, self.studio = journal, studio
        self.edits = 0
        self.read: dict[str, Any] = {}

    def do(self, edit: Callable[..., T], *given: Any, **more: Any) -> T:
        """Run one edit."""
        done = self.journal.edit("Do", lambda session: edit(session, *given, **more))
        self.edits += done.entry_id is not None
        return done.value

    def ask(self, question: Callable[..., T], *given: Any, **more: Any) -> T:
        """Ask one page, and keep what it says."""
        answer = self.journal.read(lambda session: question(session, *given, **more))
        self.read[f"{question.__module__}.{question.__name__} {len(self.read)}"] = answer
        return answer

    def type_line(self, line: str, at: datetime = NOW) -> None:
        """Type a line at the bench and press Enter."""

        def read(session: Session) -> Any:
            ids = list(session.scalars(select(Run.id).where(Run.number == int(line.split(":")[0]))))
            return words_of(read_rows(session, ids), read_work(session, ids))

        reading = read_bench_line(line, self.journal.read(read))
        assert reading.ready, (reading.problems, reading.unread)
        self.do(do_bench_line, reading, at)

    def live(self) -> None:
        """Live through it."""
        loads = self.do(plan_loads, self.studio, packed=False)
        set_id, order = self._make_and_sell()
        idea, stamp, mug_run = self._think_and_try()
        self._measure()
        self._fire(loads.glaze, loads.bisque, loads.order)
        self._look(set_id, order, idea, stamp, mug_run)

    def _make_and_sell(self) -> tuple[int, int]:
        studio, do = self.studio, self.do
        do(set_terms, currency="€", hours_a_day=7.5, work_days="12345")
        do(set_limit, "promise_confidence", 0.8)
        do(add_away, date(2026, 12, 1), date(2026, 12, 4), "fair")
        set_id = do(
            add_set,
            SetDraft(
                name="Table for two",
                parts=(
                    SetPartDraft(each=2, form_id=studio.tumbler),
                    SetPartDraft(each=2, form_id=studio.bowl, clay_id=studio.buff),
                ),
            ),
        )
        order = do(
            add_order,
            OrderDraft(
                whom="Harbour inn",
                ordered_on=date(2026, 11, 2),
                promise_words="six to eight weeks",
                lines=(
                    OrderLineDraft(form_id=studio.tumbler, wanted=6, glaze_id=studio.kelp),
                    OrderLineDraft(set_id=set_id, wanted=1),
                    OrderLineDraft(what="a jug, as drawn", wanted=1),
                ),
            ),
            TODAY,
        )
        do(add_order, OrderDraft(whom="No promise", lines=()), TODAY)
        page = self.journal.read(lambda s: read_order_page(s, order))
        assert page is not None
        tumblers, table, jug = (line.line_id for line in page.lines)
        parts = [part.part_id for part in self._set(set_id).parts]
        run = do(
            log_run,
            RunDraft(
                made_on=date(2026, 11, 3), form_id=studio.tumbler, clay_id=studio.buff,
                how_many=10, order_line_id=tumblers,
            ),
        )  # fmt: skip
        do(move_pieces, run, "wet", "leather_hard", 10, datetime(2026, 11, 4, 9))
        do(move_pieces, run, "leather_hard", "bone_dry", 8, datetime(2026, 11, 6, 9))
        do(move_pieces, run, "bone_dry", "finished", 7, datetime(2026, 11, 10, 9))
        do(lose_pieces, run, "leather_hard", 2, "split", NOW)
        do(find_again, run)
        do(single_out_one, run, "finished")
        do(allocate_of_run, ForLine(tumblers), run, "finished", 2)
        do(allocate_of_run, ForPart(parts[0]), run, "finished", 2)
        bowls = do(
            log_run,
            RunDraft(
                made_on=date(2026, 10, 3), form_id=studio.bowl, clay_id=studio.buff,
                how_many=4, stage="finished",
            ),
        )  # fmt: skip
        self.ask(read_offers, studio.bowl, studio.buff, studio.chalk)
        do(allocate_from_stock, ForPart(parts[1]), 3)
        do(take_back_some, ForPart(parts[1]), bowls, "finished", 1)
        number = self.journal.read(
            lambda s: s.scalar(select(Piece.number).where(Piece.id == studio.pieces[0]))
        )
        do(allocate_numbered, ForLine(jug), str(number))
        do(set_promise, order, "four weeks", TODAY)
        sent = do(
            ship, order, TODAY, [ToShip(tumblers, 2), ToShip(table, 1)], "by cart", TODAY
        ).shipment_id
        self.ask(read_packing_list, sent)
        do(take_shipment_back, sent)
        do(ship, order, TODAY, [ToShip(tumblers, 3)], "", TODAY)
        do(delete_set, do(copy_set, set_id))
        past = do(
            add_order,
            OrderDraft(
                whom="Pier shop",
                ordered_on=date(2026, 10, 1),
                lines=(OrderLineDraft(form_id=studio.bowl, wanted=1),),
            ),
            TODAY,
        )
        (bowl,) = self.journal.read(lambda s: read_order_page(s, past)).lines
        do(allocate_from_stock, ForLine(bowl.line_id), 1)
        do(ship, past, TODAY, [ToShip(bowl.line_id, 1)], "", TODAY)
        return set_id, order

    def _set(self, set_id: int) -> Any:
        return self.journal.read(lambda session: read_set_page(session, set_id))

    def _think_and_try(self) -> tuple[int, int, int]:
        studio, do = self.studio, self.do
        sketch = PictureDraft(
            sha256="a" * 64, suffix=".png", name="sketch.png", width=800, height=600,
            byte_count=9000, taken_at=None, moment="making",
        )  # fmt: skip
        idea = do(
            note_idea, IdeaDraft(title="A mug with panels", noted_on=TODAY, pictures=(sketch,))
        )
        mug = do(make_form_of, idea, TODAY, "Panel mug")
        why = do(note_idea, IdeaDraft(title="Why pinholes?", noted_on=TODAY, kind="question"))
        do(settle_idea, why, "answered", "fired too fast", TODAY)
        do(
            set_steps,
            mug,
            [
                MakingStep("throw", 6, "wet"),
                MakingStep("trim", 4, "leather_hard"),
                MakingStep("handle", 5, "leather_hard"),
            ],
        )
        do(set_zones, mug, ["handle", "body"])
        do(decide_form, mug, "go", TODAY, "Asked for twice.")
        do(add_form_version, mug, TODAY, "deeper rim")
        early, late = (do(add_way, mug, name) for name in ("before", "after"))
        runs = []
        for way in (early, late):
            draft = RunDraft(made_on=date(2026, 11, 9), form_id=mug, clay_id=studio.red, how_many=6)
            run = do(log_run, draft)
            do(set_way, run, way)
            do(move_pieces, run, "wet", "leather_hard", 6, datetime(2026, 11, 10, 9))
            runs.append(run)
        do(judge_way, early, "keep", "quicker")
        do(change_run_facts, runs[1], title="Second try")
        numbers = {
            row.run_id: row.number for row in self.journal.read(lambda s: read_bench(s)).rows
        }
        self.type_line(f"{numbers[runs[0]]}: 3 trimmed 4 min each, another split")
        self.type_line(f"{numbers[runs[0]]}: wrapped loosely")
        self.type_line(f"{numbers[runs[1]]}: 2 trimmed, 1 trimmed again 2 min")
        do(move_pieces, runs[1], "leather_hard", "bisque", 6, datetime(2026, 11, 11, 9))
        self.type_line(f"{numbers[runs[1]]}: 3 handles glazed, 2 bodies glazed")
        stamp = do(
            add_tool,
            ToolDraft(
                title="Fish stamp",
                made_on=date(2026, 9, 1),
                sizes=(
                    SizeDraft(stage="wet", across_mm=30),
                    SizeDraft(stage="fired", across_mm=27),
                ),
            ),
        )
        do(add_tool, ToolDraft(title="Fish stamp", made_on=TODAY))
        do(use_tool_on, stamp, f"run {numbers[runs[0]]}", "the foot")
        return idea, stamp, runs[0]

    def _measure(self) -> None:
        studio, do = self.studio, self.do
        drafts = [BarDraft(None, (100.0, 94.0, 93.5, 88.0 + place / 10)) for place in range(4)]
        do(set_bars, studio.buff, (), drafts, NOW)
        piece = studio.pieces[0]
        do(set_size, piece, SizeDraft(stage="wet", across_mm=91, height_mm=108))
        do(set_size, piece, SizeDraft(stage="fired", across_mm=80, height_mm=95))
        test = AbsorptionDraft(tested_on=TODAY, dry_g=100, saturated_g=101.5, suspended_g=60)
        do(add_absorption, studio.buff, test, TODAY)

    def _fire(self, glaze: int, bisque: int, order: int) -> None:
        do = self.do
        page = self.journal.read(lambda s: read_load_page(s, glaze, TODAY))
        assert page is not None
        keys = list(page.pieces)
        do(take_out, glaze, keys)
        do(add_of_order, glaze, order)
        do(change_load, glaze, TODAY, notes="slow")
        do(pack_now, glaze)
        do(set_catch_tile, glaze, keys[:1], True)
        do(set_cone_packs, glaze)
        do(add_shelf, bisque, 200.0)
        self.ask(read_load_page, glaze, TODAY)
        self.ask(read_load_page, bisque, TODAY)
        self.ask(open_loads)
        do(light_load, glaze, LightDraft(started_at=NOW))
        do(delete_load, bisque)
        for piece_id in keys[:3]:
            do(move_to_stage, piece_id, "fired", NOW + timedelta(days=1))
        self.ask(read_load_page, glaze, TODAY)

    def _look(self, set_id: int, order: int, idea: int, stamp: int, mug_run: int) -> None:
        studio, ask = self.studio, self.ask
        bench = ask(read_bench)
        ids = [row.run_id for row in bench.rows]
        ask(read_bench, every_run=True)
        count_waiting(ask(read_work, ids).values())
        ask(read_run_page, mug_run)
        ask(read_run_choices, mug_run)
        ask(read_covers, ids)
        times = ask(read_stage_times)
        ask(read_windows, ids, NOW, times)
        ask(read_before_leaving, NOW, times)
        ask(read_working_time, studio.tumbler)
        for state in (None, "open"):
            ask(list_orders, state)
        ask(read_order_page, order)
        ask(read_demand, TODAY)
        ask(read_promises, NOW)
        assert ask(read_past_orders)
        ask(read_studio_times, TODAY)
        ask(count_stock)
        ask(list_sets)
        ask(read_set_page, set_id)
        ask(list_ideas)
        ask(read_idea_page, idea)
        for form in ask(list_forms):
            ask(read_form_page, form.form_id)
        ask(read_tile_form, studio.bowl)
        ask(list_tools)
        ask(read_tool_page, stamp)
        ask(read_costs)
        ask(read_terms)
        ask(read_shrinkage, studio.buff)
        ask(read_bars, studio.buff)
        ask(read_absorption, studio.buff)
        ask(read_load_list)
        for kind in ("bisque", "glaze"):
            ask(read_waiting, kind)
        ask(read_kiln_page, studio.kiln, today=TODAY)
        for customers in (True, False):
            ask(read_review, date(2026, 8, 1), TODAY, customers=customers)
        for words in ("fish", "Harbour", "table", "2"):
            ask(find_anything, words)
        for piece_id in studio.pieces[:2]:
            ask(read_piece_page, piece_id)
            ask(tools_of_piece, piece_id)
            ask(lambda s, one=piece_id: read_held_for(s, s.get_one(Piece, one)))


def plainly(value: Any) -> Any:
    """A page as plain values, without what each journal draws for itself."""
    if is_dataclass(value) and not isinstance(value, type):
        told = {
            one.name: plainly(getattr(value, one.name))
            for one in fields(value)
            if one.name not in _OF_ITS_OWN
        }
        return {type(value).__name__: told}
    if isinstance(value, Mapping):
        return {repr(plainly(key)): plainly(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plainly(one) for one in value]
    if isinstance(value, set | frozenset):
        return sorted(map(repr, map(plainly, value)))
    if isinstance(value, float):
        return float(f"{value:.9g}")
    if isinstance(value, Session):
        raise TypeError("a page holds no session")
    return value


def where_they_differ(one: Any, other: Any, path: str = "") -> str:
    """Where two plain values differ first, and how; "" if they do not."""
    if isinstance(one, dict) and isinstance(other, dict) and list(one) == list(other):
        pairs = [(f"{path}.{key}", one[key], other[key]) for key in one]
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        pairs = [(f"{path}[{at}]", *two) for at, two in enumerate(zip(one, other, strict=True))]
    else:
        return "" if one == other else f"{path}: {one!r} and {other!r}"
    return next((told for pair in pairs if (told := where_they_differ(*pair[1:], pair[0]))), "")
