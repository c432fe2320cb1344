"""Finding room for labels on a plot: none overlaps another, none is cut at an edge.

All in pixels. The first label has the first pick, so give the important ones first.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, QSizeF

EDGE = 8.0
"""Slack kept between a label and the edge of the plot."""
GAP = 5.0
"""Slack kept between two labels."""
_ON_CURVE = 200.0
"""What lying on a curve costs, in pixels of way: more than the longest way there is."""
_STEPS = (10.0, 18.0, 30.0, 46.0, 66.0, 90.0, 120.0, 150.0, 190.0, 240.0, 300.0)
"""How far off a label may stand, in pixels."""


@dataclass(frozen=True)
class PlacedLabel:
    """Where a label found room, and the point it speaks of."""

    box: QRectF
    anchor: QPointF

    def leader_end(self) -> QPointF:
        """The point of the box's edge nearest to the anchor."""
        return QPointF(
            min(max(self.anchor.x(), self.box.left()), self.box.right()),
            min(max(self.anchor.y(), self.box.top()), self.box.bottom()),
        )

    def needs_leader(self) -> bool:
        """Whether the box stands too far off for the eye to connect it."""
        end = self.leader_end()
        return (end - self.anchor).manhattanLength() > 18


class LabelRoom:
    """The room left on one plot while its labels are placed one after the other."""

    def __init__(self, bounds: QRectF, lines: Iterable[NDArray[np.float64]] = ()) -> None:
        """``lines`` are n x 2 pixel points of curves, densely set, which labels try to avoid."""
        self._bounds = bounds.adjusted(EDGE, EDGE, -EDGE, -EDGE)
        self._taken: list[QRectF] = []
        self._edges = np.empty((0, 4))
        self._leaders = np.empty((0, 2))
        parts = [line for line in lines if len(line)]
        self._points = np.concatenate(parts) if parts else np.empty((0, 2))

    @property
    def taken(self) -> Sequence[QRectF]:
        """The boxes already given away."""
        return tuple(self._taken)

    def take(self, box: QRectF) -> None:
        """Keep a box free of labels."""
        self._taken.append(QRectF(box))
        edges = (box.left(), box.top(), box.right(), box.bottom())
        self._edges = np.vstack([self._edges, edges])

    def avoid(self, points: NDArray[np.float64]) -> None:
        """Let labels keep off some points, n x 2 pixels, as they keep off the curves."""
        self._points = np.concatenate([self._points, points])

    def is_free(self, box: QRectF) -> bool:
        """Whether a box lies inside the bounds and touches no other."""
        if not self._bounds.contains(box):
            return False
        left, top = box.left() - GAP, box.top() - GAP
        right, bottom = box.right() + GAP, box.bottom() + GAP
        edges = self._edges
        apart = (edges[:, 0] >= right) | (edges[:, 2] <= left)
        apart |= (edges[:, 1] >= bottom) | (edges[:, 3] <= top)
        if not apart.all():
            return False
        x, y = self._leaders[:, 0], self._leaders[:, 1]
        return not ((x >= left) & (x <= right) & (y >= top) & (y <= bottom)).any()

    def crossings(self, box: QRectF) -> int:
        """How many points of the curves lie in a box, with a little slack."""
        if not len(self._points):
            return 0
        x, y = self._points[:, 0], self._points[:, 1]
        near = (x > box.left() - 4) & (x < box.right() + 4)
        near &= (y > box.top() - 3) & (y < box.bottom() + 3)
        return int(np.count_nonzero(near))

    def covered(self, box: QRectF) -> int:
        """How much a box laid on top would hide: points of curves, and labels, which weigh more."""
        return self.crossings(box) + 12 * sum(box.intersects(t) for t in self._taken)

    def place(
        self,
        anchor: QPointF,
        size: QSizeF,
        prefer: tuple[int, int] = (1, 1),
        reach: float = 150.0,
    ) -> PlacedLabel | None:
        """Give the label the best box near its anchor, or None where there is no room.

        ``prefer`` is the side: x 1 right, -1 left, 0 centred; y 1 below, -1 above, 0 level.
        """
        return self.place_along([anchor], size, prefer, reach)

    def place_along(
        self,
        anchors: Sequence[QPointF],
        size: QSizeF,
        prefer: tuple[int, int] = (1, 1),
        reach: float = 150.0,
        clear: bool = False,
    ) -> PlacedLabel | None:
        """As `place`, for a label that may speak of any of several points; the first is liked.

        ``clear`` refuses a place on a curve instead of taking it as the last resort.
        """
        best: tuple[float, QRectF, QPointF] | None = None
        for later, anchor in enumerate(anchors):
            found = self._best(anchor, size, prefer, reach)
            if found is None:
                continue
            cost = found[0] + (6.0 if later else 0.0)
            if best is None or cost < best[0]:
                best = (cost, found[1], anchor)
        if best is None or (clear and self.crossings(best[1])):
            return None
        self.take(best[1])
        placed = PlacedLabel(best[1], best[2])
        self._leaders = np.concatenate([self._leaders, self._along(placed)])
        return placed

    def _best(
        self, anchor: QPointF, size: QSizeF, prefer: tuple[int, int], reach: float
    ) -> tuple[float, QRectF] | None:
        """The cheapest free box near an anchor, with its cost."""
        best: tuple[float, QRectF] | None = None
        for away in (step for step in _STEPS if step <= reach):
            for side_x in (-1, 0, 1):
                for side_y in (-1, 0, 1):
                    if not side_x and not side_y:
                        continue
                    for share in ((1.0, 1.0), (0.4, 1.0), (1.0, 0.35)):
                        box = self._beside(anchor, size, side_x, side_y, away, share)
                        cost = away + 8.0 * (abs(side_x - prefer[0]) + abs(side_y - prefer[1]))
                        if best is not None and cost >= best[0]:
                            continue
                        if not self.is_free(box):
                            continue
                        crossed = self.crossings(box)
                        # On a curve only where there is no open ground: worse than any way off.
                        cost += (_ON_CURVE + 14.0 * min(crossed, 12)) if crossed else 0.0
                        cost += 2.0 * self._leader_cost(anchor, box)
                        if best is None or cost < best[0]:
                            best = (cost, box)
        return best

    @staticmethod
    def _along(placed: PlacedLabel) -> NDArray[np.float64]:
        """Points along a label's leader, 5 pixels apart, without its ends."""
        end, start = placed.leader_end(), placed.anchor
        steps = int((end - start).manhattanLength() / 5)
        shares = np.arange(1, steps)[:, None] / max(steps, 1)
        way = np.array([[end.x() - start.x(), end.y() - start.y()]])
        return np.asarray([[start.x(), start.y()]] + way * shares, dtype=np.float64)

    def _leader_cost(self, anchor: QPointF, box: QRectF) -> float:
        """High where the leader would cross another label or another leader."""
        spots = self._along(PlacedLabel(box, anchor))[1:]
        if not len(spots):
            return 0.0
        x, y = spots[:, 0][:, None], spots[:, 1][:, None]
        left, top, right, bottom = self._edges.T
        if ((x >= left) & (x <= right) & (y >= top) & (y <= bottom)).any():
            return 150.0
        others = self._leaders
        near = bool(
            (np.abs(x - others[:, 0]) + np.abs(y - others[:, 1]) < 6).any()
            if len(others)
            else False
        )
        over = self._on_curve(spots[2:])
        return (40.0 if near else 0.0) + 4.0 * min(over, 10)

    def _on_curve(self, spots: NDArray[np.float64]) -> int:
        """How many spots lie on a curve."""
        if not len(self._points) or not len(spots):
            return 0
        # Only what is near the leader at all can lie under it.
        low, high = spots.min(axis=0) - 4.0, spots.max(axis=0) + 4.0
        points = self._points
        points = points[((points >= low) & (points <= high)).all(axis=1)]
        off = np.abs(spots[:, None, :] - points[None, :, :]).max(axis=2)
        return int((off < 4.0).any(axis=1).sum()) if len(points) else 0

    @staticmethod
    def _beside(
        anchor: QPointF,
        size: QSizeF,
        side_x: int,
        side_y: int,
        away: float,
        share: tuple[float, float],
    ) -> QRectF:
        left = anchor.x() - size.width() / 2
        top = anchor.y() - size.height() / 2
        across = away * (share[0] if side_y else 1.0)
        down = away * (share[1] if side_x else 1.0)
        if side_x:
            left = anchor.x() + across if side_x > 0 else anchor.x() - across - size.width()
        if side_y:
            top = anchor.y() + down if side_y > 0 else anchor.y() - down - size.height()
        return QRectF(left, top, size.width(), size.height())
