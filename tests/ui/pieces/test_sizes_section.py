"""The outlines of a piece from wet to fired."""

from types import SimpleNamespace
from typing import Any

from pytestqt.qtbot import QtBot

from studiolog.ui.pieces.sizes_section import SizeOutlines


def test_a_form_that_closes_to_a_point_is_drawn(qtbot: QtBot) -> None:
    """A bottle drawn shut has no rim to measure its width by; its outline is drawn all the same."""
    shut = SimpleNamespace(
        outside=((30.0, 0.0), (34.0, 50.0), (0.0, 90.0)), inside=((26.0, 5.0), (0.0, 85.0))
    )
    page: Any = SimpleNamespace(
        form=SimpleNamespace(profile=shut),
        sizes=[SimpleNamespace(stage="wet", height_mm=90.0, across_mm=40.0)],
    )
    outlines = SizeOutlines()
    qtbot.addWidget(outlines)
    outlines.show_page(page)
    picture = outlines.grab().toImage()
    middle = picture.height() // 2
    drawn = {picture.pixel(x, middle) for x in range(picture.width())}
    assert len(drawn) > 1, "an outline crosses the middle of the drawing"
