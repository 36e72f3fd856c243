"""Sent, declined, replaced, accepted: each once, and only while it makes sense."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from estimating.models import Quote
from estimating.services.quotes import quote_accept, quote_decline, quote_send
from shop.models import Job, Member
from shop.refusals import Conflict, Refused
from tests.factories import NOW, MemberFactory

Make = Callable[..., Quote]


def test_sending_keeps_the_first_time(quoted: Make, owner: Member) -> None:
    quote = quoted()
    quote_send(quote=quote, member=owner, now=NOW)
    quote_send(quote=quote, member=owner, now=NOW + timedelta(days=1))
    quote.refresh_from_db()
    assert (quote.state, quote.sent_at) == ("sent", NOW)


def test_declining_keeps_when_and_why(quoted: Make, owner: Member) -> None:
    quote = quoted()
    quote_decline(quote=quote, member=owner, now=NOW, why=" sold the vehicle ")
    quote.refresh_from_db()
    assert (quote.state, quote.declined_at, quote.declined_why) == (
        "declined",
        NOW,
        "sold the vehicle",
    )


@pytest.mark.parametrize("why", ["", " ", "x" * 301])
def test_declining_needs_a_reason(quoted: Make, owner: Member, why: str) -> None:
    with pytest.raises(Refused) as refused:
        quote_decline(quote=quoted(), member=owner, now=NOW, why=why)
    assert list(refused.value.by_field()) == ["why"]


def test_a_new_version_replaces_the_old_and_keeps_its_number(quoted: Make, owner: Member) -> None:
    old = quoted()
    new = quoted(replaces=old, goal={"cleared": 0.8})
    assert (new.number, new.version, new.state) == (old.number, 2, "open")
    assert old.state == "replaced"
    with pytest.raises(Refused, match="replaced"):
        quote_accept(quote=old, member=owner, now=NOW)


@pytest.mark.parametrize("closed", ["replaced", "accepted"])
def test_a_closed_quote_is_not_replaced_again(quoted: Make, owner: Member, closed: str) -> None:
    old = quoted()
    if closed == "replaced":
        quoted(replaces=old)
    else:
        quote_accept(quote=old, member=owner, now=NOW)
    count = Quote.objects.count()
    with pytest.raises(Conflict):
        quoted(replaces=old)
    assert Quote.objects.count() == count


def test_accepting_works_to_the_last_moment_and_not_after(quoted: Make, owner: Member) -> None:
    """The validity is half-open: its end is the first moment that is too late."""
    late, in_time = quoted(), quoted()
    with pytest.raises(Refused, match="2026-03-16"):
        quote_accept(quote=late, member=owner, now=late.valid_until)
    assert not Job.objects.exists()
    last = in_time.valid_until - timedelta(microseconds=1)
    assert quote_accept(quote=in_time, member=owner, now=last).pk


def test_accepting_twice_is_a_conflict(quoted: Make, owner: Member) -> None:
    quote = quoted()
    quote_accept(quote=quote, member=owner, now=NOW)
    with pytest.raises(Conflict):
        quote_accept(quote=Quote.objects.get(pk=quote.pk), member=owner, now=NOW)
    assert Job.objects.count() == 1


def test_accepting_what_was_declined(quoted: Make, owner: Member) -> None:
    quote = quoted()
    quote_decline(quote=quote, member=owner, now=NOW, why="no answer")
    with pytest.raises(Refused, match="declined"):
        quote_accept(quote=quote, member=owner, now=NOW)
    assert not Job.objects.exists()


@pytest.mark.parametrize("act", [quote_send, quote_accept])
def test_a_member_of_another_shop(quoted: Make, act: Callable[..., object]) -> None:
    with pytest.raises(Refused, match="another shop"):
        act(quote=quoted(), member=MemberFactory(), now=NOW)
