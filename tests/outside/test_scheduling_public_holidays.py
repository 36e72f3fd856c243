"""Public holidays as the law lists them, against what closes a shop."""

from datetime import date

import pytest

from shop.public_holidays import holidays_of, region_problem

# 5 U.S.C. 6103(a): New Year's Day, Birthday of Martin Luther King Jr. (third Monday in January),
# Washington's Birthday (third Monday in February), Memorial Day (last Monday in May), Juneteenth,
# Independence Day, Labor Day (first Monday in September), Columbus Day (second Monday in
# October), Veterans Day, Thanksgiving (fourth Thursday in November), Christmas Day; 6103(b): one
# on a Saturday is kept on the Friday before, which is 3 July in 2026 (opm.gov lists it so).
UNITED_STATES_2026 = """
    01-01 01-19 02-16 05-25 06-19 07-03 07-04 09-07 10-12 11-11 11-26 12-25
"""
# Unification Treaty of 1990, Article 2(2), and Bavaria's FTG, Article 1: the nine days of all of
# Germany, and Epiphany, Corpus Christi and All Saints' for the whole of Bavaria. Assumption is
# kept only where most are Catholic, so it is none of the land as a whole.
BAVARIA_2026 = """
    01-01 01-06 04-03 04-06 05-01 05-14 05-25 06-04 10-03 11-01 12-25 12-26
"""
# gov.uk/bank-holidays, England and Wales, 2026; Boxing Day falls on a Saturday and is kept on
# Monday 28 December. Banking and Financial Dealings Act 1971, Schedule 1.
ENGLAND_2026 = "01-01 04-03 04-06 05-04 05-25 08-31 12-25 12-28"


def days_of(text: str) -> set[date]:
    return {date.fromisoformat(f"2026-{day}") for day in text.split()}


def test_united_states() -> None:
    assert set(holidays_of("US", "", 2026)) == days_of(UNITED_STATES_2026)


def test_bavaria() -> None:
    assert set(holidays_of("DE", "BY", 2026)) == days_of(BAVARIA_2026)


def test_england() -> None:
    # The Saturday itself is in the library's list too; the official one names the day in lieu.
    found = set(holidays_of("GB", "ENG", 2026))
    assert found - {date(2026, 12, 26)} == days_of(ENGLAND_2026)


@pytest.mark.parametrize(
    ("year", "sunday"),
    [(2025, date(2025, 4, 20)), (2026, date(2026, 4, 5)), (2038, date(2038, 4, 25))],
)
def test_holidays_move_with_easter(year: int, sunday: date) -> None:
    """Dates of Easter from the United States Naval Observatory's table."""
    found = holidays_of("DE", "", year)
    assert {date.fromordinal(sunday.toordinal() + n) for n in (-2, 1, 39, 50)} <= set(found)


def test_without_a_country_there_are_none() -> None:
    assert holidays_of("", "", 2026) == {}


@pytest.mark.parametrize(
    ("country", "part", "field"),
    [
        ("XX", "", "holiday_country"),
        ("us", "", "holiday_country"),
        ("US", "QQ", "holiday_subdivision"),
        ("", "TX", "holiday_subdivision"),
    ],
)
def test_unknown_region_names_its_field(country: str, part: str, field: str) -> None:
    problem = region_problem(country, part)
    assert problem is not None
    assert problem.field == field


@pytest.mark.parametrize(("country", "part"), [("", ""), ("US", ""), ("US", "TX"), ("DE", "BY")])
def test_known_regions(country: str, part: str) -> None:
    assert region_problem(country, part) is None
