"""However a file is spoiled, the folder is read or refused with places: nothing else ever comes out."""

import random
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tunnelwright.drive.project.checks import cautions
from tunnelwright.exchange.project_folder import read_project, write_new_project
from tunnelwright.vocabulary.remark import Fault, InputRefused

FILES = (
    "project.toml",
    "machines.toml",
    "ring_types.toml",
    "calendar.toml",
    "axis/east.toml",
    "ground/units.toml",
    "ground/boreholes.csv",
    "ground/strata.csv",
    "ground/aquifers.toml",
    "ground/piezometers.csv",
    "ground/surface.csv",
    "assets/assets.csv",
)
NUMBER = re.compile(rb"(?<![A-Za-z_\d.])-?\d+(?:\.\d+)?(?![A-Za-z_\d])")
STRANGE = (b"0", b"-1", b"1e9", b"1e-9", b'"x"', b"true", b"[]", b"{}", b"nan", b"1,5", b"", b"2025-01-01", b'"12 kPa"', b"[[1]]", b"999999999999999999999999")


def number(content: bytes, dice: random.Random) -> bytes:
    found = list(NUMBER.finditer(content))
    chosen = dice.choice(found)
    return content[: chosen.start()] + dice.choice(STRANGE) + content[chosen.end() :]


def line_out(content: bytes, dice: random.Random) -> bytes:
    lines = content.split(b"\n")
    del lines[dice.randrange(len(lines))]
    return b"\n".join(lines)


def line_twice(content: bytes, dice: random.Random) -> bytes:
    lines = content.split(b"\n")
    chosen = dice.randrange(len(lines))
    return b"\n".join([*lines[:chosen], lines[chosen], *lines[chosen:]])


def cut_off(content: bytes, dice: random.Random) -> bytes:
    return content[: dice.randrange(len(content))]


def one_byte(content: bytes, dice: random.Random) -> bytes:
    chosen = dice.randrange(len(content))
    return content[:chosen] + bytes([dice.randrange(256)]) + content[chosen + 1 :]


def word(content: bytes, dice: random.Random) -> bytes:
    found = list(re.finditer(rb"[A-Za-z_]{3,}", content))
    chosen = dice.choice(found)
    return content[: chosen.start()] + dice.choice([b"x", b"depth_m", chosen[0] + b"s", chosen[0][::-1], b"friction_angle_kpa"]) + content[chosen.end() :]


def faults_in(folder: Path) -> tuple[Fault, ...]:
    try:
        cautions(read_project(folder))
    except InputRefused as refused:
        return refused.faults
    return ()


@pytest.mark.parametrize("spoil", [number, line_out, line_twice, cut_off, one_byte, word])
@pytest.mark.parametrize("name", FILES)
def test_spoiled_file_is_read_or_refused(tmp_path: Path, name: str, spoil: Callable[[bytes, random.Random], bytes]) -> None:
    folder = tmp_path / "project"
    write_new_project(folder)
    good = (folder / name).read_bytes()
    dice = random.Random(f"{name} {spoil.__name__}")
    for _ in range(10):
        (folder / name).write_bytes(spoil(good, dice))
        faults = faults_in(folder)
        assert all(fault.where and fault.field and fault.given and fault.required for fault in faults), faults
