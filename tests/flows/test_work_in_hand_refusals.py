"""What work in hand refuses, in one short sentence, with nothing half kept.

More pieces than there are, promises in the past, ware that fits nowhere, clay that would vanish,
runs without clay, numbers that are none, names that are empty or a whole page.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from sqlalchemy.orm import Session

from studiolog.craft.clay.absorption import boiled
from studiolog.craft.clay.shrinkage import linear, make_size
from studiolog.craft.ware.throws import how_many_to_throw
from studiolog.journal.absorption import AbsorptionDraft, add_absorption
from studiolog.journal.allocation import (
    ForLine,
    ForPart,
    allocate_numbered,
    allocate_of_run,
    allocate_pieces,
)
from studiolog.journal.bars import BarDraft, set_bars
from studiolog.journal.bench_actions import RunWords
from studiolog.journal.bench_words import read_bench_line
from studiolog.journal.clays import ClayDraft, add_clay, change_clay, delete_clay
from studiolog.journal.covers import cover_run
from studiolog.journal.form_decisions import decide_form
from studiolog.journal.form_steps import MakingStep, set_steps, set_zones
from studiolog.journal.forms import FormDraft, add_form, change_form, delete_form
from studiolog.journal.how_many import read_how_many
from studiolog.journal.ideas import IdeaDraft, note_idea
from studiolog.journal.kilns import KilnDraft, add_kiln, change_kiln
from studiolog.journal.load_pieces import add_to_load, add_typed
from studiolog.journal.load_places import move_piece
from studiolog.journal.load_shelves import add_shelf
from studiolog.journal.loads import LoadDraft, begin_load
from studiolog.journal.opening import Journal, open_journal
from studiolog.journal.order_lines import OrderLineDraft, set_order_lines
from studiolog.journal.orders import OrderDraft, add_order, change_order, set_promise
from studiolog.journal.pieces import RunDraft, log_run, log_step
from studiolog.journal.promises import foresee, read_promises
from studiolog.journal.runs import do_bench_line, lose_pieces, move_pieces
from studiolog.journal.sets import SetDraft, SetPartDraft, add_set, change_set
from studiolog.journal.shipments import ToShip, ship
from studiolog.journal.studio_days import add_away
from studiolog.journal.tools import use_tool_on
from studiolog.journal.ways import add_way, judge_way
from studiolog.problems import UserProblem
from studiolog.records.orders import OrderLine, SetPart
from studiolog.records.pieces import Piece
from tests.journal.conftest import snapshot

TODAY = date(2026, 11, 12)
NOW = datetime(2026, 11, 12, 14, 6)
PAGE = "\n".join(f"line {number}: bowl {number}" for number in range(10_000))
NO_NUMBERS = (math.nan, math.inf, -math.inf, 1e308, -1.0)
EMPTY = ("", "   ", "\x00\x07", "\u202e")


@dataclass(frozen=True)
class Yard:
    """Six bowls leather-hard for an order of four, a kiln with a load begun, a set, a way."""

    journal: Journal
    clay: int
    bowl: int
    tower: int
    run: int
    bare_run: int
    order: int
    line: int
    kiln: int
    load: int
    shelf: int
    part: int
    set: int
    way: int
    piece: int


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Yard]:
    journal = open_journal(tmp_path_factory.mktemp("yard") / "journal")

    def enter(session: Session) -> Yard:
        clay = add_clay(session, ClayDraft(name="Buff stoneware", shrinkage_percent=12.5))
        steps = (MakingStep("thrown", 8.0, "wet"), MakingStep("trimmed", 7.0, "leather_hard"))
        bowl = add_form(
            session,
            FormDraft(
                name="Soup bowl", clay_g=620, fired_height_mm=65, fired_across_mm=160, steps=steps
            ),
        )
        tower = add_form(
            session, FormDraft(name="Tower", fired_height_mm=2000, fired_across_mm=900)
        )
        run = log_run(
            session,
            RunDraft(
                made_on=TODAY - timedelta(days=3), form_id=bowl, clay_id=clay, how_many=6,
                stage="leather_hard",
            ),
        )  # fmt: skip
        bare = log_run(session, RunDraft(made_on=TODAY, form_id=tower, how_many=1, stage="glazed"))
        order = add_order(
            session,
            OrderDraft(
                whom="Quay café", ordered_on=TODAY, promise_words="eight weeks",
                lines=(OrderLineDraft(wanted=4, form_id=bowl),),
            ),
            TODAY,
        )  # fmt: skip
        kiln = add_kiln(session, KilnDraft(name="Big kiln", shelf_across_mm=520))
        load = begin_load(session, LoadDraft(kiln_id=kiln, kind="glaze", cone="6"), TODAY)
        made = add_set(session, SetDraft(name="Table", parts=(SetPartDraft(each=2, form_id=bowl),)))
        return Yard(
            journal, clay, bowl, tower, run, bare, order,
            session.query(OrderLine.id).filter_by(order_id=order).scalar() or 0,
            kiln, load, add_shelf(session, load, 120.0),
            session.query(SetPart.id).filter_by(set_id=made).scalar() or 0,
            made, add_way(session, bowl, "pressed first"),
            session.query(Piece.id).filter_by(run_id=bare).scalar() or 0,
        )  # fmt: skip

    yield journal.edit("Set up the yard", enter).value
    journal.close()


Act = Callable[[Session, Yard], object]


def boiled_test(dry_g: float, saturated_g: float, on: date = TODAY) -> AbsorptionDraft:
    return AbsorptionDraft(tested_on=on, dry_g=dry_g, saturated_g=saturated_g, suspended_g=118.0)


def line_of_bench(session: Session, on: Yard, text: str) -> None:
    runs = [RunWords(on.run, 1, {"leather_hard": 6})]
    do_bench_line(session, read_bench_line(text, runs), NOW)


NUMBERS: dict[str, Callable[[Session, Yard, float], object]] = {
    "minutes of a step": lambda s, on, n: set_steps(s, on.bowl, [MakingStep("thrown", n, "wet")]),
    "minutes of work done": lambda s, on, n: log_step(s, on.piece, "trimmed", TODAY, n),
    "a fired size": lambda s, on, n: change_form(s, on.bowl, fired_across_mm=n),
    "nested height": lambda s, on, n: change_form(s, on.bowl, stack_mm=n),
    "workable hours": lambda s, on, n: change_form(s, on.bowl, workable_h=n),
    "shrinkage": lambda s, on, n: change_clay(s, on.clay, shrinkage_percent=n),
    "a bar": lambda s, on, n: set_bars(
        s, on.clay, (), [BarDraft(None, (100.0, n, None, None))], NOW
    ),
    "a dry weight": lambda s, on, n: add_absorption(s, on.clay, boiled_test(n, 206.0), TODAY),
    "depth of a shelf": lambda s, on, n: change_kiln(s, on.kiln, shelf_deep_mm=n),
    "height of a chamber": lambda s, on, n: change_kiln(s, on.kiln, chamber_height_mm=n),
    "how full": lambda s, on, n: change_kiln(s, on.kiln, worth_percent=n),
    "room over a shelf": lambda s, on, n: add_shelf(s, on.load, n),
    "a place": lambda s, on, n: move_piece(s, on.load, on.piece, on.shelf, n, 0.0),
}

NAMES: dict[str, Callable[[Session, Yard, str], object]] = {
    "whom an order is for": lambda s, on, t: add_order(s, OrderDraft(whom=t), TODAY),
    "a set": lambda s, on, t: add_set(s, SetDraft(name=t)),
    "an idea": lambda s, on, t: note_idea(s, IdeaDraft(title=t, noted_on=TODAY)),
    "a way": lambda s, on, t: add_way(s, on.bowl, t),
    "a zone": lambda s, on, t: set_zones(s, on.bowl, ["body", t]),
    "a step": lambda s, on, t: set_steps(s, on.bowl, [MakingStep(t, 5.0, "wet")]),
    "why it was lost": lambda s, on, t: (
        lose_pieces(s, on.run, "leather_hard", 1, t, NOW)
        if t is not PAGE
        else set_steps(s, on.bowl, [MakingStep(t, 5.0)])
    ),
}

OTHERS: dict[str, tuple[Act, str]] = {
    "more moved than there are": (
        lambda s, on: move_pieces(s, on.run, "leather_hard", "bone_dry", 7, NOW),
        "only 6",
    ),
    "more lost than there are": (
        lambda s, on: lose_pieces(s, on.run, "leather_hard", 7, "split", NOW),
        "only 6",
    ),
    "more said than there are": (lambda s, on: line_of_bench(s, on, "1: 7 trimmed"), "understood"),
    "a line nobody understands": (lambda s, on: line_of_bench(s, on, "1: flurbed"), "understood"),
    "a run that is not there": (lambda s, on: line_of_bench(s, on, "99: trimmed 2"), "understood"),
    "more set aside than there are": (
        lambda s, on: allocate_of_run(s, ForLine(on.line), on.run, "leather_hard", 7),
        "6",
    ),
    "none set aside": (
        lambda s, on: allocate_of_run(s, ForPart(on.part), on.run, "leather_hard", 0),
        "1 or more|one",
    ),
    "a piece that is not there": (
        lambda s, on: allocate_pieces(s, ForLine(on.line), [999]),
        "no longer",
    ),
    "a number nobody has": (lambda s, on: allocate_numbered(s, ForLine(on.line), "999"), "999"),
    "more shipped than are finished": (
        lambda s, on: ship(s, on.order, TODAY, [ToShip(on.line, 1)], today=TODAY),
        "finished",
    ),
    "shipped tomorrow": (
        lambda s, on: ship(
            s, on.order, TODAY + timedelta(days=1), [ToShip(on.line, 1)], today=TODAY
        ),
        "day|finished",
    ),
    "a promise before today": (
        lambda s, on: set_promise(s, on.order, "by 1 March 2026", TODAY),
        "past|before|today|gone by",
    ),
    "a promise of no weeks": (lambda s, on: set_promise(s, on.order, "zero weeks", TODAY), "."),
    "a promise nobody reads": (
        lambda s, on: set_promise(s, on.order, "when the geese fly", TODAY),
        "write|say|like",
    ),
    "a promise back to front": (
        lambda s, on: change_order(
            s, on.order, promised_from=date(2027, 3, 1), promised_on=date(2027, 2, 1)
        ),
        "before|ends|order",
    ),
    "a line of none": (
        lambda s, on: set_order_lines(s, on.order, [OrderLineDraft(wanted=0, form_id=on.bowl)]),
        "one",
    ),
    "a form wider than a street": (
        lambda s, on: change_form(s, on.bowl, fired_across_mm=1e9),
        "is less than 1000000",
    ),
    "a line of a million": (
        lambda s, on: set_order_lines(s, on.order, [OrderLineDraft(wanted=10**6, form_id=on.bowl)]),
        "100",
    ),
    "a line for less than nothing": (
        lambda s, on: set_order_lines(
            s, on.order, [OrderLineDraft(wanted=1, form_id=on.bowl, price=Decimal(-1))]
        ),
        "0 or more",
    ),
    "a line for no number": (
        lambda s, on: set_order_lines(
            s, on.order, [OrderLineDraft(wanted=1, form_id=on.bowl, price=Decimal("NaN"))]
        ),
        "0 or more",
    ),
    "a line that asks for nothing": (
        lambda s, on: set_order_lines(s, on.order, [OrderLineDraft(wanted=1)]),
        "what",
    ),
    "no sets": (lambda s, on: change_set(s, on.set, wanted=0), "one|1"),
    "a part of none": (
        lambda s, on: add_set(
            s, SetDraft(name="Odd", parts=(SetPartDraft(each=0, form_id=on.bowl),))
        ),
        "one|1",
    ),
    "a size that is none": (lambda s, on: make_size(math.nan, 0.12), "more than 0"),
    "a length below nothing": (lambda s, on: linear(-1.0, 10.0), "more than 0"),
    "a weight without end": (lambda s, on: boiled(200.0, math.inf, 118.0), "number|weigh|g"),
    "growing clay": (lambda s, on: linear(100.0, 101.0), "shrinks"),
    "clay that vanishes": (lambda s, on: make_size(100.0, 1.0), "100"),
    "clay that vanishes, kept": (
        lambda s, on: change_clay(s, on.clay, shrinkage_percent=100.0),
        "under 60",
    ),
    "lighter when wet": (
        lambda s, on: add_absorption(s, on.clay, boiled_test(200.0, 190.0), TODAY),
        "less|more|lighter|water",
    ),
    "boiled tomorrow": (
        lambda s, on: add_absorption(
            s, on.clay, boiled_test(200.0, 206.0, TODAY + timedelta(days=1)), TODAY
        ),
        "day|to come|future",
    ),
    "a cover that is none": (lambda s, on: cover_run(s, on.run, "tinfoil", NOW), "not a cover"),
    "wrapped before it was begun": (
        lambda s, on: cover_run(s, on.run, "cloth", NOW - timedelta(days=30)),
        "before",
    ),
    "a decision without reasons": (
        lambda s, on: decide_form(s, on.bowl, "no_go", TODAY, ""),
        "why|reason",
    ),
    "a way dropped without a note": (lambda s, on: judge_way(s, on.way, "drop", ""), "why|note"),
    "a tool that is none": (lambda s, on: use_tool_on(s, on.piece, "run 1"), "tool"),
    "away back to front": (
        lambda s, on: add_away(s, date(2026, 12, 24), date(2026, 12, 20)),
        "before|after|last",
    ),
    "a load planned for yesterday": (
        lambda s, on: begin_load(
            s, LoadDraft(kiln_id=on.kiln, planned_on=TODAY - timedelta(days=1)), TODAY
        ),
        "before|past|today",
    ),
    "a load at no cone": (
        lambda s, on: begin_load(s, LoadDraft(kiln_id=on.kiln, cone="99"), TODAY),
        "cone",
    ),
    "more in a load than there are": (
        lambda s, on: add_to_load(s, on.load, on.bare_run, "glazed", 2),
        "1 glazed|not 2",
    ),
    "a load of numbers nobody has": (lambda s, on: add_typed(s, on.load, "999"), "999"),
    "a shelf above the lid": (
        lambda s, on: add_shelf(s, on.load, 99_000.0),
        "chamber|fit|room|high",
    ),
    "posts that are no numbers": (
        lambda s, on: change_kiln(s, on.kiln, posts_mm="two bricks"),
        "post|two",
    ),
    "a clay that runs were made of": (lambda s, on: delete_clay(s, on.clay), "can't be deleted"),
    "a form that is owed": (lambda s, on: delete_form(s, on.bowl), "can't be deleted"),
}


def assert_refused(on: Yard, act: Act) -> str:
    before = snapshot(on.journal, with_history=True)
    with pytest.raises(UserProblem) as told:
        on.journal.edit("Try", lambda session: act(session, on))
    assert snapshot(on.journal, with_history=True) == before
    sentence = told.value.sentence
    assert sentence.rstrip().endswith((".", "?")), sentence
    assert len(sentence) < 500, "a page that was pasted is not read out again"
    assert "\n" not in sentence
    assert "constraint" not in sentence, "a potter is told in her own words"
    return sentence


@pytest.mark.parametrize("which", NUMBERS)
def test_what_is_no_number_a_potter_means_is_refused(yard: Yard, which: str) -> None:
    for number in NO_NUMBERS:
        assert_refused(yard, lambda session, on, n=number: NUMBERS[which](session, on, n))


@pytest.mark.parametrize("which", NAMES)
def test_no_name_and_a_page_in_place_of_one_are_refused(yard: Yard, which: str) -> None:
    for text in (*EMPTY, PAGE):
        assert_refused(yard, lambda session, on, t=text: NAMES[which](session, on, t))


@pytest.mark.parametrize("which", OTHERS)
def test_what_can_not_be_is_told_and_nothing_is_kept(yard: Yard, which: str) -> None:
    act, said = OTHERS[which]
    sentence = assert_refused(yard, act)
    assert any(word in sentence for word in said.split("|")), sentence


def test_a_journal_without_history_foresees_by_stated_times_and_says_so(yard: Yard) -> None:
    """One run, nothing fired yet: every stay and loss is a stated prior, and is told as such."""
    plan = yard.journal.read(lambda session: read_promises(session, NOW))
    told = foresee(plan)
    assert told is not None
    (line, *_) = told.lines
    assert line.middle_on is not None
    assert line.middle_on > TODAY
    many = yard.journal.read(lambda session: read_how_many(session, [yard.bowl]))
    assert many.size is not None
    assert many.size.pieces > 0
    assert how_many_to_throw(10, 0.9, 0.0) == 10
