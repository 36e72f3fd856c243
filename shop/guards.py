"""A job's events are written once: the database refuses to change or remove one.

They go only with their job, when that is deleted.
"""

from __future__ import annotations

from typing import Any, Final

from shop.triggers import lay_triggers

_SQLITE: Final = (
    """
    CREATE TRIGGER IF NOT EXISTS job_event_is_written_once BEFORE UPDATE ON shop_jobevent
    BEGIN SELECT RAISE(ABORT, 'job_event_is_written_once'); END
    """,
    # Left where it is without a word: Django removes what hangs on a job before the job, and
    # its flush empties tables in any order. Here no trigger can wait for the end.
    """
    CREATE TRIGGER IF NOT EXISTS job_event_goes_with_its_job BEFORE DELETE ON shop_jobevent
    WHEN EXISTS (SELECT 1 FROM shop_job WHERE id = OLD.job_id)
    BEGIN SELECT RAISE(IGNORE); END
    """,
    """
    CREATE TRIGGER IF NOT EXISTS job_takes_its_events_along AFTER DELETE ON shop_job
    BEGIN DELETE FROM shop_jobevent WHERE job_id = OLD.id; END
    """,
)
_POSTGRESQL: Final = (
    """
    CREATE OR REPLACE FUNCTION job_event_is_written_once() RETURNS trigger AS $$ BEGIN
    IF TG_OP = 'UPDATE' OR EXISTS (SELECT 1 FROM shop_job WHERE id = OLD.job_id) THEN
      RAISE EXCEPTION 'job_event_is_written_once' USING ERRCODE = '23514';
    END IF;
    RETURN NULL;
    END $$ LANGUAGE plpgsql
    """,
    "DROP TRIGGER IF EXISTS job_event_is_written_once ON shop_jobevent",
    """
    CREATE TRIGGER job_event_is_written_once AFTER UPDATE ON shop_jobevent
    FOR EACH ROW EXECUTE FUNCTION job_event_is_written_once()
    """,
    "DROP TRIGGER IF EXISTS job_event_goes_with_its_job ON shop_jobevent",
    # At the end of the transaction, when its job is gone as well or is not.
    """
    CREATE CONSTRAINT TRIGGER job_event_goes_with_its_job AFTER DELETE ON shop_jobevent
    DEFERRABLE INITIALLY DEFERRED
    FOR EACH ROW EXECUTE FUNCTION job_event_is_written_once()
    """,
)


def lay_guards(using: str, **_kwargs: Any) -> None:
    """Create the triggers where the tables are there."""
    statements = {"postgresql": _POSTGRESQL, "sqlite": _SQLITE}
    lay_triggers(using, ("shop_jobevent", "shop_job"), statements)
