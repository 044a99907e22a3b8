"""The reference of surveys in the README, made from the table of their kinds."""

from fencegrade.job.survey import KINDS


def surveys_markdown() -> str:
    """The table of kinds: what each is called, its columns, and when it is used."""
    rows = ["| kind | columns | when |", "|---|---|---|"]
    for kind in KINDS:
        sure = [name for name in kind.columns if name in {*kind.needs, *kind.one_of}]
        perhaps = [name for name in kind.columns if name not in sure]
        columns = f"{_named(sure)}, perhaps {_named(perhaps)}"
        rows.append(f"| {kind.name.removeprefix('a ')} | {columns} | {kind.when} |")
    return "\n".join(rows)


def _named(columns: list[str]) -> str:
    return ", ".join(f"`{name}`" for name in columns)
