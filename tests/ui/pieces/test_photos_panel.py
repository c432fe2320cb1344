"""Photos dropped on the page, shown, captioned, lost from the disk and found again."""

from pathlib import Path

from PIL import Image
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QFileDialog

from studiolog.photos import PhotoStore
from studiolog.ui.parts.before_after import PictureState
from studiolog.ui.pieces.photos_panel import widened


def snap(folder: Path, name: str, colour: str, taken: str) -> str:
    """A small JPEG with the time a camera would write."""
    exif = Image.Exif()
    exif[0x9003] = taken  # DateTimeOriginal, in the Exif block
    block = exif.get_ifd(0x8769)
    block[0x9003] = taken
    path = folder / name
    Image.new("RGB", (300, 400), colour).save(path, exif=exif)
    return str(path)


def test_dropped_photos_come_in_with_their_moment(screen, studio, qtbot, tmp_path) -> None:
    raw = snap(tmp_path, "raw.jpg", "#ddd", "2026:09:15 10:00:00")
    fired = snap(tmp_path, "fired.jpg", "#353", "2026:10:04 10:00:00")
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"")
    screen.view.photos.frame.files_dropped.emit([raw, str(broken), fired])
    qtbot.waitUntil(lambda: len(studio.page().pictures) == 2, timeout=10_000)
    assert [line.moment for line in studio.page().pictures] == ["making", "fired"]
    assert any("broken.jpg is empty" in notice.sentence for notice in studio.said)
    frame = screen.view.photos.frame
    qtbot.waitUntil(lambda: frame._after.state is PictureState.SHOWN, timeout=10_000)
    qtbot.waitUntil(lambda: frame._before.state is PictureState.SHOWN, timeout=10_000)
    panel = screen.view.photos
    panel._say_moment(studio.page().pictures[0].picture_id, "glazed")
    assert studio.page().before is not None
    assert studio.page().before.moment == "glazed"
    panel._say_caption("Rim")
    assert "Rim" in {line.caption for line in studio.page().pictures}
    panel.take_off(studio.page().pictures[0].picture_id)
    assert len(studio.page().pictures) == 1
    studio.desk.edits.undo()
    assert len(studio.page().pictures) == 2


def test_a_pasted_picture_is_taken_in(screen, studio, qtbot) -> None:
    image = QImage(40, 30, QImage.Format.Format_RGB32)
    image.fill(QColor("#884422"))
    screen.view.photos.strip.image_pasted.emit(image)
    qtbot.waitUntil(lambda: len(studio.page().pictures) == 1, timeout=10_000)
    assert studio.page().pictures[0].name.startswith("Pasted ")


def test_photos_stay_with_the_piece_they_were_dropped_on(screen, studio, qtbot, tmp_path) -> None:
    raw = snap(tmp_path, "raw.jpg", "#ddd", "2026:09:30 10:00:00")
    screen.view.photos.intake.take_files([raw])
    screen.show_thing(studio.ids["bare"])
    qtbot.waitUntil(lambda: len(studio.page().pictures) == 1, timeout=10_000)
    assert studio.page("bare").pictures == ()


def test_a_missing_original_is_named_and_put_back(
    screen, studio, qtbot, tmp_path, monkeypatch
) -> None:
    fired = snap(tmp_path, "fired.jpg", "#353", "2026:10:04 10:00:00")
    other = snap(tmp_path, "other.jpg", "#a31", "2026:10:04 10:00:00")
    panel = screen.view.photos
    panel.intake.take_files([fired])
    qtbot.waitUntil(lambda: panel.frame._after.state is PictureState.SHOWN, timeout=10_000)
    line = studio.page().pictures[0]
    store = PhotoStore(studio.journal.photo_folder)
    kept = store.path(line.sha256, line.suffix)
    kept.chmod(0o644)
    kept.unlink()
    for size in (160, 480, 1600):
        for thumb in store.thumbnails.glob(f"{size}/*/{line.sha256}.jpg"):
            thumb.unlink()
    studio.desk.pictures._kept.clear()
    panel._fill()
    qtbot.waitUntil(lambda: panel.frame._after.state is PictureState.MISSING, timeout=10_000)
    assert panel.frame._after.last_path == str(kept)
    chosen = iter([other, fired])
    monkeypatch.setattr(
        QFileDialog, "getOpenFileName", staticmethod(lambda *_args: (next(chosen), ""))
    )
    panel.frame.find_asked.emit("after")
    qtbot.waitUntil(lambda: any("another picture" in n.sentence for n in studio.said))
    assert not kept.exists()
    panel.frame.find_asked.emit("after")
    qtbot.waitUntil(lambda: panel.frame._after.state is PictureState.SHOWN, timeout=10_000)
    assert kept.is_file()


def test_a_tall_picture_gets_soft_sides_and_keeps_its_middle(qtbot) -> None:
    image = QImage(100, 200, QImage.Format.Format_RGB32)
    image.fill(QColor("#336699"))
    mat = widened(image, 300)
    assert (mat.width(), mat.height()) == (300, 200)
    assert {mat.pixelColor(x, 100).name() for x in (5, 150, 295)} == {"#336699"}
