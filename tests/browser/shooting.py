"""Which screens are photographed, and how: the site in a thread, Chromium beside it."""

import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from socketserver import ThreadingMixIn
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.core.wsgi import get_wsgi_application
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from playwright.sync_api import Page, sync_playwright

from estimating.models import CustomerPage, Inspection, Quote
from estimating.services.customer_pages import page_path
from scheduling.selectors.visit_page import visit_of
from shop.models import Job, Member, Shop
from tests import reachable
from tests.browser.driver import CHROMIUM_FLAGS


class QuietHandler(WSGIRequestHandler):
    """Serves without a line for every request."""

    def log_message(self, *_args: object) -> None:
        """Say nothing."""


class ThreadingServer(ThreadingMixIn, WSGIServer):
    """Answers a page's files side by side."""

    daemon_threads = True


@contextmanager
def served() -> Iterator[str]:
    """Serve the site on a free port of this machine and give its address."""
    server = make_server(
        "127.0.0.1",
        0,
        get_wsgi_application(),
        server_class=ThreadingServer,
        handler_class=QuietHandler,
    )
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()


def session_of(member: Member) -> str:
    """Return the key of a new session in which ``member`` is signed in."""
    session = SessionStore()
    session[SESSION_KEY] = str(member.user_id)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    session[HASH_SESSION_KEY] = member.user.get_session_auth_hash()
    session.create()
    return str(session.session_key)


def screens(member: Member) -> dict[str, str]:
    """Return the address of each screen by name, as far as there is something to show."""
    shop = member.shop
    inspection = Inspection.objects.of(shop).filter(panels__isnull=False).first()
    quote = Quote.objects.of(shop).first()
    job = Job.objects.of(shop).exclude(arrives_at=None).order_by("-arrives_at").first()
    vehicle = inspection.vehicle_id if inspection else None
    wanted = {
        "calendar": ("calendar", None),
        "desk": ("desk", None),
        "feeds": ("feeds", None),
        "floor": ("floor", None),
        "promises": ("promises", None),
        "reminders": ("reminders", None),
        "customers": ("customers", None),
        "customer": ("customer", inspection.vehicle.customer_id if inspection else None),
        "vehicle": ("vehicle", vehicle),
        "inspection": ("inspection", inspection.pk if inspection else None),
        "quote": ("quote", quote.pk if quote else None),
        "job": ("job", job.pk if job else None),
    }
    found = {}
    for name, (route, pk) in wanted.items():
        if pk is None and name not in (
            "calendar",
            "desk",
            "feeds",
            "floor",
            "promises",
            "reminders",
            "customers",
        ):
            continue
        try:
            found[name] = reverse(route, args=[pk] if pk is not None else [])
        except NoReverseMatch:
            continue
    found |= customer_pages(shop)
    if vehicle:
        found["desk-vehicle"] = f"{reverse('desk')}?vehicle={vehicle}"
    return found


def customer_pages(shop: Shop) -> dict[str, str]:
    """The page behind a customer's link: one for each state that the demo has, and the times."""
    found: dict[str, str] = {}
    for page in CustomerPage.objects.of(shop).select_related("shop"):
        path = page_path(page)
        visit = visit_of(path.split("/")[2], timezone.now()) if path else None
        if visit is not None:
            found.setdefault(f"visit-{visit.state.value}", path)
    if "visit-quote" in found:
        found["visit-time"] = found["visit-quote"] + "time/"
    return found


def take(
    *,
    folder: Path,
    username: str,
    dark: bool,
    only: Sequence[str],
    widths: Sequence[int],
    whole: bool = True,
) -> int:
    """Photograph each screen in each width; return the exit status."""
    path, reason = reachable.chromium()
    member = Member.objects.select_related("user", "shop").filter(user__username=username).first()
    if reason or member is None:
        print(reason or f"nobody signs in as {username}: run make demo first", file=sys.stderr)
        return 1
    folder.mkdir(parents=True, exist_ok=True)
    addresses = {"sign-in": reverse("sign_in"), **screens(member)}
    troubled = False
    with served() as site, sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        for width in widths:
            context = chromium.new_context(
                base_url=site,
                viewport={"width": width, "height": 900},
                color_scheme="dark" if dark else "light",
            )
            for name, address in addresses.items():
                if only and name not in only:
                    continue
                if name != "sign-in":
                    context.add_cookies(
                        [{"name": "sessionid", "value": session_of(member), "url": site}]
                    )
                file = folder / f"{name}-{width}{'-dark' if dark else ''}.png"
                troubled |= _shoot(context.new_page(), address, file, whole)
            context.close()
        chromium.close()
    return 1 if troubled else 0


def _shoot(page: Page, address: str, file: Path, whole: bool) -> bool:
    """Save one picture; return whether the page failed or is wider than the screen."""
    answer = page.goto(address)
    page.locator(".htmx-request").first.wait_for(state="detached")
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    page.screenshot(path=file, full_page=whole)
    page.close()
    failed = answer is None or not answer.ok
    if failed or wide > 0:
        print(
            f"{file.name}: status {answer and answer.status}, {wide} px too wide", file=sys.stderr
        )
    return failed or wide > 0
