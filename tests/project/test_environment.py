"""A wrong setting is refused with its name, what is wrong, and what would be right."""

import pytest
from django.core.exceptions import ImproperlyConfigured

from shop.environment import Environment


def refusal(env: Environment) -> str:
    with pytest.raises(ImproperlyConfigured) as caught:
        env.finish()
    return str(caught.value)


@pytest.mark.parametrize(
    ("word", "meaning"), [("1", True), ("Yes", True), ("on", True), ("0", False), ("FALSE", False)]
)
def test_a_flag_has_words_for_both(word: str, meaning: bool) -> None:
    env = Environment({"HALFMIL_DEBUG": word})
    assert env.flag("DEBUG", default=not meaning) is meaning
    env.finish()


def test_a_flag_that_is_neither_is_refused_and_counts_as_no() -> None:
    env = Environment({"HALFMIL_DEBUG": "maybe"})
    assert env.flag("DEBUG", default=True) is False
    assert "HALFMIL_DEBUG: 'maybe' is neither yes nor no. Use 1 or 0." in refusal(env)


@pytest.mark.parametrize("raw", ["0", "65536", "80a", "8.5", "-1"])
def test_a_number_out_of_range_is_refused(raw: str) -> None:
    env = Environment({"HALFMIL_MAIL_PORT": raw})
    env.whole("MAIL_PORT", 25, low=1, high=65535)
    assert f"HALFMIL_MAIL_PORT: {raw!r} is no number from 1 to 65535" in refusal(env)


def test_both_ends_of_a_range_are_allowed() -> None:
    env = Environment({"HALFMIL_LOW": "1", "HALFMIL_HIGH": "65535"})
    assert env.whole("LOW", 25, low=1, high=65535) == 1
    assert env.whole("HIGH", 25, low=1, high=65535) == 65535
    env.finish()


def test_a_url_of_another_kind_is_refused_without_showing_its_password() -> None:
    env = Environment({"HALFMIL_DATABASE_URL": "mysql://me:hunter2@db/halfmil"})
    env.url("DATABASE_URL", ("postgresql",), default="", example="postgresql://db/halfmil")
    message = refusal(env)
    assert "'mysql'" in message
    assert "postgresql://db/halfmil" in message
    assert "hunter2" not in message


def test_a_misspelt_name_is_refused_with_the_likely_one() -> None:
    env = Environment({"HALFMIL_DATABSE_URL": "x", "OTHER_PROGRAM": "x"})
    env.text("DATABASE_URL")
    message = refusal(env)
    assert "HALFMIL_DATABSE_URL" in message
    assert "Did you mean HALFMIL_DATABASE_URL?" in message
    assert "OTHER_PROGRAM" not in message


def test_everything_wrong_is_named_at_once() -> None:
    env = Environment({"HALFMIL_DEBUG": "perhaps", "HALFMIL_MAIL": "pigeon"})
    env.flag("DEBUG")
    env.choice("MAIL", "file", ("console", "file"))
    message = refusal(env)
    assert "HALFMIL_DEBUG" in message
    assert "HALFMIL_MAIL: 'pigeon' is not known. Use one of: console, file." in message
