"""Amounts of money: read as typed, exact, and shown with the studio's own currency.

An amount is a Decimal from the moment it is typed; it is never a float.
"""

import re
from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from studiolog.craft.units import MINUS, THIN
from studiolog.problems import UserProblem

MOST: Final = Decimal(1_000_000_000)
_PLAIN = re.compile(r"-?(\d+([.,]\d*)?|[.,]\d+)")


def read_money(text: str, currency: str = "", decimals: int = 2) -> Decimal | None:
    """An amount as typed, with or without its currency; empty text is None.

    ``decimals`` is how many places after the point it may have. Raises `UserProblem` for what is
    no amount, has more places, or is below nothing.
    """
    left = text.strip()
    for sign in (currency.strip(), "€", "£", "$"):
        if sign:
            left = left.removeprefix(sign).removesuffix(sign).strip()
    left = re.sub(r"[\s\u2009\u202f'’]", "", left).replace("−", "-")
    if not left:
        return None
    if "," in left and "." in left:
        raise UserProblem(
            f"“{text.strip()}” has both a comma and a point: write the amount with one of them."
        )
    if not _PLAIN.fullmatch(left):
        raise UserProblem(f"“{text.strip()}” is not an amount: write it like 12.50 or 12,50.")
    amount = Decimal(left.replace(",", "."))
    if amount < 0:
        raise UserProblem(f"“{text.strip()}” is less than nothing: an amount is 0 or more.")
    if amount >= MOST:
        raise UserProblem(f"“{text.strip()}” is too large: look at it again.")
    if amount != round(amount, decimals):
        raise UserProblem(
            f"“{text.strip()}” has more than {decimals} places after the point: round it."
        )
    return amount


def show_money(amount: Decimal, currency: str = "", decimals: int = 2) -> str:
    """An amount to a hundredth, with its currency after a narrow gap: "1 284.50 €"; "0.084" stays.

    Less than a tenth is shown to a thousandth, so that a gram of cobalt does not cost nothing.
    """
    places = max(decimals, 3) if 0 < abs(amount) < Decimal("0.1") else decimals
    least = Decimal(1).scaleb(-places)
    shown = f"{amount.quantize(least, ROUND_HALF_UP):,f}".replace(",", THIN).replace("-", MINUS)
    return f"{shown}{THIN}{currency}" if currency else shown


def show_price(price: Decimal, currency: str = "") -> str:
    """A price as it was given, with two places at the least: "0.30", "0.2855 €"."""
    whole, _, part = f"{price:.5f}".rstrip("0").partition(".")
    shown = f"{whole}.{part:0<2}"
    return f"{shown}{THIN}{currency}" if currency else shown


def exact(quantity: float) -> Decimal:
    """A measured quantity as money is counted with it, to a millionth: kWh, kg, hours."""
    return Decimal(f"{quantity:.6f}")


def share_of(amount: Decimal | None, of: float | None) -> Decimal | None:
    """A part of an amount; None where there is no amount, or nothing to share it by."""
    return amount / exact(of) if amount is not None and of else None


def add_up(amounts: Iterable[Decimal]) -> Decimal:
    """The sum of amounts; of none, nothing."""
    return sum(amounts, Decimal(0))
