"""A potter keeps glazes: recipes, versions, buckets, and how each did alone and with others."""

from dataclasses import replace
from datetime import date

import pytest

from studiolog.craft.evidence.rates import wilson
from studiolog.journal.buckets import BucketPage, read_glaze_buckets
from studiolog.journal.glaze_hazards import read_hazards
from studiolog.journal.glaze_page import GlazePage, read_glaze_page
from studiolog.journal.glazes import (
    GlazeDraft,
    RecipePart,
    add_bucket,
    add_glaze,
    change_bucket,
    change_glaze,
    copy_as_version,
    delete_bucket,
    delete_glaze,
    list_glazes,
    set_recipe,
)
from studiolog.journal.opening import Journal
from studiolog.problems import EditConflict, StillUsed, UserProblem
from tests.small_studio import KELP_RECIPE, SmallStudio, fill_studio


@pytest.fixture
def studio(journal: Journal) -> SmallStudio:
    return fill_studio(journal)


def page_of(journal: Journal, glaze_id: int, start: int = 0, limit: int = 40) -> GlazePage:
    page = journal.read(lambda session: read_glaze_page(session, glaze_id, start, limit))
    assert page is not None
    return page


def buckets_of(journal: Journal, glaze_id: int) -> tuple[BucketPage, ...]:
    found = journal.read(lambda session: read_glaze_buckets(session, glaze_id))
    assert found is not None
    return found.buckets


def test_a_recipe_shows_its_hundred_and_what_is_added_on_top(studio: SmallStudio) -> None:
    page = page_of(studio.journal, studio.kelp)
    assert page.recipe == KELP_RECIPE
    assert sum(part.parts for part in page.recipe if not part.addition) == 100
    assert page.recipe_is_fixed, "24 cups carry it"


def test_a_recipe_changed_at_another_desk_is_not_written_over(studio: SmallStudio) -> None:
    journal = studio.journal
    trial = journal.edit("Version", lambda session: copy_as_version(session, studio.kelp)).value
    seen = page_of(journal, trial).recipe
    here, there = (replace(seen[0], parts=33), *seen[1:]), (*seen[:-1], replace(seen[-1], parts=4))
    journal.edit("Recipe", lambda session: set_recipe(session, trial, there, seen))
    with pytest.raises(EditConflict, match="changed somewhere else"):
        journal.edit("Recipe", lambda session: set_recipe(session, trial, here, seen))
    assert page_of(journal, trial).recipe == there
    journal.edit("Recipe", lambda session: set_recipe(session, trial, here, there))
    assert page_of(journal, trial).recipe == here


def test_the_recipe_of_a_glaze_that_pieces_carry_stays_and_a_version_takes_the_change(
    studio: SmallStudio,
) -> None:
    journal = studio.journal
    less_copper = (*KELP_RECIPE[:4], RecipePart("Copper carbonate", 2, addition=True))
    with pytest.raises(StillUsed, match=r"24 pieces carry Kelp as it is\. Make a new version"):
        journal.edit("Recipe", lambda session: set_recipe(session, studio.kelp, less_copper))
    assert page_of(journal, studio.kelp).recipe == KELP_RECIPE

    second = journal.edit("Version", lambda session: copy_as_version(session, studio.kelp)).value
    page = page_of(journal, second)
    assert page.recipe == KELP_RECIPE, "a new version starts from the recipe it came from"
    assert (page.title, page.parent_id) == ("Kelp, version 2", studio.kelp)
    assert not page.recipe_is_fixed
    journal.edit("Recipe", lambda session: set_recipe(session, second, less_copper))
    assert page_of(journal, second).recipe == less_copper

    third = journal.edit("Version", lambda session: copy_as_version(session, second)).value
    chain = page_of(journal, third).versions
    assert [(one.title, one.depth, one.pieces) for one in chain] == [
        ("Kelp", 0, 24),
        ("Kelp, version 2", 1, 0),
        ("Kelp, version 3", 2, 0),
    ]


def test_a_new_name_goes_to_every_version_and_is_not_taken_twice(studio: SmallStudio) -> None:
    journal = studio.journal
    second = journal.edit("Version", lambda session: copy_as_version(session, studio.kelp)).value
    journal.edit("Rename", lambda session: change_glaze(session, second, name="  Sea   Kelp "))
    assert page_of(journal, studio.kelp).title == "Sea Kelp"
    assert page_of(journal, second).title == "Sea Kelp, version 2"
    with pytest.raises(UserProblem) as caught:
        journal.edit("Rename", lambda session: change_glaze(session, second, name="chalk"))
    assert "glaze named chalk already" in caught.value.fields["name"]
    journal.undo()
    assert page_of(journal, second).title == "Kelp, version 2"


def test_rates_count_only_pieces_inspected_for_that_fault(studio: SmallStudio) -> None:
    page = page_of(studio.journal, studio.kelp)
    # 24 cups, the last two never inspected: 22 looked at for crazing; every third of the
    # 11 red ones crazed (3, 9, 15, 21). Running was looked for on the 11 buff ones.
    assert (page.rates.pieces, page.rates.inspected) == (24, 22)
    crazing, running = page.rates.rate_of("crazing"), page.rates.rate_of("running")
    assert (crazing.seen, crazing.inspected) == (4, 22)
    assert (crazing.low, crazing.high) == wilson(4, 22)
    assert (running.seen, running.inspected) == (3, 11)
    assert page.rates.rate_of("crawling").rate is None, "nobody looked: no rate, not nought"
    assert [rate.fault for rate in page.rates.rates] == ["crazing", "running"]


def test_a_glaze_is_told_apart_alone_over_and_under_others(studio: SmallStudio) -> None:
    kelp = page_of(studio.journal, studio.kelp).combinations
    assert [(one.over and one.over.title, one.under and one.under.title) for one in kelp] == [
        (None, None),
        ("Chalk", None),
    ]
    assert [one.group.pieces for one in kelp] == [6, 18]
    alone, under_chalk = (one.group.rate_of("crazing") for one in kelp)
    assert alone.inspected + under_chalk.inspected == 22
    assert alone.seen + under_chalk.seen == 4
    (chalk,) = page_of(studio.journal, studio.chalk).combinations
    assert chalk.under is not None
    assert chalk.under.title == "Kelp"
    assert chalk.group.pieces == 18


def test_pieces_are_paged_newest_first(studio: SmallStudio) -> None:
    first = page_of(studio.journal, studio.kelp, 0, 10).uses
    last = page_of(studio.journal, studio.kelp, 20, 10).uses
    assert [piece.number for piece in first.numbered] == list(range(24, 14, -1))
    assert [piece.number for piece in last.numbered] == [4, 3, 2, 1]
    assert (first.total, first.total_numbered) == (24, 24)


def test_deleting_names_what_carries_the_glaze_and_archiving_hides_it(studio: SmallStudio) -> None:
    journal = studio.journal
    with pytest.raises(StillUsed, match=r"24 pieces carry it \(1, 2, 3, 4, 5 …\)\. Archive it"):
        journal.edit("Delete", lambda session: delete_glaze(session, studio.kelp))
    journal.edit("Archive", lambda session: change_glaze(session, studio.kelp, archived=True))
    assert [line.name for line in journal.read(list_glazes)] == ["Chalk", "Oat"]
    both = journal.read(lambda session: list_glazes(session, archived=True))
    assert both[-1].name == "Kelp", "archived ones stand last"


def test_a_bucket_that_was_dipped_into_is_kept(studio: SmallStudio) -> None:
    journal = studio.journal
    (used,) = buckets_of(journal, studio.kelp)
    with pytest.raises(StillUsed, match=r"24 layers were laid from it"):
        journal.edit("Delete", lambda session: delete_bucket(session, used.bucket_id))
    fresh = journal.edit(
        "Mix", lambda session: add_bucket(session, studio.kelp, date(2026, 11, 2), dry_g=3000)
    ).value
    journal.edit(
        "Adjust", lambda session: change_bucket(session, fresh, adjustments="+200 g water")
    )
    newest, older = buckets_of(journal, studio.kelp)
    assert (newest.adjustments, newest.layers, older.layers) == ("+200 g water", 0, 24)
    journal.edit("Delete", lambda session: delete_bucket(session, fresh))
    assert len(buckets_of(journal, studio.kelp)) == 1


def test_patterns_go_round_in_order_of_entry(journal: Journal) -> None:
    def enter(session):  # type: ignore[no-untyped-def]
        return [add_glaze(session, GlazeDraft(name=f"Test {n}")) for n in range(9)]

    journal.edit("Add", enter)
    assert [line.pattern for line in journal.read(list_glazes)] == [0, 1, 2, 3, 4, 5, 6, 7, 0]


def test_a_recipe_brings_its_cautions(studio: SmallStudio) -> None:
    rates = page_of(studio.journal, studio.kelp).rates
    hazards = studio.journal.read(lambda session: read_hazards(session, studio.kelp, rates))
    named = " ".join(one.subject for one in hazards if one.when == "weigh")
    assert "Silica" in named
    assert "Copper carbonate" in named
    assert "Whiting" not in named


def test_a_glaze_that_is_gone_has_no_page(journal: Journal) -> None:
    assert journal.read(lambda session: read_glaze_page(session, 99)) is None


def test_new_glazes_and_clays_start_in_colours_of_their_own(journal: Journal) -> None:
    from studiolog.journal.clays import ClayDraft, add_clay, list_clays

    for name in ("Chalk", "Kelp", "Oat"):
        journal.edit("Add", lambda session, name=name: add_glaze(session, GlazeDraft(name=name)))
        journal.edit("Add", lambda session, name=name: add_clay(session, ClayDraft(name=name)))
    assert len({glaze.colour for glaze in journal.read(list_glazes)}) == 3
    assert len({clay.colour for clay in journal.read(list_clays)}) == 3
