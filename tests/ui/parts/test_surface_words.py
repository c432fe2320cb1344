"""Words for a surface by letters, zone by zone, as a potter turns a cup in the hand."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from studiolog.craft.words import SURFACES
from studiolog.journal.inspections import SurfaceDraft
from studiolog.journal.surfaces import say_surfaces
from studiolog.ui.parts.surface_words import LETTERS, SurfaceWords


@pytest.fixture
def words(qtbot):
    made = SurfaceWords()
    made.resize(360, 400)
    qtbot.addWidget(made)
    made.show()
    made.show_words([], ["outside"])
    return made


def test_every_word_has_a_letter_of_its_own_and_none_is_taken_by_the_zones():
    assert list(LETTERS) == list(SURFACES)
    assert len(set(LETTERS.values())) == len(SURFACES)
    assert "Z" not in LETTERS.values()
    for word, letter in LETTERS.items():
        assert letter.lower() in SURFACES[word], "the letter stands in the word"


def test_two_zones_are_described_in_five_keys(words):
    heard = []
    words.changed.connect(lambda: heard.append(say_surfaces(words.words())))
    QTest.keyClicks(words, "gczzm")
    assert words.zone() == "inside", "after the piece's own zone come the usual ones"
    assert say_surfaces(words.words()) == "glossy, clear; inside: matt"
    assert len(heard) == 3
    assert "matt" in words.accessibleName()


def test_a_surface_is_glossy_or_matt_but_may_be_mottled_with_crystals(words):
    QTest.keyClicks(words, "gmly")
    assert say_surfaces(words.words()) == "matt, mottled, crystals"
    QTest.keyClicks(words, "mly")
    assert words.words() == (), "the letter again takes the word back"


def test_arrows_and_space_do_it_without_letters(words):
    for key in (Qt.Key.Key_Down, Qt.Key.Key_Space):
        QTest.keyClick(words, key)
    zone = words.zone()
    for _ in range(12):
        QTest.keyClick(words, Qt.Key.Key_Right)
    QTest.keyClick(words, Qt.Key.Key_Space)
    (said,) = words.words()
    assert said.zone == zone


def test_in_the_sheet_the_other_words_come_when_one_is_said_or_asked_for(qtbot):
    sheet = SurfaceWords(compact=True)
    qtbot.addWidget(sheet)
    sheet.resize(400, 200)
    sheet.show_words([])
    low = sheet.heightForWidth(400)
    QTest.keyClicks(sheet, "y")
    assert say_surfaces(sheet.words()) == "crystals"
    assert sheet.heightForWidth(400) > low
    sheet.show_words([SurfaceDraft("matt", "Rim")])
    assert sheet.heightForWidth(400) == low
    QTest.keyClicks(sheet, "+")
    assert sheet.heightForWidth(400) > low


def test_a_narrow_column_wraps_and_cuts_nothing(words):
    wide, narrow = words.heightForWidth(480), words.heightForWidth(200)
    assert narrow > wide
    chips, _, high = words._layout(200)
    assert all(box.left() >= 0 and box.right() <= 200 and box.bottom() <= high for _, box in chips)
