"""Resources, what they are kept for, and the climate of bays."""

from __future__ import annotations

from typing import Any

import django_filters
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from scheduling.models import ClimateReading, Hold, Resource
from scheduling.services.floor import climate_log
from shop.api.base import OfShopField, ShopViewSet, Strict


class ResourceSerializer(serializers.ModelSerializer[Resource]):
    """One bay, technician, lamp or parking spot."""

    class Meta:
        model = Resource
        fields = (
            "id",
            "kind",
            "code",
            "name",
            "capabilities",
            "skills",
            "member",
            "position",
            "active",
        )


class ResourceViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ShopViewSet):
    """Resources of the shop; they are changed in the admin."""

    queryset = Resource.objects.all()
    serializer_class = ResourceSerializer
    filterset_fields = ("kind", "active")


class HoldSerializer(serializers.ModelSerializer[Hold]):
    """A resource kept over ``[start, end)``: for a job, or for a caller's kept slot."""

    class Meta:
        model = Hold
        fields = ("id", "resource", "job", "kept", "operation", "purpose", "start", "end")


class HoldFilter(django_filters.FilterSet):
    """``from`` and ``until`` find holds that touch ``[from, until)``."""

    until = django_filters.IsoDateTimeFilter("start", "lt")

    class Meta:
        model = Hold
        fields = ("resource", "job", "operation", "purpose")


# `from` is a word of Python, so it cannot be written as an attribute.
HoldFilter.base_filters["from"] = django_filters.IsoDateTimeFilter("end", "gt")


class HoldViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ShopViewSet):
    """Holds; booking, moving and cancelling write them."""

    queryset = Hold.objects.all()
    serializer_class = HoldSerializer
    filterset_class = HoldFilter


class ClimateReadingSerializer(Strict, serializers.ModelSerializer[ClimateReading]):
    """Air (°C and percent) and surface (°C) of a bay at one moment; now if none is given."""

    resource = OfShopField(queryset=Resource.objects.all())
    at = serializers.DateTimeField(required=False)

    class Meta:
        model = ClimateReading
        fields = ("id", "resource", "at", "air_c", "humidity_percent", "surface_c")
        # One reading a moment is the service's to say.
        validators: tuple[Any, ...] = ()


class ClimateLoggedSerializer(serializers.Serializer[Any]):
    """A reading that was kept, and why coating in it would be wrong, if it would."""

    reading = ClimateReadingSerializer()
    warnings = serializers.ListField(child=serializers.CharField())


class ClimateFilter(django_filters.FilterSet):
    """By bay and time."""

    after = django_filters.IsoDateTimeFilter("at", "gte")
    before = django_filters.IsoDateTimeFilter("at", "lt")

    class Meta:
        model = ClimateReading
        fields = ("resource",)


class ClimateViewSet(mixins.ListModelMixin, ShopViewSet):
    """The climate log."""

    queryset = ClimateReading.objects.all()
    serializer_class = ClimateReadingSerializer
    filterset_class = ClimateFilter

    @extend_schema(responses={201: ClimateLoggedSerializer})
    def create(self, request: Request) -> Response:
        """Log a reading; cures in that bay follow it."""
        given = self.get_serializer(data=request.data)
        given.is_valid(raise_exception=True)
        logged = climate_log(**({"at": self.now} | given.validated_data))
        answer = ClimateLoggedSerializer(logged).data
        return Response(answer, status=status.HTTP_201_CREATED)
