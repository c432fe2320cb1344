"""The window: top bar, one screen at a time, notices, and the foot line."""

from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QByteArray, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QCloseEvent, QKeyEvent, QKeySequence, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QMainWindow, QMenu, QStackedWidget, QVBoxLayout, QWidget

from studiolog.desktop.actions import ACTIONS
from studiolog.ui.frame.meanwhile import Meanwhile
from studiolog.ui.frame.places import PLACE_OF_NOUN, PLACES, TAB_OF_PLACE, TABS, make_screen
from studiolog.ui.frame.top_bar import TopBar
from studiolog.ui.parts.icon import window_icon
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import FootLine
from studiolog.ui.parts.sight import bring_into_sight, enter

if TYPE_CHECKING:
    from studiolog.desktop.desk import Desk
    from studiolog.desktop.settings import Settings
    from studiolog.journal.bench import BenchPage
    from studiolog.journal.first_look import FirstLook
    from studiolog.ui.bench.screen import BenchScreen
    from studiolog.ui.parts.choice import SegmentedChoice


class Window(QMainWindow):
    """Answers what screens ask for, and holds no page of its own.

    Without a desk it shows a first look and keeps what is pressed, until it takes one up.
    ``journal_asked`` carries what to open instead: "new", "open" or "demo"; ``painted`` says
    that it was seen for the first time, ``closed`` that it is gone.
    """

    journal_asked = Signal(str)
    painted = Signal()
    closed = Signal()

    def __init__(self, desk: "Desk | None" = None) -> None:
        super().__init__()
        self._desk: Desk | None = None
        self._screens: dict[str, Screen] = {}
        self._choosers: dict[int, SegmentedChoice] = {}
        self._chooser_rows: dict[int, QWidget] = {}
        self._last_place: dict[int, str] = {}
        self._way_back: list[str] = []
        self._here = ""
        self._studio_name = ""
        self._seen = False
        self.meanwhile = Meanwhile(self)
        self.setWindowIcon(window_icon())
        self.setMinimumSize(960, 640)
        self._build()
        self._connect()
        if desk is not None:
            self.take_up(desk)
        else:
            self.show_progress("Opening the journal…")
            self.meanwhile.begin(self, self.top.find_box, self.top.tabs, self.top.quick_log)

    @property
    def desk(self) -> "Desk":
        """What the screens are handed."""
        if self._desk is None:
            raise RuntimeError("the journal of this window is not open yet")
        return self._desk

    def _build(self) -> None:
        self.top = TopBar()
        self.stack = QStackedWidget()
        self.foot = FootLine()
        middle = QWidget()
        self._rows = QVBoxLayout(middle)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setSpacing(0)
        self._rows.addWidget(self.top)
        self._rows.addWidget(self.stack, 1)
        foot = QVBoxLayout()
        foot.setContentsMargins(32, 0, 32, 0)
        foot.addWidget(self.foot)
        self._rows.addLayout(foot)
        self.setCentralWidget(middle)
        self._build_menus()

    def _build_menus(self) -> None:
        self._acts: dict[str, Callable[[], object]] = {
            "quick_log": lambda: self._answer("quick_log", 0, None),
            "log_run": lambda: self._answer("bench", 0, "start run"),
            "note_idea": lambda: self._answer("ideas", 0, "new"),
            "log_firing": lambda: self._answer("firings", 0, "log firing"),
            "take_in_logs": lambda: self._answer("firings", 0, "take in logs"),
            "logger_folders": lambda: self._answer("firings", 0, "logger folders"),
            "find": self.top.find_box.setFocus,
            "new_journal": lambda: self.journal_asked.emit("new"),
            "open_journal": lambda: self.journal_asked.emit("open"),
            "open_demo": lambda: self.journal_asked.emit("demo"),
            "undo": lambda: self.desk.edits.undo(),
            "redo": lambda: self.desk.edits.redo(),
            "history": self._show_history,
            "settings": self._show_settings,
            "limits": self._show_limits,
            "back": self.go_back,
            "keys": self._show_keys,
            "make_size": self._show_make_size,
            "tiles": self._show_tiles,
        }
        self.actions_by_key: dict[str, QAction] = {}
        menus: dict[str, QMenu] = {}
        for words in ACTIONS:
            if words.menu not in menus:
                menus[words.menu] = self.menuBar().addMenu(f"&{words.menu}")
            action = menus[words.menu].addAction(words.text)
            action.setShortcuts([QKeySequence(keys) for keys in words.keys])
            if words.key == "close":
                action.triggered.connect(self.close)
            else:
                action.triggered.connect(partial(self._do, self._acts[words.key]))
            self.actions_by_key[words.key] = action
        for index, tab in enumerate(TABS):
            action = menus["Show"].addAction(tab.text)
            action.setShortcut(QKeySequence(f"Ctrl+{index + 1}"))
            action.triggered.connect(partial(self._do, partial(self._go_to_tab, index)))

    def _connect(self) -> None:
        self.top.tab_chosen.connect(lambda index: self._do(partial(self.show_tab, index)))
        self.top.quick_log_asked.connect(lambda: self._do(self._acts["quick_log"]))
        self.top.find_box.chosen.connect(lambda kind, row_id: self._answer(kind, row_id, None))

    def _do(self, act: Callable[[], object], _checked: bool = False) -> None:
        """Do what was asked for, in its turn."""
        if self.meanwhile.keeping:
            self.meanwhile.keep(act)
        else:
            act()

    # Before the journal is open, and when it is

    def look_ahead(self, first: "FirstLook | None") -> None:
        """Show what is known of a journal that is being opened."""
        if self._desk is not None:
            return  # it was open before the window was seen
        if first is None:
            from studiolog.ui.parts.section import LoadingState

            state = LoadingState("Opening the journal…")
            state.setContentsMargins(32, 16, 32, 16)
            self.stack.addWidget(state)
        else:
            from studiolog.ui.bench.screen import BenchScreen

            self.top.set_name(first.studio)
            bench = self._screens["bench"] = BenchScreen(None)
            bench.look_ahead(first)
            bench.list.key_pressed.connect(self._keep_key)
            bench.list.link_opened.connect(self._keep_link)
            bench.start_button.clicked.connect(self._keep_start)
            self.stack.addWidget(bench)
            bench.paint_when_laid()
            self.foot.set_hints(bench.foot())
            self.meanwhile.begin(
                bench, bench.list, bench.line.line, bench.board.every_run, bench.start_button
            )
        self.setWindowTitle(f"Bench · {first.studio if first and first.studio else 'Studiolog'}")

    def show_progress(self, sentence: str) -> None:
        """Say what is being done until the journal is open."""
        self.foot.set_quiet(sentence)

    def take_up(self, desk: "Desk") -> None:
        """Work with this desk from now on."""
        for _ in self.taking_up(desk, None):
            pass

    def taking_up(self, desk: "Desk", page: "BenchPage | None") -> Iterator[None]:
        """The same in steps, each short; ``page`` is the bench, if that is to be shown."""
        from studiolog.ui.frame.notice_bar import NoticeBar

        self._desk = desk
        self.notice = NoticeBar(desk.notices)
        self._rows.insertWidget(self._rows.indexOf(self.stack) + 1, self.notice)
        desk.asked_for.connect(self._answer)
        desk.edits.turned.connect(self._show_turns)
        desk.edits.edited.connect(lambda _touched: self._show_studio())
        self._show_studio()
        self._show_turns()
        self.top.find_box.take_up(desk)
        yield
        if page is not None:
            yield from self._take_up_bench(desk, page)
        self.meanwhile.end()
        desk.reminders.start()
        QTimer.singleShot(0, self, self._watch_loggers)

    def _watch_loggers(self) -> None:
        from studiolog.desktop.logger_watch import LoggerWatch

        watch = LoggerWatch(self.desk, self)
        self.closed.connect(watch.stop)
        watch.begin()

    def _take_up_bench(self, desk: "Desk", page: "BenchPage") -> Iterator[None]:
        from studiolog.ui.bench.screen import BenchScreen

        before = self.stack.currentWidget()
        screen = self._screens.get("bench")
        if not isinstance(screen, BenchScreen):
            self.show_place("bench")
            if before is not None:
                self.stack.removeWidget(before)
                before.deleteLater()
            return
        screen.list.key_pressed.disconnect(self._keep_key)
        screen.list.link_opened.disconnect(self._keep_link)
        screen.start_button.clicked.disconnect(self._keep_start)
        yield from screen.taking_up(desk, page)
        if screen.page is None:
            screen.mark_stale()
        self.show_place("bench")
        yield

    def _keep_key(self, what: str) -> None:
        def press() -> None:
            bench = cast("BenchScreen", self._screens["bench"])
            bench.do_key(what)

        self.meanwhile.keep(press)

    def _keep_link(self, kind: str, row_id: int) -> None:
        self.meanwhile.keep(lambda: self._answer(kind, row_id, None))

    def _keep_start(self) -> None:
        self.meanwhile.keep(self._acts["log_run"])

    # Going places

    def show_tab(self, index: int) -> None:
        """Show a tab where it was left."""
        self.show_place(self._last_place.get(index, TABS[index].places[0].key))

    def _go_to_tab(self, index: int) -> None:
        """By its key: the page has the keyboard then; a click leaves it in the row of tabs."""
        self.show_tab(index)
        shown = self.stack.currentWidget()
        if shown is not None:
            enter(shown)

    def show_place(self, key: str) -> Screen:
        """Show a screen, making it if it is seen for the first time."""
        screen = self.screen_of(key)
        if self._here and self._here != key:
            self._way_back.append(self._here)
        self._here = key
        tab = TAB_OF_PLACE[key]
        self._last_place[tab] = key
        self.top.show_tab(tab)
        self._show_chooser(tab, key)
        self.stack.setCurrentWidget(screen)
        self.foot.set_hints(screen.foot())
        self.setWindowTitle(f"{PLACES[key].text} · {self._studio_name or 'Studiolog'}")
        return screen

    def _show_chooser(self, tab: int, key: str) -> None:
        """The row that chooses among the places of a tab, made when the tab is first seen."""
        places = TABS[tab].places
        if len(places) > 1 and tab not in self._choosers:
            from studiolog.ui.parts.choice import Choice, SegmentedChoice

            choices = [Choice(number, place.text) for number, place in enumerate(places)]
            chooser = self._choosers[tab] = SegmentedChoice(f"Parts of {TABS[tab].text}", choices)
            chooser.picked.connect(partial(self._choose_within, tab))
            row = self._chooser_rows[tab] = QWidget()
            inside = QHBoxLayout(row)
            inside.setContentsMargins(32, 12, 32, 0)
            inside.addWidget(chooser)
            inside.addStretch(1)
            row.hide()
            self._rows.insertWidget(self._rows.indexOf(self.stack), row)
        for index, row in self._chooser_rows.items():
            row.setVisible(index == tab)
        if tab in self._choosers:
            self._choosers[tab].choose([place.key for place in places].index(key))

    def screen_of(self, key: str) -> Screen:
        """The screen of a place."""
        if key not in self._screens:
            screen = make_screen(PLACES[key], self.desk)
            self._screens[key] = screen
            self.stack.addWidget(screen)
            screen.foot_changed.connect(partial(self._show_foot, screen))
        return self._screens[key]

    def _show_foot(self, screen: Screen) -> None:
        if self.stack.currentWidget() is screen:
            self.foot.set_hints(screen.foot())

    def go_back(self) -> None:
        """Back to the screen one came from."""
        if self._way_back:
            key = self._way_back.pop()
            self._here = ""
            self.show_place(key)

    def current_hints(self) -> list[tuple[list[str], str]]:
        """The keys that work on the screen shown."""
        screen = self.stack.currentWidget()
        if not isinstance(screen, Screen):
            return []
        hints = [(list(keys), does) for keys, does in screen.foot()]
        places = TABS[TAB_OF_PLACE[self._here]].places
        if len(places) > 1:
            hints.append(([f"1–{len(places)}"], ", ".join(place.text.lower() for place in places)))
        return hints

    def _choose_within(self, tab: int, number: int) -> None:
        self.show_place(TABS[tab].places[number].key)

    def _answer(self, kind: str, row_id: int, more: object) -> None:
        """Show what a screen, the search field or a menu asked for."""
        if kind == "quick_log":
            self.open_quick_log(more)
            return
        if kind == "limits":
            self._show_limits(str(more or ""))
            return
        place = PLACE_OF_NOUN.get(kind, kind)
        if place not in PLACES:
            self.desk.notices.warn(f"There is no page for “{kind}”.")
            return
        screen = self.show_place(place)
        if row_id or more is not None or kind != place:
            screen.show_thing(row_id, more)
            self.foot.set_hints(screen.foot())

    def open_quick_log(self, more: object = None) -> None:
        """Open the quick log over whatever is shown; ``more`` is what it starts from."""
        from studiolog.ui.quick_log.sheet import QuickLogSheet

        sheet = QuickLogSheet(self.desk, self)
        wanted = more if isinstance(more, dict) else {}
        sheet.open_for(
            number=wanted.get("number"), like=wanted.get("like"), prefill=wanted.get("prefill")
        )

    def offer_kept_draft(self) -> None:
        """Say so if a half-filled sheet was left when the window last closed."""
        if self.desk.drafts.read("quick_log") is not None:
            self.desk.notices.say(
                "A quick log was left half filled.", "Take it up again", self.open_quick_log
            )

    # What the frame itself shows

    def _show_history(self) -> None:
        from studiolog.ui.frame.history_sheet import HistorySheet

        HistorySheet(self.desk, self).exec()

    def _show_settings(self) -> None:
        from studiolog.ui.frame.settings_sheet import SettingsSheet

        SettingsSheet(self.desk, self).exec()

    def _show_limits(self, group: str = "") -> None:
        from studiolog.ui.frame.limits_sheet import LimitsSheet

        LimitsSheet(self.desk, group, self).exec()

    def _show_make_size(self) -> None:
        from studiolog.ui.parts.make_size_sheet import open_make_size

        open_make_size(self.desk, parent=self)

    def _show_tiles(self) -> None:
        from studiolog.ui.parts.tiles_sheet import open_tiles

        open_tiles(self.desk, parent=self)

    def _show_keys(self) -> None:
        from studiolog.ui.frame.keys_sheet import KeysSheet

        KeysSheet(self, self.current_hints()).exec()

    def _show_studio(self) -> None:
        from studiolog.journal.studio import read_studio

        page = self.desk.read(read_studio)
        self._studio_name = page.name
        self.top.set_name(page.name)
        pieces = "1 piece" if page.pieces == 1 else f"{page.pieces:,} pieces".replace(",", " ")
        firings = "1 firing" if page.firings == 1 else f"{page.firings:,} firings".replace(",", " ")
        self.foot.set_quiet(f"Every change is saved · {pieces}, {firings}")

    def _show_turns(self) -> None:
        for key, label in (
            ("undo", self.desk.edits.undo_label()),
            ("redo", self.desk.edits.redo_label()),
        ):
            action = self.actions_by_key[key]
            word = "Undo" if key == "undo" else "Redo"
            action.setText(f"{word} “{label}”" if label else word)
            action.setEnabled(label is not None)

    def restore_place(self, settings: "Settings | None" = None) -> None:
        """Stand where the window stood last."""
        geometry = (settings or self.desk.settings).window_geometry
        if geometry is None or not self.restoreGeometry(QByteArray(geometry)):
            self.resize(1440, 900)
            room = self.screen().availableGeometry().size()
            # The title bar and edges are the desktop's, and not known before the window stands.
            self.resize(self.size().boundedTo(room - QSize(8, 40)))

    def focusNextPrevChild(self, onward: bool) -> bool:
        """Qt: the Tab key goes on; where it leads is scrolled to."""
        went = super().focusNextPrevChild(onward)
        bring_into_sight()
        return went

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: a plain number no field took chooses among the places of the tab shown."""
        tab = TAB_OF_PLACE.get(self._here, -1)
        number = event.key() - Qt.Key.Key_1
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if plain and tab in self._choosers and 0 <= number < len(TABS[tab].places):
            self._choose_within(tab, number)
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: the whole window is about to be seen."""
        super().paintEvent(event)
        if not self._seen:
            self._seen = True
            QTimer.singleShot(0, self, self.painted.emit)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Qt: remember the place, stop the jobs; every edit was saved when it was made."""
        if self._desk is not None:
            self._desk.settings.window_geometry = bytes(self.saveGeometry().data())
            self._desk.reminders.stop()
            self._desk.jobs.wait()
        super().closeEvent(event)
        self.closed.emit()
