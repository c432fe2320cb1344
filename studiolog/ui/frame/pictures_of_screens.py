"""A PNG of every screen, light and dark, for reading about the program and for looking it over."""

from collections.abc import Callable, Iterator
from pathlib import Path

from PySide6.QtCore import QEventLoop, QSettings, QTimer
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtWidgets import QApplication, QDialog

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.settings import Settings
from studiolog.journal.compare import Comparing
from studiolog.journal.forms import list_forms
from studiolog.journal.glazes import list_glazes
from studiolog.journal.opening import Journal
from studiolog.journal.showcase import choose_showcase
from studiolog.ui.frame.places import PLACES
from studiolog.ui.frame.window import Window
from studiolog.ui.glazes.glaze_view import GlazeView
from studiolog.ui.glazes.screen import GlazesScreen
from studiolog.ui.parts.how_many_sheet import open_how_many
from studiolog.ui.parts.make_size_sheet import open_make_size
from studiolog.ui.parts.plan_wanted import PlanWanted
from studiolog.ui.parts.tiles_sheet import open_tiles

SIZE = (1440, 900)
_QUIET_MS = 250
_LONGEST_MS = 8000


def draw(
    app: QApplication,
    journal: Journal,
    folder: Path,
    home: Path,
    tell: Callable[[str], None],
    size: tuple[int, int] = SIZE,
) -> list[Path]:
    """Draw every list and the fullest page of every noun; returns the files written."""
    folder.mkdir(parents=True, exist_ok=True)
    settings = Settings(QSettings(str(home / "screens.ini"), QSettings.Format.IniFormat))
    look = theme.current()
    before = look.setting
    files: list[Path] = []
    for name in ("light", "dark"):
        look.set_setting("dark" if name == "dark" else "light")
        look.apply(app)
        desk = Desk(journal, settings, look, home / "screens")
        window = Window(desk)
        window.resize(*size)
        window.show()
        for shown in _shots(window, desk):
            file = folder / f"{shown}-{name}.png"
            _picture(window).save(str(file))
            files.append(file)
            tell(f"drew {file.name}")
        window.close()
        desk.jobs.wait()
        window.deleteLater()
    look.set_setting(before)
    return files


def _picture(window: Window) -> QPixmap:
    """The window with the sheet that lies over it, if there is one."""
    pixmap = window.grab()
    for sheet in window.findChildren(QDialog):
        if sheet.isVisible():
            over = sheet.grab()
            painter = QPainter(pixmap)
            painter.drawPixmap(
                (window.width() - sheet.width()) // 2, (window.height() - sheet.height()) // 2, over
            )
            painter.end()
    return pixmap


def _shots(window: Window, desk: Desk) -> Iterator[str]:
    showcase = desk.read(choose_showcase)
    best = showcase.ids
    for key, place in PLACES.items():
        window.show_place(key)
        _settle(desk)
        yield key
        for noun in place.nouns:
            if noun != key and noun in best:
                desk.show(noun, best[noun])
                _settle(desk)
                yield noun
    if "firing" in best:
        firing = best["firing"]
        desk.show("firing", 0, Comparing("same program", firing, chosen=firing))
        _settle(desk)
        yield "firings_compared"
    if "glaze" in best:
        desk.show("plan", 0, PlanWanted("over_under", _some_glazes(desk)))
        _settle(desk)
        yield "plan_laid_out"
        desk.show("glaze", best["glaze"])
        page = window.screen_of("glazes").findChild(GlazeView)
        if page is not None and page.buckets.open_mix() is not None:
            _settle(desk)
            yield "mix_a_bucket"
            _close_sheets(window)
        glazes = window.screen_of("glazes")
        if isinstance(glazes, GlazesScreen):
            glazes.show_map(best["glaze"])
            _settle(desk)
            yield "glaze_map"
            _close_sheets(window)
    window.show_place("bench")
    if "form" in best:
        open_how_many(desk, best["form"], window)
        _settle(desk)
        yield "how_many_at_once"
        _close_sheets(window)
    if "clay" in best:
        made = open_make_size(desk, best["clay"], 270.0, window)
        made.set_allowed(267.0, 273.0)
        _settle(desk)
        yield "make_size"
        _close_sheets(window)
        open_tiles(desk, _a_tile(desk), best["clay"], window)
        _settle(desk)
        yield "tiles_for_an_area"
        _close_sheets(window)
    window.open_quick_log({"number": showcase.piece_number})
    _settle(desk)
    yield "quick_log"
    _close_sheets(window)


def _close_sheets(window: Window) -> None:
    for sheet in window.findChildren(QDialog):
        sheet.close()


def _a_tile(desk: Desk) -> int:
    """A form that is a flat tile, 0 where there is none."""
    return next((one.form_id for one in desk.read(list_forms) if one.shape == "tile"), 0)


def _some_glazes(desk: Desk) -> tuple[int, ...]:
    """The first few glazes there are."""
    return tuple(line.glaze_id for line in desk.read(list_glazes)[:3])


def _settle(desk: Desk) -> None:
    """Let jobs end and events run until nothing happens for a moment."""
    loop = QEventLoop()
    quiet, limit = QTimer(), QTimer()
    quiet.setInterval(_QUIET_MS)
    quiet.timeout.connect(loop.quit)
    limit.setSingleShot(True)
    limit.timeout.connect(loop.quit)
    signals = (desk.jobs.started, desk.jobs.ended, desk.pictures.ready, desk.pictures.missing)
    stirred = [signal.connect(lambda *_what: quiet.start()) for signal in signals]
    quiet.start()
    limit.start(_LONGEST_MS)
    loop.exec()
    quiet.stop()
    limit.stop()
    for signal, connection in zip(signals, stirred, strict=True):
        signal.disconnect(connection)
