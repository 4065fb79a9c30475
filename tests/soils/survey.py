"""A made-up survey of three map units, in the tables and column names of a soil survey export."""

import pandas as pd

COMPONENTS = [
    # mukey, cokey, compname, comppct_r, hydgrp
    ("1", "11", "Alpha", 60, "B"),
    ("1", "12", "Beta", 30, None),
    ("1", "13", "Gamma", 10, None),
    ("2", "21", "Urban land", 55, "D"),
    ("2", "22", "Alpha", 45, "B"),
    ("3", "31", "Delta", 85, None),
    ("3", "32", "Alpha", 15, "B"),
]
HORIZONS = [
    # cokey, hzdept_r, hzdepb_r, ksat_r
    ("11", 0, 30, 28.0),
    ("11", 30, 152, 9.0),
    ("12", 0, 25, 2.7),
    ("12", 25, 152, 0.2),
    ("22", 0, 152, 9.0),
    ("31", 0, 60, 9.0),
    ("31", 60, 120, 1.0),
    ("31", 120, 152, 0.5),
]


def survey_tables():
    names = {"1": "Alpha-Beta complex", "2": "Urban land-Alpha complex", "3": "Delta loam"}
    return {
        "mapunit": pd.DataFrame({"mukey": list(names), "muname": list(names.values())}),
        "component": pd.DataFrame(COMPONENTS, columns=["mukey", "cokey", "compname", "comppct_r", "hydgrp"]),
        "chorizon": pd.DataFrame(HORIZONS, columns=["cokey", "hzdept_r", "hzdepb_r", "ksat_r"]),
        "muaggatt": pd.DataFrame(
            {
                "mukey": ["1", "2", "3"],
                "hydgrpdcd": ["B", "D", None],
                "wtdepannmin": [46, None, 30],
                "brockdepmin": [None, None, 150],
            }
        ),
        "corestrictions": pd.DataFrame(
            {
                "cokey": ["12", "31", "31"],
                "reskind": ["Bedrock, lithic", "Fragipan", "Abrupt textural change"],
                "resdept_r": [140, 76, 20],
            }
        ),
        "comonth": pd.DataFrame({"comonthkey": ["a", "b", "c"], "cokey": ["31", "31", "11"]}),
        "cosoilmoist": pd.DataFrame(
            {
                "comonthkey": ["a", "b", "b", "c"],
                "soimoiststat": ["Wet", "Wet", "Moist", "Moist"],
                "soimoistdept_r": [61, 40, 0, 0],
            }
        ),
    }
