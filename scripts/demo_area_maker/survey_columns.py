"""Column names of a soil survey export's tables, by position.

Facts of the published export format; a reader finds its columns through them. Tables are those that this export has.
"""

from __future__ import annotations


def low_rep_high(*names: str) -> str:
    """Names of quantities that the survey gives as low, representative and high."""
    return " ".join(f"{name}_l {name}_r {name}_h" for name in names)


TABLE_FILES = {
    "mapunit": "mapunit",
    "component": "comp",
    "chorizon": "chorizon",
    "muaggatt": "muaggatt",
    "corestrictions": "crstrcts",
    "comonth": "cmonth",
    "cosoilmoist": "csmoist",
}
"""Table and the name of its text file."""

COLUMNS = {
    "mapunit": (
        f"musym muname mukind mustatus muacres {low_rep_high('mapunitlfw', 'mapunitpfa')} farmlndcl muhelcl muwathelcl "
        "muwndhelcl interpfocus invesintens iacornsr nhiforsoigrp nhspiagr vtsepticsyscl mucertstat lkey mukey"
    ),
    "component": (
        f"{low_rep_high('comppct')} compname compkind majcompflag otherph localphase "
        f"{low_rep_high('slope', 'slopelenusle')} runoff tfact wei weg erocl earthcovkind1 earthcovkind2 hydricon "
        f"hydricrating drainagecl {low_rep_high('elev')} aspectccwise aspectrep aspectcwise geomdesc "
        f"{low_rep_high('albedodry', 'airtempa', 'map', 'reannualprecip', 'ffd')} nirrcapcl nirrcapscl nirrcapunit "
        f"irrcapcl irrcapscl irrcapunit cropprodindex constreeshrubgrp wndbrksuitgrp {low_rep_high('rsprod')} "
        "foragesuitgrpid wlgrain wlgrass wlherbaceous wlshrub wlconiferous wlhardwood wlwetplant wlshallowwat "
        "wlrangeland wlopenland wlwoodland wlwetland soilslippot frostact "
        f"{low_rep_high('initsub', 'totalsub')} hydgrp corcon corsteel taxclname taxorder taxsuborder taxgrtgroup "
        "taxsubgrp taxpartsize taxpartsizemod taxceactcl taxreaction taxtempcl taxmoistscl taxtempregime "
        "soiltaxedition castorieindex flecolcomnum flhe flphe flsoilleachpot flsoirunoffpot fltemik2use fltriumph2use "
        "indraingrp innitrateleachi misoimgmtgrp vasoimgtgrp mukey cokey"
    ),
    "chorizon": (
        "hzname desgndisc desgnmaster desgnmasterprime desgnvert "
        + low_rep_high(
            *[
                "hzdept",
                "hzdepb",
                "hzthk",
                "fraggt10",
                "frag3to10",
                "sieveno4",
                "sieveno10",
                "sieveno40",
                "sieveno200",
                "sandtotal",
                "sandvc",
            ],
            *[
                "sandco",
                "sandmed",
                "sandfine",
                "sandvf",
                "silttotal",
                "siltco",
                "siltfine",
                "claytotal",
                "claysizedcarb",
                "om",
                "dbtenthbar",
            ],
            *["dbthirdbar", "dbfifteenbar", "dbovendry"],
        )
        + " partdensity "
        + low_rep_high(
            *["ksat", "awc", "wtenthbar", "wthirdbar", "wfifteenbar", "wsatiated", "lep", "ll", "pi", "aashind"]
        )
        + " kwfact kffact "
        + low_rep_high(
            *[
                "caco3",
                "gypsum",
                "sar",
                "ec",
                "cec7",
                "ecec",
                "sumbases",
                "ph1to1h2o",
                "ph01mcacl2",
                "freeiron",
                "feoxalate",
                "extracid",
                "extral",
            ],
            *["aloxalate", "pbray1", "poxalate", "ph2osoluble", "ptotal"],
        )
        + " excavdifcl excavdifms cokey chkey"
    ),
    "muaggatt": (
        "musym muname mustatus slopegraddcp slopegradwta brockdepmin wtdepannmin wtdepaprjunmin flodfreqdcd "
        "flodfreqmax pondfreqprs aws025wta aws050wta aws0100wta aws0150wta drclassdcd drclasswettest "
        "hydgrpdcd iccdcd iccdcdpct niccdcd niccdcdpct engdwobdcd engdwbdcd engdwbll engdwbml engstafdcd "
        "engstafll engstafml engsldcd engsldcp englrsdcd engcmssdcd engcmssmp urbrecptdcd urbrecptwta "
        "forpehrtdcp hydclprs awmmfpwwta mukey"
    ),
    "corestrictions": f"reskind reshard {low_rep_high('resdept', 'resdepb', 'resthk')} cokey corestrictkey",
    "comonth": (
        "monthseq month flodfreqcl floddurcl pondfreqcl ponddurcl "
        f"{low_rep_high('ponddep', 'dlyavgprecip', 'dlyavgpotet')} cokey comonthkey"
    ),
    "cosoilmoist": f"{low_rep_high('soimoistdept', 'soimoistdepb')} soimoiststat comonthkey cosoilmoistkey",
}
"""Columns of each table, in order, one space between."""

NUMBERS = frozenset(
    {"muacres", "comppct_r", "slope_r", "hzdept_r", "hzdepb_r", "ksat_r", "slopegraddcp", "brockdepmin", "wtdepannmin"}
    | {"resdept_r", "resdepb_r", "monthseq", "soimoistdept_r", "soimoistdepb_r"}
)
"""Columns written as numbers; everything else that has a value is quoted text."""
