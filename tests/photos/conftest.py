"""What the photo tests share: a store in a fresh folder, and the builder of real files."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from studiolog.photos import PhotoStore


def _load_photo_files() -> ModuleType:
    if "photo_files" in sys.modules:
        return sys.modules["photo_files"]
    where = Path(__file__).parents[1] / "photo_files.py"
    spec = importlib.util.spec_from_file_location("photo_files", where)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["photo_files"] = module
    spec.loader.exec_module(module)
    return module


_load_photo_files()


@pytest.fixture
def store(tmp_path: Path) -> PhotoStore:
    return PhotoStore(tmp_path / "photos")
