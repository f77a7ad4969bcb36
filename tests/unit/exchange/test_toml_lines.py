"""Every path of a TOML text has a line, and the line holds its key."""

import json
import tomllib
from collections.abc import Iterator
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tunnelwright.exchange.project_folder.toml_lines import line_of_path

keys = st.from_regex(r"[a-z][a-z0-9_]{0,6}", fullmatch=True)
texts = st.text(alphabet="ab #[]{}=,.\"\\'\n\t", max_size=8)
single_line_texts = texts.map(json.dumps)
multi_line_texts = st.lists(st.sampled_from(["a = 1", "# no remark", "[table]", '"', "x"]), min_size=1, max_size=4).map(
    lambda lines: '"""\n' + "\n".join(lines) + '\n"""'
)
scalars = st.one_of(st.sampled_from(["1", "-2.5e3", "true", "2025-03-31", "06:30:00", "'# [x]'", "inf"]), single_line_texts)


def arrays(elements: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    breaks = st.sampled_from([", ", ",\n    ", ", # remark ] }\n"])
    return st.tuples(st.lists(elements, max_size=4), breaks).map(lambda pair: "[" + pair[1].join(pair[0]) + "]")


def inline_tables(elements: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    return st.dictionaries(keys, elements, max_size=3).map(lambda pairs: "{ " + ", ".join(f"{key} = {value}" for key, value in pairs.items()) + " }")


values = st.recursive(scalars, lambda inner: st.one_of(arrays(inner), inline_tables(inner)), max_leaves=6)
bodies = st.dictionaries(keys, st.one_of(values, multi_line_texts), max_size=4)
headers = st.tuples(keys, st.booleans())


@st.composite
def documents(draw: st.DrawFn) -> str:
    lines = [f"{key} = {value}" for key, value in draw(st.dictionaries(keys.map(lambda key: f"top_{key}"), values, max_size=2)).items()]
    array_names = draw(st.lists(keys, max_size=2, unique=True))
    for number, name in enumerate(array_names * draw(st.integers(1, 2))):
        lines += ["# [[not a header]]", f"[[list_{name}]]", *(f"{key} = {value}  # remark = 1" for key, value in draw(bodies).items())]
        if draw(st.booleans()):
            lines += [
                f"[list_{name}.inner_{number}]",
                f"depth.below_{number} = 1",
                *(f"{key} = {value}" for key, value in draw(bodies).items() if key != "depth"),
            ]
    return draw(st.sampled_from(["\n", "\r\n"])).join("\n".join(lines).split("\n")) + "\n"


def paths_of(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, inner in steps:
        yield (*path, step)
        yield from paths_of(inner, (*path, step))


@given(documents())
def test_every_path_has_the_line_of_its_key(text: str) -> None:
    lines = line_of_path(text)
    source = text.replace("\r\n", "\n").split("\n")
    found = list(paths_of(tomllib.loads(text)))
    assert set(found) <= set(lines)
    for path in found:
        if isinstance(path[-1], str):
            assert path[-1] in source[lines[path] - 1]


def test_lines_of_a_known_text() -> None:
    text = 'a = """\n[x]\n"""\n"odd key".b = 1\n[[m]]\nlist = [\n  1,  # one\n  { n = 2 },\n]\n[[m.s]]\n[[m]]\n'
    lines = line_of_path(text)
    assert lines[("a",)] == 1
    assert lines[("odd key", "b")] == 4
    assert lines[("m", 0)] == 5
    assert lines[("m", 0, "list", 1, "n")] == 8
    assert lines[("m", 0, "s", 0)] == 10
    assert lines[("m", 1)] == 11
