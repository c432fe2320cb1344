"""The page to share, looked at before it is printed or saved: PDF, or one HTML file."""

from pathlib import Path

from PySide6.QtWidgets import QWidget

from studiolog.desktop.desk import Desk
from studiolog.desktop.printing import save_text
from studiolog.paper.page import Page, PageSize
from studiolog.paper.review_blocks import ReviewPaper
from studiolog.paper.review_html import write_review_html
from studiolog.paper.review_page import lay_out_review
from studiolog.problems import UserProblem
from studiolog.ui.parts.paper_sheet import PaperSheet


class ReviewSheet(PaperSheet):
    """Its HTML is text that can be read and enlarged, not a picture of the pages."""

    def __init__(self, desk: Desk, paper: ReviewPaper, parent: QWidget | None = None) -> None:
        self._paper = paper
        self._told = desk.notices.say
        super().__init__(desk, paper.title, self._make, (), parent)
        if paper.remarks:
            self.why_not.say(" ".join(paper.remarks))

    def _make(self, size: PageSize) -> tuple[Page, ...]:
        return lay_out_review(self._paper, size)

    def save(self, file: Path) -> bool:
        """Save as what the file's name says. True if it was saved."""
        if file.suffix.lower() not in (".html", ".htm"):
            return super().save(file)
        try:
            save_text(write_review_html(self._paper), file)
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return False
        self.why_not.say("")
        self._told(f"Saved {file.name} in {file.parent}.")
        return True
