"""The floor: start, pause and finish operations."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from scheduling.api.jobs import OperationSerializer
from scheduling.services.floor import work_finish, work_pause, work_start
from shop.api.base import ShopViewSet
from shop.models import Operation


class OperationViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ShopViewSet):
    """Operations of the shop's jobs; whoever asks is who works."""

    queryset = Operation.objects.select_related("job")
    serializer_class = OperationSerializer
    shop_path = "job__shop"
    filterset_fields = ("job", "state", "kind")

    @extend_schema(request=None, responses=OperationSerializer)
    @action(detail=True, methods=["post"])
    def start(self, request: Request, pk: str) -> Response:
        """Start, resume or join the work."""
        return self._done(work_start)

    @extend_schema(request=None, responses=OperationSerializer)
    @action(detail=True, methods=["post"])
    def pause(self, request: Request, pk: str) -> Response:
        """Let the work stand still."""
        return self._done(work_pause)

    @extend_schema(request=None, responses=OperationSerializer)
    @action(detail=True, methods=["post"])
    def finish(self, request: Request, pk: str) -> Response:
        """Finish the work."""
        return self._done(work_finish)

    def _done(self, service: Callable[..., Any]) -> Response:
        done = service(operation=self.get_object(), member=self.member, now=self.now)
        return Response(self.get_serializer(done).data)
