"""The ground a journal stands on, as it fails: permissions, and what must not have changed."""

import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

NOBODY = 65534


def fingerprint(folder: Path) -> dict[str, str]:
    """Every file below a folder with its hash. SQLite's -shm is no file but shared memory."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.endswith("-shm")
    }


@contextmanager
def place_of_an_ordinary_user() -> Iterator[Path]:
    """A folder of somebody to whom permissions mean something; root becomes nobody on request."""
    folder = Path(tempfile.mkdtemp(prefix="studiolog-"))
    try:
        yield folder
    finally:
        for path in (folder, *folder.rglob("*")):
            if path.is_dir():
                path.chmod(0o700)
        shutil.rmtree(folder)


@contextmanager
def ordinary_user(place: Path) -> Iterator[None]:
    """Within this, permissions bind also a test that root runs."""
    if os.geteuid() != 0:
        yield
        return
    for path in (place, *place.rglob("*")):
        os.chown(path, NOBODY, NOBODY)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


def set_permissions(folder: Path, *, writable: bool) -> None:
    """Let a folder and all in it be written, or only read."""
    for path in (folder, *folder.rglob("*")):
        if path.is_dir():
            path.chmod(0o755 if writable else 0o555)
        else:
            path.chmod(0o644 if writable else 0o444)
