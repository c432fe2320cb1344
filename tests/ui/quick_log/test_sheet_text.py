"""The text on a sheet: kept as JSON while half filled, read into a draft when it is saved."""

import json
from dataclasses import replace
from datetime import date, datetime
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.craft.words import FAULTS, MOMENTS, SURFACES
from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.glazes import GlazeDraft, add_glaze
from studiolog.journal.inspections import SurfaceDraft
from studiolog.journal.pieces import LayerDraft, PieceDraft, SizeDraft, log_piece
from studiolog.journal.quick_log import open_sheet
from studiolog.problems import UserProblem
from studiolog.ui.quick_log.sheet_text import (
    FaultRow,
    SheetPicture,
    SheetText,
    read_draft,
    read_piece_number,
    read_plain,
    still_known,
    text_of,
    write_plain,
)

IDS = st.one_of(st.none(), st.integers(1, 10**6))
WORDS = st.text(max_size=20)
TIMES = st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1)).map(
    lambda at: at.replace(microsecond=0)
)
TEXTS = st.builds(
    SheetText,
    number=WORDS,
    clay_id=IDS,
    form_id=IDS,
    run_id=IDS,
    height=WORDS,
    across=WORDS,
    mass=WORDS,
    layers=WORDS,
    firing_id=IDS,
    level_id=IDS,
    looked_on=st.one_of(st.none(), st.dates()),
    faults=st.lists(
        st.builds(
            FaultRow,
            st.sampled_from(list(FAULTS)),
            WORDS,
            st.one_of(st.none(), st.integers(0, 3)),
            WORDS,
        ),
        max_size=3,
    ).map(tuple),
    surfaces=st.lists(
        st.builds(SurfaceDraft, st.sampled_from(list(SURFACES)), WORDS), max_size=2
    ).map(tuple),
    pictures=st.lists(
        st.builds(
            SheetPicture,
            st.text("0123456789abcdef", min_size=64, max_size=64),
            st.just(".jpg"),
            WORDS,
            st.integers(1, 9000),
            st.integers(1, 9000),
            st.integers(1, 10**8),
            st.one_of(st.none(), TIMES),
            st.one_of(st.none(), st.sampled_from(list(MOMENTS))),
        ),
        max_size=2,
    ).map(tuple),
    pending=st.lists(WORDS, max_size=2).map(tuple),
    next_time=WORDS,
)


@given(TEXTS)
def test_a_kept_draft_comes_back_as_it_was(text):
    assert read_plain(json.loads(json.dumps(write_plain(text)))) == text


@pytest.mark.parametrize(
    "damage",
    [
        {"faults": [["moon", "", 1, ""]]},
        {"faults": [["crazing", "", 7, ""]]},
        {"faults": None},
        {"surfaces": [["shiny", ""]]},
        {"surfaces": [["matt", 3]]},
        {"clay_id": "buff"},
        {"layers": 4},
        {"pictures": [{"sha256": "ab"}]},
        {"looked_on": "soon"},
    ],
)
def test_a_damaged_draft_is_no_draft(damage):
    plain = write_plain(SheetText(number="1"))

    assert read_plain({**plain, **damage}) is None
    assert read_plain({}) is None


@pytest.fixture
def page(journal):
    def enter(session):
        clay = add_clay(session, ClayDraft(name="Buff stoneware"))
        kelp = add_glaze(session, GlazeDraft(name="Kelp"))
        log_piece(
            session,
            PieceDraft(
                number=7,
                clay_id=clay,
                stage="glazed",
                sizes=(SizeDraft(stage="glazed", height_mm=96.0312, mass_g=311.26),),
                layers=(LayerDraft(zone="outside", glaze_id=kelp, seconds=3.0),),
                next_time="thinner ",
            ),
        )

    journal.edit("Set up", enter)
    return journal.read(partial(open_sheet, number=7))


def test_what_was_not_retyped_stays_exactly_as_it_is_stored(page):
    text = text_of(page)
    assert text.height == "96"

    draft = read_draft(text, page)

    assert draft.height_mm == 96.0312
    assert draft.mass_g == 311.26
    assert draft.layers == page.draft.layers, "a method never said is not made up"


def test_what_cannot_be_read_is_told_by_field(page):
    text = replace(
        text_of(page), number="-3", height="tall", mass="0", layers="kelp 3s, moss", level_id=4
    )

    with pytest.raises(UserProblem) as told:
        read_draft(text, page)

    assert set(told.value.fields) == {"number", "height", "mass", "layers", "firing"}


def test_only_faults_that_were_looked_for_are_kept(page):
    rows = (FaultRow("crazing", "", 0), FaultRow("running", "foot", 2), FaultRow("pinhole"))

    draft = read_draft(replace(text_of(page), faults=rows), page)

    assert [(f.fault, f.severity, f.zone) for f in draft.faults] == [
        ("crazing", 0, ""),
        ("running", 2, "foot"),
    ]


def test_a_look_begun_the_day_before_is_of_that_day(page):
    rows = (FaultRow("crazing", "", 0),)
    text = replace(text_of(page), looked_on=date(2026, 11, 11))

    assert read_draft(replace(text, faults=rows), page).looked_on == date(2026, 11, 11)
    assert read_draft(text, page).looked_on == page.draft.looked_on


def test_what_was_deleted_since_is_no_longer_chosen(page):
    text = still_known(replace(text_of(page), form_id=99, firing_id=98, level_id=97), page)

    assert (text.form_id, text.firing_id, text.level_id) == (None, None, None)
    assert text.clay_id == page.draft.clay_id


@pytest.mark.parametrize(
    ("typed", "number"),
    [("412", 412), (" 7 ", 7), ("#9", 9), ("0", None), ("", None), ("4a", None), ("٤", None)],
)
def test_a_piece_number_is_a_plain_whole_number(typed, number):
    assert read_piece_number(typed) == number
