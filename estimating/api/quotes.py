"""Quotes: made from a vehicle's findings, sent, accepted, declined; never edited."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from estimating.api.options import OptionsSerializer, options_from
from estimating.models import Inspection, Quote
from estimating.services.quotes import quote_accept, quote_decline, quote_make, quote_send
from shop.access import DESK
from shop.api.base import OfShopField, ShopViewSet, Strict, Why
from shop.models import Customer, Vehicle

_ROW = (
    "id",
    "number",
    "version",
    "state",
    "title",
    "customer",
    "vehicle",
    "inspection",
    "job",
    "member",
    "created_at",
    "sent_at",
    "accepted_at",
    "declined_at",
    "declined_why",
    "valid_until",
    "currency",
    "price",
    "price_p10",
    "price_p50",
    "price_p90",
    "tax",
    "margin",
    "below_floor_reason",
    "hours_p10",
    "hours_p50",
    "hours_p90",
    "cleared",
)
_SNAPSHOT = ("request", "parameters", "estimate", "operations", "materials")


class QuoteRowSerializer(serializers.ModelSerializer[Quote]):
    """What was offered; prices before tax, hours of labour."""

    class Meta:
        model = Quote
        fields: tuple[str, ...] = _ROW


class QuoteSerializer(QuoteRowSerializer):
    """A quote with everything it was made from, except the catalogue's rows."""

    class Meta(QuoteRowSerializer.Meta):
        fields = (*_ROW, "request", "estimate", "operations", "materials")


class QuoteStart(Strict):
    """What is asked for. ``goal`` is as in ``halfmil-inspection/1``.

    Without ``inspection`` the quote comes from what the caller told. ``price`` sets
    another price than the one worked out, ``discount_share`` takes a share off it;
    under the shop's floor either needs an owner and a ``reason``. ``replaces`` makes a
    new version of an earlier quote.
    """

    customer = OfShopField(queryset=Customer.objects.all())
    vehicle = OfShopField(queryset=Vehicle.objects.all())
    inspection = OfShopField(queryset=Inspection.objects.all(), required=False, allow_null=True)
    goal = serializers.DictField()
    options = OptionsSerializer(required=False)
    price = serializers.DecimalField(
        max_digits=12, decimal_places=3, min_value=0, required=False, allow_null=True
    )
    discount_share = serializers.DecimalField(
        max_digits=6, decimal_places=5, min_value=0, max_value=1, required=False, allow_null=True
    )
    reason = serializers.CharField(required=False, allow_blank=True, max_length=300)
    replaces = OfShopField(queryset=Quote.objects.all(), required=False, allow_null=True)


class AcceptedSerializer(serializers.Serializer[object]):
    """The job that an accepted quote became."""

    job = serializers.IntegerField()
    number = serializers.CharField()


class QuoteFilter(django_filters.FilterSet):
    """By state, customer, vehicle, number, and whether still valid at a moment."""

    valid_at = django_filters.IsoDateTimeFilter("valid_until", "gt")

    class Meta:
        model = Quote
        fields = ("state", "customer", "vehicle", "number")


class QuoteViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ShopViewSet):
    """Quotes of the shop."""

    queryset = Quote.objects.all()
    serializer_class = QuoteSerializer
    filterset_class = QuoteFilter
    roles = DESK

    def get_queryset(self) -> QuerySet[Quote]:
        rows = super().get_queryset()
        # Fifty snapshots with the catalogue they were made from are megabytes.
        return rows.defer(*_SNAPSHOT) if self.action == "list" else rows

    def get_serializer_class(self) -> type[QuoteRowSerializer]:
        return QuoteRowSerializer if self.action == "list" else QuoteSerializer

    @extend_schema(request=QuoteStart, responses={201: QuoteSerializer})
    def create(self, request: Request) -> Response:
        """Make a quote."""
        given = QuoteStart(data=request.data, context=self.get_serializer_context())
        given.is_valid(raise_exception=True)
        asked = dict(given.validated_data)
        options = asked.pop("options", None)
        if options is None:
            options = OptionsSerializer().run_validation({})
        quote = quote_make(
            shop=self.shop,
            member=self.member,
            now=self.now,
            options=options_from(options),
            **asked,
        )
        return Response(self.get_serializer(quote).data, status=status.HTTP_201_CREATED)

    @extend_schema(request=None, responses=QuoteSerializer)
    @action(detail=True, methods=["post"])
    def send(self, request: Request, pk: str) -> Response:
        """Record that the quote was given to the customer."""
        quote = self.get_object()
        quote_send(quote=quote, member=self.member, now=self.now)
        return Response(self.get_serializer(self.get_object()).data)

    @extend_schema(request=None, responses=AcceptedSerializer)
    @action(detail=True, methods=["post"])
    def accept(self, request: Request, pk: str) -> Response:
        """Turn the quote into a job, not yet booked."""
        job = quote_accept(quote=self.get_object(), member=self.member, now=self.now)
        return Response({"job": job.pk, "number": job.number})

    @extend_schema(request=Why, responses=QuoteSerializer)
    @action(detail=True, methods=["post"])
    def decline(self, request: Request, pk: str) -> Response:
        """Record that the customer said no, and why."""
        quote = self.get_object()
        given = Why(data=request.data)
        given.is_valid(raise_exception=True)
        quote_decline(quote=quote, member=self.member, now=self.now, **given.validated_data)
        return Response(self.get_serializer(self.get_object()).data)
