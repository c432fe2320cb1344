"""Every screen has the room it needs in a small window, with text at 100, 150 and 200 per cent.

The journal is a crowded one: names of sixty letters, a piece with fourteen zones. Nothing may
reach beyond the window or the column it stands in, and no label or button may be cut. Long names
in lists and drawings may be elided where a tool-tip or the page has them whole: those are painted,
and not looked at here.
"""

from collections.abc import Iterator
from datetime import date
from functools import partial
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QPoint, QSettings, QSize, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QApplication,
    QDialog,
    QLabel,
    QScrollArea,
    QTabBar,
    QTableView,
    QToolButton,
    QWidget,
)
from pytestqt.qtbot import QtBot

from studiolog.craft.spans import Span
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.settings import Settings
from studiolog.journal.compare import Comparing
from studiolog.journal.glazes import copy_as_version, list_glazes
from studiolog.journal.limits import set_limit
from studiolog.journal.opening import Journal, open_journal
from studiolog.ui.findings.matrix_view import MatrixView
from studiolog.ui.findings.piece_grid import PieceGrid
from studiolog.ui.firings.screen import FiringsScreen
from studiolog.ui.frame.history_sheet import HistorySheet
from studiolog.ui.frame.keys_sheet import KeysSheet
from studiolog.ui.frame.limits_sheet import LimitsSheet
from studiolog.ui.frame.places import PLACES
from studiolog.ui.frame.settings_sheet import SettingsSheet
from studiolog.ui.frame.start_sheet import StartSheet
from studiolog.ui.frame.window import Window
from studiolog.ui.glazes.fit_suggestion import SuggestionView
from studiolog.ui.glazes.version_compare import VersionTable
from studiolog.ui.parts.grid_editor import GridEditor
from studiolog.ui.parts.how_many_sheet import open_how_many
from studiolog.ui.parts.make_size_sheet import KINDS, open_make_size
from studiolog.ui.parts.text import Elided
from studiolog.ui.parts.tiles_sheet import open_tiles
from studiolog.ui.plans.screen import PlansScreen
from studiolog.ui.plans.tile_layout import TileLayout
from tests.crowded_studio import crowd_studio
from tests.ui.conftest import SHARED, wait_for_forecast

SIZE = QSize(1280, 800)
SCALES = (100, 150, 200)
"""Per cent of text."""
SHEETS = (
    "quick_log",
    "log file",
    "typed readings",
    "a firing",
    "folder of logs",
    "waiting log",
    "waiting logs",
    "logger folders",
    "firing sheet",
    "labels of a plan",
    "shopping list",
    "recipe from a formula",
    "material replaced",
    "laboratory",
    "plan a load",
    "light a load",
    "loading sheet",
    "mix a bucket",
    "slurry sums",
    "history",
    "keys",
    "settings",
    "limits",
    "start",
    "map of glazes",
    "versions",
    "how many at once",
    "make size",
    "tiles",
)
OF_FIRINGS = ("log file", "typed readings", "a firing")
OF_LOADS = {"plan a load": "begin", "light a load": "light", "loading sheet": "print_load"}
OF_WAITING = ("folder of logs", "waiting log", "waiting logs", "logger folders")
SIDEWAYS = (MatrixView, PieceGrid, TileLayout, VersionTable)
"""As wide as there are columns; they are made to be scrolled sideways."""
SIDEWAYS_FROM: dict[type[QWidget], int] = {GridEditor: 200}
"""Tables typed into: with the largest text a column of figures keeps its width."""


@pytest.fixture(scope="module")
def crowded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Journal, dict[str, int]]]:
    opened = open_journal(tmp_path_factory.mktemp("room") / "journal")
    shown = crowd_studio(opened)
    opened.edit("Fewer futures", partial(set_limit, key="promise_futures", value=500))
    yield opened, shown
    opened.close()


@pytest.fixture(scope="module", params=SCALES)
def scaled(
    qapp: QApplication,
    crowded: tuple[Journal, dict[str, int]],
    tmp_path_factory: pytest.TempPathFactory,
    request: pytest.FixtureRequest,
) -> Iterator[Window]:
    """One window for all checks with a size of text, as a potter has it open all day."""
    look = theme.current()
    look.set_setting("light")
    look.apply(qapp)
    look.set_text_scale(request.param)
    state = tmp_path_factory.mktemp("desk")
    settings = Settings(QSettings(str(state / "desk.ini"), QSettings.Format.IniFormat))
    window = Window(Desk(crowded[0], settings, look, state / "drafts"))
    window.setProperty(SHARED, True)
    window.resize(SIZE)
    window.show()
    yield window
    window.desk.jobs.wait()
    window.close()
    window.deleteLater()
    # Gone before the text is small again: Qt would dress all of it anew.
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    look.set_text_scale(100)


@pytest.fixture
def window(scaled: Window) -> Iterator[Window]:
    """That window, without what the last check left lying over it."""
    yield scaled
    scaled.desk.jobs.wait()
    for sheet in scaled.findChildren(QDialog):
        sheet.close()


def settle(window: Window) -> None:
    """Let jobs end, and layouts take the room they asked for."""
    wait_for_forecast(window.desk)
    for _ in range(3):
        window.desk.jobs.wait()
        QCoreApplication.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.LayoutRequest)


def cramped(root: QWidget, window: QSize = SIZE) -> list[str]:
    """What has not the room it needs, in words."""
    found = []
    if root.width() > window.width() or root.height() > window.height():
        found.append(f"{_name(root)} is {root.width()} by {root.height()}")
    if root.minimumSizeHint().width() > root.width():
        found.append(f"{_name(root)} wants {root.minimumSizeHint().width()} of {root.width()}")
    for widget in root.findChildren(QWidget):
        if not widget.isVisible() or widget.window() is not root or _is_sideways(widget):
            continue
        said = _say(widget)
        if said:
            found.append(f"{said}: {_name(widget)}")
        parent = widget.parentWidget()
        if parent is not None and widget.width() and parent.width():
            right = widget.mapTo(parent, QPoint(widget.width(), 0)).x()
            if right > parent.width():
                found.append(f"{right} reaches beyond {parent.width()}: {_name(widget)}")
    return found


def _say(widget: QWidget) -> str:
    if isinstance(widget, QScrollArea) and widget.widget() is not None:
        inside, room = widget.widget(), widget.viewport().width()
        needed = max(inside.minimumSizeHint().width(), inside.minimumWidth())
        return f"{type(inside).__name__} wants {needed} of {room}" if needed > room else ""
    if isinstance(widget, QAbstractScrollArea) and widget.horizontalScrollBar().maximum() > 0:
        return f"{widget.horizontalScrollBar().maximum()} to be scrolled sideways"
    if isinstance(widget, QTableView) and widget.horizontalHeader().isVisible():
        header = widget.horizontalHeader()
        for column in range(header.count()):
            if not header.isSectionHidden(column):
                needed = header.sectionSizeHint(column)
                if header.sectionSize(column) < needed:
                    words = header.model().headerData(column, header.orientation())
                    return f"the head of “{words}” is cut"
    if isinstance(widget, QLabel) and widget.text():
        if widget.wordWrap():
            needed = widget.heightForWidth(widget.width())
            cut = needed > widget.height() + 2
            return f"“{widget.text()[:40]}” has {widget.height()} of {needed} high" if cut else ""
        needed = widget.sizeHint().width()
        cut = widget.width() < needed - 1
        if isinstance(widget, Elided) and widget.toolTip():
            return ""
        return f"“{widget.text()[:40]}” has {widget.width()} of {needed}" if cut else ""
    if isinstance(widget, QToolButton) and not widget.icon().isNull():
        return ""  # its words are for screen readers; the icon is what shows
    if isinstance(widget, QAbstractButton) and widget.text():
        needed = widget.minimumSizeHint().width()
        cut = widget.width() < needed - 1
        return f"“{widget.text()[:40]}” has {widget.width()} of {needed}" if cut else ""
    if isinstance(widget, QTabBar) and widget.count():
        needed = widget.tabRect(widget.count() - 1).right()
        return f"the tabs want {needed} of {widget.width()}" if needed >= widget.width() else ""
    return ""


def _is_sideways(widget: QWidget) -> bool:
    upward: QWidget | None = widget
    while upward is not None and not upward.isWindow():
        if isinstance(upward, SIDEWAYS):
            return True
        if theme.current().text_scale >= SIDEWAYS_FROM.get(type(upward), 1000):
            return True
        upward = upward.parentWidget()
    return False


def _name(widget: QWidget) -> str:
    names: list[str] = []
    upward: QWidget | None = widget
    while upward is not None and len(names) < 5:
        names.append(type(upward).__name__)
        upward = upward.parentWidget()
    return " < ".join(names)


@pytest.mark.parametrize("place", PLACES)
def test_a_screen_has_the_room_it_needs(
    place: str,
    window: Window,
    crowded: tuple[Journal, dict[str, int]],
    qtbot: QtBot,
) -> None:
    found: dict[str, list[str]] = {}
    window.show_place(place)
    for noun in dict.fromkeys((place, *PLACES[place].nouns)):
        if noun in crowded[1]:
            window.desk.show(noun, crowded[1][noun])
        settle(window)
        found[noun] = cramped(window)
    if place == "materials":
        lots = window.screen_of(place).page.lots  # type: ignore[attr-defined]
        lots.open_lot(lots.lot_ids()[-1])
        settle(window)
        found["an older lot and its recipes"] = cramped(window)
        lots.editor.toggle_figures()
        settle(window)
        found["figures of a lot"] = cramped(window)
    if place == "review":
        # With what the whole year held: sections, pictures and notes, each with its box.
        year = Span(date(2026, 1, 1), date(2026, 12, 31))
        window.screen_of(place).show_span(year)  # type: ignore[attr-defined]
        settle(window)
        found["a year looked back on"] = cramped(window)
    if place == "kilns":
        window.screen_of(place).page.upkeep.start()  # type: ignore[attr-defined]
        settle(window)
        found["a task of a kiln"] = cramped(window)
    if place == "glazes":
        buckets = window.screen_of(place).page.buckets  # type: ignore[attr-defined]
        buckets.add_one()
        for row in buckets.rows.values():
            row._keep("dry_g", 12_345.5)
            row.entry.volume.line.setText("11.25")
            row.entry.gravity.line.setText("1.715")
            row.entry.keep_measured()
        settle(window)
        found["a bucket of a glaze"] = cramped(window)
        found |= _fit(window, crowded[1]["clay"], qtbot)
    if place == "plans":
        found |= _plans(window)
    if place == "firings":
        window.desk.show("firing", crowded[1]["running"])
        settle(window)
        assert window.screen_of(place).view.live.isVisible()  # type: ignore[attr-defined]
        found["firing read by hand"] = cramped(window)
        window.desk.show("firing", 0, Comparing("program", crowded[1]["program"]))
        window.screen_of(place).compare.align_by("passing")  # type: ignore[attr-defined]
        settle(window)
        found["firings compared"] = cramped(window)
    if place in ("orders", "sets"):
        found |= _asked_for(window, place)
    assert {noun: said for noun, said in found.items() if said} == {}


def _asked_for(window: Window, place: str) -> dict[str, list[str]]:
    """An order or a set with its offers open, a shipment being counted, and a wiping begun."""
    screen = window.screen_of(place)
    page = screen.view if place == "orders" else screen.page  # type: ignore[attr-defined]
    page.rows[0].toggle_aside()
    if place == "orders":
        page.shipments.start_shipping()
        page.wiping.look()
    settle(window)
    return {"being worked on": cramped(window)}


def _fit(window: Window, clay: int, qtbot: QtBot) -> dict[str, list[str]]:
    """What would help a glaze with a recipe, and a clay with a glaze of its plot stood on."""
    found: dict[str, list[str]] = {}
    every = window.desk.read(list_glazes)
    window.desk.show("glaze", next(one.glaze_id for one in every if one.title == "Kelp"))
    settle(window)
    fit = window.screen_of("glazes").page.fit  # type: ignore[attr-defined]
    fit.ask(clay, "crazing")
    qtbot.waitUntil(lambda: bool(fit.suggestions.findChildren(SuggestionView)), timeout=20_000)
    for view in fit.suggestions.findChildren(SuggestionView):
        view.detail.show()
    settle(window)
    found["what would help a glaze"] = cramped(window)
    window.desk.show("clay", clay)
    settle(window)
    section = window.screen_of("clays").page.fit.crazing  # type: ignore[attr-defined]
    QTest.keyClick(section.plot, Qt.Key.Key_Right)
    settle(window)
    found["fit of a clay"] = cramped(window)
    return found


def _plans(window: Window) -> dict[str, list[str]]:
    """A plan whose tiles are looked at, and plans of each kind being laid out."""
    screen = window.screen_of("plans")
    assert isinstance(screen, PlansScreen)
    found: dict[str, list[str]] = {}
    screen.page.start_inspecting()  # type: ignore[attr-defined]
    settle(window)
    found["tiles looked at"] = cramped(window)
    screen.start_plan()
    for kind, button in screen.editor.kind.buttons.items():
        button.setChecked(True)
        for corner in screen.editor.corners.corners:
            corner.glaze.choose(1)
        screen.editor.lay_out_now()
        settle(window)
        found[f"a new {kind}"] = cramped(window)
    return found


def _log_file(folder: Path) -> Path:
    """A log with much to say: two channels under long names, no unit, and lines left out."""
    file = folder / "log of the old top-loading kiln under the stairs, third firing this week.csv"
    heats = [20 + 3 * minute for minute in range(380)] + [1160 - minute for minute in range(380)]
    lines = [f"{minute * 60};{heat};{heat - 14}" for minute, heat in enumerate(heats)]
    lines[40:40] = ["nothing read here", "the door was open; ;"]
    head = "seconds;thermocouple at the middle shelf;second thermocouple at the very top"
    file.write_text("\n".join([head, *lines]), encoding="utf-8")
    return file


@pytest.mark.parametrize("which", SHEETS)
def test_a_sheet_has_the_room_it_needs(
    which: str,
    window: Window,
    crowded: tuple[Journal, dict[str, int]],
    tmp_path: Path,
    qtbot: QtBot,
) -> None:
    window.show_place("firings" if which in (*OF_FIRINGS, *OF_WAITING) else "bench")
    settle(window)
    sheet: QDialog
    if which == "quick_log":
        window.open_quick_log({"number": 12845})
        sheet = next(one for one in window.findChildren(QDialog) if one.isVisible())
    elif which == "labels of a plan":
        window.desk.show("plan", crowded[1]["plan"])
        window.screen_of("plans").page.open_sheet("labels")  # type: ignore[attr-defined]
        sheet = next(one for one in window.findChildren(QDialog) if one.isVisible())
    elif which == "firing sheet":
        window.desk.show("program", crowded[1]["program"])
        window.screen_of("programs").page.print_sheet()  # type: ignore[attr-defined]
        sheet = next(one for one in window.findChildren(QDialog) if one.isVisible())
    elif which == "shopping list":
        window.show_place("materials").open_shopping()  # type: ignore[attr-defined]
        sheet = next(one for one in window.findChildren(QDialog) if one.isVisible())
    elif which == "how many at once":
        sheet = open_how_many(window.desk, crowded[1]["form"], window)
    elif which == "make size":
        sheet = open_make_size(window.desk, crowded[1]["clay"], 270, window)
        for kind in KINDS:
            sheet.kind.pick(kind)
            settle(window)
            assert cramped(sheet) == []
    elif which == "tiles":
        sheet = open_tiles(window.desk, crowded[1]["form"], crowded[1]["clay"], window)
        sheet.fields.area_kind.pick("corner")
    elif which == "map of glazes":
        window.show_place("glazes").show_map()  # type: ignore[attr-defined]
        sheet = next(one for one in window.findChildren(QDialog) if one.isVisible())
    elif which == "versions":
        edit = partial(copy_as_version, glaze_id=crowded[1]["glaze"])
        window.desk.show("glaze", window.desk.edits.run("Version", edit))
        window.screen_of("glazes").page.versions.compare()  # type: ignore[attr-defined]
        sheet = next(one for one in window.findChildren(QDialog) if one.isVisible())
    elif which in ("mix a bucket", "slurry sums"):
        window.desk.show("glaze", crowded[1]["glaze"])
        buckets = window.screen_of("glazes").page.buckets  # type: ignore[attr-defined]
        sheet = buckets.open_mix() if which == "mix a bucket" else buckets.open_sums()
    elif which in ("recipe from a formula", "material replaced"):
        window.desk.show("glaze", crowded[1]["glaze"])
        searches = window.screen_of("glazes").page.searches  # type: ignore[attr-defined]
        sheet = searches.search(replacing=which == "material replaced")
    elif which in OF_LOADS:
        window.desk.show("load", crowded[1]["load"])
        getattr(window.screen_of("loads"), OF_LOADS[which])()
        sheet = next(one for one in window.findChildren(QDialog) if one.isVisible())
    elif which == "laboratory":
        window.desk.show("glaze", crowded[1]["glaze"])
        window.screen_of("glazes").page.care.ask_laboratory()  # type: ignore[attr-defined]
        sheet = next(one for one in window.findChildren(QDialog) if one.isVisible())
    elif which in OF_WAITING:
        screen = window.screen_of("firings")
        assert isinstance(screen, FiringsScreen)
        ids = [line.waiting_id for line in screen.waiting.list.rows()]
        {
            "folder of logs": lambda: screen.waiting_work.take_in([_log_file(tmp_path)]),
            "waiting log": lambda: screen.waiting_work.describe([crowded[1]["waiting"]]),
            "waiting logs": lambda: screen.waiting_work.describe(ids),
            "logger folders": screen.waiting_work.name_folders,
        }[which]()
        qtbot.waitUntil(lambda: any(one.isVisible() for one in screen.findChildren(QDialog)))
        qtbot.waitUntil(lambda: not window.desk.jobs.is_running("take in logs"))
        sheet = next(one for one in screen.findChildren(QDialog) if one.isVisible())
    elif which in OF_FIRINGS:
        window.desk.show("firing", crowded[1]["firing"])
        screen = window.screen_of("firings")
        assert isinstance(screen, FiringsScreen)
        if which == "typed readings":
            screen.type_readings()
        elif which == "a firing":
            screen.change()
        else:
            screen.add_log(_log_file(tmp_path))
        sheet = next(one for one in screen.findChildren(QDialog) if one.isVisible())
    else:
        sheet = {
            "history": lambda: HistorySheet(window.desk, window),
            "keys": lambda: KeysSheet(window, window.current_hints()),
            "settings": lambda: SettingsSheet(window.desk, window),
            "limits": lambda: LimitsSheet(window.desk, "program", window),
            "start": lambda: StartSheet("That folder holds no journal.", window),
        }[which]()
        sheet.show()
    settle(window)
    assert cramped(sheet) == []
    sheet.close()
