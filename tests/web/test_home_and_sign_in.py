"""Signing in leads each role to its own screen; a wrong password says so kindly."""

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from tests.factories import PASSWORD


@pytest.mark.parametrize(
    ("who", "screen"), [("owner", "calendar"), ("desk", "desk"), ("tech", "floor")]
)
def test_each_role_lands_on_its_screen(world, who, screen):
    member = getattr(world.small, who)
    client = Client()
    given = {"username": member.user.username, "password": PASSWORD}
    answer = client.post(reverse("sign_in"), given, follow=True)
    assert answer.redirect_chain[-1][0] == reverse(screen)


def test_a_wrong_password_keeps_the_name_and_says_what_is_wrong(world, text):
    given = {"username": world.small.desk.user.username, "password": "wrong"}
    said = text(Client().post(reverse("sign_in"), given))
    assert "Name and password do not belong together" in said
    assert given["username"] in said


def test_too_many_tries_say_how_long_to_wait(world, text):
    given = {"username": "somebody", "password": "wrong"}
    client = Client()
    answers = [
        text(client.post(reverse("sign_in"), given)) for _ in range(settings.SIGN_IN_TRIES + 1)
    ]
    assert "Wait five minutes" not in answers[0]
    assert "Wait five minutes" in answers[-1]


def test_signing_out_ends_the_session(world):
    client = world.client("owner")
    client.post(reverse("sign_out"))
    assert client.get(reverse("customers")).status_code == 302
