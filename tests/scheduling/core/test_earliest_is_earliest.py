"""The pick-up is the earliest there is: against a search that walks from slot to slot."""

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.core.earliest import earliest_fit
from scheduling.core.freeindex import FreeIndex
from tests.scheduling.core.cases import SlowSearch, small_case


@settings(max_examples=150)  # two of three random shops are impossible
@given(st.integers(0, 10**9))
def test_as_early_as_the_slow_search_finds(seed: int) -> None:
    case = small_case(seed, slots=16)
    fit = earliest_fit(case.chain, FreeIndex(case.resources, case.busy), not_before=case.not_before)
    assert (fit.end if fit.found else None) == SlowSearch(case).earliest_pick_up()


@given(st.integers(0, 10**9))
def test_impossible_always_says_why(seed: int) -> None:
    case = small_case(seed, slots=16)
    fit = earliest_fit(case.chain, FreeIndex(case.resources, case.busy), not_before=case.not_before)
    assert fit.found or all(reason.op_id and reason.text for reason in fit.reasons)
    assert fit.found or fit.reasons
