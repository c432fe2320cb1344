"""Nothing is told by colour alone: patterns, shapes and counts carry it too."""

import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QImage, QPainter
from pytestqt.qtbot import QtBot

from studiolog.desktop import theme
from studiolog.desktop.tokens import GLAZE_PATTERNS
from studiolog.shipped import resource
from studiolog.ui.parts.icon import FAULT_ICONS, IconButton, icon_pixmap
from studiolog.ui.parts.pattern import (
    STAGES,
    clay_brush,
    glaze_brush,
    pattern_name,
    shown_colour,
    stage_brush,
)
from studiolog.ui.parts.rate_bar import RateBar, describe_rate, paint_rate
from studiolog.ui.parts.stage_bar import StageBar, StageChip, describe_stages, stage_segments
from studiolog.ui.parts.swatch import (
    ClayLook,
    CombinationSwatch,
    GlazeLook,
    GlazeSwatch,
    describe_combination,
    paint_combination,
)

KELP, CHALK = GlazeLook("Kelp", "#48654C", 0), GlazeLook("Chalk", "#F2EEE2", 1)
BUFF = ClayLook("Buff stoneware", "#C6A67C", "coarse")


def grey(brush: QBrush) -> tuple[int, ...]:
    """What a brush leaves on paper once printed without colour."""
    image = QImage(48, 48, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.fillRect(image.rect(), brush)
    painter.end()
    return tuple(image.convertToFormat(QImage.Format.Format_Grayscale8).constBits())


@pytest.mark.parametrize("colour", ["#48654C", "#F2EEE2"])
def test_eight_glazes_of_one_colour_still_differ(qapp: object, colour: str) -> None:
    looks = {grey(glaze_brush(colour, pattern)) for pattern in GLAZE_PATTERNS}
    assert len(looks) == 8
    assert all(max(look) - min(look) > 20 for look in looks)  # each pattern can be seen


def test_the_ninth_glaze_starts_the_patterns_again() -> None:
    assert pattern_name(0) == "upright lines"
    assert pattern_name(8) == pattern_name(0)
    assert pattern_name("waves") == "waves"


def test_clays_differ_by_their_specks(qapp: object) -> None:
    assert len({grey(clay_brush("#C6A67C", specks)) for specks in ("none", "fine", "coarse")}) == 3


def test_stages_differ_without_colour(qapp: object) -> None:
    filled = [stage for stage in STAGES if stage != "lost"]
    assert len({grey(stage_brush(stage)) for stage in filled}) == len(filled)
    assert stage_brush("lost").style() == Qt.BrushStyle.NoBrush


def test_brushes_are_made_once(qapp: object) -> None:
    first, again = glaze_brush("#48654C", 2, 2.0), glaze_brush("#48654C", 2, 2.0)
    assert first.texture().cacheKey() == again.texture().cacheKey()


def test_deep_glazes_are_lifted_on_a_dark_ground_and_kept_on_a_light() -> None:
    assert shown_colour("#27407D", dark=False).name() == "#27407d"
    assert theme.relative_luminance(shown_colour("#27407D", dark=True)) > theme.relative_luminance(
        "#27407D"
    )
    assert theme.relative_luminance(shown_colour("#F2EEE2", dark=True)) < theme.relative_luminance(
        "#F2EEE2"
    )


def test_a_run_is_drawn_whole_with_its_losses() -> None:
    counts = {"lost": 1, "bisque": 40, "bone_dry": 46, "glazed": 20, "fired": 10}
    segments = stage_segments(counts, 400)
    assert [stage for stage, *_ in segments] == ["bone_dry", "bisque", "glazed", "fired", "lost"]
    assert segments[0][2] == 0
    last = segments[-1]
    assert last[2] + last[3] == pytest.approx(400)
    assert last[3] >= 7  # one lost of 117 is still seen


def test_a_run_without_pieces_draws_nothing_and_says_so() -> None:
    assert stage_segments({}, 400) == []
    assert describe_stages({"wet": 0}) == "no pieces"


def test_a_narrow_segment_has_its_count_in_the_tool_tip(qtbot: QtBot) -> None:
    bar = StageBar({"bone_dry": 116, "lost": 1})
    qtbot.addWidget(bar)
    bar.resize(300, 26)
    assert bar.said_at(297) == "1 lost"
    assert bar.said_at(10) == "116 bone dry"
    assert bar.accessibleName() == "116 bone dry, 1 lost"


def test_a_stage_chip_says_its_stage(qtbot: QtBot) -> None:
    chip = StageChip("leather_hard")
    qtbot.addWidget(chip)
    assert chip.accessibleName() == "Stage: leather-hard"


def test_a_combination_is_told_from_outside_in(qtbot: QtBot) -> None:
    # Trade habit, common practice: "Chalk over Kelp" means Kelp went on first.
    assert describe_combination([KELP, CHALK], BUFF) == "Chalk over Kelp, on Buff stoneware"
    swatch = CombinationSwatch([KELP, CHALK], BUFF)
    qtbot.addWidget(swatch)
    assert swatch.toolTip() == "Chalk over Kelp, on Buff stoneware"
    layer = GlazeSwatch(KELP, 1)
    qtbot.addWidget(layer)
    assert layer.accessibleName() == "Layer 1: Kelp"


def test_which_glaze_is_on_top_can_be_seen(qapp: object) -> None:
    def drawn(layers: list[GlazeLook]) -> QImage:
        image = QImage(46, 33, QImage.Format.Format_RGB32)
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        paint_combination(painter, QRectF(0, 0, 46, 33), layers, BUFF)
        painter.end()
        return image

    chalk_on_top, kelp_on_top = drawn([KELP, CHALK]), drawn([CHALK, KELP])

    def level(image: QImage, top: int) -> float:
        cells = [image.pixelColor(x, y).lightness() for x in range(3, 40) for y in (top, top + 2)]
        return sum(cells) / len(cells)

    assert level(chalk_on_top, 3) > level(chalk_on_top, 14) + 50
    assert level(kelp_on_top, 3) < level(kelp_on_top, 14) - 50


@pytest.mark.parametrize(
    ("rate", "said"),
    [
        ((4, 14, 0.12, 0.55), "seen on 4 of 14, somewhere between 12 and 55 in 100"),
        ((1, 3, 0.06, 0.79), "seen on 1 of 3: too few to tell"),
        ((0, 0, 0.0, 1.0), "never tried"),
    ],
)
def test_a_rate_always_has_its_count_and_span(
    qtbot: QtBot, rate: tuple[int, int, float, float], said: str
) -> None:
    assert describe_rate(*rate) == said
    bar = RateBar(*rate)
    qtbot.addWidget(bar)
    assert bar.accessibleName() == said


def test_never_tried_too_few_none_and_some_are_four_drawings(qapp: object) -> None:
    look = theme.current()

    def drawn(*rate: float, selected: bool = False) -> bytes:
        image = QImage(256, 48, QImage.Format.Format_RGB32)
        image.fill(look.color("paper"))
        painter = QPainter(image)
        seen, inspected, low, high = rate
        paint_rate(
            painter, QRectF(0, 0, 256, 48), look, int(seen), int(inspected), low, high, selected
        )
        painter.end()
        return bytes(image.constBits())

    cells = [
        drawn(0, 0, 0, 1),
        drawn(0, 4, 0, 0.49),
        drawn(0, 5, 0, 0.43),
        drawn(1, 5, 0.04, 0.62),
        drawn(1, 5, 0.04, 0.62, selected=True),
    ]
    assert len(set(cells)) == 5


def test_every_icon_draws_something_of_its_own(qapp: object) -> None:
    names = sorted(path.stem for path in resource("icons").glob("*.svg"))
    assert set(FAULT_ICONS) <= set(names)
    drawings = {}
    for name in names:
        image = icon_pixmap(name, "ink", 20, 2.0).toImage()
        assert image.width() == 40  # sharp on a dense screen
        drawings[name] = bytes(image.convertToFormat(QImage.Format.Format_ARGB32).constBits())
        assert any(drawings[name]), name
    assert len(set(drawings.values())) == len(names)


def test_an_icon_takes_the_colour_of_its_token(qapp: object) -> None:
    image = icon_pixmap("speck", "rust", 40).toImage()
    rust = theme.current().color("rust")
    middle = image.pixelColor(23, 17)  # inside the speck
    assert (middle.red(), middle.green(), middle.blue()) == (rust.red(), rust.green(), rust.blue())


def test_a_button_with_only_an_icon_has_a_name(qtbot: QtBot) -> None:
    button = IconButton("pencil", "Change the name")
    qtbot.addWidget(button)
    assert button.accessibleName() == "Change the name"
    assert not button.icon().isNull()
