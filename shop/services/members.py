"""People of the shop and their accounts."""

from __future__ import annotations

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from shop.models import Member, Role, Shop, User
from shop.refusals import Problem, Refused
from shop.services.checked import row_problems, row_save


@transaction.atomic
def member_add(
    *, shop: Shop, name: str, role: str, username: str, password: str, phone: str = ""
) -> Member:
    """Take a person into the shop with an account of their own. ``phone`` is E.164.

    Raises
    ------
    Refused
        By field: a name that is taken, a password that is easily guessed.
    """
    user = User(username=username)
    user.set_password(password)
    problems = [*row_problems(user), *password_problems(password, user)]
    if problems:
        raise Refused(*problems)
    user.save()
    member = Member(shop=shop, user=user, name=name, role=role, phone=phone)
    row_save(member)
    return member


def member_set_password(*, member: Member, password: str) -> None:
    """Give a person a new password; every session of theirs ends with it.

    Raises
    ------
    Refused
        The password is easily guessed.
    """
    problems = password_problems(password, member.user)
    if problems:
        raise Refused(*problems)
    member.user.set_password(password)
    member.user.save(update_fields=["password"])


def password_problems(password: str, user: User) -> list[Problem]:
    """What is wrong with a password, under the field ``password``."""
    try:
        validate_password(password, user)
    except ValidationError as error:
        return [Problem(message, field="password") for message in error.messages]
    return []


def owner_problem(member: Member) -> Problem | None:
    """Say no where a change would leave the shop without an owner who can sign in."""
    if not member.pk or (member.active and member.role == Role.OWNER):
        return None
    before = Member.objects.get(pk=member.pk)
    if not before.active or before.role != Role.OWNER:
        return None
    others = Member.objects.of(member.shop).filter(role=Role.OWNER, active=True)
    if others.exclude(pk=member.pk).exists():
        return None
    return Problem(_("The shop needs an owner: make somebody else one first."), field="role")
