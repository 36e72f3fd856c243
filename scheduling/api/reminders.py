"""Messages to customers: what is due, sending one now, stopping one."""

from __future__ import annotations

import django_filters
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from scheduling.models import Reminder
from scheduling.services.reminders import reminder_send_now, reminder_stop
from shop.access import DESK
from shop.api.base import ShopViewSet, Why


class ReminderSerializer(serializers.ModelSerializer[Reminder]):
    """One message: its cause, when it is due, what became of it."""

    class Meta:
        model = Reminder
        exclude = ("shop", "key")


class ReminderFilter(django_filters.FilterSet):
    """By state, purpose, job, customer, and when due."""

    due_after = django_filters.IsoDateTimeFilter("due_at", "gte")
    due_before = django_filters.IsoDateTimeFilter("due_at", "lt")

    class Meta:
        model = Reminder
        fields = ("state", "purpose", "job", "customer")


class ReminderViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ShopViewSet):
    """Reminders of the shop; bookings, cures and hand-overs write them."""

    queryset = Reminder.objects.all()
    serializer_class = ReminderSerializer
    filterset_class = ReminderFilter
    roles = DESK

    @extend_schema(request=None, responses=ReminderSerializer)
    @action(detail=True, methods=["post"], url_path="send-now")
    def send_now(self, request: Request, pk: str) -> Response:
        """Send it now, whatever its due time."""
        reminder_send_now(reminder=self.get_object(), member=self.member, now=self.now)
        return Response(self.get_serializer(self.get_object()).data)

    @extend_schema(request=Why, responses=ReminderSerializer)
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, pk: str) -> Response:
        """Never send it, and say why."""
        reminder = self.get_object()
        given = Why(data=request.data)
        given.is_valid(raise_exception=True)
        reminder_stop(reminder=reminder, member=self.member, now=self.now, **given.validated_data)
        return Response(self.get_serializer(self.get_object()).data)
