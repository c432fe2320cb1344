"""The programs: a list, and the page of one."""

from collections.abc import Sequence

from studiolog.craft.firing.cones import ordinal_of, show_cone
from studiolog.craft.firing.program import duration_s, find_problems, peak_c, planned_points
from studiolog.craft.firing.usual_programs import TO_CHECK, usual_programs
from studiolog.craft.units import show_duration, show_temperature
from studiolog.craft.words import FIRING_KINDS
from studiolog.journal.program_page import ProgramPage, read_program_page
from studiolog.journal.programs import (
    ProgramDraft,
    ProgramLine,
    add_program,
    change_program,
    delete_program,
    list_programs,
)
from studiolog.journal.session import Session
from studiolog.ui.parts.list_and_page import ListAndPage
from studiolog.ui.parts.program_look import ProgramLook
from studiolog.ui.parts.side_list import ListRow
from studiolog.ui.programs.program_view import ProgramView
from studiolog.ui.programs.segment_grid import drafts_of, planned
from studiolog.ui.programs.usual_start import UsualStart


class ProgramsScreen(ListAndPage):
    """Planned firings with their segments, what they amount to, and the firings done with them."""

    kinds = frozenset({"program", "firing", "piece", "kiln", "limit"})
    title = "Programs"
    noun, plural, counted = "program", "Programs", "firings"
    empty = (
        "Write down your firing programs.",
        "Segments of rate, target and hold, as your controller has them. The page draws the curve "
        "and tells how long it takes and which cone it amounts to.",
    )

    def make_new_more(self) -> UsualStart:
        self.usual = UsualStart()
        self.usual.picked.connect(self._propose_name)
        return self.usual

    def _propose_name(self, name: str) -> None:
        """A usual program brings its name, unless one was typed already."""
        typed = self.side.new_name.text()
        if not typed or typed in {one.name for one in usual_programs()}:
            self.side.new_name.set_text(name)

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        lines = sorted(list_programs(session, archived=archived), key=_place_of)
        return [
            ListRow(
                line.program_id,
                line.name,
                self._quiet(line),
                line.firings,
                line.archived,
                _look_of(line),
                "firings",
                _group_of(line),
            )
            for line in lines
        ]

    def _quiet(self, line: ProgramLine) -> str:
        steps = planned(line.segments)
        if not steps:
            return "no segments yet"
        words = f"to {show_temperature(peak_c(steps), self.desk.settings.temperature_unit)}"
        if not find_problems(steps):
            words += f" in {show_duration(duration_s(steps))}"
        return words

    def read_page(self, session: Session, ident: int, start: int) -> ProgramPage | None:
        return read_program_page(session, ident, start)

    def make_page(self) -> ProgramView:
        return ProgramView(self.desk)

    def add(self, session: Session, name: str) -> int:
        usual = self.usual.chosen()
        if usual is None:
            return add_program(session, ProgramDraft(name=name))
        draft = ProgramDraft(
            name=name,
            kind=usual.kind,
            cone=usual.cone,
            segments=drafts_of(usual.segments),
            notes=f"{usual.use[0].upper()}{usual.use[1:]}. {TO_CHECK}",
        )
        return add_program(session, draft)

    def add_named(self, name: str) -> None:
        super().add_named(name)
        if not self.side.new_name.problem():
            self.usual.clear()

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        change_program(session, ident, archived=archived)

    def delete(self, session: Session, ident: int) -> None:
        delete_program(session, ident)


def _group_of(line: ProgramLine) -> str:
    """The heading it stands under: what for, and to which cone."""
    kind = FIRING_KINDS[line.kind]
    cone = f"cone {show_cone(line.cone)}" if line.cone else "no cone given"
    return f"{kind[0].upper()}{kind[1:]}, {cone}"


def _place_of(line: ProgramLine) -> tuple[float, int, bool]:
    """Coolest cone first, those without one last; within a cone as the kinds are ordered."""
    number = ordinal_of(line.cone) if line.cone else float("inf")
    return number, list(FIRING_KINDS).index(line.kind), line.archived


def _look_of(line: ProgramLine) -> ProgramLook:
    """How the temperature goes; one not yet whole has no line."""
    steps = planned(line.segments)
    if not steps or find_problems(steps):
        return ProgramLook()
    elapsed_s, temperature_c = planned_points(steps)
    return ProgramLook(tuple(zip(elapsed_s.tolist(), temperature_c.tolist(), strict=True)))
