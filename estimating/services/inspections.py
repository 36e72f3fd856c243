"""Keeping what was read and found at a vehicle, exactly as it was entered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import F, Q
from django.utils.translation import gettext as _

from estimating.core.formats import INSPECTION_FORMAT, read_inspection
from estimating.film_history import kept_parts
from estimating.models import Defect, Gauge, Inspection, PanelFinding
from estimating.refusing import core_refusals
from shop.models import Member, Vehicle
from shop.refusals import Conflict, Problem, Refused

_KEYS = ("format", "unit", "panels")


@dataclass(frozen=True)
class Sent:
    """How a browser names a save whose answer may be lost on the way.

    The same ``token`` sent twice counts once. ``after`` are saves that were tried before
    and of which nothing was heard: where one of them arrived, this save follows it,
    whatever version it names.
    """

    token: str = ""
    after: tuple[str, ...] = ()


@transaction.atomic
def inspection_save(
    *,
    vehicle: Vehicle,
    member: Member,
    now: datetime,
    document: Mapping[str, Any],
    gauge: Gauge | None = None,
    inspection: Inspection | None = None,
    version: int | None = None,
    notes: str = "",
    finished: bool = False,
    sent: Sent | None = None,
) -> Inspection:
    """Keep an inspection; with ``inspection`` given, all of it is replaced.

    Parameters
    ----------
    document
        ``unit`` and ``panels`` as in ``halfmil-inspection/1``; readings in that unit.
        No panels is a beginning, unless it is called finished. Film of ``earlier``
        inspections is not kept: it is known from these inspections themselves.
    version
        The version that was on the screen when an existing inspection was changed.
    sent
        The name of this save, where its sender may have to send it twice.

    Raises
    ------
    Refused
        Something in the document is wrong; fields are JSON paths.
    Conflict
        Somebody saved the inspection since ``version`` was read.
    """
    _refuse_wrong(vehicle, member, document, gauge, inspection, finished)
    values = {"gauge": gauge, "unit": document["unit"], "notes": notes, "finished": finished}
    sent = sent or Sent()
    values["save_token"] = sent.token or None
    named = [name for name in (sent.token, *sent.after) if name]
    if inspection is None and named:
        earlier = Inspection.objects.filter(vehicle=vehicle, save_token__in=named)
        inspection = earlier.select_related("vehicle", "shop").first()
    if inspection is None:
        # Two at once with one token: the constraint lets one in, the other is sent again.
        inspection = Inspection.objects.create(
            shop=vehicle.shop, vehicle=vehicle, member=member, taken_at=now, **values
        )
    elif sent.token and inspection.save_token == sent.token:
        return inspection
    else:
        _claim(inspection, version, sent.after, values)
        inspection.panels.all().delete()
    _write_panels(inspection, document["panels"])
    return inspection


def _claim(
    inspection: Inspection, version: int | None, after: Sequence[str], values: dict[str, Any]
) -> None:
    """Write the head of an inspection if nobody else has since ``version`` or ``after``.

    Race: two people save the same sheet. The update names the version it was read
    in and counts its rows, so the second is told instead of overwriting.
    """
    own = Q(version=version or 0) | Q(save_token__in=list(after))
    row = Inspection.objects.filter(own, pk=inspection.pk)
    if row.update(version=F("version") + 1, **values) != 1:
        raise Conflict(
            Problem(
                _("Somebody else saved this inspection meanwhile; load it again."),
                field="version",
            )
        )
    inspection.refresh_from_db()


def _refuse_wrong(
    vehicle: Vehicle,
    member: Member,
    document: Mapping[str, Any],
    gauge: Gauge | None,
    inspection: Inspection | None,
    finished: bool,
) -> None:
    for field, row in (("member", member), ("gauge", gauge), ("inspection", inspection)):
        if row is not None and row.shop_id != vehicle.shop_id:
            raise Refused(Problem(_("This belongs to another shop."), field=field))
    if inspection is not None and inspection.vehicle_id != vehicle.pk:
        raise Refused(Problem(_("This inspection is of another vehicle."), field="inspection"))
    foreign = [key for key in document if key not in _KEYS]
    if foreign:
        message = _("%(value)r: give only %(keys)s; the rest stands on the vehicle and the shop.")
        raise Refused(
            *(
                Problem(
                    message % {"value": document[key], "keys": ", ".join(_KEYS)},
                    field=f"$.{key}",
                )
                for key in foreign
            )
        )
    with core_refusals():
        # Age and goal matter to an estimate, not to what was found.
        read = read_inspection(
            {
                "format": INSPECTION_FORMAT,
                "vehicle": {"body": vehicle.body, "age_months": 0},
                "goal": {"safest_best": True},
                **document,
            }
        )
    if finished and not read.panels:
        raise Refused(
            Problem(_("[]: a finished inspection has at least one panel"), field="$.panels")
        )


def _write_panels(inspection: Inspection, panels: list[Mapping[str, Any]]) -> None:
    findings = PanelFinding.objects.bulk_create(
        PanelFinding(
            inspection=inspection,
            panel=panel["panel"],
            sequence=sequence,
            substrate=panel["substrate"],
            spots=panel["spots"],
            **kept_parts(panel),
        )
        for sequence, panel in enumerate(panels)
    )
    Defect.objects.bulk_create(
        Defect(
            finding=finding,
            kind=defect["kind"],
            severity=defect.get("severity", ""),
            extent=defect.get("extent"),
            count=defect.get("count"),
            local_reading=defect.get("local_reading"),
        )
        for finding, panel in zip(findings, panels, strict=True)
        for defect in panel.get("defects", [])
    )
