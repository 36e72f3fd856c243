"""What every API view shares: one member, one shop, roles, and strict input."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any, ClassVar

from django.db.models import QuerySet
from django.utils import timezone
from rest_framework import serializers, viewsets
from rest_framework.permissions import BasePermission
from rest_framework.relations import PrimaryKeyRelatedField
from rest_framework.request import Request
from rest_framework.views import APIView

from shop.access import EVERYONE, member_of
from shop.models import Member, Role, Shop


class IsMember(BasePermission):
    """Active members of a shop, with a role that the view names for the action."""

    message = "Your role does not include this."

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Look the member up once and leave it on the view."""
        member = member_of(request.user)
        if member is None or not isinstance(view, MemberView):
            return False
        view.member_found = member
        return member.role in view.roles_now()


class MemberView(APIView):
    """A view for members. ``roles`` holds for all, ``roles_for`` for single actions."""

    permission_classes = (IsMember,)
    roles: ClassVar[frozenset[Role]] = EVERYONE
    roles_for: ClassVar[Mapping[str, frozenset[Role]]] = {}
    member_found: Member | None = None

    def roles_now(self) -> frozenset[Role]:
        """Roles that may do what is being asked."""
        action = getattr(self, "action", None) or ""
        return self.roles_for.get(action, self.roles)

    @property
    def member(self) -> Member:
        """The person who asks; there is one wherever a permission has been checked."""
        assert self.member_found is not None
        return self.member_found

    @property
    def shop(self) -> Shop:
        return self.member.shop

    @property
    def now(self) -> datetime:
        """The moment of the request, read once."""
        if not hasattr(self, "_now"):
            self._now = timezone.now().astimezone(UTC)
        return self._now


class ShopViewSet(MemberView, viewsets.GenericViewSet):
    """Rows of the member's own shop; ``shop_path`` leads from a row to its shop.

    Another shop's row is not found, so its address answers 404.
    """

    shop_path = "shop"

    def get_queryset(self) -> QuerySet[Any]:
        rows: QuerySet[Any] = super().get_queryset()
        if getattr(self, "swagger_fake_view", False):
            return rows.none()
        return rows.filter(**{self.shop_path: self.shop})


class OfShopField(PrimaryKeyRelatedField):
    """A reference by id to a row of the member's own shop; others do not exist for it."""

    def __init__(self, *, shop_path: str = "shop", **options: Any) -> None:
        self.shop_path = shop_path
        super().__init__(**options)

    def get_queryset(self) -> QuerySet[Any]:
        rows: QuerySet[Any] | None = super().get_queryset()
        assert rows is not None
        view = self.context.get("view")
        if view is None or getattr(view, "swagger_fake_view", False):
            return rows.none()
        return rows.filter(**{self.shop_path: view.shop})


class Strict(serializers.Serializer[Any]):
    """Refuses keys it does not know: a misspelt one must not be dropped silently."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, Mapping):
            unknown = sorted(str(key) for key in set(data) - set(self.fields))
            if unknown:
                known = ", ".join(
                    name for name, field in self.fields.items() if not field.read_only
                )
                message = f"This key is not known here; known are {known or 'none'}."
                raise serializers.ValidationError({key: [message] for key in unknown})
        return super().to_internal_value(data)


class Why(Strict):
    """A reason, for the record."""

    why = serializers.CharField(max_length=300)
