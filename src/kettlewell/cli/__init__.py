"""The commands: a kitchen's folder in, what to do with every bath out."""

from kettlewell.cli.commands import app


def main() -> None:
    """Run the command that was typed."""
    app()
