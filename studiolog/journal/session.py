"""The session as the layers above name it: they pass it on and ask nothing of it."""

from sqlalchemy.orm import Session

__all__ = ["Session"]
