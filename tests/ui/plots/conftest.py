"""Shared by the plot tests: the made-up firing, and a theme put back after each test."""

import importlib.util
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from studiolog.desktop import theme


def _load_tern_yard() -> ModuleType:
    path = Path(__file__).with_name("tern_yard_firing.py")
    spec = importlib.util.spec_from_file_location("tern_yard_firing", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def tern_yard() -> Callable[..., Any]:
    """Makes firing 87 of the made-up studio: ``tern_yard(with_log=True, gaps=False)``."""
    return _load_tern_yard().tern_yard_firing  # type: ignore[no-any-return]


@pytest.fixture(autouse=True)
def light_theme(qapp: Any) -> Iterator[None]:
    """Every picture starts light."""
    before = theme.current().setting
    theme.current().set_setting("light")
    yield
    theme.current().set_setting(before)
