"""The secret key is made once, kept to its owner, and the same for everybody after."""

import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from shop.environment import SECRET_KEY_MIN_LENGTH, secret_key_from


def test_it_is_made_once_and_only_its_owner_may_read_it(tmp_path: Path) -> None:
    path = tmp_path / "var" / "secret_key"
    key = secret_key_from(path)
    assert len(key) >= SECRET_KEY_MIN_LENGTH
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert secret_key_from(path) == key
    assert [file.name for file in path.parent.iterdir()] == ["secret_key"]


def test_two_clones_have_two_keys(tmp_path: Path) -> None:
    assert secret_key_from(tmp_path / "a") != secret_key_from(tmp_path / "b")


def test_processes_that_start_together_agree(tmp_path: Path) -> None:
    path = tmp_path / "secret_key"
    with ThreadPoolExecutor(8) as pool:
        keys = set(pool.map(lambda _: secret_key_from(path), range(40)))
    assert keys == {path.read_text().strip()}


def test_a_short_key_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "secret_key"
    path.write_text("x" * (SECRET_KEY_MIN_LENGTH - 1))
    with pytest.raises(ImproperlyConfigured, match="Delete the file"):
        secret_key_from(path)


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "var").write_text("a file where the folder should be")
    with pytest.raises(ImproperlyConfigured, match="HALFMIL_SECRET_KEY"):
        secret_key_from(tmp_path / "var" / "secret_key")
