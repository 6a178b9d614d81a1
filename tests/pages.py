"""Reading pages back: a report more strictly than a browser, as well-formed XML, and a notebook's images."""

import base64
import re
from xml.etree import ElementTree

MATH, SVG = "{http://www.w3.org/1998/Math/MathML}", "{http://www.w3.org/2000/svg}"


def parse(html: str) -> ElementTree.Element:
    """The root element; an error if anything is not closed, not nested or not escaped."""
    doctype, _, page = html.partition("\n")
    assert doctype == "<!DOCTYPE html>"
    return ElementTree.fromstring(page)


def drawings(html: str) -> list[str]:
    """The SVG of every picture that a notebook shows as an image."""
    images = re.findall(r'<img src="data:image/svg\+xml;base64,([^"]+)"', html)
    return [base64.b64decode(image).decode() for image in images]


def text(element: ElementTree.Element) -> str:
    """All text below an element, in one line, no-break spaces as spaces."""
    return re.sub(r"\s+", " ", "".join(element.itertext())).strip()


def section(root: ElementTree.Element, id: str) -> ElementTree.Element:
    """The section with an id."""
    return next(e for e in root.iter("section") if e.get("id") == id)


def by_id(root: ElementTree.Element, id: str) -> ElementTree.Element:
    """The one element with an id."""
    (found,) = (e for e in root.iter() if e.get("id") == id)
    return found


def facts(table: ElementTree.Element) -> dict[str, str]:
    """Rows of a table of two columns."""
    rows = (list(row) for row in table.iter("tr"))
    return {text(row[0]): text(row[1]) for row in rows if row[1].tag == "td"}
