"""What lies on what, as a potter dips it."""

from studiolog.craft.glaze.layering import lies_within, number_layers, stack_layers


def test_a_dip_on_the_upper_half_lies_over_the_dip_on_the_whole() -> None:
    zones = stack_layers([("outside", "Kelp"), ("outside, upper", "Chalk"), ("inside", "Oat")])
    assert zones == {
        "outside": ["Kelp"],
        "outside, upper": ["Kelp", "Chalk"],
        "inside": ["Oat"],
    }


def test_the_order_is_the_order_they_went_on() -> None:
    zones = stack_layers([("outside, upper", "Chalk"), ("outside", "Kelp")])
    assert zones["outside, upper"] == ["Chalk", "Kelp"]


def test_case_and_spaces_make_no_zone_of_their_own() -> None:
    assert stack_layers([("Rim", "Oat"), (" rim", "Kelp")]) == {"Rim": ["Oat", "Kelp"]}


def test_outsider_is_no_part_of_outside() -> None:
    assert not lies_within("outsider", "outside")
    assert lies_within("outside, lower", "Outside")


def test_a_dip_on_the_upper_half_is_numbered_above_the_dip_on_the_whole() -> None:
    assert number_layers(["outside", "outside, upper", "inside"]) == [1, 2, 1]
    assert number_layers(["outside, upper", "outside, lower", "Outside"]) == [1, 1, 3]
    assert number_layers([]) == []
