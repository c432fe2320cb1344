"""How a form is made: its steps with stage, minutes and hands, and the zones it is glazed in."""

from collections.abc import Sequence

from studiolog.craft.units import show_duration
from studiolog.craft.words import STAGES, ZONES
from studiolog.journal.form_page import FormPage
from studiolog.journal.form_steps import MOST_PERSONS, MakingStep, set_steps, set_zones
from studiolog.problems import UserProblem
from studiolog.ui.parts.grid_editor import Cell, GridColumn, GridEditor
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Section

STEPS = (
    GridColumn("Step", needed=True),
    GridColumn("Minutes", "number", "", 1, 0, 10000, width=84),
    GridColumn("Stage", width=112),
    GridColumn("Persons", "number", "", 0, 1, MOST_PERSONS, width=84),
)
WORK_STAGES = {key: words for key, words in STAGES.items() if key != "lost"}


def read_stage(text: str) -> str | None:
    """A stage by its word, or by how only one begins; "" is None. Raises `UserProblem`."""
    said = " ".join(text.casefold().split())
    if not said:
        return None
    exact = [key for key, words in WORK_STAGES.items() if words == said]
    begun = exact or [key for key, words in WORK_STAGES.items() if words.startswith(said)]
    if len(begun) != 1:
        raise UserProblem(f"“{text}” is not a stage: {', '.join(WORK_STAGES.values())}.")
    return begun[0]


def read_steps(rows: Sequence[tuple[Cell, ...]]) -> list[MakingStep]:
    """The rows of the table as steps. Raises `UserProblem` naming the row."""
    steps: list[MakingStep] = []
    for place, (name, minutes, stage, persons) in enumerate(rows, start=1):
        try:
            at = read_stage(str(stage or ""))
        except UserProblem as problem:
            raise UserProblem(f"Step {place}: {problem.sentence}") from problem
        several = 1 if persons is None else float(str(persons))
        if several != int(several):
            raise UserProblem(f"Step {place}: persons are counted whole.")
        took = None if minutes is None else float(str(minutes))
        steps.append(MakingStep(str(name), took, at, int(several)))
    return steps


class StepsSection(Section):
    """The steps in order; the head says what one piece takes."""

    def __init__(self, page: ThingPage) -> None:
        super().__init__("Steps")
        self._page = page
        self.grid = GridEditor("Steps", STEPS, "Step")
        self.grid.offer(2, lambda: list(WORK_STAGES.values()))
        self.add(self.grid)
        self.grid.edited.connect(self._keep)

    def show_page(self, page: FormPage) -> None:
        self.grid.set_rows(
            [
                (
                    step.name,
                    step.minutes,
                    WORK_STAGES[step.stage] if step.stage else "",
                    step.persons if step.persons > 1 else None,
                )
                for step in page.making
            ]
        )
        if not page.making:
            self.set_quiet("thrown, trimmed, glazed …")
            return
        quiet = f"{show_duration(page.minutes * 60)} for one piece"
        if page.untimed:
            quiet += f", {page.untimed} without minutes"
        self.set_quiet(quiet)

    def _keep(self) -> None:
        ident = self._page.ident
        try:
            steps = read_steps(self.grid.rows())
        except UserProblem as problem:
            self.grid.set_problem(problem.sentence)
            return
        self._page.run(
            f"Steps of {self._page.head.name.text()}",
            lambda session: set_steps(session, ident, steps),
            self.grid.set_problem,
        )


class ZonesSection(Section):
    """The parts that are glazed one by one; none: the whole at once."""

    def __init__(self, page: ThingPage) -> None:
        super().__init__("Zones it is glazed in")
        self._page = page
        self.grid = GridEditor("Zones", (GridColumn("Zone", needed=True),), "Zone")
        self.grid.offer(0, lambda: [*ZONES, "body", "handle", "lid", "panels"])
        self.add(self.grid)
        self.grid.edited.connect(self._keep)

    def show_page(self, page: FormPage) -> None:
        self.grid.set_rows([(zone,) for zone in page.zones])
        self.set_quiet("one by one, in this order" if page.zones else "the whole at once")

    def _keep(self) -> None:
        ident = self._page.ident
        names = [str(name) for (name,) in self.grid.rows()]
        self._page.run(
            f"Zones of {self._page.head.name.text()}",
            lambda session: set_zones(session, ident, names),
            self.grid.set_problem,
        )
