"""Every answer tells the browser to load nothing from elsewhere and to show it in no frame."""

from django.test import Client

from shop.middleware import HEADER


def test_a_page_allows_only_this_site(client: Client) -> None:
    headers = client.get("/alive/").headers
    directives = dict(part.strip().split(" ", 1) for part in headers[HEADER].split(";"))
    assert directives["default-src"] == "'self'"
    assert directives["frame-ancestors"] == "'none'"
    assert "unsafe" not in headers[HEADER]
    assert "http" not in headers[HEADER]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "same-origin"


def test_a_static_file_is_served_without_collecting_and_without_debug(client: Client) -> None:
    answer = client.get("/static/admin/css/base.css")
    assert answer.status_code == 200
    assert answer.headers["Content-Type"].startswith("text/css")
    assert HEADER in answer.headers
    assert b"--primary" in answer.getvalue()


def test_the_api_is_closed_to_a_stranger(client: Client) -> None:
    assert client.get("/api/schema/").status_code == 403
