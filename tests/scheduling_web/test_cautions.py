"""Every kind of work has its caution, short, with the two signal words and the data sheet."""

import pytest
from django.urls import reverse

from scheduling.web.cautions import CAUTIONS, DEFER, caution_for
from shop.models import OperationKind


@pytest.mark.parametrize("kind", OperationKind.values)
def test_each_kind_of_work_has_one(kind: str) -> None:
    caution = caution_for(kind)
    assert str(caution.signal) in ("Danger", "Warning")
    assert caution.mind
    said = [str(caution.hazard), *map(str, caution.wear), *map(str, caution.mind)]
    assert all(len(line) <= 110 for line in said)


def test_solvents_and_coatings_ask_for_gloves_and_air() -> None:
    for kind in (OperationKind.WIPE, OperationKind.COATING):
        said = " ".join(map(str, (*CAUTIONS[kind].wear, *CAUTIONS[kind].mind)))
        assert "gloves" in said
        assert "Air on" in said
    assert "isocyanates" in str(CAUTIONS[OperationKind.COATING].hazard)
    assert "respirator" in " ".join(map(str, CAUTIONS[OperationKind.SPOT].wear))


def test_the_floor_shows_the_one_of_the_work_in_hand(world, tech, text) -> None:
    world.here(world.booked())
    seen = text(tech.get(reverse("floor")))
    assert str(CAUTIONS[OperationKind.WASH].hazard) in seen
    assert str(CAUTIONS[OperationKind.COATING].hazard) not in seen
    assert str(DEFER) in seen
