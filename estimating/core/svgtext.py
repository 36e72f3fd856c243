"""Writing SVG by hand: escaped text, short numbers, elements.

Colours stand as plain attributes, which any stylesheet overrules by class, so a
picture looks right alone in a file and takes the page's colours inside a page,
without a style attribute that a content security policy would refuse.
"""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

INK = "#22211d"
INK_SOFT = "#6a675e"
LINE = "#cfcac0"
ACCENT = "#2f7a6b"
PAPER = "#fbf9f4"

STYLESHEET = """\
.film-strip text, .finish-curve text { fill: var(--ink, #22211d); }
.film-strip .soft, .finish-curve .soft { fill: var(--ink-soft, #6a675e); }
.film-strip .axis, .finish-curve .axis { stroke: var(--line, #cfcac0); }
.film-strip .floor, .film-strip .reading, .film-strip .local { stroke: var(--ink, #22211d); }
.film-strip .dot { fill: var(--ink-soft, #6a675e); }
.film-strip .takes, .film-strip .leaves { stroke: var(--accent, #2f7a6b); }
.finish-curve .step, .finish-curve .ring { stroke: var(--accent, #2f7a6b); }
.finish-curve .plan { fill: var(--accent, #2f7a6b); }
.finish-curve .limit, .finish-curve .cap { stroke: var(--ink, #22211d); }
"""


def number(value: float) -> str:
    """A coordinate with at most one decimal."""
    return f"{value:.1f}".removesuffix(".0")


def element(name: str, content: str = "", /, **attributes: str | float) -> str:
    """One element; underscores at the end of a name are dropped, others become dashes."""
    written = "".join(
        f" {key.rstrip('_').replace('_', '-')}="
        + quoteattr(number(value) if isinstance(value, (int, float)) else value)
        for key, value in attributes.items()
    )
    return f"<{name}{written}>{content}</{name}>" if content else f"<{name}{written}/>"


def text(x: float, y: float, words: str, **attributes: str | float) -> str:
    """A line of text at a point."""
    settings: dict[str, str | float] = {"x": x, "y": y, "font_size": 12, "fill": INK}
    return element("text", escape(words), **(settings | attributes))


def line(x1: float, y1: float, x2: float, y2: float, **attributes: str | float) -> str:
    """A straight line."""
    settings: dict[str, str | float] = {"x1": x1, "y1": y1, "x2": x2, "y2": y2, "stroke": INK}
    return element("line", **(settings | attributes))


def picture(kind: str, width: float, height: float, title: str, desc: str, body: str) -> str:
    """A whole picture with the title and description that a reader hears."""
    head = element("title", escape(title)) + element("desc", escape(desc))
    return element(
        "svg",
        head + body,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        class_=kind,
        role="img",
        font_family="system-ui, sans-serif",
    )
