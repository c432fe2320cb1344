"""Two pictures laid on each other at the foot, with a divider that keys can move."""

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QColor, QDropEvent, QImage

from studiolog.ui.parts.before_after import BeforeAfter, Picture, PictureState, loaded


def plain(colour: str) -> QImage:
    image = QImage(400, 400, QImage.Format.Format_RGB32)
    image.fill(QColor(colour))
    return image


RAW = Picture("raw glaze", "30 Sep", PictureState.SHOWN, plain("#ff0000"), 0.5, 118.0, (0.5, 0.9))
FIRED = Picture("fired", "4 Oct", PictureState.SHOWN, plain("#0000ff"), 0.4, 103.0, (0.4, 0.8))


@pytest.fixture
def frame(qtbot):
    widget = BeforeAfter()
    qtbot.addWidget(widget)
    widget.resize(400, 400)
    widget.show_pictures(RAW, FIRED, [(40, 0), (45, 118)])
    widget.show()
    return widget


def test_keys_move_the_divider_by_two_per_cent(frame, qtbot) -> None:
    qtbot.keyClick(frame, Qt.Key.Key_D)
    assert frame.divider() == pytest.approx(0.52)
    qtbot.keyClick(frame, Qt.Key.Key_A)
    qtbot.keyClick(frame, Qt.Key.Key_Left)
    assert frame.divider() == pytest.approx(0.48)
    for _ in range(40):
        qtbot.keyClick(frame, Qt.Key.Key_Right)
    assert frame.divider() == 1.0


def test_before_is_on_the_left_and_after_on_the_right(frame) -> None:
    image = frame.grab().toImage()
    ratio = image.width() / frame.width()
    assert image.pixelColor(round(100 * ratio), round(200 * ratio)).red() > 200
    assert image.pixelColor(round(260 * ratio), round(120 * ratio)).blue() > 200


def test_dragging_the_divider(frame, qtbot) -> None:
    handle = QPoint(200, round(400 * 0.585))
    qtbot.mousePress(frame, Qt.MouseButton.LeftButton, pos=handle)
    qtbot.mouseMove(frame, QPoint(100, handle.y()))
    qtbot.mouseRelease(frame, Qt.MouseButton.LeftButton, pos=QPoint(100, handle.y()))
    assert frame.divider() == pytest.approx(0.25, abs=0.01)


def test_both_feet_lie_on_one_point_at_true_scale(frame) -> None:
    raw, fired = frame.picture_rect("before"), frame.picture_rect("after")
    assert raw.left() + 0.5 * raw.width() == pytest.approx(fired.left() + 0.4 * fired.width())
    assert raw.top() + 0.9 * raw.height() == pytest.approx(fired.top() + 0.8 * fired.height())
    # The same 400 px are 200 mm in one picture, 160 mm in the other.
    assert fired.width() / raw.width() == pytest.approx(0.8)


def test_s_matches_the_heights_and_says_so(frame, qtbot) -> None:
    assert frame.sentence().endswith("at true scale.")
    true = frame.picture_rect("after").width()
    qtbot.keyClick(frame, Qt.Key.Key_S)
    assert not frame.is_true_scale()
    assert frame.picture_rect("after").width() / true == pytest.approx(118 / 103)
    assert frame.sentence().endswith("matched in height.")


def test_zoom_keeps_the_point_under_the_pointer(frame) -> None:
    at = QPointF(90, 130)
    before = frame.picture_rect("before")
    share = ((at.x() - before.left()) / before.width(), (at.y() - before.top()) / before.height())
    frame.zoom_by(2.0, at)
    after = frame.picture_rect("before")
    assert after.left() + share[0] * after.width() == pytest.approx(at.x())
    assert after.top() + share[1] * after.height() == pytest.approx(at.y())
    frame.reset_view()
    assert frame.picture_rect("before") == before


def test_without_millimetres_it_claims_no_scale(frame) -> None:
    frame.show_pictures(
        Picture("raw glaze", "", PictureState.SHOWN, plain("#ff0000")),
        Picture("fired", "", PictureState.SHOWN, plain("#0000ff")),
    )
    assert frame.px_per_mm() is None
    assert frame.sentence().endswith("not to scale.")


def test_a_file_that_is_gone_is_told_and_can_be_found(frame, qtbot) -> None:
    gone = Picture("fired", "4 Oct", PictureState.MISSING, last_path="/photos/kiln 87/cup.jpg")
    frame.show_pictures(RAW, gone)
    assert "file missing, last at /photos/kiln 87/cup.jpg" in frame.sentence()
    button = frame._buttons["after"]
    assert button.isVisible()
    assert button.text() == "Find it"
    with qtbot.waitSignal(frame.find_asked) as asked:
        qtbot.keyClick(button, Qt.Key.Key_Space)
    assert asked.args == ["after"]
    assert not frame.grab().isNull()


def test_the_fired_photo_can_be_dropped_in(frame, qtbot) -> None:
    frame.show_pictures(RAW, Picture("fired"))
    assert "no fired photo on the right" in frame.sentence()
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile("/photos/fired.jpg")])
    drop = QDropEvent(
        QPointF(300, 200),
        Qt.DropAction.CopyAction,
        data,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    with qtbot.waitSignal(frame.files_dropped) as dropped:
        frame.dropEvent(drop)
    assert dropped.args == [["/photos/fired.jpg"]]


def test_no_photo_at_all_and_an_unreadable_one(frame) -> None:
    frame.show_pictures(Picture("raw glaze"), Picture("fired"))
    assert frame.sentence() == "No photo yet."
    assert not frame.grab().isNull()
    loading = Picture("fired", "4 Oct", PictureState.LOADING)
    assert loaded(loading, QImage()).state is PictureState.MISSING
    assert loaded(loading, plain("#00ff00")).state is PictureState.SHOWN
