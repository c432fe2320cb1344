"""Labels never overlap and are never cut, however many crowd one corner."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QPointF, QRectF, QSizeF

from studiolog.ui.plots.label_room import EDGE, LabelRoom

BOUNDS = QRectF(0, 0, 800, 400)
spots = st.tuples(st.floats(0, 800), st.floats(0, 400), st.floats(20, 160))


@settings(max_examples=30, deadline=None)
@given(st.lists(spots, min_size=1, max_size=10))
def test_labels_stay_inside_and_apart(wanted: list[tuple[float, float, float]]):
    room = LabelRoom(BOUNDS)
    inner = BOUNDS.adjusted(EDGE, EDGE, -EDGE, -EDGE)
    boxes: list[QRectF] = []
    for x, y, width in wanted:
        placed = room.place(QPointF(x, y), QSizeF(width, 32))
        if placed:
            assert inner.contains(placed.box)
            assert not any(placed.box.intersects(other) for other in boxes)
            boxes.append(placed.box)
    assert boxes


def test_a_label_prefers_open_ground_to_lying_on_the_curve():
    curve = np.column_stack([np.arange(0, 800, 4.0), np.full(200, 230.0)])
    room = LabelRoom(BOUNDS, [curve])
    placed = room.place(QPointF(400, 200), QSizeF(100, 32), (0, 1))
    assert placed is not None
    assert room.crossings(placed.box) == 0


def test_no_room_is_told_and_not_forced():
    room = LabelRoom(QRectF(0, 0, 60, 30))
    assert room.place(QPointF(30, 15), QSizeF(100, 32)) is None
