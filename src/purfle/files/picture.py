"""A picture file as sRGB pixels. The size is read from the header and refused there, before anything is decoded."""

import io
import struct
import warnings
import zlib
from pathlib import Path

import numpy as np
from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from purfle.errors import PictureError
from purfle.model.artwork import Picture

LARGEST_PX = 40_000_000
"""More pixels than this are refused: a phone's picture has 12 to 24 million, and memory is asked for six times over."""
SMALLEST_SIDE_PX = 8
"""A picture with fewer pixels on a side shows nothing that can be cut."""
LARGEST_FILE_BYTES = 400_000_000
"""An uncompressed 40 megapixel picture with 16 bits and alpha is smaller than this."""
FORMATS = ("PNG", "JPEG", "WEBP", "TIFF", "GIF", "BMP")
BROKEN = (OSError, SyntaxError, ValueError, EOFError, IndexError, TypeError, OverflowError, struct.error, zlib.error)
"""What the decoders raise on damaged data."""


def read_picture(path: Path) -> Picture:
    """The picture in a file: PNG, JPEG, WebP, TIFF, BMP or the first frame of a GIF, as 8-bit sRGB.

    Turned by its EXIF orientation; CMYK, 16 bit, grey and palettes converted; embedded colour profiles applied.
    Raises PictureError, and nothing else, for whatever is wrong with the file.
    """
    where = str(path)
    try:
        if path.is_dir():
            raise PictureError("This is a folder, not a picture.", where, "Name the picture file inside it.")
        if not path.exists():
            raise PictureError("There is no such file.", where, "Check the name and the folder of the picture.")
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise PictureError(
                f"The file is larger than {LARGEST_FILE_BYTES // 1_000_000} MB.", where, "Save a smaller picture."
            )
        data = path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        mend = "See that the file may be read by you."
        raise PictureError(f"The file cannot be read: {reason}.", where, mend) from error
    return read_picture_bytes(data, path.name)


def read_picture_bytes(data: bytes, name: str) -> Picture:
    """The picture in a file's content; `name` stands in messages. No disk. Promises what `read_picture` does."""
    if not data:
        raise PictureError("The file is empty.", name, "Save the picture again, or choose another file.")
    with warnings.catch_warnings():
        # the header check below replaces the library's own warning about large pictures
        warnings.simplefilter("ignore")
        image = _opened(data, name)
        _check_size(image, name)
        lossy = _is_lossy(image, data)
        try:
            image.load()
            pixels, alpha = _as_srgb(_turned(image))
        except (*BROKEN, MemoryError, ImageCms.PyCMSError) as error:
            mend = "Save it again from the program that made it, or copy it again."
            raise PictureError("The picture is damaged or cut short.", name, mend) from error
    return Picture(pixels, alpha, lossy, name)


def _opened(data: bytes, name: str) -> Image.Image:
    try:
        return Image.open(io.BytesIO(data), formats=FORMATS)
    except Image.DecompressionBombError as error:
        raise _too_large("far more", name) from error
    except UnidentifiedImageError as error:
        mend = "Use a PNG, JPEG, WebP, TIFF, BMP or GIF file. SVG and DXF are drawings, not pictures."
        raise PictureError("This is not a picture that can be read.", name, mend) from error
    except BROKEN as error:
        mend = "Save it again from the program that made it, or copy it again."
        raise PictureError("The picture is damaged or cut short.", name, mend) from error


def _too_large(size: str, name: str) -> PictureError:
    limit = LARGEST_PX // 1_000_000
    mend = f"Make it smaller: 2000 pixels across are plenty, {limit} million in all are the limit."
    return PictureError(f"The picture has {size} than {limit} million pixels.", name, mend)


def _check_size(image: Image.Image, name: str) -> None:
    width, height = image.size
    if width * height > LARGEST_PX:
        raise _too_large(f"{width} x {height}, more", name)
    if min(width, height) < SMALLEST_SIDE_PX:
        mend = f"Use a picture of at least {SMALLEST_SIDE_PX} pixels each way; 1000 or more give clean outlines."
        raise PictureError(f"The picture has only {width} x {height} pixels.", name, mend)


def _is_lossy(image: Image.Image, data: bytes) -> bool:
    if image.format in ("JPEG", "MPO"):
        return True
    if image.format == "WEBP":
        # RFC 9649: the chunk of lossy pixels is called 'VP8 ', that of lossless ones 'VP8L'
        return b"VP8 " in data
    return image.format == "TIFF" and image.info.get("compression") in ("jpeg", "tiff_jpeg")


def _turned(image: Image.Image) -> Image.Image:
    """The picture as the camera was held; a damaged EXIF block leaves it as stored."""
    try:
        return ImageOps.exif_transpose(image)
    except BROKEN:
        return image


def _as_srgb(image: Image.Image) -> tuple[np.ndarray, np.ndarray | None]:
    profile = image.info.get("icc_profile")
    if image.mode.startswith("I") or image.mode == "F":
        image, profile = _eight_bit(image), None
    has_alpha = "A" in image.mode or "a" in image.mode or "transparency" in image.info
    has_alpha = has_alpha and image.mode != "LAB"
    alpha = np.array(image.convert("RGBA").getchannel("A"), np.uint8) if has_alpha else None
    pixels = np.array(_through_profile(image, profile), np.uint8)
    if alpha is not None and int(alpha.min()) == 255:
        alpha = None
    return pixels, alpha


def _eight_bit(image: Image.Image) -> Image.Image:
    """Grey of 16 or 32 bits or floating point as 8 bits; 0 is black, the type's (or the picture's) largest is white."""
    values = np.array(image, np.float64)
    values = np.nan_to_num(values, nan=0.0, posinf=0.0, neginf=0.0)
    largest = float(values.max(initial=0.0))
    white = 1.0 if image.mode == "F" and largest <= 1.0 else 255.0 if image.mode == "F" else 65535.0
    if largest > white:
        white = largest
    return Image.fromarray(np.rint(np.clip(values, 0, white) * (255.0 / white)).astype(np.uint8))


def _through_profile(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Three channels of sRGB: by the embedded profile where it fits, else by the plain formula of the mode."""
    if image.mode == "LAB":
        source = ImageCms.createProfile("LAB")
        lab = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
        return lab if lab is not None else image.convert("RGB")
    if image.mode not in ("RGB", "CMYK", "L"):
        # over nothing: colour under full transparency does not matter, partial alpha is kept beside it
        image = image.convert("RGBA").convert("RGB") if image.mode != "YCbCr" else image.convert("RGB")
    if profile:
        try:
            source_profile = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            target = ImageCms.createProfile("sRGB")
            converted = ImageCms.profileToProfile(image, source_profile, target, outputMode="RGB")
            if converted is not None:
                return converted
        except (ImageCms.PyCMSError, *BROKEN):
            # a profile for another kind of picture: the plain formula below is the best that is left
            pass
    return image.convert("RGB")
