"""From the tiles laid to those to make."""

import pytest

from studiolog.craft.limits import Limits
from studiolog.craft.ware.loss import stated_loss
from studiolog.craft.ware.throws import chance_of
from studiolog.craft.ware.tile_count import count_tiles, say_count, say_remarks
from studiolog.craft.ware.tiles import Laying, Tile, rectangle
from studiolog.craft.ware.tiling import lay_tiles
from studiolog.problems import UserProblem

LAYOUT = lay_tiles(Tile("square", 97), Laying("straight", 3), rectangle(1000, 1000))
LOSS = stated_loss(0.1, 40, 0.05)


def test_spares_are_rounded_up_and_so_many_are_made_that_there_are_surely_enough() -> None:
    count = count_tiles(LAYOUT, LOSS, spares_share=0.055)
    assert (count.lay, count.spares, count.good) == (100, 6, 106)
    assert count.make is not None
    assert chance_of(106, count.make, LOSS) >= 0.9 > chance_of(106, count.make - 1, LOSS)


def test_no_loss_no_more_and_all_lost_no_number() -> None:
    assert count_tiles(LAYOUT, stated_loss(0.0, 40, 0.05), spares_share=0).make == 100
    lost = count_tiles(LAYOUT, stated_loss(1.0, 40, 0.05), spares_share=0)
    assert lost.make is None
    assert "No number is enough" in " ".join(say_count(LAYOUT, lost))


def test_the_potters_own_limits_hold() -> None:
    count = count_tiles(LAYOUT, LOSS, limits=Limits({"tile_spares_share": 0.2}))
    assert count.spares == 20
    with pytest.raises(UserProblem, match="between 0 and 100"):
        count_tiles(LAYOUT, LOSS, spares_share=1.5)


def test_what_to_look_at_is_said_first() -> None:
    one = lay_tiles(Tile("square", 400), Laying("straight"), rectangle(120, 90))
    assert "larger than the whole area" in " ".join(say_remarks(one))
    none = lay_tiles(Tile("square", 400), Laying("straight", edges="whole"), rectangle(120, 90))
    assert "No whole tile fits." in say_remarks(none)
