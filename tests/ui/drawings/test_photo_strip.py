"""A strip of photos by keyboard: choose, open, remove, add, say what moment it shows."""

import pytest
from PySide6.QtCore import QMimeData, Qt, QUrl
from PySide6.QtGui import QColor, QGuiApplication, QImage

from studiolog.ui.parts.photo_strip import PhotoStrip, StripPhoto


@pytest.fixture
def strip(qtbot):
    widget = PhotoStrip()
    qtbot.addWidget(widget)
    widget.resize(330, 180)
    widget.show_photos(
        [
            StripPhoto(11, "Rim"),
            StripPhoto(12, "Foot"),
            StripPhoto(13, "Inside", "later", None, True),
        ]
    )
    return widget


def test_arrows_choose_and_enter_opens(strip, qtbot) -> None:
    assert strip.chosen() == 11
    with qtbot.waitSignal(strip.photo_chosen) as chosen:
        qtbot.keyClick(strip, Qt.Key.Key_Right)
    assert chosen.args == [12]
    with qtbot.waitSignal(strip.photo_opened) as opened:
        qtbot.keyClick(strip, Qt.Key.Key_Return)
    assert opened.args == [12]
    with qtbot.waitSignal(strip.remove_asked) as removed:
        qtbot.keyClick(strip, Qt.Key.Key_Delete)
    assert removed.args == [12]


def test_the_last_tile_adds(strip, qtbot) -> None:
    qtbot.keyClick(strip, Qt.Key.Key_End)
    assert strip.chosen() is None
    with qtbot.waitSignal(strip.add_asked):
        qtbot.keyClick(strip, Qt.Key.Key_Return)


def test_tiles_go_on_in_a_second_row(strip, qtbot) -> None:
    assert strip.tile(3).top() > strip.tile(0).top()
    qtbot.keyClick(strip, Qt.Key.Key_Down)
    assert strip.chosen() is None  # the add tile stands under the first photo


def test_it_says_what_it_holds(strip) -> None:
    assert strip.sentence() == (
        "3 photos: Rim (fired), Foot (fired), Inside (later, file missing). Chosen: Rim."
    )
    strip.show_photos([])
    assert strip.sentence() == "No photo yet. Drop or paste photos here."


def test_the_menu_sets_the_moment(strip, qtbot) -> None:
    menu = strip.moment_menu()
    bisque = next(a for a in menu.actions() if a.text() == "Shows: bisque")
    with qtbot.waitSignal(strip.moment_chosen) as moment:
        bisque.trigger()
    assert moment.args == [11, "bisque"]


def test_files_are_pasted(strip, qtbot) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile("/photos/one.jpg")])
    QGuiApplication.clipboard().setMimeData(data)
    with qtbot.waitSignal(strip.files_dropped) as dropped:
        qtbot.keyClick(strip, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    assert dropped.args == [["/photos/one.jpg"]]


def test_thumbnails_arrive_one_by_one(strip) -> None:
    image = QImage(40, 40, QImage.Format.Format_RGB32)
    image.fill(QColor("#00aa00"))
    strip.show_image(12, image)
    seen = strip.grab().toImage()
    ratio = seen.width() / strip.width()
    middle = strip.tile(1).center() * ratio
    assert seen.pixelColor(middle.toPoint()).green() > 150
    assert strip.chosen() == 11


def test_hundreds_of_photos_take_four_rows_and_are_scrolled_through(strip, qtbot) -> None:
    strip.show_photos([StripPhoto(n, f"Photo {n}") for n in range(400)])
    four_rows = strip.heightForWidth(330)
    strip.show_photos([StripPhoto(n, f"Photo {n}") for n in range(11)])
    assert strip.heightForWidth(330) < four_rows < 2 * strip.heightForWidth(330)

    strip.show_photos([StripPhoto(n, f"Photo {n}") for n in range(400)])
    strip.resize(330, four_rows)
    qtbot.keyClick(strip, Qt.Key.Key_End)
    assert strip.chosen() is None, "the add tile, in the last row"
    assert strip.rect().contains(strip.tile(400).center().toPoint())
    qtbot.keyClick(strip, Qt.Key.Key_Home)
    assert strip.chosen() == 0
    assert strip.rect().contains(strip.tile(0).center().toPoint())
