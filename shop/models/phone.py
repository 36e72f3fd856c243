"""Phone numbers, kept in E.164 form (ITU-T): a plus sign and up to fifteen digits."""

from __future__ import annotations

from typing import Any

from django.core.validators import RegexValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

E164 = RegexValidator(
    r"^\+[1-9]\d{1,14}$",
    _("Write the number with its country code, such as +1 202 555 0143."),
)


class PhoneField(models.CharField):
    """E.164 number."""

    default_validators = [E164]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 16)
        super().__init__(*args, **kwargs)
