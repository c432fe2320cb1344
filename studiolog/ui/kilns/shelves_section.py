"""The shelves of a kiln, its posts and its chamber: what a load is planned on."""

from __future__ import annotations

from functools import partial

from PySide6.QtWidgets import QWidget

from studiolog.craft.words import SHELF_SHAPES
from studiolog.journal.kiln_shelves import KilnShelves, ShelvesInForce, set_level_height
from studiolog.ui.parts.fields import LineField, NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text

SHELVES = (
    Property("shelf_shape", "Shape of the shelves", "choice", choices=tuple(SHELF_SHAPES.items())),
    Property("shelf_across_mm", "Shelf across", "number", "mm", 0),
    Property("shelf_deep_mm", "Shelf deep", "number", "mm", 0),
    Property("shelf_thick_mm", "Shelf thick", "number", "mm", 0),
    Property("shelves", "Whole shelves", "number", "", 0),
    Property("half_shelves", "Half shelves", "number", "", 0),
    Property("chamber_height_mm", "Chamber high", "number", "mm", 0),
    Property("worth_percent", "Worth firing from", "number", "%", 0),
)
PROBE = (
    Property("probe_across", "Thermocouple from the left", "number", "%", 0, 0, 100),
    Property("probe_along", "Thermocouple from the back", "number", "%", 0, 0, 100),
    Property("probe_clear_mm", "Room around it", "number", "mm", 0),
)
_HOW = (
    "Across is a round shelf's diameter, a many-sided one's width across flats. Posts are the "
    "heights you have; a load uses no others. The thermocouple's place is seen from above, door "
    "at the front."
)
_PLACES = {"probe_across": "probe_x", "probe_along": "probe_y"}


class ShelvesSection(Section):
    """Every field is kept as it is typed; a refusal is said at the field."""

    def __init__(self, page: ThingPage, parent: QWidget | None = None) -> None:
        super().__init__("Shelves", link="Plan a load", parent=parent)
        self._page = page
        self.sheet = PropertySheet(SHELVES, 3)
        self.probe = PropertySheet(PROBE, 3)
        self.posts = LineField("Heights of posts", "", "50 75 100", "mm")
        self.heights: dict[int, NumberField] = {}
        holder = QWidget()
        self._flow = FlowLayout(spacing=24, line_spacing=8)
        self._flow.setContentsMargins(0, 0, 0, 0)
        holder.setLayout(self._flow)
        self.problem = ProblemLine()
        self.assumed = Text("", "secondary", tone="ochre", wrap=True)
        self.add(self.sheet)
        self.add(self.posts)
        self.add(self.probe)
        self.add(Text("Each level begins above the floor at", "secondary", 500, "ink2", wrap=True))
        self.add(holder)
        self.add(self.problem)
        self.add(self.assumed)
        self.add(Caption(_HOW, wrap=True))
        self.sheet.changed.connect(lambda key, value: page.keep(key, value, self.sheet))
        self.posts.edited.connect(self._keep_posts)
        self.probe.changed.connect(self._keep_probe)
        self.link_opened.connect(lambda: page.desk.show("loads", 0, ("new", page.ident)))

    def show_shelves(self, said: KilnShelves, in_force: ShelvesInForce) -> None:
        """Show what was said, and in words what is taken where nothing was."""
        values = dict(vars(said))
        for key, stored in _PLACES.items():
            share = values[stored]
            values[key] = None if share is None else 100 * share
        self.sheet.show_values(values)
        self.sheet.ask_for("shelf_deep_mm", said.shelf_shape == "rectangle")
        if not (self.posts.line.hasFocus() and self.posts.line.isModified()):
            self.posts.set_text(said.posts_mm)
        self.probe.show_values(values)
        ids = [level.level_id for level in said.levels]
        names = [level.name for level in said.levels]
        if ids != list(self.heights) or names != [
            field.label.text() for field in self.heights.values()
        ]:
            self._make_heights(said)
        for level in said.levels:
            field = self.heights[level.level_id]
            if not (field.line.hasFocus() and field.line.isModified()):
                field.set_value(level.from_floor_mm)
        self.assumed.setText(" ".join(in_force.assumed))
        self.assumed.setVisible(bool(in_force.assumed))

    def _make_heights(self, said: KilnShelves) -> None:
        self._flow.clear()
        self.heights = {}
        for level in said.levels:
            field = NumberField(level.name, "mm", None, 0)
            field.line.setAccessibleName(f"Level {level.name} begins above the floor, mm")
            field.value_changed.connect(partial(self._keep_height, level.level_id, level.name))
            self.heights[level.level_id] = field
            self._flow.addWidget(field)

    def _keep_height(self, level_id: int, name: str, value: object) -> None:
        height = float(str(value)) if value is not None else None
        self._page.run(
            f"Set where {name} begins",
            lambda session: set_level_height(session, level_id, height),
            self.heights[level_id].set_problem,
        )

    def _keep_posts(self, text: str) -> None:
        self._page.run(
            "Change the posts",
            lambda session: self._page.change(session, posts_mm=text),
            self.posts.set_problem,
        )

    def _keep_probe(self, key: str, value: object) -> None:
        stored = _PLACES.get(key)
        if stored is None:
            self._page.keep(key, value, self.probe)
            return
        share = float(str(value)) / 100 if value is not None else None
        self._page.keep(stored, share)
