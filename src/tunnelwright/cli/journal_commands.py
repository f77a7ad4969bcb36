"""Commands for what people sign: acknowledge, close, release, remark, withdraw; and the lists of holds and entries."""

from pathlib import Path
from typing import Annotated, Any

import typer

from tunnelwright.cli import screen, use_cases
from tunnelwright.cli.options import CsvOption, DriveOption, JsonOption, ProjectFolder

WhoOption = Annotated[str, typer.Option("--who", help="Name of the person who signs.")]
WhyOption = Annotated[str, typer.Option("--why", help="The reason, in three words or more.")]
PostOption = Annotated[str, typer.Option("--post", help="In what capacity the person signs.")]
RingArgument = Annotated[int, typer.Argument(help="Ring whose push is meant.")]


def register(commands: typer.Typer) -> None:
    """Add the commands of the journal to the command line."""
    for command in (acknowledge, close, holds, release, remark, withdraw, journal):
        commands.command()(command)


def acknowledge(
    project: ProjectFolder,
    ring: RingArgument,
    who: WhoOption = "",
    why: WhyOption = "",
    action: Annotated[str, typer.Option(help="What is being done about it.")] = "",
    post: PostOption = "",
    drive: DriveOption = "",
    json_wanted: JsonOption = False,
) -> None:
    """Sign that you have taken on the open acts at a push; they stay at the head of every page until somebody closes them.

    Example: tunnelwright acknowledge crosstown 612 --who "I. Okafor" --why "void above crown, grouted twice".
    """
    app = use_cases()
    workspace = app.open_workspace(project)
    _show_entry(workspace, app.acknowledge(workspace, drive, ring, who, why, action, post=post), json_wanted)


def close(
    project: ProjectFolder,
    ring: RingArgument,
    who: WhoOption = "",
    why: WhyOption = "",
    post: PostOption = "",
    drive: DriveOption = "",
    json_wanted: JsonOption = False,
) -> None:
    """Close the acknowledged acts at a push, once what they called for is done.

    Example: tunnelwright close crosstown 612 --who "I. Okafor" --why "no settlement after grouting".
    """
    app = use_cases()
    workspace = app.open_workspace(project)
    _show_entry(workspace, app.close_act(workspace, drive, ring, who, why, post=post), json_wanted)


def holds(project: ProjectFolder, drive: DriveOption = "", json_wanted: JsonOption = False) -> None:
    """List the hold points ahead of the machine by name, and who has released them. Example: tunnelwright holds crosstown --drive east."""
    app, show = use_cases(), screen()
    workspace = app.open_workspace(project)
    found = app.holds_of(workspace, drive)
    if json_wanted:
        show.as_json([_hold_as_dict(hold, release) for hold, release in found])
        return
    rows = [
        [hold.name, hold.ring_number, hold.chainage_m, hold.why, hold.last_ring, f"{release.person}, {release.post}" if release else "nobody"]
        for hold, release in found
    ]
    show.table(["hold", "before push", "face chainage m", "why", "to push", "released by"], rows, numeric=(1, 2, 4))
    show.say(f"{len(found)} ahead, {sum(release is None for _, release in found)} not released.")


def release(
    project: ProjectFolder,
    hold: Annotated[str, typer.Argument(help="Name of the hold; `holds` lists them. Its push will do where it is the only one.")],
    who: WhoOption = "",
    post: PostOption = "",
    why: WhyOption = "",
    drive: DriveOption = "",
    json_wanted: JsonOption = False,
) -> None:
    """Release a hold point, so that the drive may pass it.

    Example: tunnelwright release crosstown OH15-806 --who "L. Brandt" --post "tunnel manager" --why "borehole sealed and tested".
    """
    app = use_cases()
    workspace = app.open_workspace(project)
    _show_entry(workspace, app.release_hold(workspace, drive, hold, who, post, why), json_wanted)


def remark(
    project: ProjectFolder,
    text: Annotated[str, typer.Argument(help="The remark, in three words or more.")],
    who: WhoOption = "",
    ring: Annotated[int | None, typer.Option(help="Ring that it is about.")] = None,
    post: PostOption = "",
    drive: DriveOption = "",
    json_wanted: JsonOption = False,
) -> None:
    """Enter a remark in the journal. Example: tunnelwright remark crosstown "belt scale zeroed empty" --who "I. Okafor" --ring 615."""
    app = use_cases()
    workspace = app.open_workspace(project)
    _show_entry(workspace, app.remark(workspace, drive, who, text, ring, post=post), json_wanted)


def withdraw(
    project: ProjectFolder,
    entry: Annotated[int, typer.Argument(help="Number of the entry; `journal` lists them.")],
    who: WhoOption = "",
    why: WhyOption = "",
    post: PostOption = "",
    json_wanted: JsonOption = False,
) -> None:
    """Take back an entry that was wrong; it stays to be read, and what it had signed is open again.

    Example: tunnelwright withdraw crosstown 7 --who "I. Okafor" --why "meant push 621".
    """
    app = use_cases()
    workspace = app.open_workspace(project)
    _show_entry(workspace, app.withdraw(workspace, entry, who, why, post=post), json_wanted)


def journal(
    project: ProjectFolder,
    drive: Annotated[str, typer.Option("--drive", help="Only the entries of this drive.")] = "",
    json_wanted: JsonOption = False,
    csv: CsvOption = None,
) -> None:
    """List what people signed, newest first. Example: tunnelwright journal crosstown --csv journal.csv."""
    app, show = use_cases(), screen()
    workspace = app.open_workspace(project)
    entries = app.journal_entries(workspace, drive)
    if csv is not None:
        write_text(csv, app.as_csv(app.journal_table(entries)))
    if json_wanted:
        show.as_json([one.as_dict() for one in entries])
        return
    lines = app.journal_lines(workspace, entries)
    show.table(
        ["entry", "on site", "drive", "push", "what", "about", "who", "why"],
        [[one.id, one.when, one.drive, one.ring_number, one.what, one.subject, one.who, one.why] for one in lines],
        numeric=(0, 3),
    )
    show.say(f"{len(entries)} entries." if len(entries) != 1 else "1 entry.")


def write_text(path: Path, text: str) -> None:
    """Write a file so that it is either whole or not there."""
    partial = path.with_name(path.name + ".part")
    partial.write_text(text, encoding="utf-8")
    partial.replace(path)


def _hold_as_dict(hold: Any, release: Any) -> dict[str, Any]:
    released = {"person": release.person, "post": release.post, "reason": release.reason, "time_ms": release.time_ms} if release else None
    names = ("name", "why", "first_ring", "last_ring", "ring_number", "chainage_m")
    return {**{name: getattr(hold, name) for name in names}, "released": released}


def _show_entry(workspace: Any, entry: Any, json_wanted: bool) -> None:
    show = screen()
    if json_wanted:
        show.as_json(entry.as_dict())
        return
    (line,) = use_cases().journal_lines(workspace, (entry,))
    show.say(f"entry {line.id}, {line.when}: {line.what}, {line.subject}. {line.who}: {line.why}")
