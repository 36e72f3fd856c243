"""The quote on paper: everything the customer needs, in words nobody can turn into markup."""

import io
import re
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from pypdf import PdfReader

from estimating.core.options import Options
from estimating.documents.quote_pdf import quote_pdf, quote_pdf_name
from estimating.models import Quote
from estimating.services.inspections import inspection_save
from estimating.web.words import PANELS
from shop.models import Member, Shop, Vehicle
from tests.factories import NOW, fender

MARKUP = '*Ann* _B_ #panic("x") $x$ `r` = Head @ref <a> \\ // /* "q" ~ [c] {d}'


def read(quote: Quote) -> PdfReader:
    pdf = quote_pdf(quote)
    assert pdf.startswith(b"%PDF-")
    return PdfReader(io.BytesIO(pdf))


def text_of(quote: Quote) -> str:
    """The text on all pages, each run of white space as one space."""
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in read(quote).pages))


def test_number_work_price_range_and_cautions(quoted: Callable[..., Quote]) -> None:
    quote = quoted(options=Options(coating="lantern"))
    said = text_of(quote)
    for expected in (
        f"Quote {quote.number}",
        "valid until 16 Mar 2026",
        quote.customer.name,
        "pickup, crew cab, dark blue",
        quote.title,
        f"${quote.price:,.2f}",
        f"${quote.price + quote.tax:,.2f}",
        f"between ${quote.price_p10:,.0f} and ${quote.price_p90:,.0f} before tax",
        "Front left fender",
        "Do not wash it for 7 days",
        "1 / 1",
    ):
        assert expected in said, expected


def test_a_name_full_of_markup_is_set_as_it_is(
    quoted: Callable[..., Quote], vehicle: Vehicle
) -> None:
    vehicle.customer.name, vehicle.description = MARKUP, '"); #set page(width: 1pt) //'
    said = text_of(quoted())
    assert MARKUP in said
    assert '"); #set page(width: 1pt) //' in said


def test_what_nobody_has_seen_is_not_listed_as_seen(quoted: Callable[..., Quote]) -> None:
    said = text_of(quoted(inspection=None))
    assert "Not inspected yet" in said
    assert "Front left fender" not in said


def test_a_long_quote_goes_over_pages_with_its_heads(
    quoted: Callable[..., Quote], vehicle: Vehicle, owner: Member
) -> None:
    many = inspection_save(
        vehicle=vehicle,
        member=owner,
        now=NOW,
        document={"unit": "mil", "panels": [fender(panel=name) for name in PANELS]},
    )
    pages = [page.extract_text() for page in read(quoted(inspection=many)).pages]
    assert len(pages) > 1
    assert "Film left, at least" in pages[0]
    assert f"{len(pages)} / {len(pages)}" in pages[-1]


@pytest.mark.parametrize(("country", "width"), [("US", 612), ("DE", 595)])
def test_on_the_paper_of_the_country(
    shop: Shop, quoted: Callable[..., Quote], country: str, width: int
) -> None:
    """Letter is 8.5 in and A4 is 210 mm (ISO 216) wide; a point is 1/72 in."""
    shop.country = country
    assert round(float(read(quoted()).pages[0].mediabox.width)) == width


def test_deposit_and_discount(shop: Shop, quoted: Callable[..., Quote]) -> None:
    assert "deposit" not in text_of(quoted())
    shop.deposit_share = Decimal("0.25")
    shop.save()
    quote = quoted(discount_share=Decimal("0.1"))
    gross = quote.price + quote.tax
    said = text_of(quote)
    assert f"A deposit of ${gross * Decimal('0.25'):,.2f} is due" in said
    assert "A discount of 10 %" in said


def test_the_same_quote_makes_the_same_file(quoted: Callable[..., Quote]) -> None:
    quote = quoted()
    assert quote_pdf(quote) == quote_pdf(quote)


def test_a_later_version_says_so(quoted: Callable[..., Quote]) -> None:
    first = quoted()
    second = quoted(replaces=first, now=NOW + timedelta(hours=1))
    assert f"Quote {first.number}, version 2" in text_of(second)
    assert quote_pdf_name(second) == f"{first.number}-v2.pdf"
