"""Money adds up to the cent, and ranges are in order."""

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.core.options import Options
from tests.estimating.core.cases import TERMS, document, panel, scratch, swirls, written

OPTIONS = st.builds(
    Options,
    wash=st.sampled_from(["standard", "large", None]),
    coating=st.sampled_from([None, "lantern", "thicket"]),
    add_ons=st.sampled_from([(), ("glass",), ("wheels", "leather")]),
    technician=st.sampled_from([None, "lead", "junior"]),
)


@settings(max_examples=6, deadline=None)
@given(options=OPTIONS, seen=st.booleans(), severity=st.sampled_from(["light", "heavy"]))
def test_parts_sum_to_totals_and_price_keeps_the_margin(options, seen, severity):
    panels = [panel(defects=[swirls(severity), scratch(3.9)]), panel("roof")] if seen else []
    found = written(document(*panels), options)
    cost = {key: Decimal(value) for key, value in found["cost"].items()}
    assert cost["labour"] + cost["bay"] + cost["materials"] + cost["overhead"] == cost["total"]
    assert sum(Decimal(line["cost"]) for line in found["materials"]) == cost["materials"]
    low, likely, high = (Decimal(found["price"][key]) for key in ("p10", "p50", "p90"))
    assert low <= likely <= high
    assert likely % TERMS.rounding_step == 0
    assert (likely - cost["total"]) / likely >= TERMS.target_margin
    assert abs(found["price"]["margin"] - float((likely - cost["total"]) / likely)) < 1e-4
    hours = found["hours"]
    assert 0 < hours["p10"] < hours["p50"] < hours["p90"]


def test_nothing_to_do_costs_nothing():
    found = written(document(panel(defects=[])))
    assert (found["cost"]["total"], found["price"]["p90"]) == ("0.00", "0.00")
    assert found["cleared"] == 1.0
