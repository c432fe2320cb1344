"""What the photo tests share: a store in a fresh folder, and the way to the builder of files."""

import sys
from pathlib import Path

import pytest

from studiolog.photos import PhotoStore

if (_TESTS := str(Path(__file__).parents[1])) not in sys.path:
    sys.path.insert(0, _TESTS)  # photo_files


@pytest.fixture
def store(tmp_path: Path) -> PhotoStore:
    return PhotoStore(tmp_path / "photos")
