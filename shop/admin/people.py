"""Accounts and people of the shop."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from shop.admin.base import ShopForm, ShopModelAdmin, problem_for
from shop.admin_site import is_keeper
from shop.models import Member, User
from shop.refusals import Refused
from shop.services.members import (
    member_add,
    member_set_password,
    owner_problem,
    password_problems,
)


class MemberForm(ShopForm):
    """A person with the account to sign in with."""

    username = forms.CharField(label=_("signs in as"), max_length=150)
    password = forms.CharField(
        label=_("new password"),
        required=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=_("Empty: it stays as it is."),
    )

    class Meta:
        model = Member
        fields = ("shop", "name", "role", "phone", "active")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.fields["username"].disabled = True
            self.fields["username"].initial = self.instance.user.username
        else:
            self.fields["password"].required = True
            self.fields["password"].help_text = ""

    def clean_username(self) -> str:
        name = str(self.cleaned_data["username"])
        if not self.instance.pk and User.objects.filter(username=name).exists():
            raise forms.ValidationError(_("This name is taken; choose another."))
        return name

    def clean_password(self) -> str:
        password = str(self.cleaned_data.get("password") or "")
        user = self.instance.user if self.instance.pk else User()
        if password and (problems := password_problems(password, user)):
            raise forms.ValidationError([problem.message for problem in problems])
        return password

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        if not self.errors and (problem := owner_problem(self.instance)):
            problem_for(Refused(problem), self)


_FIELDS = ("shop", "name", "role", "username", "password", "phone", "active")


@admin.register(Member)
class MemberAdmin(ShopModelAdmin):
    """People are kept when they leave, since work and events name them."""

    form = MemberForm
    list_display = ("name", "role", "user", "phone", "active")
    list_filter = ("role", "active")
    list_select_related = ("user",)
    search_fields = ("name", "user__username")

    def get_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        keeper = is_keeper(request)
        return [name for name in _FIELDS if keeper or name != "shop"]

    def save_model(self, request: HttpRequest, obj: Member, form: Any, change: bool) -> None:
        password = form.cleaned_data["password"]
        if change:
            super().save_model(request, obj, form, change)
            if password:
                member_set_password(member=obj, password=password)
            return
        made = member_add(
            shop=obj.shop,
            name=obj.name,
            role=obj.role,
            phone=obj.phone,
            username=form.cleaned_data["username"],
            password=password,
        )
        obj.pk, obj.user = made.pk, made.user
        obj._state.adding = False


@admin.register(User)
class KeepersUserAdmin(UserAdmin):
    """Bare accounts, for the keeper alone: here somebody can be made a superuser."""

    def has_module_permission(self, request: HttpRequest) -> bool:
        return is_keeper(request)

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return is_keeper(request)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return is_keeper(request)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return is_keeper(request)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
