"""The request to a laboratory: one page, with the words, room to write, and the figures."""

import pytest

from studiolog.craft.glaze.food_contact import ARTICLES, LaboratoryRequest
from studiolog.craft.glaze.hazards import METALS
from studiolog.paper.laboratory_page import lay_out_laboratory_request
from studiolog.paper.page import A4, LETTER, PageSize
from studiolog.problems import UserProblem
from tests.paper.test_firing_sheet import misplaced


@pytest.mark.parametrize("size", [A4, LETTER], ids=lambda size: size.name)
@pytest.mark.parametrize("article", ARTICLES)
def test_nothing_overlaps_whatever_is_asked(article: str, size: PageSize) -> None:
    request = LaboratoryRequest(
        "A glaze with a very long name that somebody gave it in a hurry, version 12",
        "Iron-red stoneware with grog from the quarry", "fired to cone 6 in reduction (firing 93)",
        article, tuple(METALS.values()), "ASTM C738",
    )  # fmt: skip
    page = lay_out_laboratory_request(request, size)
    assert misplaced(page) == []
    words = " ".join(page.words)
    assert "by ASTM C738" in words
    assert "How many" in words
    assert "EU 84/500/EEC" in words
    assert "only a leach test" in words
    assert "local rules decide" in words


def test_a_request_that_names_no_clay_is_not_laid_out() -> None:
    with pytest.raises(UserProblem, match="which clay"):
        lay_out_laboratory_request(LaboratoryRequest("Kelp", "", "cone 6", "cup", ()), A4)
