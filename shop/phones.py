"""Reading phone numbers as people write them."""

from __future__ import annotations

import phonenumbers
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _


def to_e164(text: str, region: str) -> str:
    """Return ``text`` as E.164, read as dialled in ``region`` (ISO 3166, such as ``US``).

    Only *possible* numbers are asked for: ranges reserved for fiction are
    possible and never valid.

    Raises
    ------
    ValidationError
        The text is no possible number; the message says what to write.
    """
    try:
        number = phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        number = None
    if number is None or not phonenumbers.is_possible_number(number):
        raise ValidationError(
            _("%(text)s is no phone number; write it such as +1 202 555 0143."),
            code="phone",
            params={"text": text},
        )
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)
