"""Every screen, page and sheet as a screen reader and the Tab key find it.

The rules are common practice of accessible desktop programs: what can be acted on has a name in
words, and none like its neighbour's; the Tab key comes to all of it and back; the keyboard shows.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QWidget
from pytestqt.qtbot import QtBot

from studiolog.craft.spans import Span
from studiolog.desktop.desk import Desk
from studiolog.journal.buckets import ChangeDraft, add_change
from studiolog.journal.compare import Comparing
from studiolog.journal.firing_log import log_from_typed
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze, copy_as_version
from studiolog.journal.hand_readings import add_reading
from studiolog.journal.kiln_tasks import KilnTaskDraft, add_task
from studiolog.journal.load_pieces import take_out
from studiolog.journal.material_page import shipped_ident
from studiolog.journal.materials import add_material
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order
from studiolog.journal.session import Session
from studiolog.journal.stock import StockDraft, add_stock_change
from studiolog.ui.firings.waiting_work import WaitingWork
from studiolog.ui.frame.bug_sheet import BugSheet
from studiolog.ui.frame.history_sheet import HistorySheet
from studiolog.ui.frame.keys_sheet import KeysSheet
from studiolog.ui.frame.limits_sheet import LimitsSheet
from studiolog.ui.frame.places import PLACES
from studiolog.ui.frame.settings_sheet import SettingsSheet
from studiolog.ui.frame.start_sheet import StartSheet
from studiolog.ui.frame.window import Window
from studiolog.ui.glazes.fit_suggestion import SuggestionView
from studiolog.ui.parts.how_many_sheet import open_how_many
from studiolog.ui.parts.make_size_sheet import open_make_size
from studiolog.ui.parts.tiles_sheet import open_tiles
from tests.clay_bars import measure_clay
from tests.crowded_ideas import crowd_ideas
from tests.crowded_orders import crowd_orders
from tests.photo_files import phone_jpeg
from tests.planned_loads import page_of, plan_loads
from tests.planned_tiles import plan_line
from tests.small_studio import SmallStudio, fill_studio
from tests.ui import accessibility_tree as tree
from tests.ui.conftest import wait_for_forecast
from tests.ui.test_room import cramped
from tests.waiting_logs import let_logs_wait

LOGS = Path(__file__).parents[1] / "transfer" / "logs"


@dataclass
class Yard:
    """A window over a small studio, and ids of what stands in it."""

    window: Window
    desk: Desk
    studio: SmallStudio
    order: int
    run: int
    logged: int
    planned: int
    photo: Path
    qtbot: QtBot

    def screen(self, key: str) -> QWidget:
        return self.window.screen_of(key)

    def dialog(self) -> QDialog:
        """The sheet that lies over the window."""
        (shown,) = [d for d in self.window.findChildren(QDialog) if d.isVisible()]
        return shown


@pytest.fixture
def window(desk: Desk, qtbot: QtBot) -> Iterator[Window]:
    flash = QApplication.cursorFlashTime()
    QApplication.setCursorFlashTime(0)
    made = Window(desk)
    made.resize(1440, 900)
    made.show()
    with qtbot.waitActive(made):
        made.activateWindow()
    yield made
    desk.jobs.wait()
    for sheet in made.findChildren(QDialog):
        sheet.close()
    QApplication.setCursorFlashTime(flash)


@pytest.fixture
def yard(window: Window, desk: Desk, qtbot: QtBot, tmp_path: Path) -> Yard:
    studio = fill_studio(desk.journal)
    photo = tmp_path / "IMG_2101.jpg"
    photo.write_bytes(phone_jpeg(taken_at=datetime(2026, 11, 11, 16, 20)))

    def enter(session: Session) -> tuple[int, int, int]:
        order = add_order(
            session,
            OrderDraft(
                whom="Quay café",
                promised_on=date.today() + timedelta(days=9),
                lines=(
                    OrderLineDraft(form_id=studio.tumbler, wanted=12, price=Decimal(24)),
                    OrderLineDraft(what="jug", wanted=1),
                ),
            ),
        )
        heats = [(600.0 * n, 20 + 20.0 * n) for n in range(60)]
        logged = log_firing(
            session,
            FiringDraft(
                kiln_id=studio.kiln,
                program_id=studio.glaze_six,
                started_at=datetime(2026, 10, 2, 7),
                log=log_from_typed(heats),
            ),
        )
        planned = log_firing(
            session,
            FiringDraft(
                kiln_id=studio.kiln,
                program_id=studio.glaze_six,
                started_at=datetime(2026, 10, 9, 7),
            ),
        )
        return order, logged, planned

    order, logged, planned = desk.edits.run("Enter", enter)
    return Yard(window, desk, studio, order, 1, logged, planned, photo, qtbot)


def show(noun: str, ident: Callable[[Yard], int], more: object = None) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        yard.desk.show(noun, ident(yard), more)
        return yard.window

    return scene


def place(key: str) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        yard.window.show_place(key)
        wait_for_forecast(yard.desk)
        return yard.window

    return scene


def on_piece(act: Callable[[object], None]) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        yard.desk.show("piece", yard.studio.pieces[2])
        act(yard.screen("pieces").view)  # type: ignore[attr-defined]
        return yard.window

    return scene


def on_firings(act: str, logged: bool = True) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        yard.desk.show("firing", yard.logged)
        getattr(yard.screen("firings"), act)()
        return yard.dialog()

    return scene


def importing(name: str) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        yard.desk.show("firing", yard.planned)
        yard.screen("firings").add_log(LOGS / name)  # type: ignore[attr-defined]
        yard.qtbot.waitUntil(lambda: not yard.desk.jobs.is_running("read a log"), timeout=8000)
        return yard.dialog()

    return scene


def quick_log(**wanted: object) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        yard.window.open_quick_log(wanted)
        sheet = yard.dialog()
        if not wanted:
            sheet.take_files([str(yard.photo)])  # type: ignore[attr-defined]
            yard.qtbot.waitUntil(lambda: not sheet.intake.waiting(), timeout=8000)  # type: ignore[attr-defined]
        return sheet

    return scene


def framed(make: Callable[[Yard], QDialog]) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        sheet = make(yard)
        sheet.open()
        return sheet

    return scene


def naming(key: str) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        screen = yard.window.show_place(key)
        screen.show_thing(0, "new")
        return yard.window

    return scene


def findings(act: Callable[[object], None]) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        act(yard.window.show_place("findings"))
        return yard.window

    return scene


def _cones(yard: Yard) -> QWidget:
    yard.desk.show("firing", yard.planned)
    yard.screen("firings").view.show_cones()  # type: ignore[attr-defined]
    return yard.window


def _comparing(yard: Yard) -> QWidget:
    asked = Comparing("firings", ids=(yard.logged, yard.planned))
    yard.desk.show("firing", 0, asked)
    yard.qtbot.waitUntil(lambda: not yard.desk.jobs.is_running("compare firings"), timeout=8000)
    yard.screen("firings").compare.align_by("passing")  # type: ignore[attr-defined]
    return yard.window


def _read_by_hand(yard: Yard) -> QWidget:
    lit = datetime.now() - timedelta(hours=2)

    def light(session: Session) -> int:
        draft = FiringDraft(kiln_id=yard.studio.kiln, program_id=yard.studio.bisque, started_at=lit)
        firing = log_firing(session, draft)
        add_reading(session, firing, lit + timedelta(hours=1), 75, "lid on a bung")
        return firing

    yard.desk.show("firing", yard.desk.edits.run("Light the kiln", light))
    return yard.window


def _waiting(act: Callable[[WaitingWork, list[int]], object]) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        ids = yard.desk.edits.run("Let logs wait", let_logs_wait)
        yard.desk.show("firings")
        work = yard.screen("firings").waiting_work  # type: ignore[attr-defined]
        if act(work, list(ids)) is None and not yard.desk.jobs.is_running("read a waiting log"):
            shown = [d for d in yard.window.findChildren(QDialog) if d.isVisible()]
            return shown[0] if shown else yard.window
        yard.qtbot.waitUntil(
            lambda: any(d.isVisible() for d in yard.window.findChildren(QDialog)), timeout=8000
        )
        for key in ("take in logs", "read a log"):
            yard.qtbot.waitUntil(lambda key=key: not yard.desk.jobs.is_running(key), timeout=8000)
        return yard.dialog()

    return scene


def _upkeep(yard: Yard) -> QWidget:
    """A kiln with two washes to do, one of them late, new elements, and a task being noted."""

    def note(session: Session) -> None:
        for draft in (
            KilnTaskDraft(task="shelf_wash", after_firings=12, repeat_firings=20),
            KilnTaskDraft(task="shelf_wash", due_on=date(2026, 1, 2)),
            KilnTaskDraft(task="elements", done_on=date(2026, 9, 12)),
        ):
            add_task(session, yard.studio.kiln, draft, date(2026, 9, 12))

    yard.desk.edits.run("Note upkeep", note)
    yard.window.show_place("kilns")
    yard.screen("kilns").page.upkeep.start()  # type: ignore[attr-defined]
    return yard.window


def _firing_sheet(yard: Yard) -> QWidget:
    yard.desk.show("program", yard.studio.glaze_six)
    yard.screen("programs").page.print_sheet()  # type: ignore[attr-defined]
    return yard.dialog()


def _material(yard: Yard) -> QWidget:
    """A material with a lot of its own whose figures are being typed, and stock."""
    ident = yard.desk.edits.run("Add", lambda session: add_material(session, "Soda feldspar"))
    bag = StockDraft(kind="bought", grams=25_000, on=date(2026, 3, 1))
    yard.desk.edits.run("Buy", lambda session: add_stock_change(session, ident, bag))
    yard.desk.show("material", ident)
    yard.screen("materials").page.lots.add_lot()  # type: ignore[attr-defined]
    return yard.window


def _load(which: str, act: str = "", out: int = 0) -> Callable[[Yard], QWidget]:
    """A planned load, some of it taken out again, and something done with it."""

    def scene(yard: Yard) -> QWidget:
        edit = partial(plan_loads, studio=yard.studio, today=date.today())
        loads = yard.desk.edits.run("Plan loads", edit)
        load_id = getattr(loads, which)
        if out:
            page = yard.desk.read(lambda session: page_of(session, load_id))
            ids = list(page.pieces)[:out]
            yard.desk.edits.run("Take out", lambda session: take_out(session, load_id, ids))
        yard.desk.show("load", load_id)
        if not act:
            return yard.window
        getattr(yard.screen("loads"), act)()
        return yard.dialog()

    return scene


def _shopping_list(yard: Yard) -> QWidget:
    yard.window.show_place("materials").open_shopping()  # type: ignore[attr-defined]
    return yard.dialog()


def _plan(far: str, act: Callable[[object], None] | None = None) -> Callable[[Yard], QWidget]:
    """A line of five taken so far, and something done on its page."""

    def scene(yard: Yard) -> QWidget:
        edit = partial(plan_line, studio=yard.studio, far=far)
        yard.desk.show("plan", yard.desk.edits.run("Plan", edit))
        if act is not None:
            act(yard.screen("plans").page)  # type: ignore[attr-defined]
        shown = [d for d in yard.window.findChildren(QDialog) if d.isVisible()]
        return shown[0] if shown else yard.window

    return scene


def _new_plan(kind: str) -> Callable[[Yard], QWidget]:
    """A plan of a kind being laid out."""

    def scene(yard: Yard) -> QWidget:
        screen = yard.window.show_place("plans")
        screen.start_plan()  # type: ignore[attr-defined]
        editor = screen.editor  # type: ignore[attr-defined]
        editor.kind.choose(kind)
        for corner in editor.corners.corners:
            corner.glaze.choose(yard.studio.kelp)
        editor.lay_out_now()
        return yard.window

    return scene


def _start_run(yard: Yard) -> QWidget:
    yard.desk.show("bench", 0, "start run")
    yard.qtbot.waitUntil(
        lambda: any(d.isVisible() for d in yard.window.findChildren(QDialog)), timeout=4000
    )
    return yard.dialog()


def _pack(yard: Yard) -> QWidget:
    screen = yard.window.show_place("bench")
    row = screen.current_row()  # type: ignore[attr-defined]
    assert row is not None
    screen.pack(row, "wet")  # type: ignore[attr-defined]
    return yard.dialog()


def _noticed(yard: Yard) -> QWidget:
    yard.window.show_place("bench")
    yard.desk.notices.say("Piece 412 logged.", "Open", lambda: None)
    return yard.window


def _versions(yard: Yard) -> QWidget:
    edit = partial(copy_as_version, glaze_id=yard.studio.kelp)
    yard.desk.show("glaze", yard.desk.edits.run("Version", edit))
    yard.screen("glazes").page.versions.compare()  # type: ignore[attr-defined]
    return yard.dialog()


def _would_help(yard: Yard) -> QWidget:
    """What would bring a glaze to a clay it does not fit."""
    yard.desk.show("glaze", yard.studio.kelp)
    fit = yard.screen("glazes").page.fit  # type: ignore[attr-defined]
    fit.ask(yard.studio.red, "crazing")
    yard.qtbot.waitUntil(lambda: bool(fit.suggestions.findChildren(SuggestionView)), timeout=20_000)
    return yard.window


def _fit_of_a_clay(yard: Yard) -> QWidget:
    """A glaze stood on, on the plot of a clay."""
    yard.desk.show("clay", yard.studio.red)
    section = yard.screen("clays").page.fit.crazing  # type: ignore[attr-defined]
    yard.qtbot.keyClick(section.plot, Qt.Key.Key_Right)
    assert section.stood.isVisible()
    return yard.window


def _map(yard: Yard) -> QWidget:
    yard.desk.show("glaze", yard.studio.kelp)
    yard.screen("glazes").show_map(yard.studio.kelp)  # type: ignore[attr-defined]
    return yard.dialog()


def _percents(yard: Yard) -> QWidget:
    yard.desk.show("glaze", yard.studio.kelp)
    yard.screen("glazes").page.formula.toggle_percents()  # type: ignore[attr-defined]
    return yard.window


def _searching(replacing: bool) -> Callable[[Yard], QWidget]:
    """A recipe being searched for a glaze that has one."""

    def scene(yard: Yard) -> QWidget:
        recipe = (
            RecipePart("Potash feldspar", 50), RecipePart("Whiting", 20), RecipePart("Kaolin", 30),
            RecipePart("Cobalt carbonate", 1, addition=True),
        )  # fmt: skip
        draft = GlazeDraft(name="Deep Tide", recipe=recipe)
        edit = partial(add_glaze, draft=draft)
        yard.desk.show("glaze", yard.desk.edits.run("Add", edit))
        yard.screen("glazes").page.searches.search(replacing=replacing)  # type: ignore[attr-defined]
        return yard.dialog()

    return scene


def _laboratory(yard: Yard) -> QWidget:
    yard.desk.show("glaze", yard.studio.kelp)
    yard.screen("glazes").page.care.ask_laboratory()  # type: ignore[attr-defined]
    return yard.dialog()


def _turned(yard: Yard) -> QWidget:
    yard.desk.show("program", yard.studio.glaze_six)
    what_if = yard.screen("programs").page.what_if  # type: ignore[attr-defined]
    what_if.solving.wanted.set_text("14")
    what_if.solving.solve()
    what_if.turn("hold", 45)
    what_if.ask_name()
    return yard.window


def _bucket(yard: Yard) -> QWidget:
    """A bucket with a history, opened, and what it was mixed from."""
    yard.desk.show("glaze", yard.studio.kelp)
    buckets = yard.screen("glazes").page.buckets  # type: ignore[attr-defined]
    buckets.add_one()
    (ident, *_) = buckets.rows
    for draft in (
        ChangeDraft(on=date.today(), kind="measured", specific_gravity=1.5, volume_ml=8000),
        ChangeDraft(on=date.today(), kind="sieved", mesh=80),
    ):
        yard.desk.edits.run("Change", partial(add_change, bucket_id=ident, draft=draft))
    return yard.window


def _of_buckets(act: str) -> Callable[[Yard], QWidget]:
    def scene(yard: Yard) -> QWidget:
        yard.desk.show("glaze", yard.studio.kelp)
        getattr(yard.screen("glazes").page.buckets, act)()  # type: ignore[attr-defined]
        return yard.dialog()

    return scene


# Glazes, clays, forms, kilns, programs and orders show the page of the first one beside their list.
def _stamp(yard: Yard) -> QWidget:
    sheet = open_make_size(yard.desk, yard.studio.buff, None, yard.window)
    sheet.kind.pick("stamp")
    return sheet


def _bars(yard: Yard) -> QWidget:
    yard.desk.edits.run("Measure", lambda session: measure_clay(session, yard.studio.buff, 1))
    yard.desk.show("clay", yard.studio.buff)
    return yard.window


def _how_many(yard: Yard) -> QWidget:
    return open_how_many(yard.desk, yard.studio.tumbler, yard.window)


def _looking_back(yard: Yard) -> QWidget:
    screen = yard.window.show_place("review")
    screen.show_span(Span(date(2026, 1, 1), date(2026, 12, 31)))  # type: ignore[attr-defined]
    return yard.window


def _thought(key: str, act: str = "") -> Callable[[Yard], QWidget]:
    """The page of an idea, a tool or a form with much to it, and something begun on it."""

    def scene(yard: Yard) -> QWidget:
        ids = yard.desk.edits.run(
            "Think",
            lambda session: crowd_ideas(
                session, yard.studio.tumbler, yard.studio.buff, yard.run, yard.studio.pieces[0]
            ),
        )
        yard.desk.show(key, ids.get(key, yard.studio.tumbler))
        page = yard.screen(f"{key}s").page  # type: ignore[attr-defined]
        if act:
            part, _, does = act.partition(".")
            called, _, given = does.partition(" ")
            getattr(getattr(page, part), called)(*filter(None, [given]))
        return yard.window

    return scene


def _asked_for(key: str) -> Callable[[Yard], QWidget]:
    """An order or a set with its offers open; of the order a shipment and a wiping begun."""

    def scene(yard: Yard) -> QWidget:
        order, form, clay = yard.order, yard.studio.tumbler, yard.studio.buff
        edit = partial(crowd_orders, order_id=order, form=form, clay=clay)
        ware = yard.desk.edits.run("Order more", edit)
        yard.desk.show(key, order if key == "order" else ware)
        screen = yard.screen(f"{key}s")
        page = screen.view if key == "order" else screen.page  # type: ignore[attr-defined]
        page.rows[0].toggle_aside()
        if key == "order":
            page.shipments.start_shipping()
            page.wiping.look()
        return yard.window

    return scene


SCENES: dict[str, Callable[[Yard], QWidget]] = {
    **{key: place(key) for key in PLACES},
    "piece": show("piece", lambda y: y.studio.pieces[2]),
    "firing": show("firing", lambda y: y.logged),
    "firing without a log": show("firing", lambda y: y.planned),
    "firings compared": _comparing,
    "run": show("run", lambda y: y.run),
    "program": show("program", lambda y: y.studio.glaze_six),
    "naming a glaze": naming("glazes"),
    "naming a program": naming("programs"),
    "formula of a glaze": _percents,
    "versions side by side": _versions,
    "where our glazes sit": _map,
    "what would help a glaze": _would_help,
    "fit of a clay": _fit_of_a_clay,
    "a recipe from a formula": _searching(False),
    "a material replaced": _searching(True),
    "a laboratory asked": _laboratory,
    "a program turned": _turned,
    "details of a piece": on_piece(lambda view: view.toggle_details()),
    "layers of a piece": on_piece(lambda view: view.layers.toggle_editor()),
    "inspecting a piece": on_piece(lambda view: view.inspections.inspect_again()),
    "placing a piece": on_piece(lambda view: view.firings._edit_place(None)),
    "a step of a piece": on_piece(lambda view: view.steps.begin()),
    "pictures that answer": findings(lambda screen: screen.view.pick("gallery")),
    "table that answers": findings(lambda screen: screen.view.pick("table")),
    "typing a question": findings(lambda screen: screen.bar.start_typing()),
    "keeping a question": findings(lambda screen: screen.kept.start_keeping()),
    "reading cones": _cones,
    "logging a firing": on_firings("log_firing"),
    "changing a firing": on_firings("change"),
    "typing readings": on_firings("type_readings"),
    "reading by hand": _read_by_hand,
    "logs that wait": _waiting(lambda _work, _ids: None),
    "a log that waits": _waiting(lambda work, ids: work.describe(ids[:1])),
    "a log that waits and asks": _waiting(lambda work, ids: work.describe(ids[2:])),
    "logs described together": _waiting(lambda work, ids: work.describe(ids)),
    "a folder of logs": _waiting(lambda work, _ids: work.take_in([LOGS])),
    "folders of the loggers": _waiting(lambda work, _ids: work.name_folders()),
    "an order being worked on": _asked_for("order"),
    "a set being worked on": _asked_for("set"),
    "firing sheet": _firing_sheet,
    "upkeep of a kiln": _upkeep,
    "a log file": importing("01_bom_semicolon_comma.csv"),
    "a log file that asks": importing("02_fahrenheit_unlabelled.csv"),
    "a log file that fails": importing("20_header_only.csv"),
    "a lot of a material": _material,
    "a known material": show("material", lambda _y: shipped_ident(1)),
    "shopping list": _shopping_list,
    "a load": _load("glaze"),
    "a load with ware that waits": _load("bisque", out=2),
    "planning a load": _load("glaze", act="begin"),
    "lighting a load": _load("glaze", act="light"),
    "loading sheet": _load("glaze", act="print_load"),
    "a bucket": _bucket,
    "mixing a bucket": _of_buckets("open_mix"),
    "slurry sums": _of_buckets("open_sums"),
    "a plan": _plan("planned"),
    "a plan made": _plan("made"),
    "a plan glazed": _plan("glazed"),
    "a plan looked at": _plan("looked"),
    "looking at tiles": _plan("fired", lambda page: page.start_inspecting()),  # type: ignore[attr-defined]
    "labels of a plan": _plan("made", lambda page: page.open_sheet("labels")),  # type: ignore[attr-defined]
    "mixing sheet of a plan": _plan("made", lambda page: page.open_sheet("mixing")),  # type: ignore[attr-defined]
    "a new line": _new_plan("line"),
    "new additions": _new_plan("additions"),
    "a new grid by formula": _new_plan("silica_alumina"),
    "new thicknesses": _new_plan("thickness"),
    "starting a run": _start_run,
    "packing a run": _pack,
    "how many at once": _how_many,
    "make size": lambda y: open_make_size(y.desk, y.studio.buff, 270, y.window),
    "make size of a stamp": _stamp,
    "tiles for an area": lambda y: open_tiles(y.desk, 0, y.studio.buff, y.window),
    "bars of a clay": _bars,
    "a span looked back on": _looking_back,
    "an idea": _thought("idea"),
    "an idea that becomes a form": _thought("idea", "settle.ask form"),
    "an idea dropped": _thought("idea", "settle.ask dropped"),
    "a tool": _thought("tool"),
    "a form with versions and ways": _thought("form"),
    "a decision on a form": _thought("form", "story.ask_next"),
    "a new version of a form": _thought("form", "versions.ask"),
    "naming an idea": naming("ideas"),
    "quick log": quick_log(),
    "quick log of a piece": quick_log(number=3),
    "settings": framed(lambda y: SettingsSheet(y.desk, y.window)),
    "limits": framed(lambda y: LimitsSheet(y.desk, "", y.window)),
    "history": framed(lambda y: HistorySheet(y.desk, y.window)),
    "keys": framed(lambda y: KeysSheet(y.window, [(["A", "D"], "move divider")])),
    "start": framed(lambda _y: StartSheet("The journal in /old is gone.")),
    "a bug": framed(lambda y: BugSheet("Traceback", y.window)),
    "a notice": _noticed,
}


def judge_names(root: QWidget) -> list[str]:
    """What a reader could not call by a name of its own."""
    found = tree.controls(root)
    wrong = [f"no name: {one}" for one in tree.nameless(found)]
    wrong += [f"same name: {one}" for one in tree.namesakes(found)]
    return wrong + [f"silent: {one}" for one in tree.silent_items(root)]


def judge_keys(root: QWidget) -> list[str]:
    """Where the Tab key does not come to, and where it comes to unseen."""
    wrong: list[str] = []

    def look(stop: QWidget) -> None:
        if tree.out_of_sight(stop):
            wrong.append(f"out of sight: {tree.describe(stop)}")
        elif tree.pixels_changed_by_focus(stop) < tree.FEWEST_PIXELS:
            wrong.append(f"focus not seen: {tree.describe(stop)}")

    stops = tree.tab_round(root)
    # Every page is scrolled to its end now: the second round has to lead back up.
    assert tree.tab_round(root, look=look) == stops
    back = tree.tab_round(root, Qt.Key.Key_Backtab)
    if set(back) != set(stops):
        odd = set(back) ^ set(stops)
        wrong.append("only one way round: " + ", ".join(map(tree.describe, odd)))
    left_out = tree.not_reached(tree.controls(root), stops)
    return wrong + [f"not reached: {one}" for one in left_out]


def settle(root: QWidget, qtbot: QtBot) -> None:
    """Until the keyboard is in the window, and what was just shown has its room."""
    qtbot.waitUntil(lambda: root.window().isActiveWindow(), timeout=20_000)
    for _ in range(6):
        QApplication.processEvents()  # the layouts of a page ask for room one within the other
    tree.wake(root.window())


@pytest.mark.parametrize("name", SCENES)
def test_every_control_is_named_reached_and_seen(yard: Yard, qtbot: QtBot, name: str) -> None:
    root = SCENES[name](yard)
    settle(root, qtbot)
    assert judge_names(root) + judge_keys(root) == []


@pytest.mark.parametrize("key", PLACES)
def test_an_empty_journal_is_as_easy(window: Window, qtbot: QtBot, key: str) -> None:
    window.show_place(key)
    wait_for_forecast(window.desk)
    settle(window, qtbot)
    assert cramped(window, window.size()) == []
    assert judge_names(window) + judge_keys(window) == []


def test_tab_goes_through_the_quick_log_as_a_cup_is_told(yard: Yard, qtbot: QtBot) -> None:
    sheet = SCENES["quick log of a piece"](yard)
    settle(sheet, qtbot)
    names = [stop.accessibleName().split(":")[0] for stop in tree.tab_round(sheet)]
    assert names == [
        "Piece number", "Clay", "Form", "Run", "Glaze, in the order it went on", "Firing", "Level",
        "Crazing", "Surface, now of the whole piece. Said", "Next time", "Photos", "Height, mm",
        "Across, mm", "Weight, g", "Glaze section", "Save", "Save, and log the next cup like it",
    ]  # fmt: skip


def test_tab_goes_through_a_firing_as_it_is_logged(yard: Yard, qtbot: QtBot) -> None:
    sheet = SCENES["logging a firing"](yard)
    settle(sheet, qtbot)
    names = [stop.accessibleName().split(":")[0] for stop in tree.tab_round(sheet)]
    assert names == [
        "Program", "Kiln", "Kind", "Atmosphere", "Cone aimed at", "Number", "Started", "at",
        "Title", "Energy, kWh", "Ended", "at", "Log it", "Cancel",
    ]  # fmt: skip


def test_a_tab_of_the_window_gives_its_page_the_keyboard(yard: Yard, qtbot: QtBot) -> None:
    window = yard.window
    for number in (1, 2, 3, 4, 5, 6):
        key = Qt.Key(Qt.Key.Key_0 + number)
        QTest.keyClick(window, key, Qt.KeyboardModifier.ControlModifier)
        settle(window, qtbot)
        here, shown = QApplication.focusWidget(), window.stack.currentWidget()
        assert here is not None
        assert shown is here or shown.isAncestorOf(here), (number, tree.describe(here))


def test_leaving_the_quick_log_gives_the_keyboard_back(yard: Yard, qtbot: QtBot) -> None:
    yard.window.show_place("glazes")
    settle(yard.window, qtbot)
    before = QApplication.focusWidget()
    assert before is not None
    yard.window.open_quick_log()
    sheet = yard.dialog()
    settle(sheet, qtbot)
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Escape)
    assert not sheet.isVisible()
    yard.window.activateWindow()  # off-screen there is no window manager to do it
    settle(yard.window, qtbot)
    assert QApplication.focusWidget() is before
