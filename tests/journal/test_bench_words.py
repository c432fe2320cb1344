"""Lines as they are typed at the bench with clay on the fingers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.craft.words import STAGES
from studiolog.journal.bench_actions import Loss, Move, Reading, RunWords, StepDone, WorkLot, Wrap
from studiolog.journal.bench_words import read_bench_line
from studiolog.journal.layer_words import GlazeName, WordedLayer
from studiolog.journal.waiting_for import FormWork, plan_steps

BOWLS = RunWords(7, 63, {"wet": 8, "leather_hard": 12, "bone_dry": 3})
TILES = RunWords(9, 61, {"bone_dry": 46, "bisque": 40, "glazed": 20, "fired": 10})


def read(line: str) -> Reading:
    return read_bench_line(line, [BOWLS, TILES])


@pytest.mark.parametrize(
    ("line", "actions"),
    [
        (
            "63 trimmed 5, one rim split",
            [StepDone("trimmed", "leather_hard", 5), Loss("leather_hard", 1, "rim split")],
        ),
        ("63 3 to bisque", [Move("bone_dry", "bisque", 3)]),
        # More than are bone dry: those before them are meant too.
        ("63 5 to bisque", [Move("bone_dry", "bisque", 3), Move("leather_hard", "bisque", 2)]),
        ("63 all leather-hard", [Move("wet", "leather_hard", 8)]),
        ("63 leather hard", [Move("wet", "leather_hard", 8)]),
        ("run 63: six bone dry", [Move("leather_hard", "bone_dry", 6)]),
        ("63 lost 2 s-crack", [Loss("wet", 2, "s-crack")]),
        ("63 2 leather-hard cracked", [Loss("leather_hard", 2, "cracked")]),
        (
            "61 10 fired to finished; 1 glazed chipped",
            [Move("fired", "finished", 10), Loss("glazed", 1, "chipped")],
        ),
        ("61 waxed all", [StepDone("waxed", "bisque", 40)]),
        ("61 2 glazed back to bisque", [Move("glazed", "bisque", 2)]),
        (
            "63 trimmed 5 one torn",
            [StepDone("trimmed", "leather_hard", 5), Loss("leather_hard", 1, "torn")],
        ),
    ],
)
def test_a_line_is_read_as_the_potter_means_it(line: str, actions: list[object]) -> None:
    reading = read(line)
    assert reading.problems == ()
    assert reading.unread == ()
    assert list(reading.actions) == actions
    assert reading.ready


def test_words_that_mean_nothing_are_named_where_they_stand() -> None:
    reading = read("63 trimmed 5 sideways")
    assert [(word.words, reading.text[word.start : word.end]) for word in reading.unread] == [
        ("sideways", "sideways")
    ]
    assert not reading.ready


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("5 trimmed", "no run 5"),
        ("trimmed 5", "number of a run"),
        ("63 9 leather-hard", "Only 8 counted pieces are before leather-hard"),
        ("63 trimmed 13", "Only 12 counted pieces are leather-hard"),
        ("63 lost 2", "why"),
        ("63 to wet", "before wet"),
        ("63 4", "what happened"),
        ("61 waxed 41", "Only 40"),
    ],
)
def test_what_cannot_be_done_is_said_before_enter(line: str, says: str) -> None:
    reading = read(line)
    assert says in " ".join(reading.problems)
    assert not reading.ready


def test_a_run_alone_is_no_deed_yet() -> None:
    assert read("63").run_id == 7
    assert not read("63").ready
    assert read("").problems == ()


def test_yesterday_is_a_day_and_not_a_reason() -> None:
    reading = read("63 yesterday lost 1 handle torn")
    assert reading.days_back == 1
    assert reading.actions == (Loss("wet", 1, "handle torn"),)


def test_later_parts_count_with_what_earlier_ones_moved() -> None:
    assert read("63 all leather-hard, 20 bone dry").actions == (
        Move("wet", "leather_hard", 8),
        Move("leather_hard", "bone_dry", 20),
    )
    assert not read("63 8 leather-hard, lost 1 wet torn").ready


_WORDS = st.sampled_from(
    (
        *("63", "61", "5", "0", "one", "all", "trimmed", "lost", "split", "rim", "to", "bisque"),
        *("leather-hard", "leather", "hard", "bone", "dry", "wet", ",", ";", "yesterday", "ü"),
    )
)


@given(st.lists(_WORDS, max_size=12).map(" ".join) | st.text(max_size=40))
def test_no_line_invents_or_doubles_a_piece(line: str) -> None:
    reading = read(line)
    run = BOWLS if reading.run_id == 7 else TILES
    left = dict(run.counted)
    for action in reading.actions:
        assert action.how_many >= 1
        stage = action.from_stage if isinstance(action, Move) else action.stage
        assert action.how_many <= left.get(stage, 0)
        if isinstance(action, Move):
            left[stage] -= action.how_many
            left[action.to_stage] = left.get(action.to_stage, 0) + action.how_many
        elif isinstance(action, Loss):
            left[stage] -= action.how_many
    assert set(left) <= set(STAGES)
    for word in reading.unread:
        assert line[word.start : word.end].casefold() == word.words


@given(
    st.sampled_from(["trimmed", "handled", "carved"]),
    st.integers(1, 12),
    st.sampled_from(["rim split", "s-crack", "handle torn"]),
)
def test_what_is_said_back_is_read_the_same(step: str, how_many: int, why: str) -> None:
    reading = read(f"63 {how_many} {step}, lost 1 {why}")
    again = read("63 " + "; ".join(action.words.replace(", ", " ") for action in reading.actions))
    assert reading.ready
    assert again.actions == reading.actions


MUGS = RunWords(
    7,
    63,
    {"wet": 8, "leather_hard": 12, "bisque": 6},
    (
        WorkLot("wet", frozenset(), frozenset(), 8),
        WorkLot("leather_hard", frozenset({"trimmed"}), frozenset(), 3),
        WorkLot("leather_hard", frozenset(), frozenset(), 9),
        WorkLot("bisque", frozenset(), frozenset({"handle", "panel"}), 4),
        WorkLot("bisque", frozenset(), frozenset(), 2),
    ),
    FormWork(
        "thrown",
        plan_steps([("trim", None, 4, 1), ("windows", "leather_hard", 5, 1)]),
        ("handle", "panel", "body"),
    ),
)


def read_mugs(line: str) -> Reading:
    return read_bench_line(line, [MUGS])


@pytest.mark.parametrize(
    ("line", "actions", "leaves"),
    [
        # Five are trimmed and a sixth, none of those, is lost before it was.
        (
            "63: 5 trimmed, another split",
            [StepDone("trimmed", "leather_hard", 5), Loss("leather_hard", 1, "split", other=True)],
            ("11 leather-hard left", "3 not yet trimmed"),
        ),
        (
            "63 5 trimmed a sixth split",
            [StepDone("trimmed", "leather_hard", 5), Loss("leather_hard", 1, "split", other=True)],
            ("11 leather-hard left", "3 not yet trimmed"),
        ),
        # Of those just named one is lost.
        (
            "63: 5 trimmed, one rim split",
            [StepDone("trimmed", "leather_hard", 5), Loss("leather_hard", 1, "rim split")],
            ("11 leather-hard left", "4 not yet trimmed"),
        ),
        ("63 trimmed", [StepDone("trimmed", "leather_hard", 9)], ("none not yet trimmed",)),
        (
            "63: 5 trimmed in 40 min",
            [StepDone("trimmed", "leather_hard", 5, 8.0)],
            ("4 not yet trimmed",),
        ),
        (
            "63 trimmed 5, 8 min each",
            [StepDone("trimmed", "leather_hard", 5, 8.0)],
            ("4 not yet trimmed",),
        ),
        (
            "63 trimmed 5 8 min each",
            [StepDone("trimmed", "leather_hard", 5, 8.0)],
            ("4 not yet trimmed",),
        ),
        (
            "63 trimmed and handled 4 in 1 h",
            [
                StepDone("trimmed", "leather_hard", 4, 7.5),
                StepDone("handled", "leather_hard", 4, 7.5),
            ],
            ("5 not yet trimmed", "8 not yet handled"),
        ),
        (
            "63 trimmed 2 again",
            [StepDone("trimmed", "leather_hard", 2, rework=True)],
            (),
        ),
        (
            "63 mended 2 handles",
            [StepDone("mended", "leather_hard", 2, zone="handle", rework=True)],
            (),
        ),
        (
            "63 handles glazed 2",
            [StepDone("glazed", "bisque", 2, zone="handle")],
            ("none not yet handle glazed",),
        ),
        # Four have all but the body: with it they are glazed all over and go on.
        (
            "63 glazed body 5",
            [StepDone("glazed", "bisque", 5, zone="body", then_glazed=4)],
            ("2 bisque left", "1 not yet body glazed"),
        ),
        ("63 wrapped", [Wrap("loose")], ()),
        ("63 unwrapped", [Wrap("open")], ()),
        ("63 under plastic", [Wrap("loose")], ()),
        ("63 wrapped tightly in damp weather", [Wrap("sealed", "damp")], ()),
        ("63 under a cloth", [Wrap("cloth")], ()),
        ("63 in the damp box", [Wrap("damp_box")], ()),
        ("63 windows 3", [StepDone("windows", "leather_hard", 3)], ("9 still without windows",)),
    ],
)
def test_a_line_says_what_it_does_and_what_it_leaves(
    line: str, actions: list[object], leaves: tuple[str, ...]
) -> None:
    reading = read_mugs(line)
    assert (reading.problems, reading.unread) == ((), ())
    assert list(reading.actions) == actions
    assert reading.leaves == leaves


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("63 trimmed 10", "3 of 12 are trimmed already: only 9 are left"),
        ("63 handles glazed 5", "only 2 are left"),
        ("63 trimmed 9, 4 more split", "there is no other"),
        ("63 trimmed 5 in -40 min", "0 minutes or more"),
        ("63 5 in 40 min", "Say which work took that time"),
        ("63 trimmed 2 in 90 h", "more than a day"),
        ("63 wrapped 5", "as a whole"),
        ("61 wrapped", "no run 61"),
        ("63 sponged 5 in 10 min, packed 30", "Only"),
        ("63 ground 2 fired", "No counted piece is fired"),
        ("63 lost 2 leather-hard in 20 min torn", "takes no time"),
    ],
)
def test_what_is_not_so_is_said_before_enter(line: str, says: str) -> None:
    reading = read_mugs(line)
    assert says in " ".join(reading.problems)
    assert not reading.ready


def test_no_number_is_no_time() -> None:
    assert [word.words for word in read_mugs("63 trimmed 5 in nan min").unread] == ["nan", "min"]


_MUG_WORDS = st.sampled_from(
    (
        *("5", "one", "another", "more", "sixth", "all", "trimmed", "handles", "body", "glazed"),
        *("in", "40", "min", "each", "wrapped", "tightly", "split", "lost", ",", "mended", "again"),
        *("to", "bisque", "bone", "dry", "windows", "under", "cloth", "8 min", "2 h", "-3 min"),
    )
)


@given(st.lists(_MUG_WORDS, max_size=10).map(" ".join))
def test_what_is_read_can_be_done_piece_by_piece(line: str) -> None:
    """Whatever is typed: no more pieces than there are, no negative time, no cause left out."""
    reading = read_mugs(f"63 {line}")
    left = dict(MUGS.counted)
    for action in reading.actions:
        if isinstance(action, Wrap):
            continue
        assert action.how_many >= 1
        stage = action.from_stage if isinstance(action, Move) else action.stage
        assert action.how_many <= left.get(stage, 0)
        if isinstance(action, Move):
            left[stage] -= action.how_many
            left[action.to_stage] = left.get(action.to_stage, 0) + action.how_many
        elif isinstance(action, Loss):
            assert action.why
            left[stage] -= action.how_many
        else:
            assert action.minutes is None or 0 <= action.minutes <= 24 * 60
            assert 0 <= action.then_glazed <= action.how_many
            left[stage] -= action.then_glazed
            left["glazed"] = left.get("glazed", 0) + action.then_glazed
    assert min(left.values()) >= 0


GLAZES = (GlazeName(1, "Kelp"), GlazeName(2, "Chalk"), GlazeName(3, "Deep Tide"))


@pytest.mark.parametrize(
    ("line", "layers", "words"),
    [
        (
            "63 body glazed 3 kelp over chalk",
            (WordedLayer(2), WordedLayer(1)),
            "3 body glazed Kelp over Chalk",
        ),
        (
            "63 3 body glazed with chalk 2 coats 5 min each",
            (WordedLayer(2, "outside", "brush", None, 2),),
            "3 body glazed Chalk brush, 2 coats 5 min each",
        ),
        ("63 body glazed tide 3 s", (WordedLayer(3, "outside", "dip", 3.0),), None),
        (
            "63 yesterday 3 body glazed chalk in 15 min",
            (WordedLayer(2),),
            "3 body glazed Chalk 5 min each",
        ),
        ("63 body glazed 3", (), "3 body glazed"),
        ("63 glazed body of 3 bisque", (), "3 body glazed"),
    ],
)
def test_layers_are_said_with_the_zone_they_go_on(
    line: str, layers: tuple[WordedLayer, ...], words: str | None
) -> None:
    reading = read_bench_line(line, [MUGS], GLAZES)
    assert (reading.problems, reading.unread) == ((), ())
    (done,) = reading.actions
    assert isinstance(done, StepDone)
    assert (done.zone, done.layers) == ("body", layers)
    if words is None:
        assert done.how_many == 6  # all of them: three are seconds
    else:
        assert done.words == words


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("63 body glazed 3 klep", "Which glaze is “klep”? Kelp, Deep Tide or Chalk."),
        ("63 body glazed 3 kelp over mist", "Which glaze is “mist”?"),
        ("63 body glazed 3 kelp rim", "Say one zone at a time: here it is the body."),
        ("63 body glazed 3 kelp 2 coats 3 coats", "is said once a layer"),
    ],
)
def test_a_glaze_nobody_knows_is_refused_in_a_sentence(line: str, sentence: str) -> None:
    reading = read_bench_line(line, [MUGS], GLAZES)
    assert not reading.ready
    assert sentence in reading.problems[0]
    # Before the glazes are known the words mean nothing, and nothing is done.
    assert not read_bench_line(line, [MUGS]).ready
