"""Where crazing begins, on the page of a clay."""

from datetime import date

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.fit import LeftOut
from studiolog.journal.inspections import FaultDraft, InspectionDraft, log_inspection
from studiolog.journal.question import Combination, Question
from studiolog.ui.clays.clay_view import ClayView
from studiolog.ui.clays.fit_section import FaultFitSection, say_left_out
from studiolog.ui.clays.screen import ClaysScreen
from studiolog.ui.parts.marks import NumberMark
from tests.crazed_yard import CrazedYard, enter_crazed_yard
from tests.ui.conftest import OpenScreen


@pytest.fixture
def yard(desk: Desk) -> CrazedYard:
    return enter_crazed_yard(desk.journal)


@pytest.fixture
def view(yard: CrazedYard, open_screen: OpenScreen) -> ClayView:
    page = open_screen(ClaysScreen, 1216, 1400).page
    assert isinstance(page, ClayView)
    return page


def words_in(root: QWidget) -> str:
    QApplication.processEvents()
    return "\n".join(one.text() for one in root.findChildren(QLabel) if one.isVisibleTo(root))


def stand_on(section: FaultFitSection, name: str) -> None:
    section.plot.setFocus()
    for _ in range(9):
        QTest.keyClick(section.plot, Qt.Key.Key_Right)
        stood = section.plot.selected()
        if stood is not None and stood.look.name == name:
            return
    raise AssertionError(f"{name} is not on the plot")


def test_the_page_says_what_is_known_and_how_little_that_is(desk, yard, view):
    section = view.fit.crazing
    told = words_in(section)
    assert "Thin evidence. From " in told
    assert "It rests on 2 glazes on 9 pieces; crazing seen on 1 of them (4 pieces)." in told
    assert "Test " in section.tests.text()
    assert "Deep Tide" in section.tests.text()
    assert "never" not in told
    assert view.fit.shivering.isHidden()
    # The clay nobody looked at is not known, and two of the studio's glazes are named to test.
    view.fit.show_clay(yard.buff)
    told = words_in(section)
    assert "Not known yet." in told
    assert "Test these two: " in section.tests.text()
    assert "expected, not seen" in section.plot._threshold.words
    shown = []
    desk.asked_for.connect(lambda *asked: shown.append(asked))
    section.plan.click()
    noun, ident, wanted = shown[-1]
    assert (noun, ident) == ("plan", 0)
    assert (wanted.kind, wanted.clay_id) == ("thickness", yard.buff)
    assert wanted.glaze_ids == section._fit.tests.glazes
    assert len(wanted.glaze_ids) == 2
    assert wanted.question.startswith("Do ")
    assert wanted.question.endswith("craze on Buff stoneware, stress-tested?")
    # A look logged meanwhile is seen, and shivering gets a section of its own.
    view.fit.show_clay(yard.red)
    look = InspectionDraft(
        looked_on=date(2026, 11, 1), faults=(FaultDraft("crazing", 1), FaultDraft("shivering", 0))
    )
    desk.edits.run("Look", lambda s: log_inspection(s, yard.crazed[0] + 8, look))
    view.fit.show_clay(yard.red)
    assert "crazing seen on 2 of them (5 pieces)" in words_in(section)
    assert not view.fit.shivering.isHidden()
    told = words_in(view.fit.shivering)
    assert "Where shivering begins" in told
    assert "None of the glazes shivered" in told


def test_a_glaze_stood_on_opens_its_pieces_of_the_cones_chosen(desk, yard, view):
    section = view.fit.crazing
    stand_on(section, "Chalk")
    told = words_in(section.stood)
    assert "Chalk, calculated 7.1" in told
    assert "Crazing seen on 4 of 6 pieces; 1 of the others stress-tested, at cone 5 to 7" in told
    marks = [one for one in section.stood.findChildren(NumberMark) if one.isVisibleTo(section)]
    assert [one.text for one in marks] == ["1", "2", "3", "4", "6", "5"]
    shown = []
    desk.asked_for.connect(lambda *asked: shown.append(asked))
    marks[0].open()
    assert shown[-1][:2] == ("piece", yard.crazed[0])
    section.stood.open.click()
    assert shown[-1][0] == "findings"
    assert shown[-1][2] == Question(
        fault="crazing", clay_id=yard.red, combination=Combination("only", yard.chalk)
    )
    section.limits.click()
    assert shown[-1][0] == "limits"
    # A span of cones limits the evidence, and the question with it.
    whole = section._fit.known.mean
    section.span.high.choose(55)
    section.span.picked.emit(*section.span.span())
    assert section._fit.known.mean < whole
    assert "Left out: 4 pieces that got another cone." in words_in(section)
    section.plot.opened.emit(yard.chalk)
    assert shown[-1][2].cone.high == pytest.approx(5.4)
    assert shown[-1][2].cone.low is None


def test_what_is_left_out_is_said_with_why():
    assert say_left_out(
        LeftOut("no formula", ("Shop white",), 3, ("Shop white: …",)), "crazing"
    ) == (
        "Left out: 3 pieces with Shop white, whose expansion can't be calculated.",
        "Shop white: …",
    )
    assert (
        "outside what the factors hold for"
        in say_left_out(LeftOut("out of range", ("Soda",), 1), "crazing")[0]
    )
    assert (
        "without saying in which zone"
        in say_left_out(LeftOut("unclear", ("Chalk", "Oat"), 1), "crazing")[0]
    )
    assert say_left_out(LeftOut("no cone", ("Chalk",), 2), "crazing") == (
        "Left out: 2 pieces whose cone is not known.",
    )
