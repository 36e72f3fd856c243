"""Jobs: what they are, and what happens to them from booking to closing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import django_filters
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from estimating.models import Quote
from scheduling.api.costing import JobCostingSerializer
from scheduling.api.offers import BookAsk, offer_at, slot_taken
from scheduling.services.bookings import (
    SlotTaken,
    booking_cancel,
    booking_make,
    booking_move,
    quote_book,
)
from scheduling.services.floor import job_check_in, job_close, job_hand_over, job_no_show
from scheduling.services.offers import operations_of_quote
from shop.access import DESK, EVERYONE
from shop.api.base import ShopViewSet, Strict, Why
from shop.models import Job, JobEvent, Operation
from shop.refusals import Problem, Refused
from shop.selectors import job_costing


class OperationSerializer(serializers.ModelSerializer[Operation]):
    """One piece of work; minutes of work, or of elapsed time where unattended."""

    class Meta:
        model = Operation
        exclude = ("job",)


class JobEventSerializer(serializers.ModelSerializer[JobEvent]):
    """Something that happened, by whom and when."""

    class Meta:
        model = JobEvent
        fields = ("kind", "from_state", "to_state", "at", "member", "why", "details")


class JobRowSerializer(serializers.ModelSerializer[Job]):
    """A job without money, which technicians see too; that is in its costing."""

    class Meta:
        model = Job
        fields: tuple[str, ...] = (
            "id",
            "number",
            "customer",
            "vehicle",
            "state",
            "title",
            "arrives_at",
            "ready_at",
            "promised_at",
            "promise_probability",
            "arrived_at",
            "handed_over_at",
            "created_at",
        )


class JobSerializer(JobRowSerializer):
    """A job with its operations and its story."""

    operations = OperationSerializer(many=True)
    events = JobEventSerializer(many=True)

    class Meta(JobRowSerializer.Meta):
        fields = (*JobRowSerializer.Meta.fields, "operations", "events")


class MoveAsk(Strict):
    """The earliest new arrival, or just the one that was offered; and why."""

    earliest = serializers.DateTimeField(required=False)
    arrives_at = serializers.DateTimeField(required=False)
    why = serializers.CharField(required=False, allow_blank=True, max_length=300)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if ("earliest" in attrs) == ("arrives_at" in attrs):
            raise Refused(Problem("Give earliest or arrives_at, one of the two.", field="earliest"))
        return attrs


class HandOverAsk(Strict):
    """``reason`` lets an owner give a vehicle back before the cure allows it."""

    reason = serializers.CharField(required=False, allow_blank=True, max_length=300)


class JobFilter(django_filters.FilterSet):
    """By state (several allowed), vehicle, customer, number, and arrival."""

    state = django_filters.MultipleChoiceFilter(choices=Job._meta.get_field("state").choices)
    arrives_after = django_filters.IsoDateTimeFilter("arrives_at", "gte")
    arrives_before = django_filters.IsoDateTimeFilter("arrives_at", "lt")

    class Meta:
        model = Job
        fields = ("vehicle", "customer", "number")


class JobViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ShopViewSet):
    """Jobs of the shop."""

    queryset = Job.objects.select_related("shop", "customer", "vehicle")
    serializer_class = JobSerializer
    filterset_class = JobFilter
    roles = DESK
    roles_for = {
        "list": EVERYONE,
        "retrieve": EVERYONE,
        "check_in": EVERYONE,
        "hand_over": EVERYONE,
    }

    def get_queryset(self) -> Any:
        rows = super().get_queryset()
        return rows if self.action == "list" else rows.prefetch_related("operations", "events")

    def get_serializer_class(self) -> type[JobRowSerializer]:
        return JobRowSerializer if self.action == "list" else JobSerializer

    @extend_schema(request=BookAsk, responses=JobSerializer)
    @action(detail=True, methods=["post"])
    def book(self, request: Request, pk: str) -> Response:
        """Keep bays, crew and lamps for a quoted job; 409 with offers if somebody was first."""
        job = self.get_object()
        asked = _asked(BookAsk, request, self)
        try:
            return self._done(booking_make, job, **_visit(self, list(job.operations.all()), asked))
        except SlotTaken as error:
            return slot_taken(error)

    @extend_schema(request=MoveAsk, responses=JobSerializer)
    @action(detail=True, methods=["post"])
    def move(self, request: Request, pk: str) -> Response:
        """Move a booked job to the earliest visit from a moment on."""
        job = self.get_object()
        asked = _asked(MoveAsk, request, self)
        try:
            at = asked.pop("arrives_at", None)
            if at is not None:
                rows = list(job.operations.all())
                asked["offer"] = offer_at(
                    self.shop, rows, at, self.now, overtime=False, ignoring=job
                )
            return self._done(booking_move, job, **asked)
        except SlotTaken as error:
            return slot_taken(error)

    @extend_schema(request=Why, responses=JobSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Cancel a job before work has begun."""
        return self._done(booking_cancel, self.get_object(), **_asked(Why, request, self))

    @extend_schema(request=None, responses=JobSerializer)
    @action(detail=True, methods=["post"], url_path="no-show")
    def no_show(self, request: Request, pk: str) -> Response:
        """Record that a booked vehicle did not come."""
        return self._done(job_no_show, self.get_object())

    @extend_schema(request=None, responses=JobSerializer)
    @action(detail=True, methods=["post"], url_path="check-in")
    def check_in(self, request: Request, pk: str) -> Response:
        """Take in the vehicle."""
        return self._done(job_check_in, self.get_object())

    @extend_schema(request=HandOverAsk, responses=JobSerializer)
    @action(detail=True, methods=["post"], url_path="hand-over")
    def hand_over(self, request: Request, pk: str) -> Response:
        """Give the vehicle back."""
        return self._done(job_hand_over, self.get_object(), **_asked(HandOverAsk, request, self))

    @extend_schema(request=None, responses=JobSerializer)
    @action(detail=True, methods=["post"])
    def close(self, request: Request, pk: str) -> Response:
        """Close a job whose vehicle was handed over."""
        return self._done(job_close, self.get_object())

    @extend_schema(responses=JobCostingSerializer)
    @action(detail=True)
    def costing(self, request: Request, pk: str) -> Response:
        """Estimated against actual, up to now."""
        sheet = job_costing(self.get_object(), self.now)
        return Response(JobCostingSerializer(sheet).data)

    def _done(self, service: Callable[..., Any], job: Job, **asked: Any) -> Response:
        """Call a service and answer with the job as it is then."""
        service(job=job, member=self.member, now=self.now, **asked)
        return Response(self.get_serializer(self.get_object()).data)


class QuoteBookingViewSet(ShopViewSet):
    """Accepting a quote and booking its job in one step."""

    queryset = Quote.objects.all()
    serializer_class = JobSerializer
    roles = DESK

    @extend_schema(request=BookAsk, responses=JobSerializer)
    @action(detail=True, methods=["post"])
    def book(self, request: Request, pk: str) -> Response:
        """Accept and book: both happen or neither; 409 with offers if somebody was first."""
        quote = self.get_object()
        asked = _asked(BookAsk, request, self)
        try:
            asked = _visit(self, operations_of_quote(quote), asked)
            job = quote_book(quote=quote, member=self.member, now=self.now, **asked)
        except SlotTaken as error:
            return slot_taken(error)
        return Response(JobSerializer(job).data)


def _visit(view: ShopViewSet, rows: list[Operation], asked: dict[str, Any]) -> dict[str, Any]:
    """What a booking service is told: the offer that was named, or from when on to look."""
    overtime, at = asked.pop("overtime"), asked.pop("arrives_at", None)
    if at is not None:
        kept = asked.get("kept")
        asked["offer"] = offer_at(view.shop, rows, at, view.now, overtime=overtime, ignoring=kept)
    return asked


def _asked(form: type[Strict], request: Request, view: ShopViewSet) -> dict[str, Any]:
    given = form(data=request.data, context={"view": view})
    given.is_valid(raise_exception=True)
    asked: dict[str, Any] = given.validated_data
    return asked
