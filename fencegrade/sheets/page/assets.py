"""What the pages are made of: their texts, their templates, and the policy that shuts them in."""

import base64
import hashlib
import re
from functools import cache
from importlib import resources

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup, escape

from fencegrade.sheets.unbroken import unbroken


def asset(name: str) -> str:
    """A style sheet, script or template of this room, as text."""
    return resources.files("fencegrade.sheets.page").joinpath(name).read_text(encoding="utf-8")


@cache
def template(name: str) -> Template:
    """A template of this room; every text of the user's is escaped in it."""
    house = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    house.filters["unbroken"] = _unbroken
    house.filters["with_units"] = unbroken
    return house.from_string(asset(name))


def content_policy(css: str, script: str) -> str:
    """A content-security policy that lets a page use these two texts and nothing else.

    Source: W3C Content Security Policy Level 3, hash sources in sections 6.7.3 and 8.4.
    """
    return (
        f"default-src 'none'; style-src '{_hash(css)}'; script-src '{_hash(script)}'; "
        "base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _unbroken(text: str) -> Markup:
    """A text in which no line ends within a length such as 5-1/2, nor between a figure and its unit."""
    told = str(escape(unbroken(text)))
    return Markup(re.sub(r"\d+-\d+/\d+", r'<span class="whole">\g<0></span>', told))
