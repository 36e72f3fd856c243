"""Signing in and out."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from shop.signin import must_wait


class SignInForm(AuthenticationForm):
    """Name and password; says so when too many wrong tries mean waiting."""

    error_messages = {
        "invalid_login": _("Name and password do not belong together. Try again."),
        "inactive": _("This account is closed; ask the owner."),
        "wait": _("Too many wrong tries. Wait five minutes, then try again."),
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = _("Name")

    def get_invalid_login_error(self) -> ValidationError:
        if must_wait(self.request, self.cleaned_data.get("username", "")):
            return ValidationError(self.error_messages["wait"], code="wait")
        return ValidationError(self.error_messages["invalid_login"], code="invalid_login")


sign_in = LoginView.as_view(
    template_name="sign_in/sign_in.html",
    authentication_form=SignInForm,
    redirect_authenticated_user=True,
)
