"""A job's sheet as the interface shows it."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers


def _money() -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=14, decimal_places=None)


class ComparedSerializer(serializers.Serializer[Any]):
    """A figure as estimated and as it came out; variance is actual minus estimated."""

    estimated = _money()
    actual = _money()
    variance = _money()


class OperationHoursSerializer(serializers.Serializer[Any]):
    """Hours of people and of the bay for one operation."""

    sequence = serializers.IntegerField()
    name = serializers.CharField()
    kind = serializers.CharField()
    state = serializers.CharField()
    labour = ComparedSerializer()
    bay = ComparedSerializer()


class MaterialLineSerializer(serializers.Serializer[Any]):
    """Quantity and cost of one item."""

    code = serializers.CharField()
    name = serializers.CharField()
    unit = serializers.CharField()
    quantity = ComparedSerializer()
    cost = ComparedSerializer()


class JobCostingSerializer(serializers.Serializer[Any]):
    """Estimated against actual: hours, parts of the cost, profit, margin on price."""

    currency = serializers.CharField()
    operations = OperationHoursSerializer(many=True)
    material_lines = MaterialLineSerializer(many=True)
    hours = ComparedSerializer()
    bay_hours = ComparedSerializer()
    labour = ComparedSerializer()
    bay = ComparedSerializer()
    materials = ComparedSerializer()
    overhead = ComparedSerializer()
    card_fee = ComparedSerializer()
    overtime = ComparedSerializer()
    cost = ComparedSerializer()
    price = _money()
    profit = ComparedSerializer()
    margin_estimated = serializers.DecimalField(max_digits=12, decimal_places=4, allow_null=True)
    margin_actual = serializers.DecimalField(max_digits=12, decimal_places=4, allow_null=True)
    running = serializers.BooleanField()
