"""The list that lies in the box: it fits its pages, and what is packed stands first."""

from datetime import date

import pytest

from studiolog.journal.shipments import PackedLine, PackingList
from studiolog.paper.packing_list import lay_out_packing_list
from studiolog.paper.page import A4, LETTER, PageSize
from tests.paper.test_firing_sheet import misplaced


def packing(lines: int) -> PackingList:
    return PackingList(
        31,
        "Quay café, the one at the end of the long pier with the blue door",
        date(2026, 11, 9),
        2,
        tuple(
            PackedLine(
                f"Ripple tumbler {n}, as the one before, but a coat thinner",
                "Buff stoneware, Chalk, version 2",
                n % 7,
                tuple(range(400, 400 + 3 * n)),
                12,
                12 - n % 7,
            )
            for n in range(1, lines + 1)
        ),
    )


@pytest.mark.parametrize("size", [A4, LETTER])
@pytest.mark.parametrize("lines", [0, 1, 8, 90])
def test_the_list_has_room_on_its_pages_whatever_leaves(size: PageSize, lines: int) -> None:
    pages = lay_out_packing_list(packing(lines), size, "Tern Yard")
    assert [misplaced(page) for page in pages] == [[]] * len(pages)
    assert (len(pages) > 1) == (lines > 30)
    words = [words for page in pages for words in page.words]
    assert sum(told.startswith("Ripple tumbler") for told in words) == lines


def test_what_is_packed_stands_before_what_is_still_to_come() -> None:
    (page,) = lay_out_packing_list(packing(8), A4, "Tern Yard")
    words = list(page.words)
    (empty,) = (n for n, told in enumerate(words) if told.startswith("Ripple tumbler 7,"))
    assert all(
        n < empty for n, told in enumerate(words)
        if told.startswith("Ripple tumbler ") and not told.startswith("Ripple tumbler 7,")
    )  # fmt: skip
    assert "24 pieces in this shipment" not in words
    assert f"{sum(n % 7 for n in range(1, 9))} pieces in this shipment" in words
