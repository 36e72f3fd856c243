"""The quote as a PDF."""

from __future__ import annotations

from estimating.documents.quote_document import quote_lines
from estimating.documents.typesetting import typeset
from estimating.models import Quote


def quote_pdf(quote: Quote) -> bytes:
    """Set the quote on paper.

    Parameters
    ----------
    quote
        With shop, customer and vehicle at hand.
    """
    return typeset("quote.typ", quote_lines(quote))


def quote_pdf_name(quote: Quote) -> str:
    """A file name that says which version it is."""
    return f"{quote.number}-v{quote.version}.pdf"
