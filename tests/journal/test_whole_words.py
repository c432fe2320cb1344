"""A label is found in whatever case and spelling, and looked for quickly."""

import json
import unicodedata

import pytest

from studiolog.journal.whole_words import find_whole, folded


@pytest.mark.parametrize(
    ("label", "text", "there"),
    [
        ("Familie Jürgens", "for familie\n JÜRGENS, blue", True),
        ("Familie Jürgens", unicodedata.normalize("NFD", "Familie Jürgens"), True),
        ("Alden", "the Aldens rang", False),
        ("Ilker", "bowls for ılker", True),  # one letter where case does not count
        ("İnci", "inci rang", True),
        ("Groß", "to GROß", True),
        ('"Mo" Hart', 'for "mo" hart', True),
        ("C++ club", "the c++ club", True),
    ],
)
def test_words_are_found_whole(label: str, text: str, there: bool) -> None:
    needle = find_whole(label)
    assert (needle.pattern.search(text) is not None) is there
    assert needle.is_in(text) is there, "passing over quickly passes nothing by"
    kept = json.dumps({"notes": f"… {text} …"}, ensure_ascii=False)
    assert needle.may_be_in(folded(kept)) or not there
