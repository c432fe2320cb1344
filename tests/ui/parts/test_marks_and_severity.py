"""Numbers are links, and an inspection is written down without leaving the keys."""

import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from pytestqt.qtbot import QtBot

from studiolog.ui.parts.marks import NumberMark, mark_path, mark_size, paint_mark
from studiolog.ui.parts.severity import (
    SEVERITY_WORDS,
    SeverityLabel,
    SeverityPicker,
    paint_severity,
)


def drawn_severity(severity: int | None) -> bytes:
    image = QImage(32, 24, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    paint_severity(painter, QRectF(0, 0, 32, 24), severity)
    painter.end()
    return bytes(image.constBits())


@pytest.mark.parametrize("key", [Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space])
def test_a_mark_is_opened_from_the_keyboard(qtbot: QtBot, key: Qt.Key) -> None:
    mark = NumberMark("piece", 412, ident=7)
    qtbot.addWidget(mark)
    with qtbot.waitSignal(mark.opened) as opened:
        qtbot.keyClick(mark, key)
    assert opened.args == ["piece", 7]


def test_a_mark_is_opened_by_a_click(qtbot: QtBot) -> None:
    mark = NumberMark("firing", "87", ident=3)
    qtbot.addWidget(mark)
    with qtbot.waitSignal(mark.opened) as opened:
        qtbot.mouseClick(mark, Qt.MouseButton.LeftButton)
    assert opened.args == ["firing", 3]


def test_a_number_not_known_is_no_link_but_says_so(qtbot: QtBot) -> None:
    mark = NumberMark("piece")
    qtbot.addWidget(mark)
    assert mark.focusPolicy() == Qt.FocusPolicy.NoFocus
    assert mark.accessibleName() == "Piece, no number"
    with qtbot.assertNotEmitted(mark.opened):
        qtbot.mouseClick(mark, Qt.MouseButton.LeftButton)
    mark.set_number(413, 9)
    assert mark.accessibleName() == "Piece 413"
    assert mark.focusPolicy() == Qt.FocusPolicy.StrongFocus


def test_the_three_kinds_differ_by_shape_alone(qapp: object) -> None:
    box = QRectF(0, 0, 40, 20)
    paths = [mark_path(kind, box) for kind in ("piece", "firing", "run")]
    corner = QRectF(0.2, 0.2, 2.2, 2.2).center()
    assert paths[0].contains(corner)  # a square stamp fills its corner
    assert not paths[1].contains(corner)  # a round one does not
    assert paths[1].contains(QRectF(36, 9, 2, 2).center())
    assert not paths[2].contains(corner)  # nor does a tag, which is pointed at the left
    assert paths[2].contains(QRectF(38, 1, 1, 1).center())  # and square at the right


def test_a_longer_number_needs_a_wider_mark(qapp: object) -> None:
    assert mark_size("piece", "1412").width() > mark_size("piece", "12").width()
    assert mark_size("run", "58").width() > mark_size("piece", "58").width()
    assert mark_size("firing", "87", 48).height() == pytest.approx(48)


def test_an_unknown_number_is_dashed(qapp: object) -> None:
    def ink(known: bool) -> int:
        image = QImage(60, 24, QImage.Format.Format_RGB32)
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        paint_mark(painter, QRectF(2, 2, 50, 20), "piece", "", known=known)
        painter.end()
        top = [image.pixelColor(x, 2).lightness() for x in range(8, 46)]
        return sum(level < 200 for level in top)

    assert ink(known=True) > ink(known=False) > 5


@pytest.mark.parametrize(
    ("key", "meant"),
    [
        (Qt.Key.Key_0, 0),
        (Qt.Key.Key_1, 1),
        (Qt.Key.Key_2, 2),
        (Qt.Key.Key_3, 3),
    ],
)
def test_a_digit_says_how_bad_it_is(qtbot: QtBot, key: Qt.Key, meant: int) -> None:
    picker = SeverityPicker("Crazing")
    qtbot.addWidget(picker)
    with qtbot.waitSignal(picker.picked) as picked:
        qtbot.keyClick(picker, key)
    assert picked.args == [meant]
    assert picker.severity() == meant
    assert picker.accessibleName() == f"Crazing: {SEVERITY_WORDS[meant]}"


def test_minus_takes_a_finding_back_to_not_looked(qtbot: QtBot) -> None:
    picker = SeverityPicker("Crawling", 2)
    qtbot.addWidget(picker)
    with qtbot.waitSignal(picker.picked) as picked:
        qtbot.keyClick(picker, Qt.Key.Key_Minus)
    assert picked.args == [None]
    assert picker.severity() is None


def test_arrows_step_and_stop_at_the_ends(qtbot: QtBot) -> None:
    picker = SeverityPicker("Running", 2)
    qtbot.addWidget(picker)
    for _ in range(3):
        qtbot.keyClick(picker, Qt.Key.Key_Right)
    assert picker.severity() == 3
    for _ in range(9):
        qtbot.keyClick(picker, Qt.Key.Key_Left)
    assert picker.severity() is None


def test_control_and_a_digit_is_left_to_the_window(qtbot: QtBot) -> None:
    picker = SeverityPicker("Running")
    qtbot.addWidget(picker)
    qtbot.keyClick(picker, Qt.Key.Key_1, Qt.KeyboardModifier.ControlModifier)
    assert picker.severity() is None


def test_a_click_on_a_box_picks_it(qtbot: QtBot) -> None:
    picker = SeverityPicker("Speck")
    qtbot.addWidget(picker)
    picker.resize(picker.sizeHint())
    middle = picker._boxes()[4].center().toPoint()
    qtbot.mouseClick(picker, Qt.MouseButton.LeftButton, pos=middle)
    assert picker.severity() == 3


def test_a_severity_out_of_range_is_refused(qtbot: QtBot) -> None:
    picker = SeverityPicker("Speck")
    qtbot.addWidget(picker)
    with pytest.raises(ValueError, match="no such severity"):
        picker.set_severity(4)


def test_none_seen_is_never_drawn_like_not_looked(qapp: object) -> None:
    drawings = {severity: drawn_severity(severity) for severity in SEVERITY_WORDS}
    assert len(set(drawings.values())) == 5
    blank = QImage(32, 24, QImage.Format.Format_RGB32)
    blank.fill(Qt.GlobalColor.white)
    assert bytes(blank.constBits()) not in drawings.values()


def test_a_read_only_severity_says_its_word(qtbot: QtBot) -> None:
    label = SeverityLabel(None, "Dunting")
    qtbot.addWidget(label)
    assert label.accessibleName() == "Dunting: not looked"
