"""The project folder: read into a Project or refused with every Fault at once; a new one written for a person to edit."""

from tunnelwright.exchange.project_folder.new_project import write_new_project
from tunnelwright.exchange.project_folder.reader import read_project

__all__ = ["read_project", "write_new_project"]
