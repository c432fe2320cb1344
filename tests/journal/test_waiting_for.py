"""What stands on the shelf and why: each piece waits for its next work, or for air and fire."""

import pytest

from studiolog.craft.words import STAGES
from studiolog.journal.waiting_for import (
    WAITING_FOR,
    FormWork,
    Next,
    how_pressing,
    kind_of_work,
    next_step,
    plan_steps,
    same_work,
    zones_bare,
)

MUG = FormWork(
    "thrown",
    plan_steps(
        [
            ("throw", None, 6, 1),
            ("trim", None, 4, 1),
            ("handle", None, 5, 1),
            ("sponge", None, 1, 1),
            ("glaze", None, 5, 1),
            ("grind and check", None, 2, 1),
        ]
    ),
    ("handle", "panel", "body"),
)


@pytest.mark.parametrize(
    ("stage", "done", "glazed", "waits"),
    [
        ("wet", ["thrown"], [], Next("firming")),
        ("leather_hard", ["thrown"], [], Next("trimming", "trim")),
        ("leather_hard", ["turned"], [], Next("handles", "handle")),
        ("leather_hard", ["trimmed", "handled"], [], Next("drying")),
        ("bone_dry", ["trimmed"], [], Next("work", "sponge")),
        ("bone_dry", ["sponging"], [], Next("bisque_kiln")),
        ("bisque", [], ["handles", "panel, outer"], Next("glaze", "glaze", ("body",))),
        ("bisque", [], [], Next("glaze", "glaze", ("handle", "panel", "body"))),
        ("glazed", [], [], Next("glaze_kiln")),
        ("fired", [], [], Next("finishing", "grind and check")),
        ("fired", ["ground"], [], Next("packing")),
        ("finished", [], [], None),
        ("lost", [], [], None),
    ],
)
def test_a_mug_waits_for_the_next_work_that_nobody_has_done(
    stage: str, done: list[str], glazed: list[str], waits: Next | None
) -> None:
    assert next_step(stage, MUG, done, glazed) == waits


def test_what_is_promised_is_packed_and_then_shipped() -> None:
    assert next_step("finished", MUG, (), (), promised=True) == Next("packing")
    assert next_step("finished", MUG, ("packed",), (), promised=True) == Next("shipping")


def test_a_form_without_steps_is_made_as_is_usual() -> None:
    assert next_step("leather_hard", FormWork("thrown")) == Next("trimming")
    assert next_step("leather_hard", FormWork("thrown"), ["turned"]) == Next("drying")
    assert next_step("leather_hard", FormWork("box"), []) == Next("joining")
    assert next_step("leather_hard", FormWork("tile"), []) == Next("drying")
    assert next_step("leather_hard", FormWork(), []) == Next("drying")


def test_the_stage_a_form_says_goes_before_what_is_usual() -> None:
    work = FormWork("thrown", plan_steps([("carve", "bone_dry", 9, 1)]))
    assert next_step("leather_hard", work) == Next("drying")
    assert next_step("bone_dry", work) == Next("decorating", "carve")
    # Nobody said it, and its name says nothing: it is done where the step before it is.
    planned = plan_steps([("join", None, 8, 2), ("doodads", None, 1, 1)])
    assert [(step.stage, step.guessed) for step in planned] == [("leather_hard", True)] * 2


def test_potters_write_one_work_in_many_ways() -> None:
    for one, other in [
        ("trim", "trimmed"),
        ("throw lid", "thrown"),
        ("trimming", "turned"),
        ("handles", "handled"),
        ("bodies", "body"),
        ("cut", "cut from the slab"),
        ("grind and check", "ground"),
    ]:
        assert same_work(one, other)
    assert not same_work("trim", "handle")
    assert not same_work("throw jar", "throw lid")
    assert kind_of_work("turn", "tile") == "work"
    assert zones_bare(("handle", "body"), ("Handles",)) == ("body",)


def test_every_lot_in_hand_waits_for_something_that_has_a_word_and_a_rank() -> None:
    for stage in list(STAGES)[:-2]:
        waits = next_step(stage, FormWork())
        assert waits is not None
        assert waits.waits in WAITING_FOR
    ranks = [how_pressing("leather_hard", waits) for waits in WAITING_FOR]
    assert how_pressing("leather_hard", "trimming") == min(ranks)
