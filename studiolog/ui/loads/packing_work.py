"""Packing as a job: a first plan, and the best that is found in a few seconds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from threading import Event

from studiolog.craft.ware.load_plan import LoadPlan, PackingRules, Ware
from studiolog.craft.ware.packing import QUICK, THOROUGH, fill_in, pack
from studiolog.desktop.jobs import Progress


class PackingWork:
    """One packing of a load. ``take_best`` ends it with the best plan so far.

    ``pinned`` pieces stay where they stand in ``plan``, with its shelves; the others fill the room
    there is.
    """

    def __init__(
        self,
        plan: LoadPlan,
        wares: Mapping[int, Ware],
        rules: PackingRules,
        pinned: frozenset[int],
    ) -> None:
        self._plan = replace(plan, wares=wares)
        self._rules, self._pinned = rules, pinned
        self._enough = Event()

    @property
    def is_settled(self) -> bool:
        """Whether the first plan is the last: asked for, or there is no better to seek."""
        return self._enough.is_set() or bool(self._pinned)

    def take_best(self) -> None:
        """Be content with the best plan so far."""
        self._enough.set()

    def quick(self, progress: Progress) -> LoadPlan:
        """A first plan."""
        return self._pack(progress, QUICK)

    def thorough(self, progress: Progress) -> LoadPlan:
        """The best plan that is found in a few seconds."""
        return self._pack(progress, THOROUGH)

    def _pack(self, progress: Progress, effort: int) -> LoadPlan:
        def stop() -> bool:
            return self._enough.is_set() or progress.cancelled()

        plan = self._plan
        if self._pinned:
            others = tuple(key for key in plan.wares if key not in self._pinned)
            return fill_in(_only(plan, self._pinned), others, stop=stop)
        return pack(
            tuple(plan.wares.values()),
            plan.kiln,
            self._rules,
            effort=effort,
            tell=progress.step,
            stop=stop,
        )


def _only(plan: LoadPlan, keys: frozenset[int]) -> LoadPlan:
    """A plan with only some of its pieces standing, the shelves as they are."""
    shelves = tuple(
        replace(
            shelf,
            places=tuple(
                replace(place, on_key=place.on_key if place.on_key in keys else None)
                for place in shelf.places
                if place.key in keys
            ),
        )
        for shelf in plan.shelves
    )
    return replace(plan, shelves=shelves, left_out=())
