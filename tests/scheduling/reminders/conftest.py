"""A mailbox of its own for each test."""

import pytest
from django.conf import settings


@pytest.fixture(autouse=True)
def _own_mailbox(tmp_path, monkeypatch):
    monkeypatch.setattr(settings, "VAR_DIR", tmp_path)
    monkeypatch.setattr(settings, "MAIL", "file")
