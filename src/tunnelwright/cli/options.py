"""Options that several commands share."""

from pathlib import Path
from typing import Annotated

import typer

ProjectFolder = Annotated[Path, typer.Argument(help="The project folder.", metavar="PROJECT")]
DriveOption = Annotated[str, typer.Option("--drive", help="Name of the drive; needed only where there are several.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the result as JSON.")]
CsvOption = Annotated[Path | None, typer.Option("--csv", help="Also write the table as CSV.")]
WorkbookOption = Annotated[Path | None, typer.Option("--xlsx", help="Also write the table as a workbook.")]
