"""The moment of a photo, from where the piece stood when the shutter opened."""

from datetime import UTC, date, datetime, timedelta

import pytest

from studiolog.photos import propose_moment

TUMBLER = [
    (datetime(2026, 3, 2, 10, 0), "wet"),
    (datetime(2026, 3, 3, 9, 0), "leather_hard"),
    (datetime(2026, 3, 8, 9, 0), "bone_dry"),
    (datetime(2026, 3, 12, 18, 0), "bisque"),
    (datetime(2026, 3, 15, 14, 0), "glazed"),
    (datetime(2026, 3, 18, 20, 0), "fired"),
    (datetime(2026, 3, 19, 9, 0), "finished"),
]


@pytest.mark.parametrize(
    ("taken_at", "moment"),
    [
        (datetime(2026, 3, 1, 8, 0), "making"),
        (datetime(2026, 3, 2, 10, 0), "making"),
        (datetime(2026, 3, 4, 8, 0), "making"),
        (datetime(2026, 3, 8, 9, 0), "bone_dry"),
        (datetime(2026, 3, 12, 17, 59), "bone_dry"),
        (datetime(2026, 3, 13), "bisque"),
        (datetime(2026, 3, 16), "glazed"),
        (datetime(2026, 3, 18, 21, 0), "fired"),
        (datetime(2026, 4, 1, 20, 0), "fired"),
        (datetime(2026, 4, 1, 20, 1), "later"),
        (datetime(2026, 9, 1), "later"),
        (None, "fired"),
    ],
)
def test_moment_follows_the_stage_at_the_time(taken_at: datetime | None, moment: str) -> None:
    assert propose_moment(taken_at, TUMBLER) == moment
    assert propose_moment(taken_at, TUMBLER[::-1]) == moment


def test_piece_without_history_is_being_made() -> None:
    assert propose_moment(None, []) == "making"
    assert propose_moment(datetime(2026, 3, 1), []) == "making"


def test_without_a_time_the_stage_of_now_decides() -> None:
    for count, moment in enumerate(
        ["making", "making", "bone_dry", "bisque", "glazed", "fired", "fired"], start=1
    ):
        assert propose_moment(None, TUMBLER[:count]) == moment


def test_what_was_lost_shows_what_it_was_before() -> None:
    cracked = [*TUMBLER[:3], (datetime(2026, 3, 9), "lost")]
    assert propose_moment(datetime(2026, 3, 10), cracked) == "bone_dry"


def test_fired_again_counts_from_the_last_firing() -> None:
    again = [
        *TUMBLER,
        (datetime(2026, 6, 1, 9, 0), "glazed"),
        (datetime(2026, 6, 3, 9, 0), "fired"),
    ]
    assert propose_moment(datetime(2026, 5, 1), again) == "later"
    assert propose_moment(datetime(2026, 6, 2), again) == "glazed"
    assert propose_moment(datetime(2026, 6, 4), again) == "fired"


def test_bare_days_and_zones_are_understood() -> None:
    assert propose_moment(datetime(2026, 3, 8, 7, 0), [(date(2026, 3, 8), "bone_dry")]) == (
        "bone_dry"
    )
    aware = datetime(2026, 3, 8, 12, 0, tzinfo=UTC)
    local = aware.astimezone().replace(tzinfo=None)
    assert propose_moment(local, [(aware, "bisque")]) == "bisque"
    assert propose_moment(local - timedelta(minutes=1), [(aware, "bisque")]) == "making"
