"""Customers and their consents."""

from __future__ import annotations

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from shop.access import DESK
from shop.api.base import ShopViewSet, Strict
from shop.models import Consent, Customer
from shop.selectors import customers_search
from shop.services.customers import consent_set, customer_add, customer_change


class ConsentSerializer(Strict, serializers.ModelSerializer[Consent]):
    """One word on one channel and purpose."""

    class Meta:
        model = Consent
        fields = ("channel", "purpose", "granted", "said_at", "source")
        read_only_fields = ("said_at",)


class CustomerSerializer(Strict, serializers.ModelSerializer[Customer]):
    """A customer with what they consented to."""

    # Read as people write it; the service makes it E.164.
    phone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    consents = ConsentSerializer(many=True, read_only=True)

    class Meta:
        model = Customer
        fields = ("id", "name", "phone", "email", "zone", "notes", "created_at", "consents")
        read_only_fields = ("created_at",)

    def create(self, validated_data: dict[str, Any]) -> Customer:
        return customer_add(shop=self.context["view"].shop, **validated_data)

    def update(self, instance: Customer, validated_data: dict[str, Any]) -> Customer:
        return customer_change(customer=instance, **validated_data)


class CustomerFilter(django_filters.FilterSet):
    """``search`` takes a part of a name, of a phone in any spelling, or a plate."""

    search = django_filters.CharFilter(method="find", label="Name, phone or plate")

    class Meta:
        model = Customer
        fields = ("email",)

    def find(self, rows: QuerySet[Customer], _name: str, text: str) -> QuerySet[Customer]:
        view = self.request.parser_context["view"]
        return rows.filter(pk__in=[row.pk for row in customers_search(view.shop, text, limit=50)])


class CustomerViewSet(
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    mixins.CreateModelMixin,
    mixins.UpdateModelMixin,
    ShopViewSet,
):
    """Customers of the shop."""

    queryset = Customer.objects.prefetch_related("consents")
    serializer_class = CustomerSerializer
    filterset_class = CustomerFilter
    http_method_names = ("get", "post", "patch", "head", "options")
    roles = DESK

    @extend_schema(request=ConsentSerializer, responses=ConsentSerializer)
    @action(detail=True, methods=["post"])
    def consent(self, request: Request, pk: str) -> Response:
        """Record what the customer said about one channel and purpose."""
        customer = self.get_object()
        given = ConsentSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        consent = consent_set(customer=customer, now=self.now, **given.validated_data)
        return Response(ConsentSerializer(consent).data)
