"""Every fit, and every alternative, can be booked as it is."""

from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.check_fit import check_fit
from scheduling.core.earliest import alternatives, earliest_fit
from scheduling.core.freeindex import FreeIndex
from tests.scheduling.core.cases import small_case


@given(st.integers(0, 10**9))
def test_fit_and_alternatives_pass_the_checker(seed: int) -> None:
    case = small_case(seed, slots=60)
    index = FreeIndex(case.resources, case.busy)
    first = earliest_fit(case.chain, index, not_before=case.not_before)
    offers = [first, *alternatives(case.chain, index, first)] if first.found else []
    for fit in offers:
        violations = check_fit(
            case.chain, case.resources, case.busy, fit, not_before=case.not_before
        )
        assert violations == []
    starts = [fit.start for fit in offers]
    assert starts == sorted(set(starts))


@given(st.integers(0, 10**9))
def test_booked_twice_never_clashes(seed: int) -> None:
    case = small_case(seed, slots=60)
    busy = {unit: list(holds) for unit, holds in case.busy.items()}
    index = FreeIndex(case.resources, busy)
    for _ in range(2):
        fit = earliest_fit(case.chain, index, not_before=case.not_before)
        if not fit.found:
            return
        assert check_fit(case.chain, case.resources, busy, fit, not_before=case.not_before) == []
        for hold in fit.holds:
            index.add(hold.resource, hold.start, hold.end)
            busy.setdefault(hold.resource, []).append((hold.start, hold.end))
