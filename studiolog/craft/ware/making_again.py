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
_LUCK: Final = 3
_WORK: Final = ("forming", "leather_hard", "glazing", "finishing")


@dataclass(frozen=True)
class Again:
    """What is made once more: the lines, a row of each whose luck it borrows, and the kilns."""

    lines: Sequence[Line]
    rows: Sequence[int | None]
    bisque: Loads
    glaze: Loads


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


def make_again(part: "Part", again: Again, short: Sequence[Short], final: Moments) -> None:
    """Move ``final`` (lines, futures) to when there are enough; never, after four rounds.

    Each round throws what is missing with as many over as the confidence asks, before all other
    work, and puts it into the next kilns: a few pots find room.
    """
    if not short:
        return
    open_ones = Short(
        *(np.concatenate([getattr(one, name) for one in short]) for name in Short.__annotations__)
    )
    rates = [loss_until_finished(line.losses, 0).of_one_run for line in again.lines]
    for turn in range(_ROUNDS):
        if not len(open_ones.where):
            return
        draws, chance = _borrow_luck(part, again, open_ones, turn)
        done = _once_more(part, again, open_ones, draws)
        spot = (open_ones.lines, open_ones.where)
        final[spot] = np.maximum(final[spot], done)
        still = np.zeros_like(open_ones.missing)
        keys = open_ones.lines.astype(np.int64) << 32 | open_ones.missing
        order = np.argsort(keys, kind="stable")
        ordered = keys[order]
        begins = np.flatnonzero(np.concatenate(([True], ordered[1:] != ordered[:-1])))
        for begin, end in zip(begins, [*begins[1:], len(keys)], strict=True):
            key, here = int(ordered[begin]), order[begin:end]
            rate = rates[key >> 32]
            table = missing_after(key & 0xFFFFFFFF, rate, part.problem.confidence)
            still[here] = np.searchsorted(table, chance[here])
        open_ones = open_ones.only(still > 0, still, done)
    final[open_ones.lines, open_ones.where] = np.inf


def _borrow_luck(part: "Part", again: Again, short: Short, turn: int) -> tuple[Moments, Moments]:
    """Luck of each: normal draws for its four stays, and a chance for what is lost.

    A future borrows it from the future next to it, which is as independent as a fresh draw, and
    the same whatever else is changed in the problem.
    """
    rows = np.array([-1 if row is None else row for row in again.rows], dtype=np.intp)[short.lines]
    neighbour = (short.where + 1 + turn) % part.size
    if len(part.luck):
        normals = part.luck[rows, :, neighbour].T
        chance = part.chance[rows, 0, neighbour]
    else:
        normals = np.empty((4, len(rows)), dtype=np.float32)
        chance = np.empty(len(rows), dtype=np.float32)
    strange = np.flatnonzero(rows < 0)
    if len(strange):
        # A line without a lot of its own has no luck to lend.
        luck = part.luck_of(_LUCK, turn)
        normals[:, strange] = luck.standard_normal((4, len(strange)), dtype=np.float32)
        chance[strange] = luck.random(len(strange), dtype=np.float32)
    return normals, chance


def _once_more(part: "Part", again: Again, short: Short, draws: Moments) -> Moments:
    days = part.days
    usual = np.array(
        [
            [
                (stay.centre - np.log(24.0), stay.spread, stay.spread / stay.worth**0.5)
                for stay in line.stays
            ]
            for line in again.lines
        ],
        dtype=np.float32,
    )[short.lines]
    each = np.array(
        [[getattr(line.minutes, name) for name in _WORK] for line in again.lines],
        dtype=np.float32,
    )[short.lines]
    each *= (short.missing * part.pace[short.where])[:, None].astype(np.float32)
    shared = part.shared[:, short.where]

    def stay(at: Moments, place: int) -> Moments:
        logs = usual[:, place, 0] + usual[:, place, 1] * draws[place]
        return days.after_stay(at, np.exp(logs + usual[:, place, 2] * shared[place]))

    at = days.after_work(short.known, each[:, 0])
    at = stay(at, 0)
    at = np.maximum(stay(at, 1), days.after_work(at, each[:, 1]))
    at = again.bisque.next_out(at, short.where)
    at = np.maximum(stay(at, 2), days.after_work(at, each[:, 2]))
    at = again.glaze.next_out(at, short.where)
    return np.maximum(stay(at, 3), days.after_work(at, each[:, 3]))
