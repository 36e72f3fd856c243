"""Inspections: kept as read, in the form of ``halfmil-inspection/1``."""

from __future__ import annotations

from typing import Any

import django_filters
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from estimating.models import Gauge, GaugeCalibration, Inspection
from estimating.selectors import inspection_document
from estimating.services.gauges import MOST_SHIMS, gauge_calibrate
from estimating.services.inspections import inspection_save
from shop.api.base import OfShopField, ShopViewSet, Strict
from shop.models import FilmUnit, Vehicle


class GaugeSerializer(serializers.ModelSerializer[Gauge]):
    """A gauge and its stated error, in micrometres and as a share of the reading."""

    class Meta:
        model = Gauge
        fields = ("id", "name", "repeatability_um", "accuracy_um", "accuracy_share", "active")


class CalibrationSerializer(serializers.ModelSerializer[GaugeCalibration]):
    """A check on shims: pairs of true and read thickness in micrometres, and whether all held."""

    class Meta:
        model = GaugeCalibration
        fields = ("id", "gauge", "at", "member", "shims_um", "passed")


class CalibrationStart(Strict):
    """Shims as pairs of true and read thickness, in ``unit``."""

    unit = serializers.ChoiceField(choices=FilmUnit.choices, default=FilmUnit.UM)
    shims = serializers.ListField(
        child=serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2),
        min_length=1,
        max_length=MOST_SHIMS,
    )


class GaugeViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ShopViewSet):
    """Gauges of the shop; they are changed in the admin, and checked on shims here."""

    queryset = Gauge.objects.all()
    serializer_class = GaugeSerializer
    filterset_fields = ("active",)

    @extend_schema(request=CalibrationStart, responses={201: CalibrationSerializer})
    @action(detail=True, methods=["post"])
    def calibrate(self, request: Request, pk: str) -> Response:
        """Keep what the gauge read on shims of known thickness."""
        gauge = self.get_object()
        given = CalibrationStart(data=request.data, context=self.get_serializer_context())
        given.is_valid(raise_exception=True)
        kept = gauge_calibrate(
            gauge=gauge, member=self.member, now=self.now, **given.validated_data
        )
        return Response(CalibrationSerializer(kept).data, status=status.HTTP_201_CREATED)


class InspectionRowSerializer(serializers.ModelSerializer[Inspection]):
    """An inspection without its panels."""

    class Meta:
        model = Inspection
        fields = (
            "id",
            "vehicle",
            "gauge",
            "unit",
            "taken_at",
            "member",
            "notes",
            "version",
            "finished",
        )


class InspectionSerializer(InspectionRowSerializer):
    """An inspection with its document."""

    document = serializers.SerializerMethodField()

    class Meta(InspectionRowSerializer.Meta):
        fields = (*InspectionRowSerializer.Meta.fields, "document")  # type: ignore[assignment]

    @extend_schema_field(OpenApiTypes.OBJECT)
    def get_document(self, row: Inspection) -> dict[str, Any]:
        return inspection_document(row)


class InspectionChange(Strict):
    """``document`` holds ``unit`` and ``panels``; a save replaces all of them.

    ``version`` is the one that was read: if somebody saved since, it is refused.
    """

    gauge = OfShopField(queryset=Gauge.objects.all(), required=False, allow_null=True)
    notes = serializers.CharField(required=False, allow_blank=True, max_length=10_000)
    finished = serializers.BooleanField(required=False)
    document = serializers.DictField()
    version = serializers.IntegerField(min_value=1)


class InspectionStart(InspectionChange):
    """A new inspection of one vehicle."""

    vehicle = OfShopField(queryset=Vehicle.objects.all())
    version = None  # type: ignore[assignment]


class InspectionFilter(django_filters.FilterSet):
    """By vehicle, whether finished, and when taken."""

    taken_after = django_filters.IsoDateTimeFilter("taken_at", "gte")
    taken_before = django_filters.IsoDateTimeFilter("taken_at", "lt")

    class Meta:
        model = Inspection
        fields = ("vehicle", "finished")


class InspectionViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ShopViewSet):
    """Inspections of the shop's vehicles."""

    queryset = Inspection.objects.select_related("vehicle", "gauge", "shop")
    serializer_class = InspectionSerializer
    filterset_class = InspectionFilter
    http_method_names = ("get", "post", "patch", "head", "options")

    def get_serializer_class(self) -> type[InspectionRowSerializer]:
        # The panels of fifty inspections are three queries each.
        return InspectionRowSerializer if self.action == "list" else InspectionSerializer

    @extend_schema(request=InspectionStart, responses={201: InspectionSerializer})
    def create(self, request: Request) -> Response:
        """Begin an inspection."""
        given = InspectionStart(data=request.data, context=self.get_serializer_context())
        given.is_valid(raise_exception=True)
        saved = inspection_save(member=self.member, now=self.now, **given.validated_data)
        return Response(self.get_serializer(saved).data, status=status.HTTP_201_CREATED)

    @extend_schema(request=InspectionChange, responses=InspectionSerializer)
    def partial_update(self, request: Request, pk: str) -> Response:
        """Save an inspection again: the panels are replaced, the rest stays if not given."""
        row = self.get_object()
        given = InspectionChange(data=request.data, context=self.get_serializer_context())
        given.is_valid(raise_exception=True)
        kept = {"gauge": row.gauge, "notes": row.notes, "finished": row.finished}
        saved = inspection_save(
            vehicle=row.vehicle,
            member=self.member,
            now=self.now,
            inspection=row,
            **(kept | given.validated_data),
        )
        return Response(self.get_serializer(saved).data)
