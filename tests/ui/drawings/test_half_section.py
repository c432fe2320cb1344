"""Half section, half outside, for turned ware, boxes and tiles."""

import math

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from studiolog.ui.parts.half_section import (
    FormShape,
    HalfSection,
    paint_half_section,
    ripple_heights,
    roof_of,
)
from studiolog.ui.parts.wall_geometry import PLAIN_CUP, WallProfile


def drawn(shape: FormShape, size: int = 56) -> tuple[QImage, QRectF]:
    image = QImage(size, size, QImage.Format.Format_RGB32)
    image.fill(QColor("#888888"))
    painter = QPainter(image)
    box = paint_half_section(painter, QRectF(0, 0, size, size), shape)
    painter.end()
    return image, box


@pytest.mark.parametrize(
    "shape",
    [
        FormShape(),
        FormShape(profile=WallProfile((), ())),
        FormShape("box", width_mm=90, height_mm=120, roof_mm=50),
        FormShape("tile", width_mm=100, height_mm=115),
        FormShape("tile", width_mm=100, height_mm=100, sides=4),
    ],
)
@pytest.mark.parametrize("size", [24, 56, 200])
def test_a_form_keeps_inside_its_place_and_stands_on_the_ground(qapp, shape, size) -> None:
    image, box = drawn(shape, size)
    assert QRectF(0, 0, size, size).contains(box)
    assert box.bottom() == pytest.approx(size - 1.5)
    assert image.pixelColor(0, 0).name() == "#888888"


def test_proportions_are_true(qapp) -> None:
    bowl = WallProfile(((30, 0), (78, 70)), ((0, 7), (75, 70)))
    _, box = drawn(FormShape(profile=bowl), 100)
    assert box.width() / box.height() == pytest.approx(156 / 70)


def test_throwing_ridges_are_found_and_a_plain_cup_has_none() -> None:
    ridged = WallProfile(
        tuple((40 + math.sin(h / 10 * 2 * math.pi), float(h)) for h in range(0, 101, 2)), ()
    )
    heights = ripple_heights(ridged)
    assert 6 <= len(heights) <= 9
    assert ripple_heights(PLAIN_CUP) == []


def test_the_widget_names_the_form(qtbot) -> None:
    widget = HalfSection("Soup bowl")
    qtbot.addWidget(widget)
    assert widget.accessibleDescription() == "Soup bowl: half section, half outside"


def test_the_cut_of_a_house_has_a_roof_and_a_box_none() -> None:
    house = WallProfile(
        ((55, 0), (55, 122), (60, 122), (60, 126), (0, 190)),
        ((0, 182), (50, 124), (49, 7), (0, 7)),
    )
    box = WallProfile(((50, 0), (50, 80), (0, 80)), ((0, 76), (46, 76), (46, 4), (0, 4)))
    assert roof_of(house) == 64
    assert roof_of(box) == 0
