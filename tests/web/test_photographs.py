"""Photographs of an inspection: taken, shown to the shop alone, removed and put back."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from estimating.models import Photo
from tests.factories import JobFactory, PhotoFactory, QuoteFactory


def picture(colour="red"):
    file = io.BytesIO()
    Image.new("RGB", (640, 480), colour).save(file, "JPEG")
    return SimpleUploadedFile("photo.jpg", file.getvalue(), "image/jpeg")


@pytest.fixture
def url(world):
    return reverse("photos", args=[world.inspection.pk])


@pytest.fixture
def photo(world, url):
    given = {"file": picture(), "panel": "hood", "kind": "swirl_marks", "stage": "before"}
    assert world.client("tech").post(url, given).status_code == 302
    return Photo.objects.get()


def test_it_stands_on_the_sheet_the_vehicle_and_the_photographs(world, photo, url, text):
    small = reverse("photo_small", args=[photo.pk, photo.digest])
    desk = world.client("desk")
    for address in (
        url,
        reverse("inspection", args=[world.inspection.pk]),
        reverse("vehicle", args=[world.vehicle.pk]),
    ):
        assert f'src="{small}"' in text(desk.get(address)), address


def test_on_the_job_page_before_stands_beside_after(world, photo, text):
    job = JobFactory(vehicle=world.vehicle, customer=world.vehicle.customer)
    owned = {"vehicle": world.vehicle, "customer": world.vehicle.customer, "number": "Q-9"}
    QuoteFactory(job=job, inspection=world.inspection, **owned)
    PhotoFactory(
        shop=world.small.shop, inspection=world.inspection, panel="hood", stage="after",
        member=world.small.tech,
    )  # fmt: skip
    rows = world.client("tech").get(reverse("job_photos", args=[job.pk])).context["photo_rows"]
    assert [(row.panel, len(row.before), len(row.after)) for row in rows] == [("hood", 1, 1)]


def test_only_members_of_the_shop_see_it(world, photo):
    url = reverse("photo", args=[photo.pk, photo.digest])
    answer = world.client("tech").get(url)
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "image/jpeg")
    assert Image.open(io.BytesIO(answer.content)).size == (640, 480)
    assert "private" in answer.headers["Cache-Control"]
    assert world.client("outsider").get(url).status_code == 404


def test_removed_it_is_seen_nowhere_and_can_be_put_back(world, photo, url):
    tech = world.client("tech")
    image = reverse("photo", args=[photo.pk, photo.digest])
    away, back = (reverse(name, args=[photo.pk]) for name in ("photo_away", "photo_back"))
    assert world.client("outsider").post(away).status_code == 404
    assert tech.get(image).status_code == 200
    tech.post(away)
    assert tech.get(image).status_code == 404
    assert list(tech.get(url).context["gone"]) == [photo]
    tech.post(back)
    assert tech.get(image).status_code == 200


def test_what_is_no_photograph_is_refused_at_its_field(world, url, text):
    file = SimpleUploadedFile("photo.jpg", b"%PDF-1.7 not a picture", "image/jpeg")
    answer = world.client("tech").post(url, {"file": file, "stage": "before"})
    assert answer.status_code == 400
    assert "no photograph that can be read" in text(answer)
    assert not Photo.objects.exists()


def test_the_sheet_is_saved_on_the_way_to_a_panel(world):
    new = reverse("inspection_new", args=[world.vehicle.pk])
    answer = world.client("tech").post(new, {"unit": "mil", "save": "photos:hood"})
    assert answer.headers["Location"].endswith("/photos/?panel=hood")


@pytest.mark.parametrize("many", [1, 20])
def test_pages_with_photographs_read_little(world, url, many):
    owned = {"shop": world.small.shop, "inspection": world.inspection}
    for n in range(many):
        PhotoFactory(panel=("hood", "roof", "")[n % 3], member=world.small.tech, **owned)
    job = JobFactory(vehicle=world.vehicle, customer=world.vehicle.customer)
    found = {}
    pages = {
        "photos": url,
        "sheet": reverse("inspection", args=[world.inspection.pk]),
        "vehicle": reverse("vehicle", args=[world.vehicle.pk]),
        "job": reverse("job_photos", args=[job.pk]),
    }
    client = world.client("owner")
    for name, address in pages.items():
        client.get(address)
        with CaptureQueriesContext(connection) as seen:
            assert client.get(address).status_code == 200
        found[name] = len(seen)
    assert {name: count for name, count in found.items() if count > 12} == {}
