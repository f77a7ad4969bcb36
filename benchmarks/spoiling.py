"""Random damage to files, as transfers, editors and tired people do it."""

import random
import re
from collections.abc import Callable

Damage = Callable[[bytes, random.Random], bytes]

NUMBER = re.compile(rb"(?<![A-Za-z_\d.])-?\d+(?:[.,]\d+)?(?![A-Za-z_\d])")
STRANGE = (b"", b"0", b"-1", b"1e308", b"-1e-300", b"nan", b"inf", b"x", b'"', b"12,5,7", b"1.234,5", b"true", b"[]", b"{}", b"2025-01-01", b"9" * 30, b"\x00")


def _lines(content: bytes) -> list[bytes]:
    return content.split(b"\n")


def byte_changed(content: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(content))
    return content[:at] + bytes([dice.randrange(256)]) + content[at + 1 :]


def stretch_lost(content: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(content))
    return content[:at] + content[at + dice.randrange(1, 2000) :]


def stretch_zeroed(content: bytes, dice: random.Random) -> bytes:
    at, length = dice.randrange(len(content)), dice.randrange(1, 500)
    return content[:at] + b"\x00" * min(length, len(content) - at) + content[at + length :]


def cut_off(content: bytes, dice: random.Random) -> bytes:
    return content[: dice.randrange(len(content))]


def number_replaced(content: bytes, dice: random.Random) -> bytes:
    # A stretch is looked at, not the whole file: a log has many numbers.
    start = dice.randrange(max(1, len(content) - 4000))
    found = list(NUMBER.finditer(content, start, start + 4000))
    if not found:
        return byte_changed(content, dice)
    chosen = dice.choice(found)
    return content[: chosen.start()] + dice.choice(STRANGE) + content[chosen.end() :]


def line_out(content: bytes, dice: random.Random) -> bytes:
    lines = _lines(content)
    del lines[dice.randrange(len(lines))]
    return b"\n".join(lines)


def lines_twice(content: bytes, dice: random.Random) -> bytes:
    lines = _lines(content)
    first = dice.randrange(len(lines))
    some = lines[first : first + dice.randrange(1, 60)]
    at = dice.randrange(len(lines))
    return b"\n".join([*lines[:at], *some, *lines[at:]])


def lines_shuffled(content: bytes, dice: random.Random) -> bytes:
    lines = _lines(content)
    first = dice.randrange(len(lines))
    some = lines[first : first + 80]
    dice.shuffle(some)
    return b"\n".join([*lines[:first], *some, *lines[first + 80 :]])


def separator_changed(content: bytes, dice: random.Random) -> bytes:
    return content.replace(b";", dice.choice([b",", b"\t", b"|", b" "])) if b";" in content else content.replace(b",", b";")


def decimal_changed(content: bytes, dice: random.Random) -> bytes:
    return content.replace(b",", b".") if dice.random() < 0.5 else content.replace(b".", b",")


def line_ends_changed(content: bytes, dice: random.Random) -> bytes:
    return content.replace(b"\n", dice.choice([b"\r\n", b"\r", b"\n\n"]))


def column_emptied(content: bytes, dice: random.Random) -> bytes:
    lines = [line.split(b";") for line in _lines(content)]
    at = dice.randrange(max(1, len(lines[0])))
    word = dice.choice(STRANGE)
    return b"\n".join([b";".join(lines[0]), *(b";".join([*row[:at], word, *row[at + 1 :]]) if len(row) > at else b";".join(row) for row in lines[1:])])


def words_swapped(content: bytes, dice: random.Random) -> bytes:
    words = list(re.finditer(rb"[A-Za-z_]{3,}", content[:20_000]))
    if not words:
        return byte_changed(content, dice)
    chosen, other = dice.choice(words), dice.choice(words)
    return content[: chosen.start()] + other[0] + content[chosen.end() :]


def nothing_left(content: bytes, dice: random.Random) -> bytes:
    return dice.choice([b"", b"\n", b" ", b"\xef\xbb\xbf", b"PAR1"])


DAMAGES: tuple[Damage, ...] = (
    byte_changed,
    stretch_lost,
    stretch_zeroed,
    cut_off,
    number_replaced,
    line_out,
    lines_twice,
    lines_shuffled,
    separator_changed,
    decimal_changed,
    line_ends_changed,
    column_emptied,
    words_swapped,
    nothing_left,
)


def spoiled(content: bytes, dice: random.Random) -> tuple[bytes, str]:
    """Return the content after one to three damages, and their names."""
    names = []
    for _ in range(dice.choice([1, 1, 1, 2, 3])):
        damage = dice.choice(DAMAGES)
        names.append(damage.__name__)
        if not content:
            break
        content = damage(content, dice)
    return content, ", ".join(names)
