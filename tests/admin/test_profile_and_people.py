"""The shop's own page and its people."""

import pytest

from scheduling.models import Resource
from shop.models import Member
from tests import factories as make
from tests.admin.forms import errors, filled


@pytest.fixture
def client(people, client_of):
    return client_of(people.owner)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"target_margin": "0.99"}, "room for the cost"),
        ({"floor_um": "0"}, "floor_um"),
        ({"floor_margin": "0.6"}, "floor margin"),
        ({"zone": "Here/Now"}, "IANA"),
        ({"phone": "555-0143"}, "phone number"),
    ],
)
def test_a_profile_that_cannot_work_is_refused(client, people, changes, word):
    path = f"/admin/shop/shop/{people.shop.pk}/change/"
    assert word in errors(client.post(path, filled(client.get(path), **changes)))


def test_a_profile_is_changed(client, people):
    path = f"/admin/shop/shop/{people.shop.pk}/change/"
    answer = client.post(path, filled(client.get(path), labour_rate="41", phone="202-555-0143"))
    assert answer.status_code == 302
    people.shop.refresh_from_db()
    assert (people.shop.labour_rate, people.shop.phone) == (41, "+12025550143")


def test_an_owner_opens_no_second_shop(client):
    assert client.get("/admin/shop/shop/add/").status_code == 403


NEW = {
    "name": "Ida Larch",
    "role": "technician",
    "username": "ida",
    "password": "plum tree 77",
    "active": "on",
}


def test_a_person_is_added_and_can_sign_in(client, people):
    answer = client.post("/admin/shop/member/add/", NEW)
    assert answer.status_code == 302
    member = Member.objects.get(name="Ida Larch")
    assert (member.shop, member.role) == (people.shop, "technician")
    client.logout()
    assert client.login(username="ida", password="plum tree 77")
    assert not member.user.is_staff


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"password": "12345"}, "password"),
        ({"password": ""}, "password"),
        ({"role": "king"}, "role"),
    ],
)
def test_a_person_is_refused(client, changes, field):
    answer = client.post("/admin/shop/member/add/", NEW | changes)
    assert field in errors(answer)
    assert not Member.objects.filter(name="Ida Larch").exists()


def test_a_name_that_is_taken(client, people):
    taken = {"username": people.desk.user.username}
    assert "taken" in errors(client.post("/admin/shop/member/add/", NEW | taken))


def test_the_last_owner_stays(client, people):
    path = f"/admin/shop/member/{people.owner.pk}/change/"
    data = filled(client.get(path), role="technician")
    assert "needs an owner" in errors(client.post(path, data))
    make.MemberFactory(shop=people.shop)
    assert client.post(path, data).status_code == 302


def test_a_bays_capabilities_are_ticked(client, people):
    page = client.get("/admin/scheduling/resource/add/")
    data = filled(page, kind="bay", code="b9", name="Bay 9", capabilities=["wash", "coating"])
    answer = client.post("/admin/scheduling/resource/add/", data)
    assert answer.status_code == 302, errors(answer)
    assert Resource.objects.get(code="b9").capabilities == ["wash", "coating"]


def test_a_wording_with_an_unknown_name_is_refused(client):
    page = client.get("/admin/scheduling/messagetemplate/add/")
    data = filled(page, purpose="ready", channel="email", subject="Ready", text="Dear {nobody}")
    answer = client.post("/admin/scheduling/messagetemplate/add/", data)
    assert "{nobody} is not known" in errors(answer)
