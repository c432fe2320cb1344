"""The quick log: one sheet, keyboard first, over whatever is on the screen."""

import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

from PySide6.QtCore import QEvent, QObject, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QCloseEvent,
    QKeyEvent,
    QKeySequence,
    QPainter,
    QPaintEvent,
    QPen,
    QShortcut,
)
from PySide6.QtWidgets import QApplication, QDialog, QLineEdit, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import MOMENTS
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import RADIUS_DIALOG
from studiolog.journal.quick_log import find_number, open_sheet, save_sheet
from studiolog.journal.sheet_page import SheetPage
from studiolog.photos.intake import PhotoFacts, Source
from studiolog.problems import UserProblem
from studiolog.ui.quick_log.photo_intake import PhotoIntake
from studiolog.ui.quick_log.photo_sources import pick_files, pictures_held
from studiolog.ui.quick_log.sheet_body import SheetBody
from studiolog.ui.quick_log.sheet_showing import SheetShowing
from studiolog.ui.quick_log.sheet_text import (
    SheetPicture,
    SheetText,
    glimpse,
    moment_of,
    read_draft,
    read_piece_number,
    read_plain,
    still_known,
    text_of,
    write_plain,
)
from studiolog.ui.quick_log.veil import Veil, veiled

KEEP_AFTER_MS = 400
_MOST_WIDE, _MOST_HIGH, _ROOM = 1032, 820, 8


class QuickLogSheet(QDialog):
    """Log a piece, or carry on with one by its number. ``saved`` carries its id.

    What is typed is kept as a draft until it is saved: Esc, closing the window and a crash leave
    it to be taken up again.
    """

    saved = Signal(int)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.page: SheetPage | None = None
        self._first = SheetText()
        self._pictures: tuple[SheetPicture, ...] = ()
        self._looked_on: date | None = None
        self._like: int | None = None
        self._filling = False
        self._save_wanted: bool | None = None  # and whether the next cup follows
        self._leaving = False
        self._just_opened = False
        self._opened_at = time.monotonic()
        self._veil = Veil(parent.window()) if parent is not None else None
        self._build()
        self._connect()

    # Build

    def _build(self) -> None:
        self.setWindowTitle("Quick log")
        self.setAccessibleName("Quick log")
        self.setWindowModality(Qt.WindowModality.WindowModal)
        self.setWindowFlag(Qt.WindowType.FramelessWindowHint, True)
        self.body = SheetBody(self.desk, self)
        self.intake = PhotoIntake(self.desk, self)
        self._showing = SheetShowing(self.desk, self.body)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(1, 1, 1, 1)
        rows.addWidget(self.body)
        self._keep_soon = QTimer(self)
        self._keep_soon.setSingleShot(True)
        self._keep_soon.setInterval(KEEP_AFTER_MS)
        self._tick = QTimer(self)
        self._tick.setInterval(1000)

    def _connect(self) -> None:
        body = self.body
        for line in (body.number, body.next_time):
            line.textEdited.connect(self._change)
        for field in (body.height_field, body.across_field, body.mass_field):
            field.line.textEdited.connect(self._change)
        body.number.editingFinished.connect(self._follow_number)
        body.clay.changed.connect(self._change)
        for pick in (body.form, body.run):
            pick.picked.connect(self._change)
        body.run.picked.connect(self._take_run)
        for changed in (body.layers.changed, body.firing.changed, body.faults.changed):
            changed.connect(self._change)
        body.surface.changed.connect(self._change)
        body.photos.files_dropped.connect(self.take_files)
        body.photos.pick_asked.connect(self.pick_photos)
        body.photos.moment_turned.connect(self._turn_moment)
        body.photos.removed.connect(self._remove_picture)
        body.afresh.clicked.connect(self.start_afresh)
        body.save.clicked.connect(lambda: self.save())
        body.save_next.clicked.connect(lambda: self.save(next_cup=True))
        self.intake.arrived.connect(self._take_picture)
        self.intake.refused.connect(self._say_refused)
        self.intake.moved.connect(self._change)
        self.intake.settled.connect(self._settle)
        self._keep_soon.timeout.connect(self.keep)
        self._tick.timeout.connect(self._say_elapsed)
        keys: dict[str, Callable[[], object]] = {
            "Alt+0": lambda: _enter(body.number),
            "Alt+1": body.clay.go_first,
            "Alt+2": lambda: _enter(body.layers.line),
            "Alt+3": body.firing.go_first,
            "Alt+4": body.faults.go_first,
            "Alt+5": lambda: _enter(body.next_time),
            "Alt+6": body.surface.setFocus,
            "Alt+P": self.pick_photos,
            "Ctrl+D": body.faults.all_looked,
            "Ctrl+G": self.take_offer,
            "Ctrl+S": lambda: self.save(),
            "Ctrl+Return": lambda: self.save(next_cup=True),
            "Ctrl+Enter": lambda: self.save(next_cup=True),
        }
        for key, does in keys.items():
            QShortcut(QKeySequence(key), self).activated.connect(does)
        for line in self.findChildren(QLineEdit):
            line.installEventFilter(self)
        parent = self.parentWidget()
        if parent is not None:
            parent.window().installEventFilter(self)
        QApplication.instance().focusChanged.connect(self._hear_focus)  # type: ignore[union-attr]
        theme.current().changed.connect(self.update)

    # Opening

    def open_for(
        self,
        number: int | None = None,
        like: int | None = None,
        prefill: Mapping[str, Any] | None = None,
    ) -> None:
        """Open the sheet: of a piece by its number, of one like a piece (by id), or a new one.

        ``prefill`` gives fields of `SheetText`, such as ``clay_id`` or ``layers``.
        """
        self._load(number, like, prefill)
        self._opened_at = time.monotonic()
        self._say_elapsed()
        self._tick.start()
        self._place()
        self.open()
        self.activateWindow()
        _enter(self.body.number)

    def _load(
        self,
        number: int | None = None,
        like: int | None = None,
        prefill: Mapping[str, Any] | None = None,
    ) -> None:
        self._filling = True
        page = self.desk.read(partial(open_sheet, number=number, like=like))
        self.page = page
        self._like = like if page.is_new else None
        self._first = replace(text_of(page), **(prefill or {}))
        self.intake.drop_all()
        self._save_wanted = None
        kept = self.desk.drafts.read(self._draft_name())
        text = read_plain(kept["text"]) if kept and isinstance(kept.get("text"), dict) else None
        if kept and text is not None:
            if page.is_new and (number is not None or text.number == str(kept.get("proposed"))):
                # The number proposed then may have been given since.
                text = replace(text, number=self._first.number)
            text = still_known(text, page)
        self._show_text(text or self._first)
        self._showing.say_taken_up(text is not None)
        if text is not None and text.pending:
            self.take_files(list(text.pending))

    def _draft_name(self) -> str:
        assert self.page is not None
        if not self.page.is_new:
            return f"quick_log-{self.page.number}"
        return "quick_log" if self._like is None else f"quick_log-like-{self._like}"

    def _place(self) -> None:
        look = theme.current()
        wide, high = look.px(_MOST_WIDE), look.px(_MOST_HIGH)
        parent = self.parentWidget()
        if parent is not None:
            window = parent.window()
            room = window.rect().adjusted(_ROOM, _ROOM, -_ROOM, -_ROOM)
            self.resize(min(wide, room.width()), min(high, room.height()))
            centre = window.mapToGlobal(window.rect().center())
            self.move(centre - self.rect().center())
        else:
            self.resize(wide, high)

    def start_afresh(self) -> None:
        """Throw the half-filled sheet away and begin it again."""
        assert self.page is not None
        self._drop_draft()
        number = None if self.page.is_new else self.page.number
        self._load(number, self._like)
        _enter(self.body.number)

    def _follow_number(self) -> None:
        """A number typed over: the sheet of that piece, if there is one."""
        if self.page is None or self._filling:
            return
        number = read_piece_number(self.body.number.text())
        if number is None or number == self.page.number:
            return
        known = self.desk.read(partial(find_number, number=number)) is not None
        if not known and self.page.is_new:
            return
        before = replace(self._text(), number=str(self.page.number))
        self._keep_text(before)
        self._load(number)
        # The Enter that led here has done its work: it must not save what it has just opened.
        self._just_opened = True
        QTimer.singleShot(0, self, self._forget_enter)
        _enter(self.body.number)

    def _forget_enter(self) -> None:
        self._just_opened = False

    # The text on the sheet

    def _show_text(self, text: SheetText) -> None:
        assert self.page is not None
        self._filling = True
        self._pictures = text.pictures
        self._looked_on = text.looked_on
        self._showing.show_text(self.page, text)
        self._filling = False
        self._change()
        self._keep_soon.stop()

    def _text(self) -> SheetText:
        """What stands on the sheet now."""
        read = self._showing.read_text(self._first)
        return replace(
            read,
            looked_on=self._looked_on,
            pictures=self._pictures,
            pending=self.intake.pending_paths(),
        )

    def _change(self, *_: object) -> None:
        if self._filling or self.page is None:
            return
        self.body.problem.say("")
        self._showing.show_what_follows(self.page, self._text(), self.intake.waiting())
        self._keep_soon.start()

    def _hear_focus(self, _old: QWidget | None, here: QWidget | None) -> None:
        if self.page is None or not self.isVisible() or self._filling:
            return
        self._showing.say_heads(self.page, self._text())
        if here is not None and self.body.columns.isAncestorOf(here):
            self.body.reel.ensureWidgetVisible(here, 0, 24)

    def _say_elapsed(self) -> None:
        seconds = int(time.monotonic() - self._opened_at)
        said = f"{seconds} s" if seconds < 60 else f"{seconds // 60} min {seconds % 60:02d} s"
        self.body.elapsed.setText(said)

    def keep(self) -> None:
        """Keep what stands on the sheet as a draft; a sheet with nothing new on it leaves none."""
        self._keep_soon.stop()
        if self.page is not None:
            self._keep_text(self._text())

    def _keep_text(self, text: SheetText) -> None:
        assert self.page is not None
        if text.is_like(self._first):
            self._drop_draft()
            return
        content = {"text": write_plain(text), "proposed": self.page.number}
        try:
            self.desk.drafts.keep(self._draft_name(), content)
        except UserProblem as problem:
            self.body.problem.say(problem.sentence)

    def _drop_draft(self) -> None:
        try:
            self.desk.drafts.drop(self._draft_name())
        except UserProblem as problem:
            self.body.problem.say(problem.sentence)

    def take_offer(self) -> None:
        """Take what is offered in grey: what was used last, where nothing was chosen yet."""
        assert self.page is not None
        offer, text = self.page.offer, self._text()
        taken = replace(
            text,
            clay_id=text.clay_id or offer.clay_id,
            form_id=text.form_id or offer.form_id,
            firing_id=text.firing_id or offer.firing_id,
        )
        if text.level_id is None and taken.firing_id == offer.firing_id:
            taken = replace(taken, level_id=offer.level_id)
        self._showing.show_choices(self.page, taken)
        self._change()

    def _take_run(self, run_id: object) -> None:
        """A run says its clay and form, where nothing else was said."""
        assert self.page is not None
        run = next((run for run in self.page.runs if run.run_id == run_id), None)
        if run is not None:
            text = self._text()
            text = replace(
                text, clay_id=text.clay_id or run.clay_id, form_id=text.form_id or run.form_id
            )
            self._showing.show_choices(self.page, text)
            self._change()

    # Photos

    def take_files(self, paths: list[str]) -> None:
        """Take picture files in, in the background."""
        from pathlib import Path

        self.take_sources([Path(path) for path in paths])

    def take_sources(self, sources: list[Source]) -> None:
        """Take files, or pasted bytes, in."""
        self.body.photo_problem.say("")
        self.intake.add(sources)

    def pick_photos(self) -> None:
        """Ask for picture files."""
        pick_files(self, self.take_files)

    def _take_picture(self, facts: PhotoFacts) -> None:
        assert self.page is not None
        had = {p.sha256 for p in self._pictures} | {p.sha256 for p in self.page.pictures}
        if facts.sha256 in had:
            self._say_refused(f"{facts.name} is on this piece already.")
            return
        picture = SheetPicture(
            facts.sha256,
            facts.suffix,
            facts.name,
            facts.width,
            facts.height,
            facts.byte_count,
            facts.taken_at,
        )
        self._pictures = (*self._pictures, picture)
        self._change()

    def _say_refused(self, sentence: str) -> None:
        said = self.body.photo_problem.sentence()
        self.body.photo_problem.say(f"{said} {sentence}".strip())
        if self._save_wanted is not None or self._leaving:
            # The sheet is about to go: the sentence must outlive it.
            self.desk.notices.warn(sentence)

    def _turn_moment(self, sha256: str) -> None:
        """The next moment a photo may show."""
        assert self.page is not None
        seen = glimpse(self._text(), self.page)
        moments = list(MOMENTS)
        turned = []
        for picture in self._pictures:
            if picture.sha256 == sha256:
                now = moments.index(moment_of(picture, seen, self.page))
                picture = replace(picture, moment=moments[(now + 1) % len(moments)])
            turned.append(picture)
        self._pictures = tuple(turned)
        self._change()

    def _remove_picture(self, sha256: str) -> None:
        self._pictures = tuple(p for p in self._pictures if p.sha256 != sha256)
        self._change()

    def paste_photos(self) -> bool:
        """Take pictures from the clipboard; False if it holds none."""
        sources = pictures_held(QApplication.clipboard().mimeData())
        if sources:
            self.take_sources(sources)
        return bool(sources)

    # Saving and leaving

    def save(self, next_cup: bool = False) -> None:
        """Keep the sheet as one edit, once the photos on their way are in; nothing stands still."""
        assert self.page is not None
        if self.intake.waiting():
            self._save_wanted = next_cup
            self._change()
            return
        self._save_wanted = None
        page = self.page
        try:
            draft = read_draft(self._text(), page)
            label = f"{'Log' if page.is_new else 'Change'} piece {draft.number}"
            edit = partial(save_sheet, draft=draft, opened=None if page.is_new else page.draft)
            piece_id = self.desk.edits.run(label, edit)
        except UserProblem as problem:
            self._showing.say_problem(problem)
            return
        self._keep_soon.stop()
        self._drop_draft()
        done = f"Piece {draft.number} {'logged' if page.is_new else 'changed'}."
        self.desk.notices.say(done, "Open", partial(self.desk.show, "piece", piece_id))
        self.saved.emit(piece_id)
        if next_cup:
            self._opened_at = time.monotonic()
            self._load(like=piece_id)
            _enter(self.body.number)
        else:
            self.page = None
            self._leave()

    def _settle(self) -> None:
        """The last photo on its way has arrived."""
        if self._save_wanted is not None:
            self.save(next_cup=self._save_wanted)
        elif self._leaving:
            self._leave()

    def reject(self) -> None:
        """Esc: keep the draft and go; while it waits to save, stop waiting."""
        if self._save_wanted is not None:
            self._save_wanted = None
            self._change()
            return
        self._leave()

    def closeEvent(self, event: QCloseEvent) -> None:
        self._leave()
        event.accept()

    def _leave(self) -> None:
        """Keep the draft and go; what is still on its way arrives out of sight first."""
        self.keep()
        self._tick.stop()
        self._lift_veil()
        if self.page is not None and self.intake.waiting():
            # What was pasted has no file it could be read from again.
            self._leaving = True
            self.hide()
            return
        self.page = None
        self.done(0)
        self.deleteLater()

    def _lift_veil(self) -> None:
        if self._veil is not None:
            self._veil.hide()
            self._veil.deleteLater()
            self._veil = None

    # Keys and paint

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Close and watched is not self:
            self.keep()  # the window goes, and this sheet with it
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            pasting = event.matches(QKeySequence.StandardKey.Paste)
            if pasting and isinstance(watched, QLineEdit) and self.paste_photos():
                return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Paste):
            if not self.paste_photos():
                self.body.photo_problem.say("The clipboard holds no photo.")
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            here = self.focusWidget()
            if isinstance(here, QPushButton):
                here.click()
            elif not self._just_opened:
                self.save()
        elif event.key() == Qt.Key.Key_P and not event.modifiers():
            self.pick_photos()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        look = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(look.color("line2" if look.tokens.dark else "ink"), 1))
        painter.setBrush(look.color("sheet"))
        # Outside the round corners stands what lies around them, not the black of no compositor.
        painter.fillRect(self.rect(), veiled(look.color("paper")))
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.drawRoundedRect(box, RADIUS_DIALOG, RADIUS_DIALOG)


def _enter(line: QLineEdit) -> None:
    """Give a line the keyboard, with what stands in it ready to be typed over."""
    line.setFocus(Qt.FocusReason.ShortcutFocusReason)
    line.selectAll()
