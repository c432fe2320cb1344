"""Originals, kept unaltered under the SHA-256 of their bytes.

``photos/ab/<sha256>.<ext>`` where ``ab`` are the first two letters. A file gets its name only
once all its bytes are on the disk, so a name always stands for a whole picture. What can be made
again from the originals lies apart, below ``photos/.thumbnails``, and may be deleted at any time.
"""

import errno
import hashlib
import os
import re
import secrets
import time
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from studiolog.problems import UserProblem

_SHA256 = re.compile(r"^[0-9a-f]{64}$")
_ORIGINAL = re.compile(r"^([0-9a-f]{64})(\.[a-z0-9]+)$")
# How a file is called while it is being written.
INCOMING = ".incoming-"
_USUAL_SUFFIXES = (".jpg", ".heic", ".png", ".webp", ".tif")
_SAME_SUFFIX = {".jpeg": ".jpg", ".jpe": ".jpg", ".jfif": ".jpg", ".tiff": ".tif", ".heif": ".heic"}


@dataclass(frozen=True, slots=True)
class Verdict:
    """One original, hashed again: ``sound`` when its bytes still are what its name says."""

    sha256: str
    path: Path
    sound: bool
    sentence: str = ""


class PhotoStore:
    """The folder of originals of one journal. Safe to use from several threads at once."""

    def __init__(self, folder: Path, thumbnails: Path | None = None) -> None:
        self.folder = folder
        self.thumbnails = thumbnails if thumbnails is not None else folder / ".thumbnails"

    def path(self, sha256: str, suffix: str) -> Path:
        """Where the original is, or would be.

        Raises ValueError for what is no SHA-256.
        """
        if not _SHA256.match(sha256):
            raise ValueError(f"not a SHA-256: {sha256!r}")
        return self.folder / sha256[:2] / (sha256 + _plain_suffix(suffix))

    def has(self, sha256: str) -> bool:
        return self.find(sha256) is not None

    def find(self, sha256: str) -> Path | None:
        """The original with these bytes whatever its suffix, or None."""
        if not _SHA256.match(sha256):
            return None
        folder = self.folder / sha256[:2]
        for suffix in _USUAL_SUFFIXES:
            usual = folder / (sha256 + suffix)
            if usual.is_file():
                return usual
        return next(folder.glob(sha256 + ".*"), None)

    def missing(self, shas: Iterable[str]) -> tuple[str, ...]:
        """Those of ``shas`` that have no original here, in the order given."""
        # One look at each folder: asking for each picture singly takes minutes in a large studio.
        present = {found.name.split(".")[0] for found in self.folder.glob("[0-9a-f][0-9a-f]/*.*")}
        return tuple(sha for sha in shas if sha not in present)

    def read(self, sha256: str) -> bytes:
        """The bytes of an original.

        Raises UserProblem when it is gone or cannot be read.
        """
        where = self.find(sha256)
        if where is None:
            raise UserProblem(
                f"The original picture {sha256[:12]}… is missing from {self.folder}: "
                "bring it back from a backup."
            )
        try:
            return where.read_bytes()
        except OSError as error:
            raise UserProblem(
                f"The original picture {where} cannot be read ({error.strerror}): "
                "check the disk and the permissions of the file."
            ) from error

    def keep(self, data: bytes, suffix: str, sha256: str | None = None) -> str:
        """Keep the bytes for good and return their SHA-256; the same bytes are stored once.

        ``sha256`` spares hashing them again where that was done already. When this returns,
        file and folder are synced to disk. Raises UserProblem when the disk is full or may not
        be written; then nothing of the picture is left behind.
        """
        if sha256 is None:
            sha256 = hashlib.sha256(data).hexdigest()
        present = self.find(sha256)
        if present is not None and _hash_file(present) == sha256:
            return sha256
        # A damaged original is put right by the sound bytes that just came in.
        goal = present if present is not None else self.path(sha256, suffix)
        incoming = goal.parent / f"{INCOMING}{secrets.token_hex(8)}"
        try:
            self._make_folder(goal.parent)
            try:
                _write_through(incoming, data)
                if incoming.read_bytes() != data:
                    raise OSError(errno.EIO, "what was written reads back differently")
                incoming.chmod(0o444)
                if present is not None and os.name == "nt":
                    goal.chmod(0o666)
                os.replace(incoming, goal)
                _sync_folder(goal.parent)
            finally:
                with suppress(OSError):
                    incoming.unlink()
        except OSError as error:
            raise _told(error, self.folder, len(data)) from error
        return sha256

    def verify(self) -> Iterator[Verdict]:
        """Hash every original again, one at a time, in the order of their names."""
        for where in sorted(self.folder.glob("[0-9a-f][0-9a-f]/*")):
            name = _ORIGINAL.match(where.name)
            if name is None:
                continue
            try:
                sound = _hash_file(where) == name.group(1)
            except OSError as error:
                yield Verdict(
                    name.group(1), where, False, f"{where} cannot be read: {error.strerror}."
                )
                continue
            sentence = "" if sound else f"{where} is damaged: bring it back from a backup."
            yield Verdict(name.group(1), where, sound, sentence)

    def sweep(self, older_than_s: float = 3600.0) -> int:
        """Remove what an interrupted intake left unnamed; returns how many files went."""
        swept = 0
        half_done = [
            *self.folder.glob(f"[0-9a-f][0-9a-f]/{INCOMING}*"),
            *self.thumbnails.glob(f"*/[0-9a-f][0-9a-f]/{INCOMING}*"),
        ]
        for left in half_done:
            with suppress(OSError):
                if time.time() - left.stat().st_mtime >= older_than_s:
                    left.unlink()
                    swept += 1
        return swept

    def _make_folder(self, folder: Path) -> None:
        if folder.is_dir():
            return
        first = not self.folder.is_dir()
        folder.mkdir(parents=True, exist_ok=True)
        _sync_folder(self.folder)
        if first:
            _sync_folder(self.folder.parent)


def _plain_suffix(suffix: str) -> str:
    lower = suffix.lower()
    if not lower:
        return ""
    dotted = lower if lower.startswith(".") else "." + lower
    return _SAME_SUFFIX.get(dotted, dotted)


def _write_through(where: Path, data: bytes) -> None:
    with where.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _hash_file(where: Path) -> str:
    with where.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _sync_folder(folder: Path) -> None:
    """Make a new name in ``folder`` survive a power cut; Windows has no call for it."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _told(error: OSError, folder: Path, byte_count: int) -> UserProblem:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return UserProblem(
            f"The disk with the photos ({folder}) is full: "
            f"free at least {byte_count / 1e6:.1f} MB and add the picture again."
        )
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return UserProblem(
            f"The photo folder {folder} may not be written: "
            "give yourself permission to write there and add the picture again."
        )
    return UserProblem(
        f"The picture could not be kept in {folder} ({error.strerror or error}): "
        "check the disk and add the picture again."
    )
