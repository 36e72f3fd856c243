"""Reads settings from ``HALFMIL_*`` environment variables and refuses wrong ones.

Every reader notes what is wrong instead of raising at once, so that one start
names everything that has to be mended.  :meth:`Environment.finish` raises.
No Django here except its error type: this file is read before settings exist.
"""

import difflib
import os
import secrets
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from urllib.parse import urlsplit

from django.core.exceptions import ImproperlyConfigured

PREFIX = "HALFMIL_"
TRUE_WORDS = ("1", "true", "yes", "on")
FALSE_WORDS = ("0", "false", "no", "off")
# Django's own deployment check asks for 50 characters.
SECRET_KEY_MIN_LENGTH = 50


class Environment:
    """The ``HALFMIL_*`` variables of one process.

    Parameters
    ----------
    values
        Usually ``os.environ``, with the ``.env`` file's values beneath it.
    known_elsewhere
        Names (without prefix) that are read by other tools, not by settings.
    """

    def __init__(self, values: Mapping[str, str], known_elsewhere: Iterable[str] = ()) -> None:
        self._values = values
        self._known = {PREFIX + name for name in known_elsewhere}
        self._problems: list[str] = []

    def refuse(self, name: str, wrong: str, right: str) -> None:
        """Note that variable ``name`` is wrong, how, and what would be right."""
        self._problems.append(f"{PREFIX}{name}: {wrong}. {right}")

    def text(self, name: str, default: str = "") -> str:
        """Return the text of ``name``, or ``default`` where it is unset or empty."""
        self._known.add(PREFIX + name)
        return self._values.get(PREFIX + name, "").strip() or default

    def flag(self, name: str, *, default: bool = False) -> bool:
        """Return a yes or no."""
        raw = self.text(name).lower()
        if raw in TRUE_WORDS:
            return True
        if raw and raw not in FALSE_WORDS:
            self.refuse(name, f"{raw!r} is neither yes nor no", "Use 1 or 0.")
        return default if raw == "" else False

    def whole(self, name: str, default: int, *, low: int, high: int) -> int:
        """Return a whole number from ``low`` to ``high``, both included."""
        raw = self.text(name, str(default))
        try:
            number = int(raw)
        except ValueError:
            number = low - 1
        if not low <= number <= high:
            self.refuse(name, f"{raw!r} is no number from {low} to {high}", f"Example: {default}.")
            return default
        return number

    def choice(self, name: str, default: str, options: Sequence[str]) -> str:
        """Return one of ``options``."""
        raw = self.text(name, default)
        if raw not in options:
            self.refuse(name, f"{raw!r} is not known", f"Use one of: {', '.join(options)}.")
            return default
        return raw

    def items(self, name: str, default: Sequence[str]) -> list[str]:
        """Return a comma-separated list."""
        raw = self.text(name)
        return [part.strip() for part in raw.split(",") if part.strip()] or list(default)

    def url(self, name: str, schemes: Sequence[str], *, default: str, example: str) -> str:
        """Return a URL whose scheme is one of ``schemes``; empty stays empty."""
        raw = self.text(name, default)
        try:
            parts = urlsplit(raw)
            parts.port  # noqa: B018 -- a port that is no number is only noticed when read
        except ValueError as error:
            self.refuse(name, f"not a URL ({error})", f"Example: {example}")
            return default
        if raw and parts.scheme not in schemes:
            # The value itself is not repeated: it may hold a password.
            wrong = f"the URL starts with {parts.scheme or 'no scheme'!r}"
            self.refuse(name, wrong, f"Use {' or '.join(schemes)}, for example {example}")
            return default
        return raw

    def finish(self) -> None:
        """Raise where anything was wrong.

        Raises
        ------
        ImproperlyConfigured
            One line for each wrong or unknown variable, with what would be right.
        """
        for name in sorted(self._values):
            if name.startswith(PREFIX) and name not in self._known:
                near = difflib.get_close_matches(name, self._known, n=1)
                hint = f"Did you mean {near[0]}?" if near else "Remove it."
                self._problems.append(f"{name}: there is no such setting. {hint}")
        if self._problems:
            lines = "\n".join(f"  {problem}" for problem in self._problems)
            raise ImproperlyConfigured(f"Halfmil cannot start, a setting is wrong:\n{lines}")


def is_this_machine(url: str) -> bool:
    """Return whether a URL names the machine that the program runs on."""
    return urlsplit(url).hostname in ("localhost", "127.0.0.1", "::1")


def dotenv_values(path: Path) -> dict[str, str]:
    """Return the ``NAME=value`` lines of a ``.env`` file; no file is no values.

    Raises
    ------
    ImproperlyConfigured
        For a line that is neither empty, a comment nor ``NAME=value``.
    """
    if not path.is_file():
        return {}
    values = {}
    for number, raw in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        line = raw.strip().removeprefix("export ")
        if not line or line.startswith("#"):
            continue
        name, equals, value = line.partition("=")
        if not equals or not name.strip().isidentifier():
            raise ImproperlyConfigured(f"{path.name}, line {number}: expected NAME=value.")
        value = value.strip()
        if len(value) > 1 and value[0] == value[-1] and value[0] in "'\"":
            value = value[1:-1]
        values[name.strip()] = value
    return values


def secret_key_from(path: Path) -> str:
    """Return the secret key kept at ``path``, making one the first time (mode 600).

    Two processes may start at once on a fresh clone: the key is written to a
    file of its own and linked into place, so both end up with the same whole key.

    Raises
    ------
    ImproperlyConfigured
        Where the file can be neither read nor made, or holds too short a key.
    """
    try:
        if not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".secret_key.")
            with os.fdopen(handle, "w", encoding="ascii") as file:
                file.write(secrets.token_urlsafe(SECRET_KEY_MIN_LENGTH) + "\n")
            try:
                os.link(draft, path)
            except FileExistsError:
                pass
            finally:
                Path(draft).unlink()
        key = path.read_text(encoding="ascii").strip()
    except OSError as error:
        raise ImproperlyConfigured(
            f"Cannot keep the secret key in {path} ({error.strerror}). "
            f"Make the folder writable or set {PREFIX}SECRET_KEY."
        ) from error
    if len(key) < SECRET_KEY_MIN_LENGTH:
        raise ImproperlyConfigured(
            f"The key in {path} is shorter than {SECRET_KEY_MIN_LENGTH} characters. "
            "Delete the file: a new one is made, and everybody signs in again."
        )
    return key
