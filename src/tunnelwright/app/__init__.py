"""The only door for the command line, the pages and callers in Python: one function per use case."""

from tunnelwright.app.evidence import evidence_cases, verify
from tunnelwright.app.methods import MethodLine, calculate, calculation_as_dict, methods
from tunnelwright.app.planning import freeze_plan, plan
from tunnelwright.app.projects import ProjectCheck, check_project, new_project
from tunnelwright.app.reconciling import explain, reconcile
from tunnelwright.app.recording import Record, import_logs, kept_record, record
from tunnelwright.app.summary import Summary, summary_of
from tunnelwright.app.verdict import Verdict, verdict
from tunnelwright.app.workspace import Workspace, open_workspace
from tunnelwright.report.tables import as_csv, criteria_table, heading, plan_table, shown_rows, write_workbook
from tunnelwright.vocabulary.sheet import sheet_of

__all__ = [
    "MethodLine",
    "ProjectCheck",
    "Record",
    "Summary",
    "Verdict",
    "Workspace",
    "as_csv",
    "calculate",
    "calculation_as_dict",
    "check_project",
    "criteria_table",
    "evidence_cases",
    "explain",
    "freeze_plan",
    "heading",
    "import_logs",
    "kept_record",
    "methods",
    "new_project",
    "open_workspace",
    "plan",
    "plan_table",
    "reconcile",
    "record",
    "sheet_of",
    "shown_rows",
    "summary_of",
    "verdict",
    "verify",
    "write_workbook",
]
