"""The profile of a form: points typed from foot to rim, drawn as they are typed."""

from collections.abc import Sequence

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.journal.form_page import FormPage
from studiolog.journal.forms import change_form
from studiolog.journal.profiles import Points, Profile
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.grid_editor import Cell, GridColumn, GridEditor
from studiolog.ui.parts.half_section import HalfSection
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Card, Section
from studiolog.ui.parts.text import Caption, Text

MOST_ROWS = 9
_BESIDE = 560  # px the drawing and both tables need
COLUMNS = (
    GridColumn("Radius", "number", "", 1, 0, 2000, needed=True),
    GridColumn("Height", "number", "", 1, 0, 3000, needed=True),
)
HINT = (
    "Fired size, from the foot up to the rim. Two points outside make a wall; without any inside "
    "the wall is drawn 4 mm thick."
)


def points_of(rows: Sequence[tuple[Cell, ...]]) -> Points:
    """Rows of the table as points (radius_mm, height_mm)."""
    return tuple((float(str(radius)), float(str(height))) for radius, height in rows)


def profile_of(outside: Points, inside: Points) -> Profile | None:
    """The profile; None as long as nothing is given."""
    return Profile(outside, inside) if outside or inside else None


def profile_words(shape: str, profile: Profile | None) -> str:
    """What the drawing shows where it is not the profile itself, else ""."""
    if shape != "thrown":
        return "Drawn from its height and width: a profile is for round ware."
    outside = profile.outside if profile is not None else ()
    heights = [height for _, height in outside]
    if len(outside) < 2 or max(heights) - min(heights) < 1:
        return "Drawn as a plain cup until two points outside are given."
    return ""


class ProfileSection(Section):
    """Two tables of points, outside and inside, with the half section beside them."""

    def __init__(self, page: ThingPage, parent: QWidget | None = None) -> None:
        super().__init__("Profile", "half section, half outside", parent=parent)
        self._page = page
        self._shown: FormPage | None = None
        self.drawing = HalfSection("Profile")
        self._size_drawing()
        self.words = Caption(wrap=True)
        self.outside = GridEditor("Points outside", COLUMNS, "Point", most_rows=MOST_ROWS)
        self.inside = GridEditor("Points inside", COLUMNS, "Point", most_rows=MOST_ROWS)
        card = Card(16)
        card.add(self.drawing, 1)
        card.add(self.words)
        tables = QHBoxLayout()
        tables.setSpacing(16)
        for head, grid in (("Outside, mm", self.outside), ("Inside, mm", self.inside)):
            column = QVBoxLayout()
            column.setSpacing(4)
            column.addWidget(Text(head, "secondary", 600))
            column.addWidget(grid)
            column.addStretch(1)
            tables.addLayout(column, 1)
            grid.edited.connect(self._keep)
            grid.typing.connect(self._hear_typing)
        self._row = QHBoxLayout()
        self._row.setSpacing(16)
        self._row.addWidget(card, 2)
        self._row.addLayout(tables, 3)
        theme.current().changed.connect(self._size_drawing)
        self.add(self._row)
        self.add(Caption(HINT, wrap=True))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: where the tables have no room beside the drawing they stand under it."""
        super().resizeEvent(event)
        narrow = self.width() < theme.current().px(_BESIDE)
        way = QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight
        self._row.setDirection(way)

    def _size_drawing(self) -> None:
        look = theme.current()
        self.drawing.setMinimumWidth(look.px(168))
        self.drawing.setFixedHeight(look.px(260))

    def show_page(self, page: FormPage) -> None:
        self._shown = page
        profile = page.profile or Profile((), ())
        self.outside.set_rows(list(profile.outside))
        self.inside.set_rows(list(profile.inside))
        self._draw(page.profile)

    def _draw(self, profile: Profile | None) -> None:
        page = self._shown
        if page is None:
            return
        shape = form_shape(page.shape, profile, page.fired_height_mm, page.fired_across_mm)
        words = profile_words(page.shape, profile)
        self.drawing.show_shape(page.name, shape, quiet=bool(words) and page.shape == "thrown")
        self.words.setText(words)
        self.words.setVisible(bool(words))

    def _hear_typing(self) -> None:
        outside, inside = self.outside.rows_as_typed(), self.inside.rows_as_typed()
        if outside is not None and inside is not None:
            self._draw(profile_of(points_of(outside), points_of(inside)))

    def _keep(self) -> None:
        outside, inside = self.outside.rows_as_typed(), self.inside.rows_as_typed()
        if outside is None or inside is None:
            return  # the other table still has a line to mend; it says so itself
        ident, profile = self._page.ident, profile_of(points_of(outside), points_of(inside))
        self._page.run(
            f"Profile of {self._page.head.name.text()}",
            lambda session: change_form(session, ident, profile=profile),
            self.outside.set_problem,
        )
