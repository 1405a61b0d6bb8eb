"""What a photo tells beside the picture is not kept; the picture is."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.workflows.photo_details import DamagedPhotoError, picture_alone
from conewise.workflows.photos import picture_type
from tests.photos import SECRETS, photo

KINDS = ("jpeg", "png", "webp")


@pytest.mark.parametrize("kind", KINDS)
def test_place_device_and_words_are_gone_and_the_picture_stays(kind):
    content = photo(kind)
    assert all(secret in content for secret in SECRETS[:2])
    alone = picture_alone(content, f"image/{kind}")
    assert not any(secret in alone for secret in SECRETS)
    assert picture_type(alone) == f"image/{kind}"
    assert picture_alone(alone, f"image/{kind}") == alone
    body = {"jpeg": b"\x12\xff\x00\x34\xff\xd0\x56\xff\xd9", "png": b"IDAT", "webp": b"VP8 "}[kind]
    assert body in alone


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_jpeg_stays_the_right_way_up(orientation, order):
    """Tag 0x0112 of Exif (JEITA CP-3451, from memory): 1 is as stored, 2 to 8 are turned or mirrored."""
    alone = picture_alone(photo("jpeg", orientation, order), "image/jpeg")
    assert alone.count(b"Exif") == (orientation > 1)
    if orientation > 1:
        assert b"\x01\x12\x00\x03\x00\x00\x00\x01" + bytes([0, orientation]) in alone


def test_colours_and_profile_of_a_jpeg_stay():
    alone = picture_alone(photo("jpeg"), "image/jpeg")
    assert b"JFIF" in alone
    assert b"ICC_PROFILE" in alone


def test_colours_of_a_png_stay():
    assert b"gAMA" in picture_alone(photo("png"), "image/png")


def test_the_flags_of_a_webp_say_what_is_there():
    """RFC 9649, 2.7.1.2: bit 3 Exif, bit 2 XMP."""
    alone = picture_alone(photo("webp"), "image/webp")
    assert alone[20] & 0x0C == 0
    assert int.from_bytes(alone[4:8], "little") == len(alone) - 8


@pytest.mark.parametrize("kind", KINDS)
@given(share=st.floats(0.0, 0.98))
def test_a_picture_that_is_cut_is_refused(kind, share):
    whole = picture_alone(photo(kind), f"image/{kind}")
    cut = whole[: max(int(share * len(whole)), 2)]
    with pytest.raises(DamagedPhotoError):
        picture_alone(cut, f"image/{kind}")


@given(st.binary(max_size=200))
def test_no_bytes_bring_it_down(tail):
    for kind, begin in (("jpeg", b"\xff\xd8\xff\xe1"), ("png", b"\x89PNG\r\n\x1a\n"), ("webp", b"RIFF\x40\0\0\0WEBP")):
        try:
            picture_alone(begin + tail, f"image/{kind}")
        except DamagedPhotoError:
            continue


def test_another_library_reads_the_picture_that_is_left():
    """Pillow 12 or later, where some other package brought it: the same pixels, turned as before, and no details."""
    image = pytest.importorskip("PIL.Image")
    told = image.Exif()
    told[0x010F], told[0x0112] = "CAMERA-1234", 6
    told.get_ifd(0x8825)[1] = "N"
    for kind in ("JPEG", "PNG", "WEBP"):
        out = io.BytesIO()
        image.effect_noise((64, 48), 60).convert("RGB").save(out, kind, exif=told, lossless=True)
        before = image.open(io.BytesIO(out.getvalue()))
        after = image.open(io.BytesIO(picture_alone(out.getvalue(), f"image/{kind.lower()}")))
        assert after.tobytes() == before.tobytes()
        left = dict(after.getexif())
        assert left == ({0x0112: 6} if kind == "JPEG" else {})
