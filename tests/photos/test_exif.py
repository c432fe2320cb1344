"""The camera's time and turn, also from cameras that write nonsense."""

import struct
from datetime import datetime

import photo_files
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.photos.exif import ExifFacts, read_exif

NOON = datetime(2026, 5, 4, 12, 30, 5)


@pytest.mark.parametrize("tag", [0x9003, 0x9004, 0x0132])
def test_time_is_found_in_any_of_the_three_places(tag: int) -> None:
    assert read_exif(photo_files.exif_block(3, NOON, time_tag=tag)) == ExifFacts(NOON, None, 3)


def test_shutter_is_believed_before_scan_and_last_change() -> None:
    block = photo_files.exif_block(
        taken_at="2026:05:06 09:00:00",
        time_tag=0x0132,
        more={0x9003: "2026:05:04 12:30:05", 0x9004: "2026:05:05 08:00:00"},
    )
    assert read_exif(block).taken_at == NOON


def test_unset_shutter_time_falls_through_to_the_next() -> None:
    block = photo_files.exif_block(
        taken_at="0000:00:00 00:00:00", more={0x9004: "2026:05:04 12:30:05"}
    )
    assert read_exif(block).taken_at == NOON


def test_time_stays_as_written_and_the_offset_is_only_shown() -> None:
    block = photo_files.exif_block(taken_at=NOON, more={0x9011: "+02:00", 0x9291: "042"})
    facts = read_exif(block)
    assert facts.taken_at == NOON.replace(microsecond=42_000)
    assert facts.taken_at.tzinfo is None
    assert facts.utc_offset == "+02:00"


@pytest.mark.parametrize(
    "text",
    [
        "0000:00:00 00:00:00",
        "    :  :     :  :  ",
        "",
        "yesterday",
        "2026:13:40 25:61:61",
        "2026:02:30 10:00:00",
        "2026:05:04",
        "\x00\x00",
    ],
)
def test_nonsense_is_no_time(text: str) -> None:
    assert read_exif(photo_files.exif_block(taken_at=text)).taken_at is None


@pytest.mark.parametrize("orientation", [0, 9, 42, 65535])
def test_nonsense_turn_is_upright(orientation: int) -> None:
    assert read_exif(photo_files.exif_block(orientation)).orientation == 1


def test_big_endian_block_written_by_hand() -> None:
    text = b"2026:05:04 12:30:05\x00"
    block = b"MM\x00*" + struct.pack(">I", 8) + struct.pack(">H", 2)
    block += struct.pack(">HHIHH", 0x0112, 3, 1, 8, 0)
    block += struct.pack(">HHII", 0x0132, 2, len(text), 38) + struct.pack(">I", 0) + text
    assert read_exif(b"Exif\x00\x00" + block) == ExifFacts(NOON, None, 8)


@given(st.binary(max_size=80))
def test_no_bytes_at_all_can_upset_it(noise: bytes) -> None:
    assert isinstance(read_exif(noise), ExifFacts)
    assert isinstance(read_exif(b"II*\x00\x08\x00\x00\x00" + noise), ExifFacts)


@given(st.integers(0, 200), st.integers(0, 255))
def test_one_wrong_byte_cannot_upset_it(at: int, value: int) -> None:
    block = bytearray(photo_files.exif_block(6, NOON, more={0x9011: "+02:00"}))
    block[at % len(block)] = value
    assert 1 <= read_exif(bytes(block)).orientation <= 8


def test_directory_that_points_at_itself_ends() -> None:
    block = b"II*\x00" + struct.pack("<IHHHII", 8, 1, 0x8769, 4, 1, 8) + bytes(4)
    assert read_exif(block) == ExifFacts()
