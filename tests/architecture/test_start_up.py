"""Nothing slow is loaded before the window is seen with its first rows."""

from pathlib import Path

from studiolog.journal.opening import open_journal
from tests.bench.start_up import HEAVY, WATCHED, start
from tests.small_studio import fill_studio


def test_the_window_is_seen_before_anything_slow_is_loaded(tmp_path: Path) -> None:
    journal = open_journal(tmp_path / "journal")
    fill_studio(journal)
    journal.close()
    # That Qt is found loaded shows that the look at what is loaded is a real one.
    seen = start(WATCHED, "painted", tmp_path / "journal", tmp_path, heavy=(*HEAVY, "PySide6")).seen
    assert seen["heavy"] == ["PySide6"]


def test_the_first_rows_are_those_of_the_bench_and_the_rest_comes_after(tmp_path: Path) -> None:
    journal = open_journal(tmp_path / "journal")
    fill_studio(journal)
    journal.close()
    seen = start(WATCHED, "loaded", tmp_path / "journal", tmp_path).seen
    assert seen["heavy"] == []
    assert seen["rows_shown"] == 1
    assert float(str(seen["taken_up"])) > 0
