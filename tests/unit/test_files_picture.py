"""Real picture files made with Pillow come in as 8-bit sRGB; bad ones are refused with what, where and mend."""

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from purfle.errors import PictureError
from purfle.files.picture import LARGEST_PX, read_picture, read_picture_bytes

RED, BLUE = (200, 40, 30), (20, 60, 180)


def halves(width: int = 40, height: int = 24) -> Image.Image:
    """Left half red, right half blue."""
    image = Image.new("RGB", (width, height), RED)
    image.paste(BLUE, (width // 2, 0, width, height))
    return image


def saved(image: Image.Image, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


@pytest.mark.parametrize(
    ("kind", "options", "lossy", "off"),
    [
        ("PNG", {}, False, 0),
        ("BMP", {}, False, 0),
        ("TIFF", {}, False, 0),
        ("TIFF", {"compression": "jpeg"}, True, 12),
        ("GIF", {}, False, 0),
        ("JPEG", {"quality": 95}, True, 6),
        ("WEBP", {"lossless": True}, False, 0),
        ("WEBP", {"quality": 90}, True, 12),
    ],
)
def test_every_format_keeps_its_colours(kind: str, options: dict[str, object], lossy: bool, off: int) -> None:
    picture = read_picture_bytes(saved(halves(), kind, **options), "halves")
    assert picture.pixels.shape == (24, 40, 3)
    assert picture.pixels.dtype == np.uint8
    assert picture.alpha is None
    assert picture.lossy is lossy
    for column, colour in ((5, RED), (34, BLUE)):
        assert np.abs(picture.pixels[12, column].astype(int) - colour).max() <= off


def test_a_picture_is_turned_by_its_exif_orientation() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # shown turned clockwise by a quarter: what is stored left comes out on top
    picture = read_picture_bytes(saved(halves(), "JPEG", quality=95, exif=exif), "turned.jpg")
    assert picture.pixels.shape == (40, 24, 3)
    assert np.abs(picture.pixels[5, 12].astype(int) - RED).max() <= 6
    assert np.abs(picture.pixels[34, 12].astype(int) - BLUE).max() <= 6


def test_cmyk_comes_in_as_its_colours() -> None:
    picture = read_picture_bytes(saved(Image.new("CMYK", (20, 20), (0, 255, 255, 0)), "TIFF"), "cmyk.tif")
    red, green, blue = (int(value) for value in picture.pixels[10, 10])
    assert red > 200
    assert max(green, blue) < 60


def test_sixteen_bit_grey_is_scaled_not_cut() -> None:
    values = np.linspace(0, 65535, 400, dtype=np.uint16).reshape(20, 20)
    picture = read_picture_bytes(saved(Image.fromarray(values), "PNG"), "grey16.png")
    assert np.abs(picture.pixels[..., 0].astype(float) - values / 257.0).max() <= 0.51


def test_a_palette_with_transparency_keeps_both() -> None:
    image = Image.new("P", (20, 16), 0)
    image.putpalette([*RED, *BLUE] + [0] * 750)
    image.paste(1, (10, 0, 20, 16))
    picture = read_picture_bytes(saved(image, "PNG", transparency=1), "palette.png")
    assert picture.alpha is not None
    assert tuple(picture.pixels[8, 3]) == RED
    assert (int(picture.alpha[8, 3]), int(picture.alpha[8, 15])) == (255, 0)


def test_alpha_that_is_opaque_everywhere_is_no_alpha() -> None:
    assert read_picture_bytes(saved(halves().convert("RGBA"), "PNG"), "opaque.png").alpha is None


def swapped_profile() -> bytes:
    """The sRGB profile with the places of its red and green primaries exchanged (ICC.1: tag table from byte 128)."""
    data = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    entries = {bytes(data[at : at + 4]): at for at in range(132, 132 + 12 * struct.unpack(">I", data[128:132])[0], 12)}
    red, green = entries[b"rXYZ"], entries[b"gXYZ"]
    data[red + 4 : red + 12], data[green + 4 : green + 12] = data[green + 4 : green + 12], data[red + 4 : red + 12]
    return bytes(data)


def test_an_embedded_profile_is_applied() -> None:
    """A profile whose red is green turns red pixels green; a profile that is no profile changes nothing."""
    image = Image.new("RGB", (20, 20), (250, 10, 10))
    red, green, _ = (
        int(v) for v in read_picture_bytes(saved(image, "PNG", icc_profile=swapped_profile()), "p").pixels[5, 5]
    )
    assert green > 200 > 100 > red
    broken = read_picture_bytes(saved(image, "PNG", icc_profile=b"nonsense"), "broken profile")
    assert tuple(broken.pixels[5, 5]) == (250, 10, 10)


def test_the_first_frame_of_an_animation_counts() -> None:
    frames = [Image.new("RGB", (20, 20), BLUE)]
    data = saved(Image.new("RGB", (20, 20), RED), "GIF", save_all=True, append_images=frames)
    assert tuple(read_picture_bytes(data, "moving.gif").pixels[10, 10]) == RED


def bomb(width: int, height: int) -> bytes:
    """A PNG whose header promises more pixels than its data holds."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(("width", "height"), [(8000, 5001), (20000, 20000), (60000, 60000)])
def test_a_picture_too_large_is_refused_from_its_header(width: int, height: int) -> None:
    with pytest.raises(PictureError) as refusal:
        read_picture_bytes(bomb(width, height), "bomb.png")
    assert f"more than {LARGEST_PX // 1_000_000} million pixels" in refusal.value.what
    assert refusal.value.where == "bomb.png"
    assert "smaller" in refusal.value.mend


@pytest.mark.parametrize(
    ("data", "what", "mend"),
    [
        (b"", "empty", "Save the picture again"),
        (b"no picture at all", "not a picture", "Use a PNG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not a picture", "drawings"),
        (b"\x89PNG\r\n\x1a\n", "", "Use a PNG"),
        (saved(halves(300, 200), "PNG")[:300], "damaged or cut short", "again"),
        (saved(halves(300, 200), "JPEG")[:700], "damaged or cut short", "again"),
        (saved(halves(300, 200), "TIFF")[:900], "", ""),
        (saved(halves(300, 200), "WEBP")[:60], "", ""),
        (saved(Image.new("RGB", (300, 2)), "PNG"), "only 300 x 2 pixels", "at least"),
    ],
)
def test_what_cannot_be_read_is_refused(data: bytes, what: str, mend: str) -> None:
    with pytest.raises(PictureError) as refusal:
        read_picture_bytes(data, "bad file")
    assert what in refusal.value.what
    assert refusal.value.what
    assert refusal.value.where == "bad file"
    assert mend in refusal.value.mend
    assert refusal.value.mend


def test_a_missing_file_a_folder_and_an_impossible_name_are_refused(tmp_path: Path) -> None:
    for path, what, mend in (
        (tmp_path / "none.png", "no such file", "Check the name"),
        (tmp_path, "folder", "Name the picture"),
        (tmp_path / ("x" * 400), "", ""),
        (tmp_path / "nul\0.png", "", ""),
    ):
        with pytest.raises(PictureError) as refusal:
            read_picture(path)
        assert what in refusal.value.what
        assert refusal.value.where == str(path)
        assert mend in refusal.value.mend


def test_a_file_with_an_odd_name_is_read(tmp_path: Path) -> None:
    path = tmp_path / "Küste & 'Möwe' 🐦.png"
    path.write_bytes(saved(halves(), "PNG"))
    assert read_picture(path).name == path.name
