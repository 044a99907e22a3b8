"""A drawing made ready to stand inside a page: no style attributes, no names that meet those of another."""

import re
from collections.abc import Iterator
from xml.etree import ElementTree

_SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"
_LONG_NUMBER = re.compile(r"-?\d+\.\d{3,}")
_REFERENCE = re.compile(r"url\(#([^)]+)\)")

PRESENTATION = frozenset(
    {
        "clip-path",
        "clip-rule",
        "color",
        "fill",
        "fill-opacity",
        "fill-rule",
        "font-family",
        "font-size",
        "font-stretch",
        "font-style",
        "font-variant",
        "font-weight",
        "letter-spacing",
        "opacity",
        "stroke",
        "stroke-dasharray",
        "stroke-dashoffset",
        "stroke-linecap",
        "stroke-linejoin",
        "stroke-miterlimit",
        "stroke-opacity",
        "stroke-width",
        "text-anchor",
        "visibility",
    }
)
"""Style properties that may as well be attributes; SVG 2, section 6.6, presentation attributes."""


def inline_svg(drawing: bytes, name: str) -> str:
    """A drawing as an `svg` element for a page whose policy allows no style attributes.

    `drawing`: an SVG file; `name`: put before every id, so that several drawings may stand in one page.
    Result: the element's text; its title and description are what it is announced as. Coordinates are
    rounded to a hundredth of a point. Errors: ValueError for a style that no attribute can say.
    """
    root = ElementTree.fromstring(drawing)
    for parent in list(root.iter()):
        for child in [c for c in parent if c.tag in {f"{_SVG}metadata", f"{_SVG}style"}]:
            parent.remove(child)
    used = set(_references(root))
    for element in root.iter():
        _plain(element, name, used)
    for parent in root.iter("g"):
        _join_hatched(parent)
    _announce(root, name)
    return ElementTree.tostring(root, encoding="unicode")


def _references(root: ElementTree.Element) -> Iterator[str]:
    """The ids that anything in the drawing points at."""
    for element in root.iter():
        for key, value in element.attrib.items():
            if key in {_HREF, "href"}:
                yield value.removeprefix("#")
            yield from _REFERENCE.findall(value)


def _plain(element: ElementTree.Element, name: str, used: set[str]) -> None:
    """Rewrite one element: bare tag, styles as attributes, names of its own, short numbers."""
    element.tag = element.tag.removeprefix(_SVG)
    attributes = dict(element.attrib)
    element.attrib.clear()
    for key, value in attributes.items():
        if key == "style":
            continue
        if key in {_HREF, "href"}:
            element.set("href", f"#{name}-{value.removeprefix('#')}")
        elif key == "id":
            if value in used:
                element.set("id", f"{name}-{value}")
        else:
            element.set(key, _short(value))
    for key, value in _styles(attributes.get("style", "")):
        element.set(key, _short(value))
    for key, value in element.attrib.items():
        element.set(key, _REFERENCE.sub(rf"url(#{name}-\1)", value))


def _styles(text: str) -> Iterator[tuple[str, str]]:
    for part in filter(str.strip, text.split(";")):
        key, _, value = part.partition(":")
        if key.strip() not in PRESENTATION:
            raise ValueError(f"a drawing styles {key.strip()!r}, which no attribute can say")
        yield key.strip(), value.strip()


def _short(value: str) -> str:
    return _LONG_NUMBER.sub(lambda m: f"{float(m[0]):.2f}".rstrip("0").rstrip("."), " ".join(value.split()))


def _join_hatched(parent: ElementTree.Element) -> None:
    """Make one path of neighbours with one hatch; browsers print many small hatched paths very slowly."""
    last: ElementTree.Element | None = None
    for child in list(parent):
        hatched = child.tag == "path" and child.get("fill", "").startswith("url(")
        if hatched and last is not None and _look(child) == _look(last):
            last.set("d", f"{last.get('d')} {child.get('d')}")
            parent.remove(child)
        else:
            last = child if hatched else None


def _look(path: ElementTree.Element) -> dict[str, str]:
    return {key: value for key, value in path.attrib.items() if key != "d"}


def _announce(root: ElementTree.Element, name: str) -> None:
    """Sized by the page, joins as its own style sheet had them, announced by title and description."""
    for key in ("width", "height", "version"):
        root.attrib.pop(key, None)
    root.set("stroke-linejoin", "round")
    root.set("stroke-linecap", "butt")
    told = []
    for tag in ("title", "desc"):
        words = root.find(tag)
        if words is not None and words.text:
            words.set("id", f"{name}-{tag}")
            told.append(f"{name}-{tag}")
    root.set("role", "img")
    root.set("aria-labelledby", " ".join(told))
