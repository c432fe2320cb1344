"""How large a tool is at each stage: clay tools shrink as the ware does."""

from studiolog.craft.units import show_quantity
from studiolog.craft.words import STAGES
from studiolog.desktop.desk import Desk
from studiolog.journal.pieces import SizeDraft
from studiolog.journal.session import Session
from studiolog.journal.tool_page import ToolPage
from studiolog.journal.tools import set_sizes
from studiolog.ui.parts.grid_editor import GridColumn, GridEditor
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Section

_MEASURED = ("wet", "leather_hard", "bone_dry", "bisque", "fired")
COLUMNS = (
    GridColumn("Stage", needed=True),
    GridColumn("Across", "number", "mm", 1, 0.1, 3000, width=104),
    GridColumn("Height", "number", "mm", 1, 0.1, 3000, width=104),
)
WORDS = {STAGES[key]: key for key in _MEASURED}


class ToolSizesSection(Section):
    """A line a stage; the head says by how much it shrank."""

    def __init__(self, page: ThingPage, desk: Desk) -> None:
        super().__init__("Sizes")
        self._page = page
        self.grid = GridEditor("Sizes of the tool", COLUMNS, "Size", movable=False)
        self.grid.offer(0, lambda: list(WORDS))
        self.add(self.grid)
        self.grid.edited.connect(self._keep)

    def show_page(self, page: ToolPage) -> None:
        """Show the sizes of a tool."""
        self.grid.set_rows(
            [(STAGES[size.stage], size.across_mm, size.height_mm) for size in page.sizes]
        )
        shrunk = page.shrunk
        self.set_quiet(
            "wet, then as it dries and fires"
            if shrunk is None
            else f"shrank {show_quantity(100 * shrunk, '%', 1)}"
        )

    def _keep(self) -> None:
        drafts: list[SizeDraft] = []
        for place, (stage, across, height) in enumerate(self.grid.rows(), start=1):
            key = WORDS.get(str(stage).casefold())
            if key is None:
                self.grid.set_problem(f"Size {place}: the stage is one of {', '.join(WORDS)}.")
                return
            drafts.append(
                SizeDraft(
                    stage=key,
                    across_mm=None if across is None else float(str(across)),
                    height_mm=None if height is None else float(str(height)),
                )
            )
        ident = self._page.ident

        def edit(session: Session) -> None:
            set_sizes(session, ident, drafts)

        self._page.run(f"Sizes of {self._page.head.name.text()}", edit, self.grid.set_problem)
