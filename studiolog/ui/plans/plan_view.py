"""The page of a plan: its question, its tiles as they lie with what came of them, what is next."""

from functools import partial
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout

from studiolog.craft.words import PLAN_KINDS
from studiolog.desktop.desk import Desk
from studiolog.desktop.handed_over import PICTURE_FILES
from studiolog.desktop.tokens import ANY_WIDTH
from studiolog.journal.clays import list_clays
from studiolog.journal.forms import list_forms
from studiolog.journal.plan_page import PlanPage, PlanTileLine
from studiolog.journal.plans import change_plan
from studiolog.journal.programs import list_programs
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.firing_paper import on_print
from studiolog.ui.parts.list_and_page import ThingPage, TwoColumns
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text
from studiolog.ui.plans.cells import cells_of_page
from studiolog.ui.plans.drift import Drift
from studiolog.ui.plans.inspect_tiles import InspectTiles
from studiolog.ui.plans.labelled_pick import NONE, LabelledPick
from studiolog.ui.plans.marks import WORST, Speaking, speaker_choices, speakers
from studiolog.ui.plans.next_step import NextStep
from studiolog.ui.plans.plan_papers import open_paper
from studiolog.ui.plans.starts_from import StartsFrom
from studiolog.ui.plans.tile_layout import TileLayout
from studiolog.ui.plans.tile_photos import TilePhotos
from studiolog.ui.plans.tile_reading import TileReading

PROPERTIES = (
    Property("code", "Code", hint="B"),
    Property("cone", "Cone aimed at", hint="6, 5½ or 04"),
)
_FIRED = ("fired", "finished")


class PlanView(ThingPage):
    """The layout is the plan before anything is made, and the picture grid of results after."""

    noun = "plan"
    looking_changed = Signal()
    """The tiles are being looked at, or no longer: other keys work."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._page: PlanPage | None = None
        self._version: int | None = None
        self._speaks = WORST
        self._looking = False
        self.setMaximumWidth(ANY_WIDTH)  # the tiles take what room there is
        self.question = EditableNote("What it asks", hint="What should this plan answer?")
        self.step = NextStep(desk)
        self.marks = PickOne("What the marks speak of")
        self.marks.setMinimumContentsLength(14)
        self.tiles = TileLayout("Tiles of the plan", desk.pictures)
        self.hint = Caption("", wrap=True)
        self.photos = TilePhotos(desk, self)
        self.photos_button = QPushButton("Add photos …")
        self.photos_button.setAccessibleName("Add photos of the tiles")
        self.photos_button.setToolTip("One a tile, from the tile you stand on")
        self.inspect = InspectTiles(desk)
        self.reading = TileReading(desk)
        self.sheet = PropertySheet(PROPERTIES, 2)
        self.clay = LabelledPick("Clay", wide=180)
        self.form = LabelledPick("Form of the tiles", wide=180)
        self.program = LabelledPick("Program", wide=180)
        self.corners = StartsFrom(desk)
        self.lesson = EditableNote("Lesson", hint="What was learned?")
        self.next_time = EditableNote("Next time", hint="What to try next")
        self.print_button = QPushButton("Print …")
        self.print_button.setAccessibleName("Print the mixing sheet")
        self.head.add_action(self.print_button)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        self._asks = asks = Section("What it asks")
        asks.add(self.question)
        lie = Section("Tiles")
        self._lie = lie
        marks = QHBoxLayout()
        marks.setSpacing(8)
        marks.addWidget(Text("The marks speak of", "secondary", tone="ink2"))
        marks.addWidget(self.marks)
        marks.addStretch(1)
        marks.addWidget(self.photos_button)
        lie.add(marks)
        lie.add(self.tiles)
        lie.add(self.hint)
        known = self.add_sheet("What is known", self.sheet)
        for pick in (self.clay, self.form, self.program):
            known.add(pick)
        learned = Section("Lesson and next time")
        learned.add(Text("Lesson", "secondary", 500, "ink2"))
        learned.add(self.lesson)
        learned.add(Text("Next time", "secondary", 500, "ink2"))
        learned.add(self.next_time)
        for section in (asks, self.step, self.inspect, lie):
            self.body.main.addWidget(section)
        self.body.side.addWidget(self.reading)
        # The tile one stands on is told beside the tiles, however far down they reach.
        self.drift = Drift(self.body.side, self.body.main)
        self.more = TwoColumns()
        for section in (learned, self.corners):
            self.more.main.addWidget(section)
        self.more.side.addWidget(known)
        rows = self.layout()
        assert isinstance(rows, QVBoxLayout)
        rows.insertSpacing(2, 16)
        rows.insertWidget(3, self.more)
        self.inspect.hide()

    def _connect(self) -> None:
        self.question.edited.connect(lambda text: self.keep("question", text))
        self.lesson.edited.connect(lambda text: self.keep("lesson", text))
        self.next_time.edited.connect(lambda text: self.keep("next_time", text))
        for key, pick in (
            ("clay_id", self.clay), ("form_id", self.form), ("program_id", self.program),
        ):  # fmt: skip
            pick.pick.picked.connect(partial(self._keep_pick, key))
        self.marks.picked.connect(self._speak_of)
        self.tiles.moved.connect(self._read_tile)
        self.tiles.opened.connect(self._open_tile)
        self.tiles.chosen_changed.connect(self._tell_chosen)
        self.tiles.dropped.connect(self.take_photos)
        self.photos_button.clicked.connect(self.pick_photos)
        self.photos.busy.connect(self.photos_button.setDisabled)
        self.step.inspect_asked.connect(self.start_inspecting)
        self.step.sheet_asked.connect(self.open_sheet)
        self.print_button.clicked.connect(partial(self.open_sheet, "mixing"))
        self.inspect.saved.connect(self._inspect_next)
        self.inspect.ended.connect(self.end_inspecting)
        on_print(self, partial(self.open_sheet, "mixing"))

    def showEvent(self, event: QShowEvent) -> None:
        """Qt: it stands in its scrolled area by now."""
        super().showEvent(event)
        upward = self.parentWidget()
        while upward is not None and not isinstance(upward, QScrollArea):
            upward = upward.parentWidget()
        if upward is not None:
            self.drift.watch(upward)

    def change(self, session: Session, **fields: Any) -> None:
        change_plan(session, self.ident, self._version, **fields)

    def _keep_pick(self, key: str, ident: object) -> None:
        self.keep(key, ident if ident != NONE else None)

    # What is shown

    def show_page(self, page: PlanPage) -> None:
        if self._page is None or self._page.plan_id != page.plan_id:
            self.tiles.choose([])
            self.inspect.hide()
            self._follow_inspecting()
        self._page, self._version = page, page.version
        made = any(tile.piece_id is not None for tile in page.tiles)
        self.photos_button.setVisible(made)
        kind = PLAN_KINDS[page.kind]
        tiles = f"{len(page.tiles)} tile{'' if len(page.tiles) == 1 else 's'}"
        self.head.quiet.setText(f"{kind[0].upper()}{kind[1:]}, {tiles}, code {page.code}")
        self.question.set_text(page.question)
        self.lesson.set_text(page.lesson)
        self.next_time.set_text(page.next_time)
        self.sheet.show_values({"code": page.code, "cone": page.cone})
        self._offer(page)
        self.corners.show_page(page)
        self._show_tiles(page)
        self.step.show_page(page)
        self._tell_chosen()
        named = "mixing" if page.mixing is not None else "glazing"
        self.print_button.setAccessibleName(f"Print the {named} sheet")

    def _offer(self, page: PlanPage) -> None:
        clays, forms, programs = self.desk.read(
            lambda session: (
                list_clays(session, archived=True, counted=False),
                list_forms(session, archived=True),
                list_programs(session, archived=True),
            )
        )
        nothing = Choice(NONE, "not said")
        for pick, choices, ident in (
            (self.clay, [Choice(one.clay_id, one.name) for one in clays], page.clay_id),
            (self.form, [Choice(one.form_id, one.name) for one in forms], page.form_id),
            (self.program, [Choice(one.program_id, one.name) for one in programs],
             page.program_id),
        ):  # fmt: skip
            pick.pick.set_choices([nothing, *choices])
            pick.choose(ident)

    def _show_tiles(self, page: PlanPage) -> None:
        found = speakers(page)
        self.marks.set_choices(speaker_choices(found))
        speaking = self._speaking(found)
        self.marks.choose(speaking.key)
        self.tiles.show_cells(cells_of_page(page, speaking.mark))
        self.hint.setText(
            "Arrow keys walk the tiles, Enter opens the piece, Space chooses tiles, Ctrl A all. "
            "Photos dropped on a tile go to it and to those after it."
        )

    def _speaking(self, found: tuple[Speaking, ...]) -> Speaking:
        return next((one for one in found if one.key == self._speaks), found[0])

    def _speak_of(self, key: object) -> None:
        self._speaks = str(key)
        if self._page is not None:
            self._show_tiles(self._page)

    # The tiles

    def _tile_at(self, position: int) -> PlanTileLine | None:
        page = self._page
        if page is None:
            return None
        return next((tile for tile in page.tiles if tile.position == position), None)

    def _read_tile(self, position: int) -> None:
        if self._page is None:
            return
        tile = self._tile_at(position)
        self.reading.show_tile(self._page, tile)
        if self.inspect.isVisibleTo(self) and tile is not None:
            self._ask_about(tile)

    def _open_tile(self, position: int) -> None:
        tile = self._tile_at(position)
        if tile is not None and tile.piece_id is not None:
            self.desk.show("piece", tile.piece_id)
        elif tile is not None:
            self.desk.notices.say(f"{tile.code} is not made yet: make the pieces first.")

    def _tell_chosen(self) -> None:
        chosen = self.tiles.chosen()
        tiles = [self._tile_at(position) for position in chosen]
        self.step.show_chosen(tuple(tile.tile_id for tile in tiles if tile is not None))
        count = len(chosen)
        self._lie.set_quiet(f"{count} chosen" if count else "")

    # Photos of them

    def pick_photos(self) -> None:
        """Choose picture files: one a tile, from the tile one stands on."""
        current = self.tiles.current()
        paths, _ = QFileDialog.getOpenFileNames(self, "Photos of the tiles", "", PICTURE_FILES)
        if current is not None:
            self.take_photos(current.position, paths)

    def take_photos(self, position: int, paths: list[str]) -> None:
        """Add photos to this tile and those after it, in order."""
        page = self._page
        if page is not None:
            tiles = [tile for tile in page.tiles if tile.position >= position]
            self.photos.take(paths, page.code, tiles)

    # Looking at them

    def _fired(self) -> list[PlanTileLine]:
        page = self._page
        return [tile for tile in page.tiles if tile.stage in _FIRED] if page is not None else []

    def start_inspecting(self) -> None:
        """Look at the fired tiles, from the first nobody looked at."""
        fired = self._fired()
        if not fired:
            return
        first = next((tile for tile in fired if not tile.looked_at), fired[0])
        self.inspect.begin()
        self._follow_inspecting()
        self.tiles.go_to(first.position)
        self._ask_about(first)

    def _follow_inspecting(self) -> None:
        """While tiles are looked at, what is asked of one stands first, its photo beside it."""
        looking = self.inspect.isVisibleTo(self)
        for section in (self._asks, self.step):
            section.setVisible(not looking)
        if looking != self._looking:
            self._looking = looking
            self.looking_changed.emit()

    def _ask_about(self, tile: PlanTileLine) -> None:
        fired = self._fired()
        idents = [one.tile_id for one in fired]
        if tile.tile_id in idents:
            place = idents.index(tile.tile_id)
            self.inspect.show_tile(fired[place], place + 1, len(fired))

    def _inspect_next(self) -> None:
        current = self.tiles.current()
        later = [tile for tile in self._fired() if current and tile.position > current.position]
        if later:
            self.tiles.go_to(later[0].position)
            self._ask_about(later[0])
        else:
            self.end_inspecting()

    def end_inspecting(self) -> None:
        """Back to the tiles."""
        self.inspect.hide()
        self._follow_inspecting()
        self.tiles.setFocus()

    # Papers

    def open_sheet(self, which: str) -> None:
        """Look at a paper, to print it or save it."""
        try:
            open_paper(self.desk, which, self.ident, self)
        except UserProblem as problem:
            self.step.problem.say(problem.sentence)
