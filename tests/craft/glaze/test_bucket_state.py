"""A bucket followed from its mixing: measured, thinned, used piece by piece, until it is empty."""

from datetime import date

import pytest

from studiolog.craft.glaze.bucket_state import BucketEvent, follow_bucket, mixed_state
from studiolog.craft.glaze.ware_use import pieces_left, use_of_weighed

DAY = date(2026, 3, 2)
LATER = date(2026, 3, 20)
LAST = date(2026, 4, 1)


def test_dry_glaze_and_water_tell_volume_and_specific_gravity() -> None:
    state = mixed_state(DAY, 7312.5, 7187.5, None)
    assert state.specific_gravity == pytest.approx(1.45)
    assert state.volume_ml == pytest.approx(10_000)
    assert state.gravity_basis == "mixed"


def test_each_piece_takes_slurry_and_so_leaves_the_specific_gravity() -> None:
    mixed = mixed_state(DAY, 7312.5, 7187.5, None)
    state = follow_bucket(mixed, (), [(LATER, 312.5)])
    assert state.dry_g == pytest.approx(7000)
    assert state.volume_ml == pytest.approx(10_000 * 7000 / 7312.5)
    assert state.specific_gravity == pytest.approx(1.45)
    unknown = follow_bucket(mixed, (), [(LATER, None), (LATER, None)])
    assert (unknown.dry_g, unknown.pieces, unknown.unweighed) == (7312.5, 2, 2)


def test_a_specific_gravity_alone_tells_how_much_water_has_gone() -> None:
    mixed = mixed_state(DAY, 6500, None, 1.45)
    dried = follow_bucket(mixed, [BucketEvent(LATER, "measured", specific_gravity=1.5)])
    assert dried.dry_g == 6500
    assert dried.volume_ml == pytest.approx(8000)  # 812.5 g a litre


def test_what_is_measured_on_a_day_is_measured_before_that_day_s_glazing() -> None:
    mixed = mixed_state(DAY, 7000, None, 1.45)
    full = BucketEvent(LATER, "measured", specific_gravity=1.5, volume_ml=8000)
    state = follow_bucket(mixed, [full], [(DAY, 100.0), (LATER, 100.0), (LAST, 100.0)])
    assert (state.basis, state.basis_on) == ("measured", LATER)
    assert (state.pieces, state.dry_g) == (2, pytest.approx(6300))


def test_water_and_dry_glaze_move_it_and_what_is_not_known_stays_unknown() -> None:
    mixed = mixed_state(DAY, 7000, None, 1.55)
    thinner = follow_bucket(mixed, [BucketEvent(LATER, "water", grams=500)])
    assert thinner.gravity_basis == "computed"
    assert thinner.specific_gravity is not None
    assert thinner.specific_gravity < 1.55
    thicker = follow_bucket(mixed, [BucketEvent(LATER, "dry", grams=500)])
    assert thicker.dry_g == 7500
    assert thicker.specific_gravity is not None
    assert thicker.specific_gravity > 1.55
    nothing = mixed_state(DAY, None, None, None)
    assert follow_bucket(nothing, [BucketEvent(LATER, "water", grams=500)]).dry_g is None
    only_gravity = mixed_state(DAY, None, None, 1.5)
    watered = follow_bucket(only_gravity, [BucketEvent(LATER, "water", grams=500)])
    assert watered.specific_gravity is None, "into how much, nobody knows"
    volume = BucketEvent(LATER, "measured", volume_ml=8000)
    assert follow_bucket(only_gravity, [volume]).dry_g == pytest.approx(6500)
    for kind in ("sieved", "flocculated", "deflocculated", "other"):
        assert follow_bucket(mixed, [BucketEvent(LATER, kind, grams=3)]) == mixed


def test_a_bucket_is_never_less_than_empty() -> None:
    mixed = mixed_state(DAY, 50, None, 1.45)
    state = follow_bucket(mixed, (), [(LATER, 40.0), (LATER, 40.0)])
    assert (state.dry_g, state.emptied, state.volume_ml) == (0, True, None)


def test_the_use_is_the_median_with_the_middle_half_or_least_and_most_of_a_few() -> None:
    many = use_of_weighed([30, 32, 34, 40])
    assert many is not None
    assert (many.median_g, many.low_g, many.high_g) == (33, 31.5, 35.5)
    assert many.words.replace("\u202f", " ") == "33 g, mostly 32 to 36, of 4 weighed pieces"
    few = use_of_weighed([4.0, 6.0])
    assert few is not None
    assert few.words.replace("\u202f", " ") == "5.0 g, from 4.0 to 6.0, of 2 weighed pieces"
    one = use_of_weighed([31.0])
    assert one is not None
    assert one.words.endswith("of 1 weighed piece only")
    assert use_of_weighed([]) is None
    assert pieces_left((1000, 1100), many) == (28, 34)
