"""A document in, an estimate out; nothing is kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from estimating.api.options import OptionsSerializer, options_from
from estimating.core.formats import write_estimate
from estimating.selectors import local_day
from estimating.services.estimates import estimate_make
from shop.access import DESK
from shop.api.base import MemberView


class EstimateView(MemberView):
    """Estimates with the shop's catalogue and rates of today."""

    # Cost and margin are in the answer.
    roles = DESK

    @extend_schema(
        operation_id="estimate",
        request=OpenApiTypes.OBJECT,
        responses=OpenApiTypes.OBJECT,
        parameters=[
            OpenApiParameter("wash", str, description="A wash size, `standard`, or empty: none."),
            OpenApiParameter("coating", str, description="A coating system."),
            OpenApiParameter("add_ons", str, many=True, description="One for each add-on."),
            OpenApiParameter("technician", str, description="A class of technician."),
        ],
    )
    def post(self, request: Request) -> Response:
        """Answer a `halfmil-inspection/1` document with a `halfmil-estimate/1`."""
        given = OptionsSerializer(data=_options(request))
        given.is_valid(raise_exception=True)
        found = estimate_make(
            shop=self.shop,
            # Anything else than an object is refused there, by its path.
            document=cast("Mapping[str, Any]", request.data),
            options=options_from(given.validated_data),
            day=local_day(self.shop, self.now),
        )
        return Response(write_estimate(found))


def _options(request: Request) -> dict[str, object]:
    """Options from the query: the body is the document and nothing else."""
    query = request.query_params
    options: dict[str, object] = {name: query[name] or None for name in query}
    if "add_ons" in query:
        options["add_ons"] = query.getlist("add_ons")
    return options
