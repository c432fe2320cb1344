"""The window: top bar, one screen at a time, notices, and the foot line."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QByteArray, QSize, Qt, Signal
from PySide6.QtGui import QAction, QCloseEvent, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QHBoxLayout,
    QMainWindow,
    QMenu,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop.actions import ACTIONS
from studiolog.desktop.desk import Desk
from studiolog.journal.studio import read_studio
from studiolog.ui.frame.history_sheet import HistorySheet
from studiolog.ui.frame.keys_sheet import KeysSheet
from studiolog.ui.frame.notice_bar import NoticeBar
from studiolog.ui.frame.places import PLACE_OF_NOUN, PLACES, TAB_OF_PLACE, TABS, make_screen
from studiolog.ui.frame.settings_sheet import SettingsSheet
from studiolog.ui.frame.top_bar import TopBar
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.icon import window_icon
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import FootLine
from studiolog.ui.parts.sight import bring_into_sight


class Window(QMainWindow):
    """Answers what screens ask for, and holds no page of its own.

    ``journal_asked`` carries what to open instead: "new", "open" or "demo".
    """

    journal_asked = Signal(str)

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self._screens: dict[str, Screen] = {}
        self._last_place: dict[int, str] = {}
        self._way_back: list[str] = []
        self._here = ""
        self.setWindowIcon(window_icon())
        self.setMinimumSize(960, 640)
        self._build()
        self._connect()
        self._show_studio()
        self._show_turns()

    def _build(self) -> None:
        self.top = TopBar(self.desk)
        self._choosers: dict[int, SegmentedChoice] = {}
        for index, tab in enumerate(TABS):
            if len(tab.places) > 1:
                choices = [Choice(number, place.text) for number, place in enumerate(tab.places)]
                chooser = SegmentedChoice(f"Parts of {tab.text}", choices)
                chooser.picked.connect(partial(self._choose_within, index))
                self._choosers[index] = chooser
        self.stack = QStackedWidget()
        self.notice = NoticeBar(self.desk.notices)
        self.foot = FootLine()
        middle = QWidget()
        rows = QVBoxLayout(middle)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addWidget(self.top)
        self._chooser_rows: dict[int, QWidget] = {}
        for index, chooser in self._choosers.items():
            row = self._chooser_rows[index] = QWidget()
            inside = QHBoxLayout(row)
            inside.setContentsMargins(32, 12, 32, 0)
            inside.addWidget(chooser)
            inside.addStretch(1)
            row.hide()
            rows.addWidget(row)
        rows.addWidget(self.stack, 1)
        rows.addWidget(self.notice)
        foot = QVBoxLayout()
        foot.setContentsMargins(32, 0, 32, 0)
        foot.addWidget(self.foot)
        rows.addLayout(foot)
        self.setCentralWidget(middle)
        self._build_menus()

    def _build_menus(self) -> None:
        acts: dict[str, Callable[[], object]] = {
            "quick_log": lambda: self._answer("quick_log", 0, None),
            "log_run": lambda: self._answer("bench", 0, "start run"),
            "log_firing": lambda: self._answer("firings", 0, "log firing"),
            "find": self.top.find_box.setFocus,
            "new_journal": lambda: self.journal_asked.emit("new"),
            "open_journal": lambda: self.journal_asked.emit("open"),
            "open_demo": lambda: self.journal_asked.emit("demo"),
            "close": self.close,
            "undo": self.desk.edits.undo,
            "redo": self.desk.edits.redo,
            "history": lambda: HistorySheet(self.desk, self).exec(),
            "settings": lambda: SettingsSheet(self.desk, self).exec(),
            "back": self.go_back,
            "keys": lambda: KeysSheet(self, self.current_hints()).exec(),
        }
        self.actions_by_key: dict[str, QAction] = {}
        menus: dict[str, QMenu] = {}
        for words in ACTIONS:
            if words.menu not in menus:
                menus[words.menu] = self.menuBar().addMenu(f"&{words.menu}")
            action = menus[words.menu].addAction(words.text)
            action.setShortcuts([QKeySequence(keys) for keys in words.keys])
            action.triggered.connect(acts[words.key])
            self.actions_by_key[words.key] = action
        for index, tab in enumerate(TABS):
            action = menus["Show"].addAction(tab.text)
            action.setShortcut(QKeySequence(f"Ctrl+{index + 1}"))
            action.triggered.connect(partial(self.show_tab, index))

    def _connect(self) -> None:
        self.top.tab_chosen.connect(self.show_tab)
        self.top.quick_log_asked.connect(lambda: self._answer("quick_log", 0, None))
        self.top.find_box.chosen.connect(lambda kind, row_id: self._answer(kind, row_id, None))
        self.desk.asked_for.connect(self._answer)
        self.desk.edits.turned.connect(self._show_turns)
        self.desk.edits.edited.connect(lambda _touched, _by: self._show_studio())

    # Going places

    def show_tab(self, index: int) -> None:
        """Show a tab where it was left."""
        self.show_place(self._last_place.get(index, TABS[index].places[0].key))

    def show_place(self, key: str) -> Screen:
        """Show a screen, making it if it is seen for the first time."""
        screen = self.screen_of(key)
        if self._here and self._here != key:
            self._way_back.append(self._here)
        self._here = key
        tab = TAB_OF_PLACE[key]
        self._last_place[tab] = key
        self.top.show_tab(tab)
        for index, row in self._chooser_rows.items():
            row.setVisible(index == tab)
        if tab in self._choosers:
            self._choosers[tab].choose([place.key for place in TABS[tab].places].index(key))
        self.stack.setCurrentWidget(screen)
        self.foot.set_hints(screen.foot())
        self.setWindowTitle(f"{PLACES[key].text} · {self._studio_name or 'Studiolog'}")
        return screen

    def screen_of(self, key: str) -> Screen:
        """The screen of a place."""
        if key not in self._screens:
            screen = make_screen(PLACES[key], self.desk)
            self._screens[key] = screen
            self.stack.addWidget(screen)
        return self._screens[key]

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

    def _show_studio(self) -> None:
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

    def restore_place(self) -> None:
        """Stand where the window stood last."""
        geometry = self.desk.settings.window_geometry
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

    def closeEvent(self, event: QCloseEvent) -> None:
        """Qt: remember the place, stop the jobs; every edit was saved when it was made."""
        self.desk.settings.window_geometry = bytes(self.saveGeometry().data())
        self.desk.jobs.wait()
        super().closeEvent(event)
