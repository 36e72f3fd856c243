"""The link is the only key: it cannot be guessed, can be withdrawn, and ends."""

from datetime import timedelta

from django.test import Client
from django.urls import reverse

from estimating.models import CustomerPage
from estimating.services.customer_pages import page_of, page_path
from tests.visit_page.conftest import Caller


def test_a_wrong_token_is_not_found_and_says_nothing(caller):
    code, dot, signature = caller.path.split("/")[2].partition(".")
    for token in (
        "1",
        code,
        f"{code}{dot}",
        f"x{code[1:]}.{signature}",
        f"{code}.{signature[:-1]}",
    ):
        answer = Client().get(f"/v/{token}/")
        assert answer.status_code == 404
        assert caller.quote.number not in answer.content.decode()


def test_another_secret_key_opens_nothing(caller, settings):
    settings.SECRET_KEY = "another key, as after moving to another machine, long enough"
    assert caller.see().status_code == 404


def test_withdrawn_then_made_anew_at_the_quote(caller, world):
    desk, old = world.client("desk"), caller.path
    address = reverse("customer_link", args=[caller.quote.pk])
    assert old in desk.get(reverse("quote", args=[caller.quote.pk])).text
    desk.post(address, {"do": "withdraw"})
    assert Client().get(old).status_code == 404
    assert "/v/" not in desk.get(reverse("quote", args=[caller.quote.pk])).text
    desk.post(address, {"do": "new"})
    new = page_path(page_of(caller.quote))
    assert new != old
    assert Client().get(new).status_code == 200
    assert Client().get(old).status_code == 404


def test_only_the_desk_of_the_shop_withdraws(caller, world):
    address = reverse("customer_link", args=[caller.quote.pk])
    assert world.client("tech").post(address, {"do": "withdraw"}).status_code == 403
    assert world.client("outsider").post(address, {"do": "withdraw"}).status_code == 404
    assert caller.see().status_code == 200


def test_it_ends_ninety_days_after_the_hand_over(caller):
    job = caller.hand_over(caller.work(caller.book()))
    caller.clock.move_to(job.handed_over_at + timedelta(days=89, hours=23))
    assert caller.see().status_code == 200
    caller.clock.move_to(job.handed_over_at + timedelta(days=90))
    assert caller.see().status_code == 404


def test_it_ends_ninety_days_after_an_offer_nobody_took(caller):
    caller.clock.move_to(caller.quote.valid_until + timedelta(days=90))
    assert caller.see().status_code == 404


def test_nothing_of_others_and_nothing_else_of_the_site_is_in_it(caller, world):
    other = Caller(world, world.quote(), caller.clock)
    said = caller.text() + caller.text("time/")
    assert other.quote.number not in said
    links = {part.split('"')[0] for part in said.split('href="')[1:]}
    outward = {one for one in links if not one.startswith((caller.path, "/static/"))}
    assert {one.split(":")[0] for one in outward} <= {"tel", "mailto"}
    assert CustomerPage.objects.count() == 2


def test_the_headers_of_every_answer(caller):
    for answer in (caller.see(), caller.see("time/"), Client().get("/v/x/")):
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert "noindex" in answer.headers["X-Robots-Tag"]
        assert "no-store" in answer.headers["Cache-Control"]
        assert "script" not in answer.content.decode()
