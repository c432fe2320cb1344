"""Originals: unaltered, once, whole or not at all."""

import errno
import hashlib
import os
import shutil
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from studiolog.photos import PhotoStore
from studiolog.problems import UserProblem


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def test_original_keeps_its_bytes_under_their_hash(store: PhotoStore) -> None:
    data = b"any bytes at all\x00\xff"
    sha256 = store.keep(data, ".JPEG")
    assert sha256 == hashlib.sha256(data).hexdigest()
    where = store.path(sha256, ".jpg")
    assert where == store.folder / sha256[:2] / f"{sha256}.jpg"
    assert where.read_bytes() == data == store.read(sha256)
    assert store.has(sha256)
    assert not stat.S_IMODE(where.stat().st_mode) & 0o222, "an original can be overwritten"


def test_same_bytes_twice_are_stored_once(store: PhotoStore) -> None:
    first = store.keep(b"tumbler", ".jpg")
    again = store.keep(b"tumbler", ".heic")
    assert first == again
    assert len(_files(store.folder)) == 1


def test_the_disk_is_waited_for_no_more_than_the_promise_needs(
    store: PhotoStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[Path] = []
    monkeypatch.setattr("studiolog.photos.store._sync_folder", synced.append)
    data = b"tumbler"
    sha256 = store.keep(data, ".jpg", hashlib.sha256(data).hexdigest())
    own = store.path(sha256, ".jpg").parent
    assert synced == [store.folder, store.folder.parent, own]
    synced.clear()
    own = store.path(store.keep(b"soup bowl", ".jpg"), ".jpg").parent
    assert synced == [store.folder, own]
    synced.clear()
    store.keep(b"soup bowl", ".jpg")
    assert synced == []
    assert all(verdict.sound for verdict in store.verify())


def test_missing_names_what_no_original_stands_for(store: PhotoStore) -> None:
    here = store.keep(b"here", ".png")
    gone = hashlib.sha256(b"gone").hexdigest()
    assert store.missing([gone, here]) == (gone,)
    assert not store.has(gone)
    with pytest.raises(UserProblem, match="missing"):
        store.read(gone)
    with pytest.raises(ValueError, match="SHA-256"):
        store.path("../../etc/passwd", ".jpg")
    assert not store.has("../../etc/passwd")


def test_check_finds_the_damaged_original_and_a_second_drop_mends_it(store: PhotoStore) -> None:
    sound, hurt = store.keep(b"sound", ".jpg"), store.keep(b"will be hurt", ".jpg")
    where = store.path(hurt, ".jpg")
    where.chmod(0o644)
    where.write_bytes(b"will be hurl")
    (where.parent / "notes.txt").write_text("not ours")
    verdicts = {verdict.sha256: verdict for verdict in store.verify()}
    assert verdicts[sound].sound
    assert not verdicts[hurt].sound
    assert hurt in verdicts[hurt].sentence
    assert len(verdicts) == 2
    store.keep(b"will be hurt", ".jpg")
    assert all(verdict.sound for verdict in store.verify())


@pytest.mark.parametrize(
    ("number", "word"), [(errno.ENOSPC, "full"), (errno.EACCES, "permission"), (errno.EIO, "disk")]
)
def test_failing_disk_is_told_and_leaves_nothing(
    store: PhotoStore, monkeypatch: pytest.MonkeyPatch, number: int, word: str
) -> None:
    def fail(_handle: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(UserProblem, match=word) as told:
        store.keep(b"picture", ".jpg")
    assert str(store.folder) in told.value.sentence
    assert _files(store.folder) == []


def test_silently_wrong_write_is_noticed(
    store: PhotoStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    from studiolog.photos import store as module

    monkeypatch.setattr(
        module, "_write_through", lambda where, data: where.write_bytes(data[:-1] + b"?")
    )
    with pytest.raises(UserProblem, match="reads back differently"):
        store.keep(b"picture", ".jpg")
    assert _files(store.folder) == []


_ON_A_SMALL_DISK = """
import sys, pathlib
from studiolog.photos import PhotoStore
from studiolog.problems import UserProblem
store = PhotoStore(pathlib.Path(sys.argv[1]) / "photos")
small = store.keep(b"x" * 10_000, ".jpg")
try:
    store.keep(b"y" * 400_000, ".jpg")
except UserProblem as problem:
    print(problem.sentence)
left = [p.name for p in store.folder.rglob("*") if p.is_file()]
assert left == [small + ".jpg"], left
"""


@pytest.mark.skipif(
    not sys.platform.startswith("linux") or os.geteuid() != 0 or not shutil.which("unshare"),
    reason="only root can make a small disk",
)
def test_really_full_disk(tmp_path: Path) -> None:
    # A mount of its own name space: it goes with the process, whatever happens.
    mount_and_run = 'mount -t tmpfs -o size=200k small "$1" || exit 77; exec "$2" -c "$3" "$1"'
    shell = ["unshare", "--mount", "sh", "-c", mount_and_run]
    done = subprocess.run(
        [*shell, "sh", str(tmp_path), sys.executable, _ON_A_SMALL_DISK],
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
    if done.returncode == 77 or "unshare failed" in done.stderr:
        pytest.skip("mounting is not allowed here")
    assert done.returncode == 0, done.stderr
    assert "is full" in done.stdout


_KEEP_WITHOUT_END = """
import os, sys, pathlib
from studiolog.photos import PhotoStore
store = PhotoStore(pathlib.Path(sys.argv[1]))
while True:
    store.keep(os.urandom(1_500_000), ".jpg")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is POSIX")
def test_kill_in_the_middle_leaves_no_half_picture_under_a_name(store: PhotoStore) -> None:
    for wait_s in (0.0, 0.011, 0.023):
        before = len(list(store.folder.glob("??/*.jpg")))
        busy = subprocess.Popen([sys.executable, "-c", _KEEP_WITHOUT_END, str(store.folder)])
        try:
            give_up = time.monotonic() + 20
            while len(list(store.folder.glob("??/*.jpg"))) < before + 3:
                assert time.monotonic() < give_up
                time.sleep(0.005)
            time.sleep(wait_s)
        finally:
            busy.send_signal(signal.SIGKILL)
            busy.wait()
    verdicts = list(store.verify())
    assert len(verdicts) >= 9
    assert all(verdict.sound for verdict in verdicts)
    leftovers = list(store.folder.glob("??/.incoming-*"))
    assert store.sweep() == 0, "a fresh one may belong to an intake that is running"
    assert store.sweep(older_than_s=0) == len(leftovers)
    assert not list(store.folder.glob("??/.incoming-*"))
