"""Which cell of a matrix is chosen when another page of findings is shown."""

from studiolog.journal.findings_page import CellPage, FindingsPage


def first_cell(page: FindingsPage) -> tuple[int, int] | None:
    """The cell whose fault rate is highest beyond doubt; else the one with most pieces."""
    matrix = page.matrix
    cells = [(row, col) for row in range(len(matrix.rows)) for col in range(len(matrix.columns))]
    if not cells:
        return None

    def tells(at: tuple[int, int]) -> tuple[float, int]:
        rate = matrix.cell(*at).rate
        return (rate.low if rate.says_enough else 0.0, rate.trials)

    return max(cells, key=tells)


def find_cell(page: FindingsPage, old: CellPage) -> tuple[int, int] | None:
    """Where a cell that was chosen before stands now."""
    for row, head in enumerate(page.matrix.rows):
        for column, cut in enumerate(page.matrix.columns):
            if head.key == old.row.key and cut.key == old.column.key:
                return row, column
    return None
