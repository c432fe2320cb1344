"""What a firing used, said with its basis; what a potter types of a meter; what is missing."""

import pytest

from studiolog.craft.firing.energy import (
    EnergyFacts,
    MeterWords,
    expect_use,
    planned_heating_h,
    read_meter_words,
    say_missing_energy,
    spread_by_quarter,
    spread_evenly,
    tell_energy,
)
from studiolog.craft.firing.program import Segment
from studiolog.craft.limits import Limits
from studiolog.craft.units import THIN
from studiolog.problems import UserProblem
from tests.outside.test_energy import STARTS


def test_every_basis_is_said_in_words() -> None:
    meter = tell_energy(EnergyFacts(before_kwh=100.0, after_kwh=156.2))
    log = tell_energy(EnergyFacts(power_kw=8.0, duty_h=7.6))
    guess = tell_energy(EnergyFacts(kind="bisque", power_kw=8.0, heating_h=10.0))
    assert meter is not None
    assert log is not None
    assert guess is not None
    labels = [told.label.replace(THIN, " ") for told in (meter, log, guess)]
    assert labels == [
        "56.2 kWh, read from the meter (100.0 to 156.2)",
        "about 61 kWh, from the logged duty: 8.0 kW × 7.6 h at full power",
        "about 40 kWh, estimated: 8.0 kW × 10.0 h of heating × 0.50, common practice, to 25 % "
        "either way",
    ]
    assert (meter.between, guess.between.replace(THIN, " ")) == ("", "30 to 50 kWh")


def test_a_changed_share_is_no_longer_common_practice() -> None:
    mine = tell_energy(EnergyFacts(power_kw=8.0, heating_h=10.0), Limits({"glaze_duty": 0.7}))
    assert mine is not None
    assert mine.kwh == pytest.approx(56.0)
    assert "0.70, as you set it" in mine.words


def test_a_silence_of_the_duty_makes_its_energy_less_certain() -> None:
    whole = tell_energy(EnergyFacts(power_kw=8.0, duty_h=7.0))
    holed = tell_energy(EnergyFacts(power_kw=8.0, duty_h=7.0, duty_gap_h=1.0))
    assert whole is not None
    assert holed is not None
    assert holed.high - whole.high == pytest.approx(4.0)
    assert whole.low - holed.low == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("facts", "names"),
    [
        (EnergyFacts(), ["meter", "power", "without it"]),
        (EnergyFacts(duty_h=7.0, heating_h=12.0), ["power"]),
        (EnergyFacts(before_kwh=5.0), ["meter after"]),
        (EnergyFacts(power_kw=8.0), ["no meter reading", "log"]),
    ],
)
def test_what_is_missing_is_named(facts: EnergyFacts, names: list[str]) -> None:
    assert tell_energy(facts) is None
    sentence = say_missing_energy(facts)
    assert all(name in sentence for name in names)


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("", MeterWords()),
        ("56.2", MeterWords(kwh=56.2)),
        ("56,2 kWh", MeterWords(kwh=56.2)),
        ("12345.6 to 12401.0", MeterWords(before_kwh=12345.6, after_kwh=12401.0)),
        ("12 345,6 – 12 401", MeterWords(before_kwh=12345.6, after_kwh=12401.0)),
        ("12345.6-12401", MeterWords(before_kwh=12345.6, after_kwh=12401.0)),
        ("from 12345.6 kWh to 12401 kWh", MeterWords(before_kwh=12345.6, after_kwh=12401.0)),
        ("12345.6 to", MeterWords(before_kwh=12345.6)),
    ],
)
def test_a_meter_is_typed_as_a_potter_writes_it(typed: str, read: MeterWords) -> None:
    assert read_meter_words(typed) == read


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("12401 to 12345.6", "does not run backwards"),
        ("lots", "is not a reading"),
        ("-3", "less than nothing"),
        ("12 to lots", "“lots” is not a reading"),
    ],
)
def test_what_no_meter_says_is_refused_in_a_sentence(typed: str, said: str) -> None:
    with pytest.raises(UserProblem, match=said):
        read_meter_words(typed)


def test_three_firings_by_the_meter_say_what_the_next_will_use() -> None:
    two = expect_use([60.0, 64.0], 8.0, 10.0)
    three = expect_use([60.0, 64.0, 70.0], 8.0, 10.0)
    assert two is not None
    assert three is not None
    assert (two.energy.basis, two.firings, two.energy.kwh) == ("estimate", 0, pytest.approx(52))
    assert (three.energy.kwh, three.energy.low, three.energy.high) == (64.0, 60.0, 70.0)
    assert three.energy.words == "as the last 3 firings of it by the meter"
    assert expect_use([], None, 10.0) is None


def test_old_firings_of_a_worn_kiln_do_not_count_for_ever() -> None:
    newest_first = [80.0] * 10 + [50.0] * 40
    told = expect_use(newest_first, None, None)
    assert told is not None
    assert (told.energy.kwh, told.firings) == (80.0, 10)


def test_a_program_heats_until_its_top_is_left() -> None:
    slow_cool = (Segment(100, 1020, 30), Segment(60, 1200, 15), Segment(60, 800, 0))
    # 1000 at 100 °C/h from 20 °C, half an hour, 180 at 60 °C/h, a quarter: 10 + 0.5 + 3 + 0.25.
    assert planned_heating_h(slow_cool) == pytest.approx(13.75)


def test_power_is_spread_over_the_quarters_it_was_logged_in() -> None:
    spread = spread_by_quarter([300, 900, 0, 600], STARTS.replace(minute=10))
    assert spread is not None
    assert spread.edges_s == (0.0, 300.0, 1200.0, 2100.0, 3000.0)
    assert [round(spread.until(s), 3) for s in (-5, 300, 750, 2100, 9999)] == [
        0.0, 0.167, 0.417, 0.667, 1.0,
    ]  # fmt: skip
    assert spread_by_quarter([0, 0], STARTS) is None
    assert spread_evenly(0.0, 0.0) is None
