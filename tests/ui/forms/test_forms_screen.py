"""The forms screen: a profile drawn while its points are typed, steps with their minutes."""

import pytest

from studiolog.desktop.desk import Desk
from studiolog.journal.form_page import FormPage, read_form_page
from studiolog.ui.forms.form_view import FormView
from studiolog.ui.forms.profile import profile_words
from studiolog.ui.forms.screen import FormsScreen
from studiolog.ui.forms.story_section import say_made
from studiolog.ui.forms.versions_section import nearest, say_steps
from studiolog.ui.parts.text import Words
from tests.small_studio import CUP, SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def view(studio: SmallStudio, open_screen: OpenScreen) -> FormView:
    page = open_screen(FormsScreen).page
    assert isinstance(page, FormView)
    return page


def page_of(desk: Desk, form_id: int) -> FormPage:
    page = desk.read(lambda session: read_form_page(session, form_id))
    assert page is not None
    return page


def drawn(view: FormView) -> tuple[tuple[float, float], ...]:
    profile = view.profile.drawing._shape.profile
    assert profile is not None
    return profile.outside


def test_a_point_is_drawn_letter_by_letter_and_kept_on_enter(
    desk: Desk, studio: SmallStudio, view: FormView
) -> None:
    grid = view.profile.outside
    assert drawn(view) == CUP.outside
    grid._hear_typing(4, 0, "4")
    assert drawn(view)[-1] == (4, 95)
    grid._hear_typing(4, 0, "44")
    assert drawn(view)[-1] == (44, 95)
    assert page_of(desk, studio.tumbler).profile == CUP, "nothing is kept while typing"
    grid.type_cell(4, 0, "44")
    kept = page_of(desk, studio.tumbler).profile
    assert kept is not None
    assert kept.outside[-1] == (44, 95)
    assert kept.inside == CUP.inside


def test_half_a_point_is_asked_for_and_not_kept(
    desk: Desk, studio: SmallStudio, view: FormView
) -> None:
    view.profile.inside.type_cell(5, 0, "38")
    assert "Point 6: give the height" in view.profile.inside.problem()
    assert page_of(desk, studio.tumbler).profile == CUP


def test_a_form_without_a_profile_says_that_it_is_drawn_as_a_plain_cup(view: FormView) -> None:
    assert "plain cup" in profile_words("thrown", None)
    assert profile_words("thrown", CUP) == ""
    assert "round ware" in profile_words("tile", CUP)


def test_steps_are_added_moved_and_removed(desk: Desk, studio: SmallStudio, view: FormView) -> None:
    assert view.step_section.quiet.text() == "15\u202fmin for one piece, 1 without minutes"
    view.steps.type_cell(4, 0, "stamped")
    view.steps.type_cell(4, 1, "0.5")
    view.steps.move_row(4, 3)
    view.steps.drop_row(0)
    assert page_of(desk, studio.tumbler).steps == (
        ("trimmed", 4),
        ("glazed", 5),
        ("stamped", 0.5),
        ("packed", None),
    )


def test_a_step_has_a_stage_and_hands(desk: Desk, studio: SmallStudio, view: FormView) -> None:
    view.steps.type_cell(1, 2, "leather")
    view.steps.type_cell(0, 3, "2")
    making = page_of(desk, studio.tumbler).making
    assert (making[0].persons, making[1].stage) == (2, "leather_hard")
    assert view.step_section.quiet.text().startswith("21\u202fmin for one piece")
    view.steps.type_cell(2, 2, "gl")
    view.steps.type_cell(3, 2, "boiled")
    assert "Step 4: “boiled” is not a stage" in view.steps.problem()


def test_zones_are_named_once(desk: Desk, studio: SmallStudio, view: FormView) -> None:
    for row, zone in enumerate(("handle", "body")):
        view.zones.grid.type_cell(row, 0, zone)
    assert page_of(desk, studio.tumbler).zones == ("handle", "body")
    view.zones.grid.type_cell(2, 0, "Body")
    assert view.zones.grid.problem() == "The zone Body is named twice."
    assert page_of(desk, studio.tumbler).zones == ("handle", "body")


def test_a_version_is_named_by_what_changes_and_stands_beside_its_parent(
    desk: Desk, studio: SmallStudio, view: FormView
) -> None:
    versions = view.versions
    versions.ask()
    versions.line.line.setText("deeper")
    versions._say_name()
    assert versions.name_words.text() == "It will be named Ripple tumbler, deeper."
    versions.keep()
    assert view.head.name.text() == "Ripple tumbler, deeper"
    view.keep("fired_height_mm", 104.0)
    family = page_of(desk, view.ident).family
    assert [one.name for one in family] == ["Ripple tumbler", "Ripple tumbler, deeper"]
    assert nearest(family, view.ident) == family
    bold = [
        label.text()
        for label in versions.findChildren(Words)
        if label.font().bold() or label.font().weight() >= 600
    ]
    assert "104\u202fmm" in bold, "what is other than with its parent stands out"
    drawn = versions.drawing.sentence()
    assert "Ripple tumbler, deeper" in drawn
    assert "to one scale" in drawn
    view.steps.drop_row(0)
    family = page_of(desk, view.ident).family
    assert say_steps(family[1], family[0]) == "thrown left out"
    deeper = view.ident
    versions.opened.emit(studio.tumbler)
    versions._set_parent(deeper)
    assert "it can't be what it came from as well" in versions.problem.sentence()
    versions._set_parent(studio.bowl)
    assert [one.depth for one in page_of(desk, studio.bowl).family] == [0, 1, 2]


def test_a_decision_is_kept_with_its_reasons(
    desk: Desk, studio: SmallStudio, view: FormView
) -> None:
    story = view.story
    story.ask("no_go")
    story.keep()
    assert story.reasons.problem().startswith("Say why")
    story.reasons.line.setText("The rim sinks.")
    story.day.line.setText("31 Dec 2999")
    story.keep()
    assert "of today, or of a day before" in story.day.problem()
    story.day.line.setText("today")
    story.keep()
    page = page_of(desk, studio.tumbler)
    assert (page.standing, page.story[-1].words) == ("no_go", "The rim sinks.")
    assert story.quiet.text() == "not to be made in number"
    assert page.story[0].kind == "made"
    assert say_made(page.story[0]) == "24 made, none lost, a fault on 7 of 22 inspected"
    story._take_back(page.story[-1].ident)
    assert page_of(desk, studio.tumbler).story == ()


def test_a_way_is_added_judged_and_deleted(desk: Desk, studio: SmallStudio, view: FormView) -> None:
    ways = view.ways
    for name in ("before trimming", "after handling", "After handling"):
        ways.line.line.setText(name)
        ways.keep()
    assert "already" in ways.line.problem()
    first, second = (result.way for result in page_of(desk, studio.tumbler).ways.results)
    assert first is not None
    assert second is not None
    ways._judge(first, "keep")
    assert ways.problem.sentence().startswith("Say why before you keep “before trimming”")
    ways._note(first, "Quicker.")
    ways._judge(first, "keep")
    ways._delete(second)
    (kept,) = page_of(desk, studio.tumbler).ways.results
    assert kept.way is not None
    assert (kept.way.standing, kept.way.notes) == ("keep", "Quicker.")
