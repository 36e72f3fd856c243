"""What is kept of a photograph: upright, bounded, without the camera's notes, once."""

import hashlib
import io
import random
import struct
import zlib
from datetime import timedelta

import pytest
from PIL import Image

from estimating.models import Photo
from estimating.services import photos as service
from estimating.services.photos import photo_add, photo_remove
from shop.refusals import Refused
from tests.factories import NOW, InspectionFactory, MemberFactory

GPS, ORIENTATION, MAKE = 0x8825, 0x0112, 0x010F


def picture(size=(640, 480), form="JPEG", **more):
    file = io.BytesIO()
    Image.new("RGB", size, "navy").save(file, form, **more)
    return file.getvalue()


def bomb():
    """The head of a PNG of 100,000 by 100,000 points, which would be 30 GB."""
    head = b"IHDR" + struct.pack(">IIBBBBB", 100_000, 100_000, 8, 2, 0, 0, 0)
    length, check = struct.pack(">I", len(head) - 4), struct.pack(">I", zlib.crc32(head))
    return b"\x89PNG\r\n\x1a\n" + length + head + check


@pytest.fixture
def add(db):
    inspection = InspectionFactory()

    def run(data, **more):
        given = {"inspection": inspection, "member": inspection.member, "now": NOW}
        return photo_add(**{**given, "data": data, **more})

    return run


def test_place_device_and_comment_are_gone_and_it_stands_upright(add):
    notes = Image.Exif()
    notes[ORIENTATION], notes[MAKE] = 6, "Invented Camera"
    notes.get_ifd(GPS)[1] = "N"
    kept = add(picture(exif=notes, comment=b"parked at home"))
    for data in (bytes(kept.image), bytes(kept.small)):
        found = Image.open(io.BytesIO(data))
        assert dict(found.getexif()) == {}
        assert "comment" not in found.info
        assert b"Invented" not in data
    # Six means: turn it clockwise, so that wide becomes high.
    assert (kept.width, kept.height) == (480, 640)
    assert kept.digest == hashlib.sha256(bytes(kept.image)).hexdigest()


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_large_one_is_made_smaller(add, form):
    kept = add(picture((4000, 3000), form))
    assert (kept.width, kept.height) == (2048, 1536)
    assert max(Image.open(io.BytesIO(bytes(kept.small))).size) == 320


def test_even_noise_stays_within_its_bytes(add):
    noise = Image.frombytes("RGB", (1600, 1200), random.Random(7).randbytes(5_760_000))  # noqa: S311
    file = io.BytesIO()
    noise.save(file, "JPEG", quality=95)
    kept = add(file.getvalue())
    assert len(bytes(kept.image)) <= 400_000
    assert Image.open(io.BytesIO(bytes(kept.image))).size == (kept.width, kept.height)


@pytest.mark.parametrize(
    ("given", "field", "said"),
    [
        ({"data": b""}, "file", "no photograph"),
        ({"data": b"<svg xmlns='http://www.w3.org/2000/svg'/>"}, "file", "no photograph"),
        ({"data": picture()[:400]}, "file", "no photograph"),
        ({"data": picture(form="GIF")}, "file", "no photograph"),
        ({"data": picture((20_000, 5_000), "PNG")}, "file", "20000 × 5000"),
        ({"data": bomb()}, "file", "no photograph"),
        ({"data": b"\xff" * 20_000_001}, "file", "more than 20 MB"),
        ({"data": picture(), "panel": "bonnet"}, "panel", "“bonnet”"),
        ({"data": picture(), "kind": "dirt"}, "kind", "“dirt”"),
        ({"data": picture(), "stage": "during"}, "stage", "“during”"),
    ],
)
def test_what_cannot_be_kept_is_refused(add, given, field, said):
    with pytest.raises(Refused) as refused:
        add(**given)
    assert said in refused.value.by_field()[field][0]
    assert not Photo.objects.exists()


def test_nobody_adds_to_the_inspection_of_another_shop(add):
    with pytest.raises(Refused):
        add(picture(), member=MemberFactory())
    assert add(picture()).pk


def test_sent_twice_it_is_there_once_and_a_removed_one_is_back(add):
    first = add(picture(), panel="hood")
    photo_remove(photo=first, member=first.member, now=NOW)
    again = add(picture(), panel="hood")
    assert (again.pk, again.removed_at) == (first.pk, None)
    assert add(picture(), panel="roof").pk != first.pk


def test_a_removed_one_is_forgotten_after_thirty_days(add):
    first, second = add(picture(), panel="hood"), add(picture(), panel="roof")
    photo_remove(photo=first, member=first.member, now=NOW)
    photo_remove(photo=second, member=first.member, now=NOW + timedelta(days=29))
    assert Photo.objects.count() == 2
    add(picture(), panel="trunk_lid", now=NOW + timedelta(days=31))
    assert set(Photo.objects.values_list("panel", flat=True)) == {"roof", "trunk_lid"}


def test_an_inspection_holds_no_more_than_its_bound(add, monkeypatch):
    monkeypatch.setattr(service, "MOST_PHOTOS", 1)
    add(picture(), panel="hood")
    with pytest.raises(Refused, match="remove some"):
        add(picture(), panel="roof")
