"""Where the counted pieces of a run stand as a line is read along, and what is said of it.

The same pieces are taken here as `journal.runs` takes in earnest: for work those that lack it,
among them those with most zones glazed; for a move or a loss those the line has named before.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from studiolog.craft.words import STAGES
from studiolog.journal.bench_actions import (
    Action,
    Loss,
    Move,
    Reading,
    RunWords,
    StepDone,
    Unread,
    WorkLot,
    Wrap,
)
from studiolog.journal.waiting_for import FormWork, same_work, zones_bare

ORDER = tuple(STAGES)
_WORKED = ORDER[:-2]  # stages a piece in hand can have
_MOST_MINUTES = 24 * 60.0


@dataclass
class _Lot:
    stage: str
    done: frozenset[str]
    glazed: frozenset[str]
    pieces: int
    named: bool = False

    def has(self, step: StepDone) -> bool:
        if step.zone and same_work(step.name, "glazed"):
            return not zones_bare([step.zone], self.glazed)
        return any(same_work(step.name, name) for name in self.done)


class LineState:
    """The run while its line is read: what was understood, and what is left of the pieces."""

    def __init__(self, run: RunWords) -> None:
        self.run = run
        self.work = run.work or FormWork()
        self.actions: list[Action] = []
        self.problems: list[str] = []
        self.days_back = 0
        self._unread: list[Unread] = []
        self._last_stage: str | None = None
        self._touched: list[str] = []
        self._works: list[tuple[StepDone, str]] = []
        known = run.lots or tuple(
            WorkLot(stage, frozenset(), frozenset(), pieces)
            for stage, pieces in run.counted.items()
        )
        self._lots = [_Lot(lot.stage, lot.done, lot.glazed, lot.pieces) for lot in known]
        self._knows_work = bool(run.lots)

    def left(self, stage: str) -> int:
        """How many counted pieces stand at a stage by now."""
        return sum(lot.pieces for lot in self._lots if lot.stage == stage)

    def reading(self, text: str) -> Reading:
        """All that was read."""
        return Reading(
            text,
            self.run.run_id,
            self.run.number,
            tuple(self.actions),
            tuple(self._unread),
            tuple(dict.fromkeys(self.problems)),
            self.days_back,
            self._leaves() if self.actions else (),
        )

    def say_unread(self, words: Sequence[tuple[int, int, str]]) -> None:
        """These words meant nothing."""
        self._unread += [Unread(*word) for word in words]

    def stage_for(self, usual: str, said: str | None) -> str | None:
        """The stage a work is meant at: as said, else the usual, else where the youngest are."""
        if said is not None:
            return said
        return usual if self.left(usual) else self._youngest()

    def do_step(
        self, step: StepDone, usual: str, each: float | None, together: float | None
    ) -> None:
        """Work on ``step.how_many`` pieces, 0 for all that lack it; ``together`` minutes in all."""
        have = self.left(step.stage)
        if not have or step.stage not in ORDER[:-1]:
            self.problems.append(
                f"No counted piece is {STAGES[usual if not have else step.stage]}."
            )
            return
        lacking = sum(lot.pieces for lot in self._at(step.stage) if not lot.has(step))
        some = step.how_many or (have if step.rework else lacking) or have
        if some > have:
            self.problems.append(_only(have, step.stage))
            return
        if not step.rework and some > lacking:
            self.problems.append(_done_already(step, have, lacking))
            return
        minutes = each if each is not None or together is None else together / some
        if minutes is not None and minutes > _MOST_MINUTES:
            self.problems.append("No work on one piece takes more than a day.")
            return
        taken = self._take(
            step.stage,
            some,
            lambda lot: (lot.has(step) != step.rework, -len(lot.glazed)),
        )
        glazed = 0
        for lot in taken:
            lot.named = True
            if step.zone and same_work(step.name, "glazed"):
                lot.glazed = lot.glazed | {step.zone}
                zones = self.work.zones
                if zones and step.stage == "bisque" and not zones_bare(zones, lot.glazed):
                    glazed += lot.pieces
                    lot.stage = "glazed"
            else:
                lot.done = lot.done | {step.name}
        done = replace(step, how_many=some, minutes=minutes, then_glazed=glazed)
        self._last_stage = step.stage
        self.actions.append(done)
        self._works.append((done, step.stage))
        if glazed:
            self._touch(step.stage)

    def time_last_step(self, minutes: float) -> None:
        """The work named last took so many minutes for one piece."""
        last = self.actions[-1]
        if isinstance(last, StepDone):
            self.actions[-1] = replace(last, minutes=minutes)

    def move(self, how_many: int | None, stages: Sequence[str]) -> None:
        """So many pieces (None or 0: all that can be meant) to the last of these stages."""
        to_stage = stages[-1]
        if len(stages) > 2:
            self.problems.append("Say from one stage to one other.")
            return
        if len(stages) == 2:
            if stages[0] == to_stage:
                self.problems.append(f"They are {STAGES[to_stage]} already.")
                return
            have = self.left(stages[0])
            wanted = how_many or have
            if not have or wanted > have:
                self.problems.append(_only(have, stages[0]))
                return
            self._do_move(stages[0], to_stage, wanted)
            return
        # The nearest state before it is meant first, then those before that.
        before = [
            stage for stage in reversed(ORDER[: ORDER.index(to_stage)]) if self.left(stage)
        ]  # fmt: skip
        have = sum(self.left(stage) for stage in before)
        wanted = how_many or have
        if not have:
            self.problems.append(
                f"No counted piece is still before {STAGES[to_stage]}. "
                f"To go back, name both: “fired to {STAGES[to_stage]}”."
            )
            return
        if wanted > have:
            noun = "piece is" if have == 1 else "pieces are"
            self.problems.append(f"Only {have} counted {noun} before {STAGES[to_stage]}.")
            return
        for stage in before:
            some = min(wanted, self.left(stage))
            if some:
                self._do_move(stage, to_stage, some)
                wanted -= some

    def lose(self, loss: Loss, stages: Sequence[str], how_many: int | None) -> None:
        """Pieces are lost: None means one, 0 all at that stage."""
        at = stages[0] if stages else self._last_stage or self._youngest()
        if len(stages) > 1 or at is None or not self.left(at):
            where = STAGES[at] if at else "in hand"
            self.problems.append(f"No counted piece is {where}: say which were lost.")
            return
        lots = self._at(at)
        have = sum(lot.pieces for lot in lots if not (loss.other and lot.named))
        wanted = have if how_many == 0 else how_many or 1
        if wanted > have and loss.other:
            self.problems.append(
                f"Only {self.left(at)} counted pieces are {STAGES[at]}, and all of them are named "
                "before: there is no other."
            )
            return
        if wanted > have:
            self.problems.append(_only(have, at))
            return
        if not loss.why:
            self.problems.append("Say why they were lost, as in “lost 2 s-crack”.")
            return
        # Another that split was being worked on: it is one that lacks what the others have by now.
        step = self._works[-1][0] if loss.other and self._works else None
        for lot in self._take(
            at,
            wanted,
            lambda lot: (lot.named == loss.other, step is not None and lot.has(step)),
        ):
            lot.stage = "lost"
        self.actions.append(replace(loss, stage=at, how_many=wanted))
        self._touch(at)

    def wrap(self, wrap: Wrap) -> None:
        """The run is covered or uncovered."""
        if not any(self.left(stage) for stage in ("wet", "leather_hard", "bone_dry")):
            self.problems.append("Nothing of this run dries any more: it needs no cover.")
            return
        self.actions.append(wrap)

    def _do_move(self, from_stage: str, to_stage: str, how_many: int) -> None:
        for lot in self._take(from_stage, how_many, lambda lot: not lot.named):
            lot.stage, lot.named = to_stage, True
        self._last_stage = to_stage
        self.actions.append(Move(from_stage, to_stage, how_many))
        self._touch(from_stage)

    def _at(self, stage: str) -> list[_Lot]:
        return [lot for lot in self._lots if lot.stage == stage and lot.pieces]

    def _take(self, stage: str, how_many: int, order: Callable[[_Lot], object]) -> list[_Lot]:
        """So many pieces as lots of their own; there are enough."""
        taken: list[_Lot] = []
        for lot in sorted(self._at(stage), key=order):  # type: ignore[arg-type]
            if how_many <= 0:
                break
            some = min(how_many, lot.pieces)
            how_many -= some
            lot.pieces -= some
            part = replace(lot, pieces=some)
            self._lots.append(part)
            taken.append(part)
        return taken

    def _touch(self, stage: str) -> None:
        if stage not in self._touched:
            self._touched.append(stage)

    def _youngest(self) -> str | None:
        return next((stage for stage in _WORKED if self.left(stage)), None)

    def _leaves(self) -> tuple[str, ...]:
        said = []
        for stage in self._touched:
            said.append(f"{self.left(stage) or 'none'} {STAGES[stage]} left")
        for step, stage in self._works:
            if step.rework or not self._knows_work:
                continue
            lacking = sum(lot.pieces for lot in self._at(stage) if not lot.has(step))
            zone = f"{step.zone} " if step.zone else ""
            done = step.name.endswith("ed") or step.name in ("thrown", "ground")
            how = "not yet" if done else "still without"
            said.append(f"{lacking or 'none'} {how} {zone}{step.name}")
        return tuple(dict.fromkeys(said))


def _done_already(step: StepDone, have: int, lacking: int) -> str:
    zone = f"{step.zone} " if step.zone else ""
    if not lacking:
        all_of = "The one piece is" if have == 1 else f"All {have} are"
        return f"{all_of} {zone}{step.name} already. Done over, it is “{step.name} again”."
    done = have - lacking
    return (
        f"{done} of {have} {'is' if done == 1 else 'are'} {zone}{step.name} already: "
        f"only {lacking} {'is' if lacking == 1 else 'are'} left. "
        f"Done over, it is “{step.name} again”."
    )


def _only(have: int, stage: str) -> str:
    if not have:
        return f"No counted piece is {STAGES[stage]}."
    return f"Only {have} counted {'piece is' if have == 1 else 'pieces are'} {STAGES[stage]}."
