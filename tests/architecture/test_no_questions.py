"""What undo can take back is never asked about: no dialog stops a hand to say "are you sure"."""

from pathlib import Path

import studiolog

ASKING = ("QMessageBox", "QInputDialog", "QErrorMessage")


def test_no_dialog_asks_what_undo_would_answer() -> None:
    sources = list(Path(studiolog.__file__).parent.rglob("*.py"))
    assert len(sources) > 100
    asking = [
        source.name
        for source in sources
        if any(word in source.read_text(encoding="utf-8") for word in ASKING)
    ]
    assert asking == []
