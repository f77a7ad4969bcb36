"""Command line."""


def main() -> None:
    """Placeholder until the commands land."""
