"""Ware that waits for a kiln, in many futures at once: when it is lit, and who stands in it.

Arrays are ``(lots, futures)``. When it is lit goes by the first to come; who stands in it by the
soonest promise: as each load takes what it can hold of what waits, both fill the same kilns.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from studiolog.craft.ware.drawn_times import Moments, draw_time

if TYPE_CHECKING:
    from studiolog.craft.ware.promise import KilnPlan
    from studiolog.craft.ware.studio_days import StudioDays

_PARTS = 16.0  # rooms are counted in sixteenths of a usual piece
_MOST_ROOM = 65_535
_TIMES = 64.0  # and arrivals in 64ths of a day at best, while they are put in order


@dataclass
class Loads:
    """The firings of one kind in each future. ``lit`` and ``out`` are ``(firings, futures)``.

    ``work`` is the minutes of the potter's work that came out of each so far.
    """

    lit: Moments
    out: Moments
    room: Moments
    work: Moments
    gap: Moments
    inside: Moments
    holds: float

    def next_out(self, at: Moments, futures: NDArray[np.intp]) -> Moments:
        """When ware that is ready ``at`` comes out of the next firing, room or not.

        ``futures`` are those that ``at`` belongs to. Beyond the firings that were drawn the kiln
        goes on by its rhythm.
        """
        count = len(self.lit)
        which = np.zeros(len(at), dtype=np.intp)
        lit = np.concatenate((self.lit, np.full((1, self.lit.shape[1]), np.inf)))
        open_ones = np.arange(len(at))
        for firing in range(count):
            open_ones = open_ones[lit[firing, futures[open_ones]] < at[open_ones]]
            if not len(open_ones):
                break
            which[open_ones] = firing + 1
        out = self.out[np.minimum(which, count - 1), futures]
        late = np.flatnonzero(which == count)
        if len(late):
            of = futures[late]
            rounds = np.ceil((at[late] - self.lit[-1, of]) / self.gap[of])
            out[late] = self.lit[-1, of] + rounds * self.gap[of] + self.inside[of]
        return out


def light_kiln(
    arrive: Moments,
    rooms: Moments,
    plan: "KilnPlan",
    days: "StudioDays",
    now: float,
    luck: np.random.Generator,
) -> Loads:
    """Light the kiln as often as ware comes, until all of it was fired or the horizon is past.

    ``arrive`` is when each lot is ready for it, ``rooms`` (lots,) the usual pieces it takes.
    """
    count, futures = arrive.shape
    comes, fills = _in_order(arrive, rooms, days.horizon)
    total = float(fills[0, count]) if count else 0.0
    shared: Moments = luck.standard_normal((2, futures), dtype=np.float32)
    shared_gap, shared_inside = shared[0], shared[1]
    taken = np.zeros(futures, dtype=np.float32)
    least, every = max(plan.least_gap_h / 24.0, 0.25), np.arange(futures)
    chance: Moments = luck.random((1, futures), dtype=np.float32)
    before, rhythm = _first_rhythm(plan, shared_gap, chance[0], now)
    last, lit = before, list[Moments]()
    stood = list[Moments]()
    draws: Moments = luck.standard_normal((1, futures), dtype=np.float32)
    gap = draw_time(plan.gap, shared_gap, draws[0])
    inside = draw_time(plan.in_kiln, shared_inside, np.zeros(futures, dtype=np.float32))
    most = int(days.horizon / least) + 2
    reached = np.zeros(futures, dtype=np.intp)
    arrived = np.zeros(futures, dtype=np.intp)
    while len(lit) < most:
        target = taken + np.float32(plan.worth)
        # Pointers into what comes in order: what waits only ever moves on.
        behind = np.flatnonzero(fills[every, reached + 1] < target)
        while len(behind):
            reached[behind] += 1
            behind = behind[fills[behind, reached[behind] + 1] < target[behind]]
        when = np.minimum(rhythm, comes[every, reached])
        when = np.maximum(np.maximum(when, last + np.float32(least)), np.float32(now))
        when = days.next_there(when)
        behind = np.flatnonzero(comes[every, arrived] <= when)
        while len(behind):
            arrived[behind] += 1
            behind = behind[comes[behind, arrived[behind]] <= when[behind]]
        waiting = fills[every, arrived] - taken
        taken += np.minimum(waiting, np.float32(plan.holds))
        draws = luck.standard_normal((2, futures), dtype=np.float32)
        inside = draw_time(plan.in_kiln, shared_inside, draws[0])
        gap = draw_time(plan.gap, shared_gap, draws[1])
        lit.append(when)
        stood.append(inside)
        last = when
        rhythm = when + gap
        if bool(((taken >= total - 0.01) | (when >= days.horizon)).all()):
            break
    when, inside_each = np.stack(lit), np.stack(stood)
    for day in sorted(plan.extra_days):
        own = draw_time(plan.in_kiln, shared_inside, luck.standard_normal((1, futures))[0])
        besides = np.full(futures, max(day, now), dtype=np.float32)
        when, inside_each = _light_besides(when, inside_each, besides, own, before, least, days)
    shape = when.shape
    room = np.full(shape, plan.holds, dtype=np.float32)
    out = days.next_there(when + inside_each)
    return Loads(when, out, room, np.zeros(shape, dtype=np.float32), gap, inside, plan.holds)


def _light_besides(
    lit: Moments,
    inside: Moments,
    day: Moments,
    own: Moments,
    before: Moments,
    least: float,
    days: "StudioDays",
) -> tuple[Moments, Moments]:
    """One firing more, the others as they were: only those it stands in the way of are later."""
    earlier = np.where(lit <= day, lit, before).max(axis=0)
    day = days.next_there(np.maximum(day, earlier + np.float32(least)))
    every = np.concatenate((lit, day[None]))
    order = np.argsort(every, axis=0, kind="stable")
    every = np.take_along_axis(every, order, axis=0)
    stood = np.take_along_axis(np.concatenate((inside, own[None])), order, axis=0)
    for place in range(1, len(every)):
        after = every[place - 1] + np.float32(least)
        np.maximum(every[place], days.next_there(after), out=every[place])
    return every, stood


def _in_order(arrive: Moments, rooms: Moments, horizon: int) -> tuple[Moments, Moments]:
    """By future: arrivals in order, and the room of all that came until each (0 before the first).

    After the last nothing ever comes, and no room is ever enough.
    """
    count, futures = arrive.shape
    comes = np.full((futures, count + 1), np.inf, dtype=np.float32)
    fills = np.zeros((futures, count + 2), dtype=np.float32)
    fills[:, -1] = np.inf
    if count:
        # A time and a size in one whole number: ordering those is far quicker than by a key.
        times = np.float32(min(_TIMES, 65_000 / (horizon + 1)))
        keys = np.ceil(np.minimum(arrive, np.float32(horizon + 1)).T * times).astype(np.uint32)
        sizes = np.clip(np.round(rooms * _PARTS), 1, _MOST_ROOM).astype(np.uint32)
        keys <<= np.uint32(16)
        keys += sizes
        keys.sort(axis=1)
        comes[:, :-1] = (keys >> np.uint32(16)) / times
        sized = (keys & np.uint32(_MOST_ROOM)).astype(np.float32)
        sized *= np.float32(1.0 / _PARTS)
        np.cumsum(sized, axis=1, out=fills[:, 1:-1])
    return comes, fills


def _first_rhythm(
    plan: "KilnPlan", shared: Moments, chance: Moments, now: float
) -> tuple[Moments, Moments]:
    """When the kiln was lit last, and when it is lit next by its rhythm alone.

    That it has not been lit since the last time is known: the gap is longer than that. A kiln
    never lit is somewhere within its gap.
    """
    from scipy.special import ndtr, ndtri

    centre = plan.gap.centre + np.log(1.0 / 24.0)
    centre = centre + plan.gap.spread / plan.gap.worth**0.5 * shared
    if plan.since_h is None:
        whole = np.exp(centre)
        return np.full(shared.shape, -np.inf, dtype=np.float32), (
            now + chance * whole
        ).astype(np.float32)  # fmt: skip
    since = max(plan.since_h / 24.0, 1e-3)
    spread = max(plan.gap.spread, 1e-6)
    gone = ndtr((np.log(since) - centre) / spread)
    left = np.minimum(gone + (1.0 - gone) * chance, 1.0 - 1e-7)
    gap = np.maximum(np.exp(centre + spread * ndtri(left)), since)
    last = np.full(shared.shape, now - since, dtype=np.float32)
    return last, (now - since + gap).astype(np.float32)


def place_lots(
    arrive: Moments,
    rooms: Moments,
    minutes: Moments,
    ranks: Sequence[int],
    loads: Loads,
) -> tuple[Moments, Moments, Moments]:
    """Put the lots into the kilns, soonest promise first (``ranks``: rows in that order).

    Returns for each lot when its last part was lit, when that was unloaded, and the minutes of
    work that came out with it before and with it.
    """
    futures = arrive.shape[1]
    firings = len(loads.lit)
    begun, done, work = (np.empty_like(arrive) for _ in range(3))
    every = np.arange(futures)
    room, worked = loads.room.reshape(-1), loads.work.reshape(-1)
    free = np.zeros(futures, dtype=np.intp)  # every firing before it is full
    lit, out = loads.lit.reshape(-1), loads.out.reshape(-1)
    for row in ranks:
        at = arrive[row]
        which = (loads.lit < at).sum(axis=0)
        need = float(rooms[row])
        late = which >= firings
        place = np.minimum(np.maximum(which, free), firings - 1) * futures + every
        rest, over = need - room[place], np.zeros(futures, dtype=np.float32)
        if bool((rest <= 0).all()) and not late.any():
            room[place] = -rest
        else:
            place, late, over = _spread(room, place, need, late, futures, firings)
        full = np.flatnonzero((room[free * futures + every] <= 1e-3) & (free < firings - 1))
        while len(full):
            free[full] += 1
            full = full[(room[free[full] * futures + full] <= 1e-3) & (free[full] < firings - 1)]
        worked[place] += minutes[row]
        begun[row], done[row], work[row] = lit[place], out[place], worked[place]
        if late.any():
            # Beyond what was drawn (or where rounding left a crumb over): by the rhythm alone.
            from_last = np.maximum(at, lit[(firings - 1) * futures + every])
            rounds = np.floor((from_last - loads.lit[-1]) / loads.gap) + 1
            rounds += np.floor(over / loads.holds)
            later = loads.lit[-1] + rounds * loads.gap
            begun[row] = np.where(late, later, begun[row])
            done[row] = np.where(late, later + loads.inside, done[row])
    return begun, done, work


def _spread(
    room: Moments,
    place: NDArray[np.intp],
    need: float,
    late: NDArray[np.bool_],
    futures: int,
    firings: int,
) -> tuple[NDArray[np.intp], NDArray[np.bool_], Moments]:
    """Take the room of one firing after the other until a lot is in; where its last part stands.

    Also where firings ran out, and how much was left over then.
    """
    left = np.where(late, np.float32(0), np.float32(need)).astype(np.float32)
    open_ones = np.flatnonzero(left > 0)
    end = firings * futures
    while len(open_ones):
        here = place[open_ones]
        takes = np.minimum(left[open_ones], room[here])
        room[here] -= takes
        left[open_ones] -= takes
        open_ones = open_ones[left[open_ones] > 1e-3]
        onward = place[open_ones] + futures
        over = onward >= end
        late[open_ones[over]] = True
        place[open_ones[~over]] = onward[~over]
        open_ones = open_ones[~over]
    return place, late, left
