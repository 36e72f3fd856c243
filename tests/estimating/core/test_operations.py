"""The work comes out as blocks in order, with what each needs and waits for."""

import pytest

from estimating.core.options import Options
from tests.estimating.core.cases import document, estimated, panel, scratch, swirls

HOOD = panel("hood", 4.6, [swirls("moderate"), scratch(3.9)])
JOB = document(HOOD, panel("roof", 4.6, [swirls("moderate")]), goal={"cleared": 0.8})


def blocks(**options):
    return {block.code: block for block in estimated(JOB, Options(**options)).operations}


def test_order_of_a_two_stage_job_with_coating():
    assert list(blocks(coating="lantern", add_ons=("glass",))) == [
        "wash", "mask", "spot", "correction_1", "correction_2", "add_on_glass", "wipe",
        "coating_1", "coating_2", "cure",
    ]  # fmt: skip


def test_polishing_may_pause_and_coating_may_not():
    found = blocks(coating="lantern")
    assert found["correction_1"].pausable
    assert not found["coating_1"].pausable
    assert found["coating_1"].attended
    assert not found["cure"].attended


def test_the_second_layer_waits_for_its_recoat_window_in_the_same_spot():
    second = blocks(coating="lantern")["coating_2"]
    assert (second.lag_min, second.lag_max, second.same_spot, second.lamps) == (60, 180, True, 1)


def test_the_cure_lasts_until_handover_and_follows_at_once():
    cure = blocks(coating="lantern")["cure"]
    assert (cure.minutes.p10, cure.minutes.p90, cure.lag_max) == (720.0, 720.0, 0)


def test_blocks_together_take_about_the_labour_of_the_estimate():
    found = estimated(JOB)
    expected = sum(block.minutes.p50 * block.crew for block in found.operations)
    assert expected == pytest.approx(found.minutes.p50, rel=0.05)


def test_a_wash_may_be_chosen_or_left_out():
    assert "wash" not in blocks(wash=None)
    assert blocks(wash="large")["wash"].name == "Prep wash, large"


def test_a_thing_the_catalogue_does_not_have_is_refused():
    with pytest.raises(ValueError, match="coating system must be one of lantern, thicket"):
        blocks(coating="amber")
