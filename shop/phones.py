"""Reading phone numbers as people write them."""

from __future__ import annotations

import phonenumbers
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _


def to_e164(text: str, region: str) -> str:
    """Return ``text`` as E.164, read as dialled in ``region`` (ISO 3166, such as ``US``).

    Only *possible* numbers are asked for: ranges reserved for fiction are
    possible and never valid. A number without its area code is not enough, since
    E.164 has no place for "the one here"; nor has it one for an extension.

    Raises
    ------
    ValidationError
        The text is no possible number; the message says what to write.
    """
    try:
        number = phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        number = None
    if number is None or not _complete(number):
        raise ValidationError(
            _("%(text)s is no phone number; write it such as +1 202 555 0143."),
            code="phone",
            params={"text": text},
        )
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


def _complete(number: phonenumbers.PhoneNumber) -> bool:
    """Tell whether it can be dialled from anywhere (`is_possible_number` is laxer)."""
    if number.extension:
        return False
    reason = phonenumbers.is_possible_number_with_reason(number)
    return bool(reason == phonenumbers.ValidationResult.IS_POSSIBLE)
