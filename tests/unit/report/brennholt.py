"""Records of the invented East drive for the gallery and the tests of the drawings. All numbers are made for the picture."""

import numpy as np

from tunnelwright.report.figure import Reading
from tunnelwright.report.inputs import (
    AssetOutline,
    BoreholeStick,
    DriveSheet,
    Event,
    FaceSensor,
    FaceSheet,
    FaceStratum,
    GroundLayer,
    GroundLens,
    GroundSection,
    HoldPlace,
    NamedGap,
    PhaseSpan,
    Places,
    PushChart,
    PushLine,
    PushNote,
    PushPanel,
    PushReading,
    RingMark,
    RingRail,
    StateRow,
    Strip,
    WaterLevel,
)
from tunnelwright.report.known_strips import (
    advance_rate_strip,
    deviation_strip,
    face_pressure_strip,
    grout_ratio_strip,
    muck_ratio_strip,
    settlement_strip,
)
from tunnelwright.vocabulary.criterion import Criterion

RINGS, BUILT, LENGTH_M = 1453, 871, 1.5
NAN = float("nan")


def places(ring_count: int = RINGS, built: int = BUILT) -> Places:
    rings = np.arange(1, ring_count + 1)
    ring = rings * LENGTH_M
    return Places(
        ring_number=rings,
        ring_chainage_m=ring,
        face_start_chainage_m=ring - LENGTH_M + 9.0,
        face_end_chainage_m=ring + 9.0,
        grout_chainage_m=ring - 3.3,
        grout_ring_number=rings - 2,
        built_ring_number=built,
    )


def wave(rings: np.ndarray, seed: int, scale: float, smooth: int = 9) -> np.ndarray:
    noise = np.random.default_rng(seed).normal(size=rings.size + smooth)
    return scale * np.convolve(noise, np.ones(smooth) / np.sqrt(smooth), mode="valid")[: rings.size]


def until_now(values: np.ndarray, where: Places) -> np.ndarray:
    return np.where(where.ring_number <= where.built_ring_number, values, np.nan)


def bump(rings: np.ndarray, at: int, width: float) -> np.ndarray:
    return np.exp(-0.5 * ((rings - at) / width) ** 2)


def pressure(where: Places) -> Strip:
    rings = where.ring_number
    target = 165 + 15.0 * (rings > 760) + 10.0 * (rings > 950)
    recorded = until_now(target - 2 + wave(rings, 1, 4.0) - 31 * bump(rings, 846, 1.2), where)
    recorded[(rings >= 802) & (rings <= 806)] = np.nan
    half = 7 + np.abs(wave(rings, 2, 2.0, 3))
    upper = target + 46.0 - 18.0 * ((rings > 915) & (rings < 945))
    return face_pressure_strip(
        target,
        target - 26.0,
        upper,
        recorded,
        recorded - half,
        recorded + half,
        gaps=(NamedGap(first_ring=802, last_ring=806, words="no log, push 802 to 806"),),
        events=(Event(ring_number=846, state="act", words="push 846, 19 Nov, 02:40: 31 kPa low", value=148),),
    )


def muck(where: Places) -> Strip:
    rings = where.ring_number
    ratio = until_now(1.0 + wave(rings, 3, 0.012, 2) + 0.12 * bump(rings, 846, 0.8), where)
    ratio[(rings >= 802) & (rings <= 806)] = np.nan
    rebased = (rings >= 812) & (rings <= 838)
    expected = np.full(rings.size, 118.2)
    raw = np.where(rebased, ratio + 0.05, np.nan) * expected
    event = Event(ring_number=846, state="act", words="846: 1.12", value=1.12)
    return muck_ratio_strip(expected, ratio * expected, 0.95, 1.05, raw_t=raw, corrected=rebased, events=(event,))


def grout(where: Places) -> Strip:
    rings = where.ring_number
    ratio = until_now(0.98 + wave(rings, 4, 0.02, 3) + 0.38 * bump(rings, 854, 0.8), where)
    planned = np.full(rings.size, 4.96)
    events = (
        Event(ring_number=854, state="watch", words="ring 852 took 1.36 when the tail passed, push 854, 20 Nov", value=1.36),
        Event(ring_number=790, state="watch", words="", value=0.9),
    )
    return grout_ratio_strip(planned, ratio * planned, 0.95, 1.30, events=events)


def advance(where: Places) -> Strip:
    rings = where.ring_number
    rate = until_now(np.round(50 + wave(rings, 5, 5, 3) - 25 * bump(rings, 847, 2)), where)
    rate[(rings >= 802) & (rings <= 806)] = np.nan
    return advance_rate_strip(np.where(rings < 880, 50.0, 44.0), rate)


def deviation(where: Places) -> Strip:
    rings = where.ring_number
    lateral, vertical = until_now(wave(rings, 6, 3.2, 40) * 1.2 - 4, where), until_now(wave(rings, 7, 3.0, 40) - 6, where)
    back = np.where((rings >= BUILT) & (rings < BUILT + 40), -8 * np.exp(-(rings - BUILT) / 14.0), np.nan)
    return deviation_strip(lateral, vertical, 50.0, return_lateral_mm=back)


def settlement(where: Places) -> Strip:
    at = where.ring_chainage_m
    planned = 8.5 - 2.0 * np.sin(at / 150)
    face = BUILT * LENGTH_M + 9
    expected = np.where(at < face + 40, planned / (1 + np.exp((at - face + 8) / 8.0)) + 0.2, np.nan)
    points = np.arange(1085.0, face - 6, 9.0)
    measured = 9.5 + np.sin(points / 40) / 2 + 6.0 * np.exp(-0.5 * ((points - 1277) / 9) ** 2)
    measured *= 1 / (1 + np.exp((points - face + 8) / 8.0))
    return settlement_strip(
        planned,
        15.0,
        "level 2: 15",
        expected_mm=expected,
        expected_low_mm=expected * 0.75,
        expected_high_mm=expected * 1.25,
        point_chainage_m=points,
        point_mm=measured,
        events=(Event(ring_number=851, state="act", words="15.8 at 1+277, Kiln Row 45", value=15.6),),
    )


def state_rows(where: Places) -> tuple[StateRow, ...]:
    codes = np.where(where.ring_number <= where.built_ring_number, 0, -1)

    def row(name: str, place: str, found: dict[int, tuple[int, str]]) -> StateRow:
        own = codes.copy()
        for ring, (code, _) in found.items():
            own[ring - 1] = code
        return StateRow(name=name, place=place, codes=own, words={ring: words for ring, (_, words) in found.items()})  # type: ignore[arg-type]

    no_log = {ring: (3, "no log") for ring in range(802, 807)}
    return (
        row("pressure", "face", {846: (2, "31 kPa low"), **no_log}),
        row("muck", "face", {846: (2, "ratio 1.12"), **no_log}),
        row("grout", "grout", {790: (1, "0.90"), 854: (1, "1.36"), 871: (1, "crown port 0.48 of its share"), 803: (3, "no log")}),
        row("position", "ring", {739: (1, "vertical -41 mm")}),
        row("movement", "face", {846: (2, "Kiln Row 45 at level 2")}),
        row("gas", "face", {ring: (3, "methane and oxygen not sampled since 06:40") for ring in range(869, 872)}),
    )


def section(where: Places) -> GroundSection:
    at = np.arange(0.0, 2190.0, 3.0)
    surface = 48.4 + 0.5 * np.sin(at / 70)
    axis = 32.0 - (at - 1000) * 0.006
    gravel_top, clay_top, sand_top = surface - 2.4 + 0.3 * np.sin(at / 33), 40.2 + 1.2 * np.sin(at / 90), 23.0 + 0.7 * np.sin(at / 60)
    floor = np.full(at.size, -10.0)
    turn = np.linspace(0, 2 * np.pi, 60)

    def lens(middle: float, level: float, half: float, thick: float) -> tuple[np.ndarray, np.ndarray]:
        return middle + half * np.cos(turn), level + thick * np.sin(turn)

    first, second, third, blank = lens(1262, 35.4, 16, 0.8), lens(1300, 31.5, 26, 2.6), lens(1398, 34.0, 18, 1.3), lens(1190, 20.6, 34, 1.8)
    return GroundSection(
        chainage_m=at,
        surface_level_m=surface,
        axis_level_m=axis,
        outer_diameter_m=6.7,
        shield_diameter_m=6.98,
        shield_length_m=9.2,
        low_level_m=18.5,
        high_level_m=61.5,
        layers=(
            GroundLayer(name="made ground", kind="made_ground", chainage_m=at, top_level_m=surface, base_level_m=gravel_top),
            GroundLayer(name="river gravel", kind="gravel", chainage_m=at, top_level_m=gravel_top, base_level_m=clay_top, base_doubt_m=np.full(at.size, 0.5)),
            GroundLayer(name="stiff clay", kind="clay", chainage_m=at, top_level_m=clay_top, base_level_m=sand_top, base_doubt_m=np.full(at.size, 0.8)),
            GroundLayer(name="dense sand", kind="sand", chainage_m=at, top_level_m=sand_top, base_level_m=floor),
        ),
        lenses=(
            GroundLens(name="dense sand", kind="sand", chainage_m=first[0], level_m=first[1]),
            GroundLens(name="dense sand", kind="sand", chainage_m=second[0], level_m=second[1]),
            GroundLens(name="dense sand", kind="sand", chainage_m=third[0], level_m=third[1]),
            GroundLens(name="not bored", kind="unknown", chainage_m=blank[0], level_m=blank[1]),
        ),
        waters=(
            WaterLevel(name="water, gravel", chainage_m=at, level_m=np.full(at.size, 44.6) - 0.001 * (at - 1000)),
            WaterLevel(name="head, lower sand", chainage_m=at, level_m=np.full(at.size, 40.9), is_second_head=True),
        ),
        boreholes=(
            BoreholeStick(name="BH 21", chainage_m=1128, top_level_m=48.4, base_level_m=19.5, remark="4 m left"),
            BoreholeStick(name="BH 22", chainage_m=1228, top_level_m=48.4, base_level_m=19.0, remark="11 m right"),
            BoreholeStick(name="BH 23", chainage_m=1338, top_level_m=48.4, base_level_m=21.5, remark="on the axis, not sealed"),
            BoreholeStick(name="BH 24", chainage_m=1474, top_level_m=48.4, base_level_m=19.2, remark="7 m left"),
        ),
        assets=(
            AssetOutline(name="Kiln Row 1 to 13", kind="building", start_chainage_m=1096, end_chainage_m=1140, foundation_level_m=46.5, top_level_m=56.5),
            AssetOutline(name="Kiln Row 17 to 33", kind="building", start_chainage_m=1170, end_chainage_m=1225, foundation_level_m=46.5, top_level_m=56.5),
            AssetOutline(name="37 to 49", kind="building", start_chainage_m=1252, end_chainage_m=1294, foundation_level_m=46.5, top_level_m=56.5),
            AssetOutline(name="old culvert", kind="sewer", start_chainage_m=1232, end_chainage_m=1234, foundation_level_m=43.5, diameter_m=1.8),
            AssetOutline(name="brick sewer", kind="sewer", start_chainage_m=1239, end_chainage_m=1241, foundation_level_m=42.3, diameter_m=2.2),
            AssetOutline(name="water main", kind="pipe", start_chainage_m=1246, end_chainage_m=1246.6, foundation_level_m=46.2, diameter_m=0.6),
            AssetOutline(name="gas main", kind="pipe", start_chainage_m=1349, end_chainage_m=1349.5, foundation_level_m=46.4, diameter_m=0.5),
            AssetOutline(
                name="Rail viaduct on piles",
                kind="bridge",
                start_chainage_m=1364,
                end_chainage_m=1402,
                foundation_level_m=45.2,
                top_level_m=57.0,
                pile_toe_level_m=38.0,
            ),
            AssetOutline(name="Mill Yard", kind="building", start_chainage_m=1424, end_chainage_m=1488, foundation_level_m=45.8, top_level_m=55.0),
        ),
        readings=(
            Reading(label="ground level at face", values=np.full(where.ring_number.size, 48.7), unit="m", decimals=1, is_signed=True),
            Reading(label="cover to crown", values=np.full(where.ring_number.size, 16.8), unit="m", decimals=1),
            Reading(label="water above crown", values=np.full(where.ring_number.size, 12.1), unit="m", decimals=1),
        ),
    )


HOLDS = (
    HoldPlace(number=1, chainage_m=1338.0, ring_number=882, words="BH 23, unsealed, on the axis, 1+338"),
    HoldPlace(number=2, chainage_m=1381.0, ring_number=911, words="pile toes of viaduct pier 3, 1+381"),
    HoldPlace(number=3, chainage_m=1421.0, ring_number=937, words="planned intervention for tools, 1+421"),
)


def drive_record(first: int = 720, last: int = 1020, ring_count: int = RINGS) -> DriveSheet:
    where = places(ring_count)
    return DriveSheet(
        drive_name="East drive",
        places=where,
        first_ring=first,
        last_ring=last,
        chosen_ring=BUILT,
        face_chainage_m=BUILT * LENGTH_M + 9.9,
        section=section(where),
        strips=(pressure(where), muck(where), advance(where), grout(where), deviation(where), settlement(where)),
        state_rows=state_rows(where),
        holds=HOLDS,
    )


def push_record(along: str = "time", step_s: float = 5.0) -> PushChart:
    start, push_1, stop, push_2, build_start, end = 46560.0, 46620.0, 47580.0, 47820.0, 48750.0, 50520.0
    time = np.arange(start, end + 1, step_s)
    advancing = ((time >= push_1) & (time < stop)) | ((time >= push_2) & (time < build_start))
    stroke = 1.52 * np.cumsum(advancing) / advancing.sum()
    draw = np.random.default_rng(11)

    def noisy(level: float, scale: float) -> np.ndarray:
        return level + scale * draw.normal(size=time.size) + 3 * advancing - 0.004 * np.maximum(time - build_start, 0)

    gap = (time > 49200) & (time < 49330)
    sensors = []
    for name, offset in (("crown", 0.0), ("2", 21.4), ("3", 43.0), ("4", 64.0), ("invert", 86.0)):
        values = noisy(176 + offset, 1.0)
        values[gap] = np.nan
        sensors.append(PushLine(name=name, values=values, role="chosen" if name == "crown" else "second-line"))
    build = time >= build_start
    thrust = np.where(
        advancing, 18.4 + 0.4 * draw.normal(size=time.size), np.where(build, 8 - (time - build_start) / 700 + 0.05 * draw.normal(size=time.size), 11.0)
    )
    torque = np.where(advancing, 2.36 + 0.12 * draw.normal(size=time.size), 0.0)
    rate = np.where(advancing, 47.5 + 2 * draw.normal(size=time.size), 0.0)
    mass, expected = 117.7 * stroke / stroke[-1], 118.2 * stroke / stroke[-1]
    ports = [1.38, 1.44, 1.41]
    grouts = [
        PushLine(name=f"port {hour} o'clock", values=total * stroke / stroke[-1], role="second-line") for hour, total in zip((10, 2, 6), ports, strict=True)
    ]
    crown_grout = np.minimum(1.24 * stroke / stroke[-1], 0.40 + 0.12 * stroke / stroke[-1])

    def flat(value: float) -> PushLine:
        return PushLine(name="planned", values=np.where(time < build_start, value, np.nan), role="planned")

    return PushChart(
        ring_number=871,
        time_s=time,
        stroke_m=stroke,
        along=along,  # type: ignore[arg-type]
        phases=(
            PhaseSpan(name="", kind="unknown", start_s=start, end_s=push_1),
            PhaseSpan(name="push", kind="advance", start_s=push_1, end_s=stop),
            PhaseSpan(name="stop", kind="stop", start_s=stop, end_s=push_2),
            PhaseSpan(name="push", kind="advance", start_s=push_2, end_s=build_start),
            PhaseSpan(name="ring build", kind="build", start_s=build_start + 150, end_s=end),
            PhaseSpan(name="", kind="stop", start_s=build_start, end_s=build_start + 150),
        ),
        gaps=((49200, 49330, "no log, 2 min"),),
        panels=(
            PushPanel(
                key="chamber",
                title="Chamber",
                subtitle="kPa",
                lines=tuple(sensors),
                window_low=152,
                window_high=229,
                window_words="working window, crown",
                height_share=1.6,
                readings=tuple(
                    PushReading(label=name, value=value, unit="kPa" if name == "crown" else "", is_bold=name == "crown")
                    for name, value in (("invert", 263), ("4", 241), ("3", 220), ("2", 198), ("crown", 177))
                ),
            ),
            PushPanel(
                key="thrust",
                title="Thrust",
                subtitle="MN",
                lines=(flat(18.1), PushLine(name="thrust", values=thrust)),
                low=0,
                high=24,
                height_share=0.8,
                readings=(
                    PushReading(label="planned", value=18.1, unit="MN", decimals=1, role="planned"),
                    PushReading(label="median", value=18.6, unit="MN", decimals=1, is_bold=True),
                ),
            ),
            PushPanel(
                key="torque",
                title="Torque",
                subtitle="MNm",
                lines=(flat(2.5), PushLine(name="torque", values=torque)),
                low=0,
                height_share=0.8,
                readings=(
                    PushReading(label="planned", value=2.5, unit="MNm", decimals=2, role="planned"),
                    PushReading(label="median", value=2.36, unit="MNm", decimals=2, is_bold=True),
                ),
            ),
            PushPanel(
                key="advance",
                title="Advance",
                subtitle="mm/min",
                lines=(flat(44.0), PushLine(name="advance", values=rate)),
                low=0,
                height_share=0.8,
                readings=(
                    PushReading(label="planned", value=44, unit="mm/min", role="planned"),
                    PushReading(label="mean", value=48, unit="mm/min", is_bold=True),
                ),
            ),
            PushPanel(
                key="muck",
                title="Muck",
                subtitle="t, no lag",
                low=0,
                lines=(PushLine(name="expected", values=expected, role="planned"), PushLine(name="measured", values=mass, role="measured")),
                notes=(PushNote(time_s=47700, value=60, words="no mass while the machine stood"),),
                readings=(
                    PushReading(label="expected", value=118.2, unit="t", decimals=1, role="planned"),
                    PushReading(label="measured", value=117.7, unit="t", decimals=1, is_bold=True),
                ),
            ),
            PushPanel(
                key="grout",
                title="Grout",
                subtitle="m³ per port",
                low=0,
                height_share=1.2,
                lines=(
                    *grouts,
                    PushLine(name="plan, each", values=1.24 * stroke / stroke[-1], role="planned"),
                    PushLine(name="crown port", values=crown_grout, role="chosen"),
                ),
                notes=(PushNote(time_s=47300, value=0.43, words="crown port slows from stroke 0.45 m on", state="watch"),),
                readings=(
                    PushReading(label="plan, each", value=1.24, unit="m³", decimals=2, role="planned"),
                    PushReading(label="crown", value=0.58, unit="m³", decimals=2, is_bold=True),
                    PushReading(label="10 o'clock", value=1.38, unit="m³", decimals=2),
                    PushReading(label="2 o'clock", value=1.44, unit="m³", decimals=2),
                ),
            ),
        ),
    )


def face_record() -> FaceSheet:
    level = np.linspace(24.0, 38.0, 60)
    water = np.maximum(0.0, (40.9 - level) * 9.81)
    support = 180 + (33.4 - level) * 13.8
    return FaceSheet(
        chainage_m=1315.5,
        ring_number=871,
        axis_level_m=30.05,
        diameter_m=6.98,
        water_level_m=44.4,
        second_head_level_m=40.9,
        second_head_words="head, lower sand",
        strata=(
            FaceStratum(name="stiff clay", kind="clay", top_level_m=40.5, base_level_m=32.2),
            FaceStratum(name="dense sand", kind="sand", top_level_m=32.2, base_level_m=29.6),
            FaceStratum(name="stiff clay", kind="clay", top_level_m=29.6, base_level_m=20.0),
        ),
        sensors=(
            FaceSensor(name="crown", clock_angle_deg=0, radius_m=3.1, pressure_kpa=177),
            FaceSensor(name="2", clock_angle_deg=60, radius_m=2.9, pressure_kpa=198),
            FaceSensor(name="3", clock_angle_deg=120, radius_m=2.9, pressure_kpa=241, state="watch", remark="4 kPa above its neighbours"),
            FaceSensor(name="4", clock_angle_deg=240, radius_m=2.9, pressure_kpa=241),
            FaceSensor(name="5", clock_angle_deg=300, radius_m=2.9, pressure_kpa=NAN, state="not checked", remark="stuck"),
        ),
        level_m=level,
        water_kpa=water,
        ground_kpa=water + (48.4 - level) * 4.2,
        support_kpa=support,
        lower_kpa=support - 28,
        upper_kpa=support + 49,
    )


def rail_record(ring_count: int = RINGS) -> RingRail:
    watches = (58, 117, 240, 318, 533, 612, 619, 702, 739, 790, 846, 869)
    marks = (
        *(RingMark(ring_number=ring, state="watch", words="grout or position on watch") for ring in watches),
        RingMark(ring_number=131, state="act", words="closed 4 Apr"),
        RingMark(ring_number=846, state="act", words="muck 1.12, settlement level 2"),
        RingMark(ring_number=416, state="not checked", words="no log"),
        RingMark(ring_number=804, state="not checked", words="no log"),
        RingMark(ring_number=871, state="not checked", words="gas not sampled"),
    )
    return RingRail(
        drive_name="East drive",
        ring_count=ring_count,
        built_ring_number=BUILT,
        open_ring_number=BUILT + 1,
        chosen_ring=BUILT,
        shown_from=720,
        shown_to=1020,
        marks=marks,
        holds=HOLDS,
    )


def criteria() -> tuple[Criterion, ...]:
    return (
        Criterion(name="Face pressure at crown, push", value=177.0, operator="within", limit_low=152, limit_high=229, unit="kPa", state="in order"),
        Criterion(
            name="Muck, measured over expected", value=1.0, operator="within", limit_low=0.95, limit_high=1.05, unit="", state="in order", comment="117.7 t"
        ),
        Criterion(name="Crown port, of its share", value=0.48, operator="within", limit_low=0.5, limit_high=1.5, unit="", state="watch", comment="ring 869"),
        Criterion(name="Settlement above the outlet", value=15.8, operator="<=", limit_low=NAN, limit_high=15.0, unit="mm", state="act", comment="Kiln Row 45"),
        Criterion(name="Methane", value=NAN, operator="<=", limit_low=NAN, limit_high=0.5, unit="%", state="not checked", comment="none since 06:40"),
    )
