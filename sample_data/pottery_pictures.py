"""Pictures of pots that were never made: the demo's photos, drawn from form, clay and glaze.

Nothing here is a photograph. Each picture says so in its EXIF data, names no camera, and carries
the time it was "taken". Workers in a pool can be handed ``render_jpeg`` and specs; sort the
specs by form, moment and clay, because what the camera sees of a form is kept for the next.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

from PIL import ExifTags, Image

from .picture_camera import SeenSurface, see_thrown
from .picture_light import develop, light_piece
from .picture_planes import see_built
from .picture_spec import PictureFault, PictureLayer, PictureSpec
from .picture_surface import paint_surface

__all__ = [
    "PictureFault",
    "PictureLayer",
    "PictureSpec",
    "RenderedPicture",
    "place_picture",
    "render",
    "render_jpeg",
]


@dataclass(frozen=True)
class PicturePlace:
    """Where the piece stands in its picture, in pixels from the upper left corner.

    ``px_per_mm`` holds for level lengths of the piece as it was on that day; upright lengths are
    seen shortened by ``upright_share`` (the cosine of the camera's tilt).
    """

    px_per_mm: float
    foot_x: float
    foot_y: float
    upright_share: float


@dataclass(frozen=True)
class RenderedPicture:
    """The picture, and where in it the middle of the foot stands (see ``PicturePlace``)."""

    image: Image.Image
    px_per_mm: float
    foot_x: float
    foot_y: float
    upright_share: float


def place_picture(spec: PictureSpec) -> PicturePlace:
    """Scale and foot of the picture without drawing it."""
    camera = spec.camera()
    return PicturePlace(camera.px_per_mm, camera.foot_x, camera.foot_y, camera.cos_sin[0])


def render(spec: PictureSpec) -> RenderedPicture:
    """Draw the picture: RGB, ``width_px`` × ``height_px``; the same spec, the same pixels."""
    shape, camera, size = spec.shape, spec.camera(), spec.size_factor
    seen: SeenSurface = (
        see_thrown(shape, camera, size)
        if shape.built == "lathe"
        else see_built(shape, camera, size)
    )
    piece = light_piece(seen, paint_surface(seen, shape, spec))
    image = develop(shape, camera, size, seen, piece, spec.seed)
    place = place_picture(spec)
    return RenderedPicture(image, place.px_per_mm, place.foot_x, place.foot_y, place.upright_share)


def render_jpeg(spec: PictureSpec) -> bytes:
    """The picture as a JPEG file with the time it was taken in its EXIF data."""
    exif = Image.Exif()
    taken = spec.taken_at.strftime("%Y:%m:%d %H:%M:%S")
    exif[ExifTags.Base.DateTime] = taken
    exif[ExifTags.Base.ImageDescription] = "Drawn for the Tern Yard demo, not a photograph"
    exif[ExifTags.Base.Orientation] = 1
    exif.get_ifd(ExifTags.IFD.Exif).update(
        {
            ExifTags.Base.DateTimeOriginal: taken,
            ExifTags.Base.DateTimeDigitized: taken,
        }
    )
    out = io.BytesIO()
    render(spec).image.save(out, "JPEG", quality=spec.quality, subsampling=2, exif=exif)
    return out.getvalue()
