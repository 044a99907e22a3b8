"""A lane of 40 ft over a hollow, fenced from 6 ft and 8 ft boards."""

from pathlib import Path

from fencegrade.job.read import Job, read_job

HOLLOW = "station [ft],drop [in]\n0,20\n8,21\n16,26\n20,30\n26,25\n34,21\n40,20\n"


def a_job(folder: Path, survey: str = HOLLOW, pickets: str = "", run: str = "", rest: str = "") -> Job:
    """The job, with more keys of its pickets, of its run and of other tables."""
    (folder / "job.toml").write_text(
        '[job]\ntitle = "Herb garden"\nunits = "imperial"\n'
        f'[[run]]\nname = "lane side"\nsurvey = "lane.csv"\n{run}\n'
        f'[pickets]\n{pickets}\n[[pickets.stock]]\nlength = "6 ft"\nprice = 4.0\n'
        f'[[pickets.stock]]\nlength = "8 ft"\nprice = 6.0\n{rest}'
    )
    (folder / "lane.csv").write_text(survey)
    return read_job(folder)
