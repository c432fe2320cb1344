"""What a plan waits for, as one button with the little it needs to know; the rest as links."""

from collections.abc import Callable
from datetime import date
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QWidget

from studiolog.craft.words import FIRING_KINDS, STAGES
from studiolog.desktop.desk import Desk
from studiolog.journal.kilns import list_kilns
from studiolog.journal.piece_choices import FiringChoice, list_firing_choices
from studiolog.journal.plan_page import PlanPage
from studiolog.journal.plan_work import (
    glaze_tiles,
    make_pieces,
    mark_fired,
    put_in_firing,
    take_corners_from_stock,
)
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice
from studiolog.ui.parts.fields import DayField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Section, link_button, primary_button
from studiolog.ui.parts.text import Text
from studiolog.ui.parts.typed import write_day
from studiolog.ui.plans.labelled_pick import NONE, LabelledPick

_Edit = Callable[[Session, date], object]
_AT_HAND = ("bisque", "bone_dry", "leather_hard", "wet")
_RAW = ("wet", "leather_hard", "bone_dry")
_STILL_RAW = (
    "The pieces are made, and still raw. Their run stands on the bench, where it dries and goes "
    "through the bisque; tiles glazed raw can be marked here."
)
_ASKS = {
    "make": "The tiles are planned. Making pieces of them gives each its number and its code.",
    "glaze": "The pieces are made. Mix the glazes, glaze the tiles, and say so here.",
    "fire": "The tiles are glazed. Put them in the firing they go through.",
    "out": "The tiles stand in their firing. Say when they came out.",
    "look": "The tiles are fired. Look at each and say what you see.",
    "done": "All tiles that came through were looked at.",
}


class NextStep(Section):
    """``inspect_asked`` and ``sheet_asked`` (labels, mixing or results) speak to the page; what is
    done goes through the desk's edits."""

    inspect_asked = Signal()
    sheet_asked = Signal(str)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Next step", parent=parent)
        self._desk = desk
        self._page: PlanPage | None = None
        self._chosen: tuple[int, ...] = ()
        self._firings: dict[int, FiringChoice] = {}
        self._build()
        self._connect()

    def _build(self) -> None:
        self.asks = Text("", "body", wrap=True)
        self.day = DayField("On")
        self.stage = LabelledPick(
            "Clay at hand", [Choice(stage, STAGES[stage]) for stage in _AT_HAND], wide=148
        )
        self.stage.pick.choose("bisque")
        self.firing = LabelledPick("Firing", hint="number or name", wide=240)
        self.level = LabelledPick("Level", wide=148)
        self.make_button = primary_button("Make pieces")
        self.glaze_button = primary_button("Mark all as glazed")
        self.fire_button = primary_button("Put in the firing")
        self.out_button = primary_button("Mark as fired")
        self.look_button = primary_button("Inspect")
        self.look_button.setAccessibleName("Inspect the tiles")
        self.new_firing = link_button("Log a firing first")
        self.open_run = link_button("Open its run")
        self.problem = ProblemLine()
        self.links = {
            "labels": QPushButton("Labels …"),
            "mixing": QPushButton("Mixing sheet …"),
            "results": QPushButton("Results sheet …"),
        }
        self.stock = QPushButton("Mixed: take from stock")
        self.again = link_button("Inspect again")
        fields = FlowLayout(spacing=16, line_spacing=8)
        for widget in (self.day, self.stage, self.firing, self.level):
            fields.addWidget(widget)
        buttons = FlowLayout(spacing=8, line_spacing=8)
        for button in (self.make_button, self.glaze_button, self.out_button, self.fire_button,
                       self.look_button, self.new_firing):  # fmt: skip
            buttons.addWidget(button)
        for link in (*self.links.values(), self.stock, self.again, self.open_run):
            link.setAutoDefault(False)
            buttons.addWidget(link)
        self.body.setSpacing(12)
        self.add(self.asks)
        self.add(fields)
        self.add(buttons)
        self.add(self.problem)

    def _connect(self) -> None:
        self.make_button.clicked.connect(self.make)
        self.glaze_button.clicked.connect(self.glaze)
        self.fire_button.clicked.connect(self.fire)
        self.out_button.clicked.connect(self.come_out)
        self.look_button.clicked.connect(self.inspect_asked)
        self.again.clicked.connect(self.inspect_asked)
        self.stock.clicked.connect(self.take)
        self.new_firing.clicked.connect(self._log_firing)
        self.open_run.clicked.connect(self._open_run)
        self.firing.pick.picked.connect(lambda _id: self._offer_levels())
        for key, link in self.links.items():
            link.setAccessibleName(link.text().removesuffix(" …"))
            link.clicked.connect(partial(self.sheet_asked.emit, key))

    def show_page(self, page: PlanPage) -> None:
        """Offer the next step of this plan."""
        new = self._page is None or self._page.plan_id != page.plan_id
        step = step_of(page)
        if new or self._page is None or step_of(self._page) != step:
            self.problem.say("")
            self.day.set_day(date.today())
        self._page = page
        self.set_quiet(progress_words(page))
        raw = step == "glaze" and any(tile.stage in _RAW for tile in page.tiles)
        self.asks.setText(_STILL_RAW if raw else _ASKS[step])
        self.open_run.setVisible(page.run_id is not None)
        self.day.setVisible(step in ("make", "glaze", "out"))
        self.stage.setVisible(step == "make")
        self.firing.setVisible(step == "fire")
        self.level.setVisible(step == "fire")
        self.new_firing.setVisible(step == "fire")
        for key, button in (
            ("make", self.make_button), ("glaze", self.glaze_button),
            ("fire", self.fire_button), ("out", self.out_button), ("look", self.look_button),
        ):  # fmt: skip
            button.setVisible(step == key)
        mixed = page.mixing is not None
        self.links["mixing"].setText("Mixing sheet …" if mixed else "Glazing sheet …")
        self.links["mixing"].setAccessibleName("Mixing sheet" if mixed else "Glazing sheet")
        self.links["results"].setVisible(any(tile.piece_id is not None for tile in page.tiles))
        self.stock.setVisible(mixed and not page.taken_from_stock)
        fired = any(tile.stage in ("fired", "finished") for tile in page.tiles)
        self.again.setVisible(fired and step != "look")
        if step == "fire":
            self._offer_firings(page)
        self.show_chosen(self._chosen)

    def show_chosen(self, tile_ids: tuple[int, ...]) -> None:
        """The tiles chosen in the layout: what is done is done to those, or to all."""
        self._chosen = tile_ids
        count = len(tile_ids)
        some = "the chosen tile" if count == 1 else f"the {count} chosen tiles"
        self.glaze_button.setText(f"Mark {some if count else 'all'} as glazed")
        self.glaze_button.setAccessibleName(self.glaze_button.text())
        self.fire_button.setText(f"Put {some} in the firing" if count else "Put in the firing")
        self.fire_button.setAccessibleName(self.fire_button.text())
        self.out_button.setText(f"Mark {some} as fired" if count else "Mark as fired")
        self.out_button.setAccessibleName(self.out_button.text())

    def _offer_firings(self, page: PlanPage) -> None:
        kept = self.firing.ident()
        choices = self._desk.read(list_firing_choices)
        self._firings = {one.firing_id: one for one in choices}
        self.firing.pick.set_choices([Choice(one.firing_id, _firing_words(one)) for one in choices])
        if kept in self._firings:
            self.firing.choose(kept)
        self.new_firing.setText("Log a new firing" if choices else "Log a firing first")
        self.new_firing.setAccessibleName(self.new_firing.text())
        self._offer_levels()

    def _offer_levels(self) -> None:
        firing = self._firings.get(self.firing.ident() or NONE)
        levels = []
        if firing is not None:
            kilns = self._desk.read(lambda session: list_kilns(session, archived=True))
            levels = [lev for kiln in kilns if kiln.kiln_id == firing.kiln_id
                      for lev in kiln.levels]  # fmt: skip
        self.level.pick.set_choices(
            [Choice(NONE, "not said"), *(Choice(lev.level_id, lev.name) for lev in levels)]
        )
        self.level.choose(NONE)

    def _open_run(self) -> None:
        if self._page is not None and self._page.run_id is not None:
            self._desk.show("run", self._page.run_id)

    def _log_firing(self) -> None:
        program = self._page.program_id if self._page is not None else None
        self._desk.show("firings", 0, ("log firing", program) if program else None)

    # What is done

    def make(self) -> None:
        """Make a piece of every tile."""
        page = self._page
        if page is None:
            return
        stage = str(self.stage.pick.chosen() or "bisque")
        self._run(
            f"Make the pieces of plan {page.code}",
            lambda session, day: make_pieces(session, page.plan_id, day, stage=stage),
        )

    def glaze(self) -> None:
        """Mark the tiles as glazed: the chosen ones, or all that are not yet."""
        page, chosen = self._page, self._chosen
        if page is None:
            return
        self._run(
            f"Glaze the tiles of plan {page.code}",
            lambda session, day: glaze_tiles(session, page.plan_id, day, chosen or None),
        )

    def take(self) -> None:
        """What was weighed for the corners leaves the stock."""
        page = self._page
        if page is None:
            return
        self._run(
            f"Mix the glazes of plan {page.code}",
            lambda session, day: take_corners_from_stock(session, page.plan_id, day),
        )

    def fire(self) -> None:
        """Put the tiles in the firing chosen."""
        page, chosen, firing_id = self._page, self._chosen, self.firing.ident()
        if page is None:
            return
        if firing_id is None:
            self.problem.say("Choose the firing they go through.")
            self.firing.pick.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        level_id = self.level.ident()
        self._run(
            f"Put the tiles of plan {page.code} in firing {self._firings[firing_id].number}",
            lambda session, _day: put_in_firing(
                session, page.plan_id, firing_id, level_id, chosen or None
            ),
        )

    def come_out(self) -> None:
        """Mark the tiles as fired: the chosen ones, or all that stand in a firing."""
        page, chosen = self._page, self._chosen
        if page is None:
            return
        self._run(
            f"Fire the tiles of plan {page.code}",
            lambda session, day: mark_fired(session, page.plan_id, day, chosen or None),
        )

    def _run(self, label: str, edit: _Edit) -> None:
        try:
            day = self.day.day() or date.today()

            def act(session: Session) -> object:
                return edit(session, day)

            self._desk.edits.run(label, act)
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self.problem.say("")
        self._desk.notices.say(f"{label}: done.", "Undo", self._desk.edits.undo)


def step_of(page: PlanPage) -> str:
    """What the plan waits for: "make", "glaze", "fire", "out" (of the kiln), "look" or "done"."""
    step = page.next_step
    glazed = [tile for tile in page.tiles if tile.stage == "glazed"]
    if step == "fire" and glazed and all(tile.firing_id is not None for tile in glazed):
        return "out"
    return step


def progress_words(page: PlanPage) -> str:
    """How far the tiles came: ``3 of 5 fired``."""
    whole = len(page.tiles)
    for words, count in (
        ("looked at", sum(tile.looked_at for tile in page.tiles)),
        ("fired", sum(tile.stage in ("fired", "finished") for tile in page.tiles)),
        ("glazed", sum(tile.stage in ("glazed", "fired", "finished") for tile in page.tiles)),
        ("made", sum(tile.piece_id is not None for tile in page.tiles)),
    ):
        if count:
            return f"{count} of {whole} {words}"
    return f"{whole} planned"


def _firing_words(firing: FiringChoice) -> str:
    """``87, glaze cone 6, 2 Oct 2026``."""
    words = f"{firing.number}, {FIRING_KINDS[firing.kind]}"
    if firing.title:
        words += f" {firing.title}"
    elif firing.cone:
        words += f" cone {firing.cone}"
    return f"{words}, {write_day(firing.started_at.date())}"
