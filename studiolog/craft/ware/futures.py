"""Draw the futures of a `PromiseProblem`: every lot from stage to stage, all futures at once.

Arrays are ``(lots, futures)`` in single precision; lots stand in the order in which they enter,
so that those that pass a stage are always the first rows. Futures are drawn in parts that fit the
processor's own memory.
"""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from studiolog.craft.ware.drawn_losses import cumulated_lost, loss_until_finished
from studiolog.craft.ware.drawn_times import Moments, draw_time, stay_left
from studiolog.craft.ware.kiln_queue import Loads, light_kiln, place_lots
from studiolog.craft.ware.loss import LossRate
from studiolog.craft.ware.making_again import Again, Short, make_again
from studiolog.craft.ware.promise import (
    ENTERS,
    LOST_AT,
    SEGMENTS,
    Forecast,
    Line,
    LineForecast,
    Lot,
    PromiseProblem,
)
from studiolog.craft.ware.studio_days import StudioDays

if TYPE_CHECKING:
    from studiolog.craft.ware.promise import KilnPlan

_PART: Final = 5_000
_AT_ONCE: Final = 400_000  # lots times futures that are held at once
_STAY_AT: Final = {1: 0, 2: 1, 4: 2, 6: 3}
"""By where a lot stands (the place in `ENTERS`), which of its stays it is in."""
_SEGMENT: Final = {name: place for place, name in enumerate(SEGMENTS)}


class _Rows:
    """The lots of a problem as arrays, and the lines as slices of them."""

    def __init__(self, problem: PromiseProblem) -> None:
        lots = [
            (ENTERS.index(lot.stage), rank, lot, line)
            for rank, line in enumerate(problem.lines)
            for lot in line.lots
            if lot.pieces > 0 and lot.stage != "finished"
        ]
        lots.sort(key=lambda row: (row[0], row[1]))
        self.lots: list[Lot] = [lot for _, _, lot, _ in lots]
        self.lines: list[Line] = [line for _, _, _, line in lots]
        self.enters = np.array([enter for enter, _, _, _ in lots], dtype=np.int32)
        self.rank = np.array([rank for _, rank, _, _ in lots], dtype=np.int32)
        pieces = np.array([lot.pieces for lot in self.lots], dtype=np.float32)
        self.rooms = pieces * np.array([line.room for line in self.lines], dtype=np.float32)
        names = ("forming", "leather_hard", "glazing", "finishing", "all")
        self.minutes = {
            name: pieces
            * np.array([getattr(line.minutes, name) for line in self.lines], dtype=np.float32)
            for name in names
        }
        self.passing = [int((self.enters <= place).sum()) for place in range(len(ENTERS))]
        self.of_line: list[list[int]] = [[] for _ in problem.lines]
        for row, rank in enumerate(self.rank):
            self.of_line[rank].append(row)
        self.losses = [lost_of(line, lot) for lot, line in zip(self.lots, self.lines, strict=True)]
        self.loss_at = [
            _loss_shares(line.losses, ENTERS.index(lot.stage))
            for lot, line in zip(self.lots, self.lines, strict=True)
        ]
        self.throwing = self._throwing_minutes()

    def _throwing_minutes(self) -> NDArray[np.float32]:
        """Minutes of work before each lot that is to be thrown is formed.

        What is under the hands already comes first, for it will not wait; then one lot after the
        other, each with all the work it will make, soonest promise first.
        """
        now = {2: "leather_hard", 4: "glazing", 6: "finishing"}
        ahead = sum(
            float(self.minutes[now[enter]][row])
            for row, enter in enumerate(self.enters)
            if enter in now and self.lines[row].wanted
        )
        needed = []
        for row in range(self.passing[0]):
            needed.append(ahead + float(self.minutes["forming"][row]))
            ahead += float(self.minutes["all"][row])
        return np.array(needed, dtype=np.float32)

    def ranked(self, count: int, but: NDArray[np.bool_]) -> list[int]:
        """The first ``count`` rows, soonest promise first, without those in ``but``."""
        order = np.argsort(self.rank[:count], kind="stable")
        return [int(row) for row in order if not but[row]]


def lost_of(line: Line, lot: Lot) -> NDArray[np.float64] | None:
    """The distribution of how many of a lot are lost until finished, cumulated; None for none."""
    rate = loss_until_finished(line.losses, ENTERS.index(lot.stage))
    return None if rate.mean <= 0 else cumulated_lost(lot.pieces, rate.of_one_run)


def _loss_shares(losses: Sequence[LossRate], enter: int) -> NDArray[np.float64]:
    """Of what is lost from ``enter`` on, the share lost by the end of each of `LOST_AT`."""
    kept, shares = 1.0, []
    for place, rate in enumerate(losses):
        here = 0.0 if place < enter - 1 else rate.mean
        shares.append(kept * here)
        kept *= 1.0 - here
    total = sum(shares)
    return np.cumsum(shares) / total if total > 0 else np.ones(len(shares))


def draw_futures(
    problem: PromiseProblem, going: Callable[[int, int], bool] | None = None
) -> Forecast | None:
    """As `promise.simulate`, which checks the problem first."""
    rows = _Rows(problem)
    days = StudioDays(problem.today, problem.horizon_days, problem.work)
    waited = [place for place, line in enumerate(problem.lines) if line.wanted > 0]
    counts = np.zeros((len(problem.lines), problem.horizon_days + 1), dtype=np.int64)
    held = np.zeros((len(problem.lines), len(SEGMENTS)))
    again = np.zeros(len(problem.lines))
    done, part = 0, 0
    # A power of two, so that one line more does not deal the luck anew.
    most = min(_PART, 1 << max(8, (_AT_ONCE // max(1, len(rows.lots))).bit_length() - 1))
    while done < problem.futures:
        if going is not None and not going(done, problem.futures):
            return None
        size = min(most, problem.futures - done)
        with np.errstate(invalid="ignore"):
            # What is never ready has no days to be taken apart: never less never.
            ready, spent, repeated = Part(problem, rows, days, part, size).run(waited)
        for at, place in enumerate(waited):
            within = np.minimum(ready[at], problem.horizon_days).astype(np.int64)
            counts[place] += np.bincount(within, minlength=problem.horizon_days + 1)
            held[place] += spent[at]
            again[place] += repeated[at]
        done, part = done + size, part + 1
    lines = []
    for place in waited:
        line = problem.lines[place]
        by_day = np.cumsum(counts[place, :-1]) / problem.futures
        inside = max(1, int(counts[place, :-1].sum()))
        lines.append(
            LineForecast(
                line.key,
                problem.today,
                tuple(by_day.tolist()),
                tuple((held[place] / inside).tolist()),
                float(again[place] / problem.futures),
                line.promised_day,
            )
        )
    return Forecast(problem.today, problem.futures, tuple(lines))


class Part:
    """Some of the futures, from now until every line is ready."""

    def __init__(
        self, problem: PromiseProblem, rows: _Rows, days: StudioDays, part: int, size: int
    ) -> None:
        self.problem, self.rows, self.days, self.size = problem, rows, days, size
        self._seeds = (problem.seed, part)
        self.now = np.float32(problem.now_h / 24.0)
        count = len(rows.lots)
        self.luck = np.empty((count, 4, size), dtype=np.float32)
        self.chance = np.empty((count, 2, size), dtype=np.float32)
        for row, lot in enumerate(rows.lots):
            draws = self.luck_of(1, lot.key)
            draws.standard_normal(out=self.luck[row], dtype=np.float32)
            draws.random(out=self.chance[row], dtype=np.float32)
        own = self.luck_of(0, 0)
        self.shared = own.standard_normal((4, size), dtype=np.float32)
        pace = own.standard_normal(size, dtype=np.float32)
        self.pace = np.exp(np.float32(problem.work.pace_spread) * pace)
        self.at = np.full((count, size), self.now, dtype=np.float32)
        self.spent: list[tuple[int, Moments]] = []
        self.left = np.empty((len(LOST_AT), count, size), dtype=np.float32)

    def luck_of(self, kind: int, key: int) -> np.random.Generator:
        seeds = (*self._seeds, kind, key & 0xFFFFFFFF, key >> 32 & 0xFFFFFFFF)
        return np.random.Generator(np.random.SFC64(np.random.SeedSequence(seeds)))

    def run(
        self, waited: Sequence[int]
    ) -> tuple[list[Moments], list[NDArray[np.float64]], list[int]]:
        """For each line waited for: when it is ready, days spent in all by segment, repeats."""
        rows, days = self.rows, self.days
        thrown = rows.passing[0]
        if thrown:
            minutes = rows.throwing[:, None] * self.pace
            self._move(thrown, "hands", days.after_work(self.at[:thrown], minutes))
        self._dry(1, "wet", None)
        self._dry(2, "leather_hard", "leather_hard")
        bisque = self._fire(3, self.problem.bisque, "bisque_wait", "bisque_kiln", "glazing", 2)
        self._after_kiln(4, "glazing")
        glaze = self._fire(5, self.problem.glaze, "glaze_wait", "glaze_kiln", "finishing", 3)
        self._after_kiln(6, "finishing")
        return self._tell(waited, bisque, glaze)

    def _move(self, count: int, segment: str, to: Moments) -> None:
        """The first rows reach ``to``; what they spent is kept under ``segment``."""
        here = self.at[:count]
        self.spent.append((_SEGMENT[segment], to - here))
        here[:] = to

    def _stay(self, count: int, place: int) -> Moments:
        """How long each of the first rows stays at the stage it reached, in days."""
        which = _STAY_AT[place]
        stay = np.empty((count, self.size), dtype=np.float32)
        for row in range(count):
            usual = self.rows.lines[row].stays[which]
            lot = self.rows.lots[row]
            if self.rows.enters[row] == place and lot.hours > 0:
                stay[row] = stay_left(usual, lot.hours, self.luck[row, which])
            else:
                stay[row] = draw_time(usual, self.shared[which], self.luck[row, which])
        return stay

    def _leave(self, place: int, count: int) -> None:
        """Keep when each of the first rows left the stage at ``place``."""
        self.left[LOST_AT.index(ENTERS[place]), :count] = self.at[:count]

    def _dry(self, place: int, segment: str, minutes: str | None) -> None:
        count = self.rows.passing[place]
        here = self.at[:count]
        to = self.days.after_stay(here, self._stay(count, place))
        if minutes is not None and count:
            work = self.rows.minutes[minutes][:count, None] * self.pace
            np.maximum(to, self.days.after_work(here, work), out=to)
        self._move(count, segment, to)
        self._leave(place, count)

    def _fire(
        self, place: int, plan: "KilnPlan", waits: str, stands: str, work: str, kind: int
    ) -> Loads:
        count, rows = self.rows.passing[place], self.rows
        here, days = self.at[:count], self.days
        inside = [
            lot.in_kiln_h if rows.enters[row] == place else None
            for row, lot in enumerate(rows.lots[:count])
        ]
        standing = np.array([hours is not None for hours in inside], dtype=bool)
        luck = self.luck_of(2, kind)
        loads = light_kiln(
            here[~standing], rows.rooms[:count][~standing], plan, days, float(self.now), luck
        )
        minutes = rows.minutes[work][:count]
        begun, out, self.work = place_lots(
            here, rows.rooms, minutes, rows.ranked(count, standing), loads
        )
        for row, hours in enumerate(inside):
            if hours is not None:
                left = stay_left(plan.in_kiln, hours, self.luck[row, 0])
                begun[row] = here[row]
                out[row] = days.next_there(here[row] + left)
                self.work[row] = minutes[row]
        self._move(count, waits, begun)
        self._move(count, stands, out)
        self._leave(place, count)
        return loads

    def _after_kiln(self, place: int, segment: str) -> None:
        count, rows = self.rows.passing[place], self.rows
        before = len(self.work)
        work = np.empty((count, self.size), dtype=np.float32)
        work[:before] = self.work
        work[before:] = rows.minutes[segment][before:count, None]
        here = self.at[:count]
        to = self.days.after_stay(here, self._stay(count, place))
        if count:
            work *= self.pace
            np.maximum(to, self.days.after_work(here, work), out=to)
        self._move(count, segment, to)
        self._leave(place, count)

    def _tell(
        self, waited: Sequence[int], bisque: Loads, glaze: Loads
    ) -> tuple[list[Moments], list[NDArray[np.float64]], list[int]]:
        firsts, short, weights = [], [], []
        for at, place in enumerate(waited):
            line = self.problem.lines[place]
            first, missing, known, waits = self._first_ready(place, line)
            where = np.flatnonzero(missing > 0)
            of = np.full(len(where), at, dtype=np.int32)
            short.append(Short(of, where, missing[where], known[where]))
            firsts.append(first)
            weights.append(waits)
        final = np.stack(firsts) if firsts else np.empty((0, self.size), dtype=np.float32)
        lines = [self.problem.lines[place] for place in waited]
        rows = [next(iter(self.rows.of_line[place]), None) for place in waited]
        make_again(self, Again(lines, rows, bisque, glaze), short, final)
        spent = []
        for at, place in enumerate(waited):
            days = self._days_spent(place, weights[at], final[at])
            good = final[at] < self.problem.horizon_days
            again = np.where(good, final[at] - firsts[at], 0)
            days[_SEGMENT["again"]] = float(np.sum(again, dtype=np.float64))
            spent.append(days)
        return list(final), spent, [len(one.where) for one in short]

    def _first_ready(
        self, place: int, line: Line
    ) -> tuple[Moments, NDArray[np.int64], Moments, dict[int, NDArray[np.bool_] | None]]:
        """When all that is in hand is through, what is missing then, when the last loss was known.

        The last of the answer says in which futures the line waited for which of its rows.
        """
        rows = self.rows.of_line[place]
        finished = sum(lot.pieces for lot in line.lots if lot.stage == "finished")
        now = np.full(self.size, self.now, dtype=np.float32)
        good = np.full(self.size, finished, dtype=np.int64)
        known = now.copy()
        if not rows:
            return now, line.wanted - good, known, {}
        kept = []
        for row in rows:
            lost = self._lost(row, known)
            kept.append(self.rows.lots[row].pieces - lost)
            good += kept[-1]
        if len(rows) == 1:
            enough = finished >= line.wanted
            first = now if enough else self.at[rows[0]].copy()
            return first, line.wanted - good, known, {} if enough else {rows[0]: None}
        times = self.at[rows]
        order = np.argsort(times, axis=0, kind="stable")
        counted = finished + np.cumsum(np.take_along_axis(np.stack(kept), order, axis=0), axis=0)
        which = np.minimum((counted < line.wanted).sum(axis=0), len(rows) - 1)
        last = order[which, np.arange(self.size)]
        enough = finished >= line.wanted
        first = now if enough else times[last, np.arange(self.size)]
        waits = {} if enough else {row: last == here for here, row in enumerate(rows)}
        return first, line.wanted - good, known, waits

    def _lost(self, row: int, known: Moments) -> NDArray[np.int64]:
        """How many of a lot are lost; ``known`` is moved to when the last of them was seen."""
        table = self.rows.losses[row]
        if table is None:
            return np.zeros(self.size, dtype=np.int64)
        lost: NDArray[np.int64] = np.searchsorted(table, self.chance[row, 0])
        some = np.flatnonzero(lost)
        if len(some):
            late = self.chance[row, 1, some] ** (1.0 / lost[some])
            stage = np.minimum(np.searchsorted(self.rows.loss_at[row], late), len(LOST_AT) - 1)
            known[some] = np.maximum(known[some], self.left[stage, row, some])
        return lost

    def _days_spent(
        self, place: int, weights: dict[int, NDArray[np.bool_] | None], final: Moments
    ) -> NDArray[np.float64]:
        """Days by segment, summed over the futures that end within the horizon."""
        days = np.zeros(len(SEGMENTS))
        good = final < self.problem.horizon_days
        whole = bool(good.all())
        for row, here in weights.items():
            counted = good if here is None else here & good
            for segment, spent in self.spent:
                if row < len(spent):
                    part = spent[row] if whole and here is None else spent[row][counted]
                    days[segment] += float(np.sum(part, dtype=np.float64))
        return days
