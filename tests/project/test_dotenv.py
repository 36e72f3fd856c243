"""An ``.env`` file may hold settings; a line that says nothing is refused."""

from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from shop.environment import dotenv_values


def test_no_file_is_no_values(tmp_path: Path) -> None:
    assert dotenv_values(tmp_path / ".env") == {}


def test_quotes_comments_and_export_are_understood(tmp_path: Path) -> None:
    file = tmp_path / ".env"
    file.write_text("# ours\n\nexport HALFMIL_DEBUG=1\nHALFMIL_MAIL_PASSWORD = 'a=b #c'\n")
    assert dotenv_values(file) == {"HALFMIL_DEBUG": "1", "HALFMIL_MAIL_PASSWORD": "a=b #c"}


@pytest.mark.parametrize("line", ["HALFMIL_DEBUG", "=1", "two words=1"])
def test_a_line_without_name_and_value_is_refused(tmp_path: Path, line: str) -> None:
    file = tmp_path / ".env"
    file.write_text(f"HALFMIL_DEBUG=1\n{line}\n")
    with pytest.raises(ImproperlyConfigured, match=r"\.env, line 2: expected NAME=value"):
        dotenv_values(file)
