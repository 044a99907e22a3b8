"""Mistakes in `[soil]`: what cannot close low ground."""

import tomllib

import pytest
from pydantic import TypeAdapter, ValidationError

from fencegrade.job.checks import check_job
from fencegrade.job.choices import LowGround
from fencegrade.job.defaults import default_tables
from fencegrade.job.fields import FROM_FILE
from fencegrade.job.records import JobFile
from fencegrade.units import UnitSystem

ADAPTER = TypeAdapter(JobFile)
STOCK = '[[pickets.stock]]\nlength = "6 ft"\n'


def read(soil: str, stock: str = STOCK) -> JobFile:
    run = '[[run]]\nname = "bed"\nsurvey = "a.csv"\n'
    tree = tomllib.loads(f'[job]\ntitle = "x"\nunits = "imperial"\n{run}{stock}\n{soil}')
    for table, keys in default_tables(UnitSystem.IMPERIAL).items():
        tree[table] = keys | tree.get(table, {})
    return ADAPTER.validate_python(tree, context=FROM_FILE)


def found(soil: str, stock: str = STOCK) -> list[str]:
    return [str(p) for p in check_job(read(soil, stock), "job.toml", range(1))]


KICK = '[[soil.kickboard]]\nlength = "8 ft"\n'


@pytest.mark.parametrize(
    ("soil", "expected"),
    [
        (
            '[soil]\nlow_ground = "soil"\ncrest = "0 in"\nside_slope = 0.0\n',
            "[soil] crest: a fill without a crest and without side slopes has no soil in it; "
            "write how wide its level top is, such as 12 in or 300 mm",
        ),
        (
            '[soil]\nlow_ground = "kickboard"\n',
            "[soil] kickboard: kickboards are chosen but no length is offered; "
            'add [[soil.kickboard]] with its length, or write low_ground = "boards"',
        ),
        (
            f'[soil]\nlow_ground = "cheapest"\n{KICK}price = 9.0\n',
            "[soil] kickboard: kickboards have prices but pickets have none, so the cheapest cannot be told; "
            "give both a price, or neither",
        ),
        (
            f"[soil]\n{KICK}{KICK}",
            "[soil] kickboard 2, length: 96 in is offered twice; "
            "keep one entry a length; what is there, or paid elsewhere at another price, is on_hand",
        ),
    ],
)
def test_soil_that_cannot_be(soil: str, expected: str) -> None:
    assert found(soil) == [f"job.toml {expected}"]


def test_sound_soil() -> None:
    assert found('[soil]\nlow_ground = "cheapest"\nbag = "0.75 cu ft"\n') == []
    assert found(f'[soil]\nlow_ground = "kickboard"\n{KICK}') == []
    assert [str(c) for c in LowGround][:3] == ["boards", "soil", "cheapest"]
    assert read('[soil]\nbag = "40 l"\n').soil.bag == pytest.approx(1.4126, abs=5e-5)


@pytest.mark.parametrize(
    "line",
    ["loose_factor = 0.8", 'price = "40 per yard"', "bag = 40", 'bag = "40 lb"', 'most_depth = "-1 in"'],
)
def test_values_that_cannot_be_read(line: str) -> None:
    with pytest.raises(ValidationError):
        read(f"[soil]\n{line}\n")
