"""Calendar feeds against RFC 5545's own examples, and a reader that is not ours.

Sources: RFC 5545 (September 2009), sections 3.1 (lines are folded at 75 octets), 3.3.11
(escaping of TEXT, with its example), 4 (first example object); RFC 7986, 5.7.
"""

from __future__ import annotations

import uuid
from datetime import UTC, datetime

from hypothesis import example, given
from hypothesis import strategies as st
from icalendar import Calendar

from scheduling.feeds.ical import calendar_text
from scheduling.models import FeedEntry

# Section 4, the first object, its folded DESCRIPTION unfolded after 3.1. The properties
# that our feeds do not use (ORGANIZER, CATEGORIES) and the identifiers are left out.
SECTION_4 = r"""DTSTAMP:19960704T120000Z
DTSTART:19960918T143000Z
DTEND:19960920T220000Z
STATUS:CONFIRMED
SUMMARY:Networld+Interop Conference
DESCRIPTION:Networld+Interop Conference and Exhibit\nAtlanta World Congress Center\nAtlanta\, Georgia
"""  # noqa: E501 -- as published
SECTION_3_3_11 = r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."


def written(**texts: str) -> bytes:
    entry = FeedEntry(
        key="x",
        start=datetime(1996, 9, 18, 14, 30, tzinfo=UTC),
        end=datetime(1996, 9, 20, 22, 0, tzinfo=UTC),
        changed_at=datetime(1996, 7, 4, 12, 0, tzinfo=UTC),
        **{"summary": "Networld+Interop Conference", **texts},
    )
    return calendar_text("Name", uuid.UUID(int=1), [entry])


def unfolded(body: bytes) -> list[str]:
    """Undo folding as section 3.1 says: drop each CRLF that white space follows."""
    return body.replace(b"\r\n ", b"").replace(b"\r\n\t", b"").decode().split("\r\n")


def test_the_first_example_of_section_4_comes_out_line_by_line() -> None:
    about = (
        "Networld+Interop Conference and Exhibit\nAtlanta World Congress Center\nAtlanta, Georgia"
    )
    lines = unfolded(written(description=about))
    assert set(SECTION_4.splitlines()) <= set(lines)
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2:] == ["END:VCALENDAR", ""]


def test_the_example_of_escaping() -> None:
    text = "Project XYZ Final Review\r\nConference Room - 3B\nCome Prepared."
    assert f"LOCATION:{SECTION_3_3_11}" in unfolded(written(place=text))


def test_backslash_semicolon_and_comma_are_escaped_and_the_colon_is_not() -> None:
    assert r"SUMMARY:a\\b\;c\,d:e" in unfolded(written(summary=r"a\b;c,d:e"))


def test_refresh_says_that_it_is_a_duration() -> None:
    lines = unfolded(written())
    assert {"REFRESH-INTERVAL;VALUE=DURATION:PT15M", "X-PUBLISHED-TTL:PT15M"} <= set(lines)


@given(st.text(min_size=1, max_size=60).map(lambda text: text * 9))
@example("Zoë's pickup, née; " * 20)
def test_any_text_is_folded_within_75_octets_and_read_back(text: str) -> None:
    body = written(description=f"x{text}x")
    lines = body.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    for line in lines:
        line.decode("utf-8")  # folded between characters, never within one
    event = Calendar.from_ical(body).walk("VEVENT")[0]
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    kept = "".join(one for one in plain if one in "\n\t" or (one >= " " and one != "\x7f"))
    assert str(event["DESCRIPTION"]) == f"x{kept}x"
