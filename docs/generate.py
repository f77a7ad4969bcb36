"""Write the generated pages: methods with their evidence, quantities, choices, commands. Run by `make docs`."""

from pathlib import Path

from typer.main import get_command

from tunnelwright import app
from tunnelwright.cli.commands import commands
from tunnelwright.drive.choices import choice_list
from tunnelwright.vocabulary.method import METHODS, Algorithm, Rows, Search
from tunnelwright.vocabulary.printing import formula_as_text, symbol_as_text
from tunnelwright.vocabulary.quantity import quantities

HERE = Path(__file__).parent
GENERATED = "This page is generated from the program by `make docs`.\n"


def table(headings: tuple[str, ...], rows: list[tuple[object, ...]]) -> str:
    """Return a table in Markdown."""
    lines = ["| " + " | ".join(headings) + " |", "|" + "---|" * len(headings)]
    lines += ["| " + " | ".join(_cell(one) for one in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def _cell(value: object) -> str:
    return str(value).replace("|", "\\|").replace("\n", " ").replace("*", "\\*").replace("_", "\\_").replace("<", "&lt;")


def methods_page() -> str:
    """Return the registry by topic: what each method gives, formula, limits, source, evidence."""
    parts = ["# Methods\n", GENERATED]
    listed = app.methods()
    for topic in sorted({one.id.split(".")[0] for one in listed}):
        parts.append(f"\n## {topic}\n")
        for one in (line for line in listed if line.id.startswith(topic + ".")):
            method = METHODS[one.id]
            evidence = f"{one.evidence_count} records of evidence, external: {'yes' if one.external else 'no'}"
            parts.append(f"\n### `{one.id}`\n\n{one.summary} Kind: {one.kind}. Source: {one.source} ({one.how_known}). {evidence}.\n")
            for name, formula in method.formulas.items():
                parts.append(f"\n- `{name}`: {symbol_as_text(formula.symbol)} = `{formula_as_text(formula.text)}`")
            for name, found in method.found_by.items():
                parts.append(f"\n- `{name}`: {_found_words(found)}")
            parts.append(f"\n\nInputs: {', '.join(f'`{name}`' for name in one.inputs)}." + (f" Valid: {one.valid}." if one.valid else "") + "\n")
    return "".join(parts)


def _found_words(found: object) -> str:
    """Return how a result without a closed formula is found."""
    if isinstance(found, Algorithm):
        return found.how
    if isinstance(found, Search):
        word = "greatest" if found.extreme == "max" else "least"
        return f"{word} over `{found.variable}`"
    return f"row by row over `{found.table}`: `{found.formula}`" if isinstance(found, Rows) else ""


def evidence_page() -> str:
    """Return the evidence register with what it gives here."""
    outcomes = list(app.verify())
    rows: list[tuple[object, ...]] = []
    for one in outcomes:
        here = "holds" if one.holds else ("disputed" if one.case.disputed else "FAILS")
        rows.append((one.case.id, one.case.method, one.case.kind, one.case.how_known, here, one.case.source))
    head = f"# Evidence\n\n{GENERATED}\n{len(rows)} records. Recompute them on your machine with `tunnelwright verify`.\n\n"
    return head + table(("record", "method", "kind", "how known", "here", "source"), rows)


def quantities_page() -> str:
    """Return the quantity dictionary."""
    rows: list[tuple[object, ...]] = []
    for one in quantities().values():
        rows.append((one.name, one.symbol, one.meaning, one.sign, f"{one.low:g} to {one.high:g}", one.unit, one.shown_unit, one.decimals))
    return "# Quantities\n\n" + GENERATED + "\n" + table(("name", "symbol", "meaning", "sign", "possible", "unit", "shown in", "decimals"), rows)


def choices_page() -> str:
    """Return the choices of a project."""
    rows = [(one.name, one.default, ", ".join(one.allowed) or "a number", one.meaning) for one in choice_list()]
    return "# Choices of a project\n\nSet in `project.toml` under `[choices]`. " + GENERATED + "\n" + table(("choice", "default", "allowed", "meaning"), rows)


def commands_page() -> str:
    """Return the help of every command."""
    group = get_command(commands)
    parts = ["# Commands\n\n", GENERATED]
    for name, command in group.commands.items():  # type: ignore[attr-defined]
        parts.append(f"\n## `tunnelwright {name}`\n\n{command.help}\n\n")
        rows = [(" ".join(getattr(one, "opts", [one.name])), getattr(one, "help", "") or "") for one in command.params]
        parts.append(table(("argument or option", "meaning"), rows))
    return "".join(parts)


def main() -> None:
    """Write all generated pages."""
    (HERE / "verification").mkdir(exist_ok=True)
    for path, text in {
        "verification/methods.md": methods_page(),
        "verification/evidence.md": evidence_page(),
        "reference/quantities.md": quantities_page(),
        "reference/choices.md": choices_page(),
        "reference/commands.md": commands_page(),
    }.items():
        (HERE / path).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
