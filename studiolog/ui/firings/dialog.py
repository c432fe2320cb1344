"""The window-modal sheets over the firings."""

from studiolog.ui.parts.keep_sheet import KeepSheet, labelled

__all__ = ["FiringDialog", "labelled"]


class FiringDialog(KeepSheet):
    """A sheet in which a firing, its log or its cones are entered."""
