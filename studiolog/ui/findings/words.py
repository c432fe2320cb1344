"""How findings are said: counts, cells, cones. Text only."""

from studiolog.craft.firing.cones import label_reached, label_reached_between
from studiolog.journal.finding import FindingCounts, FindingRow, Hit
from studiolog.journal.matrix import Matrix, MatrixCell, MatrixColumn, MatrixRow
from studiolog.journal.question import Question, say_asked
from studiolog.ui.parts.rate_bar import describe_rate
from studiolog.ui.parts.severity import SEVERITY_WORDS

_BASIS = {"read": "read", "computed": "computed", "aimed": "aimed at"}
_NO_CONE = {
    "read": "with no cone read at their level",
    "computed": "with no cone computed there",
    "aimed": "with a cone known better than aimed at, or none",
    None: "with no cone known there",
}


def fault_word(question: Question) -> str:
    """The fault asked about in one word, or the surface in few."""
    return say_asked(question) if question.fault or question.asks_surface() else "a fault"


def say_counts(question: Question, counts: FindingCounts) -> str:
    """How many pieces answer, how many were left out and why."""
    one = counts.answering == 1
    said = f"{counts.answering} {'piece answers' if one else 'pieces answer'} it."
    out: list[str] = []
    if counts.no_cone:
        basis = question.cone.basis if question.cone else None
        out.append(f"{counts.no_cone} {_NO_CONE[basis]}")
    if counts.no_surface:
        out.append(f"{counts.no_surface} whose surface nobody described")
    if counts.not_looked:
        verb = "described it so far" if question.asks_surface() else "looked"
        out.append(f"{counts.not_looked} where nobody {verb}")
    said = f"{said} Left out: {', '.join(out)}." if out else said
    return f"{said} {say_no_formula(counts.no_formula)}" if counts.no_formula else said


def say_no_formula(glazes: int) -> str:
    """How many glazes a condition on a formula could not be held against."""
    if glazes == 1:
        return "1 glaze has no formula and was left out."
    return f"{glazes} glazes have no formula and were left out."


def say_look(hit: Hit, row: FindingRow) -> str:
    """What was seen on a piece: how bad the fault was, or what was said of its surface."""
    if hit.of_surface:
        return row.surface or "not described"
    return SEVERITY_WORDS[hit.severity]


def say_column(column: MatrixColumn) -> str:
    """A column as it follows a combination: "on Buff stoneware", "at cone 5½ to 6"."""
    if column.key is None:
        return f"({column.title})"
    if column.colour:
        return f"on {column.title}"
    return f"at {column.title}" if column.title.startswith("cone") else f"on the {column.title}"


def say_row(row: MatrixRow) -> str:
    """A row in words: "Chalk over Kelp", "Chalk alone"."""
    return row.title if row.under else f"{row.over.title} alone"


def say_cell(question: Question, cell: MatrixCell) -> str:
    """What a cell says, for its head and for a screen reader."""
    if not cell.tried:
        return "never tried"
    rate = cell.rate
    if not rate.trials:
        looked = "described it" if question.asks_surface() else f"looked for {fault_word(question)}"
        return f"{say_pieces(cell.pieces)}, nobody {looked}"
    return f"{say_pieces(rate.trials)}, {fault_word(question)} " + describe_rate(
        rate.events, rate.trials, rate.low, rate.high
    )


def say_pieces(number: int) -> str:
    return "1 piece" if number == 1 else f"{number} pieces"


def say_cone_of(row: FindingRow) -> str:
    """The cone at a piece, short, to stand beside the sign of how it is known."""
    return "no cone known" if row.cone is None else label_reached(row.cone)


def say_cone_fully(row: FindingRow) -> str:
    """The cone at a piece with its interval and basis."""
    if row.cone is None:
        return "no cone known"
    low, high = row.cone_low, row.cone_high
    between = (
        f" ({label_reached_between(low, high)})" if low is not None and high is not None else ""
    )
    basis = _BASIS.get(row.cone_basis or "", "")
    return f"cone {label_reached(row.cone)}{between}" + (f", {basis}" if basis else "")


def say_piece(hit: Hit, row: FindingRow) -> str:
    """One piece in a sentence, for tool-tips and screen readers."""
    about = [f"Piece {row.called}" if row.number is not None else f"One of {row.called}"]
    about += [part for part in (row.form, row.clay, row.layers, say_cone_fully(row)) if part]
    if hit.left_out == "no cone":
        about.append("left out: no such cone known")
    if hit.left_out == "no surface":
        about.append("left out: nobody described its surface")
    if row.surface or hit.of_surface:
        about.append(f"surface: {row.surface or 'not described'}")
    if not hit.of_surface:
        about.append(SEVERITY_WORDS[hit.severity])
    return ". ".join(about)


def title_of_cell(matrix: Matrix, row: int, column: int) -> str:
    """ "Chalk over Kelp on Buff stoneware"."""
    return f"{say_row(matrix.rows[row])} {say_column(matrix.columns[column])}"
