"""The glaze section says itself, and its labels can be reached from the keyboard."""

import itertools

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication, QImage

from studiolog.desktop import theme
from studiolog.ui.parts.glaze_section import GlazeSection, SectionLayer, SectionWall

TUMBLER = SectionWall(
    "Buff stoneware",
    "#C6A67C",
    "coarse",
    4.1,
    None,
    (
        SectionLayer("outside, upper", 1, "Kelp", "#48654C", 0, "dip 4 s"),
        SectionLayer("outside, lower", 1, "Kelp", "#48654C", 0, "dip 4 s"),
        SectionLayer("outside, upper", 2, "Chalk", "#F2EEE2", 1, "dip 3 s"),
    ),
    fired=True,
)


@pytest.fixture
def section(qtbot):
    widget = GlazeSection()
    qtbot.addWidget(widget)
    widget.resize(448, 540)
    widget.show_wall(TUMBLER)
    return widget


def test_it_says_which_glaze_lies_over_which(section) -> None:
    said = section.accessibleDescription()
    assert said.startswith("Outside, upper: Chalk, dip 3 s, over Kelp, dip 4 s.")
    assert "Foot: bare." in said
    assert said.endswith("Clay: Buff stoneware, wall 4.1 mm.")
    assert section.toolTip() == said


def test_ctrl_c_copies_the_sentence(section, qtbot) -> None:
    qtbot.keyClick(section, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text() == section.sentence()


def test_labels_are_chosen_by_keyboard_and_mouse(section, qtbot) -> None:
    section.grab()
    with qtbot.waitSignal(section.layer_chosen) as chosen:
        qtbot.keyClick(section, Qt.Key.Key_Down)
        qtbot.keyClick(section, Qt.Key.Key_Return)
    assert chosen.args == [2]  # Chalk is outermost on the first zone
    hit, index = section._hits[1]
    with qtbot.waitSignal(section.layer_chosen) as chosen:
        where = QPoint(round(hit.center().x()), round(hit.center().y()))
        qtbot.mouseClick(section, Qt.MouseButton.LeftButton, pos=where)
    assert chosen.args == [index]


def test_nothing_recorded_is_a_bare_wall(section) -> None:
    section.show_wall(None)
    assert section.sentence() == "Bare wall: no clay or glaze recorded yet."
    section.show_wall(SectionWall("Porcelain P2", "#E6E3DC"))
    assert section.sentence() == "Porcelain P2, bare: no glaze recorded yet."
    assert not section.grab().isNull()


@pytest.mark.parametrize("compact", [False, True])
def test_the_clay_is_drawn_in_its_own_colour(qtbot, compact) -> None:
    widget = GlazeSection(compact=compact)
    qtbot.addWidget(widget)
    widget.resize(460, 540)
    widget.show_wall(SectionWall("Iron-red stoneware", "#7A3F2E"))
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    wanted = "#7a3f2e"
    found = sum(
        1
        for y in range(0, image.height(), 6)
        for x in range(0, image.width(), 3)
        if image.pixelColor(x, y).name() == wanted
    )
    assert theme.current().tokens.dark or found > 100


def test_fourteen_zones_are_asked_room_for(section) -> None:
    layers = tuple(SectionLayer(f"panel {n}", 1, "Kelp", "#48654C", 0, "brush") for n in range(14))
    before = section.minimumSizeHint().height()
    section.show_wall(SectionWall("Buff", "#C6A67C", layers=layers))
    assert section.minimumSizeHint().height() > before
    section.resize(section.minimumSizeHint())
    section.grab()
    tops = sorted(rect.top() for rect, _ in section._hits)
    assert len(tops) == 14
    assert all(b - a > 20 for a, b in itertools.pairwise(tops))


def test_many_zones_ask_for_the_height_their_labels_need(qtbot) -> None:
    section = GlazeSection()
    qtbot.addWidget(section)
    names = [f"panel number {n} beside the handle" for n in range(14)]
    layers = tuple(SectionLayer(name, 1, "Kelp", "#48654C") for name in names)
    section.show_wall(SectionWall("Buff stoneware", "#C6A67C", layers=layers))
    section.resize(360, 400)
    narrow = section.minimumSizeHint().height()
    section.resize(900, 400)

    assert narrow > 14 * 58, "two lines of a name, and one layer, for each zone"
    assert section.minimumSizeHint().height() < narrow, "names are on one line where it is wide"


def test_no_wall_is_drawn_of_which_nothing_is_known(qtbot) -> None:
    section = GlazeSection()
    qtbot.addWidget(section)
    section.resize(420, 520)
    section.show_wall(None)
    unknown = section.grab().toImage()
    section.show_wall(SectionWall("Buff stoneware", "#C6A67C"))
    known = section.grab().toImage()

    def brown(image) -> int:
        return sum(
            image.pixelColor(x, y).saturation() > 60
            for x in range(0, image.width(), 6)
            for y in range(0, image.height(), 6)
        )

    assert brown(unknown) == 0
    assert brown(known) > 50
