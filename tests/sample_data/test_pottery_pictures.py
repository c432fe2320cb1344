"""A run of pictures: the same pot from the wheel to the shelf, and what went wrong with it."""

import io
import pickle
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from PIL import ExifTags, Image

from sample_data.picture_spec import MOMENTS, VIEWS
from sample_data.pottery_pictures import (
    PictureFault,
    PictureLayer,
    PictureSpec,
    place_picture,
    render,
    render_jpeg,
)
from sample_data.profiles import form_shapes

CHALK_OVER_KELP = (
    PictureLayer("Kelp", "outside"),
    PictureLayer("Chalk", "outside, upper"),
    PictureLayer("Oat", "inside", "pour"),
    PictureLayer("Rust Shore", "rim", "brush"),
)


def picture(**changes: object) -> PictureSpec:
    spec = PictureSpec(
        form="ripple_tumbler",
        clay="Buff stoneware",
        moment="fired",
        taken_at=datetime(2026, 10, 4, 9, 41, 7),
        seed=412,
        layers=CHALK_OVER_KELP,
        width_px=300,
        height_px=360,
    )
    return replace(spec, **changes)  # type: ignore[arg-type]


def pixels(spec: PictureSpec) -> np.ndarray:
    return np.asarray(render(spec).image).astype(float)


def ink(image: np.ndarray) -> float:
    """Mean step of brightness between neighbours."""
    grey = image.mean(axis=2)
    return float(np.abs(np.diff(grey, axis=0)).mean() + np.abs(np.diff(grey, axis=1)).mean())


def test_the_same_spec_gives_the_same_bytes_and_another_seed_another_pot() -> None:
    spec = picture()
    assert render_jpeg(spec) == render_jpeg(picture())
    assert render_jpeg(spec) != render_jpeg(picture(seed=413))


def test_a_spec_can_be_sent_to_a_worker() -> None:
    spec = picture(faults=(PictureFault("crazing", 1, "inside"),))
    assert pickle.loads(pickle.dumps(spec)) == spec


@pytest.mark.parametrize("form", sorted(form_shapes()))
@pytest.mark.parametrize("moment", MOMENTS)
def test_every_form_can_be_pictured_at_every_moment(form: str, moment: str) -> None:
    made = render(picture(form=form, moment=moment))
    assert made.image.mode == "RGB"
    assert made.image.size == (300, 360)
    assert np.asarray(made.image).std() > 15, "something stands on the ground"


@pytest.mark.parametrize("view", VIEWS)
def test_close_pictures_fill_the_frame_with_the_pot(view: str) -> None:
    whole, near = pixels(picture()), pixels(picture(view=view))
    assert near.shape == whole.shape
    if view != "whole":
        assert place_picture(picture(view=view)).px_per_mm > place_picture(picture()).px_per_mm
        assert np.abs(near - whole).mean() > 10


def test_the_file_tells_when_it_was_taken_and_names_no_camera() -> None:
    file = Image.open(io.BytesIO(render_jpeg(picture())))
    assert file.format == "JPEG"
    exif = file.getexif()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    assert details[ExifTags.Base.DateTimeOriginal] == "2026:10:04 09:41:07"
    assert ExifTags.Base.Make not in exif
    assert ExifTags.Base.Model not in exif
    assert "not a photograph" in exif[ExifTags.Base.ImageDescription]


def test_raw_chalk_is_white_and_fired_kelp_is_dark() -> None:
    """Raw coats are pale powder; melted, Kelp is a dark green (its swatch is #48654C)."""
    raw, fired = picture(moment="glazed"), picture()
    place = place_picture(fired)
    low = round(place.foot_y - 26 * place.upright_share * place.px_per_mm)
    middle = round(place.foot_x)
    part = np.s_[low - 8 : low + 8, middle - 20 : middle + 20]
    raw_part, fired_part = pixels(raw)[part], pixels(fired)[part]
    assert fired_part.mean() < raw_part.mean() - 40
    _red, green, blue = fired_part.mean(axis=(0, 1))
    assert green > blue
    high = round(place.foot_y - 70 * place.upright_share * place.px_per_mm)
    assert pixels(raw)[high - 5 : high + 5, middle - 20 : middle + 20].mean() > 190


def test_wet_clay_is_darker_than_the_same_pot_dry() -> None:
    wet, dry = picture(moment="making", layers=()), picture(moment="bone_dry", layers=())
    middle = np.s_[180:280, 120:180]
    assert pixels(wet)[middle].mean() < pixels(dry)[middle].mean() - 40


def test_pairs_register_at_the_foot_and_show_the_shrinkage() -> None:
    wet, fired = picture(moment="making"), picture()
    before, after = place_picture(wet), place_picture(fired)
    assert (before.px_per_mm, before.foot_x, before.foot_y) == (
        after.px_per_mm,
        after.foot_x,
        after.foot_y,
    )
    assert fired.size_factor == 1.0
    assert 1 / wet.size_factor == pytest.approx(1 - wet.shrinkage, abs=1e-4)
    assert fired.size_factor < picture(moment="glazed").size_factor < wet.size_factor
    # The test tumbler is a plain cylinder, 64.5 mm across at 75 mm up.
    cup = picture(form="test_tumbler", layers=(PictureLayer("Deep Tide"),))
    for spec in (cup, replace(cup, moment="bisque")):
        at = place_picture(spec)
        row = round(at.foot_y - 22 * at.upright_share * at.px_per_mm)
        line = pixels(spec)[row]
        differs = np.nonzero(np.abs(line - line[:8].mean(axis=0)).max(axis=1) > 30)[0]
        across_mm = (differs[-1] - differs[0] + 1) / at.px_per_mm
        assert across_mm == pytest.approx(64.3 * spec.size_factor, abs=1.6), "true to scale"


def test_the_foot_stays_bare() -> None:
    spec = picture(layers=(PictureLayer("Deep Tide"),))
    place = place_picture(spec)
    row = round(place.foot_y + (30 * 0.29 - 3.5) * place.px_per_mm)
    red, _, blue = pixels(spec)[row - 1 : row + 1, 140:160].mean(axis=(0, 1))
    assert red > blue + 15, "clay, not blue glaze"


@pytest.mark.parametrize("fault", ["crazing", "crawling", "pinhole", "blister", "crack"])
def test_a_fault_can_be_seen_and_worse_is_more(fault: str) -> None:
    plain = picture(layers=(PictureLayer("Oat"),), view="wall", form="test_tumbler")
    if fault == "crack":
        plain = replace(plain, view="whole")
    sound = pixels(plain)
    slight, severe = (
        pixels(replace(plain, faults=(PictureFault(fault, severity),))) for severity in (1, 3)
    )
    changed = [
        np.count_nonzero(np.abs(sound - other).max(axis=2) > 25) for other in (slight, severe)
    ]
    assert 0 < changed[0] < changed[1]
    assert ink(severe) > ink(sound), "more edges than on a sound wall"


def test_a_running_glaze_goes_past_its_line() -> None:
    plain = picture(layers=(PictureLayer("Deep Tide"),), clay="Porcelain P2")
    running = replace(plain, faults=(PictureFault("running", 3),))
    place = place_picture(plain)
    foot = np.s_[round(place.foot_y) : round(place.foot_y + 12), 90:210]

    def blue(spec: PictureSpec) -> int:
        part = pixels(spec)[foot]
        return int(np.count_nonzero(part[..., 2] > part[..., 0] + 15))

    assert blue(running) > 1.2 * blue(plain)


def test_a_severity_of_none_seen_leaves_the_picture_alone() -> None:
    assert render_jpeg(picture(faults=(PictureFault("crazing", 0),))) == render_jpeg(picture())


def test_what_is_unknown_is_named() -> None:
    with pytest.raises(ValueError, match="No form 'teapot'"):
        picture(form="teapot")
    with pytest.raises(KeyError, match="Marsh"):
        render(picture(layers=(PictureLayer("Marsh"),)))
