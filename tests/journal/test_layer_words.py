"""Layers typed as a potter says them over the glaze bucket."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.craft.words import METHODS, ZONES
from studiolog.journal.layer_words import (
    GlazeName,
    WordedLayer,
    how_words,
    read_layers,
    write_layers,
)

KELP, CHALK, RUST, TIDE, OAT, CLEAR = (
    GlazeName(1, "Kelp"),
    GlazeName(2, "Chalk"),
    GlazeName(3, "Rust Shore"),
    GlazeName(4, "Deep Tide"),
    GlazeName(5, "Oat"),
    GlazeName(6, "Clear 4"),
)
SHELF = (KELP, CHALK, RUST, TIDE, OAT, CLEAR)


def only(text: str, glazes: tuple[GlazeName, ...] = SHELF) -> WordedLayer:
    reading = read_layers(text, glazes)
    assert reading.unread == ()
    assert len(reading.layers) == 1
    return reading.layers[0]


def test_a_line_of_layers_is_read_in_the_order_they_went_on():
    reading = read_layers("kelp 4s, chalk 3s upper, oat in pour 2s, rust rim brush 2 coats", SHELF)

    assert reading.unread == ()
    assert reading.layers == (
        WordedLayer(1, "outside", "dip", 4.0, None),
        WordedLayer(2, "outside, upper", "dip", 3.0, None),
        WordedLayer(5, "inside", "pour", 2.0, None),
        WordedLayer(3, "rim", "brush", None, 2),
    )
    assert [how_words(layer) for layer in reading.layers] == [
        "dip 4 s",
        "dip 3 s",
        "pour 2 s",
        "brush, 2 coats",
    ]


@pytest.mark.parametrize(
    ("text", "layer"),
    [
        ("tide", WordedLayer(4)),
        ("DEEP T 3 sec", WordedLayer(4, "outside", "dip", 3.0)),
        ("clear 4 4s", WordedLayer(6, "outside", "dip", 4.0)),
        ("lower kelp 2,5 s", WordedLayer(1, "outside, lower", "dip", 2.5)),
        ("kelp outside, upper 3s", WordedLayer(1, "outside, upper", "dip", 3.0)),
        ("kelp 1 coat foot", WordedLayer(1, "foot", "brush", None, 1)),
        ("oat on the handle trail", WordedLayer(5, "handle", "trail")),
        ('oat "panel, left" sprayed', WordedLayer(5, "panel, left", "spray")),
        ("chalk pour", WordedLayer(2, "outside", "pour")),
    ],
)
def test_zone_method_and_amount_stand_in_any_order(text, layer):
    assert only(text) == layer


def test_one_glaze_over_another_is_laid_from_the_clay_outward():
    assert read_layers("chalk 3s over kelp 4s upper, oat in", SHELF).layers == (
        WordedLayer(1, "outside, upper", "dip", 4.0),
        WordedLayer(2, "outside, upper", "dip", 3.0),
        WordedLayer(5, "inside"),
    )
    assert read_layers("chalk upper over kelp out", SHELF).layers == (
        WordedLayer(1, "outside"),
        WordedLayer(2, "outside, upper"),
    )
    assert only("over easy", (*SHELF, GlazeName(9, "Over Easy"))).glaze_id == 9
    assert read_layers("over kelp", SHELF).unread[0].words == "over"


def test_a_word_that_names_no_glaze_is_asked_about_with_the_nearest_three():
    reading = read_layers("oat 4s, tidd 3s upper", SHELF)

    assert [layer.glaze_id for layer in reading.layers] == [OAT.glaze_id]
    (unread,) = reading.unread
    assert (unread.words, unread.start, unread.end) == ("tidd", 8, 12)
    assert len(unread.nearest) == 3
    assert unread.nearest[0] == "Deep Tide"
    assert unread.sentence().startswith("Which glaze is “tidd”? Deep Tide, ")


def test_a_start_that_fits_two_glazes_says_so():
    (unread,) = read_layers("c 3s", SHELF).unread

    assert unread.ambiguous
    assert unread.sentence() == "“c” fits Chalk and Clear 4: type more of the name."


def test_a_whole_title_wins_over_a_longer_one_and_over_a_zone_word():
    glazes = (GlazeName(1, "Oat"), GlazeName(2, "Oat Milk"), GlazeName(3, "Rim Blue"))

    assert only("oat 3s", glazes).glaze_id == 1
    assert only("rim blue rim", glazes) == WordedLayer(3, "rim")


@pytest.mark.parametrize("text", ["kelp 0s", "4s upper", "kelp chalk 3s", "kelp 3s 4s"])
def test_what_makes_no_sense_is_told_and_makes_no_layer(text):
    reading = read_layers(text, SHELF)

    assert reading.layers == ()
    assert reading.unread
    assert all(left.sentence() for left in reading.unread)


def test_nothing_typed_is_nothing_read():
    for text in ("", " , ,", "\n"):
        assert read_layers(text, SHELF) == read_layers("", SHELF)


WORDS = st.text(st.characters(codec="ascii", exclude_categories=["Cc"]), min_size=1, max_size=12)
TITLES = st.one_of(
    WORDS.map(lambda text: " ".join(text.split())).filter(bool),
    st.sampled_from(
        ["Rim Blue", "Dip White", "Clear 4", "4 s", 'Say "Sea"', "Upper", "On Shore", "Over Sea"]
    ),
)


@st.composite
def shelf_and_layers(draw):
    titles = draw(st.lists(TITLES, min_size=1, max_size=5, unique_by=str.casefold))
    glazes = tuple(GlazeName(place, title) for place, title in enumerate(titles, 1))
    own = st.sampled_from(
        ["handle", "panel, left", "lid in", "over foot", "foot ring", 'the "lip"']
    )
    layer = st.builds(
        WordedLayer,
        st.sampled_from([glaze.glaze_id for glaze in glazes]),
        st.one_of(st.sampled_from(ZONES), own),
        st.sampled_from(list(METHODS)),
        st.one_of(st.none(), st.integers(1, 900).map(lambda tenths: tenths / 10)),
        st.one_of(st.none(), st.integers(1, 9)),
    )
    return glazes, tuple(draw(st.lists(layer, max_size=5)))


@given(shelf_and_layers())
def test_what_is_written_reads_back_as_it_was(case):
    glazes, layers = case

    reading = read_layers(write_layers(layers, glazes), glazes)

    assert reading.unread == ()
    assert reading.layers == layers


@given(st.text(max_size=60))
def test_whatever_is_typed_is_read_or_told(text):
    reading = read_layers(text, SHELF)

    for left in reading.unread:
        assert left.sentence()
        assert 0 <= left.start < left.end <= len(text)
