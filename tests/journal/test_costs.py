"""What a tumbler costs in a small studio, from its own clay, firings, minutes and losses."""

from datetime import date, datetime
from decimal import Decimal

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.money import exact
from studiolog.craft.ware.cost import CostLine
from studiolog.journal.clays import change_clay
from studiolog.journal.costs import FormCostLine, read_costs, read_form_cost
from studiolog.journal.form_steps import MakingStep, set_steps
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import RunDraft, log_run, log_step, move_to_stage
from studiolog.journal.stage_times import read_stage_times
from studiolog.journal.studio import read_currency, read_terms, set_terms
from studiolog.journal.writing import change
from studiolog.problems import UserProblem
from studiolog.records.pieces import Piece
from tests.small_studio import SmallStudio, fill_studio


@pytest.fixture
def studio(journal: Journal) -> SmallStudio:
    return fill_studio(journal)


def tumbler(studio: SmallStudio) -> FormCostLine:
    line = studio.journal.read(lambda session: read_form_cost(session, studio.tumbler))
    assert line is not None
    return line


def line_of(cost: FormCostLine, part: str) -> CostLine:
    return next(line for line in cost.cost.lines if line.part == part)


def test_each_part_is_told_from_the_studios_own_records(studio: SmallStudio) -> None:
    def price(session: Session) -> None:
        change_clay(session, studio.buff, price_per_kg=Decimal("1.20"))
        change_clay(session, studio.red, price_per_kg=Decimal("1.60"))
        set_terms(session, currency="€", hour_rate=Decimal(24))

    studio.journal.edit("Prices", price)
    told = tumbler(studio)
    assert told.pieces == 24
    # Twelve of each clay: 1.40 a kg on average; 420 g and a twentieth that is not reclaimed.
    assert line_of(told, "clay").each == Decimal("1.40") * exact(0.42 * 1.05)
    # 61.5, 62.5, 63.5 and 64.5 kWh at 0.31, six cups in each: 63 × 0.31 / 6.
    firing = line_of(told, "firing").each
    assert firing is not None
    assert round(firing, 3) == Decimal("3.255")
    assert "4 firings" in line_of(told, "firing").basis
    # No bisque was logged, no glaze was weighed: they are not known, and not taken for nothing.
    assert told.cost.missing == ("share of the bisque", "glaze")
    # Fifteen minutes as the form plans them; packing is untimed.
    assert [line.minutes for line in told.cost.work] == [6, 4, 5, None]
    assert told.cost.untimed == ("packed",)
    assert told.cost.pays
    assert told.cost.cost > told.cost.things > 0


def test_minutes_that_were_logged_go_before_those_the_form_plans(studio: SmallStudio) -> None:
    def log(session: Session) -> None:
        for piece, minutes in zip(studio.pieces[:3], (9.0, 7.0, 8.0), strict=True):
            log_step(session, piece, "trimming", date(2026, 9, 2), minutes)
        log_step(session, studio.pieces[3], "trimming", date(2026, 9, 2), 90.0, rework=True)

    studio.journal.edit("Trim", log)
    trimmed = next(line for line in tumbler(studio).cost.work if line.words == "trimmed")
    assert trimmed.minutes == 8.0
    assert trimmed.basis == "middle of 3 logged"


def test_a_cup_glazed_part_by_part_takes_the_minutes_of_all_its_parts(studio: SmallStudio) -> None:
    def log(session: Session) -> None:
        for piece in studio.pieces[:3]:
            log_step(session, piece, "glazed", date(2026, 9, 9), 2.0, zone="handle")
            log_step(session, piece, "glazed", date(2026, 9, 10), 5.0, zone="body")
        # A stamp of the same form took longer to make, and is no cup.
        change(session, Piece, studio.pieces[3], kind="tool")
        log_step(session, studio.pieces[3], "glazed", date(2026, 9, 10), 90.0)

    studio.journal.edit("Glaze", log)
    steps = [MakingStep("thrown", 6), MakingStep("glazed", 5)]
    studio.journal.edit("Steps", lambda session: set_steps(session, studio.tumbler, steps))
    glazed = next(line for line in tumbler(studio).cost.work if line.words == "glazed")
    assert (glazed.minutes, glazed.basis) == (7.0, "middle of 3 logged")


def test_thrown_alone_is_jar_and_lid_as_the_form_shares_them(studio: SmallStudio) -> None:
    def log(session: Session) -> None:
        set_steps(
            session, studio.tumbler, [MakingStep("jar thrown", 12), MakingStep("lid thrown", 6)]
        )
        for piece in studio.pieces[:3]:
            log_step(session, piece, "thrown", date(2026, 9, 9), 15.0)
        log_step(session, studio.pieces[3], "lid thrown", date(2026, 9, 9), 9.0)

    studio.journal.edit("Throw", log)
    work = {line.words: line.minutes for line in tumbler(studio).cost.work}
    assert work == {"jar thrown": 10.0, "lid thrown": 5.0}


def test_losses_of_a_form_that_got_no_further_are_not_those_of_other_ware(
    studio: SmallStudio,
) -> None:
    def throw(session: Session) -> int:
        form = add_form(session, FormDraft(name="Egg cup"))
        run = log_run(session, RunDraft(made_on=date(2026, 9, 1), form_id=form, how_many=5))
        for place, piece in enumerate(
            session.scalars(select(Piece.id).where(Piece.run_id == run)).all()
        ):
            stage = "lost" if place == 0 else "leather_hard"
            move_to_stage(session, piece, stage, datetime(2026, 9, 2, 9))
        # Ware of others went all the way, and some of it was set aside.
        for place, piece in enumerate(studio.pieces[:8]):
            for stage in ("leather_hard", "bone_dry", "bisque", "glazed"):
                move_to_stage(session, piece, stage, datetime(2026, 9, 20, 9))
            move_to_stage(
                session, piece, "lost" if place < 3 else "fired", datetime(2026, 9, 21, 9)
            )
        return form

    form = studio.journal.edit("Throw", throw).value
    line = studio.journal.read(lambda session: read_form_cost(session, form))
    assert line is not None
    assert "1 of 5 of this form" in line.loss_words
    whole = studio.journal.read(read_stage_times).loss_from("wet", form)
    assert (whole.pieces, whole.lost, whole.runs, whole.of) == (5, 1, 1, "form")


def test_without_prices_the_page_says_what_to_enter(studio: SmallStudio) -> None:
    page = studio.journal.read(read_costs)
    assert [line.name for line in page.lines] == ["Ripple tumbler", "Soup bowl"]
    said = " ".join(page.remarks)
    assert "What an hour is to earn is not said" in said
    assert "No price of Buff stoneware and Iron-red stoneware" in said
    assert "No selling price: Soup bowl" in said
    bowl = page.lines[1].cost
    assert bowl.margin is None
    assert bowl.minutes is None
    # The bowl never stood in a kiln: it is reckoned by its size, as other ware was.
    firing = next(line for line in bowl.lines if line.part == "firing")
    assert firing.each is not None
    assert "other ware" in firing.basis


def test_an_empty_journal_costs_nothing_and_says_so(journal: Journal) -> None:
    assert journal.read(read_costs).lines == ()
    assert journal.read(read_terms).currency == ""


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"currency": "12 €"}, "no currency"),
        ({"currency": "a long name of money"}, "no currency"),
        ({"hour_rate": Decimal(-1)}, "0 or more"),
        ({"hour_rate": Decimal("NaN")}, "0 or more"),
        ({"hours_a_day": 25.0}, "at most 24"),
        ({"hours_a_day": 0.0}, "more than 0"),
    ],
)
def test_terms_that_cannot_be_are_refused_and_nothing_is_kept(
    journal: Journal, fields: dict[str, object], sentence: str
) -> None:
    journal.edit("Currency", lambda session: set_terms(session, currency="kr"))
    with pytest.raises(UserProblem, match=sentence):
        journal.edit("Terms", lambda session: set_terms(session, **fields))
    assert journal.read(read_currency) == "kr"
