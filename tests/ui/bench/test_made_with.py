"""The tools of a run, on its page."""

from datetime import date
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from studiolog.desktop.desk import Desk
from studiolog.journal.tools import ToolDraft, add_tool, tools_of_run
from studiolog.ui.bench.screen import BenchScreen
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


def test_a_run_names_the_tools_it_was_made_with(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    draft = ToolDraft(title="Wave stamp", made_on=date(2026, 3, 2), number=88)
    stamp = desk.edits.run("Tool", partial(add_tool, draft=draft))
    bench = open_screen(BenchScreen)
    bench.show_thing(1)
    section = bench.run_view.made_with
    for said, told in (("eight", "is no number"), ("3", "There is no tool 3."), ("88", "")):
        section.line.line.setText(said)
        QTest.keyClick(section.line.line, Qt.Key.Key_Return)
        assert told in section.line.problem()
    (mark,) = desk.read(partial(tools_of_run, run_id=1))
    assert mark.tool_id == stamp
    section._drop(mark)
    assert desk.read(partial(tools_of_run, run_id=1)) == ()
    assert section._row.isHidden()
