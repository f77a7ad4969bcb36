"""View records: what a page shows, ready to be printed; the same records leave as JSON."""

from tunnelwright.app.views.drive import DriveView, drive_view
from tunnelwright.app.views.journal import JournalView, journal_view
from tunnelwright.app.views.push import PushView, push_view
from tunnelwright.app.views.subject import Subject, subject_of

__all__ = ["DriveView", "JournalView", "PushView", "Subject", "drive_view", "journal_view", "push_view", "subject_of"]
