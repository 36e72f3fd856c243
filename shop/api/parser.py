"""Reading JSON bodies without the gaps of the standard parser."""

from __future__ import annotations

import codecs
import json
from collections.abc import Mapping
from typing import IO, Any, NoReturn

from django.conf import settings
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

from shop.api.errors import TooLarge


class StrictJSONParser(JSONParser):
    """JSON that means one thing: no key twice, no NaN, no text a database cannot hold.

    Bodies that are too long or nested too deeply are refused instead of costing
    memory or ending in an error of the server.
    """

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """Return the parsed body.

        Raises
        ------
        ParseError
            With what is wrong and where.
        TooLarge
            Longer than ``DATA_UPLOAD_MAX_MEMORY_SIZE`` bytes.
        """
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE or 0
        raw = stream.read(most + 1)
        if len(raw) > most:
            raise TooLarge
        try:
            text = codecs.decode(raw, "utf-8-sig")
            parsed = json.loads(
                text, parse_constant=_refuse_constant, object_pairs_hook=_refuse_twice
            )
            # Lone surrogates can be escaped in JSON but not stored.
            plain = json.dumps(parsed, ensure_ascii=False)
            plain.encode("utf-8")
        except RecursionError as error:
            raise ParseError("The JSON is nested too deeply.") from error
        except UnicodeEncodeError as error:
            raise ParseError("The JSON holds half of a surrogate pair.") from error
        except ValueError as error:
            raise ParseError(f"This is not JSON: {error}") from error
        if "\\u0000" in plain:
            raise ParseError("The JSON holds a NUL character.")
        return parsed


def _refuse_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number")


def _refuse_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise ValueError(f"the key {key!r} stands there twice")
        found[key] = value
    return found
