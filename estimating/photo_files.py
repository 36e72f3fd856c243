"""A photograph as it is kept: upright, bounded, and with nothing in it but the picture."""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import dataclass
from typing import Final

from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from estimating.models.photos import MOST_BYTES, MOST_SIDE_PX
from shop.refusals import Problem, Refused

MOST_UPLOAD_BYTES: Final = 20_000_000
_MOST_PIXELS: Final = 80_000_000  # a file of some bytes may unfold to gigabytes
_SMALL_SIDE_PX: Final = 320
_FORMATS: Final = ("JPEG", "PNG", "WEBP")
_QUALITIES: Final = (85, 75, 65, 55)


@dataclass(frozen=True)
class Prepared:
    """A photograph ready to be kept: JPEG in full and small, sizes in pixels."""

    image: bytes
    small: bytes
    width: int
    height: int
    digest: str


def photo_prepare(data: bytes) -> Prepared:
    """Encode a photograph anew: turned upright, at most 2048 px and 400 kB, no notes in it.

    What a camera writes beside the picture (place, time, device) is left out.

    Raises
    ------
    Refused
        It is too large, or no photograph that can be read.
    """
    if len(data) > MOST_UPLOAD_BYTES:
        message = _("It has more than %d MB; take it again smaller.")
        raise Refused(Problem(message % (MOST_UPLOAD_BYTES // 1_000_000), field="file"))
    picture = _opened(data)
    picture.thumbnail((MOST_SIDE_PX, MOST_SIDE_PX), Image.Resampling.LANCZOS)
    image = _encoded(picture)
    while len(image) > MOST_BYTES:
        picture = picture.resize((max(picture.width * 3 // 4, 1), max(picture.height * 3 // 4, 1)))
        image = _encoded(picture)
    width, height = picture.size
    picture.thumbnail((_SMALL_SIDE_PX, _SMALL_SIDE_PX), Image.Resampling.LANCZOS)
    small = _jpeg(picture, _QUALITIES[1])
    return Prepared(image, small, width, height, hashlib.sha256(image).hexdigest())


def _opened(data: bytes) -> Image.Image:
    unreadable = Problem(
        _("This is no photograph that can be read; choose a JPEG, PNG or WebP picture."),
        field="file",
    )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about odd notes in a file, which go anyway
            found = Image.open(io.BytesIO(data), formats=_FORMATS)
            if found.width * found.height > _MOST_PIXELS:
                raise Refused(
                    Problem(
                        _("%(width)d × %(height)d is too large; take it again smaller.")
                        % {"width": found.width, "height": found.height},
                        field="file",
                    )
                )
            # A JPEG is read at the nearest half or quarter: many times faster.
            found.draft("RGB", (MOST_SIDE_PX, MOST_SIDE_PX))
            upright = ImageOps.exif_transpose(found).convert("RGBA")
    except (
        Image.DecompressionBombError,
        UnidentifiedImageError,
        OSError,
        SyntaxError,
        ValueError,
        EOFError,
    ) as error:
        raise Refused(unreadable) from error
    # Onto a new picture: comments, profiles and places stay behind.
    clean = Image.new("RGB", upright.size, "white")
    clean.paste(upright, mask=upright.getchannel("A"))
    return clean


def _encoded(picture: Image.Image) -> bytes:
    """The best quality that fits, or the least there is."""
    found = b""
    for quality in _QUALITIES:
        found = _jpeg(picture, quality)
        if len(found) <= MOST_BYTES:
            break
    return found


def _jpeg(picture: Image.Image, quality: int) -> bytes:
    file = io.BytesIO()
    picture.save(file, "JPEG", quality=quality, optimize=True, progressive=True)
    return file.getvalue()
