"""The futures of a promise in plain Python, one after the other: a referee, and a baseline.

It reads the same problem as `craft.ware.promise.simulate` and follows each pot by hand, with
`random` and loops in place of arrays. It shares no code with it but the plain values of the
problem; what both tell must be alike as distributions, not future by future.
"""

import math
import random
from bisect import bisect_left
from datetime import timedelta

from studiolog.craft.ware.loss import LossRate
from studiolog.craft.ware.promise import ENTERS, KilnPlan, Line, Lot, PromiseProblem
from studiolog.craft.ware.usual_time import UsualTime

NEVER = math.inf


class PlainFutures:
    """Draws futures of one problem; `ready` gives the ready moments of its lines in one."""

    def __init__(self, problem: PromiseProblem, seed: int = 1) -> None:
        self.problem = problem
        self.luck = random.Random(seed)
        work = problem.work
        self.worked: list[bool] = []
        self.there: list[bool] = []
        for day in range(problem.horizon_days):
            on = problem.today + timedelta(days=day)
            here = not any(first <= on <= last for first, last in work.away)
            self.there.append(here)
            self.worked.append(here and str(on.isoweekday()) in work.days)
        self.now = problem.now_h / 24
        self.lots = sorted(
            (
                (ENTERS.index(lot.stage), rank, lot, line)
                for rank, line in enumerate(problem.lines)
                for lot in line.lots
                if lot.stage != "finished"
            ),
            key=lambda row: (row[0], row[1]),
        )
        self.tables = [
            lost_table(lot.pieces, one_run(whole_loss(line, enter)))
            for enter, _, lot, line in self.lots
        ]
        self.again = {line.key: one_run(whole_loss(line, 0)) for line in problem.lines}
        self.again_tables: dict[tuple[int, int], tuple[int, list[float]]] = {}

    def ready(self) -> list[float]:
        """When each line that somebody waits for is ready, in one future."""
        luck, problem = self.luck, self.problem
        self.shared = [luck.gauss(0, 1) for _ in range(4)]
        self.pace = math.exp(problem.work.pace_spread * luck.gauss(0, 1))
        at = [self.now] * len(self.lots)
        left: list[list[float]] = [[] for _ in self.lots]
        self._throw(at)
        for row, (enter, _, lot, line) in enumerate(self.lots):
            if enter <= 1:
                at[row] = self.after_stay(at[row], self._stay(line, lot, 0, enter == 1))
                left[row].append(at[row])
            if enter <= 2:
                stay = self.after_stay(at[row], self._stay(line, lot, 1, enter == 2))
                minutes = line.minutes.leather_hard * lot.pieces * self.pace
                at[row] = max(stay, self.after_work(at[row], minutes))
                left[row].append(at[row])
        for kind, place, work in (("bisque", 3, "glazing"), ("glaze", 5, "finishing")):
            plan: KilnPlan = getattr(problem, kind)
            kiln = self._fire(plan, place, at, work)
            which = 2 if place == 3 else 3
            for row, (enter, _, lot, line) in enumerate(self.lots):
                if enter <= place:
                    left[row].append(at[row])
                if enter <= place + 1:
                    before = kiln.work.get(row, getattr(line.minutes, work) * lot.pieces)
                    stay = self._stay(line, lot, which, enter == place + 1)
                    done = self.after_work(at[row], before * self.pace)
                    at[row] = max(self.after_stay(at[row], stay), done)
                    left[row].append(at[row])
            if kind == "bisque":
                self.bisque = kiln
            else:
                self.glaze = kiln
        return [
            self._line_ready(rank, line, at, left)
            for rank, line in enumerate(problem.lines)
            if line.wanted
        ]

    def _throw(self, at: list[float]) -> None:
        ahead = 0.0
        hands = {2: "leather_hard", 4: "glazing", 6: "finishing"}
        for enter, _, lot, line in self.lots:
            if enter in hands and line.wanted:
                ahead += getattr(line.minutes, hands[enter]) * lot.pieces
        for row, (enter, _, lot, line) in enumerate(self.lots):
            if enter == 0:
                formed = ahead + line.minutes.forming * lot.pieces
                at[row] = self.after_work(at[row], formed * self.pace)
                ahead += line.minutes.all * lot.pieces

    def _stay(self, line: Line, lot: Lot, which: int, begun: bool) -> float:
        usual = line.stays[which]
        if begun and lot.hours > 0:
            return self._rest_of(usual, lot.hours)
        return self._time(usual, self.shared[which])

    def _time(self, usual: UsualTime, shared: float) -> float:
        own = self.luck.gauss(0, 1)
        centre = usual.centre + usual.spread / math.sqrt(usual.worth) * shared
        return math.exp(centre + usual.spread * own) / 24

    def _rest_of(self, usual: UsualTime, hours: float) -> float:
        """Draw a whole stay until it is longer than what has passed."""
        for _ in range(3000):
            whole = math.exp(self.luck.gauss(usual.centre, usual.next_spread))
            if whole > hours:
                return (whole - hours) / 24
        return 0.0

    def _fire(self, plan: KilnPlan, place: int, at: list[float], work: str) -> "PlainKiln":
        rows = [row for row, lot in enumerate(self.lots) if lot[0] <= place]
        waiting = [row for row in rows if self.lots[row][2].in_kiln_h is None
                   or self.lots[row][0] != place]  # fmt: skip
        rooms = {row: self.lots[row][2].pieces * self.lots[row][3].room for row in waiting}
        kiln = PlainKiln(self, plan)
        kiln.light(sorted((at[row], rooms[row]) for row in waiting))
        for row in sorted(waiting, key=lambda row: self.lots[row][1]):
            minutes = getattr(self.lots[row][3].minutes, work) * self.lots[row][2].pieces
            at[row] = kiln.place(row, at[row], rooms[row], minutes)
        for row in set(rows) - set(waiting):
            lot = self.lots[row][2]
            rest = self._rest_of(plan.in_kiln, lot.in_kiln_h or 0.0)
            at[row] = self.next_there(at[row] + rest)
        return kiln

    def _line_ready(self, rank: int, line: Line, at: list[float], left: list[list[float]]) -> float:
        good = sum(lot.pieces for lot in line.lots if lot.stage == "finished")
        ready, known, done = self.now, self.now, []
        enough = good >= line.wanted
        for row, (enter, of, lot, _) in enumerate(self.lots):
            if of != rank:
                continue
            lost = bisect_left(self.tables[row], self.luck.random())
            if lost:
                known = max(known, self._last_loss(line, enter, lost, left[row]))
            done.append((at[row], lot.pieces - lost))
        for moment, pieces in sorted(done):
            if not enough:
                ready = max(ready, moment)
            good += pieces
            enough = enough or good >= line.wanted
        short, start = line.wanted - good, known
        for _ in range(4):
            if short <= 0:
                return ready
            start = self._once_more(line, short, start)
            ready = max(ready, start)
            if (line.key, short) not in self.again_tables:
                throw = fewest(short, self.problem.confidence, self.again[line.key])
                table = lost_table(throw, self.again[line.key])
                self.again_tables[line.key, short] = (throw, table)
            throw, table = self.again_tables[line.key, short]
            short -= throw - bisect_left(table, self.luck.random())
        return ready if short <= 0 else NEVER

    def _last_loss(self, line: Line, enter: int, lost: int, left: list[float]) -> float:
        kept, shares = 1.0, []
        for place, rate in enumerate(line.losses):
            here = 0.0 if place < enter - 1 else rate.mean
            shares.append(kept * here)
            kept *= 1 - here
        late = self.luck.random() ** (1 / lost) * sum(shares)
        passed = 0.0
        for place, share in enumerate(shares):
            passed += share
            if late <= passed and share:
                return left[place - max(enter - 1, 0)]
        return left[-1]

    def _once_more(self, line: Line, short: int, start: float) -> float:
        pace = short * self.pace
        at = self.after_work(start, line.minutes.forming * pace)
        at = self.after_stay(at, self._time(line.stays[0], self.shared[0]))
        stay = self.after_stay(at, self._time(line.stays[1], self.shared[1]))
        at = max(stay, self.after_work(at, line.minutes.leather_hard * pace))
        at = self.bisque.next_out(at)
        stay = self.after_stay(at, self._time(line.stays[2], self.shared[2]))
        at = max(stay, self.after_work(at, line.minutes.glazing * pace))
        at = self.glaze.next_out(at)
        stay = self.after_stay(at, self._time(line.stays[3], self.shared[3]))
        return max(stay, self.after_work(at, line.minutes.finishing * pace))

    # The calendar, day by day

    def after_work(self, at: float, minutes: float) -> float:
        return self._pass(at, minutes / self.problem.work.minutes_a_day, self.worked)

    def after_stay(self, at: float, days: float) -> float:
        return self._pass(at, days, self.there)

    def next_there(self, at: float) -> float:
        while at < len(self.there) and not self.there[int(at)]:
            at = int(at) + 1.0
        return at

    def _pass(self, at: float, days: float, counted: list[bool]) -> float:
        if days <= 0:
            return at
        while at < len(counted):
            whole = math.floor(at) + 1.0
            if counted[int(at)]:
                if days <= whole - at:
                    return at + days
                days -= whole - at
            at = whole
        return NEVER


class PlainKiln:
    """The firings of one kind in one future."""

    def __init__(self, futures: PlainFutures, plan: KilnPlan) -> None:
        self.futures, self.plan = futures, plan
        self.gap_luck, self.in_luck = (futures.luck.gauss(0, 1) for _ in range(2))
        self.lit: list[float] = []
        self.out: list[float] = []
        self.room: list[float] = []
        self.minutes: list[float] = []
        self.work: dict[int, float] = {}
        self.gap = self.inside = 0.0

    def light(self, comes: list[tuple[float, float]]) -> None:
        futures, plan = self.futures, self.plan
        total, taken = sum(room for _, room in comes), 0.0
        last, rhythm = self._first()
        least = max(plan.least_gap_h / 24, 0.25)
        while True:
            when = min(rhythm, self._worth(comes, taken))
            when = futures.next_there(max(when, last + least, futures.now))
            waiting = sum(room for moment, room in comes if moment <= when) - taken
            taken += min(waiting, plan.holds)
            self.inside = futures._time(plan.in_kiln, self.in_luck)
            self.gap = futures._time(plan.gap, self.gap_luck)
            self.lit.append(when)
            self.out.append(futures.next_there(when + self.inside))
            self.room.append(plan.holds)
            self.minutes.append(0.0)
            last, rhythm = when, when + self.gap
            if taken >= total - 0.01 or when >= futures.problem.horizon_days:
                return

    def _worth(self, comes: list[tuple[float, float]], taken: float) -> float:
        come = 0.0
        for moment, room in comes:
            come += room
            if come >= taken + self.plan.worth:
                return moment
        return NEVER

    def _first(self) -> tuple[float, float]:
        futures, plan = self.futures, self.plan
        if plan.since_h is None:
            centre = plan.gap.centre + plan.gap.spread / math.sqrt(plan.gap.worth) * self.gap_luck
            return -NEVER, futures.now + futures.luck.random() * math.exp(centre) / 24
        since = plan.since_h / 24
        for _ in range(3000):
            gap = futures._time(plan.gap, self.gap_luck)
            if gap > since:
                return futures.now - since, futures.now - since + gap
        return futures.now - since, futures.now

    def place(self, row: int, at: float, need: float, minutes: float) -> float:
        which = bisect_left(self.lit, at)
        while which < len(self.lit):
            takes = min(need, self.room[which])
            self.room[which] -= takes
            need -= takes
            if need <= 1e-3:
                self.minutes[which] += minutes
                self.work[row] = self.minutes[which]
                return self.out[which]
            which += 1
        self.work[row] = minutes
        return self.next_out(max(at, self.lit[-1] + 1e-6))

    def next_out(self, at: float) -> float:
        which = bisect_left(self.lit, at)
        if which < len(self.lit):
            return self.out[which]
        if at == NEVER:
            return NEVER
        rounds = math.ceil((at - self.lit[-1]) / self.gap)
        return self.lit[-1] + rounds * self.gap + self.inside


def whole_loss(line: Line, enter: int) -> LossRate:
    """The losses from a stage on as one rate: shares kept multiply, relative variances add."""
    kept, relative, alike = 1.0, 0.0, 0.0
    for rate in line.losses[max(enter - 1, 0) :]:
        kept *= 1 - rate.mean
        relative += rate.mean / ((1 - rate.mean) * (rate.worth + 1))
        alike = max(alike, rate.alike)
    worth = max(1.0, (1 - kept) / (kept * relative) - 1) if 0 < kept < 1 else 1.0
    return LossRate((1 - kept) * worth, kept * worth, alike)


def one_run(rate: LossRate) -> LossRate:
    """The same rate with what sets runs apart."""
    apart = 1 / (rate.worth + 1) + rate.alike * rate.worth / (rate.worth + 1)
    worth = 1 / apart - 1
    return LossRate(rate.mean * worth, (1 - rate.mean) * worth, rate.alike)


def lost_table(pieces: int, rate: LossRate) -> list[float]:
    """P(at most k of so many lost), by the ratio of one term to the next."""
    a, b = rate.lost_like, rate.kept_like
    if a <= 0:
        return [1.0] * (pieces + 1)
    term = math.exp(
        math.lgamma(pieces + b) + math.lgamma(a + b) - math.lgamma(pieces + a + b) - math.lgamma(b)
    )
    total, sums = term, [term]
    for lost in range(pieces):
        term *= (pieces - lost) * (lost + a) / ((lost + 1) * (pieces - lost - 1 + b))
        total += term
        sums.append(min(total, 1.0))
    return sums


def fewest(good: int, chance: float, rate: LossRate) -> int:
    """The fewest pots of which so many are good with this chance, tried one by one."""
    throw = good
    while lost_table(throw, rate)[throw - good] < chance:
        throw += 1
    return throw


def draw_plainly(problem: PromiseProblem, futures: int, seed: int = 1) -> list[list[float]]:
    """So many futures: for each, when each line that is waited for is ready, in days."""
    plain = PlainFutures(problem, seed)
    return [plain.ready() for _ in range(futures)]
