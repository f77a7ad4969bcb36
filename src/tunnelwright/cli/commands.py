"""The commands. Each help text is a sentence with an example."""

import json
import logging
import os
import sys
import tempfile
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from tunnelwright.cli import journal_commands, use_cases
from tunnelwright.cli import screen as _rendering
from tunnelwright.cli.options import CsvOption, DriveOption, JsonOption, ProjectFolder, WorkbookOption

commands = typer.Typer(
    name="tunnelwright",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Plan and control the drive of a pressurised-face shield, ring by ring. Screening aid: to be checked by a licensed engineer; local codes govern.",
)
BAD_INPUT, MUST_ACT, OUR_FAULT = 2, 1, 70


def run() -> None:
    """Run the command line; bad input ends with 2, a fault of ours with 70 and the place of its log."""
    try:
        commands()
    except Exception as reason:
        if hasattr(reason, "faults"):
            _rendering().faults(reason, "--json" in sys.argv)
            sys.exit(BAD_INPUT)
        sys.exit(_our_fault(reason))


def _our_fault(reason: Exception) -> int:
    handle, name = tempfile.mkstemp(prefix="tunnelwright-", suffix=".log")
    with os.fdopen(handle, "w", encoding="utf-8") as log:
        log.write("".join(traceback.format_exception(reason)))
    print(f"This is a fault of ours, not of your input ({type(reason).__name__}). What happened is written in {name}.", file=sys.stderr)
    return OUR_FAULT


def _progress() -> Callable[[str, float], None]:
    """Return a progress callback that draws one line on standard error, and only when a person watches."""
    if not sys.stderr.isatty():
        return lambda _text, _share: None

    def shown(text: str, share: float) -> None:
        width = 30
        filled = int(width * min(1.0, share))
        print(f"\r{text[:40]:<40} [{'#' * filled}{'.' * (width - filled)}] {share:4.0%}", end="\n" if share >= 1 else "", file=sys.stderr, flush=True)

    return shown


@commands.command()
def new(folder: Annotated[Path, typer.Argument(help="Folder to write; it must be new or empty.")]) -> None:
    """Write a small, commented, valid project to start from. Example: tunnelwright new crosstown."""
    written = use_cases().new_project(folder)
    _rendering().say(f"{len(written)} files in {folder}:", *(f"  {name}" for name in written), f"Edit them, then run: tunnelwright check {folder}")


@commands.command()
def check(project: ProjectFolder, json_wanted: JsonOption = False) -> None:
    """Name every fault of a project folder at once, or say what it holds. Example: tunnelwright check crosstown."""
    found = use_cases().check_project(project)
    show = _rendering()
    if json_wanted:
        show.as_json({"project": found.name, "revision": found.revision, "drives": list(found.drives), "cautions": [one.sentence for one in found.cautions]})
        return
    held = f"{found.unit_count} ground units, {found.borehole_count} boreholes, {found.asset_count} assets"
    show.say(f"{found.title or found.name}: no faults. {held}. Revision {found.revision}.")
    show.table(["drive", "machine", "rings", "start chainage m", "length m"], [list(line.values()) for line in found.drives], numeric=(2, 3, 4))
    show.cautions(found.cautions)


@commands.command()
def plan(
    project: ProjectFolder,
    drive: DriveOption = "",
    every: Annotated[int, typer.Option(help="Show every so many pushes.")] = 50,
    freeze: Annotated[bool, typer.Option("--freeze", help="Keep this plan under its revision in the project folder and enter it in the journal.")] = False,
    who: Annotated[str, typer.Option("--who", help="With --freeze: name of the person who freezes it.")] = "",
    json_wanted: JsonOption = False,
    csv: CsvOption = None,
    xlsx: WorkbookOption = None,
) -> None:
    """Plan face pressure, muck and grout of every push. Example: tunnelwright plan crosstown --drive east --xlsx plan.xlsx."""
    app, show = use_cases(), _rendering()
    workspace = app.open_workspace(project)
    made = app.plan(workspace, drive)
    table = app.plan_table(made)
    _files({"plan": table}, csv, xlsx)
    if freeze:
        show.say(f"kept as {app.freeze_plan(workspace, made, person=who).relative_to(workspace.folder)}")
    if json_wanted:
        show.as_json({"drive": made.case.drive.name, "revision": made.revision, "rows": table.to_pylist(), "cautions": [one.sentence for one in made.cautions]})
        return
    closed = int((made.face.window_status == "no_window").sum())
    show.say(
        f"{made.case.drive.title or made.case.drive.name}: {made.push_count} pushes, revision {made.revision}. {closed} without a window."
        if closed
        else f"{made.case.drive.title or made.case.drive.name}: {made.push_count} pushes, revision {made.revision}, each with a window."
    )
    names = [
        "ring_number",
        "face_end_chainage_m",
        "cover_m",
        "operating_lower_crown_kpa",
        "target_crown_kpa",
        "operating_upper_crown_kpa",
        "governing_lower",
        "muck_mass_t",
        "grout_volume_m3",
        "grout_target_kpa",
    ]
    chosen = table.select(names).take(list(range(0, table.num_rows, max(1, every))))
    show.table([app.heading(name) for name in names], app.shown_rows(chosen), numeric=tuple(place for place in range(len(names)) if place != 6))
    show.cautions(made.cautions)
    show.say("", show.CAUTION)


@commands.command(name="import-log")
def import_log(
    project: ProjectFolder,
    files: Annotated[list[Path] | None, typer.Argument(help="Files of the machine's logger; those in logs/DRIVE when left out.")] = None,
    drive: DriveOption = "",
    json_wanted: JsonOption = False,
) -> None:
    """Read the machine's log into the project's store, checking every row. Example: tunnelwright import-log crosstown day1.csv day2.csv."""
    app, show = use_cases(), _rendering()
    workspace = app.open_workspace(project)
    report = app.import_logs(workspace, drive, files or None, progress=_progress())
    rows = sum(report.row_counts.values())
    if json_wanted:
        found = [{"kind": one.kind, "channel": one.channel, "count": one.count, "sentence": one.sentence} for one in report.findings]
        show.as_json({"rows": rows, "put_aside": report.put_aside_count, "days": dict(report.day_rows), "channels": list(report.channels), "findings": found})
        return
    aside = f", {report.put_aside_count} put aside" if report.put_aside_count else ""
    show.say(f"{rows} rows of {len(report.row_counts)} files in {len(report.days)} days{aside}; {len(report.findings)} findings.")
    _show_findings(report.findings)


def _show_findings(findings: Any) -> None:
    show = _rendering()
    if findings:
        show.table(
            ["finding", "channel", "ring", "count", "what"],
            [[one.kind, one.channel, one.ring_number or "", one.count, one.sentence] for one in findings],
            numeric=(2, 3),
        )


@commands.command()
def record(project: ProjectFolder, drive: DriveOption = "", json_wanted: JsonOption = False, csv: CsvOption = None, xlsx: WorkbookOption = None) -> None:
    """Make rings of the imported log. Example: tunnelwright record crosstown --csv rings.csv."""
    app, show = use_cases(), _rendering()
    workspace = app.open_workspace(project)
    made = app.record(workspace, app.plan(workspace, drive), progress=_progress())
    _files({"record": made.table}, csv, xlsx)
    if json_wanted:
        show.as_json(
            {
                "rows": made.table.to_pylist(),
                "findings": [{"kind": one.kind, "ring_number": one.ring_number, "sentence": one.sentence} for one in made.findings],
                "unattributed": made.unattributed,
            }
        )
        return
    show.say(f"{made.table.num_rows} rings recorded; {len(made.findings)} findings.")
    _show_findings(made.findings)


@commands.command()
def reconcile(
    project: ProjectFolder,
    drive: DriveOption = "",
    check_wanted: Annotated[bool, typer.Option("--check", help="End with 1 while an act is open.")] = False,
    json_wanted: JsonOption = False,
    csv: CsvOption = None,
    xlsx: WorkbookOption = None,
) -> None:
    """Set the record against the plan and say which pushes need a person, and why. Example: tunnelwright reconcile crosstown --check."""
    app, show = use_cases(), _rendering()
    workspace = app.open_workspace(project)
    found = app.reconcile(workspace, drive)
    _files({"criteria": app.criteria_table(found)}, csv, xlsx)
    summary = app.summary_of(found)
    acts = app.open_acts(found, app.signatures(workspace, drive))
    if json_wanted:
        show.as_json({**summary.as_dict(), "open_acts": [one.as_dict() for one in acts]})
    else:
        show.say(*summary.lines())
        for run in summary.runs():
            one = run.first
            show.say("", f"{show.state_words(one.state)}  push {run.rings}, face at {one.face_chainage_m:.1f} m", f"    {one.why}")
            if one.do:
                show.say(f"    do      {one.do}", f"    do not  {one.do_not}")
        show.say("", *_signed_lines(acts), show.CAUTION)
    if check_wanted and acts:
        raise typer.Exit(MUST_ACT)


def _signed_lines(acts: Any) -> list[str]:
    """Return how many pushes have an open act and what a person does about them."""
    unsigned = sum(bool(one.unsigned) for one in acts)
    if not acts:
        return []
    said = f"Pushes with an open act: {len(acts)}, of these {unsigned} not acknowledged by anybody."
    return [f"{said} `tunnelwright acknowledge` and `close` sign for them."]


@commands.command()
def explain(
    project: ProjectFolder,
    ring: Annotated[int, typer.Argument(help="Ring whose push is explained.")],
    drive: DriveOption = "",
    method: Annotated[str, typer.Option(help="Only methods whose id contains this.")] = "",
    json_wanted: JsonOption = False,
) -> None:
    """Print the calculation sheet of one push: formulas, numbers, results, sources. Example: tunnelwright explain crosstown 871 --method wedge."""
    app, show = use_cases(), _rendering()
    found = [one for one in app.explain(app.open_workspace(project), ring, drive) if method in one.calculation.method.id]
    if json_wanted:
        show.as_json([{"title": one.title, "chainage_m": one.chainage_m, **app.calculation_as_dict(one.calculation)} for one in found])
        return
    for number, one in enumerate(found, start=1):
        show.say(f"{number}  {one.title}   chainage {one.chainage_m:.1f} m   {one.calculation.method.id}")
        _print_sheet(one.calculation)
    show.say(show.CAUTION)


def _print_sheet(calculation: Any) -> None:
    show = _rendering()
    for line in use_cases().sheet_of(calculation):
        result = f"{line.printed} {line.shown_unit}".rstrip()
        if line.numbers:
            show.say(f"   {line.symbol} = {line.formula}" + (f"   ({line.how})" if line.how else ""), f"      = {line.numbers}", f"      = {result}")
        else:
            show.say(f"   {line.symbol} = {result}" + (f"   ({line.how})" if line.how else ""))
    for caution in calculation.cautions:
        show.say(f"   Caution: {caution.sentence}.")
    show.say(f"   {calculation.method.source.sentence()}. {calculation.method.kind.capitalize()}.", "")


@commands.command()
def calculate(
    method: Annotated[str, typer.Argument(help="Id of a registered method; `methods` lists them.")],
    inputs: Annotated[list[str] | None, typer.Argument(help="name=value, with units if you like: cover=12.5m friction_angle_deg=32")] = None,
    json_wanted: JsonOption = False,
) -> None:
    """Run one method alone and print its sheet; with --json the inputs are read as JSON from standard input.

    Example: tunnelwright calculate movement.trough.gaussian_peck_1969 volume_loss=0.01 excavation_diameter=6.7m trough_width_m=8 offset_m=3.
    """
    app, show = use_cases(), _rendering()
    given = _given_inputs(inputs or [], json_wanted)
    made = app.calculate(method, given)
    if json_wanted:
        show.as_json(app.calculation_as_dict(made))
        return
    show.say(method, made.method.summary)
    _print_sheet(made)
    show.say(show.CAUTION)


def _given_inputs(words: list[str], json_wanted: bool) -> dict[str, Any]:
    from tunnelwright.vocabulary.remark import Fault, InputRefused

    given: dict[str, Any] = {}
    if json_wanted and not sys.stdin.isatty():
        text = sys.stdin.read()
        try:
            given = json.loads(text) if text.strip() else {}
        except json.JSONDecodeError as reason:
            raise InputRefused(
                [Fault(where=f"standard input:{reason.lineno}", field="JSON", given=reason.msg, required="must be one JSON object of inputs by name")]
            ) from None
        if not isinstance(given, dict):
            raise InputRefused([Fault(where="standard input", field="JSON", given=type(given).__name__, required="must be one JSON object of inputs by name")])
    wrong = [word for word in words if "=" not in word]
    if wrong:
        raise InputRefused(
            [Fault(where="command line", field=word, given="no value", required="must read name=value", hint="for example cover=12.5m") for word in wrong]
        )
    for word in words:
        name, _, value = word.partition("=")
        given[name.strip()] = _read_value(value.strip())
    return given


def _read_value(text: str) -> Any:
    """Return a value from the command line: JSON for lists and objects, else the words as they stand."""
    if text[:1] in "[{":
        try:
            return json.loads(text)
        except json.JSONDecodeError:
            return text
    try:
        return float(text)
    except ValueError:
        return text


@commands.command()
def methods(topic: Annotated[str, typer.Argument(help="Only ids that begin so, for example face.")] = "", json_wanted: JsonOption = False) -> None:
    """List the registered methods: what each gives, its validity, source and evidence. Example: tunnelwright methods face."""
    from dataclasses import asdict

    app, show = use_cases(), _rendering()
    found = app.methods(topic)
    if json_wanted:
        show.as_json([asdict(one) for one in found])
        return
    show.table(
        ["id", "what it gives", "kind", "source", "known", "cases", "external"],
        [[one.id, one.summary, one.kind, one.source, one.how_known, one.evidence_count, "yes" if one.external else "no"] for one in found],
        numeric=(5,),
    )
    show.say(f"{len(found)} methods.")


@commands.command()
def verify(topic: Annotated[str, typer.Argument(help="Only one topic, for example ground.")] = "", json_wanted: JsonOption = False) -> None:
    """Recompute the evidence on this machine and say whether it holds. Example: tunnelwright verify face."""
    app, show = use_cases(), _rendering()
    outcomes = list(app.verify(topic))
    failed = [one for one in outcomes if not one.holds and not one.case.disputed]
    disputed = [one for one in outcomes if one.case.disputed]
    if json_wanted:
        show.as_json(
            [
                {
                    "id": one.case.id,
                    "method": one.case.method,
                    "kind": one.case.kind,
                    "holds": one.holds,
                    "source": one.case.source,
                    "got": one.got,
                    "disputed": one.case.disputed,
                }
                for one in outcomes
            ]
        )
    else:
        show.table(
            ["record", "method", "kind", "known", "holds", "source"],
            [
                [
                    one.case.id,
                    one.case.method,
                    one.case.kind,
                    one.case.how_known,
                    "yes" if one.holds else ("disputed" if one.case.disputed else "NO"),
                    one.case.source,
                ]
                for one in outcomes
            ],
        )
        show.say(f"{len(outcomes)} records: {len(outcomes) - len(failed) - len(disputed)} hold, {len(disputed)} disputed, {len(failed)} fail.")
    if failed:
        raise typer.Exit(OUR_FAULT)


@commands.command()
def serve(
    project: ProjectFolder,
    port: Annotated[int, typer.Option(help="Port on the loopback address; 0 takes a free one.")] = 8321,
) -> None:
    """Serve the workbench of a project to this computer's browser. Example: tunnelwright serve crosstown."""
    import socket

    import uvicorn

    use_cases().open_workspace(project)
    os.environ["TUNNELWRIGHT_PROJECT"] = str(project.resolve())
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            from tunnelwright.vocabulary.remark import Fault, InputRefused

            raise InputRefused(
                [Fault(where="command line", field="--port", given=str(port), required="a free port is needed", hint="--port 0 takes one")], "serve"
            ) from None
        chosen = probe.getsockname()[1]
    _rendering().say(f"Workbench of {project.name} at http://127.0.0.1:{chosen} (end with Ctrl-C)")
    logging.getLogger("uvicorn.access").disabled = True
    uvicorn.run("tunnelwright.web.main:application", factory=True, host="127.0.0.1", port=chosen, log_level="warning")


def _files(sheets: dict[str, Any], csv: Path | None, xlsx: Path | None) -> None:
    if csv is not None:
        journal_commands.write_text(csv, use_cases().as_csv(next(iter(sheets.values()))))
    if xlsx is not None:
        use_cases().write_workbook(sheets, xlsx)


journal_commands.register(commands)
