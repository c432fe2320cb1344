"""Take pictures into the journal: look at each, keep its bytes; no bad one stops the others."""

import hashlib
import os
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from studiolog.photos.kinds import (
    KIND_OF_SUFFIX,
    NAME_OF_KIND,
    SUFFIX_OF_KIND,
    Kind,
    describe_stranger,
    kind_of,
    suffix_of,
)
from studiolog.photos.picture import Opened, open_picture
from studiolog.photos.store import PhotoStore
from studiolog.photos.thumbnails import SIZES, save_thumbnails
from studiolog.problems import PhotoRefused, UserProblem

# A whole 120-megapixel PNG stays below this; what is larger is no photo, and is not even read.
MOST_BYTES = 400_000_000

# A file on disk, or a name and the bytes that were pasted under it.
Source = Path | tuple[str, bytes]
# done, total, name of the picture just looked at
Progress = Callable[[int, int, str], None]


@dataclass(frozen=True, slots=True)
class PhotoFacts:
    """What the journal remembers of a picture.

    ``width`` and ``height`` in pixels are as it is seen, after ``orientation`` (Exif, 1 to 8).
    ``taken_at`` is the local time the camera wrote, without a zone; ``utc_offset`` ("+02:00") the
    offset it wrote beside it, if any. ``suffix`` is the one the original is kept under.
    """

    sha256: str
    kind: Kind
    suffix: str
    width: int
    height: int
    orientation: int
    taken_at: datetime | None
    byte_count: int
    name: str
    utc_offset: str | None = None


@dataclass(frozen=True, slots=True)
class Refusal:
    """A file of the drop that was not kept, and the sentence that says why."""

    name: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Intake:
    """What came of one drop, in the order of the drop.

    ``kept`` has every different picture once, also one the store had before (its SHA-256 is then
    in ``already_stored``). ``duplicates`` are further copies within this same drop.
    ``unshown`` are kept, only their thumbnails could not be written, for the reason in the
    sentence; ``make_thumbnails`` makes them once that is mended.
    """

    kept: tuple[PhotoFacts, ...] = ()
    refused: tuple[Refusal, ...] = ()
    duplicates: tuple[PhotoFacts, ...] = ()
    already_stored: frozenset[str] = field(default_factory=frozenset)
    unshown: tuple[Refusal, ...] = ()
    cancelled: bool = False


def examine(data: bytes, name: str) -> PhotoFacts:
    """Look at a picture without keeping it. Raises PhotoRefused with a sentence naming it."""
    return _examine(data, name, longest=SIZES[0])[0]


def read_source(source: Source) -> tuple[str, bytes]:
    """The name and bytes of one dropped or pasted thing. Raises PhotoRefused."""
    if isinstance(source, tuple):
        return source
    name = source.name or str(source)
    if source.is_dir():
        raise PhotoRefused(f"{name} is a folder: open it and add the pictures inside.")
    try:
        if not source.exists():
            raise PhotoRefused(f"{name} is not there any more: it was moved or deleted.")
        if not source.is_file():
            raise PhotoRefused(f"{name} is not an ordinary file: add pictures only.")
        byte_count = source.stat().st_size
        if byte_count > MOST_BYTES:
            raise PhotoRefused(
                f"{name} is {byte_count / 1e6:,.0f} MB, more than any photo "
                f"({MOST_BYTES / 1e6:.0f} MB at most): save it smaller and add it again."
            )
        return name, source.read_bytes()
    except OSError as error:
        raise PhotoRefused(
            f"{name} cannot be read ({error.strerror or error}): check its permissions."
        ) from error


def take_in(
    sources: Sequence[Source],
    store: PhotoStore,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
    thumbnail_sizes: Sequence[int] = SIZES,
    threads: int | None = None,
) -> Intake:
    """Keep every picture of a drop that can be kept; meant for a worker thread.

    Each picture is decoded once: that finds damage and gives its thumbnails. ``cancelled`` is
    asked before each picture; what was kept until then is whole and stays. ``progress`` is called
    from one thread at a time. ``threads`` defaults to one more than the cores there are, at most
    four: while one waits for the disk the others decode.
    """
    turnstile = threading.Lock()
    met: set[str] = set()
    stored_before: set[str] = set()
    unshown: list[Refusal] = []
    done = 0
    stopped = False

    def take_one(source: Source) -> PhotoFacts | Refusal | None:
        nonlocal done, stopped
        if stopped or (cancelled is not None and cancelled()):
            stopped = True
            return None
        name = source[0] if isinstance(source, tuple) else source.name
        result: PhotoFacts | Refusal
        try:
            facts, opened, data = _look_at(source, thumbnail_sizes)
            with turnstile:
                # A copy met earlier in this drop says nothing about what the store had before.
                if facts.sha256 not in met and store.has(facts.sha256):
                    stored_before.add(facts.sha256)
                met.add(facts.sha256)
            store.keep(data, facts.suffix, facts.sha256)
            result = facts
        except UserProblem as problem:
            result = _refuse(name, problem)
        else:
            # The cache is no reason to refuse a picture whose original is safe.
            try:
                if thumbnail_sizes:
                    save_thumbnails(opened, store, facts.sha256, thumbnail_sizes)
            except UserProblem as problem:
                with turnstile:
                    unshown.append(_refuse(name, problem))
        with turnstile:
            done += 1
            if progress is not None:
                progress(done, len(sources), name)
        return result

    at_once = threads if threads is not None else min(4, (os.cpu_count() or 1) + 1)
    if at_once <= 1 or len(sources) <= 1:
        results = [take_one(source) for source in sources]
    else:
        with ThreadPoolExecutor(at_once, thread_name_prefix="photo-intake") as pool:
            results = list(pool.map(take_one, sources))
    return _sort_out(results, stored_before, unshown, stopped)


def _refuse(name: str, problem: UserProblem) -> Refusal:
    sentence = problem.sentence
    return Refusal(name, sentence if name in sentence else f"{name}: {sentence}")


def _look_at(source: Source, sizes: Sequence[int]) -> tuple[PhotoFacts, Opened, bytes]:
    name, data = read_source(source)
    facts, opened = _examine(data, name, longest=max(sizes, default=SIZES[0]))
    return facts, opened, data


def _examine(data: bytes, name: str, longest: int) -> tuple[PhotoFacts, Opened]:
    if not data:
        raise PhotoRefused(f"{name} is empty (0 bytes): copy it from the phone or camera again.")
    kind = kind_of(data)
    suffix = suffix_of(name)
    claimed = KIND_OF_SUFFIX.get(suffix)
    if kind is None:
        found = describe_stranger(data)
        if claimed is not None:
            raise PhotoRefused(f"{name} is named {suffix} but holds {found}: it was not added.")
        raise PhotoRefused(
            f"{name} holds {found}: only JPEG, PNG, WebP, TIFF and HEIC pictures can be added."
        )
    if suffix and claimed != kind:
        raise PhotoRefused(
            f"{name} is named {suffix} but holds a {NAME_OF_KIND[kind]} picture: "
            f"rename it to end in {SUFFIX_OF_KIND[kind]} and add it again."
        )
    opened = open_picture(data, kind, name, longest)
    facts = PhotoFacts(
        sha256=hashlib.sha256(data).hexdigest(),
        kind=kind,
        suffix=SUFFIX_OF_KIND[kind],
        width=opened.width,
        height=opened.height,
        orientation=opened.exif.orientation,
        taken_at=opened.exif.taken_at,
        byte_count=len(data),
        name=name,
        utc_offset=opened.exif.utc_offset,
    )
    return facts, opened


def _sort_out(
    results: Sequence[PhotoFacts | Refusal | None],
    stored_before: set[str],
    unshown: Sequence[Refusal],
    stopped: bool,
) -> Intake:
    kept: dict[str, PhotoFacts] = {}
    duplicates: list[PhotoFacts] = []
    refused: list[Refusal] = []
    for result in results:
        if isinstance(result, Refusal):
            refused.append(result)
        elif result is not None:
            if result.sha256 in kept:
                duplicates.append(result)
            else:
                kept[result.sha256] = result
    return Intake(
        kept=tuple(kept.values()),
        refused=tuple(refused),
        duplicates=tuple(duplicates),
        already_stored=frozenset(stored_before),
        unshown=tuple(sorted(unshown, key=lambda refusal: refusal.name)),
        cancelled=stopped,
    )
