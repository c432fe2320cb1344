"""A cone is drawn at the angle read, and can be bent from the keyboard."""

import math

import pytest
from PySide6.QtCore import QPoint, Qt

from studiolog.ui.parts.bent_cone import ConePack, ConeReading, cone_outline, cone_tip


def test_at_ninety_degrees_the_tip_is_level_with_the_base() -> None:
    # Common practice: a cone is at its end point when its tip is level with its base.
    x, y = cone_tip(90, 100)
    assert y == pytest.approx(0, abs=0.01)
    assert x > 50


@pytest.mark.parametrize("bend", [0, 8, 20, 45, 70, 82, 90])
def test_the_tip_stands_at_the_angle_read(bend) -> None:
    x, y = cone_tip(bend, 100)
    assert math.degrees(math.atan2(x, -y)) == pytest.approx(bend, abs=0.6)


def test_past_the_end_point_it_sinks_and_never_goes_through_the_shelf() -> None:
    heights = []
    for bend in (90, 120, 150, 180):
        outline = cone_outline(bend, 100)
        assert max(y for _, y in outline) <= 0
        heights.append(-min(y for _, y in outline))
    assert heights == sorted(heights, reverse=True)


@pytest.fixture
def pack(qtbot):
    widget = ConePack()
    qtbot.addWidget(widget)
    widget.resize(240, 104)
    widget.show_readings(
        [ConeReading("5", 94), ConeReading("6", 82, aimed=True), ConeReading("7", None)]
    )
    widget.show()
    return widget


def test_arrow_keys_bend_by_one_and_by_ten(pack, qtbot) -> None:
    bent = []
    pack.bend_changed.connect(lambda index, degrees: bent.append((index, degrees)))
    six = pack.stand(1)
    qtbot.keyClick(six, Qt.Key.Key_Right)
    qtbot.keyClick(six, Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
    qtbot.keyClick(six, Qt.Key.Key_End)
    assert bent == [(1, 83.0), (1, 73.0), (1, 90.0)]
    assert pack.readings()[1].bend_deg == 90
    assert pack.readings()[0].bend_deg == 94
    qtbot.keyClick(pack.stand(0), Qt.Key.Key_Home)
    for _ in range(3):
        qtbot.keyClick(pack.stand(0), Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
    assert pack.readings()[0].bend_deg == 0


def test_dragging_the_tip_level_with_the_base_reads_ninety(pack, qtbot) -> None:
    six = pack.stand(1)
    stage = six.stage()
    level = QPoint(six.width() - 4, round(stage.bottom()))
    qtbot.mousePress(six, Qt.MouseButton.LeftButton, pos=level)
    assert pack.readings()[1].bend_deg == pytest.approx(90, abs=1)


def test_each_cone_names_itself(pack) -> None:
    assert pack.stand(1).accessibleName() == "Cone 6, aimed at"
    assert pack.sentence() == "Cone 5: 94°. Cone 6, aimed at: 82°. Cone 7: not read."


def test_an_interval_is_said_and_becomes_one_angle_when_bent(pack, qtbot) -> None:
    pack.show_readings([ConeReading("6", 75, 60, 90, aimed=True)])
    assert pack.sentence() == "Cone 6, aimed at: 60 to 90°."
    assert not pack.grab().isNull()
    qtbot.keyClick(pack.stand(0), Qt.Key.Key_Down)
    assert pack.readings()[0].interval() is None
    assert pack.readings()[0].bend_deg == 76


def test_a_pack_that_is_only_shown_cannot_be_bent(qtbot) -> None:
    shown = ConePack(editable=False)
    qtbot.addWidget(shown)
    shown.show_readings([ConeReading("6", 82)])
    qtbot.keyClick(shown.stand(0), Qt.Key.Key_Right)
    assert shown.readings()[0].bend_deg == 82


def test_a_label_is_told_shorter_but_never_cut(qtbot) -> None:
    reading = ConeReading("5", 141, 100, 180)
    assert reading.label(71) == ("140°", "100–180°")
    for width in (12, 22, 30, 38, 42, 50, 71):
        beside, under = reading.label(width)
        assert "…" not in beside + under
    assert reading.label(12) == ("", "")


def test_what_was_said_in_words_stands_under_the_cone() -> None:
    # Common practice: a cone is read against the hands of a clock.
    clock = ConeReading("6", 90, 80, 100, said="3 o'clock")
    assert clock.label(90) == ("90°", "3 o'clock")
    assert clock.words() == "80 to 100°, 3 o'clock"
    assert ConeReading("6", 82, 80, 84, said="82°").label(90) == ("82°", "80–84°")
