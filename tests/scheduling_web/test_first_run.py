"""An empty program is led to its first quote: shop, hours, bays, crew, catalogue."""

import pytest
from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from scheduling.models import Resource, Shift
from scheduling.selectors.starting import start_of
from shop.first_run import first_run_key
from shop.models import Consumable, Shop
from tests.factories import ShopFactory

pytestmark = pytest.mark.django_db
SHOP = {
    "name": "Quiet Bay", "country": "US", "zone": "America/Chicago", "currency": "USD",
    "film_unit": "mil", "phone": "+1 202 555 0143", "email": "", "labour_rate": "42",
    "bay_rate": "9", "overhead_rate": "30", "tax_rate": "0", "target_margin": "40",
    "floor_margin": "25", "owner": "Ida Ferrow", "username": "ida", "password": "copper-kettle-41",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _own_folder(tmp_path, monkeypatch):
    monkeypatch.setattr(settings, "VAR_DIR", tmp_path)


def found_shop(client, **changes):
    return client.post(reverse("first_shop", args=[first_run_key()]), SHOP | changes)


def step(client, name, **given):
    return client.post(reverse("start_step", args=[name]), given)


def test_from_nothing_to_the_quote_desk(client):
    assert found_shop(client).status_code == 302
    step(client, "opening", weekdays=["0", "1", "2"], opens="08:00", closes="17:00")
    step(client, "places", wash=1, correction=2, coating=1, anything=0, parking=2, lamps=1)
    step(client, "own", skills=["polish", "coat", "wash"])
    step(client, "template")
    shop = Shop.objects.get()
    assert start_of(shop).done
    assert Resource.objects.of(shop).count() == 8
    assert Shift.objects.count() == 3
    assert "Open the quote desk" in client.get(reverse("start")).content.decode()
    assert client.get(reverse("desk")).status_code == 200


def test_without_the_key_nobody_makes_a_shop(client):
    assert client.post(reverse("first_shop", args=["guess"]), SHOP).status_code == 404
    assert not Shop.objects.exists()


def test_the_key_is_of_no_use_once_there_is_a_shop(client):
    ShopFactory()
    assert found_shop(client).url == reverse("sign_in")
    assert not get_user_model().objects.filter(username="ida").exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [("password", "12345"), ("phone", "12"), ("zone", "Mars/Base"), ("floor_margin", "80")],
)
def test_a_wrong_fact_is_said_and_nothing_is_made(client, field, value):
    page = found_shop(client, **{field: value})
    assert page.status_code == 400
    assert "Quiet Bay" in page.content.decode()
    assert not Shop.objects.exists()


def shelf(client, text):
    return step(client, "file", file=SimpleUploadedFile("shelf.csv", text.encode()))


def test_a_shelf_from_csv_updates_and_adds(client):
    found_shop(client)
    step(client, "template")
    shelf(client, "code;unit_cost;on_hand;name;unit\nmine;1,50;4;My tape;roll\n")
    row = Consumable.objects.get(code="mine")
    assert (row.name, str(row.unit_cost), str(row.on_hand)) == ("My tape", "1.50000", "4.0000")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "code,unit_cost,on_hand,name,unit\na,x,1,A,l\nb,1,1,B,l\n",
            "Line 2, unit_cost &#x27;x",
        ),
        ("code,unit_cost,on_hand\nnew,1,1\n", "Line 2, name"),
        ("code,on_hand\na,1\n", "The first line needs code, unit_cost, on_hand"),
        ("code,unit_cost,on_hand,name,unit\na,1,1,A,l\na,1,1,A,l\n", "it stands twice"),
    ],
)
def test_a_wrong_table_names_line_and_column_and_writes_nothing(client, text, words):
    found_shop(client)
    page = shelf(client, text)
    assert page.status_code == 400
    assert words in page.content.decode()
    assert not Consumable.objects.exists()


def test_only_an_owner_sets_up(world, desk):
    assert desk.get(reverse("start")).status_code == 403
    assert desk.post(reverse("start_step", args=["template"])).status_code == 403
