"""What a page weighs, and that nothing in it needs an inline style or script."""

import re
from pathlib import Path

import django_htmx
from django.conf import settings

STATIC = Path(settings.BASE_DIR) / "shop" / "static" / "shop"
TEMPLATES = Path(settings.BASE_DIR) / "templates"
HTMX = Path(django_htmx.__file__).parent / "static" / "django_htmx" / "htmx-2.min.js"

MOST_STYLE = 30_000
MOST_SCRIPT = 60_000
# Every page has these; a screen adds the one of its own name.
SHARED_SCRIPTS = {"halfmil.js"}


def test_styles_of_any_screen_under_their_budget():
    sizes = {path.name: path.stat().st_size for path in STATIC.rglob("*.css")}
    shared = sizes.pop("halfmil.css")
    assert shared + max(sizes.values()) < MOST_STYLE


def test_no_screen_loads_more_than_one_stylesheet_of_its_own():
    linked = {
        path: re.findall(r"shop/(\w+)\.css", path.read_text("utf-8"))
        for path in TEMPLATES.rglob("*.html")
    }
    assert {path.name: names for path, names in linked.items() if len(names) > 1} == {}


def test_scripts_of_any_screen_with_htmx_under_their_budget():
    sizes = {path.name: path.stat().st_size for path in STATIC.rglob("*.js")}
    shared = sum(sizes.pop(name) for name in SHARED_SCRIPTS)
    assert HTMX.stat().st_size + shared + max(sizes.values()) < MOST_SCRIPT


def test_no_template_has_what_the_policy_forbids():
    forbidden = re.compile(
        r"\sstyle=|\son[a-z]+=|<style|<script(?![^>]*\ssrc=)|https?://(?!www\.w3)"
    )
    found = [
        f"{path.relative_to(TEMPLATES)}: {hit[0]}"
        for path in TEMPLATES.rglob("*.html")
        if path.parent.name != "messages" and "letter" not in path.name
        for hit in forbidden.finditer(path.read_text("utf-8"))
    ]
    assert found == []
