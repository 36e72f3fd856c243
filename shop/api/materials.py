"""What stands on the shelf, and what was taken for a job."""

from __future__ import annotations

from typing import Any

from rest_framework import mixins, serializers

from shop.api.base import OfShopField, ShopViewSet, Strict
from shop.models import Consumable, Job, MaterialUse, Operation
from shop.refusals import Problem, Refused
from shop.services.work import material_use


class ConsumableSerializer(serializers.ModelSerializer[Consumable]):
    """An item with its stock, counted in ``unit``."""

    class Meta:
        model = Consumable
        fields = (
            "id",
            "code",
            "name",
            "unit",
            "unit_cost",
            "purchase_size",
            "on_hand",
            "reorder_point",
            "lot_size",
            "lead_days",
            "active",
        )


class ConsumableViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ShopViewSet):
    """Consumables with their stock."""

    queryset = Consumable.objects.all()
    serializer_class = ConsumableSerializer
    filterset_fields = ("code", "active")


class MaterialUseSerializer(Strict, serializers.ModelSerializer[MaterialUse]):
    """Material taken for a job, at the unit cost of that moment."""

    job = OfShopField(queryset=Job.objects.all())
    operation = OfShopField(
        queryset=Operation.objects.all(), shop_path="job__shop", required=False, allow_null=True
    )
    consumable = OfShopField(queryset=Consumable.objects.all())

    class Meta:
        model = MaterialUse
        fields = (
            "id",
            "job",
            "operation",
            "consumable",
            "quantity",
            "unit_cost",
            "at",
            "member",
        )
        read_only_fields = ("unit_cost", "at", "member")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        operation = attrs.get("operation")
        if operation is not None and operation.job_id != attrs["job"].pk:
            raise Refused(Problem("This operation belongs to another job.", field="operation"))
        return attrs

    def create(self, validated_data: dict[str, Any]) -> MaterialUse:
        view = self.context["view"]
        return material_use(member=view.member, now=view.now, **validated_data)


class MaterialUseViewSet(
    mixins.ListModelMixin, mixins.RetrieveModelMixin, mixins.CreateModelMixin, ShopViewSet
):
    """Material taken for jobs; each lowers the stock."""

    queryset = MaterialUse.objects.all()
    serializer_class = MaterialUseSerializer
    shop_path = "job__shop"
    filterset_fields = ("job", "consumable")
