"""A drop of files onto a piece: the good ones come in, each bad one is told by its name."""

import os
import subprocess
import sys
import threading
from datetime import datetime
from pathlib import Path

import photo_files
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from studiolog.photos import SIZES, PhotoStore, examine, take_in, thumbnail_path
from studiolog.problems import PhotoRefused, UserProblem

KINDS = ("jpeg", "png", "webp", "tiff", "heic")
SUFFIX = {"jpeg": ".jpg", "png": ".png", "webp": ".webp", "tiff": ".tif", "heic": ".heic"}
NOON = datetime(2026, 5, 4, 12, 30, 5)


def _textured(kind: str) -> bytes:
    """Enough detail that the picture's data, not its head, fills the file."""
    picture = Image.effect_noise((120, 90), 60).convert("RGB")
    return photo_files.saved(picture, kind, photo_files.exif_block(1, NOON))


class _Nowhere(PhotoStore):
    """Keeps nothing, so that hundreds of damaged pictures cost no disk."""

    def keep(self, data: bytes, suffix: str, sha256: str | None = None) -> str:
        return "kept"


_NOWHERE = _Nowhere(Path("nowhere"))
TEXTURED = {kind: _textured(kind) for kind in KINDS}


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_known_with_its_time(kind: str) -> None:
    facts = examine(TEXTURED[kind], f"IMG 0001{SUFFIX[kind].upper()}")
    assert (facts.kind, facts.suffix) == (kind, SUFFIX[kind])
    assert (facts.width, facts.height, facts.taken_at) == (120, 90, NOON)
    assert facts.byte_count == len(TEXTURED[kind])


def test_one_bad_file_never_stops_the_others(store: PhotoStore, tmp_path: Path) -> None:
    drop = tmp_path / "drop"
    drop.mkdir()
    good = photo_files.phone_jpeg(taken_at=NOON, orientation=6)
    (drop / "a tumbler.jpg").write_bytes(good)
    (drop / "empty.jpg").write_bytes(b"")
    (drop / "cut.jpg").write_bytes(good[: len(good) // 2])
    (drop / "huge.png").write_bytes(photo_files.png_claiming(60_000, 60_000))
    (drop / "wrong.jpg").write_bytes(TEXTURED["png"])
    (drop / "notes.jpg").write_text("Kelp, two coats, cone 6")
    (drop / "same again.jpg").write_bytes(good)
    (drop / "folder.jpg").mkdir()
    (drop / "foot.heic").write_bytes(TEXTURED["heic"])
    names = ["a tumbler.jpg", "empty.jpg", "cut.jpg", "huge.png", "wrong.jpg", "notes.jpg"]
    names += ["same again.jpg", "folder.jpg", "gone.jpg", "foot.heic"]
    seen: list[tuple[int, int]] = []

    result = take_in(
        [drop / name for name in names],
        store,
        progress=lambda done, total, _name: seen.append((done, total)),
    )

    assert [facts.name for facts in result.kept] == ["a tumbler.jpg", "foot.heic"]
    assert [facts.name for facts in result.duplicates] == ["same again.jpg"]
    sentences = {refusal.name: refusal.sentence for refusal in result.refused}
    assert list(sentences) == [*names[1:6], "folder.jpg", "gone.jpg"]
    assert all(name in sentence for name, sentence in sentences.items())
    assert "0 bytes" in sentences["empty.jpg"]
    assert "before its end" in sentences["cut.jpg"]
    assert "60000 × 60000" in sentences["huge.png"]
    assert "holds a PNG picture: rename it to end in .png" in sentences["wrong.jpg"]
    assert "holds text" in sentences["notes.jpg"]
    assert "folder" in sentences["folder.jpg"]
    assert "moved or deleted" in sentences["gone.jpg"]
    assert seen == [(number, len(names)) for number in range(1, len(names) + 1)]
    assert not result.cancelled
    assert result.already_stored == frozenset()
    assert store.path(result.kept[0].sha256, ".jpg").read_bytes() == good
    assert len(list(store.verify())) == 2
    for facts in result.kept:
        assert all(thumbnail_path(store, facts.sha256, size).is_file() for size in SIZES)


def test_picture_the_store_had_before_still_comes_in(store: PhotoStore) -> None:
    data = photo_files.phone_jpeg()
    first = take_in([("one.jpg", data)], store)
    second = take_in([("two.jpg", data), ("three.jpg", data)], store, threads=2)
    assert first.already_stored == frozenset()
    assert len(second.kept) == len(second.duplicates) == 1
    assert second.already_stored == {second.kept[0].sha256}
    assert len(list(store.verify())) == 1


def test_pasted_picture_needs_no_suffix(store: PhotoStore) -> None:
    result = take_in([("Pasted picture 13.42", TEXTURED["png"])], store)
    assert [facts.suffix for facts in result.kept] == [".png"]


@pytest.mark.parametrize("name", ["pot.gif", "pot.txt", "pot.png"])
def test_name_that_claims_something_else_is_refused(name: str) -> None:
    with pytest.raises(PhotoRefused, match=rf"{name} is named .* holds a JPEG picture"):
        examine(TEXTURED["jpeg"], name)


@pytest.mark.parametrize(
    ("name", "data", "word"),
    [
        ("wheel.gif", b"GIF89a" + bytes(40), "a GIF picture"),
        ("form.pdf", b"%PDF-1.7\n\x00", "a PDF document"),
        ("pot.heic", b"\x00\x00\x00\x18ftypisom" + bytes(40), "a film"),
        ("pot.avif", b"\x00\x00\x00\x1cftypavif\x00\x00\x00\x00avifmif1miaf", "an AVIF picture"),
        ("pot.jpg", bytes(100), "no picture"),
    ],
)
def test_what_is_no_kept_kind_is_told_as_what_it_is(name: str, data: bytes, word: str) -> None:
    with pytest.raises(PhotoRefused, match=word) as told:
        examine(data, name)
    assert name in told.value.sentence


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=25, deadline=None)
@given(share=st.floats(0.02, 0.995))
def test_cut_anywhere_is_refused_with_its_name(kind: str, share: float) -> None:
    data = TEXTURED[kind]
    with pytest.raises(PhotoRefused, match="pot"):
        examine(data[: int(len(data) * share)], "pot")


@pytest.mark.parametrize("kind", KINDS)
def test_the_last_byte_missing_is_noticed(kind: str) -> None:
    if kind == "tiff":
        pytest.skip("the end of a TIFF is its directory, and padding may follow")
    with pytest.raises(PhotoRefused, match="before its end"):
        examine(TEXTURED[kind][:-1], "pot")


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=40, deadline=None)
@given(at=st.floats(0, 1, exclude_max=True), value=st.integers(0, 255))
def test_wrong_byte_gives_a_picture_or_a_sentence(kind: str, at: float, value: int) -> None:
    data = bytearray(TEXTURED[kind])
    data[int(at * len(data))] = value
    result = take_in([("pot", bytes(data))], _NOWHERE, thumbnail_sizes=())
    assert len(result.kept) + len(result.refused) == 1
    assert all("pot" in refusal.sentence for refusal in result.refused)
    assert all(facts.width > 0 and facts.height > 0 for facts in result.kept)


def test_bytes_after_the_end_do_no_harm() -> None:
    """Phones append a depth map or a short film behind the picture."""
    assert examine(TEXTURED["jpeg"] + b"\x00\x01film" * 50, "pot.jpg").width == 120


def test_garbled_exif_costs_the_time_but_not_the_picture() -> None:
    data = TEXTURED["jpeg"]
    at = data.index(b"Exif\x00\x00") + 6
    facts = examine(data[:at] + bytes([255]) * 30 + data[at + 30 :], "pot.jpg")
    assert (facts.width, facts.taken_at, facts.orientation) == (120, None, 1)


@pytest.mark.parametrize("kind", KINDS)
def test_limit_is_on_the_size_the_head_promises(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from studiolog.photos import picture

    monkeypatch.setattr(picture, "MOST_MEGAPIXELS", 0.0107)
    with pytest.raises(PhotoRefused, match="120 × 90 pixels"):
        examine(TEXTURED[kind], "pot")


def test_full_disk_is_told_beside_each_name(
    store: PhotoStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    good, late = photo_files.phone_jpeg(shade=1), photo_files.phone_jpeg(shade=2)
    keep = store.keep

    def keep_one(data: bytes, suffix: str, sha256: str) -> str:
        if data == late:
            raise UserProblem("The disk with the photos is full.")
        return keep(data, suffix, sha256)

    monkeypatch.setattr(store, "keep", keep_one)
    result = take_in([("late.jpg", late), ("good.jpg", good)], store)
    assert [facts.name for facts in result.kept] == ["good.jpg"]
    assert [refusal.sentence for refusal in result.refused] == [
        "late.jpg: The disk with the photos is full."
    ]


def test_full_cache_does_not_cost_the_picture(tmp_path: Path) -> None:
    (tmp_path / "cache").write_text("a file stands where the folder should be")
    store = PhotoStore(tmp_path / "photos", thumbnails=tmp_path / "cache")
    result = take_in([("rim.jpg", photo_files.phone_jpeg())], store)
    assert [facts.name for facts in result.kept] == ["rim.jpg"]
    assert result.refused == ()
    assert result.unshown[0].sentence.startswith("rim.jpg: The small picture")
    assert [verdict.sound for verdict in store.verify()] == [True]


def test_stopping_keeps_whole_pictures_only(store: PhotoStore) -> None:
    drop = [(f"{number}.jpg", photo_files.phone_jpeg(shade=number)) for number in range(6)]
    taken: list[str] = []
    result = take_in(
        drop,
        store,
        progress=lambda _done, _total, name: taken.append(name),
        cancelled=lambda: len(taken) >= 2,
        threads=1,
    )
    assert result.cancelled
    assert [facts.name for facts in result.kept] == ["0.jpg", "1.jpg"]
    assert [verdict.sound for verdict in store.verify()] == [True, True]
    assert not list(store.folder.rglob(".incoming-*"))


def test_several_threads_give_the_same_in_the_same_order(tmp_path: Path) -> None:
    drop = [(f"{number}.jpg", photo_files.phone_jpeg(shade=number % 7)) for number in range(14)]
    before = threading.active_count()
    one = take_in(drop, PhotoStore(tmp_path / "one"), threads=1)
    four = take_in(drop, PhotoStore(tmp_path / "four"), threads=4)
    assert one == four
    assert (len(one.kept), len(one.duplicates)) == (7, 7)
    assert threading.active_count() == before


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="named pipes are POSIX")
def test_named_pipe_does_not_hang_the_drop(store: PhotoStore, tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.jpg"
    os.mkfifo(pipe)
    assert "pipe.jpg" in take_in([pipe], store).refused[0].sentence


def test_importing_the_package_loads_no_picture_library() -> None:
    code = (
        "import sys, studiolog.photos;"
        "slow = ('PIL', 'pillow_heif', 'numpy', 'PySide6');"
        "print([name for name in slow if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
