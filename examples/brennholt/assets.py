"""What stands and runs above the East drive: terraces of masonry, a rail viaduct on piles, a brick sewer, a gas main."""

import csv
import io
from dataclasses import dataclass

from examples.brennholt import ground_truth as truth
from examples.brennholt.places import plan_of

COLUMNS = (
    "asset,name,kind,easting_m,northing_m,length_m,width_m,bearing_deg,foundation_level_m,height_m,structure,condition_factor,toe_level_m,pressure_kpa,"
    "joint_spacing_m,wall_thickness_m,young_modulus_mpa,settlement_limit_mm,slope_limit,is_sensitive,survey_date"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """An asset by its middle along and beside the drive; `skew_deg` turns it from the drive's bearing, depths count from the surface."""

    asset: str
    name: str
    kind: str
    chainage_m: float
    offset_m: float
    length_m: float
    width_m: float = 0.0
    skew_deg: float = 0.0
    foundation_depth_m: float
    height_m: float | None = None
    structure: str = ""
    condition_factor: float = 1.0
    toe_depth_m: float | None = None
    pressure_kpa: float | None = None
    joint_spacing_m: float | None = None
    wall_thickness_m: float | None = None
    young_modulus_mpa: float | None = None
    settlement_limit_mm: float | None = None
    slope_limit: float | None = None
    is_sensitive: bool = False
    survey_date: str = "2025-11-12"


def _terrace(letter: str, street: str, chainage_m: float, offset_m: float, count: int, height_m: float, condition_factor: float = 1.0) -> list[Placed]:
    """Return a row of houses of 21 m front each, set along the drive."""
    return [
        Placed(
            asset=f"{letter}{number + 1:02d}",
            name=f"{street} {2 * number + 1}",
            kind="building",
            chainage_m=chainage_m + 22.0 * number,
            offset_m=offset_m,
            length_m=21.0,
            width_m=11.5,
            foundation_depth_m=2.4,
            height_m=height_m,
            structure="masonry",
            condition_factor=condition_factor,
        )
        for number in range(count)
    ]


def _viaduct() -> list[Placed]:
    """Return the piers of the rail viaduct, square across the drive, and the track they carry."""
    piers = [
        Placed(
            asset=f"V{number:02d}",
            name=f"Rail viaduct, pier {number}",
            kind="pile",
            chainage_m=1294.0,
            offset_m=offset,
            length_m=4.5,
            width_m=6.0,
            skew_deg=90.0,
            foundation_depth_m=2.0,
            toe_depth_m=13.5,
            structure="concrete",
            settlement_limit_mm=10.0,
            is_sensitive=True,
        )
        for number, offset in enumerate((-33.0, -11.5, 11.0, 33.0), start=1)
    ]
    track = Placed(
        asset="R01",
        name="Rail viaduct, two tracks",
        kind="track",
        chainage_m=1294.0,
        offset_m=0.0,
        length_m=120.0,
        width_m=8.0,
        skew_deg=90.0,
        foundation_depth_m=-6.5,
        settlement_limit_mm=10.0,
        slope_limit=0.001,
        is_sensitive=True,
    )
    return [*piers, track]


SEWER = Placed(
    asset="S01",
    name="Old brick sewer",
    kind="pipe_jointed",
    chainage_m=412.0,
    offset_m=0.0,
    length_m=110.0,
    skew_deg=72.0,
    foundation_depth_m=6.3,
    height_m=2.1,
    structure="brick",
    condition_factor=0.7,
    joint_spacing_m=3.0,
    wall_thickness_m=0.36,
    young_modulus_mpa=4000.0,
    settlement_limit_mm=12.0,
    is_sensitive=True,
)
GAS_MAIN = Placed(
    asset="G01",
    name="Gas main, welded steel",
    kind="pipe_continuous",
    chainage_m=1590.0,
    offset_m=-6.0,
    length_m=300.0,
    skew_deg=4.0,
    foundation_depth_m=1.6,
    height_m=0.61,
    structure="steel",
    pressure_kpa=1600.0,
    wall_thickness_m=0.0095,
    young_modulus_mpa=210_000.0,
    settlement_limit_mm=20.0,
    is_sensitive=True,
    survey_date="",
)
WATER_MAIN = Placed(
    asset="W01",
    name="Water main, cast iron",
    kind="pipe_jointed",
    chainage_m=905.0,
    offset_m=0.0,
    length_m=90.0,
    skew_deg=58.0,
    foundation_depth_m=1.9,
    height_m=0.4,
    structure="cast_iron",
    pressure_kpa=600.0,
    joint_spacing_m=3.6,
    wall_thickness_m=0.018,
    young_modulus_mpa=100_000.0,
    settlement_limit_mm=15.0,
)
SCHOOL = Placed(
    asset="B01",
    name="Guild school",
    kind="building",
    chainage_m=1905.0,
    offset_m=17.0,
    length_m=44.0,
    width_m=18.0,
    skew_deg=-24.0,
    foundation_depth_m=3.2,
    height_m=16.0,
    structure="masonry",
    is_sensitive=True,
)
MARKET_HALL = Placed(
    asset="B02",
    name="Market hall",
    kind="building",
    chainage_m=1466.0,
    offset_m=-20.0,
    length_m=52.0,
    width_m=30.0,
    skew_deg=12.0,
    foundation_depth_m=4.0,
    height_m=12.0,
    structure="frame",
)


def placed() -> list[Placed]:
    """Return every asset."""
    return [
        *_terrace("T", "Miller's Row", 520.0, -13.5, 7, 12.5),
        *_terrace("U", "Tanner's Row", 690.0, 14.0, 6, 10.5, condition_factor=0.8),
        *_terrace("L", "Lantern Street", 1030.0, 12.0, 6, 13.0),
        *_viaduct(),
        SEWER,
        GAS_MAIN,
        WATER_MAIN,
        SCHOOL,
        MARKET_HALL,
    ]


def assets_csv() -> str:
    """Return the table of assets."""
    plan = plan_of(truth.EAST.axis)
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(COLUMNS.split(","))
    for one in placed():
        easting, northing = plan.beside(one.chainage_m, one.offset_m)
        surface = float(truth.ground_level_m(one.chainage_m))
        cells = [
            one.asset,
            one.name,
            one.kind,
            f"{float(easting):.2f}",
            f"{float(northing):.2f}",
            one.length_m,
            one.width_m,
            f"{(plan.bearing_deg(one.chainage_m) + one.skew_deg) % 360:.2f}",
            f"{surface - one.foundation_depth_m:.2f}",
            one.height_m,
            one.structure,
            one.condition_factor,
            None if one.toe_depth_m is None else f"{surface - one.toe_depth_m:.2f}",
            one.pressure_kpa,
            one.joint_spacing_m,
            one.wall_thickness_m,
            one.young_modulus_mpa,
            one.settlement_limit_mm,
            one.slope_limit,
            str(one.is_sensitive).lower(),
            one.survey_date,
        ]
        writer.writerow(cells)
    return table.getvalue()
