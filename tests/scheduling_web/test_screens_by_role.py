"""Who may open which screen; everybody else is refused, and another shop's job is not found."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import factories as make

FORBIDDEN, NOT_FOUND, OK = 403, 404, 200
ROLES = ("owner", "desk", "tech", "outsider")
# Screen, whether it names the job, and the answer to each role in the order above.
SCREENS = [
    ("calendar", False, (OK, OK, OK, OK)),
    ("calendar_live", False, (OK, OK, OK, OK)),
    ("floor", False, (OK, OK, OK, OK)),
    ("reminders", False, (OK, OK, FORBIDDEN, OK)),
    ("job", True, (OK, OK, OK, NOT_FOUND)),
    ("job_move", True, (OK, OK, FORBIDDEN, NOT_FOUND)),
    ("reminder_preview", True, (OK, OK, FORBIDDEN, NOT_FOUND)),
]


@pytest.mark.parametrize(("name", "of_job", "answers"), SCREENS)
def test_each_role_gets_its_answer(world, name, of_job, answers) -> None:
    # A day ahead, so that there is a message to confirm it.
    job = world.booked(days=1)
    key = job.reminders.first().pk if name == "reminder_preview" else job.pk
    address = reverse(name, args=[key] if of_job else [])
    got = [world.client(who).get(address) for who in ROLES]
    assert tuple(answer.status_code for answer in got) == answers
    if name not in ("floor", "reminder_preview"):
        assert job.number in got[0].content.decode()
    # What an outsider sees is their own shop, never ours.
    assert job.number not in got[3].content.decode()


@pytest.mark.parametrize(
    ("who", "status"), [("owner", OK), ("desk", OK), ("tech", FORBIDDEN), ("outsider", NOT_FOUND)]
)
@pytest.mark.parametrize("name", ["visit_fit", "visit_put"])
def test_a_visit_is_moved_by_hand_by_the_desk_alone(world, name, who, status) -> None:
    job = world.booked()
    address = reverse(name, args=[job.pk])
    client = world.client(who)
    values = {"at": "2026-03-04T16:00:00Z"}
    if name == "visit_put":
        told = world.client("desk").get(reverse("visit_fit", args=[job.pk]), values).json()
        values |= {one: told[one] for one in ("seen", "arrives", "promised")} | {"why": "So"}
    send = client.get if name == "visit_fit" else client.post
    assert send(address, values).status_code == status


@pytest.mark.parametrize("name", ["calendar", "calendar_live", "floor", "reminders"])
def test_a_stranger_is_asked_to_sign_in(world, name) -> None:
    answer = Client().get(reverse(name))
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("sign_in"))


def test_an_account_without_a_shop_is_refused(world) -> None:
    client = Client()
    client.force_login(make.UserFactory())
    assert client.get(reverse("floor")).status_code == FORBIDDEN


def test_the_technician_sees_hours_and_no_money(world) -> None:
    job = world.booked()
    address = reverse("job", args=[job.pk])
    assert "$640.00" in world.client("owner").get(address).content.decode()
    seen = world.client("tech").get(address).content.decode()
    assert "$" not in seen
    assert "Worked" in seen
