"""The two commands: what they print, what they refuse, and what ``--replace`` loses."""

from __future__ import annotations

import stat

import pytest
from django.contrib.sessions.models import Session
from django.core.management import call_command

from shop.models import Customer, JobEvent, Shop
from tests.factories import NOW, CustomerFactory, JobEventFactory

pytestmark = pytest.mark.django_db(transaction=True)


def run(capsys, *words: str) -> tuple[int, str, str]:
    """Return exit status, output and errors of a command."""
    status = 0
    try:
        call_command(*words)
    except SystemExit as ended:
        status = int(ended.code or 0)
    said = capsys.readouterr()
    return status, said.out, said.err


def test_a_shop_goes_into_a_file_and_takes_the_place_of_another(tmp_path, capsys):
    event = JobEventFactory(details={"why": [1, 2.5, None, "µ"]})
    file = str(tmp_path / "shop.gz")
    status, out, err = run(capsys, "backup", file)
    assert (status, "rows" in out, "shop.jobevent" in err) == (0, True, True)
    assert stat.S_IMODE((tmp_path / "shop.gz").stat().st_mode) == 0o600
    assert [path.name for path in tmp_path.iterdir()] == ["shop.gz"]

    status, out, err = run(capsys, "backup", file)
    assert (status, len(err.splitlines())) == (2, 1)
    assert "add --overwrite" in err
    assert run(capsys, "backup", file, "--overwrite")[0] == 0

    other = CustomerFactory(name="Came later")
    Session.objects.create(session_key="s", session_data="x", expire_date=NOW)
    status, out, err = run(capsys, "restore", file)
    assert (status, len(err.splitlines())) == (2, 1)
    assert "not empty" in err
    assert "--replace" in err
    assert Customer.objects.filter(pk=other.pk).exists()

    status, out, err = run(capsys, "restore", file, "--replace")
    assert (status, "signs in anew" in out) == (0, True)
    assert not Customer.objects.filter(pk=other.pk).exists()
    assert Shop.objects.get().created_at == event.job.shop.created_at
    assert JobEvent.objects.get().details == event.details
    assert not Session.objects.exists()


def test_a_replacement_that_fails_half_way_changes_nothing(tmp_path, capsys, monkeypatch):
    CustomerFactory(name="Kept")
    file = str(tmp_path / "shop.gz")
    run(capsys, "backup", file)
    later = CustomerFactory(name="Came later")
    # Everything has been deleted and inserted by then.
    monkeypatch.setattr("shop.backup.restore._finish", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        run(capsys, "restore", file, "--replace")
    assert set(Customer.objects.values_list("name", flat=True)) == {"Kept", later.name}


def test_a_file_that_is_not_there_or_cannot_be_written(tmp_path, capsys):
    status, _out, err = run(capsys, "restore", str(tmp_path / "none.gz"))
    assert (status, len(err.splitlines())) == (2, 1)
    assert "none.gz: cannot be read: No such file" in err
    status, _out, err = run(capsys, "backup", str(tmp_path / "no folder" / "shop.gz"))
    assert (status, len(err.splitlines())) == (2, 1)
    assert "cannot be written: No such file" in err
