"""The invented city of Brennholt: its true ground, the project made from it, and the machine that drives through it."""
