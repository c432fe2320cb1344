"""Taking photos in against decoding them, on one thread and on two."""

import io
import statistics
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

from studiolog.photos import PhotoStore, take_in
from tests.bench.result import Result
from tests.bench.timing import in_rotation, seconds_of

_PHOTOS = 6
_SIZE = (4000, 3000)


def make_photo(seed: int) -> bytes:
    """A phone's picture: soft shapes under a sensor's grain, four thousand by three."""
    chance = np.random.default_rng(seed)
    soft = Image.fromarray(chance.integers(0, 255, (30, 40, 3), dtype=np.uint8)).resize(_SIZE)
    grain = chance.normal(0, 4, (_SIZE[1], _SIZE[0], 1))
    pixels = np.clip(np.asarray(soft, dtype=np.float32) + grain, 0, 255).astype(np.uint8)
    held = io.BytesIO()
    Image.fromarray(pixels).save(held, "JPEG", quality=88)
    return held.getvalue()


def measure_photo_import(folder: Path, rounds: int) -> list[Result]:
    """One photo a core against read and half-scale decode; two threads; three full decodes."""
    photo = make_photo(1)
    file = folder / "photo.jpg"
    folder.mkdir(parents=True, exist_ok=True)
    file.write_bytes(photo)
    store = PhotoStore(folder / "store")
    numbers = iter(range(1_000_000_000))

    def fresh(count: int) -> list[tuple[str, bytes]]:
        # Bytes behind the end of the picture make each another original of the same cost.
        return [(f"{n}.jpg", photo + str(next(numbers)).encode()) for n in range(count)]

    def taking(count: int, threads: int) -> Callable[[], object]:
        return lambda: take_in(fresh(count), store, threads=threads)

    def half() -> None:
        image = Image.open(io.BytesIO(file.read_bytes()))
        image.draft("RGB", (_SIZE[0] // 2, _SIZE[1] // 2))
        image.load()

    def three_sizes() -> None:
        for side in (1600, 480, 160):
            image = Image.open(io.BytesIO(file.read_bytes()))
            image.load()
            image.thumbnail((side, side))

    one_s, half_s = in_rotation(rounds, taking(1, 1), half)
    single: list[float] = []
    double: list[float] = []
    full: list[float] = []
    for _ in range(max(3, rounds // 2)):
        single.append(seconds_of(taking(_PHOTOS, 1)))
        double.append(seconds_of(taking(_PHOTOS, 2)))
        full.append(_PHOTOS * seconds_of(three_sizes))
    alone_s, together_s, full_s = map(statistics.median, (single, double, full))
    few = len(single)
    return [
        Result(
            "photo import, per core", one_s / half_s, "≤ 2.1", "read and half-scale decode", rounds
        ),
        Result(
            "photo import, two threads",
            alone_s / together_s,
            "≥ 1.8",
            "one thread, times as quick",
            few,
        ),
        Result(
            "photo import, two threads, of all",
            together_s / full_s,
            "≤ 0.1",
            "a full decode for each of three sizes, one thread",
            few,
        ),
    ]
