"""How far two spellings are apart, in slips of the finger or the ear. No database."""

from __future__ import annotations

import unicodedata


def folded(text: str) -> str:
    """Lower case, without accents: what somebody means who types in a hurry."""
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in parts if not unicodedata.combining(letter))


def pieces(word: str) -> set[str]:
    """Every two neighbouring letters; a slip spoils at most three of them."""
    return {word[index : index + 2] for index in range(len(word) - 1)}


def slips(typed: str, text: str, *, inside: bool = False) -> int:
    """The fewest slips that make a beginning of ``text`` out of ``typed``.

    A slip is a letter too many, too few, another one, or two that changed places
    (the restricted Damerau-Levenshtein distance). The rest of ``text`` may follow,
    since a caller's name is seldom typed to its end.

    Parameters
    ----------
    inside
        ``typed`` may begin anywhere in ``text``, as the last digits of a phone number.
    """
    width = len(text) + 1
    before: list[int] = []
    row = [0] * width if inside else list(range(width))
    for line, letter in enumerate(typed, 1):
        earlier, before, row = before, row, [line]
        for column in range(1, width):
            other = text[column - 1]
            best = min(before[column] + 1, row[-1] + 1, before[column - 1] + (letter != other))
            swapped = line > 1 and column > 1 and letter == text[column - 2]
            if swapped and typed[line - 2] == other:
                best = min(best, earlier[column - 2] + 1)
            row.append(best)
    return min(row)


def slips_allowed(length: int) -> int:
    """How many slips a word of ``length`` is forgiven; common practice, no source."""
    if length < 3:
        return 0
    return 1 if length < 7 else 2
