"""What was lost is thrown once more: every line that is short, in every future that is, at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from studiolog.craft.ware.drawn_losses import loss_until_finished, missing_after
from studiolog.craft.ware.drawn_times import Moments
from studiolog.craft.ware.kiln_queue import Loads
from studiolog.craft.ware.promise import Line

if TYPE_CHECKING:
    from studiolog.craft.ware.futures import Part

_ROUNDS: Final = 4
_FIRST_LUCK: Final = 3
_WORK: Final = ("forming", "leather_hard", "glazing", "finishing")


@dataclass(frozen=True)
class Short:
    """Where lines are short: the line, the future, how many, and when the last loss was seen."""

    lines: NDArray[np.int32]
    where: NDArray[np.intp]
    missing: NDArray[np.int64]
    known: Moments

    def only(self, which: NDArray[np.bool_], missing: NDArray[np.int64], known: Moments) -> "Short":
        """Those that are still short, with what is missing now."""
        return Short(self.lines[which], self.where[which], missing[which], known[which])


def make_again(
    part: "Part",
    lines: Sequence[Line],
    short: Sequence[Short],
    final: Moments,
    bisque: Loads,
    glaze: Loads,
) -> None:
    """Move ``final`` (lines, futures) to when there are enough; never, after four rounds.

    Each round throws what is missing with as many over as the confidence asks, before all other
    work, and puts it into the next kilns: a few pots find room.
    """
    if not short:
        return
    open_ones = Short(
        *(np.concatenate([getattr(one, name) for one in short]) for name in Short.__annotations__)
    )
    rates = [loss_until_finished(line.losses, 0).of_one_run for line in lines]
    for turn in range(_ROUNDS):
        if not len(open_ones.where):
            return
        draws, chance = _draw(part, lines, open_ones, turn)
        done = _once_more(part, lines, open_ones, draws, bisque, glaze)
        spot = (open_ones.lines, open_ones.where)
        final[spot] = np.maximum(final[spot], done)
        still = np.zeros_like(open_ones.missing)
        keys = open_ones.lines.astype(np.int64) << 32 | open_ones.missing
        for key in np.unique(keys):
            here = np.flatnonzero(keys == key)
            table = missing_after(
                int(key & 0xFFFFFFFF), rates[int(key >> 32)], part.problem.confidence
            )
            still[here] = np.searchsorted(table, chance[here])
        open_ones = open_ones.only(still > 0, still, done)
    final[open_ones.lines, open_ones.where] = np.inf


def _draw(part: "Part", lines: Sequence[Line], short: Short, turn: int) -> tuple[Moments, Moments]:
    """Luck of each: normal draws for its four stays, and a chance for what is lost."""
    normals = np.empty((4, len(short.where)), dtype=np.float32)
    chance = np.empty(len(short.where), dtype=np.float32)
    begins = np.searchsorted(short.lines, np.arange(len(lines) + 1))
    for place, line in enumerate(lines):
        here = slice(begins[place], begins[place + 1])
        if begins[place] < begins[place + 1]:
            luck = part.luck_of(_FIRST_LUCK + turn, line.key)
            drawn = luck.standard_normal((4, part.size), dtype=np.float32)
            normals[:, here] = drawn[:, short.where[here]]
            chance[here] = luck.random(part.size, dtype=np.float32)[short.where[here]]
    return normals, chance


def _once_more(
    part: "Part",
    lines: Sequence[Line],
    short: Short,
    draws: Moments,
    bisque: Loads,
    glaze: Loads,
) -> Moments:
    days = part.days
    usual = np.array(
        [
            [
                (stay.centre - np.log(24.0), stay.spread, stay.spread / stay.worth**0.5)
                for stay in line.stays
            ]
            for line in lines
        ],
        dtype=np.float32,
    )[short.lines]
    each = np.array(
        [[getattr(line.minutes, name) for name in _WORK] for line in lines], dtype=np.float32
    )[short.lines]
    each *= (short.missing * part.pace[short.where])[:, None].astype(np.float32)
    shared = part.shared[:, short.where]

    def stay(at: Moments, place: int) -> Moments:
        logs = usual[:, place, 0] + usual[:, place, 1] * draws[place]
        return days.after_stay(at, np.exp(logs + usual[:, place, 2] * shared[place]))

    at = days.after_work(short.known, each[:, 0])
    at = stay(at, 0)
    at = np.maximum(stay(at, 1), days.after_work(at, each[:, 1]))
    _, at = bisque.next_out(at, short.where)
    at = np.maximum(stay(at, 2), days.after_work(at, each[:, 2]))
    _, at = glaze.next_out(at, short.where)
    return np.maximum(stay(at, 3), days.after_work(at, each[:, 3]))
