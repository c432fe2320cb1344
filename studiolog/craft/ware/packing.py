"""Packing a kiln: which piece stands where, on how many shelves, and what is left out and why.

A greedy answer comes at once (`QUICK`); more effort tries other orders and pushes ware together to
make room (`THOROUGH`). The same ware, rules, effort and seed give the same plan. Nothing here
decides for the potter: `plan_check` looks at a plan that was changed by hand.
"""

from collections.abc import Callable, Sequence
from typing import Final

from studiolog.craft.ware.load_plan import KilnInside, LoadPlan, PackingRules, Ware
from studiolog.problems import UserProblem

QUICK: Final = 1
THOROUGH: Final = 18


def pack(
    wares: Sequence[Ware],
    kiln: KilnInside,
    rules: PackingRules,
    *,
    effort: int = THOROUGH,
    seed: int = 0,
    tell: Callable[[int, int], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> LoadPlan:
    """A load of the ware that waits.

    ``effort`` is how many loads are tried; ``tell(done, total)`` hears how far it is, and where
    ``stop()`` is true the best so far is given. What can't or doesn't go in is in ``left_out``
    with its reason. Raises `UserProblem` for a kiln without shelves or a piece given twice.
    """
    from studiolog.craft.ware.load_building import find_load

    if kiln.shelves + kiln.half_shelves < 1:
        raise UserProblem("This kiln has no shelves to plan a load on: say how many it has.")
    keys = [ware.key for ware in wares]
    if len(set(keys)) != len(keys):
        raise UserProblem("A piece is in the list of what waits twice: it can stand only once.")
    return find_load(wares, kiln, rules, effort, seed, tell, stop)


def fill_in(
    plan: LoadPlan, keys: Sequence[int], *, stop: Callable[[], bool] | None = None
) -> LoadPlan:
    """The plan with further pieces set where there is room, soonest wanted first.

    Nothing that stands is moved and no shelf taken away; shelves are set on top where that lets
    more in. ``keys`` are of pieces in
    ``plan.wares`` that stand nowhere yet; those that find no room are in ``left_out``. Unglazed
    ware is also stacked on its like.
    """
    from studiolog.craft.ware.load_filling import fill_plan

    return fill_plan(plan, keys, stop)
