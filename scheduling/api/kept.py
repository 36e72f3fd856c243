"""Visits kept for callers: keep, look at, let go."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from scheduling.api.offers import QuoteOrJob, offer_at, slot_taken
from scheduling.models import KeptSlot
from scheduling.services.kept import slot_keep, slot_release
from scheduling.services.settle import SlotTaken
from shop.access import DESK
from shop.api.base import OfShopField, ShopViewSet


class KeptSlotSerializer(serializers.ModelSerializer[KeptSlot]):
    """A visit that is kept until ``kept_until``; its holds are among the holds."""

    class Meta:
        model = KeptSlot
        fields = ("id", "quote", "said", "member", "arrives_at", "kept_at", "kept_until")


class KeepAsk(QuoteOrJob):
    """Which offer to keep, of a quote or of a quoted job; ``instead`` is let go for it."""

    arrives_at = serializers.DateTimeField()
    overtime = serializers.BooleanField(default=False)
    said = serializers.CharField(required=False, allow_blank=True, max_length=120)
    instead = OfShopField(queryset=KeptSlot.objects.all(), required=False)


class KeptSlotViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ShopViewSet):
    """Visits kept just now; those whose time has passed are not shown."""

    queryset = KeptSlot.objects.all()
    serializer_class = KeptSlotSerializer
    roles = DESK

    def get_queryset(self) -> Any:
        return super().get_queryset().filter(kept_until__gt=self.now)

    @extend_schema(request=KeepAsk, responses={201: KeptSlotSerializer})
    def create(self, request: Request) -> Response:
        """Keep a visit for some minutes; 409 with who has it and what is free instead."""
        given = KeepAsk(data=request.data, context={"view": self})
        given.is_valid(raise_exception=True)
        asked = given.validated_data
        job, quote = asked.get("job"), asked.get("quote")
        rows = given.operations()
        try:
            at, overtime = asked["arrives_at"], asked["overtime"]
            slot = slot_keep(
                shop=self.shop,
                member=self.member,
                operations=rows,
                offer=offer_at(self.shop, rows, at, self.now, overtime=overtime),
                now=self.now,
                said=asked.get("said", "") or (job.number if job else ""),
                quote=quote,
                instead=asked.get("instead"),
            )
        except SlotTaken as error:
            return slot_taken(error)
        return Response(KeptSlotSerializer(slot).data, status=status.HTTP_201_CREATED)

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, pk: str) -> Response:
        """Let a visit go."""
        slot_release(slot=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)
