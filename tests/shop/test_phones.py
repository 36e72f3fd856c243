"""Phone numbers are read as people write them and kept as E.164."""

import pytest
from django.core.exceptions import ValidationError

from shop.models.phone import E164
from shop.phones import to_e164


@pytest.mark.parametrize(
    "text",
    [
        "(202) 555-0143",
        "202.555.0143",
        "1 202 555 0143",
        "+1 202-555-0143",
        "tel: 202 555 0143",
    ],
)
def test_spellings_of_one_number(text):
    assert to_e164(text, "US") == "+12025550143"


def test_a_number_is_read_as_dialled_in_the_shops_country():
    # 020 7946 0000 to 0999 are kept for fiction in the United Kingdom.
    assert to_e164("020 7946 0958", "GB") == "+442079460958"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "call me",
        "12",
        "555-0143",  # no area code: which 555-0143?
        "202-555-0143 ext 4",  # E.164 has no extension
        "202 555 0143 202 555 0144",
    ],
)
def test_what_cannot_be_dialled_from_anywhere_is_refused(text):
    with pytest.raises(ValidationError, match="no phone number"):
        to_e164(text, "US")


@pytest.mark.parametrize("number", ["+12025550143", "+442079460958"])
def test_the_field_takes_e164(number):
    E164(number)


@pytest.mark.parametrize("number", ["2025550143", "+02025550143", "+1202555014312345", "+1 202"])
def test_the_field_takes_nothing_else(number):
    with pytest.raises(ValidationError):
        E164(number)
