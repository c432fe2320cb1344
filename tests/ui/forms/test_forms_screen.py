"""The forms screen: a profile drawn while its points are typed, steps with their minutes."""

import pytest

from studiolog.desktop.desk import Desk
from studiolog.journal.form_page import FormPage, read_form_page
from studiolog.ui.forms.form_view import FormView
from studiolog.ui.forms.profile import profile_words
from studiolog.ui.forms.screen import FormsScreen
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
