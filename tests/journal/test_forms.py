"""A potter keeps forms: designs with a profile, steps with minutes, and what was made to them."""

import pytest

from studiolog.journal.form_page import FormPage, read_form_page
from studiolog.journal.form_steps import set_steps
from studiolog.journal.forms import change_form, delete_form
from studiolog.journal.opening import Journal
from studiolog.journal.profiles import Profile
from studiolog.problems import StillUsed, UserProblem
from tests.small_studio import CUP, SmallStudio, fill_studio


@pytest.fixture
def studio(journal: Journal) -> SmallStudio:
    return fill_studio(journal)


def page_of(journal: Journal, form_id: int) -> FormPage:
    page = journal.read(lambda session: read_form_page(session, form_id))
    assert page is not None
    return page


def test_the_steps_add_up_and_say_what_was_not_timed(studio: SmallStudio) -> None:
    page = page_of(studio.journal, studio.tumbler)
    assert [name for name, _ in page.steps] == ["thrown", "trimmed", "glazed", "packed"]
    assert (page.minutes, page.untimed) == (15, 1)
    studio.journal.edit(
        "Steps", lambda session: set_steps(session, studio.tumbler, [("trimmed", 4), ("thrown", 7)])
    )
    assert page_of(studio.journal, studio.tumbler).steps == (("trimmed", 4), ("thrown", 7))


def test_a_profile_comes_back_point_by_point_and_can_be_taken_away(studio: SmallStudio) -> None:
    journal = studio.journal
    assert page_of(journal, studio.tumbler).profile == CUP
    wide = Profile(((40, 0), (90, 60)))
    journal.edit("Profile", lambda session: change_form(session, studio.bowl, profile=wide))
    assert page_of(journal, studio.bowl).profile == wide
    journal.edit("Profile", lambda session: change_form(session, studio.bowl, profile=None))
    assert page_of(journal, studio.bowl).profile is None


def test_a_form_tells_its_pieces_and_their_faults(studio: SmallStudio) -> None:
    page = page_of(studio.journal, studio.tumbler)
    assert page.uses.total == 24
    assert page.rates.rate_of("crazing").seen == 4
    bowls = page_of(studio.journal, studio.bowl)
    assert (bowls.uses.total, bowls.uses.total_numbered) == (12, 0)
    assert bowls.rates.rates == (), "twelve bowls nobody has inspected have no rate"


def test_a_form_in_use_is_not_deleted(studio: SmallStudio) -> None:
    with pytest.raises(StillUsed, match=r"Soup bowl can't be deleted .*: 12 pieces and 1 run\."):
        studio.journal.edit("Delete", lambda session: delete_form(session, studio.bowl))
    with pytest.raises(UserProblem):
        studio.journal.edit(
            "Rename", lambda session: change_form(session, studio.bowl, name="ripple tumbler")
        )
