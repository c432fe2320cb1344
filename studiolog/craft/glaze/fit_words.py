"""Fit of glaze and clay in words: what is known, how sure it is, and what to test next."""

from collections.abc import Sequence
from typing import Final

from studiolog.craft.glaze.fit import Chance, Fault, Threshold
from studiolog.craft.glaze.fit_next_tests import NextTests
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import THIN, show_number, show_quantity

UNIT: Final = "ppm/K"
VERBS: Final[dict[Fault, tuple[str, str]]] = {
    "crazing": ("craze", "crazed"),
    "shivering": ("shiver", "shivered"),
}
HOW_COUNTED: Final = (
    "Pieces of one glaze on one clay share their recipe and are not independent: the tenth tells "
    "little more of the clay than the first two. So evidence is counted in glazes."
)
HOW_LOOKED: Final = (
    "None seen in a stress test counts in full; none seen without one is weak evidence, for "
    "crazing can come weeks later."
)
SHARED_ERROR: Final = (
    "The threshold is learned in the same calculated figures, so an error that all of them share "
    "does no harm here."
)


def show_expansion(value_ppm_k: float, decimals: int = 1) -> str:
    """A calculated expansion for a reader: "6.9 ppm/K"."""
    return show_quantity(value_ppm_k, UNIT, decimals)


def show_chance(share: float) -> str:
    """A chance for a reader: "28 %", and never quite none or all."""
    if share < 0.01:
        return f"under 1{THIN}%"
    if share > 0.99:
        return f"over 99{THIN}%"
    return f"{show_number(100.0 * share)}{THIN}%"


def show_chance_interval(chance: Chance) -> str:
    """The interval of a chance: "12 to 55 %"."""
    low, high = show_chance(chance.low), show_chance(chance.high)
    if low == high:
        return low
    if low.startswith("under") or high.startswith("over"):
        return f"{low} to {high}"
    return f"{low.removesuffix(f'{THIN}%')} to {high}"


def word_of_chance(chance: Chance, limits: Limits = SHIPPED) -> str:
    """A chance in a word: "very likely", "likely", "unclear", "unlikely", "very unlikely".

    It is unclear, too, where the interval holds both what is likely and what is unlikely.
    """
    likely, very = limits["likely_chance"], limits["very_likely_chance"]
    if chance.low < 1.0 - likely and chance.high > likely:
        return "unclear"
    if chance.mean >= very:
        return "very likely"
    if chance.mean >= likely:
        return "likely"
    if chance.mean <= 1.0 - very:
        return "very unlikely"
    if chance.mean <= 1.0 - likely:
        return "unlikely"
    return "unclear"


def say_chance(chance: Chance, fault: Fault, limits: Limits = SHIPPED) -> str:
    """ "Crazing is unlikely: 13 % (90 % interval 4 to 26 %)." """
    word = word_of_chance(chance, limits)
    return (
        f"{fault.capitalize()} is {word}: {show_chance(chance.mean)} "
        f"(90{THIN}% interval {show_chance_interval(chance)})."
    )


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun: "1 glaze", "3 glazes"."""
    return f"1 {one}" if number == 1 else f"{number} {many or f'{one}s'}"


def say_evidence(known: Threshold) -> str:
    """What a threshold rests on: "3 glazes on 41 pieces; crazing seen on 1 of them (12 pieces)"."""
    if not known.glazes:
        return f"no glaze looked at for {known.fault}"
    told = f"{counted(known.glazes, 'glaze')} on {counted(known.pieces, 'piece')}"
    if not known.glazes_seen:
        return f"{told}; {known.fault} seen on none"
    which = "it" if known.glazes == 1 else f"{known.glazes_seen} of them"
    return f"{told}; {known.fault} seen on {which} ({counted(known.pieces_seen, 'piece')})"


def say_own_pieces(fault: Fault, seen: int, stressed: int, unstressed: int) -> str:
    """What a glaze's pieces told: "crazing seen on 10 of 36 pieces; 2 of the others ..."."""
    sound = stressed + unstressed
    if not seen + sound:
        return f"nobody looked for {fault} on it alone here"
    told = f"{fault} seen on {seen} of {counted(seen + sound, 'piece')}"
    if not seen:
        told = f"{fault} seen on none of {counted(sound, 'piece')}"
    if not sound:
        return told
    tested = str(stressed) if stressed else "none"
    rest = "the others" if seen else "them"
    return f"{told}; {tested} of {rest} stress-tested"


def say_threshold(known: Threshold) -> tuple[str, ...]:
    """Where a fault begins on a clay, in a few sentences that claim no more than is known."""
    verb, past = VERBS[known.fault]
    span = f"{known.low:.1f} to {known.high:.1f}"
    if not known.glazes:
        prior = (
            f"Before anything is seen, the program expects half the glazes of {known.mean:.1f} "
            f"({span}) {UNIT} to {verb}; that is a judgement, and yours to change."
        )
        return (
            f"Not known yet. Nobody has looked for {known.fault} where one glaze with a calculated "
            "expansion lies alone on this clay.",
            prior,
        )
    side = "more" if known.fault == "crazing" else "less"
    first = (
        f"From {known.mean:.1f} {UNIT} and {side}, half the glazes or more {verb} on this clay "
        f"(90{THIN}% interval {span})."
    )
    told = [f"Thin evidence. {first}" if known.is_thin else first]
    often = [one for one in known.results if 2 * one.seen >= one.pieces]
    highest = max(one.expansion_ppm_k for one in known.results)
    lowest = min(one.expansion_ppm_k for one in known.results)
    beyond = f"over {highest:.1f}" if known.fault == "crazing" else f"under {lowest:.1f}"
    within = f"under {lowest:.1f}" if known.fault == "crazing" else f"over {highest:.1f}"
    if not known.glazes_seen:
        told.append(f"None of the glazes {past}; {_expected(beyond)}")
    elif not often:
        told.append(f"No glaze {past} on half its pieces; {_expected(beyond)}")
    elif len(often) == known.glazes:
        which = "The only glaze" if known.glazes == 1 else "Every glaze"
        told.append(f"{which} {past} on half its pieces or more; {_expected(within)}")
    return tuple(told)


def _expected(span: str) -> str:
    return f"what happens {span} {UNIT} is expectation, not evidence."


def say_tests(found: NextTests | None, titles: Sequence[str], fault: Fault) -> str:
    """What to test next, by the glazes' names: "Test these two: …"."""
    if found is None:
        return (
            "There is no other glaze with a calculated expansion to test. Give a glaze its recipe, "
            "or a new version that lies apart from those looked at."
        )
    if not found.tells_enough:
        return (
            f"None of your glazes would tell much more of {fault} on this clay: the nearest are "
            f"{' and '.join(titles)}. A new version near the threshold would."
        )
    narrows = f"{show_number(100.0 * found.narrows_by)}{THIN}%"
    which = "Test these two" if len(titles) == 2 else "Test this one"
    return (
        f"{which}: {' and '.join(titles)}, alone on this clay, with a stress test. That "
        f"would take away {narrows} of the variance of the threshold, on average."
    )
