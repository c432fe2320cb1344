"""The outlines of a piece from wet to fired."""

from types import SimpleNamespace
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from studiolog.ui.pieces.screen import PiecesScreen
from studiolog.ui.pieces.sizes_section import SizeOutlines
from tests.ui.pieces.conftest import PieceStudio


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


def test_the_distance_of_two_marks_is_typed_beside_the_other_sizes_and_tells_the_shrinkage(
    screen: PiecesScreen, studio: PieceStudio
) -> None:
    for stage, typed in (("wet", "100"), ("fired", "87,5")):
        cell = screen.view.sizes.cells["mark_mm", stage]
        cell.edit()
        QTest.keyClicks(cell._line, typed)
        QTest.keyClick(cell._line, Qt.Key.Key_Return)
    page = studio.page()
    assert (page.size("wet").mark_mm, page.size("fired").mark_mm) == (100, 87.5)
    assert (page.size("wet").height_mm, page.size("fired").across_mm) == (118, 82)
    assert page.shrinkage == 0.125, "marks tell it better than the height and the rim"
