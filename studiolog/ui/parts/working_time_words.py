"""How the size of a batch is said."""

from collections.abc import Sequence

from studiolog.craft.clay.working_time import BatchSize, Needed, say_hours
from studiolog.craft.units import THIN, show_quantity
from studiolog.craft.words import join_words
from studiolog.journal.how_many import WorkingTime


def say_count(page: WorkingTime, pieces: int) -> str:
    """``5``, ``5 of each``, ``more than 500``."""
    many = f"{pieces} or more" if pieces >= 500 else str(pieces)
    return f"{many} of each" if len(page.names) > 1 else many


def say_chance(chance: float) -> str:
    """``less than 1 %``, ``7 %``."""
    if chance < 0.005:
        return f"less than 1{THIN}%"
    return show_quantity(100.0 * chance, "%")


def say_needed(one: Needed) -> tuple[str, str]:
    """A line of the table of counts."""
    return (
        f"{one.pieces} at once: one of them waits {say_hours(one.hours)}",
        f"{say_chance(one.chance)} too stiff",
    )


def say_wrapping(size: BatchSize) -> str:
    """Until which steps those that wait must be wrapped; "" where none must."""
    if not size.wrap_before:
        return ""
    steps = join_words([f"“{name}”" for name in size.wrap_before])
    return f"Keep those that wait wrapped until it is their turn for {steps}."


def say_untimed(names: Sequence[str]) -> str:
    """Steps that are left out of the sum, "" for none."""
    if not names:
        return ""
    steps = join_words([f"“{name}”" for name in names])
    return f"Left out, for nobody gave its minutes: {steps}." if len(names) == 1 else (
        f"Left out, for nobody gave their minutes: {steps}."
    )  # fmt: skip
