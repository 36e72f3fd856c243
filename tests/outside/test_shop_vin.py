"""The check digit against numbers printed by those who define it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.vin import check_digit, vin_check

# 49 CFR 565: the regulation's own worked example gives these products.
CFR_EXAMPLE = "1G4AH59H45G118341"
CFR_PRODUCTS = (8, 49, 24, 5, 32, 15, 18, 80, 0, 45, 56, 7, 6, 40, 12, 12, 2)
# The letters that share a value in the regulation's table of letters, digits beside them.
SAME_VALUE = ("1AJ", "2BKS", "3CLT", "4DMU", "5ENV", "6FW", "7GPX", "8HY", "9RZ", "0")
CHARACTERS = "".join(SAME_VALUE)
VALUE_OF = {letter: index for index, group in enumerate(SAME_VALUE) for letter in group}


@pytest.mark.parametrize(
    ("vin", "digit"),
    [
        (CFR_EXAMPLE, "4"),  # 49 CFR 565, worked example
        ("1J9RP1A36A1644345", "6"),  # NHTSA, Outline for New Manufacturer Information, p. 18
        ("1M8GDM9AXKP042788", "X"),  # widely printed example
        ("11111111111111111", "1"),  # common self-test value: the weights add up to 89
    ],
)
def test_published_numbers_hold(vin, digit):
    assert check_digit(vin) == digit
    assert vin_check(vin).check_digit_holds


def test_the_regulations_products_give_its_digit():
    assert sum(CFR_PRODUCTS) == 411
    assert check_digit(CFR_EXAMPLE) == str(411 % 11)


@pytest.mark.parametrize(
    ("vin", "digit"),
    [
        ("1G4AH59H55G118341", "4"),  # another check digit
        ("1G4AH59H45G118331", "1"),  # one digit altered: sum 408
        ("1M8GDM9A1KP042788", "X"),
    ],
)
def test_altered_numbers_fail_and_the_right_digit_is_named(vin, digit):
    found = vin_check(vin)
    assert found.well_formed
    assert not found.check_digit_holds
    assert found.expected_digit == digit


@given(
    place=st.integers(0, 16).filter(lambda place: place != 8),
    letter=st.sampled_from(CHARACTERS),
)
def test_a_substitution_escapes_exactly_where_two_letters_share_a_value(place, letter):
    altered = CFR_EXAMPLE[:place] + letter + CFR_EXAMPLE[place + 1 :]
    escapes = vin_check(altered).check_digit_holds
    assert escapes == (VALUE_OF[letter] == VALUE_OF[CFR_EXAMPLE[place]])


def test_substitutions_that_escape_are_counted():
    # 16 places times 32 other characters; 39 share the value of the one they replace.
    escaped = tried = 0
    for place in (*range(8), *range(9, 17)):
        for letter in set(CHARACTERS) - {CFR_EXAMPLE[place]}:
            altered = CFR_EXAMPLE[:place] + letter + CFR_EXAMPLE[place + 1 :]
            escaped += vin_check(altered).check_digit_holds
            tried += 1
    assert (tried, escaped) == (512, 39)
