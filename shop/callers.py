"""Finding a caller who was misheard or mistyped, on any database, by a bounded search.

The database picks candidates by how many pairs of letters they share with what was
typed; slips are counted here, on those few.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from django.db.models import Case, IntegerField, Q, Value, When, prefetch_related_objects
from django.db.models.functions import Replace, Upper

from shop.models import Customer, Shop, Vehicle
from shop.near import folded, pieces, slips, slips_allowed
from shop.selectors import customers_search

_CANDIDATES: Final = 200
_MOST_WORDS: Final = 4
_LONGEST_WORD: Final = 24
_FEWEST_DIGITS: Final = 6
# Numbers of one exchange differ by two digits: a second slip finds the neighbours.
_SLIPS_IN_A_NUMBER: Final = 1
_MOST_PIECES: Final = 24
_SHARED: Final = 0.3
"""Of the pairs of letters, at least this share is still there after the slips allowed."""


@dataclass(frozen=True)
class Typed:
    """What one box holds, told apart: a name, a phone number, a plate, an address."""

    name: str = ""
    phone: str = ""
    plate: str = ""
    email: str = ""


def typed_apart(text: str) -> Typed:
    """Tell the parts of what was typed apart: digits are a phone, letters a name.

    A word of letters and digits is a plate, one with an @ an e-mail address.
    """
    name: list[str] = []
    phone: list[str] = []
    plate: list[str] = []
    email: list[str] = []
    for word in text.split():
        letters = any(letter.isalpha() for letter in word)
        digits = any(letter.isdigit() for letter in word)
        if "@" in word:
            email.append(word)
        elif letters and digits:
            plate.append(word)
        elif digits or (phone and not letters):
            phone.append(word)
        elif letters:
            name.append(word)
    number = " ".join(phone)
    if plate and len(re.sub(r"\D", "", number)) < _FEWEST_DIGITS:
        # "AB12 345": the digits belong to the plate.
        plate, number = [*plate, number], ""
    return Typed(" ".join(name), number, " ".join(plate).strip(), " ".join(email))


def callers_search(shop: Shop, text: str, limit: int = 6) -> list[Customer]:
    """Customers that fit ``text``, and where few do, those it is a slip away from.

    Vehicles are fetched with them. At most five queries, whatever the shop's size.
    """
    found = customers_search(shop, text, limit=limit)
    if len(found) >= min(limit, 3):
        return found
    known = {row.pk for row in found}
    near = [row for row in _near(shop, text) if row.pk not in known][: limit - len(found)]
    prefetch_related_objects(near, "vehicles")
    return found + near


def _near(shop: Shop, text: str) -> list[Customer]:
    """Candidates within the slips allowed, the nearest first."""
    words = [folded(word)[:_LONGEST_WORD] for word in text.split()[:_MOST_WORDS]]
    if not words or all(slips_allowed(len(_bare(word))) == 0 for word in words):
        return []
    digits = re.sub(r"\D", "", text).lstrip("0")
    whole_is_number = not any(letter.isalpha() for letter in text)
    candidates = _by_name_or_phone(shop, words, digits if whole_is_number else "")
    plated = _by_vehicle(shop, words, _bare(folded(text)))
    apart: dict[int, int] = {}
    rows: dict[int, Customer] = {}
    for customer, descriptions, plates in _gathered(candidates, plated):
        far = _apart(customer, descriptions, plates, words, digits if whole_is_number else "")
        if far is not None:
            apart[customer.pk], rows[customer.pk] = far, customer
    return sorted(rows.values(), key=lambda row: (apart[row.pk], row.name, row.pk))


def _by_name_or_phone(shop: Shop, words: list[str], digits: str) -> list[Customer]:
    if digits:
        if len(digits) < _FEWEST_DIGITS:
            return []
        return _most_shared(Customer.objects.of(shop), "phone__contains", pieces(digits))
    wanted = {piece for word in words for piece in pieces(word)}
    return _most_shared(Customer.objects.of(shop), "name__icontains", wanted)


def _by_vehicle(shop: Shop, words: list[str], whole: str) -> list[Vehicle]:
    """Vehicles whose plate, or for words of letters whose description, may be meant."""
    bare = Replace(Replace(Upper("plate"), Value(" ")), Value("-"))
    rows = Vehicle.objects.of(shop).annotate(bare_plate=bare).select_related("customer")
    if any(letter.isdigit() for letter in whole):
        return _most_shared(rows, "bare_plate__contains", pieces(whole.upper()))
    wanted = {piece for word in words for piece in pieces(word)}
    return _most_shared(rows, "description__icontains", wanted)


def _most_shared(rows: Any, lookup: str, wanted: Iterable[str]) -> list[Any]:
    """The rows that share most pieces, none that shares too few."""
    chosen = sorted(wanted)[:_MOST_PIECES]
    if not chosen:
        return []
    number = IntegerField()
    score: Any = Value(0, output_field=number)
    any_of = Q()
    for piece in chosen:
        hit = Q(**{lookup: piece})
        any_of |= hit
        score += Case(When(hit, then=Value(1)), default=Value(0), output_field=number)
    least = max(1, int(_SHARED * len(chosen)))
    ranked = rows.filter(any_of).annotate(shared=score).filter(shared__gte=least)
    return list(ranked.order_by("-shared", "pk")[:_CANDIDATES])


def _gathered(
    customers: list[Customer], vehicles: list[Vehicle]
) -> list[tuple[Customer, list[str], list[str]]]:
    """Each candidate once, with what is known of their vehicles here."""
    found: dict[int, tuple[Customer, list[str], list[str]]] = {
        row.pk: (row, [], []) for row in customers
    }
    for vehicle in vehicles:
        _row, descriptions, plates = found.setdefault(
            vehicle.customer_id, (vehicle.customer, [], [])
        )
        descriptions.append(vehicle.description)
        plates.append(vehicle.plate)
    return list(found.values())


def _apart(
    customer: Customer, descriptions: list[str], plates: list[str], words: list[str], digits: str
) -> int | None:
    """Slips in all between a candidate and what was typed; None where it is somebody else."""
    whole = _bare("".join(words))
    ways = [_one(whole, _bare(folded(plate))) for plate in plates]
    if digits:
        phone = re.sub(r"\D", "", customer.phone)
        far = slips(digits, phone, inside=True)
        ways.append(far if phone and far <= _SLIPS_IN_A_NUMBER else None)
    known = folded(" ".join((customer.name, *descriptions))).split()
    each = [
        min((far for far in (_one(word, one) for one in known) if far is not None), default=None)
        for word in words
    ]
    ways.append(None if None in each else sum(far for far in each if far is not None))
    return min((way for way in ways if way is not None), default=None)


def _one(typed: str, text: str) -> int | None:
    far = slips(typed, text)
    return far if far <= slips_allowed(len(typed)) else None


def _bare(text: str) -> str:
    return "".join(letter for letter in text if letter.isalnum())
