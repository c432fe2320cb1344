"""What firings used and cost in a studio: by meter, log or estimate, at the price of their day."""

from dataclasses import fields, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from studiolog.craft.firing.energy import MeterWords, read_meter_words
from studiolog.craft.firing.tariff import TariffBand
from studiolog.journal.energy import ExpectedEnergy, expect_energy
from studiolog.journal.firing_energy import read_firing_energy, set_energy
from studiolog.journal.firing_log import log_from_typed
from studiolog.journal.firings import CurveDraft, FiringDraft, LogDraft, keep_log, log_firing
from studiolog.journal.kiln_energy import read_kiln_energy
from studiolog.journal.kilns import KilnDraft, add_kiln, change_kiln, delete_kiln
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import PieceDraft, PlacementDraft, log_piece, move_to_stage
from studiolog.journal.planned_firing import read_planned_firing, read_planned_program
from studiolog.journal.programs import ProgramDraft, SegmentDraft, add_program
from studiolog.journal.session import Session
from studiolog.journal.tariffs import (
    TariffDraft,
    add_tariff,
    begin_tariff,
    list_tariffs,
    set_tariffs,
)
from studiolog.problems import UserProblem
from studiolog.transfer.curve_blob import pack_readings
from tests.journal.conftest import snapshot

NIGHT = TariffDraft(per_kwh=Decimal("0.20"), starts_min=22 * 60, ends_min=6 * 60)
EVENING = datetime(2026, 3, 4, 20, 0)
TEN_HOURS = (SegmentDraft(100, 1020), SegmentDraft(None, 900))


def log_of_ten_hours(percent: float | None = None) -> LogDraft:
    """Heated for ten hours, then cooled; with the duty, if it was logged."""
    t = [300.0 * step for step in range(181)]
    heat = [20 + min(at, 36000) / 36 - max(0.0, at - 36000) / 40 for at in t]
    curves = [
        CurveDraft(channel="kiln", packed=pack_readings(t, heat), readings=181, duration_s=t[-1])
    ]
    if percent is not None:
        duty = [percent if at < 36000 else 0.0 for at in t]
        curves.append(
            CurveDraft(
                channel="out", packed=pack_readings(t, duty), readings=181, duration_s=t[-1],
                role="duty", main=False,
            )
        )  # fmt: skip
    return LogDraft(sha256=f"{percent}", name="log.csv", content=b"", curves=tuple(curves))


@pytest.fixture
def kiln(journal: Journal) -> int:
    """Ten kilowatts and 200 litres; nights are cheaper."""

    def set_up(session: Session) -> int:
        draft = KilnDraft(
            name="Night kiln", power_kw=10, volume_l=200, tariff_per_kwh=Decimal("0.30")
        )
        made = add_kiln(session, draft)
        add_tariff(session, made, NIGHT)
        return made

    return journal.edit("Set up the kiln", set_up).value


def fields_of(band: TariffBand) -> dict[str, Any]:
    return {f.name: getattr(band, f.name) for f in fields(band)}


def fire(journal: Journal, kiln: int, **known: Any) -> int:
    draft = FiringDraft(**{"kiln_id": kiln, "started_at": EVENING, **known})
    return journal.edit("Fire", lambda session: log_firing(session, draft)).value


def test_a_firing_is_told_by_the_best_basis_there_is_and_undo_goes_back(
    journal: Journal, kiln: int
) -> None:
    firing = fire(journal, kiln)

    def told() -> tuple[str, float] | None:
        used = journal.read(lambda s: read_firing_energy(s, firing)).used
        return (used.basis, round(used.kwh, 1)) if used is not None else None

    assert told() is None
    journal.edit("Keep the log", lambda s: keep_log(s, firing, log_of_ten_hours()))
    # Ten kilowatts for ten hours, and the few minutes that the top takes to be left, × 0.65.
    assert told() == ("estimate", pytest.approx(65, abs=0.6))
    journal.edit("Keep another", lambda s: keep_log(s, firing, log_of_ten_hours(50.0)))
    assert told() == ("duty log", pytest.approx(50, abs=0.5))
    journal.edit(
        "Read the meter", lambda s: set_energy(s, firing, read_meter_words("100 to 156.2"))
    )
    assert told() == ("meter", 56.2)
    journal.undo()
    journal.undo()
    journal.undo()
    assert told() is None


def test_the_hours_of_a_firing_are_priced_each_as_its_own(journal: Journal, kiln: int) -> None:
    firing = fire(journal, kiln, log=log_of_ten_hours(60.0), kwh=100.0)
    told = journal.read(lambda s: read_firing_energy(s, firing))
    # Ten hours from 20:00: two by day, eight at night; a hundred kWh evenly.
    assert told.cost is not None
    assert told.cost.logged
    assert float(told.cost_value or 0) == pytest.approx(20 * 0.30 + 80 * 0.20, abs=0.15)
    assert told.cost_per_l == told.cost_value / 200
    assert told.cost_per_piece is None
    assert any("no piece is noted" in sentence for sentence in told.missing)


def test_pieces_share_the_cost_and_those_lost_leave_it_to_the_others(
    journal: Journal, kiln: int
) -> None:
    firing = fire(journal, kiln, kwh=40.0, segments=TEN_HOURS)
    pieces = [
        journal.edit(
            "Log",
            lambda s: log_piece(
                s, PieceDraft(stage="fired", placements=(PlacementDraft(firing_id=firing),))
            ),
        ).value
        for _ in range(4)
    ]
    journal.edit("Lose one", lambda s: move_to_stage(s, pieces[0], "lost", EVENING))
    told = journal.read(lambda s: read_firing_energy(s, firing))
    cost = told.cost_value
    assert cost is not None
    assert (told.pieces, told.lost) == (4, 1)
    assert told.cost_per_piece == cost / 4
    assert told.cost_per_good == cost / 3


def test_old_firings_keep_the_price_of_their_day(journal: Journal, kiln: int) -> None:
    old = fire(journal, kiln, kwh=100.0, segments=TEN_HOURS)
    new = fire(
        journal, kiln, kwh=100.0, segments=TEN_HOURS, started_at=EVENING + timedelta(days=60)
    )

    def costs() -> list[Decimal]:
        return [
            round(journal.read(lambda s, i=i: read_firing_energy(s, i)).cost_value or 0, 2)
            for i in (old, new)
        ]

    before = costs()
    begun = journal.edit("New prices", lambda s: begin_tariff(s, kiln, date(2026, 5, 1))).value
    assert costs() == before, "new prices begin as the old ones are"
    lines = {line.tariff_id: line.band for line in journal.read(lambda s: list_tariffs(s, kiln))}
    assert sorted(lines[i].per_kwh for i in begun) == [Decimal("0.2"), Decimal("0.3")], (
        "all other hours go on as well"
    )
    drafts = [TariffDraft(**fields_of(band)) for band in lines.values()]
    dearer = [
        replace(d, per_kwh=Decimal("0.50")) if d.per_kwh == Decimal("0.3") else d for d in drafts
    ]
    journal.edit("Dearer by day", lambda s: set_tariffs(s, kiln, dearer))
    after = {line.tariff_id: line.band for line in journal.read(lambda s: list_tariffs(s, kiln))}
    assert [i for i in lines if lines[i] != after[i]] == [
        i for i in begun if lines[i].per_kwh == Decimal("0.3")
    ]
    assert costs()[0] == before[0]
    assert float(costs()[1]) == pytest.approx(20 * 0.50 + 80 * 0.20, abs=0.02)
    with pytest.raises(UserProblem, match="begin on that day already"):
        journal.edit("Again", lambda s: begin_tariff(s, kiln, date(2026, 5, 1)))


def test_what_can_be_no_price_is_refused_in_a_sentence(journal: Journal, kiln: int) -> None:
    before = snapshot(journal)
    for draft, said in (
        (TariffDraft(per_kwh=Decimal("-0.1")), "from 0 up"),
        (TariffDraft(per_kwh=Decimal("NaN")), "from 0 up"),
        (TariffDraft(per_kwh=Decimal("0.1"), starts_min=1440), "begin between"),
        (TariffDraft(per_kwh=Decimal("0.1"), ends_min=0), "end between"),
        (NIGHT, "have a price from that day on already"),
    ):
        with pytest.raises(UserProblem, match=said):
            journal.edit("Price", lambda s, draft=draft: add_tariff(s, kiln, draft))
    with pytest.raises(UserProblem, match="Row 2: these hours have a price"):
        journal.edit("Prices", lambda s: set_tariffs(s, kiln, (NIGHT, NIGHT)))
    assert snapshot(journal) == before


def test_a_kiln_that_goes_takes_its_prices_along_and_undo_brings_them_back(
    journal: Journal, kiln: int
) -> None:
    before = snapshot(journal)
    journal.edit("Delete the kiln", lambda s: delete_kiln(s, kiln))
    assert journal.read(lambda s: list_tariffs(s, kiln)) == ()
    journal.undo()
    assert snapshot(journal) == before
    journal.edit("Take it out", lambda s: set_tariffs(s, kiln, ()))
    assert journal.read(lambda s: list_tariffs(s, kiln)) == ()


def test_what_is_missing_is_said_and_the_rest_is_told(journal: Journal, kiln: int) -> None:
    bare = journal.edit("A bare kiln", lambda s: add_kiln(s, KilnDraft(name="Bare"))).value
    metered = fire(journal, bare, kwh=50.0)
    told = journal.read(lambda s: read_firing_energy(s, metered))
    assert told.used is not None
    assert told.cost is None
    assert "No price of a kWh" in told.missing[0]
    other = fire(journal, bare)
    unread = journal.read(lambda s: read_firing_energy(s, other))
    assert "Neither the meter nor the kiln's power" in unread.missing[0]
    # A meter and two prices, but nobody said which hours it ran.
    when = fire(journal, kiln, kwh=50.0)
    vague = journal.read(lambda s: read_firing_energy(s, when))
    assert vague.cost is None
    assert "Which hours" in vague.missing[0]
    journal.edit("No other price", lambda s: change_kiln(s, kiln, tariff_per_kwh=None))
    half = fire(journal, kiln, kwh=50.0, segments=TEN_HOURS)
    partly = journal.read(lambda s: read_firing_energy(s, half))
    assert partly.cost_value is None
    assert "fall in hours without a price" in partly.missing[0]


def test_a_log_that_is_still_being_written_leaves_the_estimate_to_the_program(
    journal: Journal, kiln: int
) -> None:
    hours = [3600.0 * hour for hour in range(5)]
    half = log_from_typed([(at, 20 + at / 36) for at in hours])
    firing = fire(journal, kiln, segments=TEN_HOURS, log=half)
    told = journal.read(lambda s: read_firing_energy(s, firing))
    assert told.used is not None
    assert told.used.kwh == pytest.approx(65), "ten hours as planned, not the four logged so far"
    assert "planned heating" in told.used.words
    # Two hours by day and eight at night, though the log has but four.
    assert float(told.cost_value or 0) == pytest.approx(65 * (2 * 0.30 + 8 * 0.20) / 10)


def test_a_meter_that_says_more_than_the_kiln_can_draw_is_doubted(
    journal: Journal, kiln: int
) -> None:
    firing = fire(journal, kiln, log=log_of_ten_hours(), kwh=180.0)
    told = journal.read(lambda s: read_firing_energy(s, firing))
    assert "more than" in told.doubt
    assert told.used is not None
    assert told.used.kwh == 180.0, "it is told all the same"


def test_the_stand_before_is_kept_until_the_one_after_is_read(journal: Journal, kiln: int) -> None:
    firing = fire(journal, kiln)
    journal.edit("Before", lambda s: set_energy(s, firing, read_meter_words("12345.6 to")))
    told = journal.read(lambda s: read_firing_energy(s, firing))
    assert told.used is None
    assert told.facts.before_kwh == 12345.6
    journal.edit("After", lambda s: set_energy(s, firing, read_meter_words("12401.8")))
    used = journal.read(lambda s: read_firing_energy(s, firing)).used
    assert used is not None
    assert used.kwh == pytest.approx(56.2)
    journal.edit("Used", lambda s: set_energy(s, firing, read_meter_words("20000")))
    assert journal.read(lambda s: read_firing_energy(s, firing)).facts.kwh == 20000.0
    journal.edit("None", lambda s: set_energy(s, firing, MeterWords()))
    assert journal.read(lambda s: read_firing_energy(s, firing)).used is None


def test_a_kiln_tells_its_year_by_kind_with_how_well_it_is_known(
    journal: Journal, kiln: int
) -> None:
    logged: tuple[dict[str, Any], ...] = (
        {"kwh": 60.0, "segments": TEN_HOURS},
        {"kwh": 40.0, "segments": TEN_HOURS},
        {"segments": TEN_HOURS, "kind": "bisque"},
        {"kwh": 999.0, "started_at": EVENING - timedelta(days=500), "segments": TEN_HOURS},
    )
    for day, known in enumerate(logged):
        fire(journal, kiln, **{"started_at": EVENING + timedelta(days=day), **known})
    told = journal.read(lambda s: read_kiln_energy(s, kiln))
    assert told.firings == 3, "what was fired before the year does not count"
    bisque, glaze = told.kinds
    assert (bisque.kind, dict(bisque.by_basis)) == ("bisque", {"estimate": 1})
    assert (glaze.kwh, dict(glaze.by_basis)) == (50.0, {"meter": 2})
    assert float(glaze.cost or 0) == pytest.approx(10 * 0.30 + 40 * 0.20)
    assert glaze.cost_per_l == (glaze.cost or 0) / 200
    assert told.kwh == pytest.approx(100 + 50)
    bare = journal.edit("A bare kiln", lambda s: add_kiln(s, KilnDraft(name="Bare"))).value
    assert journal.read(lambda s: read_kiln_energy(s, bare)).kinds == ()
    fire(journal, bare)
    (untold,) = journal.read(lambda s: read_kiln_energy(s, bare)).kinds
    assert (untold.firings, untold.told, untold.kwh) == (1, 0, None)


def test_a_program_is_expected_to_use_what_it_used_and_told_when_it_costs_least(
    journal: Journal, kiln: int
) -> None:
    program = journal.edit(
        "A program",
        lambda s: add_program(s, ProgramDraft(name="Ten hours", segments=TEN_HOURS)),
    ).value
    noon = datetime(2026, 4, 1, 12, 0)

    def expect() -> ExpectedEnergy:
        return journal.read(
            lambda s: expect_energy(s, kiln_id=kiln, starts_at=noon, program_id=program)
        )

    first = expect().use
    assert first is not None
    # 10 kW × 1000 °C at 100 °C/h × 0.65.
    assert (first.energy.basis, first.energy.kwh) == ("estimate", pytest.approx(65))
    fired = [
        fire(journal, kiln, program_id=program, kwh=kwh, started_at=EVENING + timedelta(number))
        for number, kwh in enumerate((50.0, 60.0, 52.0))
    ]
    told = expect()
    assert told.use is not None
    assert told.use.energy.kwh == 52.0
    assert told.cost is not None
    # From noon all ten hours are by day; from 20:00 two are, and eight at night:
    # 52 × (2 × 0.30 + 8 × 0.20) / 10 = 11.44 instead of 15.60. Later is no cheaper.
    assert float(told.cost.cost or 0) == pytest.approx(15.60)
    assert told.cheapest is not None
    assert told.cheapest.starts_at == datetime(2026, 4, 1, 20, 0)
    assert told.cheapest_words == "Start at 20:00: 4.16 less."
    assert told.span is not None
    assert [round(cost, 2) for cost in told.span] == [Decimal("11.44"), Decimal("15.60")]
    sheet = journal.read(lambda s: read_planned_program(s, program, kiln, noon))
    assert (sheet.expected, sheet.cost) == (told.use, told.span)
    # On the sheet of a firing that has its hour, only what was fired before it counts.
    last = journal.read(lambda s: read_planned_firing(s, fired[-1]))
    assert last.expected is not None
    assert last.expected.energy.basis == "estimate"
    assert last.cost == (65 * Decimal("0.22"),) * 2


def test_without_power_or_price_the_expectation_says_what_it_lacks(journal: Journal) -> None:
    bare = journal.edit("A bare kiln", lambda s: add_kiln(s, KilnDraft(name="Bare"))).value
    noon = datetime(2026, 4, 1, 12, 0)
    told = journal.read(
        lambda s: expect_energy(s, kiln_id=bare, starts_at=noon, segments=TEN_HOURS)
    )
    assert told.use is None
    assert "the kiln's power" in told.missing[0]
    journal.edit("Its power", lambda s: change_kiln(s, bare, power_kw=8.0))
    priced = journal.read(
        lambda s: expect_energy(s, kiln_id=bare, starts_at=noon, segments=TEN_HOURS)
    )
    assert priced.use is not None
    assert priced.cost is None
    assert "No price of a kWh" in priced.missing[0]
