"""What every test of the suite gets, and which tests run where."""

import os
from collections.abc import Iterator

import hypothesis
import pytest
import redis
from django.conf import settings
from django.core.cache import cache
from django.db import connection

from tests import reachable

pytest_plugins = ["tests.offline", "tests.browser.driver"]

# Requesting the fixture is enough: the mark follows.
MARK_OF_FIXTURE = {"redis_database_url": "redis", "page": "browser", "browser": "browser"}
DATABASE_FIXTURES = {"db", "transactional_db", "live_server", "django_db_reset_sequences"}

# The same examples each run in CI, fresh ones on a developer's machine; no
# deadline, because two cores shared with a database server make times jump.
hypothesis.settings.register_profile(
    "suite", deadline=None, max_examples=60, derandomize=bool(os.environ.get("CI")), print_blob=True
)
hypothesis.settings.load_profile("suite")


def pytest_addoption(parser: pytest.Parser) -> None:
    """Options used by ``python -m tests``, which runs the suite on both databases."""
    group = parser.getgroup("halfmil")
    group.addoption(
        "--postgres-follows",
        action="store_true",
        help="leave out tests marked postgres: a second run on PostgreSQL follows",
    )
    group.addoption(
        "--only-database",
        action="store_true",
        help="only tests that use the database, without a browser",
    )


def pytest_configure() -> None:
    """Settings that only tests need; nothing in the program asks whether it is tested."""
    # The real one is slow on purpose.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    # Otherwise each test client walks all static files when it is made.
    settings.WHITENOISE_AUTOREFRESH = True
    settings.CELERY_TASK_ALWAYS_EAGER = True
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}


def uses_database(item: pytest.Item) -> bool:
    """Return whether a test touches the default database."""
    fixtures = set(getattr(item, "fixturenames", ()))
    return item.get_closest_marker("django_db") is not None or bool(fixtures & DATABASE_FIXTURES)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark tests by the fixtures they ask for, then choose those of this run."""
    kept: list[pytest.Item] = []
    left_out: list[pytest.Item] = []
    for item in items:
        for fixture in getattr(item, "fixturenames", ()):
            if fixture in MARK_OF_FIXTURE:
                item.add_marker(MARK_OF_FIXTURE[fixture])
        other_run = config.getoption("--postgres-follows") and item.get_closest_marker("postgres")
        if config.getoption("--only-database"):
            other_run = not uses_database(item) or item.get_closest_marker("browser")
        (left_out if other_run else kept).append(item)
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = kept


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a test whose service does not answer, or fail it where it has to."""
    for mark, probe in reachable.PROBES.items():
        if item.get_closest_marker(mark) is None:
            continue
        _, reason = probe()
        if mark == "postgres" and not reason and not settings.ON_POSTGRESQL:
            reason = "needs PostgreSQL as the default database: make test does that"
        if reason and reachable.required():
            pytest.fail(f"{reason}; HALFMIL_REQUIRE_SERVICES=1 forbids skipping", pytrace=False)
        if reason:
            pytest.skip(reason)


@pytest.fixture(scope="session")
def django_db_use_migrations() -> bool:
    """Run the migrations on PostgreSQL only.

    On SQLite they take several times as long as making the tables from the
    models, and ``tests/project/test_migrations.py`` shows that both end alike.
    """
    return bool(settings.ON_POSTGRESQL)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Keep SQLite's test database in a file, as a shop does.

    In memory, every thread of the live server would share one connection, and two
    requests at once would meet "database table is locked", which no shop ever sees.
    """
    if not settings.ON_POSTGRESQL:
        file = tmp_path_factory.mktemp("database") / "test.sqlite3"
        connection.settings_dict["TEST"]["NAME"] = str(file)


@pytest.fixture(autouse=True)
def _empty_cache() -> Iterator[None]:
    """Forget counted sign-in tries and throttled calls of the test before."""
    yield
    cache.clear()


@pytest.fixture
def redis_database_url(worker_id: str) -> Iterator[str]:
    """Give the URL of a Redis database for this worker alone, emptied afterwards."""
    url, _ = reachable.redis_server()
    number = 15 - (int(worker_id[2:]) if worker_id.startswith("gw") else 0)
    database_url = f"{url}/{number}"
    with redis.Redis.from_url(database_url) as client:
        # A mark of our own, so that nobody's data is thrown away by a test.
        if client.dbsize() and not client.exists("halfmil:test-database"):
            pytest.fail(f"{database_url} holds data: set HALFMIL_TEST_REDIS_URL to a free Redis")
        client.flushdb()
        client.set("halfmil:test-database", 1)
        yield database_url
        client.flushdb()
