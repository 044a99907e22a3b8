"""How what is told of many cases is written down, so that little stands there twice."""

from collections.abc import Iterable

from fencegrade.problems import Problem


def told_line(problem: Problem) -> str:
    """A problem in one line."""
    return f"{problem.severity} {problem.place}: {problem.found}; {problem.remedy}"


def each_remedy_once(lines: Iterable[str]) -> str:
    """The lines as one text; what to do stands where it is told first."""
    known: set[str] = set()
    kept = []
    for line in lines:
        found, _, remedy = line.partition("; ")
        kept.append(found if remedy in known else line)
        known.add(remedy)
    return "\n".join([*kept, ""])
