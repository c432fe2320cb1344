"""A test plan that another page wants laid out: what it hands to the place of test plans."""

from dataclasses import dataclass


@dataclass(frozen=True)
class PlanWanted:
    """``desk.show("plan", 0, PlanWanted(...))`` lays out a new plan with this filled in already.

    ``kind`` is a key of ``PLAN_KINDS``; the glazes stand in the order of its corners. ``steps`` are
    the coats of a plan of thicknesses.
    """

    kind: str = "line"
    glaze_ids: tuple[int, ...] = ()
    clay_id: int | None = None
    question: str = ""
    steps: tuple[float, ...] = ()
