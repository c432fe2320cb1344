"""Pages one after the other: what has no room on one goes on at the top of the next."""

from dataclasses import dataclass, field

from studiolog.paper.board import Board
from studiolog.paper.page import Page, PageSize


@dataclass
class Flow:
    """Boards in order, each with the studio's name at its head; ``y`` is where the next row stands.

    ``foot_mm`` is kept free at the foot of every page.
    """

    studio: str
    size: PageSize
    foot_mm: float
    boards: list[Board] = field(default_factory=list)
    y: float = 0.0

    @property
    def board(self) -> Board:
        """The last one."""
        return self.boards[-1]

    @property
    def floor(self) -> float:
        """Where rows end."""
        return self.board.bottom - self.foot_mm

    def turn(self) -> None:
        """Begin a page."""
        board = Board(self.size)
        self.boards.append(board)
        room = board.wide * 0.6
        board.words(board.left, board.top + 2.8, self.studio, room, 8.5, tone="soft")
        self.y = board.top + 6.0

    def need(self, high: float) -> bool:
        """Make room for so much; True if a page was begun for it."""
        if self.y + high <= self.floor:
            return False
        self.turn()
        return True

    def pages(self, kind: str, title: str, description: str) -> tuple[Page, ...]:
        """The pages as they stand, each with its kind and number at its head."""
        count = len(self.boards)
        made = []
        for number, board in enumerate(self.boards, start=1):
            which = f", page {number} of {count}" if count > 1 else ""
            board.words(
                board.right, board.top + 2.8, f"{kind}{which}", board.wide * 0.38, 8.5,
                align="right", tone="soft",
            )  # fmt: skip
            made.append(board.page(f"{title}{which}", description))
        return tuple(made)
