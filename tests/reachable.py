"""Which outside services answer: asked once in a run, each with a reason for "no"."""

import functools
import os
import shutil
import socket
from collections.abc import Callable
from urllib.parse import urlsplit

import psycopg
import redis

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
POSTGRES_DEFAULT_URLS = ("postgresql:///postgres", "postgresql://postgres@127.0.0.1:5432/postgres")
REDIS_DEFAULT_URL = "redis://127.0.0.1:6379"
MQTT_DEFAULT_URL = "mqtt://127.0.0.1:1883"


def required() -> bool:
    """Return whether a service that does not answer is a failure (as in CI)."""
    return os.environ.get("HALFMIL_REQUIRE_SERVICES") == "1"


def postgres_urls() -> tuple[str, ...]:
    """Return the addresses at which PostgreSQL is looked for, the likeliest first."""
    given = os.environ.get("HALFMIL_TEST_DATABASE_URL")
    return (given,) if given else POSTGRES_DEFAULT_URLS


def redis_url() -> str:
    """Return where Redis is looked for; the suite adds the number of a database."""
    return os.environ.get("HALFMIL_TEST_REDIS_URL", REDIS_DEFAULT_URL).rstrip("/")


@functools.cache
def postgres() -> tuple[str, str]:
    """Return ``(url, "")`` of a PostgreSQL to test against, or ``("", why not)``."""
    reason = ""
    for url in postgres_urls():
        try:
            with psycopg.connect(url, connect_timeout=2) as connection:
                row = connection.execute(
                    "select rolcreatedb or rolsuper from pg_roles where rolname = current_user"
                ).fetchone()
        except psycopg.Error as error:
            reason = reason or str(error).strip().splitlines()[0]
            continue
        if row and row[0]:
            return url, ""
        reason = reason or "this user may not create databases"
    return "", f"no PostgreSQL to test against ({reason})"


@functools.cache
def redis_server() -> tuple[str, str]:
    """Return ``(url, "")`` of a Redis to test against, or ``("", why not)``."""
    url = redis_url()
    try:
        redis.Redis.from_url(url, socket_connect_timeout=2).ping()
    except redis.RedisError as error:
        return "", f"no Redis to test against ({error})"
    return url, ""


@functools.cache
def mqtt_broker() -> tuple[str, str]:
    """Return ``(url, "")`` of an MQTT broker to test against, or ``("", why not)``."""
    url = os.environ.get("HALFMIL_TEST_MQTT_URL", MQTT_DEFAULT_URL)
    parts = urlsplit(url)
    try:
        socket.create_connection((parts.hostname or "", parts.port or 1883), 2).close()
    except OSError as error:
        return "", f"no MQTT broker to test against ({error})"
    return url, ""


@functools.cache
def chromium() -> tuple[str, str]:
    """Return ``(path, "")`` of a Chromium, or ``("", why not)``."""
    names = (os.environ.get("HALFMIL_CHROMIUM", ""), *CHROMIUM_NAMES)
    for name in filter(None, names):
        path = shutil.which(name)
        if path:
            return path, ""
    return "", "no Chromium found on PATH"


PROBES: dict[str, Callable[[], tuple[str, str]]] = {
    "postgres": postgres,
    "redis": redis_server,
    "browser": chromium,
    "mqtt": mqtt_broker,
}
