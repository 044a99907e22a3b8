"""The page that takes readings on a phone: one HTML file, no network, and the doubts of `ground`."""

import json
from collections.abc import Sequence

from markupsafe import Markup

from fencegrade.ground.taking import rules
from fencegrade.sheets.page.assets import asset, content_policy, template
from fencegrade.units import UnitSystem

MARKS = (
    ("", "open ground"),
    ("break", "crest, toe or edge"),
    ("wall, before", "wall or kerb: before it"),
    ("wall, after", "wall or kerb: after it"),
    ("gate post", "gate post"),
    ("root", "root"),
    ("water", "water"),
)
"""What may stand at a reading: the value kept with it, and the words of the page."""


def readings_page(
    title: str, system: UnitSystem, runs: Sequence[tuple[str, str]], kept_as: str | None = None
) -> bytes:
    """The page that takes readings, one self-contained HTML file.

    `title`: the job's name; `system`: the units it begins with; `runs`: the name of each, and the file its
    text is meant for; `kept_as`: the name its readings are kept under on the phone, which stays where the
    title changes; the title if absent. The same words give the same bytes.
    """
    css = asset("page.css") + asset("readings.css")
    script = asset("lengths.js") + asset("readings_rules.js") + asset("readings.js")
    table = json.dumps({str(s): rules(s) for s in UnitSystem}, sort_keys=True)
    html = template("readings.html.jinja").render(
        title=title,
        kept_as=kept_as or title,
        system=str(system),
        runs=runs,
        marks=MARKS,
        rules=Markup(table.replace("<", "\\u003c")),
        css=Markup(css),
        script=Markup(script),
        policy=content_policy(css, script),
    )
    return html.encode()
