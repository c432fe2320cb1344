"""A review in numbers: figures beside those of the span before, then by form, kind and cause."""

from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.money import show_money
from studiolog.journal.review import Compared, Review
from studiolog.paper.review_blocks import SECTIONS, Chosen, compose_review
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.list_and_page import TwoColumns
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.sum_lines import SumLines
from studiolog.ui.parts.text import Figure

_BY = ("made", "fired", "sold", "lost")


class NumberSections(QWidget):
    """The figures, and a section each for made, fired, sold and lost."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.figures = {
            key: Figure(label, "–")
            for key, label in (
                ("made", "Pieces made"),
                ("tests", "Tests made"),
                ("firings", "Firings"),
                ("fired", "Pieces fired"),
                ("sold", "Pieces sent"),
                ("lost", "Pieces lost"),
                ("taken", "Taken in"),
            )
        }
        flow = FlowLayout(spacing=36, line_spacing=10)
        for figure in self.figures.values():
            flow.addWidget(figure)
        self.all = Section(SECTIONS["numbers"])
        self.all.add(flow)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(24)
        rows.addWidget(self.all)
        self.sections: dict[str, tuple[Section, SumLines]] = {}
        columns = TwoColumns(640)
        for key in _BY:
            section, lines = Section(SECTIONS[key]), SumLines(SECTIONS[key])
            section.add(lines)
            column = columns.main if key in ("made", "sold") else columns.side
            column.addWidget(section)
            self.sections[key] = (section, lines)
        rows.addWidget(columns)

    def show_review(self, page: Review, money: bool) -> None:
        """Show the numbers of a span."""
        for key, one in (
            ("made", page.pieces_made),
            ("tests", page.tests_made),
            ("firings", page.firings),
            ("fired", page.pieces_fired),
            ("sold", page.pieces_sold),
            ("lost", page.pieces_lost),
        ):
            self.figures[key].set_value(str(one.now), _beside(one, page.before.words))
        taken = self.figures["taken"]
        taken.setVisible(money and page.taken is not None)
        if page.taken is not None:
            before = page.taken_before
            beside = (
                f"{show_money(before, page.currency)} in {page.before.words}"
                if before
                else (f"nothing in {page.before.words}")
            )
            taken.set_value(show_money(page.taken, page.currency), beside)
        blocks = {
            block.key: block
            for block in compose_review(page, Chosen(frozenset(_BY), money=money), {}).blocks
        }
        for key, (section, lines) in self.sections.items():
            block = blocks.get(key)
            section.setVisible(block is not None)
            if block is not None:
                section.set_quiet(block.quiet)
                lines.show_lines(
                    [
                        (f"{row.words}, {row.quiet}" if row.quiet else row.words, row.value)
                        for row in block.rows
                    ]
                )


def _beside(one: Compared, before: str) -> str:
    return f"{one.before} in {before}"
