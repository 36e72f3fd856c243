"""The quote as a PDF, set by Typst."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import typst

from estimating.documents.quote_document import quote_lines
from estimating.models import Quote


def quote_pdf(quote: Quote) -> bytes:
    """Set the quote on paper.

    The wheel of Typst brings its own fonts and needs no network; fonts of the
    machine stand in only for letters that those lack. Texts go in as data beside a
    fixed source, so no name can be read as markup.

    Parameters
    ----------
    quote
        With shop, customer and vehicle at hand.
    """
    data = json.dumps(quote_lines(quote), ensure_ascii=False)
    pdf: bytes = typst.compile(_source(), sys_inputs={"data": data})
    return pdf


def quote_pdf_name(quote: Quote) -> str:
    """A file name that says which version it is."""
    return f"{quote.number}-v{quote.version}.pdf"


@cache
def _source() -> bytes:
    return Path(__file__).with_name("quote.typ").read_bytes()
