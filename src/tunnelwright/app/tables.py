"""Tables for files and listings."""

from tunnelwright.report.tables import as_csv, criteria_table, heading, plan_table, shown_rows, write_workbook

__all__ = ["as_csv", "criteria_table", "heading", "plan_table", "shown_rows", "write_workbook"]
