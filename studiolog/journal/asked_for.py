"""What asks for a clay or a glaze, and so holds it in the journal."""

from sqlalchemy.orm import Session

from studiolog.journal.writing import count
from studiolog.records.orders import OrderLine, SetPart


def say_asked_for(
    session: Session, *, clay_id: int | None = None, glaze_id: int | None = None
) -> str:
    """Which lines and parts ask for it, in words: "2 order lines and 1 part of a set ask for it".

    Nothing asks for it: "".
    """
    asked = {"clay_id": clay_id, "glaze_id": glaze_id}
    named = {column: ident for column, ident in asked.items() if ident is not None}
    lines = count(session, OrderLine, *(getattr(OrderLine, one) == i for one, i in named.items()))
    parts = count(session, SetPart, *(getattr(SetPart, one) == i for one, i in named.items()))
    told = []
    if lines:
        told.append("1 order line" if lines == 1 else f"{lines} order lines")
    if parts:
        told.append("1 part of a set" if parts == 1 else f"{parts} parts of sets")
    if not told:
        return ""
    return f"{' and '.join(told)} {'asks' if lines + parts == 1 else 'ask'} for it"
