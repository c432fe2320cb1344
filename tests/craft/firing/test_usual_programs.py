"""The programs to start from come to the cones they are named for, and warn of nothing."""

from studiolog.craft.firing.cones import ordinal_of
from studiolog.craft.firing.program import find_problems, planned_cone
from studiolog.craft.firing.program_cautions import find_program_cautions
from studiolog.craft.firing.usual_programs import usual_programs
from studiolog.craft.words import FIRING_KINDS


def test_each_comes_to_its_cone_and_has_nothing_to_warn_of() -> None:
    found = usual_programs()
    assert {one.cone for one in found} >= {"06", "04", "6", "9", "10", "018"}
    for one in found:
        assert one.kind in FIRING_KINDS, one.key
        assert one.standing == "common practice"
        assert find_problems(one.segments) == {}, one.key
        if one.cone:
            estimate = planned_cone(one.segments)
            assert abs(estimate.number - ordinal_of(one.cone)) <= 0.06, one.key
        cautions = find_program_cautions(one.segments, one.kind, one.cone)
        assert [c.what for c in cautions if c.weight == "warn"] == [], one.key


def test_each_has_a_name_of_its_own() -> None:
    names = [one.name for one in usual_programs()]
    assert len(set(names)) == len(names)
