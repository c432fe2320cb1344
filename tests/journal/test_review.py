"""Looking back: what is counted, against which span, and that no customer is named."""

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal

import pytest
from sqlalchemy.orm import Session

from studiolog.craft.spans import Span, usual_spans
from studiolog.journal.customer_names import CustomerNames
from studiolog.journal.inspections import FaultDraft
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order
from studiolog.journal.photos import PictureDraft, add_picture
from studiolog.journal.pieces import PieceDraft, RunDraft, log_piece, log_run, move_to_stage
from studiolog.journal.review import Review, read_review
from studiolog.journal.runs import lose_pieces
from studiolog.journal.writing import add, change
from studiolog.problems import UserProblem
from studiolog.records.firings import Firing
from studiolog.records.ideas import Idea
from studiolog.records.orders import OrderLine, SetPart, Shipment, WareSet
from studiolog.records.pieces import Piece, Run
from tests.journal.conftest import Studio

OCTOBER = (date(2026, 10, 1), date(2026, 10, 31))


def look(studio: Studio, first: date = OCTOBER[0], last: date = OCTOBER[1],
         customers: bool = False) -> Review:  # fmt: skip
    return studio.journal.read(
        lambda session: read_review(session, first, last, customers=customers)
    )


def shot(name: str, moment: str) -> PictureDraft:
    return PictureDraft(
        sha256=name * 64, suffix=".jpg", name=f"{name}.jpg", width=40, height=30, byte_count=900,
        taken_at=None, moment=moment,
    )  # fmt: skip


@pytest.fixture
def october(studio: Studio, log_tumbler: Callable[..., int]) -> dict[str, int]:
    """Ten tumblers begun, two lost, six sent for an order; and notes that name who it was for."""

    def enter(session: Session) -> dict[str, int]:
        order_id = add_order(
            session,
            OrderDraft(
                whom="Wedding, the Aldens",
                notes="Ring Mrs Alden on Sunday.",
                lines=(
                    OrderLineDraft(form_id=studio.tumbler, wanted=6, price=Decimal("24.50")),
                    OrderLineDraft(what="jug", wanted=1),
                ),
            ),
        )
        line_id = session.query(OrderLine.id).order_by(OrderLine.id).limit(1).scalar()
        run_id = log_run(
            session,
            RunDraft(
                made_on=date(2026, 10, 5), form_id=studio.tumbler, clay_id=studio.buff, how_many=10,
                title="Tumblers for the Aldens",
                next_time="Wait a day longer. Mrs Alden likes them thin.",
            ),
        )  # fmt: skip
        lose_pieces(session, run_id, "wet", 2, "rim split", datetime(2026, 10, 6, 10))
        shipment = add(session, Shipment(order_id=order_id, shipped_on=date(2026, 10, 30)))
        good = [p.id for p in session.query(Piece).filter_by(run_id=run_id, stage="wet")][:6]
        for piece_id in good:
            change(session, Piece, piece_id, stage="finished", order_line_id=line_id,
                   shipment_id=shipment)  # fmt: skip
        log_run(session, RunDraft(made_on=date(2026, 9, 4), form_id=studio.tumbler, how_many=4))
        log_run(session, RunDraft(made_on=date(2026, 10, 8), how_many=9, purpose="test"))
        add(session, Idea(title="Why does Chalk craze in winter?", kind="question",
                          noted_on=date(2026, 8, 1)))  # fmt: skip
        add(session, Idea(title="Would the Aldens take it in blue?", kind="question",
                          noted_on=date(2026, 10, 9)))  # fmt: skip
        add(session, Idea(title="Is the top shelf cooler?", kind="question", state="answered",
                          noted_on=date(2026, 9, 1), settled_on=date(2026, 10, 20),
                          outcome="By half a cone."))  # fmt: skip
        return {"run": run_id, "line": line_id, "order": order_id, "shipment": shipment}

    ids = studio.journal.edit("October", enter).value
    ids["piece"] = log_tumbler(FaultDraft("crazing", 2))

    def tell(session: Session) -> None:
        from studiolog.journal.pieces import move_to_stage

        piece = ids["piece"]
        change(session, Piece, piece, stage="glazed",
               lesson="Chalk crazes here. Tell Alden so.", next_time="Thinner Chalk.")  # fmt: skip
        move_to_stage(session, piece, "fired", datetime(2026, 10, 4, 9), "")
        for name, moment in (("a", "making"), ("b", "glazed"), ("c", "fired")):
            add_picture(session, shot(name, moment), piece_id=piece)
        change(session, Firing, studio.firing, lesson="Slow is better.")

    studio.journal.edit("Tell", tell)
    return ids


def test_the_numbers_of_a_month_add_up(studio: Studio, october: dict[str, int]) -> None:
    page = look(studio)
    assert page.span.words == "October 2026"
    assert page.before == Span(date(2026, 9, 1), date(2026, 9, 30))
    # The tumbler in the pictures was thrown in September, fired in October.
    assert [(one.form, one.pieces, one.runs, one.before) for one in page.made] == [
        ("Ripple tumbler", 10, 1, 5)
    ]
    assert (page.pieces_made.now, page.pieces_made.before) == (10, 5)
    assert (page.tests_made.now, page.tests_made.before) == (9, 0)
    assert [(one.stage, one.why, one.pieces) for one in page.lost] == [("wet", "rim split", 2)]
    assert [(one.kind, one.firings, one.pieces) for one in page.fired] == [("glaze", 1, 1)]
    assert page.pieces_made.now == sum(one.pieces for one in page.made)
    assert page.pieces_lost.now == sum(one.pieces for one in page.lost)
    assert not page.empty


def test_what_was_sent_is_counted_at_the_price_of_its_line(
    studio: Studio, october: dict[str, int]
) -> None:
    page = look(studio)
    (sold,) = page.sold
    assert (sold.form, sold.pieces, sold.amount, sold.unpriced) == (
        "Ripple tumbler", 6, Decimal("147.00"), 0,
    )  # fmt: skip
    assert page.taken == Decimal("147.00")
    assert page.taken_before is None

    def as_a_set(session: Session) -> None:
        # A table of three for 100: six pieces are two of them, and a third of 100 stays exact.
        set_id = add(session, WareSet(name="Table"))
        add(session, SetPart(set_id=set_id, position=1, each=3, form_id=studio.tumbler))
        change(session, OrderLine, october["line"], set_id=set_id, form_id=None,
               price=Decimal("100.00"))  # fmt: skip

    studio.journal.edit("As a set", as_a_set)
    assert look(studio).taken == Decimal("200.00")


def test_what_broke_on_the_way_was_lost_and_not_sold_and_a_test_that_broke_is_no_ware(
    studio: Studio, october: dict[str, int]
) -> None:
    def break_some(session: Session) -> None:
        gone = session.query(Piece).filter_by(shipment_id=october["shipment"]).first()
        assert gone is not None
        move_to_stage(session, gone.id, "lost", datetime(2026, 10, 31, 9), "broke in the post")
        test = session.query(Run).filter_by(purpose="test").one()
        lose_pieces(session, test.id, "wet", 3, "warped", datetime(2026, 10, 9, 9))

    studio.journal.edit("Break", break_some)
    page = look(studio)
    assert (page.sold[0].pieces, page.sold[0].amount) == (5, Decimal("122.50"))
    assert [(one.stage, one.why, one.pieces) for one in page.lost] == [
        ("wet", "rim split", 2),
        ("finished", "broke in the post", 1),
    ]


def test_no_customer_is_named_unless_it_is_asked_for(
    studio: Studio, october: dict[str, int]
) -> None:
    page = look(studio)
    told = repr(page)
    for name in ("Alden", "Wedding", "Sunday"):
        assert name not in told
    assert page.left_out == 4  # two sentences, a question, and the title of a run
    by_text = {note.text: note for note in page.notes}
    assert {"Wait a day longer.", "Chalk crazes here.", "Thinner Chalk.", "Slow is better."} == set(
        by_text
    )
    assert by_text["Wait a day longer."].where == "Run 1, Tumblers for [left out]"
    named = look(studio, customers=True)
    assert named.left_out == 0
    assert named.sold[0].whom == ("Wedding, the Aldens",)
    assert any("Mrs Alden" in note.text for note in named.notes)
    assert "Ring Mrs Alden" not in repr(named)  # notes of orders never


def test_questions_stay_until_they_are_answered(studio: Studio, october: dict[str, int]) -> None:
    told = {one.title: (one.open, one.answer) for one in look(studio).questions}
    assert told == {
        "Why does Chalk craze in winter?": (True, ""),
        "Is the top shelf cooler?": (False, "By half a cone."),
    }
    earlier = look(studio, date(2026, 9, 1), date(2026, 9, 30))
    assert [(one.title, one.open) for one in earlier.questions] == [
        ("Why does Chalk craze in winter?", True),
        ("Is the top shelf cooler?", True),
    ]


def test_before_and_after_are_the_last_raw_stage_and_the_fired_picture(
    studio: Studio, october: dict[str, int]
) -> None:
    (pair,) = look(studio).pairs
    assert (pair.before.moment, pair.after.moment) == ("glazed", "fired")
    assert (pair.before.sha256[0], pair.after.sha256[0]) == ("b", "c")
    assert pair.glazes == ("Oat", "Kelp", "Chalk")
    assert look(studio, date(2026, 11, 1), date(2026, 11, 30)).pairs == ()


def test_pairs_stand_in_the_order_of_their_firing(studio: Studio) -> None:
    def enter(session: Session) -> None:
        for place, day in enumerate((20, 4, 12)):
            draft = PieceDraft(
                form_id=studio.tumbler, stage="fired", stages=(("fired", datetime(2026, 10, day)),),
                pictures=(shot("123"[place], "bisque"), shot("def"[place], "fired")),
            )  # fmt: skip
            log_piece(session, draft)

    studio.journal.edit("Log", enter)
    assert [pair.fired_at.day for pair in look(studio).pairs] == [4, 12, 20]


def test_the_same_words_of_many_pieces_are_one_note(studio: Studio) -> None:
    def enter(session: Session) -> None:
        for _ in range(3):
            log_piece(session, PieceDraft(made_on=date(2026, 10, 9), next_time="Try it on a cup."))

    studio.journal.edit("Log", enter)
    (note,) = look(studio).notes
    assert (note.text, note.others) == ("Try it on a cup.", 2)
    assert note.of_what.endswith(", and 2 others")


def test_a_span_in_which_nothing_happened_is_empty_and_one_backwards_refused(
    studio: Studio, october: dict[str, int]
) -> None:
    page = look(studio, date(2019, 1, 1), date(2019, 12, 31))
    assert page.empty
    assert page.span.words == "2019"
    with pytest.raises(UserProblem, match="The last day lies before the first"):
        look(studio, date(2026, 10, 2), date(2026, 10, 1))


def test_names_are_found_in_any_case_in_parts_and_in_the_plural() -> None:
    names = CustomerNames(
        ("Wedding, the Aldens", "Kelp Street shop", "ida@quay.example +44 20 7946 0018"),
        frozenset({"kelp"}),
        addresses=True,
    )
    for text in ("for THE ALDENS", "Alden's jar", "kelp street  shop", "write ida@quay.example",
                 "ring +44 20 7946 0018"):  # fmt: skip
        assert names.found_in(text), text
    for text in ("Kelp runs", "Saldene", "a street", "44 tumblers"):
        assert not names.found_in(text), text
    assert names.without("Kelp ran. The Aldens saw it. Stop at half height.") == (
        "Kelp ran. Stop at half height."
    )
    assert names.without("Glaze at 1.45 s.g. was best. Mail her at ida@home.example. Thin.") == (
        "Glaze at 1.45 s.g. was best. Thin."
    )
    assert names.left_out == 2
    assert names.masked("Jars for the Aldens") == "Jars for [left out]"


def test_what_is_made_for_the_house_hides_no_sentence(studio: Studio) -> None:
    def enter(session: Session) -> None:
        for kind, whom in (("house", "Kitchen"), ("pre_order", "Kelp")):
            line = OrderLineDraft(what="bowl", wanted=1)
            add_order(session, OrderDraft(whom=whom, kind=kind, lines=(line,)))
        text = "Kelp looked best in the kitchen."
        log_piece(session, PieceDraft(made_on=date(2026, 10, 9), lesson=text))

    studio.journal.edit("Log", enter)
    assert [note.text for note in look(studio).notes] == ["Kelp looked best in the kitchen."]


def test_spans_are_named_and_stand_beside_the_one_before() -> None:
    spans = usual_spans(date(2026, 2, 28))
    assert spans["this month"] == Span(date(2026, 2, 1), date(2026, 2, 28))
    assert spans["last month"].words == "January 2026"
    assert spans["this quarter"].words == "January to March 2026"
    assert spans["last quarter"].words == "October to December 2025"
    assert spans["this quarter"].before() == spans["last quarter"]
    assert spans["this year"].before() == spans["last year"]
    ten = Span(date(2026, 3, 1), date(2026, 3, 10))
    assert ten.words == "1 Mar to 10 Mar 2026"
    assert ten.before() == Span(date(2026, 2, 19), date(2026, 2, 28))
    assert Span(date(2025, 12, 1), date(2026, 1, 31)).words == "December 2025 to January 2026"
    assert usual_spans(date(2024, 12, 31))["this month"].before().last_on == date(2024, 11, 30)
