"""The visit there would be if one booking were moved: asked for, and booked with a consent."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from scheduling.api.jobs import JobSerializer
from scheduling.api.offers import OfferSerializer, QuoteOrJob
from scheduling.services.bookings_moved import booking_make_with_move, quote_book_with_move
from scheduling.services.offers_moved import offer_if_moved
from shop.access import DESK
from shop.api.base import MemberView


class IfMovedAsk(QuoteOrJob):
    """For a quote or for a job that is not booked yet, from ``earliest`` on."""

    earliest = serializers.DateTimeField(required=False)


class IfMovedBook(IfMovedAsk):
    """The question and the answer as they were given, and who agreed to the move, and how."""

    earliest = serializers.DateTimeField()
    asked_at = serializers.DateTimeField()
    key = serializers.CharField(max_length=200)
    consent = serializers.CharField(max_length=200)


class FoundIfMovedSerializer(serializers.Serializer[Any]):
    """Whose booking would move where to, and what that brings; times as for any offer."""

    job = serializers.IntegerField(source="job.pk")
    number = serializers.CharField(source="job.number")
    customer = serializers.CharField(source="job.customer.name")
    vehicle = serializers.CharField(source="job.vehicle.description")
    arrives_at = serializers.DateTimeField(source="job.arrives_at")
    promised_at = serializers.DateTimeField(source="job.promised_at", allow_null=True)
    moved = OfferSerializer()
    offer = OfferSerializer()
    plain_promised_at = serializers.DateTimeField()
    gain_hours = serializers.DecimalField(max_digits=8, decimal_places=1)
    promise_holds = serializers.BooleanField()
    key = serializers.CharField()


class IfMovedSerializer(serializers.Serializer[Any]):
    """``found`` is null where no single move helps; the rest is what to book it with."""

    found = FoundIfMovedSerializer(allow_null=True)
    earliest = serializers.DateTimeField()
    asked_at = serializers.DateTimeField()


class IfMovedView(MemberView):
    """What moving one booking would bring."""

    roles = DESK

    @extend_schema(operation_id="offer_if_moved", request=IfMovedAsk, responses=IfMovedSerializer)
    def post(self, request: Request) -> Response:
        """Find it; nothing is written, and nobody is told."""
        given = IfMovedAsk(data=request.data, context={"view": self})
        given.is_valid(raise_exception=True)
        now = self.now
        earliest = max(given.validated_data.get("earliest", now), now)
        found = offer_if_moved(
            shop=self.shop, operations=given.operations(), earliest=earliest, now=now
        )
        answer = {"found": found, "earliest": earliest, "asked_at": now}
        return Response(IfMovedSerializer(answer).data)


class IfMovedBookView(MemberView):
    """Move one booking, with its customer's consent, and make another."""

    roles = DESK

    @extend_schema(operation_id="offer_if_moved_book", request=IfMovedBook, responses=JobSerializer)
    def post(self, request: Request) -> Response:
        """Both in one transaction; 409 where anything has changed since it was asked."""
        given = IfMovedBook(data=request.data, context={"view": self})
        given.is_valid(raise_exception=True)
        asked = dict(given.validated_data)
        told: dict[str, Any] = {"member": self.member, "now": self.now}
        told |= {name: asked[name] for name in ("earliest", "asked_at", "key", "consent")}
        if "quote" in asked:
            job = quote_book_with_move(quote=asked["quote"], **told)
        else:
            job = booking_make_with_move(job=asked["job"], **told)
        return Response(JobSerializer(job).data)
