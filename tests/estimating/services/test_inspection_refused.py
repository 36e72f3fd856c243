"""Every kind of wrong finding is refused with its path, and nothing is written."""

from typing import Any

import pytest

from estimating.models import Inspection
from estimating.services.inspections import inspection_save
from shop.models import Member, Vehicle
from shop.refusals import Refused
from tests.factories import NOW, GaugeFactory, InspectionFactory, MemberFactory, fender


def with_defect(**defect: Any) -> dict[str, Any]:
    return {"unit": "mil", "panels": [fender(defects=[defect])]}


def with_spots(*spots: Any) -> dict[str, Any]:
    return {"unit": "mil", "panels": [fender(spots=list(spots))]}


NAN = float("nan")
DEFECT = "$.panels[0].defects[0]"
WRONG = {
    "unit that does not exist": ({"unit": "inch", "panels": []}, "$.unit"),
    "no unit": ({"panels": []}, "$.unit"),
    "no panels": ({"unit": "mil"}, "$.panels"),
    "panels that are no list": ({"unit": "mil", "panels": {}}, "$.panels"),
    "key that belongs elsewhere": ({"unit": "mil", "panels": [], "policy": {}}, "$.policy"),
    "other format": ({"format": "x/1", "unit": "mil", "panels": []}, "$.format"),
    "panel that does not exist": (
        {"unit": "mil", "panels": [fender(panel="wing")]},
        "$.panels[0].panel",
    ),
    "panel twice": ({"unit": "mil", "panels": [fender(), fender()]}, "$.panels[1].panel"),
    "unknown key": ({"unit": "mil", "panels": [fender(paint=1)]}, "$.panels[0].paint"),
    "substrate": ({"unit": "mil", "panels": [fender(substrate="wood")]}, "$.panels[0].substrate"),
    "steel without readings": (with_spots(), "$.panels[0].spots"),
    "two readings": (with_spots([4.3, 4.3]), "$.panels[0].spots[0]"),
    "reading of nothing": (with_spots([0, 4.3, 4.3]), "$.panels[0].spots[0][0]"),
    "reading below nothing": (with_spots([4.3, -4.3, 4.3]), "$.panels[0].spots[0][1]"),
    "reading beyond any gauge": (with_spots([4.3, 4.3, 99]), "$.panels[0].spots[0][2]"),
    "reading that is no number": (with_spots([4.3, 4.3, NAN]), "$.panels[0].spots[0][2]"),
    "reading that is a word": (with_spots([4.3, "4.3", 4.3]), "$.panels[0].spots[0][1]"),
    "kind": (with_defect(kind="dents", severity="light", extent=0.1), f"{DEFECT}.kind"),
    "severity": (with_defect(kind="scuffs", severity="bad", extent=0.1), f"{DEFECT}.severity"),
    "extent over one": (
        with_defect(kind="scuffs", severity="light", extent=1.01),
        f"{DEFECT}.extent",
    ),
    "extent below nothing": (
        with_defect(kind="scuffs", severity="light", extent=-0.1),
        f"{DEFECT}.extent",
    ),
    "counted by extent": (with_defect(kind="etching", extent=0.2), f"{DEFECT}.extent"),
    "count of none": (with_defect(kind="etching", count=0), f"{DEFECT}.count"),
    "scratch above its panel": (
        with_defect(kind="deep_scratch", count=1, local_reading=4.9),
        f"{DEFECT}.local_reading",
    ),
}


@pytest.mark.parametrize(("document", "path"), WRONG.values(), ids=WRONG)
def test_wrong_findings(
    vehicle: Vehicle, owner: Member, document: dict[str, Any], path: str
) -> None:
    with pytest.raises(Refused) as refused:
        inspection_save(vehicle=vehicle, member=owner, now=NOW, document=document)
    assert path in refused.value.by_field()
    assert not Inspection.objects.exists()


def test_a_finished_inspection_has_a_panel(vehicle: Vehicle, owner: Member) -> None:
    with pytest.raises(Refused) as refused:
        inspection_save(
            vehicle=vehicle,
            member=owner,
            now=NOW,
            document={"unit": "mil", "panels": []},
            finished=True,
        )
    assert list(refused.value.by_field()) == ["$.panels"]


@pytest.mark.parametrize("field", ["member", "gauge", "inspection"])
def test_rows_of_another_shop(vehicle: Vehicle, owner: Member, field: str) -> None:
    made = {"member": MemberFactory, "gauge": GaugeFactory, "inspection": InspectionFactory}
    given: dict[str, Any] = {"member": owner, field: made[field]()}
    with pytest.raises(Refused) as refused:
        inspection_save(vehicle=vehicle, now=NOW, document={"unit": "mil", "panels": []}, **given)
    assert list(refused.value.by_field()) == [field]
