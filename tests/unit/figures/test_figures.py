"""Every figure says where it comes from."""

import pytest

from fencegrade.figures import (
    bearing,
    concrete,
    holes,
    lumber,
    overhead_lines,
    shrinkage,
    soil,
    timber,
    wind,
)
from fencegrade.figures.sources import Mark, Source

SOURCES = [
    *[b.source for b in bearing.BEARING.values()],
    bearing.FORMULA_SOURCE,
    bearing.PAVED_SOURCE,
    bearing.ISOLATED_POLE_SOURCE,
    *[b.source for b in concrete.BAGS],
    concrete.LIFT_SOURCE,
    holes.SHARE_SOURCE,
    lumber.DRY_SOURCE,
    soil.SWELL_SOURCE,
    *[value.source for _, value in timber.SMALL_POSTS],
    *[w.source for w in lumber.WOOD_WEIGHTS.values()],
    lumber.USE_SOURCE,
    concrete.WATER_SOURCE,
    concrete.GRAVEL_SOURCE,
    timber.LARGE_POST.source,
    timber.CEDAR_POST.source,
    wind.ON_THE_GROUND.source,
    timber.DURATION_SOURCE,
    *[k.source for k in wind.KZ.values()],
    *[c.source for c in (wind.VELOCITY_FACTOR, wind.KD, wind.GUST, wind.ALLOWABLE_STRESS, wind.ARM)],
    wind.FORCE_SOURCE,
]


@pytest.mark.parametrize("source", SOURCES, ids=str)
def test_a_source_names_its_document_and_mark(source: Source) -> None:
    assert bool(source.document) is (source.mark is not Mark.PRACTICE)
    assert str(source.mark) in str(source)


def test_common_practice_says_so() -> None:
    assert str(holes.GRAVEL_SOURCE) == "common practice, no source"
    assert holes.GRAVEL_SOURCE.mark is Mark.PRACTICE


TOLD = (
    (
        bearing.FORMULA_SOURCE,
        "International Building Code, section 1807.3.2.1, equation 18-1; that d counts to 12 ft is its "
        "definition of d there (seen in a source that restates the document)",
    ),
    (
        bearing.PAVED_SOURCE,
        "International Building Code, section 1807.3.2.2, equation 18-2 (seen in a source that restates the "
        "document)",
    ),
    (
        bearing.ISOLATED_POLE_SOURCE,
        "International Building Code 2012, section 1806.3.4 (seen in a source that restates the document)",
    ),
    (
        concrete.LIFT_SOURCE,
        "NIOSH publication 94-110, lifting equation, load constant (not checked against the document)",
    ),
    (concrete.WATER_SOURCE, "makers' data sheets, least water for 80 lb (not checked against the document)"),
    (
        concrete.GRAVEL_SOURCE,
        "makers' data sheets, bag of 50 lb of all-purpose gravel (not checked against the document)",
    ),
    (holes.SHARE_SOURCE, "joneakes.com, home-repair database, item 2094 (seen)"),
    (holes.ROUND_SOURCE, "International Building Code 1807.3.3 (not checked against the document)"),
    (holes.GATE_POST_SOURCE, "common practice, no source"),
    (holes.GRAVEL_SOURCE, "common practice, no source"),
    (
        lumber.DRY_SOURCE,
        "American Softwood Lumber Standard PS 20, dry sizes (seen in a source that restates the document)",
    ),
    (lumber.USE_SOURCE, "AWPA standard U1, use categories (not checked against the document)"),
    (
        overhead_lines.NEAREST_SOURCE,
        "US 29 CFR 1910.333(c)(3)(i), unqualified persons, 50 kV or less (not checked against the document)",
    ),
    (
        soil.SWELL_SOURCE,
        "US Army FM 5-434 (2000), chapter 1, soil conversion factors (not checked against the document)",
    ),
    (timber.DURATION_SOURCE, "NDS section 2.3.2, wind (not checked against the document)"),
    (timber.LARGE_POST.source, "NDS Supplement table 4D (not checked against the document)"),
    (
        timber.CEDAR_POST.source,
        "NDS Supplement table 4D, posts and timbers (not checked against the document)",
    ),
    (
        wind.FORCE_SOURCE,
        "ASCE 7-10 figure 29.4-1, ASCE 7-16 figure 29.3-1, s/h = 1 (not checked against the document)",
    ),
    (
        wind.ON_THE_GROUND.source,
        "ASCE 7-16 figure 29.3-1: 1.8 - s/h, s/h = 1 (not checked against the document)",
    ),
    (wind.VELOCITY_FACTOR.source, "ASCE 7-16 equation 26.10-1 (seen in a source that restates the document)"),
    (wind.KD.source, "ASCE 7-16 table 26.6-1, solid freestanding walls (not checked against the document)"),
    (wind.GUST.source, "ASCE 7-16 section 26.11, rigid (seen in a source that restates the document)"),
    (
        wind.ALLOWABLE_STRESS.source,
        "ASCE 7-16 section 2.4, wind in allowable-stress combinations (not checked against the document)",
    ),
    (
        wind.ARM.source,
        "ASCE 7-16 figure 29.3-1: resultant 0.05 of its height over a wall's middle (not checked against the "
        "document)",
    ),
    (
        bearing.BEARING[bearing.SoilClass.BEDROCK].source,
        "International Building Code 2012, table 1806.2 (seen in a source that restates the document)",
    ),
    (
        timber.SMALL_POSTS[0][1].source,
        "NDS Supplement table 4B, since June 2013 (not checked against the document)",
    ),
    (
        wind.KZ[wind.Exposure.B].source,
        "ASCE 7-16 table 26.10-1, 0 to 15 ft (not checked against the document)",
    ),
    (
        lumber.WOOD_WEIGHTS[lumber.Wood.TREATED].source,
        "USDA Wood Handbook FPL-GTR-282, table 5-3, loblolly pine, green; at 70 % moisture as it leaves the "
        "treater, common practice (not checked against the document)",
    ),
    (
        lumber.WOOD_WEIGHTS[lumber.Wood.SOFTWOOD].source,
        "USDA Wood Handbook FPL-GTR-282, table 5-3, loblolly pine, 12 % (not checked against the document)",
    ),
    (
        lumber.WOOD_WEIGHTS[lumber.Wood.CEDAR].source,
        "USDA Wood Handbook FPL-GTR-282, table 5-3, old-growth redwood, the heaviest of them, 12 % (not "
        "checked against the document)",
    ),
)


@pytest.mark.parametrize(("source", "told"), TOLD, ids=str)
def test_a_source_reads_as_it_was_written(source: Source, told: str) -> None:
    assert str(source) == told


def test_soils_grades_and_words_read_as_they_were_written() -> None:
    assert [(s.value, b.material, b.lateral) for s, b in bearing.BEARING.items()] == [
        ("bedrock", "crystalline bedrock", 1200),
        ("rock", "sedimentary and foliated rock", 400),
        ("gravel", "sandy gravel and gravel (GW, GP)", 200),
        ("sand", "sand; silty or clayey sand or gravel (SW, SP, SM, SC, GM, GC)", 150),
        ("clay", "clay; sandy or silty clay; clayey silt; silt; sandy silt (CL, ML, MH, CH)", 100),
    ]
    posts = [*(value for _, value in timber.SMALL_POSTS), timber.LARGE_POST, timber.CEDAR_POST]
    assert [(value.grade, value.stress) for value in posts] == [
        ("southern pine No. 2, 2 to 4 in thick and wide", 1100),
        ("southern pine No. 2, 2 to 4 in thick, 5 and 6 in wide", 1000),
        ("southern pine No. 2, 2 to 4 in thick, 8 in wide", 925),
        ("southern pine No. 2, 2 to 4 in thick, 10 in wide", 800),
        ("southern pine No. 2, 2 to 4 in thick, 12 in wide", 750),
        ("southern pine No. 2, 5x5 and larger", 850),
        ("western cedars No. 2, taken for every size", 475),
    ]
    assert [(w.per_cent, w.source) for w in shrinkage.MOISTURE_WORDS.values()] == [
        (28.0, "FPL-RP-489, moisture content of green wood in its shrinkage line"),
        (
            19.0,
            "PS 20 (American Softwood Lumber Standard), limit of dry lumber, not checked against the "
            "document",
        ),
        (12.0, "USDA Wood Handbook, average for exterior wood, not checked against the document"),
    ]
    assert [(x.a, x.b, x.driest, x.wettest, x.green, x.source) for x in shrinkage.SHRINKAGE.values()] == [
        (
            6.031,
            0.215,
            8.0,
            19.0,
            28.0,
            "USDA Forest Products Laboratory, research paper FPL-RP-489: width, 8 to 19 %, green 28 %",
        ),
        (
            3.454,
            0.157,
            8.0,
            19.0,
            22.0,
            "ASTM D1990, width of redwood and cedars, not checked against the document; green 22 % is where "
            "the line meets zero, own derivation",
        ),
    ]


def test_every_row_of_the_ends_of_a_wall() -> None:
    """ASCE 7-16 figure 29.3-1, case C: from memory."""
    assert [(ratio, tuple(cf for cf in row if cf == cf)) for ratio, row in wind.END_COEFFICIENTS] == [
        (2.0, (2.25, 1.5)),
        (3.0, (2.6, 1.7, 1.15)),
        (4.0, (2.9, 1.9, 1.3, 1.1, 1.1, 1.1)),
        (5.0, (3.1, 2.0, 1.45, 1.05, 1.05, 1.05)),
        (6.0, (3.3, 2.15, 1.55, 1.05, 1.05, 1.05)),
        (7.0, (3.4, 2.25, 1.65, 1.05, 1.05, 1.05)),
        (8.0, (3.55, 2.3, 1.7, 1.05, 1.05, 1.05)),
        (9.0, (3.65, 2.35, 1.75, 1.0, 1.0, 1.0)),
        (10.0, (3.75, 2.45, 1.85, 0.95, 0.95, 0.95)),
        (13.0, (4.0, 2.6, 2.0, 1.5, 1.35, 0.9, 0.55)),
        (45.0, (4.3, 2.55, 1.95, 1.85, 1.85, 1.1, 0.55)),
    ]
    assert (1, 2, 3, 4, 5, 10, float("inf")) == wind.END_ZONES
    assert {e.value: k.value for e, k in wind.KZ.items()} == {"B": 0.57, "C": 0.85, "D": 1.03}
