"""Materials by area, pass and wear; what is short, bought and left over."""

from dataclasses import replace

import pytest

from estimating.core.materials import layer_ml, material_lines
from estimating.core.options import Options
from tests.estimating.core.cases import catalogue, document, estimated, panel, swirls

SHELF = {row.code: row for row in catalogue().consumables}


def test_pads_are_charged_by_wear_and_compound_by_area_and_pass():
    found = estimated(document(panel("hood", defects=[swirls("moderate")]), goal={"cleared": 0.8}))
    lines = {line.code: line for line in found.materials}
    rows = {row.name: row for row in found.panels[0].effect.passes}
    assert lines["compound"].quantity == pytest.approx(1.6 * rows["compound"].product_per_m2)
    assert lines["pad_cut"].quantity == pytest.approx(1.6 / rows["compound"].pad_life_m2)


def test_coating_by_spreading_rate_and_loss():
    # 10 m2 at 1 um dry of 50 % solids is 20 ml on the panel; half of it is lost.
    layer = replace(
        catalogue().coating_layers[0], volume_solids=0.5, dry_film_um=1.0, loss_share=0.5
    )
    assert layer_ml(layer, 10.0) == pytest.approx(40.0)


def test_what_is_short_is_bought_in_whole_units_and_the_rest_is_left_over():
    # 30 discs on the shelf, 135 wanted, boxes of 50: 105 short, 150 bought, 45 left.
    shelf = {"abrasive": replace(SHELF["abrasive"], on_hand=30.0, purchase_size=50.0)}
    line = material_lines({"abrasive": 135.0}, shelf, 2)[0]
    assert (line.short, line.buy, line.left_over, line.reorder) == (105.0, 150.0, 45.0, True)


def test_a_shortage_is_in_the_warnings_of_the_estimate():
    rows = tuple(
        replace(row, on_hand=1.0) if row.code == "thicket" else row
        for row in catalogue().consumables
    )
    from_file = document(panel())
    found = estimated(from_file, Options(coating="thicket"), replace(catalogue(), consumables=rows))
    assert any("Thicket coating" in warning and "short" in warning for warning in found.warnings)
