"""Where the files that ship with the program are: tables, icons, the demo's script.

In a checkout they stand beside the package; an installed program carries them inside it.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _shipped(inside: str, beside: str) -> Path:
    installed = _PACKAGE / inside
    return installed if installed.is_dir() else _PACKAGE.parent / beside


def resource(*parts: str) -> Path:
    """The path of a file below ``resources/``: ``resource("tables", "cautions.csv")``."""
    return _shipped("_resources", "resources").joinpath(*parts)


def sample_data(*parts: str) -> Path:
    """The path of a file below ``sample_data/``."""
    return _shipped("_sample_data", "sample_data").joinpath(*parts)
