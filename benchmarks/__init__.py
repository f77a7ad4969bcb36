"""How fast the program is against plain scripts of the same task, and how it stands hours of abuse."""
