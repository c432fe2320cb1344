"""The house holds: layers point one way, and nothing slow is loaded before the first paint."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)


def test_every_import_points_down() -> None:
    outcome = run(str(Path(sys.executable).parent / "lint-imports"), "--no-cache")
    assert outcome.returncode == 0, outcome.stdout


def test_no_file_is_named_after_nothing() -> None:
    vague = {"utils", "helpers", "common", "misc", "manager", "util", "helper"}
    named = {path.stem for path in (ROOT / "studiolog").rglob("*.py")}
    assert not named & vague


def test_the_packages_the_potter_never_sees_need_no_qt() -> None:
    outcome = run(
        sys.executable,
        "-c",
        "import sys, studiolog.journal.opening, studiolog.journal.pieces, "
        "studiolog.journal.firings; sys.exit('PySide6' in sys.modules)",
    )
    assert outcome.returncode == 0, outcome.stderr
