"""The catalogue as it holds on a day; it is changed in the admin."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any, Final

from django.db.models import Model
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import NotFound, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import ViewSet

from shop import models
from shop.api.base import MemberView

TABLES: Final[dict[str, type[models.CatalogueRow]]] = {
    "bodies": models.BodyClass,
    "panel-kinds": models.PanelKind,
    "body-panels": models.BodyPanel,
    "wash-sizes": models.WashSize,
    "levels": models.CorrectionLevel,
    "passes": models.LevelPass,
    "hardnesses": models.PaintHardness,
    "defect-profiles": models.DefectProfile,
    "spot-methods": models.SpotMethod,
    "coating-systems": models.CoatingSystem,
    "coating-layers": models.CoatingLayer,
    "add-ons": models.AddOn,
    "stages": models.Stage,
    "usages": models.Usage,
    "technicians": models.TechnicianClass,
    "prior-grades": models.PriorGrade,
    "prior-ages": models.PriorAge,
    "prior-shares": models.PriorShare,
    "prior-questions": models.PriorQuestion,
    "prior-answers": models.PriorAnswer,
    "prior-defects": models.PriorDefect,
    "settings": models.CatalogueSetting,
}

# Not inside the view, where `list` is an action.
TABLE_NAMES: Final = list(TABLES)


class CatalogueTableSerializer(serializers.Serializer[Any]):
    """One table: its rows as they hold on a day."""

    table = serializers.CharField()
    day = serializers.DateField()
    rows = serializers.ListField(child=serializers.DictField())


class CatalogueNamesSerializer(serializers.Serializer[Any]):
    """Names of the tables."""

    tables = serializers.ListField(child=serializers.CharField())


class CatalogueView(MemberView, ViewSet):
    """Tables of the catalogue."""

    lookup_field = "table"
    lookup_value_regex = "[a-z-]+"

    @extend_schema(responses=CatalogueNamesSerializer)
    def list(self, request: Request) -> Response:
        """Names of the tables."""
        return Response({"tables": TABLE_NAMES})

    @extend_schema(
        parameters=[
            OpenApiParameter("table", str, OpenApiParameter.PATH, enum=TABLE_NAMES),
            OpenApiParameter("day", date, description="Today in the shop, if it is not given."),
        ],
        responses=CatalogueTableSerializer,
    )
    def retrieve(self, request: Request, table: str) -> Response:
        """Rows of one table that hold on a day, the newest for each key."""
        made = TABLES.get(table)
        if made is None:
            raise NotFound(f"No table {table}; there are {', '.join(TABLES)}.")
        day = self._day(request)
        newest = {
            tuple(getattr(row, name) for name in made.key): row
            for row in made.objects.of(self.shop).in_effect(day)
        }
        rows = [_row(row) for row in newest.values()]
        return Response({"table": table, "day": day, "rows": rows})

    def _day(self, request: Request) -> date:
        text = request.query_params.get("day")
        if not text:
            return self.now.astimezone(self.shop.tz).date()
        try:
            return date.fromisoformat(text)
        except ValueError as error:
            raise ValidationError({"day": [f"{text} is no day such as 2026-03-02."]}) from error


def _row(row: Model) -> dict[str, Any]:
    """Every figure of a row, without the keys that only the database needs."""
    names = (field.name for field in row._meta.fields if field.name not in ("id", "shop"))
    return {name: _exact(getattr(row, name)) for name in names}


def _exact(value: Any) -> Any:
    """Money as text, as everywhere in the interface: JSON's numbers would lose cents."""
    return str(value) if isinstance(value, Decimal) else value
