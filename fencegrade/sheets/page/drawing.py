"""A drawing made ready to stand inside a page: sized by it, and announced by its title and description."""

from xml.etree import ElementTree

_SVG = "{http://www.w3.org/2000/svg}"


def inline_svg(drawing: bytes, name: str) -> str:
    """A picture as an `svg` element for a page.

    `drawing`: an SVG file as `picture_svg` makes it, which needs no style attributes and no names; `name`:
    put before the ids of its title and description, as which it is announced. Result: the element's text.
    """
    root = ElementTree.fromstring(drawing)
    for element in root.iter():
        element.tag = element.tag.removeprefix(_SVG)
    for key in ("width", "height"):
        del root.attrib[key]
    root.set("stroke-linejoin", "round")
    root.set("stroke-linecap", "butt")
    for words in root.iterfind("*"):
        if words.tag in {"title", "desc"}:
            words.set("id", f"{name}-{words.tag}")
    root.set("aria-labelledby", f"{name}-title {name}-desc")
    return ElementTree.tostring(root, encoding="unicode")
