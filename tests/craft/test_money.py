"""Money as it is typed, counted and shown: never a float between."""

from decimal import Decimal

import pytest

from studiolog.craft.money import add_up, exact, read_money, share_of, show_money, show_price
from studiolog.problems import UserProblem


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("28", "28"),
        ("28.50", "28.5"),
        ("28,50 €", "28.5"),
        ("kr 1 250", "1250"),
        ("1’250.05", "1250.05"),
        (".5", "0.5"),
    ],
)
def test_an_amount_is_read_with_comma_or_point_and_its_currency(typed: str, amount: str) -> None:
    assert read_money(typed, "kr") == Decimal(amount)


def test_nothing_typed_is_no_amount_and_not_nothing() -> None:
    assert read_money("  ") is None
    assert read_money("0") == 0


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("-3", "less than nothing"),
        ("a lot", "not an amount"),
        ("1,250.00", "both a comma and a point"),
        ("2.999", "more than 2 places"),
        ("9" * 12, "too large"),
        ("NaN", "not an amount"),
        ("1e5", "not an amount"),
    ],
)
def test_what_is_no_amount_is_told_in_a_sentence(typed: str, sentence: str) -> None:
    with pytest.raises(UserProblem, match=sentence):
        read_money(typed)


def test_amounts_are_shown_to_a_hundredth_and_small_ones_to_a_thousandth() -> None:
    gap = "\N{NARROW NO-BREAK SPACE}"
    assert show_money(Decimal("1284.5"), "€") == f"1{gap}284.50{gap}€"
    assert show_money(Decimal("0.0837")) == "0.084"
    assert show_money(Decimal("-3.005")) == "−3.01"
    assert show_money(Decimal(0)) == "0.00"
    assert show_price(Decimal("0.3")) == "0.30"
    assert show_price(Decimal("0.28675"), "€") == f"0.28675{gap}€"


def test_ten_cents_ten_times_are_one() -> None:
    """The sum that floats miss."""
    assert add_up([Decimal("0.1")] * 10) == 1
    assert sum([0.1] * 10) != 1
    assert share_of(Decimal(10), 4) == Decimal("2.5")
    assert share_of(Decimal(10), 0) is None
    assert exact(0.1) * 3 == Decimal("0.3")
