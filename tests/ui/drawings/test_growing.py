"""Drawings grow with the text and follow light and dark."""

import pytest
from PySide6.QtCore import Qt

from studiolog.desktop import theme
from studiolog.ui.parts.before_after import BeforeAfter, Picture
from studiolog.ui.parts.bent_cone import ConePack, ConeReading
from studiolog.ui.parts.glaze_section import GlazeSection, SectionLayer, SectionWall
from studiolog.ui.parts.kiln_shelf import KilnShelf, ShelfLevel, ShelfPiece


@pytest.fixture
def large_text(qapp):
    current = theme.current()
    before = current.text_scale
    current.set_text_scale(200)
    yield current
    current.set_text_scale(before)


def test_a_shelf_twice_as_large_is_still_clicked_where_it_is_drawn(large_text, qtbot) -> None:
    shelf = KilnShelf()
    qtbot.addWidget(shelf)
    shelf.show_level(ShelfLevel("Top", 400, 400, (ShelfPiece(7, "Cup", x_mm=300, y_mm=300),)))
    assert shelf.sizeHint().width() == 248
    shelf.resize(shelf.sizeHint())
    drawn = shelf._piece_rect(shelf._placed[0]).center() * 2
    with qtbot.waitSignal(shelf.piece_chosen) as chosen:
        qtbot.mouseClick(shelf, Qt.MouseButton.LeftButton, pos=drawn.toPoint())
    assert chosen.args == [7]


def test_cones_fill_their_shelf_at_any_text_size(large_text, qtbot) -> None:
    pack = ConePack()
    qtbot.addWidget(pack)
    pack.show_readings([ConeReading("5", 94), ConeReading("6", 82), ConeReading("7", 34)])
    pack.resize(pack.sizeHint())
    pack.show()
    assert pack.stand(2).geometry().right() <= pack.width()
    assert pack.stand(2).geometry().left() > pack.width() / 2
    assert pack.stand(0).height() == pack.height()


def test_light_and_dark_give_different_grounds(qapp, qtbot) -> None:
    current = theme.current()
    before = current.setting
    section = GlazeSection(headed=True)
    frame = BeforeAfter()
    qtbot.addWidget(section)
    qtbot.addWidget(frame)
    section.show_wall(
        SectionWall("Buff", "#C6A67C", layers=(SectionLayer("rim", 1, "Kelp", "#48654C"),))
    )
    frame.show_pictures(Picture("raw glaze"), Picture("fired"))
    grounds = {}
    for setting in ("light", "dark"):
        current.set_setting(setting)
        seen = section.grab().toImage()
        grounds[setting] = seen.pixelColor(seen.width() // 2, 16).name()
        assert grounds[setting] == current.color("sheet").name()
        assert not frame.grab().isNull()
    current.set_setting(before)
    assert grounds["light"] != grounds["dark"]
