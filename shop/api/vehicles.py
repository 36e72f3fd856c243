"""Vehicles."""

from __future__ import annotations

from typing import Any

from rest_framework import mixins, serializers

from shop.access import DESK, EVERYONE
from shop.api.base import OfShopField, ShopViewSet, Strict
from shop.models import Customer, Vehicle
from shop.services.vehicles import vehicle_add, vehicle_change


class VehicleSerializer(Strict, serializers.ModelSerializer[Vehicle]):
    """A vehicle; ``vin_reason`` lets a VIN stand whose check digit does not hold."""

    customer = OfShopField(queryset=Customer.objects.all())
    # With its spaces; the service takes them out and says how many letters are left.
    vin = serializers.CharField(max_length=40, required=False, allow_blank=True)

    class Meta:
        model = Vehicle
        fields = (
            "id",
            "customer",
            "description",
            "body",
            "colour",
            "plate",
            "vin",
            "vin_reason",
            "first_used_on",
            "tone",
            "hardness",
            "storage",
            "wash_habit",
            "previous_correction",
            "paint_notes",
            "created_at",
        )
        read_only_fields = ("created_at",)

    def create(self, validated_data: dict[str, Any]) -> Vehicle:
        return vehicle_add(**validated_data)

    def update(self, instance: Vehicle, validated_data: dict[str, Any]) -> Vehicle:
        return vehicle_change(vehicle=instance, **validated_data)


class VehicleViewSet(
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    mixins.CreateModelMixin,
    mixins.UpdateModelMixin,
    ShopViewSet,
):
    """Vehicles of the shop's customers."""

    queryset = Vehicle.objects.all()
    serializer_class = VehicleSerializer
    filterset_fields = ("customer", "body", "plate", "vin")
    http_method_names = ("get", "post", "patch", "head", "options")
    roles = DESK
    roles_for = {"list": EVERYONE, "retrieve": EVERYONE}
