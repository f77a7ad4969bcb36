"""Steps from one revision of the tables to the next; a step that has been released is never edited."""
