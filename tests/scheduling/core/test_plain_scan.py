"""The plain scan of the benchmark and the index give the same pick-up."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.core.earliest import earliest_fit
from scheduling.core.freeindex import FreeIndex
from tests.bench.plain_scan import plain_scan
from tests.scheduling.core.cases import small_case


@settings(max_examples=200)
@given(st.integers(0, 10**9), st.sampled_from([16, 40]))
def test_same_pick_up(seed: int, slots: int) -> None:
    case = small_case(seed, slots)
    alone = tuple(replace(op, crew=min(op.crew, 1)) for op in case.chain.ops)
    chain = replace(case.chain, ops=alone)
    fit = earliest_fit(chain, FreeIndex(case.resources, case.busy), not_before=case.not_before)
    scanned = plain_scan(chain, case.resources, case.busy, case.not_before)
    assert scanned == (fit.end if fit.found else None)
