"""A question is a sentence; typed or kept, it comes back as the question it was."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.words import ATMOSPHERES, FAULTS, METHODS, SURFACES
from studiolog.journal.question import (
    Combination,
    ConeRange,
    Names,
    Question,
    sentence,
    sentence_parts,
)
from studiolog.journal.question_chemistry import (
    MEASURES,
    OFFERED,
    ChemistryRange,
    in_order,
    say_range,
)
from studiolog.journal.question_offers import go_on
from studiolog.journal.question_reading import read_question
from tests.wandering import WANDERING

TODAY = date(2026, 11, 25)
TERN_YARD = Names(
    {1: "Buff stoneware", 2: "Iron-red stoneware", 3: "Porcelain P2"},
    {1: "Kelp", 2: "Chalk", 3: "Rust Shore", 4: "Deep Tide", 5: "Oat", 6: "Clear 4"},
    levels=("top", "middle", "bottom"),
)


def read(text: str, names: Names = TERN_YARD) -> Question:
    reading = read_question(text, names, TODAY)
    assert reading.unread == ()
    return reading.question


def test_everything_a_potter_may_ask_in_one_typed_line():
    typed = (
        "crazing, chalk over kelp on iron-red, cone 5-6½ as measured, inside, oxidation, dipped, "
        "since March, severe, notes 'pinging'"
    )
    assert read(typed) == Question(
        fault="crazing",
        severity=3,
        zone="inside",
        clay_id=2,
        combination=Combination("over", 2, 1),
        method="dip",
        cone=ConeRange(5.0, 6.5, "read"),
        atmosphere="oxidation",
        since=date(2026, 3, 1),
        notes="pinging",
    )


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("matt", Question(surfaces=("matt",))),
        ("clear and glossy inside", Question(surfaces=("glossy", "clear"), zone="inside")),
        ("crazed, matt surface", Question(fault="crazing", surfaces=("matt",))),
        ("dry to touch", Question(surfaces=("dry_surface",))),
        ("dry", Question(fault="dry")),
        (
            "clear 4 over kelp, clear",
            Question(combination=Combination("over", 6, 1), surfaces=("clear",)),
        ),
        ("SiO2:Al2O3 under 5", Question(chemistry=(ChemistryRange("silica_alumina", None, 5.0),))),
        ("silica to alumina > 7.5", Question(chemistry=(ChemistryRange("silica_alumina", 7.5),))),
        ("ratio above 8", Question(chemistry=(ChemistryRange("silica_alumina", 8.0),))),
        ("oxygen ratio under 2", Question(chemistry=(ChemistryRange("oxygen_ratio", None, 2.0),))),
        ("sio₂/al₂o₃ ≥ 8", Question(chemistry=(ChemistryRange("silica_alumina", 8.0),))),
        ("magnesia above 0.2", Question(chemistry=(ChemistryRange("MgO", 0.2),))),
        (
            "what is matt when zinc is over 0.1",
            Question(surfaces=("matt",), chemistry=(ChemistryRange("ZnO", 0.1),)),
        ),
        ("expansion over 7,2", Question(chemistry=(ChemistryRange("expansion", 7.2),))),
        ("R2O above 0.5", Question(chemistry=(ChemistryRange("R2O", 0.5),))),
        ("LOI is under 10 %", Question(chemistry=(ChemistryRange("LOI", None, 10.0),))),
        (
            "boron at least 0.3, CaO between 0.6 and 0.4",
            Question(chemistry=(ChemistryRange("CaO", 0.4, 0.6), ChemistryRange("B2O3", 0.3))),
        ),
        (
            "SiO₂:Al₂O₃ above 8 and crazed on porcelain",
            Question(
                fault="crazing", clay_id=3, chemistry=(ChemistryRange("silica_alumina", 8.0),)
            ),
        ),
        ("only chalk", Question(combination=Combination("only", 2))),
        ("Chalk alone", Question(combination=Combination("only", 2))),
        ("chalk", Question(combination=Combination("anywhere", 2))),
        ("two glazes overlap", Question(combination=Combination("overlap"))),
        ("cone 6 or hotter", Question(cone=ConeRange(6.0, None))),
        ("below cone 6", Question(cone=ConeRange(None, 6.0))),
        ("cone 6", Question(cone=ConeRange(5.5, 6.5))),
        ("cone 04 to 03", Question(cone=ConeRange(-3.0, -2.0))),
        ("cone 6.5-5", Question(cone=ConeRange(5.0, 6.5))),
        ("marked crawling", Question(fault="crawling", severity=2)),
        ("outside, lower", Question(zone="outside, lower")),
        ("bottom shelf", Question(level="bottom")),
        ("in 2025", Question(since=date(2025, 1, 1), until=date(2025, 12, 31))),
        ("since december", Question(since=date(2025, 12, 1))),
        (
            "between 3 Oct and 2026-11-01",
            Question(since=date(2026, 10, 3), until=date(2026, 11, 1)),
        ),
    ],
)
def test_ways_of_saying_it(typed: str, wanted: Question):
    assert read(typed) == wanted


def test_a_month_that_begins_today_has_begun():
    def since(today: date) -> date | None:
        return read_question("since March", TERN_YARD, today).question.since

    assert since(date(2026, 3, 1)) == date(2026, 3, 1)
    assert since(date(2026, 2, 28)) == date(2025, 3, 1)


def test_a_word_nobody_knows_comes_back_with_the_nearest():
    reading = read_question("running, tid over kelp", TERN_YARD, TODAY)
    assert reading.unread[0].word == "tid"
    assert "Deep Tide" in reading.unread[0].nearest
    assert len(reading.unread[0].nearest) <= 3


def test_half_said_and_twice_said_are_not_swallowed():
    assert [u.word for u in read_question("chalk over", TERN_YARD, TODAY).unread] == ["over"]
    assert [u.word for u in read_question("chalk kelp", TERN_YARD, TODAY).unread] == ["kelp"]


def test_an_oxide_without_a_figure_offers_whole_conditions():
    (unread,) = read_question("crazing, sio2:al2o3", TERN_YARD, TODAY).unread
    assert unread.word == "sio2:al2o3"
    assert unread.nearest[0] == "SiO₂:Al₂O₃ above 8"
    for offer in OFFERED:
        assert read(say_range(offer)) == Question(chemistry=(offer,)), "an offer can be taken"
    twice = read_question("SiO2 above 3, SiO2 under 4", TERN_YARD, TODAY)
    assert [one.word for one in twice.unread] == ["SiO2 under 4"]


def test_what_is_begun_may_go_on_as_words_names_and_conditions():
    def offered(text: str) -> list[str]:
        return [text[: one.start] + one.words for one in go_on(text, TERN_YARD)]

    assert offered("craz") == ["crazing"]
    assert offered("crazing, chalk over de") == ["crazing, chalk over Deep Tide"]
    assert offered("iron-red st") == ["Iron-red stoneware"]
    assert "matt, SiO₂:Al₂O₃ above 8" in offered("matt, sio2:al")
    assert offered("crazing") == []
    assert offered("c") == [], "one letter says nothing yet"
    for begun in ("ma", "si", "out", "CaO", "bro"):
        for whole in offered(begun):
            assert read_question(whole, TERN_YARD, TODAY).unread == (), "an offer can be read"


def test_the_surface_is_looked_for_unless_a_fault_is():
    assert sentence(read("chalk, satin or matt, opaque"), TERN_YARD) == (
        "How often does the surface show satin or matt, and opaque with Chalk anywhere?"
    )
    crazed = read("crazed, glossy, SiO2 above 3.5, expansion above 7.2")
    assert sentence(crazed, TERN_YARD) == (
        "How often does crazing show on a surface that shows glossy where any layer is a glaze "
        "with expansion above 7.2 and SiO₂ above 3.5?"
    )
    assert crazed.without("fault").asks_surface()
    assert crazed.without("chemistry:expansion").chemistry == (ChemistryRange("SiO2", 3.5),)


def test_the_sentence_of_the_picture():
    question = Question(
        fault="running",
        zone="outside, lower",
        combination=Combination("overlap"),
        cone=ConeRange(5.0, 7.0, "read"),
    )
    assert sentence(question, TERN_YARD) == (
        "How often does running show on the outside, lower where two glazes overlap "
        "fired to cone 5–7 as measured?"
    )


AWKWARD = (
    "Kelp", "Chalk", "Clear 4", "Chalk over Kelp", "Inside", "Dip", "Fired", "Kelp, version 2",
    "Sea “mist”", "Cone 6 white", "4", "Überlauf", "of", "Show", "Moss's green", "A-B",
    "Matt", "Glossy and clear", "SiO₂ above 3", "Expansion", "MgO", "Silica to alumina",
)  # fmt: skip


@st.composite
def named_questions(draw: st.DrawFn) -> tuple[Names, Question]:
    own = st.text(
        st.characters(codec="utf-8", categories=("L", "N", "P", "Zs")), min_size=1, max_size=12
    )
    name = st.one_of(st.sampled_from(AWKWARD), own.map(lambda t: " ".join(t.split())))
    name = name.filter(lambda t: bool(t.strip()))
    unlike = {"unique_by": str.casefold, "min_size": 2, "max_size": 5}
    glazes = draw(st.lists(name, **unlike))
    clays = draw(st.lists(name, **unlike))
    names = Names(
        dict(enumerate(clays, start=1)),
        dict(enumerate(glazes, start=1)),
        zones=("outside", "inside", *draw(st.lists(name, max_size=2))),
        levels=("top", "middle"),
    )
    tenths = st.integers(-210, 140).map(lambda t: t / 10)
    low, high = sorted((draw(tenths), draw(tenths)))
    cones = st.builds(
        ConeRange,
        st.sampled_from((None, low)),
        st.sampled_from((None, high)),
        st.sampled_from((None, "read", "computed", "aimed")),
    )
    glaze = st.integers(1, len(glazes))
    combinations = st.one_of(
        st.builds(Combination, st.just("over"), glaze, glaze),
        st.builds(Combination, st.sampled_from(("anywhere", "only")), glaze),
        st.just(Combination("overlap")),
    )
    days = st.none() | st.dates(date(1990, 1, 1), date(2100, 1, 1))
    figure = st.none() | st.integers(0, 200_000).map(lambda n: n / 10_000)
    ranges = st.builds(
        lambda measure, ends: ChemistryRange(measure, *ends),
        st.sampled_from(list(MEASURES)),
        st.tuples(figure, figure)
        .filter(lambda ends: ends != (None, None))
        .map(lambda ends: tuple(sorted(ends)) if None not in ends else ends),
    )
    question = Question(
        surfaces=draw(
            st.lists(st.sampled_from(list(SURFACES)), max_size=3, unique=True).map(
                lambda words: tuple(word for word in SURFACES if word in words)
            )
        ),
        chemistry=in_order(
            tuple(draw(st.lists(ranges, max_size=2, unique_by=lambda one: one.measure)))
        ),
        fault=draw(st.none() | st.sampled_from(list(FAULTS))),
        severity=draw(st.integers(1, 3)),
        zone=draw(st.just("") | st.sampled_from(names.zones)),
        clay_id=draw(st.none() | st.integers(1, len(clays))),
        combination=draw(st.none() | combinations),
        method=draw(st.none() | st.sampled_from(list(METHODS))),
        cone=draw(st.none() | cones),
        atmosphere=draw(st.none() | st.sampled_from(list(ATMOSPHERES))),
        level=draw(st.sampled_from(("", "top", "middle"))),
        since=draw(days),
        until=draw(days),
        notes=draw(st.just("") | own.filter(lambda t: bool(t.strip()))),
    )
    return names, question


@settings(max_examples=250 if WANDERING else 100, deadline=None)
@given(named_questions())
def test_a_kept_sentence_reads_back_as_the_same_question(made: tuple[Names, Question]):
    names, question = made
    said = sentence(question, names)
    reading = read_question(said, names, TODAY)
    assert reading.unread == (), said
    assert reading.question == question, said


@settings(max_examples=100 if WANDERING else 40, deadline=None)
@given(named_questions())
def test_removing_any_token_leaves_a_sentence_that_still_reads(made: tuple[Names, Question]):
    names, question = made
    for part in sentence_parts(question, names):
        if not part.removable:
            continue
        left = question.without(part.key)
        said = sentence(left, names)
        assert part.key not in {p.key for p in sentence_parts(left, names)}
        assert read_question(said, names, TODAY).question == left
        assert said.startswith("How often does ")
        own_words = "“" + left.notes.replace("”", "””") + "”"
        assert "  " not in said.replace(own_words, "it")


def test_without_any_token_it_asks_about_everything():
    full = Question(fault="crazing", severity=3, zone="inside", clay_id=1)
    for key in ("severity", "zone", "clay", "fault"):
        full = full.without(key)
    assert full == Question()
    assert sentence(full, TERN_YARD) == "How often does any fault show?"
    assert replace(full, fault="dry").without("fault") == full
