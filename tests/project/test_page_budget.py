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
WITHOUT_HTMX = "{% block htmx %}{% endblock %}"


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
    weighed = set()
    for path in TEMPLATES.rglob("*.html"):
        text = path.read_text("utf-8")
        own = [name for name in re.findall(r"shop/(\w+\.js)", text) if name in sizes]
        # A screen that fetches nothing by htmx may leave it out.
        htmx = 0 if WITHOUT_HTMX in text else HTMX.stat().st_size
        assert htmx + shared + sum(sizes[name] for name in own) < MOST_SCRIPT, path
        weighed |= set(own)
    assert weighed == set(sizes)


def test_a_screen_without_htmx_asks_nothing_of_it():
    for path in TEMPLATES.rglob("*.html"):
        text = path.read_text("utf-8")
        if WITHOUT_HTMX in text:
            included = re.findall(r'include "([\w/]+\.html)"', text)
            parts = [TEMPLATES / name for name in included]
            assert not any("hx-get" in one.read_text("utf-8") for one in (path, *parts)), path


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
