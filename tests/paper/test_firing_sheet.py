"""The sheet a potter takes to the kiln: one page, and nothing lies on anything else."""

from dataclasses import replace
from decimal import Decimal
from itertools import combinations, product
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.firing.energy import expect_use
from studiolog.craft.firing.program import Segment
from studiolog.journal.planned_firing import PlannedFiring
from studiolog.journal.programs import SegmentDraft
from studiolog.paper.board import MARGIN_MM
from studiolog.paper.firing_sheet import SAFETY, lay_out_firing_sheet, say_energy, witness_cones
from studiolog.paper.html import write_html
from studiolog.paper.log_grid import plan_readings
from studiolog.paper.page import A4, LETTER, Box, Extent, Page, Path, Words
from studiolog.paper.svg import write_svg
from tests.paper.plans import (
    ALL,
    CROWDED,
    ENDLESS,
    GLAZE_SIX,
    NOT_WHOLE,
    UNPLANNED,
    lay_out,
)
from tests.wandering import WANDERING


def misplaced(page: Page) -> list[str]:
    """What leaves the page's margins, and what lies on something else, in words."""
    edge = MARGIN_MM - 0.5  # a ring's or a rule's own thickness
    room = Extent(edge, edge, page.size.wide_mm - edge, page.size.high_mm - edge)
    found = [f"{mark} is off the page" for mark in page.marks if not mark.extent.within(room)]
    written = [(mark.extent, mark.text) for mark in page.marks if isinstance(mark, Words)]
    for (one, said), (other, also) in combinations(written, 2):
        if one.meets(other, slack_mm=0.05):
            found.append(f"“{said}” lies on “{also}”")
    boxes = [mark.extent for mark in page.marks if isinstance(mark, Box)]
    for box, (words, said) in product(boxes, written):
        if box.meets(words, slack_mm=0.05):
            found.append(f"a box lies on “{said}”")
    # Hairlines of the plot may run behind its numbers; nothing else runs through words.
    for mark in page.marks:
        if isinstance(mark, Path) and len(mark.points) == 2 and mark.tone == "ink":
            edge = mark.extent
            grown = Extent(edge.left_mm, edge.top_mm - 0.1, edge.right_mm, edge.bottom_mm + 0.1)
            for words, said in written:
                if grown.meets(words, slack_mm=0.15):
                    found.append(f"a rule runs through “{said}”")
    return found


@pytest.mark.parametrize("which", ALL)
def test_nothing_overlaps_or_leaves_the_page(which: str) -> None:
    page = lay_out(ALL[which], A4)
    assert misplaced(page) == []
    assert " ".join(page.words).endswith("licensed electrician decide.")


@pytest.mark.parametrize("which", ["as most are", "crowded"])
def test_nor_does_it_on_the_shorter_paper_and_in_fahrenheit(which: str) -> None:
    page = lay_out(ALL[which], LETTER, "F")
    assert (page.size.wide_mm, page.size.high_mm) == (215.9, 279.4)
    assert misplaced(page) == []


def test_the_look_for_what_is_misplaced_sees_it() -> None:
    page = lay_out(GLAZE_SIX, A4)
    first = next(mark for mark in page.marks if isinstance(mark, Words))
    again = replace(page, marks=(*page.marks, replace(first, text="Over it")))
    assert misplaced(again) == ["“Tern Yard” lies on “Over it”"]
    struck = replace(
        page, marks=(*page.marks, Path(((12.0, first.y_mm - 1), (60.0, first.y_mm - 1))))
    )
    assert misplaced(struck) == ["a rule runs through “Tern Yard”"]
    beyond = replace(page, marks=(*page.marks, replace(first, x_mm=205.0)))
    assert "off the page" in misplaced(beyond)[0]


segments = st.lists(
    st.builds(
        SegmentDraft,
        st.none() | st.floats(1, 400),
        st.floats(25, 1300).map(round),
        st.sampled_from([0.0, 15.0, 600.0]),
    ),
    max_size=30,
)


@settings(max_examples=200 if WANDERING else 4)
@given(
    segments,
    st.text(max_size=70),
    st.lists(st.text(min_size=1, max_size=30), max_size=16),
)
def test_whatever_is_typed_it_stays_one_page(
    steps: list[SegmentDraft], name: str, levels: list[str]
) -> None:
    planned = PlannedFiring(heading=name, levels=tuple(levels), segments=tuple(steps), notes=name)
    page = lay_out_firing_sheet(planned, LETTER, "F")
    assert misplaced(page) == []
    ElementTree.fromstring(write_svg(page))


def test_the_sheet_tells_what_a_potter_needs_at_the_kiln() -> None:
    page = lay_out(GLAZE_SIX, A4)
    said = " ".join(page.words).replace("\u202f", " ")
    for words in (
        "Tern Yard", "95", "Cone 6 slow cool", "Cone 6 · glaze firing · Big kiln",
        # 580 °C at 150 °C/h are 3 h 52 min; 500 °C more at 180 °C/h take 2 h 47 min.
        "150 °C/h 600 °C – 3:52", "180 °C/h 1100 °C – 6:39",
        # 104 °C at 60 °C/h and 15 min more: 8 h 38 min.
        "60 °C/h 1204 °C 15 min 8:38", "left to cool 1000 °C – ≈ 9:",
        "Followed to the letter: cone 6", "Segment 1 heats at 150 °C/h through 100 °C",
        "To do differently this time (firing 94): Hold five minutes longer, the top was cool.",
        "Energy expected: 61 kWh, cost 12.24 to 18.97 by the hour it starts;",
        "Meter before", "after", "Cone 5", "Cone 7", "top", "middle", "bottom",
    ):  # fmt: skip
        assert words in said, words
    ticks = [mark for mark in page.marks if isinstance(mark, Box)]
    assert len(ticks) == 3 * 3


def test_the_grid_asks_as_often_as_there_is_room() -> None:
    steps = [Segment(100, 120), Segment(150, 1020)]  # 1 h and 6 h
    every, rows, whole = plan_readings(steps, 40, "C")
    assert (every, whole, len(rows)) == (15, True, 29)
    # A quarter of an hour at 100 °C/h from 20 °C; half an hour at 150 °C/h from 120 °C.
    assert rows[1] == ("0:15", "45\u202f°C")
    assert rows[6] == ("1:30", "195\u202f°C")
    assert rows[-1] == ("7:00", "1020\u202f°C")
    assert plan_readings(steps, 16, "C")[0] == 30
    assert plan_readings(steps, 9, "C")[0] == 60
    week = [Segment(100, 120, 10080)]
    assert plan_readings(week, 3, "C") == (
        1440, [("0:00", "20\u202f°C"), ("24:00", "120\u202f°C"), ("48:00", "120\u202f°C")], False
    )  # fmt: skip


def test_the_grid_ends_where_the_kiln_is_left_to_itself() -> None:
    steps = [Segment(100, 1000, 30), Segment(None, 100)]
    rows = plan_readings(steps, 60, "C")[1]
    assert rows[-1] == ("10:15", "1000\u202f°C")  # 9 h 48 min and the hold of half an hour
    assert plan_readings([], 60, "C")[1] == []


def test_in_fahrenheit_no_celsius_is_left() -> None:
    page = lay_out(GLAZE_SIX, LETTER, "F")
    said = " ".join(page.words)
    assert "270\u202f°F/h" in said
    assert "2199\u202f°F" in said  # 1204 °C
    assert "°C" not in said


def test_a_program_without_end_says_what_is_left_out() -> None:
    said = " ".join(lay_out(ENDLESS, A4).words)
    assert "… and 37 more steps with no room here; the last ends after" in said
    assert "… and 17 more levels with no room here" in said
    assert "as far as there is room" in said
    whole = " ".join(lay_out(CROWDED, A4).words)
    assert "with no room here" not in whole


def test_without_a_program_it_is_a_sheet_to_write_on() -> None:
    page = lay_out(UNPLANNED, A4)
    assert "Write the program you fire into the table." in page.words
    assert "to write on" in page.words
    assert "no program" in page.description
    said = " ".join(lay_out(NOT_WHOLE, A4).words)
    assert "This program can't be followed as it stands. Segment 1: it starts at 20" in said


def test_a_program_with_much_to_beware_of_says_where_the_rest_is() -> None:
    hasty = replace(
        UNPLANNED, kind="bisque", cone="04",
        segments=(SegmentDraft(400, 800), SegmentDraft(300, 700, 1500), SegmentDraft(None, 1060)),
    )  # fmt: skip
    said = " ".join(lay_out_firing_sheet(hasty, A4).words)
    assert "Segment 1 heats at 400" in said
    assert "more: see the page of the program." in said


def test_the_pack_stands_round_the_cone_aimed_at() -> None:
    # Common practice: the cone before, the one aimed at, the one after.
    assert witness_cones("6") == ("Cone 5", "Cone 6", "Cone 7")
    assert witness_cones("01") == ("Cone 02", "Cone 01", "Cone 1")
    assert witness_cones("5.5") == ("Cone 5", "Cone 5½", "Cone 6")
    assert witness_cones("022") == ("Cone", "Cone 022", "Cone 021")
    assert witness_cones(None) == ("Cone", "Cone", "Cone")


def test_energy_is_told_with_how_it_is_known() -> None:
    assert say_energy(replace(GLAZE_SIX, expected=None)) == ""
    # 8 kW x 10 h x 0.65 = 52 kWh, the usual estimate of a glaze firing (common practice).
    guess = replace(GLAZE_SIX, expected=expect_use([], 8.0, 10.0), cost=None)
    assert say_energy(guess).startswith("Energy expected: 52\u202fkWh; estimated: 8.0\u202fkW")
    assert "kWh, cost 12.24 to 18.97 by the hour it starts; as" in say_energy(GLAZE_SIX)
    assert "kWh, cost 15.60; estimated" in say_energy(
        replace(guess, cost=(Decimal("15.6"), Decimal("15.6")))
    )


def test_the_html_stands_alone_and_is_well_formed() -> None:
    page = lay_out_firing_sheet(replace(GLAZE_SIX, heading='Kelp & "Chalk" <slow>\x07'), A4)
    document = write_html([page, page])
    tree = ElementTree.fromstring(document.removeprefix("<!DOCTYPE html>\n"))
    space = "{http://www.w3.org/2000/svg}"
    drawings = list(tree.iter(f"{space}svg"))
    assert [one.get("width") for one in drawings] == ["210mm", "210mm"]
    written = [text.text for text in drawings[0].iter(f"{space}text")]
    assert 'Kelp & "Chalk" <slow>' in written
    assert len(written) == len(page.words)
    # Nothing is fetched: no link, script, image or foreign style.
    assert {one.tag.rpartition("}")[2] for one in tree.iter()} == {
        "html", "head", "meta", "title", "style", "body", "svg", "desc", "text", "polyline",
        "rect", "circle",
    }  # fmt: skip
    assert "url(" not in document
    assert document.count("http") == document.count("http://www.w3.org/")
    ids = [one.get("id") for one in tree.iter() if one.get("id")]
    assert len(ids) == len(set(ids)) == 4
    assert "@page { size: 210mm 297mm" in document
    with pytest.raises(ValueError, match="needs a page"):
        write_html([])


def test_the_safety_line_defers_to_maker_rules_and_licensed_people() -> None:
    for word in ("Heat", "fumes", "mains", "maker", "local rules", "licensed electrician"):
        assert word in SAFETY
