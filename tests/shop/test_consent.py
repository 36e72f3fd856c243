"""The last word on a channel and purpose stands, with how it was given."""

from datetime import timedelta

import pytest

from shop.models import Consent
from shop.refusals import Refused
from shop.services.customers import consent_set
from tests import factories as make
from tests.factories import NOW

pytestmark = pytest.mark.django_db


def say(customer, granted, at=NOW, **changes):
    said = {"channel": "text", "purpose": "visit", "source": "phone", **changes}
    return consent_set(customer=customer, granted=granted, now=at, **said)


def test_a_later_word_replaces_the_earlier():
    customer = make.CustomerFactory()
    say(customer, True)
    say(customer, False, NOW + timedelta(minutes=1), source="link in a message")
    kept = Consent.objects.get()
    assert (kept.granted, kept.source) == (False, "link in a message")


def test_an_earlier_word_that_arrives_late_does_not():
    customer = make.CustomerFactory()
    say(customer, False)
    assert say(customer, True, NOW - timedelta(minutes=1)).granted is False
    assert Consent.objects.get().said_at == NOW


def test_each_purpose_is_asked_for_itself():
    customer = make.CustomerFactory()
    say(customer, True)
    say(customer, False, purpose="offers")
    assert dict(Consent.objects.values_list("purpose", "granted")) == {
        "visit": True,
        "offers": False,
    }


@pytest.mark.parametrize("field", ["channel", "purpose", "source"])
def test_a_word_that_nobody_could_show_is_refused(field):
    with pytest.raises(Refused) as refused:
        say(make.CustomerFactory(), True, **{field: " "})
    assert list(refused.value.by_field()) == [field]
    assert not Consent.objects.exists()
