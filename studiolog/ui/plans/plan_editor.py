"""A new plan: kind, glazes and steps at the top, and under them the tiles as they will lie.

What is typed is laid out as it is typed; nothing is stored before *Make the plan*.
"""

import sys
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from importlib import import_module

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from studiolog.craft.firing.cones import show_cone
from studiolog.craft.words import PLAN_KINDS
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.jobs import Progress
from studiolog.journal.clays import ClayLine, list_clays
from studiolog.journal.forms import FormLine, list_forms
from studiolog.journal.glazes import GlazeLine, list_glazes
from studiolog.journal.materials import known_names
from studiolog.journal.plans import PlanDraft, PlanPreview, add_plan, next_code, preview_plan
from studiolog.journal.programs import ProgramLine, list_programs
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice
from studiolog.ui.parts.fields import LineField, NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.plan_wanted import PlanWanted
from studiolog.ui.parts.section import EmptyState, Hairline, Section, primary_button
from studiolog.ui.parts.swatch import ClayLook
from studiolog.ui.parts.text import Caption, Text, Words
from studiolog.ui.parts.typed import write_number
from studiolog.ui.plans.cells import cells_of_preview
from studiolog.ui.plans.corner_fields import CornerFields
from studiolog.ui.plans.kind_choice import KindChoice
from studiolog.ui.plans.labelled_pick import NONE, LabelledPick
from studiolog.ui.plans.preview_words import corner_lines, preview_sums, tile_lines
from studiolog.ui.plans.steps_fields import USUAL, StepsFields
from studiolog.ui.plans.tile_layout import TileLayout

_DELAY_MS, _SLOW_MS = 120, 600
_WORKED_OUT = "silica_alumina"
_SOLVER, _LOADING = "scipy.optimize", "load the solver"


@dataclass(frozen=True)
class _Choices:
    glazes: tuple[GlazeLine, ...]
    clays: tuple[ClayLine, ...]
    forms: tuple[FormLine, ...]
    programs: tuple[ProgramLine, ...]
    code: str
    materials: tuple[str, ...]


def _read_choices(session: Session) -> _Choices:
    return _Choices(
        tuple(list_glazes(session, counted=False)),
        tuple(list_clays(session, counted=False)),
        tuple(list_forms(session)),
        tuple(list_programs(session)),
        next_code(session),
        tuple(known_names(session)),
    )


def _load_solver(_progress: Progress) -> None:
    """Loading it takes a second or two, which the window must not stand still for."""
    import_module(_SOLVER)


class PlanEditor(QWidget):
    """``made`` carries the id of the plan made, ``left`` tells that it was given up."""

    made = Signal(int)
    left = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._preview: PlanPreview | None = None
        self._programs: dict[int, str] = {}
        self._build()
        self._connect()

    def _build(self) -> None:
        self.kind = KindChoice()
        self.corners = CornerFields()
        self.steps = StepsFields()
        self.layout_view = TileLayout("Tiles as they will lie")
        self.why_not = Text("", "body", tone="ink2", wrap=True)
        self.sums = Text("", "secondary", tone="ink", wrap=True)
        self.tile = Text("", "secondary", tone="ink2", wrap=True)
        self.told = Text("", "secondary", tone="ochre", wrap=True)
        self.name = LineField("Name of the plan", hint="Kelp to Chalk")
        self.code = LineField("Code", hint="B")
        self.question = LineField("What it should answer", hint="Where does it turn matt?")
        self.clay = LabelledPick("Clay")
        self.form = LabelledPick("Form of the tiles")
        self.cone = LineField("Cone", hint="6, 5½ or 04")
        self.program = LabelledPick("Program")
        self.tile_g = NumberField("Dry glaze a tile", "g", None, 1, 0.1, 5000)
        self.problem = ProblemLine()
        self.make_button = primary_button("Make the plan")
        self.make_button.setToolTip("Ctrl Enter")
        self.leave_button = QPushButton("Leave")
        self.leave_button.setAccessibleName("Leave the new plan")
        self.no_glazes = EmptyState(
            "A plan starts from glazes.",
            "Enter a glaze with its recipe first; then come back here.",
            "Go to the glazes",
        )
        self._lay_out()

    def _lay_out(self) -> None:
        px = theme.current().px
        self.form_body = QWidget()
        rows = QVBoxLayout(self.form_body)
        rows.setContentsMargins(0, 16, 8, 24)
        rows.setSpacing(20)
        rows.addWidget(Words("New test plan", "title", 600))
        rows.addWidget(self.no_glazes)
        kind = Section("Kind")
        kind.add(self.kind)
        glazes = Section("Glazes and steps")
        glazes.body.setSpacing(16)
        glazes.add(self.corners)
        glazes.add(self.steps)
        lie = Section("As it will lie")
        for widget in (self.why_not, self.layout_view, self.tile, self.sums, self.told):
            lie.add(widget)
        rest = Section("Tiles and firing")
        flow = FlowLayout(spacing=20, line_spacing=12)
        for field in (self.name, self.code, self.clay, self.form, self.cone, self.program,
                      self.tile_g):  # fmt: skip
            flow.addWidget(field)
        self.name.line.setFixedWidth(px(220))
        self.code.line.setFixedWidth(px(64))
        self.cone.line.setFixedWidth(px(96))
        rest.body.setSpacing(12)
        rest.add(flow)
        rest.add(self.question)
        rest.add(
            Caption(
                "What the scale can't weigh well enough is said above: a larger tile or fewer "
                "steps help.",
                wrap=True,
            )
        )
        self._sections = (kind, glazes, lie, rest)
        for section in self._sections:
            rows.addWidget(section)
        rows.addStretch(1)
        self.form_body.setMaximumWidth(px(1240))
        self.reel = QScrollArea()
        self.reel.setWidgetResizable(True)
        self.reel.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.reel.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.reel.setAlignment(Qt.AlignmentFlag.AlignLeft)
        self.reel.setWidget(self.form_body)
        foot = QHBoxLayout()
        foot.setContentsMargins(0, 8, 8, 12)
        foot.setSpacing(8)
        foot.addWidget(self.problem, 1)
        foot.addStretch(0)
        foot.addWidget(self.leave_button)
        foot.addWidget(self.make_button)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self.reel, 1)
        whole.addWidget(Hairline())
        whole.addLayout(foot)

    def _connect(self) -> None:
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(_DELAY_MS)
        self._later.timeout.connect(self.lay_out_now)
        self.kind.picked.connect(
            # Four corners are worked out for a grid of silica by alumina: not at every key.
            lambda kind: self._later.setInterval(_SLOW_MS if kind == _WORKED_OUT else _DELAY_MS)
        )
        self.kind.picked.connect(self._take_kind)
        self.corners.changed.connect(self._later.start)
        self.steps.changed.connect(self._later.start)
        self.steps.blend_by.picked.connect(lambda _way: self._follow_kind())
        for line in (self.tile_g, self.code, self.cone):
            line.line.textEdited.connect(lambda _text: self._later.start())
        for pick in (self.clay, self.form):
            pick.pick.picked.connect(lambda _id: self._later.start())
        self.program.pick.picked.connect(self._take_program)
        self.layout_view.moved.connect(self._show_tile)
        self.make_button.clicked.connect(self.make)
        self.leave_button.clicked.connect(self.left)
        self.no_glazes.acted.connect(lambda: self._desk.show("glazes", 0, "new"))

    # What a person does

    def begin(self, wanted: PlanWanted) -> None:
        """A new plan, with nothing chosen but what is wanted."""
        self.refresh()
        self.kind.choose(wanted.kind)
        self.corners.clear()
        self.steps.show_options(replace(USUAL, amounts=wanted.steps))
        for line in (self.name, self.question, self.cone):
            line.set_text("")
        self.tile_g.set_value(None)
        for pick in (self.clay, self.form, self.program):
            pick.choose(NONE)
        self.problem.say("")
        self._take_kind(wanted.kind)
        self.corners.choose(wanted.glaze_ids)
        self.clay.choose(wanted.clay_id)
        self.question.set_text(wanted.question)
        self.lay_out_now()
        self.reel.verticalScrollBar().setValue(0)
        self.kind.buttons[wanted.kind].setFocus(Qt.FocusReason.ShortcutFocusReason)

    def refresh(self) -> None:
        """What there is to choose from may have changed."""
        choices = self._desk.read(_read_choices)
        self.corners.set_glazes(choices.glazes)
        self.steps.set_materials(choices.materials)
        nothing = Choice(NONE, "not said")
        self.clay.pick.set_choices(
            [nothing, *(Choice(one.clay_id, one.name,
                               ClayLook(one.name, one.colour, one.specks))
                        for one in choices.clays)]
        )  # fmt: skip
        self.form.pick.set_choices(
            [nothing, *(Choice(one.form_id, one.name) for one in choices.forms)]
        )
        self.program.pick.set_choices(
            [nothing, *(Choice(one.program_id, one.name) for one in choices.programs)]
        )
        self._programs = {one.program_id: one.cone or "" for one in choices.programs}
        if not self.code.text():
            self.code.set_text(choices.code)
        self.no_glazes.setVisible(not choices.glazes)
        for section in self._sections:
            section.setVisible(bool(choices.glazes))
        self.make_button.setEnabled(bool(choices.glazes))

    def _take_kind(self, _kind: str) -> None:
        self._follow_kind()
        self.steps.set_kind(self.kind.chosen())
        self.corners.set_problem("")
        self._later.start()

    def _follow_kind(self) -> None:
        kind = self.kind.chosen()
        self.corners.set_kind(kind, self.steps.by_volume_of(kind))

    def _take_program(self, program_id: object) -> None:
        """A program brings its cone."""
        cone = self._programs.get(program_id) if isinstance(program_id, int) else None
        if cone:
            self.cone.set_text(show_cone(cone))
        self._later.start()

    def draft(self) -> PlanDraft:
        """The plan as it is filled in. Raises UserProblem with the field it speaks of."""
        corners = self.corners.drafts()
        options = self.steps.options()
        return PlanDraft(
            name=self.name.text() or self.proposed_name(),
            kind=self.kind.chosen(),
            corners=corners,
            made_on=date.today(),
            code=self.code.text(),
            options=options,
            clay_id=self.clay.ident(),
            form_id=self.form.ident(),
            program_id=self.program.ident(),
            cone=self.cone.text().replace("cone", "").strip(),
            tile_dry_g=self.tile_g.value(),
            question=self.question.text(),
        )

    def proposed_name(self) -> str:
        """What the plan is called if nobody names it: its glazes and its kind."""
        names = self.corners.names()
        kind = self.kind.chosen()
        if not names:
            return ""
        match kind:
            case "line":
                return " to ".join(names)
            case "additions":
                added = [one.text() for one in (self.steps.material, self.steps.second)]
                return f"{names[0]} with {' and '.join(filter(None, added))}"
            case "over_under":
                return "Over and under: " + ", ".join(names)
            case "silica_alumina":
                return f"{names[0]}, {PLAN_KINDS[kind]}"
            case "thickness":
                return f"Thickness of {', '.join(names)}"
            case _:
                return ", ".join(names)

    def lay_out_now(self) -> None:
        """Lay out what is filled in so far, and say what is wanting."""
        self._later.stop()
        self._clear_problems()
        self.name.line.setPlaceholderText(self.proposed_name() or "Kelp to Chalk")
        preview: PlanPreview | None = None
        if self.kind.chosen() == _WORKED_OUT and not self._solver_is_loaded():
            self.why_not.setText("Working out the four corners …")
            self.why_not.set_tone("ink3")
            self._show(None)
            return
        try:
            draft = self.draft()
            preview = self._desk.read(partial(preview_plan, draft=draft))
        except UserProblem as problem:
            # Before all glazes are chosen that is no mistake yet, only what to do next.
            chosen = len(self.corners.names()) == len(self.corners.corners)
            self.why_not.setText(problem.sentence)
            self.why_not.set_tone("rust" if chosen else "ink2")
            if chosen:
                self._tell(problem)
        self._show(preview)

    def _solver_is_loaded(self) -> bool:
        """Whether a grid can be worked out at once; if not, what it takes is loaded beside."""
        if _SOLVER in sys.modules:
            return True
        if not self._desk.jobs.is_running(_LOADING):
            self._desk.jobs.start(
                _LOADING, _load_solver, lambda _done: self.lay_out_now(), self._hear_no_solver
            )
        return False

    def _hear_no_solver(self, problem: Exception) -> None:
        raise problem

    def make(self) -> None:
        """Store the plan; what is wrong is said by its field."""
        self.lay_out_now()
        try:
            draft = self.draft()
            plan_id = self._desk.edits.run(
                f"Make plan {draft.name}", partial(add_plan, draft=draft)
            )
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            field = self._tell(problem)
            if field is not None:
                field.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        self.code.set_text("")
        self.made.emit(plan_id)

    def _clear_problems(self) -> None:
        self.problem.say("")
        self.corners.set_problem("")
        self.steps.clear_problems()
        for line in (self.name, self.code, self.cone, self.tile_g):
            line.set_problem("")

    def _tell(self, problem: UserProblem) -> QWidget | None:
        """Say it by its field; returns what to give the keyboard."""
        own: dict[str, LineField] = {
            "name": self.name, "code": self.code, "cone": self.cone, "tile_dry_g": self.tile_g,
        }  # fmt: skip
        for key, sentence in problem.fields.items():
            words = sentence if sentence.endswith((".", "?")) else problem.sentence
            if key in own:
                own[key].set_problem(words)
                return own[key].line
            if key in ("corners", "specific_gravity"):
                self.corners.set_problem(words)
                return self.corners.wanting()
            if self.steps.say_problem(key, words):
                return self.steps
        return None

    # Showing

    def _show(self, preview: PlanPreview | None) -> None:
        self._preview = preview
        for widget in (self.layout_view, self.tile, self.sums):
            widget.setVisible(preview is not None)
        self.why_not.setVisible(preview is None)
        self.told.setVisible(preview is not None and bool(preview.remarks))
        if preview is None:
            return
        self.layout_view.show_cells(cells_of_preview(preview))
        given = (preview.base,) if preview.base is not None else preview.corners
        self.corners.show_usual([one.specific_gravity for one in given if one is not None])
        self.sums.setText("\n".join((preview_sums(preview), *corner_lines(preview))))
        if preview.mixing is not None:
            usual = write_number(preview.mixing.tile_dry_g, 1)
            self.tile_g.line.setPlaceholderText(usual)
        self.told.setText("\n".join(preview.remarks))
        current = self.layout_view.current()
        self._show_tile(current.position if current is not None else 0)

    def _show_tile(self, position: int) -> None:
        preview = self._preview
        tile = next((one for one in preview.tiles if one.position == position), None) if (
            preview is not None
        ) else None  # fmt: skip
        self.tile.setText("\n".join(tile_lines(tile)) if tile is not None else "")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        control = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if control and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.make()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)
