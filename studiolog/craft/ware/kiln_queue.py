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
_TIMES = 64.0  # and arrivals in 64ths of a day, while they are put in order


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

    def next_out(self, at: Moments, columns: NDArray[np.intp] | None = None) -> tuple[
        Moments, Moments
    ]:  # fmt: skip
        """Of the first firing at or after ``at``: (lit, unloaded), room or not.

        ``columns`` are the futures that ``at`` belongs to. Beyond the firings that were drawn the
        kiln goes on by its rhythm.
        """
        lit, out = self.lit, self.out
        gap, inside = self.gap, self.inside
        if columns is not None:
            lit, out, gap, inside = lit[:, columns], out[:, columns], gap[columns], inside[columns]
        which = (lit < at).sum(axis=0)
        last = len(lit) - 1
        futures = np.arange(at.shape[0])
        held = np.minimum(which, last)
        begun, done = lit[held, futures], out[held, futures]
        beyond = which > last
        if beyond.any():
            rounds = np.ceil((at - lit[last]) / gap)
            later = lit[last] + rounds * gap
            begun = np.where(beyond, later, begun)
            done = np.where(beyond, later + inside, done)
        return begun, done


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
    while len(lit) < most:
        worth = (fills[:, 1:] < (taken + np.float32(plan.worth))[:, None]).sum(axis=1)
        when = np.minimum(rhythm, comes[every, worth])
        when = np.maximum(np.maximum(when, last + np.float32(least)), np.float32(now))
        when = days.next_there(when)
        waiting = fills[every, (comes[:, :-1] <= when[:, None]).sum(axis=1)] - taken
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
    return Loads(when, out, room, np.zeros(shape, dtype=np.float32), gap, inside)


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

    Both have one column more than there are lots: after the last nothing ever comes.
    """
    count, futures = arrive.shape
    comes = np.full((futures, count + 1), np.inf, dtype=np.float32)
    fills = np.zeros((futures, count + 1), dtype=np.float32)
    if count:
        when = np.minimum(arrive, np.float32(horizon + 1)) * np.float32(_TIMES)
        keys = np.ceil(when).astype(np.uint64) << np.uint64(16)
        sizes = np.clip(np.round(rooms * _PARTS), 1, _MOST_ROOM).astype(np.uint64)
        ordered = np.sort((keys + sizes[:, None]).T, axis=1)
        comes[:, :-1] = (ordered >> np.uint64(16)) / np.float32(_TIMES)
        sized = (ordered & np.uint64(_MOST_ROOM)).astype(np.float32) / np.float32(_PARTS)
        np.cumsum(sized, axis=1, out=fills[:, 1:])
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
    lit, out = loads.lit.reshape(-1), loads.out.reshape(-1)
    for row in ranks:
        at = arrive[row]
        which = (loads.lit < at).sum(axis=0)
        need = float(rooms[row])
        late = which >= firings
        place = np.minimum(which, firings - 1) * futures + every
        rest = need - room[place]
        if bool((rest <= 0).all()) and not late.any():
            room[place] = -rest
        else:
            place, late = _spread(room, place, need, late, futures, firings)
        worked[place] += minutes[row]
        begun[row], done[row], work[row] = lit[place], out[place], worked[place]
        if late.any():
            # Beyond what was drawn (or where rounding left a crumb over): by the rhythm alone.
            from_last = np.maximum(at, lit[(firings - 1) * futures + every])
            rounds = np.floor((from_last - loads.lit[-1]) / loads.gap) + 1
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
) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Take the room of one firing after the other until a lot is in; where its last part stands."""
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
    return place, late
