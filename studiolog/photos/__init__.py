"""Pictures: taken in, read, kept under their hash, made small. Importing this loads no Pillow."""

from studiolog.photos.intake import Intake, PhotoFacts, Refusal, examine, take_in
from studiolog.photos.moment import propose_moment
from studiolog.photos.store import PhotoStore, Verdict
from studiolog.photos.thumbnails import SIZES, make_thumbnails, picture_rgb, thumbnail_path

__all__ = [
    "SIZES",
    "Intake",
    "PhotoFacts",
    "PhotoStore",
    "Refusal",
    "Verdict",
    "examine",
    "make_thumbnails",
    "picture_rgb",
    "propose_moment",
    "take_in",
    "thumbnail_path",
]
