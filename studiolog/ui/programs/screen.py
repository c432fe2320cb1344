"""The programs: a list, and the page of one."""

from collections.abc import Sequence

from studiolog.craft.firing.cones import show_cone
from studiolog.craft.firing.program import find_problems, planned_points
from studiolog.craft.units import show_temperature
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
from studiolog.ui.programs.segment_grid import planned


class ProgramsScreen(ListAndPage):
    """Planned firings with their segments, what they amount to, and the firings done with them."""

    kinds = frozenset({"program", "program_segment", "firing", "curve", "inspection"})
    title = "Programs"
    noun, plural, counted = "program", "Programs", "firings"
    empty = (
        "Write down your firing programs.",
        "Segments of rate, target and hold, as your controller has them. The page draws the curve "
        "and tells how long it takes and which cone it amounts to.",
    )

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        return [
            ListRow(
                line.program_id,
                line.name,
                self._quiet(line),
                line.firings,
                line.archived,
                _look_of(line),
                "firings",
            )
            for line in list_programs(session, archived=archived)
        ]

    def _quiet(self, line: ProgramLine) -> str:
        words = [FIRING_KINDS[line.kind]]
        if line.cone:
            words.append(f"cone {show_cone(line.cone)}")
        if line.segments:
            peak = max(segment.target_c for segment in line.segments)
            words.append(f"to {show_temperature(peak, self.desk.settings.temperature_unit)}")
        return " · ".join(words)

    def read_page(self, session: Session, ident: int, start: int) -> ProgramPage | None:
        return read_program_page(session, ident, start)

    def make_page(self) -> ProgramView:
        return ProgramView(self.desk)

    def add(self, session: Session, name: str) -> int:
        return add_program(session, ProgramDraft(name=name))

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        change_program(session, ident, archived=archived)

    def delete(self, session: Session, ident: int) -> None:
        delete_program(session, ident)


def _look_of(line: ProgramLine) -> ProgramLook:
    """How the temperature goes; one not yet whole has no line."""
    steps = planned(line.segments)
    if not steps or find_problems(steps):
        return ProgramLook()
    elapsed_s, temperature_c = planned_points(steps)
    return ProgramLook(tuple(zip(elapsed_s.tolist(), temperature_c.tolist(), strict=True)))
