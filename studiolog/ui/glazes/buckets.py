"""The buckets of a glaze: mixed on a day, with dry weight, water, specific gravity, adjustments."""

from collections.abc import Sequence
from datetime import date
from typing import cast

from PySide6.QtWidgets import QWidget

from studiolog.journal.glaze_page import BucketLine, GlazePage
from studiolog.journal.glazes import add_bucket, change_bucket, delete_bucket
from studiolog.journal.session import Session
from studiolog.ui.parts.grid_editor import Cell, GridColumn, GridEditor
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption

COLUMNS = (
    GridColumn("Mixed on", "day", width=102, needed=True),
    GridColumn("Dry", "number", "g", 0, 1, None, width=62),
    GridColumn("Water", "number", "g", 0, 0, None, width=78),
    GridColumn("Sp. gr.", "number", "", 2, 1.01, 2.99, width=64),
    GridColumn("Adjustments"),
    GridColumn("Used up", "tick", width=76),
)


class BucketSection(Section):
    """The newest bucket on top; a new one is typed into the empty line."""

    def __init__(self, page: ThingPage, parent: QWidget | None = None) -> None:
        super().__init__("Buckets", parent=parent)
        self._page = page
        self._lines: tuple[BucketLine, ...] = ()
        self.grid = GridEditor("Buckets", COLUMNS, "Bucket", movable=False)
        self.add(self.grid)
        self.add(
            Caption(
                "Stir, sieve and let it stand before you weigh: specific gravity is the mass of "
                "100 ml in grams, divided by 100.",
                wrap=True,
            )
        )
        self.grid.edited.connect(self._keep)

    def show_page(self, page: GlazePage) -> None:
        self._lines = page.buckets
        self.grid.set_rows([_cells(line) for line in page.buckets])
        in_use = sum(not line.used_up for line in page.buckets)
        self.set_quiet(f"{in_use} in use" if page.buckets else "none mixed yet")

    def _keep(self) -> None:
        rows, lines, ident = self.grid.rows(), self._lines, self._page.ident

        def edit(session: Session) -> None:
            keep_buckets(session, ident, lines, rows)

        def say(sentence: str) -> None:
            if sentence:
                self.grid.put_back([_cells(line) for line in self._lines], sentence)

        self._page.run(f"Buckets of {self._page.head.name.text()}", edit, say)


def keep_buckets(
    session: Session, glaze_id: int, lines: Sequence[BucketLine], rows: Sequence[tuple[Cell, ...]]
) -> None:
    """Bring the stored buckets to what stands in the table.

    As many rows as before: row by row. One fewer: the first that differs was removed. More: the
    last ones are new.
    """
    before = [_cells(line) for line in lines]
    kept = list(lines)
    if len(rows) < len(before):
        gone = next(
            (place for place, row in enumerate(rows) if row != before[place]), len(before) - 1
        )
        delete_bucket(session, kept.pop(gone).bucket_id)
        before.pop(gone)
    for line, old, row in zip(kept, before, rows, strict=False):
        if row != old:
            mixed_on, dry_g, water_g, gravity, adjustments, used_up = row
            change_bucket(
                session,
                line.bucket_id,
                line.version,
                mixed_on=mixed_on,
                dry_g=dry_g,
                water_g=water_g,
                specific_gravity=gravity,
                adjustments=adjustments,
                used_up=used_up,
            )
    for row in rows[len(kept) :]:
        add_bucket(
            session,
            glaze_id,
            cast(date, row[0]),
            dry_g=cast("float | None", row[1]),
            water_g=cast("float | None", row[2]),
            specific_gravity=cast("float | None", row[3]),
            adjustments=str(row[4] or ""),
        )


def _cells(line: BucketLine) -> tuple[Cell, ...]:
    return (
        line.mixed_on,
        line.dry_g,
        line.water_g,
        line.specific_gravity,
        line.adjustments,
        line.used_up,
    )
