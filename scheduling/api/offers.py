"""When a vehicle could come: offers, which hold nothing until one is booked."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from estimating.models import Quote
from scheduling.models import KeptSlot
from scheduling.services.holder import Holder
from scheduling.services.holds import busy_at, taken_text
from scheduling.services.offers import Offer, offers_find, operations_of_quote
from scheduling.services.settle import SlotTaken
from shop.access import DESK
from shop.api.base import MemberView, OfShopField, Strict
from shop.models import Job, Operation, Shop
from shop.refusals import Problem, Refused


class StepSerializer(serializers.Serializer[Any]):
    """When, where and by whom one operation is done."""

    sequence = serializers.IntegerField()
    start = serializers.DateTimeField()
    end = serializers.DateTimeField()
    bay = serializers.CharField()
    crew = serializers.ListField(child=serializers.CharField())


class OvertimeSerializer(serializers.Serializer[Any]):
    """Somebody's minutes outside their shifts, and what they cost on top of labour."""

    name = serializers.CharField()
    minutes = serializers.IntegerField()
    pay = serializers.DecimalField(max_digits=12, decimal_places=3)


class OfferSerializer(serializers.Serializer[Any]):
    """One visit that could be booked as it stands."""

    arrives_at = serializers.DateTimeField()
    ready_at = serializers.DateTimeField()
    pick_up_at = serializers.DateTimeField()
    promised_at = serializers.DateTimeField()
    promise_probability = serializers.DecimalField(max_digits=6, decimal_places=5, allow_null=True)
    steps = StepSerializer(many=True)
    notes = serializers.ListField(child=serializers.CharField())
    overtime = OvertimeSerializer(many=True)
    overtime_pay = serializers.DecimalField(max_digits=12, decimal_places=3)


class OffersSerializer(serializers.Serializer[Any]):
    """Offers, the earliest pick-up first; ``reasons`` say why there are no more.

    ``overtime`` is an earlier visit at an extra cost, or null; it is booked only on demand.
    """

    found = OfferSerializer(many=True)
    reasons = serializers.ListField(child=serializers.CharField())
    overtime = OfferSerializer(allow_null=True)


class QuoteOrJob(Strict):
    """For a quote or for a job that is not booked yet: one of the two."""

    quote = OfShopField(queryset=Quote.objects.all(), required=False)
    job = OfShopField(queryset=Job.objects.all(), required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if ("quote" in attrs) == ("job" in attrs):
            raise Refused(Problem("Give a quote or a job, one of the two.", field="quote"))
        return attrs

    def operations(self) -> list[Operation]:
        """The work that is asked about, in order; once the question is known to be valid."""
        if "quote" in self.validated_data:
            return list(operations_of_quote(self.validated_data["quote"]))
        return list(self.validated_data["job"].operations.order_by("sequence"))


class OffersAsk(QuoteOrJob):
    """Which visits to look for, from ``earliest`` on."""

    earliest = serializers.DateTimeField(required=False)
    count = serializers.IntegerField(min_value=1, max_value=10, default=3)


class OffersView(MemberView):
    """The earliest visits."""

    roles = DESK

    @extend_schema(operation_id="offers", request=OffersAsk, responses=OffersSerializer)
    def post(self, request: Request) -> Response:
        """Find the earliest visits with nothing else moved."""
        given = OffersAsk(data=request.data, context={"view": self})
        given.is_valid(raise_exception=True)
        asked = given.validated_data
        offers = offers_find(
            shop=self.shop,
            operations=given.operations(),
            earliest=asked.get("earliest", self.now),
            now=self.now,
            count=asked["count"],
            ignoring=asked.get("job"),
            with_overtime=True,
        )
        return Response(OffersSerializer(offers).data)


class BookAsk(Strict):
    """Which visit to book: the offer that began at ``arrives_at``, or the earliest.

    ``kept`` is a visit kept for the caller: that one is booked where no other is named.
    ``arrives_at`` holds a caller to what was offered: if that start is gone, nothing
    is booked. ``earliest`` takes whatever comes first from then on. With ``overtime`` it is
    the visit for which people stay longer, which costs its ``overtime_pay``.
    """

    arrives_at = serializers.DateTimeField(required=False)
    earliest = serializers.DateTimeField(required=False)
    overtime = serializers.BooleanField(default=False)
    kept = OfShopField(queryset=KeptSlot.objects.all(), required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if "arrives_at" in attrs and "earliest" in attrs:
            raise Refused(Problem("Give arrives_at or earliest, not both.", field="earliest"))
        if attrs["overtime"] and "arrives_at" not in attrs:
            raise Refused(Problem("Overtime is booked by its arrives_at; give it.", "overtime"))
        return attrs


class TakenSerializer(serializers.Serializer[Any]):
    """Who has a resource that is wanted: a job, or another caller until ``kept_until``."""

    resource = serializers.CharField()
    job = serializers.CharField(allow_blank=True)
    kept_until = serializers.DateTimeField(allow_null=True)
    start = serializers.DateTimeField()
    end = serializers.DateTimeField()


def offer_at(
    shop: Shop,
    operations: Sequence[Operation],
    at: datetime,
    now: datetime,
    *,
    overtime: bool,
    ignoring: Holder | None = None,
) -> Offer:
    """The offer that begins at ``at``; only with ``overtime`` one that costs more.

    Raises
    ------
    SlotTaken
        There is none (any more), with those that are free instead.
    """
    offers = offers_find(
        shop=shop,
        operations=operations,
        earliest=at,
        now=now,
        ignoring=ignoring,
        with_overtime=overtime,
    )
    wanted = [offers.overtime] if overtime and offers.overtime else []
    for offer in wanted if overtime else offers.found:
        if offer.arrives_at == at:
            return offer
    taken = busy_at(shop, operations, at, ignoring)
    said = [Problem(text, field="arrives_at") for text in taken_text(taken, shop)]
    problem = Problem("This start is not free.", field="arrives_at")
    raise SlotTaken([problem, *said], offers.found, taken)


def slot_taken(error: SlotTaken) -> Response:
    """409 with who has what, and what is free instead."""
    instead = OfferSerializer(error.offers, many=True).data
    taken = TakenSerializer(error.taken, many=True).data
    answer = {"errors": error.by_field(), "taken": taken, "offers": instead}
    return Response(answer, status=status.HTTP_409_CONFLICT)
