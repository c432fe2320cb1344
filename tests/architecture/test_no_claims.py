"""Nothing that ships says that a glaze may be eaten from: only that no formula proves it."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CLAIM = re.compile(
    r"food[\s\-]*saf(?:e|ety)|safe\s+(?:for|with|on|to\s+use\s+with|to\s+eat)\b[^.;:]{0,20}food"
    r"|safe\s+to\s+(?:eat|drink)|dinnerware[\s\-]*safe|lebensmittelecht",
    re.IGNORECASE,
)
NEGATED = re.compile(r"\b(?:no|not|never|nobody|cannot|can't|neither|nor)\b", re.IGNORECASE)
PLACES = ("studiolog", "resources", "docs", "sample_data", "README.md", "CHANGELOG.md")
KINDS = {".py", ".csv", ".md", ".txt", ".json", ".html", ".toml", ".svg"}


def _files() -> Iterator[Path]:
    for place in PLACES:
        root = ROOT / place
        if root.is_file():
            yield root
        elif root.is_dir():
            yield from (one for one in root.rglob("*") if one.suffix in KINDS and one.is_file())


def _claims(text: str) -> list[str]:
    """The sentences that speak of it without a no."""
    # A sentence of a program runs over lines, quotes and brackets.
    joined = re.sub(r'["\s]*\n\s*f?["#]*\s*', " ", text)
    sentences = re.split(r"(?<=[.!?:;])\s+|\n", joined)
    return [
        " ".join(one.split())
        for one in sentences
        if CLAIM.search(one) and not NEGATED.search(one[: CLAIM.search(one).end()])  # type: ignore[union-attr]
    ]


def test_no_file_claims_it() -> None:
    found = {
        str(file.relative_to(ROOT)): claims
        for file in _files()
        if (claims := _claims(file.read_text(encoding="utf-8")))
    }
    assert found == {}


@pytest.mark.parametrize(
    "text",
    [
        "This glaze is food safe.",
        "Food-safe at cone 6",
        "A liner safe for food surfaces",
        'words = "well fired, it is food"\n    " safe on porcelain"',
        "Foodsafe: yes",
        "It is safe to eat from. Nobody said so.",
    ],
)
def test_a_claim_would_be_found(text: str) -> None:
    assert _claims(text)


@pytest.mark.parametrize(
    "text",
    [
        "No formula and no record proves a glaze safe for food.",
        "Never call a glaze food safe.",
        "No glaze here is said to be food safe.",
    ],
)
def test_a_sentence_that_denies_it_stands(text: str) -> None:
    assert _claims(text) == []
