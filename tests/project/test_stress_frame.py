"""The frame of ``make stress``: what falls short is remembered, a wrong name is refused."""

from tests.stress.__main__ import main, round_names
from tests.stress.database import named
from tests.stress.report import StressReport


def test_a_figure_that_falls_short_is_said_and_kept() -> None:
    lines: list[str] = []
    report = StressReport(lines.append)
    assert report.equal("sent", 200, 200)
    assert report.ok
    assert not report.figure("worst wait", "31 s", "under 30 s", ok=False)
    assert (report.ok, report.short) == (False, ["worst wait"])
    assert lines == [
        "ok     sent: 200  (demanded: exactly 200)",
        "SHORT  worst wait: 31 s  (demanded: under 30 s)",
    ]


def test_a_round_that_does_not_exist_is_refused_before_anything_is_made(capsys) -> None:
    assert main(["no_such_round", "--short"]) == 2
    assert "No such round: no_such_round" in capsys.readouterr().out


def test_every_round_is_found_by_its_file_name() -> None:
    assert all(name.isidentifier() for name in round_names())


def test_a_database_is_named_on_the_same_server() -> None:
    assert named("postgresql:///postgres", "own") == "postgresql:///own"
    assert named("postgresql://u:p@h:5432/a?x=1", "own") == "postgresql://u:p@h:5432/own?x=1"
