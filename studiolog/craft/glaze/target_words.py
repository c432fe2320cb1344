"""A unity formula as it is typed or pasted: moles and oxides in turn, in any layout of lines."""

import re
from collections.abc import Mapping
from typing import Final

from studiolog.craft.glaze.oxides import LOI, in_order, pretty, read_oxide, without_subscripts
from studiolog.craft.units import MINUS, parse_number, show_number
from studiolog.problems import UserProblem

_LONGEST: Final = 2000
_NUMBER: Final = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"
_SIGN: Final = re.compile(rf"(?P<number>{_NUMBER})|(?P<word>[A-Za-z][A-Za-z0-9]*)|(?P<other>\S)")
_BETWEEN: Final = frozenset(".,;:·|=+()[]{}")
_MORE_WORDS: Final = frozenset({"mol", "mole", "moles", "x", "of"})


def read_formula_words(text: str) -> dict[str, float]:
    """Moles by oxide of a formula as typed: ``0.3 K2O 0.7 CaO 0.4 Al2O3 3.5 SiO2``.

    The number may stand before its oxide or after it, but alike throughout; oxides named twice are
    added up. Raises UserProblem for anything that is neither, naming it.
    """
    if len(text) > _LONGEST:
        raise UserProblem(
            f"That is {len(text)} letters long; a formula is a line or two, like "
            "0.3 K2O 0.7 CaO 0.4 Al2O3 3.5 SiO2."
        )
    numbers, oxides, numbers_first = _take_apart(text)
    if not oxides:
        raise UserProblem("Give the formula like 0.3 K2O 0.7 CaO 0.4 Al2O3 3.5 SiO2.")
    if len(numbers) != len(oxides):
        lone = oxides[-1] if numbers_first else oxides[min(len(numbers), len(oxides) - 1)]
        raise UserProblem(f"Give one number for each oxide; there is none for {pretty(lone)}.")
    moles: dict[str, float] = {}
    for number, oxide in zip(numbers, oxides, strict=True):
        if number < 0.0:
            raise UserProblem(f"{pretty(oxide)} can't be less than 0 moles.")
        moles[oxide] = moles.get(oxide, 0.0) + number
    return in_order(moles)


def _take_apart(text: str) -> tuple[list[float], list[str], bool]:
    numbers: list[float] = []
    oxides: list[str] = []
    first: bool | None = None
    for found in _SIGN.finditer(without_subscripts(text.replace(MINUS, "-"))):
        word, number = found["word"], found["number"]
        if found["other"]:
            if found["other"] not in _BETWEEN:
                raise UserProblem(f"“{found['other']}” is neither a number nor an oxide.")
        elif number:
            first = True if first is None else first
            _hold_turn(len(numbers), len(oxides), first, f"the number {number}")
            numbers.append(parse_number(number.rstrip(".,")))
        elif word.casefold() not in _MORE_WORDS:
            oxide = read_oxide(word)
            if oxide == LOI:
                raise UserProblem("A formula has no loss on ignition: leave LOI out.")
            first = False if first is None else first
            _hold_turn(len(oxides), len(numbers), not first, pretty(oxide))
            oxides.append(oxide)
    return numbers, oxides, bool(first)


def _hold_turn(own: int, others: int, leads: bool, what: str) -> None:
    if own > (others if leads else others - 1):
        raise UserProblem(f"Numbers and oxides must stand in turn; they do not at {what}.")


def write_formula_words(target: Mapping[str, float], decimals: int = 3) -> str:
    """A formula on one line, as `read_formula_words` reads it: ``0.265 K₂O  0.735 CaO``."""
    return "  ".join(
        f"{show_number(moles, decimals)} {pretty(oxide)}"
        for oxide, moles in in_order(target).items()
        if round(moles, decimals) > 0.0
    )
