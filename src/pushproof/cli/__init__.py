"""The command line: thin commands, one library call each."""


def main() -> None:
    """Run the command line."""
